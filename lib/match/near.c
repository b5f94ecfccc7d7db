/* SPDX-License-Identifier: MIT
 *
 * near: a k-d tree (J. L. Bentley, "Multidimensional binary search trees used for associative
 * searching", CACM 18(9), 1975), split at the median of the coordinate that is widest against its
 * band.  The bound on a box is exact in the unit of the cost, since rounding is monotone.  Among
 * equal costs a query takes what it meets first, in its own leaf: so equal tubes get different
 * neighbours, and a thousand equal tubes do not all point at the same eight.
 */
#include "match/near.h"

#include <string.h>

#define LEAF 8

static bool before(const struct pool *q, int j, int a, int b)
{
    int64_t x = pool_row(q, a)[j];
    int64_t y = pool_row(q, b)[j];
    return x != y ? x < y : a < b;
}

/* Put the element that belongs at position at there, smaller ones before it (C. A. R. Hoare,
 * "Find", CACM 4(7), 1961).  The pivot is the middle of three. */
static void select_at(const struct pool *q, int j, int *order, int from, int to, int at)
{
    while (to - from > 1) {
        int a = order[from];
        int b = order[from + (to - from) / 2];
        int c = order[to - 1];
        int pivot = before(q, j, a, b) ? (before(q, j, b, c)   ? b
                                          : before(q, j, a, c) ? c
                                                               : a)
                                       : (before(q, j, a, c)   ? a
                                          : before(q, j, b, c) ? c
                                                               : b);
        int left = from;
        int right = to - 1;
        while (left <= right) {
            while (before(q, j, order[left], pivot))
                left++;
            while (before(q, j, pivot, order[right]))
                right--;
            if (left <= right) {
                int swap = order[left];
                order[left++] = order[right];
                order[right--] = swap;
            }
        }
        if (at <= right)
            to = right + 1;
        else if (at >= left)
            from = left;
        else
            return;
    }
}

static void box_measure(struct near_tree *t, int b)
{
    const struct pool *q = t->pool;
    size_t d = (size_t)q->d;
    int64_t *low = t->low + (size_t)b * d;
    int64_t *high = t->high + (size_t)b * d;
    int64_t *high_limit = t->high_limit + (size_t)b * d;
    for (int at = t->box[b].from; at < t->box[b].to; at++) {
        const int64_t *x = pool_row(q, t->order[at]);
        for (size_t j = 0; j < d; j++) {
            if (at == t->box[b].from || x[j] < low[j])
                low[j] = x[j];
            if (at == t->box[b].from || x[j] > high[j]) {
                high[j] = x[j];
                high_limit[j] = pool_limits(q, t->order[at])[j];
            }
        }
    }
}

static int widest(const struct near_tree *t, int b)
{
    size_t d = (size_t)t->pool->d;
    int best = 0;
    int64_t most = -1;
    for (size_t j = 0; j < d; j++) {
        int64_t span =
            pool_span(&t->pool->scale[j], t->low[(size_t)b * d + j], t->high[(size_t)b * d + j]);
        if (span > most) {
            most = span;
            best = (int)j;
        }
    }
    return best;
}

static void build(struct near_tree *t, int from, int to)
{
    int b = t->boxes++;
    t->box[b] = (struct near_box){.from = from, .to = to};
    box_measure(t, b);
    if (to - from <= LEAF)
        return;
    int middle = from + (to - from) / 2;
    select_at(t->pool, widest(t, b), t->order, from, to, middle);
    build(t, from, middle);
    t->box[b].right = t->boxes;
    build(t, middle, to);
}

struct near_tree *near_new(const struct pool *q, struct arena *a)
{
    struct near_tree *t = arena_alloc(a, sizeof *t);
    size_t most = (size_t)q->n / (LEAF / 2) * 2 + 3; /* leaves hold more than LEAF / 2 */
    size_t d = (size_t)q->d;
    t->pool = q;
    t->box = arena_array(a, most, sizeof *t->box);
    t->low = arena_array(a, most * d, sizeof *t->low);
    t->high = arena_array(a, most * d, sizeof *t->high);
    t->high_limit = arena_array(a, most * d, sizeof *t->high_limit);
    t->order = arena_array(a, (size_t)q->n, sizeof *t->order);
    for (int i = 0; i < q->n; i++)
        t->order[i] = i;
    if (q->n > 0)
        build(t, 0, q->n);
    t->place = arena_array(a, (size_t)q->n, sizeof *t->place);
    for (int i = 0; i < q->n; i++)
        t->place[t->order[i]] = i;
    return t;
}

int64_t near_bound(const struct near_tree *t, int i, int box)
{
    const struct pool *q = t->pool;
    const int64_t *x = pool_row(q, i);
    const int64_t *limit = pool_limits(q, i);
    const int64_t *low = t->low + (int64_t)box * q->d;
    const int64_t *high = t->high + (int64_t)box * q->d;
    const int64_t *high_limit = t->high_limit + (int64_t)box * q->d;
    for (int j = 0; j < q->d; j++) {
        if (low[j] > limit[j] || x[j] > high_limit[j])
            return -1;
    }
    int64_t sum = 0;
    for (int j = 0; j < q->d; j++) {
        if (x[j] < low[j])
            sum += pool_span(&q->scale[j], x[j], low[j]);
        else if (x[j] > high[j])
            sum += pool_span(&q->scale[j], high[j], x[j]);
    }
    return sum;
}

struct search {
    const struct near_tree *t;
    int i;
    int k;
    int count;
    int *to;
    int64_t *cost;
};

static void offer(struct search *s, int j, int64_t cost)
{
    if (s->count == s->k && cost >= s->cost[s->k - 1])
        return;
    int at = s->count < s->k ? s->count++ : s->k - 1;
    while (at > 0 && s->cost[at - 1] > cost) {
        s->cost[at] = s->cost[at - 1];
        s->to[at] = s->to[at - 1];
        at--;
    }
    s->cost[at] = cost;
    s->to[at] = j;
}

static void visit(struct search *s, int box, int64_t bound)
{
    const struct near_tree *t = s->t;
    if (bound < 0 || (s->count == s->k && bound >= s->cost[s->k - 1]))
        return;
    if (t->box[box].right == 0) {
        for (int at = t->box[box].from; at < t->box[box].to; at++) {
            int j = t->order[at];
            if (j != s->i && pool_pair_holds(t->pool, s->i, j))
                offer(s, j, pool_pair_cost(t->pool, s->i, j));
        }
        return;
    }
    int left = box + 1;
    int right = t->box[box].right;
    int64_t left_bound = near_bound(t, s->i, left);
    int64_t right_bound = near_bound(t, s->i, right);
    bool tie_right = left_bound == right_bound && t->place[s->i] >= t->box[right].from;
    if (right_bound >= 0 && (left_bound < 0 || right_bound < left_bound || tie_right)) {
        visit(s, right, right_bound);
        visit(s, left, left_bound);
    } else {
        visit(s, left, left_bound);
        visit(s, right, right_bound);
    }
}

int near_query(const struct near_tree *t, int i, int k, int *to, int64_t *cost)
{
    struct search s = {.t = t, .i = i, .k = k, .to = to, .cost = cost};
    if (t->boxes > 0 && k > 0)
        visit(&s, 0, near_bound(t, i, 0));
    return s.count;
}

struct near_table *near_table_new(const struct near_tree *t, int k, struct arena *a)
{
    struct near_table *table = arena_alloc(a, sizeof *table);
    size_t n = (size_t)t->pool->n;
    int to[NEAR_MOST];
    int64_t cost[NEAR_MOST];
    table->start = arena_array(a, n + 1, sizeof *table->start);
    table->to = arena_array(a, n * (size_t)k, sizeof *table->to);
    table->cost = arena_array(a, n * (size_t)k, sizeof *table->cost);
    for (size_t i = 0; i < n; i++) {
        int found = near_query(t, (int)i, k, to, cost);
        int at = table->start[i];
        memcpy(table->to + at, to, (size_t)found * sizeof *to);
        memcpy(table->cost + at, cost, (size_t)found * sizeof *cost);
        table->start[i + 1] = at + found;
    }
    return table;
}

/* ---- all that hold --------------------------------------------------------------------------- */

static bool box_meets(const struct near_tree *t, int i, int box)
{
    const struct pool *q = t->pool;
    const int64_t *x = pool_row(q, i);
    const int64_t *limit = pool_limits(q, i);
    int64_t at = (int64_t)box * q->d;
    for (int j = 0; j < q->d; j++) {
        if (t->low[at + j] > limit[j] || x[j] > t->high_limit[at + j])
            return false;
    }
    return true;
}

static int range_in(const struct near_tree *t, int i, int box, int most, int *to, int count)
{
    if (!box_meets(t, i, box))
        return count;
    if (t->box[box].right != 0) {
        count = range_in(t, i, box + 1, most, to, count);
        return range_in(t, i, t->box[box].right, most, to, count);
    }
    for (int at = t->box[box].from; at < t->box[box].to; at++) {
        int j = t->order[at];
        if (j == i || !pool_pair_holds(t->pool, i, j))
            continue;
        if (count < most)
            to[count] = j;
        count++;
    }
    return count;
}

int near_range(const struct near_tree *t, int i, int most, int *to)
{
    return t->boxes == 0 ? 0 : range_in(t, i, 0, most, to, 0);
}

/* A walk over a component takes each tube out of the tree as it is reached, so that no pair of
 * reached tubes is looked at again: a dense component costs little more than its tubes. */
struct walk {
    const struct near_tree *t;
    int *component;
    int *left; /* [boxes] tubes not reached yet */
    int *queue;
    int queued;
    int number;
};

static int reach(struct walk *w, int i, int box)
{
    if (w->left[box] == 0 || !box_meets(w->t, i, box))
        return 0;
    int taken = 0;
    if (w->t->box[box].right != 0) {
        taken = reach(w, i, box + 1);
        taken += reach(w, i, w->t->box[box].right);
    } else {
        for (int at = w->t->box[box].from; at < w->t->box[box].to; at++) {
            int j = w->t->order[at];
            if (w->component[j] >= 0 || !pool_pair_holds(w->t->pool, i, j))
                continue;
            w->component[j] = w->number;
            w->queue[w->queued++] = j;
            taken++;
        }
    }
    w->left[box] -= taken;
    return taken;
}

int near_components(const struct near_tree *t, int *component, struct arena *a)
{
    struct walk w = {.t = t, .component = component};
    w.left = arena_array(a, (size_t)t->boxes, sizeof *w.left);
    w.queue = arena_array(a, (size_t)t->pool->n, sizeof *w.queue);
    for (int b = 0; b < t->boxes; b++)
        w.left[b] = t->box[b].to - t->box[b].from;
    for (int i = 0; i < t->pool->n; i++)
        component[i] = -1;
    for (int i = 0; i < t->pool->n; i++) {
        if (component[i] >= 0)
            continue;
        w.queued = 0;
        reach(&w, i, 0); /* a tube holds with itself */
        for (int at = 0; at < w.queued; at++)
            reach(&w, w.queue[at], 0);
        w.number++;
    }
    return w.number;
}
