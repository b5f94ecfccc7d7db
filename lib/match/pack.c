/* SPDX-License-Identifier: MIT
 *
 * pack: branch and bound with prices on the tubes.
 *
 * Each tube has a price; taking a set costs the prices of its tubes besides its own cost, and all
 * open prices together are paid back.  Were tubes free to serve twice, the want[line] cheapest sets
 * of each line by that reckoning would be the best; so that sum is never more than the best answer
 * costs (Lagrangian relaxation: M. L. Fisher, "The Lagrangian relaxation method for solving integer
 * programming problems", Management Science 27, 1981).  Prices of tubes that serve twice are
 * raised, those of idle tubes lowered, by steps in proportion to the distance from the best known
 * answer (B. T. Polyak 1969; M. Held, P. Wolfe, H. P. Crowder 1974).
 *
 * A set whose taking would lift the bound to the best known answer is dropped for good below that
 * point of the search.  Then one tube is chosen, and each of its sets is tried in turn, and last
 * that it stays idle.
 */
#include "match/pack.h"

#include <stdlib.h>
#include <string.h>

/* ---- the list -------------------------------------------------------------------------------- */

#define LIST_STEPS 40000000 /* looks at a tube while listing */

struct listing {
    struct pack_list *l;
    const struct pool *q;
    int line;
    int size;
    int most;
    int64_t steps;
    int member[MATCH_SIZE];
    int64_t *low; /* [size * d] of the first members */
    int64_t *high;
    int64_t *limit; /* the highest that holds with low */
};

static void list_put(struct listing *k)
{
    struct pack_list *l = k->l;
    if (l->count + 1 >= l->room) {
        l->room = 2 * l->room + 256;
        l->line = xrealloc(l->line, (size_t)l->room * sizeof *l->line);
        l->start = xrealloc(l->start, ((size_t)l->room + 1) * sizeof *l->start);
        l->cost = xrealloc(l->cost, (size_t)l->room * sizeof *l->cost);
        l->start[0] = 0;
    }
    int at = l->start[l->count];
    if (at + k->size > l->member_room) {
        l->member_room = 2 * l->member_room + 1024;
        l->member = xrealloc(l->member, (size_t)l->member_room * sizeof *l->member);
    }
    memcpy(l->member + at, k->member, (size_t)k->size * sizeof *l->member);
    l->line[l->count] = k->line;
    (void)pool_set_holds(k->q, k->member, k->size, &l->cost[l->count]);
    l->start[++l->count] = at + k->size;
}

/* The box around have members and one more; false when it is too wide. */
static bool box_widen(struct listing *k, int have, int tube)
{
    int d = k->q->d;
    const int64_t *x = pool_row(k->q, tube);
    const int64_t *x_limit = pool_limits(k->q, tube);
    const int64_t *low = k->low + (int64_t)(have - 1) * d;
    const int64_t *high = k->high + (int64_t)(have - 1) * d;
    const int64_t *limit = k->limit + (int64_t)(have - 1) * d;
    for (int j = 0; j < d; j++) {
        if (x[j] > limit[j] || high[j] > x_limit[j])
            return false;
    }
    for (int j = 0; j < d; j++) {
        bool lower = x[j] < low[j];
        k->low[have * d + j] = lower ? x[j] : low[j];
        k->limit[have * d + j] = lower ? x_limit[j] : limit[j];
        k->high[have * d + j] = x[j] > high[j] ? x[j] : high[j];
    }
    return true;
}

static bool list_from(struct listing *k, int have, const int *candidate, int n)
{
    if (have == k->size) {
        if (k->l->count >= k->most)
            return false;
        list_put(k);
        return true;
    }
    for (int at = 0; at + (k->size - have) <= n; at++) {
        if (++k->steps > LIST_STEPS)
            return false;
        k->member[have] = candidate[at];
        if (box_widen(k, have, candidate[at]) &&
            !list_from(k, have + 1, candidate + at + 1, n - at - 1))
            return false;
    }
    return true;
}

static int compare_ints(const void *a, const void *b)
{
    int x = *(const int *)a;
    int y = *(const int *)b;
    return (x > y) - (x < y);
}

bool pack_list_add(struct pack_list *l, const struct near_tree *t, const int *tube, int n, int line,
                   int size, int most)
{
    const struct pool *q = t->pool;
    size_t d = (size_t)q->d;
    struct listing k = {.l = l, .q = q, .line = line, .size = size, .most = most};
    k.low = xcalloc(3 * (size_t)size * d, sizeof *k.low);
    k.high = k.low + (size_t)size * d;
    k.limit = k.high + (size_t)size * d;
    int *near = xcalloc((size_t)q->n + 1, sizeof *near);
    l->rows = q->n;
    l->lines = line + 1;
    bool ok = true;
    for (int i = 0; i < n && ok; i++) {
        int count = near_range(t, tube[i], q->n, near);
        int later = 0;
        for (int at = 0; at < count; at++) {
            if (near[at] > tube[i])
                near[later++] = near[at];
        }
        qsort(near, (size_t)later, sizeof *near, compare_ints);
        k.member[0] = tube[i];
        memcpy(k.low, pool_row(q, tube[i]), d * sizeof *k.low);
        memcpy(k.high, pool_row(q, tube[i]), d * sizeof *k.high);
        memcpy(k.limit, pool_limits(q, tube[i]), d * sizeof *k.limit);
        ok = list_from(&k, 1, near, later);
    }
    free(near);
    free(k.low);
    return ok;
}

void pack_list_done(struct pack_list *l)
{
    free(l->line);
    free(l->start);
    free(l->member);
    free(l->cost);
    *l = (struct pack_list){0};
}

/* ---- the search ------------------------------------------------------------------------------ */

#define ROOT_ROUNDS 400 /* of prices at the root */
#define NODE_ROUNDS 24  /* below */

struct node {
    int *set; /* sets that can still be taken, of lines that still want some, by line */
    int count;
    int64_t spent;
};

struct search {
    const struct pack_list *l;
    int64_t *price;      /* [rows] */
    unsigned char *open; /* [rows] neither taken nor idle for good */
    int *covered;        /* [rows] by the cheapest sets of the last round */
    int *sets_of;        /* [rows] sets that can still be taken */
    int64_t *reduced;    /* [count] cost with prices */
    int *want;           /* [lines] still to be taken */
    int wanted;          /* all of them */
    int *heap;           /* [wanted] the cheapest sets, dearest on top, line by line */
    int *picked;
    int picks;
    int64_t *dearest; /* [lines] reduced cost of the dearest pick */
    int64_t *best_price;
    int64_t best; /* the ceiling: only what is cheaper counts */
    int *taken;   /* the sets of the node at work */
    int takens;
    int *chosen; /* the best answer */
    int chosens;
    int64_t steps;
    pack_pace_fn *pace;
    void *ctx;
    bool stopped;
};

static void heap_sink(const int64_t *key, int *heap, int n, int i)
{
    for (int child = 2 * i + 1; child < n; child = 2 * i + 1) {
        if (child + 1 < n && key[heap[child + 1]] > key[heap[child]])
            child++;
        if (key[heap[child]] <= key[heap[i]])
            break;
        int swap = heap[i];
        heap[i] = heap[child];
        heap[child] = swap;
        i = child;
    }
}

/* Pick the want[line] cheapest sets of every line.  False when a line has too few. */
static bool pick(struct search *s, const struct node *x, int64_t *sum)
{
    int at = 0;
    s->picks = 0;
    *sum = 0;
    for (int line = 0; line < s->l->lines; line++) {
        int *heap = s->picked + s->picks;
        int want = s->want[line];
        int n = 0;
        for (; at < x->count && s->l->line[x->set[at]] == line; at++) {
            int set = x->set[at];
            if (n < want) {
                heap[n++] = set;
                for (int i = n / 2 - 1; n == want && i >= 0; i--)
                    heap_sink(s->reduced, heap, n, i);
            } else if (n > 0 && s->reduced[set] < s->reduced[heap[0]]) {
                heap[0] = set;
                heap_sink(s->reduced, heap, n, 0);
            }
        }
        if (n < want)
            return false;
        s->dearest[line] = n > 0 ? s->reduced[heap[0]] : 0;
        for (int i = 0; i < n; i++)
            *sum += s->reduced[heap[i]];
        s->picks += n;
    }
    return true;
}

static int64_t reduce(struct search *s, const struct node *x)
{
    int64_t open_prices = 0;
    for (int i = 0; i < s->l->rows; i++)
        open_prices += s->open[i] ? s->price[i] : 0;
    for (int at = 0; at < x->count; at++) {
        int set = x->set[at];
        int64_t cost = s->l->cost[set];
        for (int m = s->l->start[set]; m < s->l->start[set + 1]; m++)
            cost += s->price[s->l->member[m]];
        s->reduced[set] = cost;
    }
    s->steps -= x->count + s->l->rows / 8 + 1;
    return open_prices;
}

/* Count how often each tube serves; the sum of squares of what is too much or too little. */
static int64_t unevenness(struct search *s, bool *disjoint)
{
    int64_t norm = 0;
    *disjoint = true;
    memset(s->covered, 0, (size_t)s->l->rows * sizeof *s->covered);
    for (int i = 0; i < s->picks; i++) {
        int set = s->picked[i];
        for (int m = s->l->start[set]; m < s->l->start[set + 1]; m++)
            s->covered[s->l->member[m]]++;
    }
    for (int i = 0; i < s->l->rows; i++) {
        int64_t off = s->covered[i] - 1;
        if (!s->open[i] || (off < 0 && s->price[i] == 0))
            continue;
        norm += off * off;
        *disjoint = *disjoint && off <= 0;
    }
    return norm;
}

static void answer_note(struct search *s, int64_t spent)
{
    for (int i = 0; i < s->picks; i++)
        spent += s->l->cost[s->picked[i]];
    if (spent >= s->best)
        return;
    s->best = spent;
    s->chosens = 0;
    for (int i = 0; i < s->takens; i++)
        s->chosen[s->chosens++] = s->taken[i];
    for (int i = 0; i < s->picks; i++)
        s->chosen[s->chosens++] = s->picked[i];
}

static void prices_move(struct search *s, int64_t gap, int64_t theta, int64_t norm)
{
    int64_t step = gap / norm * theta / 1024 + 1;
    for (int i = 0; i < s->l->rows; i++) {
        if (!s->open[i])
            continue;
        s->price[i] += step * (s->covered[i] - 1);
        if (s->price[i] < 0)
            s->price[i] = 0;
    }
}

static bool stop_seen(struct search *s)
{
    if (s->steps <= 0 || (s->pace != NULL && !s->pace(s->ctx)))
        s->stopped = true;
    return s->stopped;
}

/* Raise the bound of the node by its prices; the best ones are left in place, with the reduced
 * costs and the picks that belong to them.  False when the node cannot beat the best answer. */
static bool bound_raise(struct search *s, const struct node *x, int rounds, int64_t *bound)
{
    int64_t best_bound = INT64_MIN;
    int64_t theta = 1024;
    int since = 0;
    for (int round = 0; round < rounds; round++) {
        int64_t sum;
        if (stop_seen(s))
            return false;
        int64_t paid = reduce(s, x);
        if (!pick(s, x, &sum))
            return false;
        int64_t now = x->spent + sum - paid;
        if (now >= s->best)
            return false;
        if (now > best_bound) {
            best_bound = now;
            memcpy(s->best_price, s->price, (size_t)s->l->rows * sizeof *s->price);
            since = 0;
        } else if (++since >= 12) {
            theta = theta * 5 / 8;
            since = 0;
        }
        bool disjoint;
        int64_t norm = unevenness(s, &disjoint);
        if (disjoint)
            answer_note(s, x->spent);
        if (norm == 0 || theta < 8 || best_bound >= s->best)
            break;
        prices_move(s, s->best - now, theta, norm);
    }
    memcpy(s->price, s->best_price, (size_t)s->l->rows * sizeof *s->price);
    (void)reduce(s, x);
    int64_t sum;
    if (!pick(s, x, &sum) || best_bound >= s->best)
        return false;
    *bound = best_bound;
    return true;
}

static int branch_row(struct search *s, const struct node *x)
{
    bool disjoint;
    memset(s->sets_of, 0, (size_t)s->l->rows * sizeof *s->sets_of);
    for (int at = 0; at < x->count; at++) {
        int set = x->set[at];
        for (int m = s->l->start[set]; m < s->l->start[set + 1]; m++)
            s->sets_of[s->l->member[m]]++;
    }
    (void)unevenness(s, &disjoint);
    int best = -1;
    for (int i = 0; i < s->l->rows; i++) {
        if (!s->open[i] || s->sets_of[i] == 0)
            continue;
        bool priced = s->price[i] > 0;
        bool best_priced = best >= 0 && s->price[best] > 0;
        if (best < 0 || (priced && !best_priced) ||
            (priced == best_priced && s->sets_of[i] < s->sets_of[best]))
            best = i;
    }
    return best;
}

static bool has(const struct pack_list *l, int set, int row)
{
    for (int m = l->start[set]; m < l->start[set + 1]; m++) {
        if (l->member[m] == row)
            return true;
    }
    return false;
}

static bool all_open(const struct search *s, int set)
{
    for (int m = s->l->start[set]; m < s->l->start[set + 1]; m++) {
        if (!s->open[s->l->member[m]])
            return false;
    }
    return true;
}

static void node_search(struct search *s, struct node x, int rounds);

static void set_take(struct search *s, const struct node *x, int set, int *room)
{
    const struct pack_list *l = s->l;
    struct node child = {.set = room, .spent = x->spent + l->cost[set]};
    for (int m = l->start[set]; m < l->start[set + 1]; m++)
        s->open[l->member[m]] = 0;
    s->want[l->line[set]]--;
    for (int at = 0; at < x->count; at++) {
        if (s->want[l->line[x->set[at]]] > 0 && all_open(s, x->set[at]))
            child.set[child.count++] = x->set[at];
    }
    s->taken[s->takens++] = set;
    node_search(s, child, NODE_ROUNDS);
    s->takens--;
    s->want[l->line[set]]++;
    for (int m = l->start[set]; m < l->start[set + 1]; m++)
        s->open[l->member[m]] = 1;
}

struct ranked {
    int64_t key;
    int set;
};

static int compare_ranked(const void *a, const void *b)
{
    const struct ranked *x = a;
    const struct ranked *y = b;
    return x->key != y->key ? (x->key < y->key ? -1 : 1) : (x->set > y->set) - (x->set < y->set);
}

static void branch(struct search *s, struct node *x)
{
    int row = branch_row(s, x);
    if (row < 0)
        return;
    struct ranked *try = xcalloc((size_t)s->sets_of[row] + 1, sizeof *try);
    int *room = xcalloc((size_t)x->count + 1, sizeof *room);
    int tries = 0;
    for (int at = 0; at < x->count; at++) {
        if (has(s->l, x->set[at], row))
            try[tries++] = (struct ranked){s->reduced[x->set[at]], x->set[at]};
    }
    qsort(try, (size_t)tries, sizeof *try, compare_ranked);
    for (int i = 0; i < tries && !s->stopped; i++)
        set_take(s, x, try[i].set, room);
    struct node idle = {.set = room, .spent = x->spent};
    for (int at = 0; at < x->count; at++) {
        if (!has(s->l, x->set[at], row))
            idle.set[idle.count++] = x->set[at];
    }
    s->open[row] = 0;
    if (!s->stopped)
        node_search(s, idle, NODE_ROUNDS);
    s->open[row] = 1;
    free(try);
    free(room);
}

static void node_search(struct search *s, struct node x, int rounds)
{
    int64_t bound;
    int left = 0;
    for (int line = 0; line < s->l->lines; line++)
        left += s->want[line];
    if (left == 0) {
        s->picks = 0;
        answer_note(s, x.spent);
        return;
    }
    if (stop_seen(s) || !bound_raise(s, &x, rounds, &bound))
        return;
    int kept = 0; /* what cannot be part of a better answer is dropped */
    for (int at = 0; at < x.count; at++) {
        int set = x.set[at];
        int64_t over = s->reduced[set] - s->dearest[s->l->line[set]];
        if (over <= 0 || bound + over < s->best)
            x.set[kept++] = set;
    }
    x.count = kept;
    branch(s, &x);
}

enum pack_end pack_solve(const struct pack_list *l, const int *want, int64_t ceiling, int64_t steps,
                         pack_pace_fn *pace, void *ctx, int *chosen, int *count, int64_t *cost)
{
    struct search s = {.l = l, .best = ceiling, .steps = steps, .pace = pace, .ctx = ctx};
    size_t rows = (size_t)l->rows + 1;
    for (int line = 0; line < l->lines; line++)
        s.wanted += want[line];
    s.price = xcalloc(2 * rows, sizeof *s.price);
    s.best_price = s.price + rows;
    s.open = xcalloc(rows, 1);
    s.covered = xcalloc(2 * rows, sizeof *s.covered);
    s.sets_of = s.covered + rows;
    s.reduced = xcalloc((size_t)l->count + 1, sizeof *s.reduced);
    s.want = xcalloc((size_t)l->lines + 1, sizeof *s.want);
    s.picked = xcalloc(2 * (size_t)s.wanted + 2, sizeof *s.picked);
    s.taken = s.picked + s.wanted + 1;
    s.dearest = xcalloc((size_t)l->lines + 1, sizeof *s.dearest);
    s.chosen = chosen;
    memcpy(s.want, want, (size_t)l->lines * sizeof *s.want);
    memset(s.open, 1, rows);
    struct node root = {.set = xcalloc((size_t)l->count + 1, sizeof *root.set)};
    for (int i = 0; i < l->count; i++) {
        if (want[l->line[i]] > 0)
            root.set[root.count++] = i;
    }
    node_search(&s, root, ROOT_ROUNDS);
    free(root.set);
    free(s.price);
    free(s.open);
    free(s.covered);
    free(s.reduced);
    free(s.want);
    free(s.picked);
    free(s.dearest);
    *count = s.chosens;
    *cost = s.best;
    return s.stopped ? PACK_STOPPED : s.chosens > 0 || s.wanted == 0 ? PACK_BEST : PACK_NONE;
}
