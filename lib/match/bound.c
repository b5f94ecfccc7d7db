/* SPDX-License-Identifier: MIT
 *
 * bound: what each component, and in it each coordinate alone, allows.
 *
 * One coordinate alone is solved exactly by going up the sorted values: if the lowest tube and the
 * size - 1 next ones hold, they are a set of some best answer (any other set with the lowest could
 * be exchanged for it); if not, the lowest is in no set at all.
 *
 * Whether a tube lies in a set is searched among its neighbours, nearest first; a search that takes
 * too many steps counts as yes, which leaves the bound valid.
 */
#include "match/bound.h"

#include <stdlib.h>
#include <string.h>

#define STEPS 20000 /* of the search for one set with a given tube */

struct hunt {
    const struct pool *q;
    const int *near;
    int count;
    int size;
    int member[MATCH_SIZE];
    int steps;
};

/* Can member[0..have) be completed by tubes from near[from..count)? */
static bool complete(struct hunt *h, int have, int from)
{
    if (have == h->size)
        return true;
    for (int at = from; at + (h->size - have) <= h->count; at++) {
        if (++h->steps > STEPS)
            return true;
        h->member[have] = h->near[at];
        if (pool_set_holds(h->q, h->member, have + 1, NULL) && complete(h, have + 1, at + 1))
            return true;
    }
    return false;
}

static bool lies_in_a_set(const struct near_tree *t, int i, int size, int *room)
{
    struct hunt h = {.q = t->pool, .near = room, .size = size};
    int64_t cost[NEAR_MOST];
    h.member[0] = i;
    h.count = near_query(t, i, NEAR_MOST, room, cost);
    if (complete(&h, 1, 0))
        return true;
    if (h.count < NEAR_MOST)
        return false;
    h.count = near_range(t, i, t->pool->n, room);
    h.steps = 0;
    return complete(&h, 1, 0);
}

struct value {
    int64_t value;
    int64_t limit;
};

static int compare_values(const void *a, const void *b)
{
    const struct value *x = a;
    const struct value *y = b;
    return (x->value > y->value) - (x->value < y->value);
}

static int64_t sets_in_line(const struct pool *q, const int *tube, int n, int j, int size,
                            struct value *v)
{
    for (int i = 0; i < n; i++)
        v[i] = (struct value){pool_row(q, tube[i])[j], pool_limits(q, tube[i])[j]};
    qsort(v, (size_t)n, sizeof *v, compare_values);
    int64_t sets = 0;
    int at = 0;
    while (at + size <= n) {
        if (v[at + size - 1].value <= v[at].limit) {
            sets++;
            at += size;
        } else {
            at++;
        }
    }
    return sets;
}

/* The tubes that lie in a set, component by component: those of c are by[start[c]..start[c + 1]).
 */
struct grouped {
    int count;
    int *start;
    int *by;
};

static struct grouped group(const struct near_tree *t, int size, struct arena *a)
{
    size_t n = (size_t)t->pool->n;
    struct grouped g = {0};
    int *component = arena_array(a, n, sizeof *component);
    int *room = arena_array(a, n > NEAR_MOST ? n : NEAR_MOST, sizeof *room);
    g.count = near_components(t, component, a);
    g.start = arena_array(a, (size_t)g.count + 2, sizeof *g.start);
    g.by = arena_array(a, n, sizeof *g.by);
    for (int i = 0; i < t->pool->n; i++) {
        if (!lies_in_a_set(t, i, size, room))
            component[i] = -1;
        else
            g.start[component[i] + 2]++;
    }
    for (int c = 0; c < g.count; c++)
        g.start[c + 2] += g.start[c + 1];
    for (int i = 0; i < t->pool->n; i++) {
        if (component[i] >= 0)
            g.by[g.start[component[i] + 1]++] = i;
    }
    return g;
}

int64_t bound_sets(const struct near_tree *t, int size, int *lonely, struct arena *a)
{
    struct grouped g = group(t, size, a);
    struct value *v = arena_array(a, (size_t)t->pool->n, sizeof *v);
    int64_t sum = 0;
    for (int c = 0; c < g.count; c++) {
        int n = g.start[c + 1] - g.start[c];
        int64_t most = n / size;
        for (int j = 0; j < t->pool->d && most > 0; j++) {
            int64_t alone = sets_in_line(t->pool, g.by + g.start[c], n, j, size, v);
            most = alone < most ? alone : most;
        }
        sum += most;
    }
    if (lonely != NULL)
        *lonely = t->pool->n - g.start[g.count];
    return sum;
}
