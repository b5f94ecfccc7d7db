/* SPDX-License-Identifier: MIT
 *
 * pairs: matching on near neighbours, then the rest of the edges by their price.
 *
 * Most pairs that hold are never part of a good answer, and there are too many to list.  So the
 * matching is solved on the nearest neighbours alone; its prices then say which of the edges left
 * out could improve it: those whose weight exceeds what both ends and the groups around both pay.
 * They are added and the matching is mended, until there is none; then it is the best over all
 * edges (W. Cook, A. Rohe, "Computing minimum-weight perfect matchings", INFORMS J. Computing 11,
 * 1999).
 *
 * With weights 2 * (reward - cost) an edge i-j is left out wrongly when
 *   2 * cost < gain[i] + gain[j] - extras around both,  gain = reward - price.
 * Looking for those, a box of the tree is skipped when even its greatest gain and its least
 * distance cannot do it.  One tube left over makes a whole component one group with a huge extra
 * and huge gains, which cancel only together: so each box knows the innermost group around all its
 * tubes, and the extras around both are at least those of the first group around that one and i.
 */
#include "match/pairs.h"

#include <stdlib.h>
#include <string.h>

#define NEAREST 10 /* edges a tube starts with */
#define WORST   6  /* edges a tube may add in a round */

struct edge {
    int u;
    int v;
    int64_t weight;
};

struct group {
    int64_t extras; /* of the group and all around it */
    int depth;      /* groups around it, -1: not known */
    int around;     /* -1: none */
    int jump;       /* a group far around it, itself where there is none */
    int outermost;
};

struct pairing {
    const struct near_tree *t;
    const struct pool *q;
    int64_t reward;
    struct blossom *b;
    struct edge *edge;
    int edges;
    int room;
    int *start; /* the graph as lists of neighbours */
    int *to;
    int64_t *weight;

    /* what pricing knows */
    int64_t *gain;       /* [n] */
    int64_t *box_gain;   /* [boxes] the greatest */
    int *box_group;      /* [boxes] the innermost around all, -1: none */
    int *inner;          /* [n] the innermost group around a tube */
    struct group *group; /* [nodes] */
    int *chain;          /* [nodes] groups whose outer ones must be known first */
    int found;           /* edges of the tube at work */
    struct edge worst[WORST];
    int64_t lack[WORST];
};

/* ---- the graph ------------------------------------------------------------------------------- */

static void edge_add(struct pairing *k, int u, int v, int64_t weight)
{
    if (k->edges == k->room) {
        k->room = 2 * k->room + 1024;
        k->edge = xrealloc(k->edge, (size_t)k->room * sizeof *k->edge);
    }
    k->edge[k->edges++] = (struct edge){u, v, weight};
}

static bool listed(const struct near_table *near, int i, int j)
{
    for (int at = near->start[i]; at < near->start[i + 1]; at++) {
        if (near->to[at] == j)
            return true;
    }
    return false;
}

static void edges_start(struct pairing *k, struct arena *a)
{
    struct near_table *near = near_table_new(k->t, NEAREST, a);
    for (int i = 0; i < k->q->n; i++) {
        for (int at = near->start[i]; at < near->start[i + 1]; at++) {
            int j = near->to[at];
            if (i < j || !listed(near, j, i))
                edge_add(k, i, j, 2 * (k->reward - near->cost[at]));
        }
    }
}

static struct blossom_graph graph_make(struct pairing *k)
{
    size_t n = (size_t)k->q->n;
    size_t ends = 2 * (size_t)k->edges + 1;
    k->start = xrealloc(k->start, (n + 2) * sizeof *k->start);
    k->to = xrealloc(k->to, ends * sizeof *k->to);
    k->weight = xrealloc(k->weight, ends * sizeof *k->weight);
    memset(k->start, 0, (n + 2) * sizeof *k->start);
    for (int e = 0; e < k->edges; e++) {
        k->start[k->edge[e].u + 2]++;
        k->start[k->edge[e].v + 2]++;
    }
    for (size_t i = 2; i < n + 2; i++)
        k->start[i] += k->start[i - 1];
    for (int e = 0; e < k->edges; e++) {
        const struct edge *g = &k->edge[e];
        int at = k->start[g->u + 1]++;
        k->to[at] = g->v;
        k->weight[at] = g->weight;
        at = k->start[g->v + 1]++;
        k->to[at] = g->u;
        k->weight[at] = g->weight;
    }
    return (struct blossom_graph){k->start, k->to, k->weight};
}

/* ---- groups ---------------------------------------------------------------------------------- */

/* Depth, summed extras and the jump of a group, each worked out once, from the outside in.  Jumps
 * are those of E. W. Myers, "An applicative random-access stack", Inf. Proc. Letters 17 (1983). */
static void group_know(struct pairing *k, int node)
{
    struct group *groups = k->group;
    int chain = 0;
    for (int g = node; g >= 0 && groups[g].depth < 0; g = blossom_around(k->b, g))
        k->chain[chain++] = g;
    while (chain > 0) {
        int g = k->chain[--chain];
        int around = blossom_around(k->b, g);
        struct group *x = &groups[g];
        x->around = around;
        x->extras = blossom_extra(k->b, g);
        x->depth = 0;
        x->jump = g;
        x->outermost = g;
        if (around < 0)
            continue;
        const struct group *o = &groups[around];
        const struct group *far = &groups[o->jump];
        x->extras += o->extras;
        x->depth = o->depth + 1;
        x->outermost = o->outermost;
        x->jump =
            o->depth - far->depth == far->depth - groups[far->jump].depth ? far->jump : around;
    }
}

static int group_at_depth(const struct group *groups, int x, int depth)
{
    while (groups[x].depth > depth)
        x = groups[groups[x].jump].depth >= depth ? groups[x].jump : groups[x].around;
    return x;
}

/* The innermost group around both, -1 for none. */
static int common_group(const struct group *groups, int x, int y)
{
    if (x == y)
        return x;
    if (x < 0 || y < 0 || groups[x].outermost != groups[y].outermost)
        return -1;
    if (groups[x].depth > groups[y].depth)
        x = group_at_depth(groups, x, groups[y].depth);
    else
        y = group_at_depth(groups, y, groups[x].depth);
    while (x != y) {
        bool far = groups[x].jump != groups[y].jump;
        x = far ? groups[x].jump : groups[x].around;
        y = far ? groups[y].jump : groups[y].around;
    }
    return x;
}

/* ---- pricing --------------------------------------------------------------------------------- */

static void boxes_sum(struct pairing *k)
{
    for (int box = k->t->boxes - 1; box >= 0; box--) { /* children come after their parents */
        const struct near_box *x = &k->t->box[box];
        if (x->right != 0) {
            int64_t left = k->box_gain[box + 1];
            int64_t right = k->box_gain[x->right];
            k->box_gain[box] = left > right ? left : right;
            k->box_group[box] =
                common_group(k->group, k->box_group[box + 1], k->box_group[x->right]);
            continue;
        }
        for (int at = x->from; at < x->to; at++) {
            int i = k->t->order[at];
            int group = k->inner[i];
            bool first = at == x->from;
            if (first || k->gain[i] > k->box_gain[box])
                k->box_gain[box] = k->gain[i];
            k->box_group[box] = first ? group : common_group(k->group, k->box_group[box], group);
        }
    }
}

static void prices_take(struct pairing *k)
{
    int n = k->q->n;
    for (int g = 0; g < blossom_nodes(n); g++)
        k->group[g].depth = -1;
    for (int i = 0; i < n; i++) {
        k->gain[i] = k->reward - blossom_price(k->b, i);
        k->inner[i] = blossom_around(k->b, i);
        group_know(k, k->inner[i]);
    }
    boxes_sum(k);
}

/* The extras around both i and a group. */
static int64_t extras_with(const struct pairing *k, int i, int group)
{
    int common = common_group(k->group, k->inner[i], group);
    return common < 0 ? 0 : k->group[common].extras;
}

static void note(struct pairing *k, int i, int j, int64_t cost, int64_t lack)
{
    if (k->found == WORST && lack <= k->lack[WORST - 1])
        return;
    int at = k->found < WORST ? k->found++ : WORST - 1;
    while (at > 0 && k->lack[at - 1] < lack) {
        k->lack[at] = k->lack[at - 1];
        k->worst[at] = k->worst[at - 1];
        at--;
    }
    k->lack[at] = lack;
    k->worst[at] = (struct edge){i, j, 2 * (k->reward - cost)};
}

static void price_tube(struct pairing *k, int i, int j)
{
    int64_t room = k->gain[i] + k->gain[j];
    if (room <= 0 || !pool_pair_holds(k->q, i, j))
        return;
    room -= extras_with(k, i, k->inner[j]);
    if (room <= 0)
        return;
    int64_t cost = pool_pair_cost(k->q, i, j);
    if (2 * cost < room)
        note(k, i, j, cost, room - 2 * cost);
}

static void price_box(struct pairing *k, int i, int box)
{
    const struct near_box *x = &k->t->box[box];
    int64_t room = k->gain[i] + k->box_gain[box];
    if (x->to <= k->t->place[i] || room <= 0)
        return; /* pairs are looked at from the one that stands first */
    room -= extras_with(k, i, k->box_group[box]);
    if (room <= 0)
        return;
    int64_t distance = near_bound(k->t, i, box);
    if (distance < 0 || 2 * distance >= room)
        return;
    if (x->right != 0) {
        price_box(k, i, box + 1);
        price_box(k, i, x->right);
        return;
    }
    for (int at = x->from; at < x->to; at++) {
        if (at > k->t->place[i])
            price_tube(k, i, k->t->order[at]);
    }
}

/* Add the edges that were left out wrongly.  Returns how many. */
static int price_all(struct pairing *k)
{
    int before = k->edges;
    prices_take(k);
    for (int i = 0; i < k->q->n; i++) {
        k->found = 0;
        price_box(k, i, 0);
        for (int f = 0; f < k->found; f++)
            edge_add(k, k->worst[f].u, k->worst[f].v, k->worst[f].weight);
    }
    return k->edges - before;
}

/* ---- the answer ------------------------------------------------------------------------------ */

/* Number the groups around tubes so that each comes before the one around it: the deepest first.
 * order[number] is the group.  Returns how many there are. */
static int groups_number(const struct pairing *k, int *number, int *order, struct arena *a)
{
    int nodes = blossom_nodes(k->q->n);
    int deepest = 0;
    for (int g = 0; g < nodes; g++)
        deepest = k->group[g].depth > deepest ? k->group[g].depth : deepest;
    int *next = arena_array(a, (size_t)deepest + 2, sizeof *next);
    for (int g = 0; g < nodes; g++) {
        if (k->group[g].depth >= 0)
            next[deepest - k->group[g].depth + 1]++;
    }
    for (int at = 1; at <= deepest + 1; at++)
        next[at] += next[at - 1];
    int count = next[deepest + 1];
    for (int g = 0; g < nodes; g++) {
        if (k->group[g].depth < 0)
            continue;
        number[g] = next[deepest - k->group[g].depth]++;
        order[number[g]] = g;
    }
    return count;
}

static void certificate_make(struct pairing *k, struct arena *a, struct match_certificate *c)
{
    size_t n = (size_t)k->q->n;
    size_t nodes = (size_t)blossom_nodes(k->q->n);
    int *number = arena_array(a, nodes, sizeof *number);
    int *order = arena_array(a, nodes, sizeof *order);
    prices_take(k);
    int count = groups_number(k, number, order, a);
    int64_t *price = arena_array(a, n, sizeof *price);
    int *group_of = arena_array(a, n, sizeof *group_of);
    int *around = arena_array(a, (size_t)count, sizeof *around);
    int64_t *extra = arena_array(a, (size_t)count, sizeof *extra);
    for (int g = 0; g < count; g++) {
        int outer = k->group[order[g]].around;
        around[g] = outer < 0 ? -1 : number[outer];
        extra[g] = blossom_extra(k->b, order[g]);
    }
    for (size_t i = 0; i < n; i++) {
        price[i] = blossom_price(k->b, (int)i);
        group_of[i] = k->inner[i] < 0 ? -1 : number[k->inner[i]];
    }
    *c = (struct match_certificate){k->reward, price, count, group_of, around, extra};
}

static void pairing_done(struct pairing *k)
{
    blossom_free(k->b);
    free(k->edge);
    free(k->start);
    free(k->to);
    free(k->weight);
}

void pairs_solve(const struct near_tree *t, int64_t reward, blossom_pace_fn *pace, void *ctx,
                 struct arena *a, struct pairs *out)
{
    struct pairing k = {.t = t, .q = t->pool, .reward = reward};
    size_t n = (size_t)k.q->n;
    size_t nodes = (size_t)blossom_nodes(k.q->n) + 1;
    k.b = blossom_new(k.q->n);
    k.gain = arena_array(a, n, sizeof *k.gain);
    k.box_gain = arena_array(a, (size_t)t->boxes, sizeof *k.box_gain);
    k.box_group = arena_array(a, (size_t)t->boxes, sizeof *k.box_group);
    k.inner = arena_array(a, n, sizeof *k.inner);
    k.group = arena_array(a, nodes, sizeof *k.group);
    k.chain = arena_array(a, nodes, sizeof *k.chain);
    edges_start(&k, a);
    struct blossom_graph g = graph_make(&k);
    blossom_start(k.b, &g);
    out->proven = blossom_solve(k.b, &g, pace, ctx);
    for (int from = k.edges; out->proven && k.q->n > 0 && price_all(&k) > 0; from = k.edges) {
        for (int e = from; e < k.edges; e++)
            blossom_disturb(k.b, k.edge[e].u, k.edge[e].v, k.edge[e].weight);
        g = graph_make(&k);
        out->proven = blossom_solve(k.b, &g, pace, ctx);
    }
    out->mate = arena_array(a, n, sizeof *out->mate);
    for (int i = 0; i < k.q->n; i++)
        out->mate[i] = blossom_mate(k.b, i);
    if (out->proven)
        certificate_make(&k, a, &out->certificate);
    pairing_done(&k);
}
