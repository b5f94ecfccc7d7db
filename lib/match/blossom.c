/* SPDX-License-Identifier: MIT
 *
 * blossom: weighted matching by the primal-dual method.
 *
 * J. Edmonds, "Maximum matching and a polyhedron with 0,1-vertices", J. Res. NBS 69B (1965); the
 * bookkeeping follows Z. Galil, "Efficient algorithms for finding maximum matching in graphs", ACM
 * Computing Surveys 18 (1986), one tree at a time with a queue of events.
 *
 * Vertices carry prices u >= 0, blossoms (odd groups of vertices) extras z >= 0, and the slack of
 * an edge, u + u' + extras of the blossoms around both - weight, is never negative.  From a vertex
 * without a mate whose price is not 0 a tree of tight edges grows, its nodes alternately S (outer)
 * and T (inner).  While it waits, S prices fall and T prices rise at the same speed; delta is how
 * far.  What stops the fall is an event: an edge from S to a vertex outside becomes tight   ->
 * grow, or match along the path to the root an edge between two S nodes becomes tight          ->
 * shrink the odd cycle into a blossom the extra of a T blossom falls to 0                -> expand
 * it the price of an S vertex falls to 0                -> it gives up its mate to the root Weights
 * are even; all vertices of a tree have prices of one parity, so halves are whole.
 *
 * Prices move by whole nodes.  The vertices of an outermost node share a cell, through which it is
 * found and which holds what all their prices have in common; when nodes merge, all but the largest
 * move over to its cell, and when a blossom falls apart, all but the largest get a cell of their
 * own. A labelled node remembers up to which delta its cell is settled.
 */
#include "match/blossom.h"

#include "base/arena.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

enum label { OUT, OUTER, INNER };

/* The odd cycle of a blossom: child 0 holds the base, edge i leads from here[i] in child i to
 * there[i] in child i + 1; edges 1, 3, 5, ... are matched. */
struct ring {
    int count;
    int *child; /* with here and there in one block */
    int *here;
    int *there;
};

enum kind { REACH, MEET, EXPAND };

struct event {
    int64_t at; /* delta */
    int32_t from;
    int32_t to;
    enum kind kind;
};

struct blossom {
    int n;
    const struct blossom_graph *graph;
    int64_t *price; /* [2n] of vertices, less what their cell holds; extras of blossoms */
    int *mate;      /* [n] */
    int *base;      /* [2n] the vertex of a node that is matched outside it */
    int *around;    /* [2n] */
    int *place;     /* [2n] index in the ring around */
    int *first;     /* [2n] vertices of a node: a chain from first to last */
    int *last;
    int *next; /* [n] */
    int *size; /* [2n] vertices of a node */
    struct ring *ring;
    int *cell;       /* [n] */
    int *node_of;    /* [n] the outermost node of a cell */
    int64_t *common; /* [n] of a cell: to be added to the prices of its vertices */
    int *spare_cell;
    int spare_cells;
    int *spare; /* unused blossom numbers */
    int spares;

    /* the tree that grows */
    unsigned char *label; /* [2n] of outermost nodes */
    int *via_from;        /* [2n] of T nodes: the edge by which it was reached */
    int *via_to;
    int64_t *since;    /* [2n] delta up to which a labelled node is settled */
    int64_t *reached;  /* [n] delta at which an edge from S would be tight, were the price here 0 */
    int *reached_from; /* [n] and from where */
    int *reached_in;   /* [n] the tree for which that is so */
    int tree;
    int64_t delta;
    int64_t zero_at; /* when the first S price falls to 0 */
    int zero;
    int *queue; /* S vertices whose edges were not looked at */
    int queued;
    int *labelled; /* nodes that got a label */
    int labelleds;
    int labelled_room;
    int *mark; /* [2n] for the meeting point of two paths */
    int marks;
    struct event *event; /* a heap */
    int events;
    int event_room;
};

static int top_of(const struct blossom *b, int v)
{
    return b->node_of[b->cell[v]];
}

/* ---- life ------------------------------------------------------------------------------------ */

struct blossom *blossom_new(int n)
{
    struct blossom *b = xcalloc(1, sizeof *b);
    size_t v = (size_t)n + 1;
    size_t nodes = 2 * v;
    b->n = n;
    b->price = xcalloc(nodes, sizeof *b->price);
    b->mate = xcalloc(v, sizeof *b->mate);
    b->base = xcalloc(nodes, sizeof *b->base);
    b->around = xcalloc(nodes, sizeof *b->around);
    b->place = xcalloc(nodes, sizeof *b->place);
    b->first = xcalloc(nodes, sizeof *b->first);
    b->last = xcalloc(nodes, sizeof *b->last);
    b->next = xcalloc(v, sizeof *b->next);
    b->size = xcalloc(nodes, sizeof *b->size);
    b->ring = xcalloc(nodes, sizeof *b->ring);
    b->cell = xcalloc(v, sizeof *b->cell);
    b->node_of = xcalloc(v, sizeof *b->node_of);
    b->common = xcalloc(v, sizeof *b->common);
    b->spare_cell = xcalloc(v, sizeof *b->spare_cell);
    b->spare = xcalloc(v, sizeof *b->spare);
    b->label = xcalloc(nodes, sizeof *b->label);
    b->via_from = xcalloc(nodes, sizeof *b->via_from);
    b->via_to = xcalloc(nodes, sizeof *b->via_to);
    b->since = xcalloc(nodes, sizeof *b->since);
    b->reached = xcalloc(v, sizeof *b->reached);
    b->reached_from = xcalloc(v, sizeof *b->reached_from);
    b->reached_in = xcalloc(v, sizeof *b->reached_in);
    b->queue = xcalloc(v, sizeof *b->queue);
    b->mark = xcalloc(nodes, sizeof *b->mark);
    for (int i = 0; i < 2 * n; i++)
        b->around[i] = -1;
    for (int i = 0; i < n; i++) {
        b->mate[i] = -1;
        b->base[i] = b->first[i] = b->last[i] = b->cell[i] = b->node_of[i] = i;
        b->size[i] = 1;
        b->spare[b->spares++] = 2 * n - 1 - i;
    }
    return b;
}

void blossom_free(struct blossom *b)
{
    if (b == NULL)
        return;
    for (int i = b->n; i < 2 * b->n; i++)
        free(b->ring[i].child);
    void *parts[] = {b->price,  b->mate,      b->base,   b->around, b->place,    b->first,
                     b->last,   b->next,      b->size,   b->ring,   b->cell,     b->node_of,
                     b->spare,  b->label,     b->via_to, b->since,  b->reached,  b->reached_in,
                     b->queue,  b->labelled,  b->mark,   b->event,  b->via_from, b->reached_from,
                     b->common, b->spare_cell};
    for (size_t i = 0; i < ARRAY_LEN(parts); i++)
        free(parts[i]);
    free(b);
}

int blossom_mate(const struct blossom *b, int v)
{
    return b->mate[v];
}

int64_t blossom_price(const struct blossom *b, int v)
{
    return b->price[v] + b->common[b->cell[v]];
}

int blossom_around(const struct blossom *b, int node)
{
    return b->around[node];
}

int64_t blossom_extra(const struct blossom *b, int node)
{
    return b->price[node];
}

/* ---- events ---------------------------------------------------------------------------------- */

static void event_push(struct blossom *b, int64_t at, enum kind kind, int from, int to)
{
    if (b->events == b->event_room) {
        b->event_room = 2 * b->event_room + 64;
        b->event = xrealloc(b->event, (size_t)b->event_room * sizeof *b->event);
    }
    int i = b->events++;
    while (i > 0 && b->event[(i - 1) / 2].at > at) {
        b->event[i] = b->event[(i - 1) / 2];
        i = (i - 1) / 2;
    }
    b->event[i] = (struct event){at, from, to, kind};
}

static struct event event_pop(struct blossom *b)
{
    struct event least = b->event[0];
    struct event moved = b->event[--b->events];
    int i = 0;
    for (int child = 1; child < b->events; child = 2 * i + 1) {
        if (child + 1 < b->events && b->event[child + 1].at < b->event[child].at)
            child++;
        if (b->event[child].at >= moved.at)
            break;
        b->event[i] = b->event[child];
        i = child;
    }
    b->event[i] = moved;
    return least;
}

/* ---- labels ---------------------------------------------------------------------------------- */

static void label_note(struct blossom *b, int node, enum label label)
{
    if (b->labelleds == b->labelled_room) {
        b->labelled_room = 2 * b->labelled_room + 64;
        b->labelled = xrealloc(b->labelled, (size_t)b->labelled_room * sizeof *b->labelled);
    }
    b->labelled[b->labelleds++] = node;
    b->label[node] = (unsigned char)label;
    b->since[node] = b->delta;
}

/* The price of a vertex as it is at delta. */
static int64_t price_now(const struct blossom *b, int v)
{
    int cell = b->cell[v];
    int top = b->node_of[cell];
    int64_t price = b->price[v] + b->common[cell];
    if (b->label[top] == OUTER)
        price -= b->delta - b->since[top];
    else if (b->label[top] == INNER)
        price += b->delta - b->since[top];
    return price;
}

/* Bring the prices and the extra of a labelled node up to date. */
static void settle(struct blossom *b, int node)
{
    int64_t by = b->delta - b->since[node];
    if (b->label[node] == OUTER)
        by = -by;
    b->common[b->cell[b->first[node]]] += by;
    if (node >= b->n)
        b->price[node] -= 2 * by;
    b->since[node] = b->delta;
}

/* From now on the vertices of a settled node fall. */
static void fall(struct blossom *b, int node)
{
    int64_t common = b->common[b->cell[b->first[node]]];
    for (int v = b->first[node];; v = b->next[v]) {
        b->queue[b->queued++] = v;
        if (b->delta + b->price[v] + common < b->zero_at) {
            b->zero_at = b->delta + b->price[v] + common;
            b->zero = v;
        }
        if (v == b->last[node])
            break;
    }
}

static void label_inner(struct blossom *b, int node, int from, int to)
{
    label_note(b, node, INNER);
    b->via_from[node] = from;
    b->via_to[node] = to;
    if (node >= b->n)
        event_push(b, b->delta + b->price[node] / 2, EXPAND, node, node);
}

static void label_outer(struct blossom *b, int node)
{
    label_note(b, node, OUTER);
    fall(b, node);
}

/* An edge from S ends at a vertex that is not S.  What is remembered does not depend on the price
 * at this end, so it stays true while the vertex is in a T node. */
static void offer_reach(struct blossom *b, int from, int to, int64_t at)
{
    if (b->reached_in[to] == b->tree && b->reached[to] <= at)
        return;
    b->reached_in[to] = b->tree;
    b->reached[to] = at;
    b->reached_from[to] = from;
    if (b->label[top_of(b, to)] == OUT)
        event_push(b, at + price_now(b, to), REACH, from, to);
}

/* Look at the edges of an S vertex. */
static void scan(struct blossom *b, int v)
{
    const struct blossom_graph *g = b->graph;
    int top = top_of(b, v);
    int64_t at = b->delta + price_now(b, v);
    for (int e = g->start[v]; e < g->start[v + 1]; e++) {
        int w = g->to[e];
        int other = top_of(b, w);
        if (other == top)
            continue;
        if (b->label[other] == OUTER)
            event_push(b, (at + b->delta + price_now(b, w) - g->weight[e]) / 2, MEET, v, w);
        else
            offer_reach(b, v, w, at - g->weight[e]);
    }
}

/* ---- blossoms -------------------------------------------------------------------------------- */

/* Move the vertices of a node to another cell; their prices stay what they are. */
static void cell_move(struct blossom *b, int node, int cell)
{
    int64_t change = b->common[b->cell[b->first[node]]] - b->common[cell];
    for (int v = b->first[node];; v = b->next[v]) {
        b->cell[v] = cell;
        b->price[v] += change;
        if (v == b->last[node])
            break;
    }
}

static struct ring ring_new(int count)
{
    struct ring r = {.count = count};
    r.child = xcalloc(3 * (size_t)count, sizeof *r.child);
    r.here = r.child + count;
    r.there = r.here + count;
    return r;
}

/* The S node above an S node in the tree, -1 at the root. */
static int above(const struct blossom *b, int outer)
{
    int mate = b->mate[b->base[outer]];
    return mate < 0 ? -1 : top_of(b, b->via_from[top_of(b, mate)]);
}

/* Where the ways from two S nodes to the root meet; -1 cannot be, there is one tree. */
static int meeting(struct blossom *b, int x, int y)
{
    b->marks++;
    for (;;) {
        if (x >= 0) {
            if (b->mark[x] == b->marks)
                return x;
            b->mark[x] = b->marks;
            x = above(b, x);
        }
        int swap = x;
        x = y;
        y = swap;
        assert(x >= 0 || y >= 0);
    }
}

static int steps_to(const struct blossom *b, int node, int end)
{
    int steps = 0;
    for (; node != end; node = above(b, node))
        steps++;
    return steps;
}

/* The ring that the edge u-v closes: from the meeting point down to u, over to v, up again. */
static struct ring ring_trace(const struct blossom *b, int u, int v, int end)
{
    int left = 2 * steps_to(b, top_of(b, u), end);
    int right = 2 * steps_to(b, top_of(b, v), end);
    struct ring r = ring_new(left + right + 1);
    int node = top_of(b, u);
    r.here[left] = u;
    r.there[left] = v;
    for (int i = left; i > 0; i -= 2) {
        int mate = b->mate[b->base[node]];
        int inner = top_of(b, mate);
        r.child[i] = node;
        r.child[i - 1] = inner;
        r.here[i - 1] = mate;
        r.there[i - 1] = b->base[node];
        r.here[i - 2] = b->via_from[inner];
        r.there[i - 2] = b->via_to[inner];
        node = top_of(b, b->via_from[inner]);
    }
    node = top_of(b, v);
    for (int i = left + 1; i < r.count; i += 2) {
        int mate = b->mate[b->base[node]];
        int inner = top_of(b, mate);
        r.child[i] = node;
        r.child[i + 1] = inner;
        r.here[i] = b->base[node];
        r.there[i] = mate;
        r.here[i + 1] = b->via_to[inner];
        r.there[i + 1] = b->via_from[inner];
        node = top_of(b, b->via_from[inner]);
    }
    r.child[0] = end;
    return r;
}

/* Take the children of a new blossom together: chain, cell, size. */
static void ring_join(struct blossom *b, int node)
{
    const struct ring *r = &b->ring[node];
    int largest = r->child[0];
    for (int i = 0; i < r->count; i++) {
        int child = r->child[i];
        b->around[child] = node;
        b->place[child] = i;
        b->size[node] += b->size[child];
        if (b->size[child] > b->size[largest])
            largest = child;
        if (i > 0)
            b->next[b->last[r->child[i - 1]]] = b->first[child];
    }
    b->first[node] = b->first[r->child[0]];
    b->last[node] = b->last[r->child[r->count - 1]];
    int cell = b->cell[b->first[largest]];
    for (int i = 0; i < r->count; i++) {
        if (r->child[i] == largest)
            continue;
        b->spare_cell[b->spare_cells++] = b->cell[b->first[r->child[i]]];
        cell_move(b, r->child[i], cell);
    }
    b->node_of[cell] = node;
}

static void shrink(struct blossom *b, int u, int v)
{
    int end = meeting(b, top_of(b, u), top_of(b, v));
    struct ring r = ring_trace(b, u, v, end);
    assert(b->spares > 0);
    int node = b->spare[--b->spares];
    for (int i = 0; i < r.count; i++) {
        int child = r.child[i];
        settle(b, child);
        if (b->label[child] == INNER)
            fall(b, child);
        b->label[child] = OUT;
    }
    b->ring[node] = r;
    b->base[node] = b->base[end];
    b->price[node] = 0;
    b->around[node] = -1;
    b->size[node] = 0;
    ring_join(b, node);
    label_note(b, node, OUTER);
}

/* Make the children of an outermost blossom outermost themselves.  The ring is the caller's to
 * free. */
static struct ring dissolve(struct blossom *b, int node)
{
    struct ring r = b->ring[node];
    int largest = r.child[0];
    for (int i = 0; i < r.count; i++) {
        b->around[r.child[i]] = -1;
        b->label[r.child[i]] = OUT;
        if (b->size[r.child[i]] > b->size[largest])
            largest = r.child[i];
    }
    b->node_of[b->cell[b->first[largest]]] = largest;
    for (int i = 0; i < r.count; i++) {
        if (r.child[i] == largest)
            continue;
        int cell = b->spare_cell[--b->spare_cells];
        b->common[cell] = 0;
        cell_move(b, r.child[i], cell);
        b->node_of[cell] = r.child[i];
    }
    b->label[node] = OUT;
    b->price[node] = 0;
    b->ring[node] = (struct ring){0};
    b->spare[b->spares++] = node;
    return r;
}

static int child_with(const struct blossom *b, int node, int v)
{
    int child = v;
    while (b->around[child] != node)
        child = b->around[child];
    return child;
}

/* Children of an expanded blossom that are not on the way through it can be reached again. */
static void leave_tree(struct blossom *b, int node)
{
    for (int v = b->first[node];; v = b->next[v]) {
        if (b->reached_in[v] == b->tree)
            event_push(b, b->reached[v] + price_now(b, v), REACH, b->reached_from[v], v);
        if (v == b->last[node])
            break;
    }
}

/* The extra of a T blossom has fallen to 0: the way through it, from the child that was reached to
 * the one with the base, stays in the tree; the rest leaves. */
static void expand(struct blossom *b, int node)
{
    settle(b, node);
    int i = b->place[child_with(b, node, b->via_to[node])];
    bool forward = i % 2 == 1;
    struct ring r = dissolve(b, node);
    label_inner(b, r.child[i], b->via_from[node], b->via_to[node]);
    while (i != 0) {
        int matched = forward ? i + 1 : i - 1;
        int beyond = forward ? (i + 2) % r.count : i - 2;
        label_outer(b, r.child[matched]);
        if (forward)
            label_inner(b, r.child[beyond], r.here[matched], r.there[matched]);
        else
            label_inner(b, r.child[beyond], r.there[beyond], r.here[beyond]);
        i = beyond;
    }
    for (int c = 0; c < r.count; c++) {
        if (b->label[r.child[c]] == OUT)
            leave_tree(b, r.child[c]);
    }
    free(r.child);
}

/* ---- matching along a path ------------------------------------------------------------------- */

static void rebase(struct blossom *b, int node, int v);

static void match_edge(struct blossom *b, int x_child, int x, int y_child, int y)
{
    rebase(b, x_child, x);
    rebase(b, y_child, y);
    b->mate[x] = y;
    b->mate[y] = x;
}

static void ring_turn(struct ring *r, int by)
{
    int *copy = xcalloc(3 * (size_t)r->count, sizeof *copy);
    for (int i = 0; i < r->count; i++) {
        int from = (i + by) % r->count;
        copy[i] = r->child[from];
        copy[r->count + i] = r->here[from];
        copy[2 * r->count + i] = r->there[from];
    }
    memcpy(r->child, copy, 3 * (size_t)r->count * sizeof *copy);
    free(copy);
}

/* Make v the base of the node, matching the rest of it anew inside. */
static void rebase(struct blossom *b, int node, int v)
{
    if (node < b->n || b->base[node] == v)
        return;
    struct ring *r = &b->ring[node];
    int child = child_with(b, node, v);
    int i = b->place[child];
    rebase(b, child, v);
    if (i % 2 == 1) {
        for (int x = i + 1; x < r->count; x += 2)
            match_edge(b, r->child[x], r->here[x], r->child[(x + 1) % r->count], r->there[x]);
    } else {
        for (int x = i - 2; x >= 0; x -= 2)
            match_edge(b, r->child[x], r->here[x], r->child[x + 1], r->there[x]);
    }
    if (i != 0) {
        ring_turn(r, i);
        for (int x = 0; x < r->count; x++)
            b->place[r->child[x]] = x;
    }
    b->base[node] = v;
}

/* Match S vertex x to y (-1: leave it alone) and flip the way from it to the root. */
static void flip(struct blossom *b, int x, int y)
{
    for (;;) {
        int node = top_of(b, x);
        int mate = b->mate[b->base[node]];
        rebase(b, node, x);
        b->mate[x] = y;
        if (y >= 0)
            b->mate[y] = x;
        if (mate < 0)
            return;
        int inner = top_of(b, mate);
        y = b->via_to[inner];
        x = b->via_from[inner];
        rebase(b, inner, y);
    }
}

/* ---- one tree -------------------------------------------------------------------------------- */

static void tree_begin(struct blossom *b, int root)
{
    b->tree++;
    b->delta = 0;
    b->events = 0;
    b->queued = 0;
    b->labelleds = 0;
    b->zero_at = INT64_MAX;
    label_outer(b, top_of(b, root));
}

/* Bring all prices up to date and forget the labels. */
static void tree_end(struct blossom *b)
{
    for (int i = 0; i < b->labelleds; i++) {
        int node = b->labelled[i];
        if (b->label[node] != OUT)
            settle(b, node);
        b->label[node] = OUT;
    }
}

/* An edge to a node outside is tight.  True when the tree has found its end. */
static bool reach(struct blossom *b, int from, int to)
{
    int node = top_of(b, to);
    int mate = b->mate[b->base[node]];
    if (mate >= 0) {
        label_inner(b, node, from, to);
        label_outer(b, top_of(b, mate));
        return false;
    }
    rebase(b, node, to);
    flip(b, from, to);
    return true;
}

static bool event_take(struct blossom *b, struct event ev)
{
    int top = top_of(b, ev.to < b->n ? ev.to : b->first[ev.to]);
    if (ev.kind == REACH) {
        if (b->label[top] == OUT && b->reached_from[ev.to] == ev.from &&
            b->reached[ev.to] + price_now(b, ev.to) == ev.at) {
            b->delta = ev.at;
            return reach(b, ev.from, ev.to);
        }
    } else if (ev.kind == MEET) {
        if (top_of(b, ev.from) != top) {
            b->delta = ev.at;
            shrink(b, ev.from, ev.to);
        }
    } else if (b->ring[ev.to].count > 0 && b->around[ev.to] < 0 && b->label[ev.to] == INNER &&
               b->since[ev.to] + b->price[ev.to] / 2 == ev.at) {
        b->delta = ev.at;
        expand(b, ev.to);
    }
    return false;
}

static void tree_grow(struct blossom *b, int root)
{
    tree_begin(b, root);
    for (;;) {
        while (b->queued > 0)
            scan(b, b->queue[--b->queued]);
        if (b->events == 0 || b->event[0].at >= b->zero_at) {
            b->delta = b->zero_at;
            flip(b, b->zero, -1);
            break;
        }
        if (event_take(b, event_pop(b)))
            break;
    }
    tree_end(b);
}

bool blossom_solve(struct blossom *b, const struct blossom_graph *g, blossom_pace_fn *pace,
                   void *ctx)
{
    b->graph = g;
    for (int v = 0; v < b->n; v++) {
        if (b->mate[v] >= 0 || b->price[v] == 0)
            continue;
        if (pace != NULL && !pace(ctx))
            return false;
        tree_grow(b, v);
    }
    return true;
}

/* ---- before and between ---------------------------------------------------------------------- */

void blossom_start(struct blossom *b, const struct blossom_graph *g)
{
    for (int v = 0; v < b->n; v++) {
        for (int e = g->start[v]; e < g->start[v + 1]; e++) {
            if (g->weight[e] / 2 > b->price[v])
                b->price[v] = g->weight[e] / 2;
        }
    }
    for (int v = 0; v < b->n; v++) {
        int64_t need = 0;
        int tight = -1;
        for (int e = g->start[v]; e < g->start[v + 1]; e++) {
            int64_t rest = g->weight[e] - b->price[g->to[e]];
            if (rest > need || (rest == need && tight < 0 && b->mate[g->to[e]] < 0)) {
                need = rest;
                tight = b->mate[g->to[e]] < 0 ? g->to[e] : -1;
            }
        }
        if (b->mate[v] >= 0)
            continue;
        b->price[v] = need;
        if (tight >= 0) {
            b->mate[v] = tight;
            b->mate[tight] = v;
        }
    }
}

static void unmatch(struct blossom *b, int v)
{
    int mate = b->mate[v];
    if (mate >= 0)
        b->mate[mate] = -1;
    b->mate[v] = -1;
}

/* Spread the extra of every group around v over its vertices; slacks inside stay as they are, those
 * of edges that leave grow. */
static void free_vertex(struct blossom *b, int v)
{
    while (top_of(b, v) != v) {
        int node = top_of(b, v);
        int64_t half = b->price[node] / 2;
        if (half > 0) {
            unmatch(b, b->base[node]);
            b->common[b->cell[v]] += half;
        }
        free(dissolve(b, node).child);
    }
}

void blossom_disturb(struct blossom *b, int u, int v, int64_t weight)
{
    free_vertex(b, u);
    free_vertex(b, v);
    int64_t lack = weight - blossom_price(b, u) - blossom_price(b, v);
    if (lack <= 0)
        return;
    b->price[u] += lack;
    unmatch(b, u);
}
