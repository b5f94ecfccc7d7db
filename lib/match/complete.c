/* SPDX-License-Identifier: MIT
 *
 * complete: the box around what is there narrows the candidates to a few, and a search through
 * those that keeps only the best answers so far.
 *
 * Adding a tube never makes a set cheaper, so a partial completion that costs as much as the worst
 * one kept is given up.
 */
#include "match/complete.h"

#include <stdlib.h>
#include <string.h>

/* The extent of a set in every coordinate. */
struct extent {
    int64_t low[MATCH_COORDINATES];
    int64_t high[MATCH_COORDINATES];
    bool empty;
};

struct ranking {
    const struct match_problem *p;
    const struct complete_ask *ask;
    const int *candidate;
    int candidates;
    struct completion *best;
    int count;
    int tube[COMPLETE_MISSING];
};

static const int64_t *row_of(const struct match_problem *p, int tube)
{
    return p->value + (int64_t)tube * p->coordinates;
}

static void widen(struct extent *x, const struct match_problem *p, const int64_t *value)
{
    for (int j = 0; j < p->coordinates; j++) {
        if (x->empty || value[j] < x->low[j])
            x->low[j] = value[j];
        if (x->empty || value[j] > x->high[j])
            x->high[j] = value[j];
    }
    x->empty = false;
}

/* The cost of a set of that extent, -1 when it does not hold; *column is then the first that does
 * not. */
static int64_t cost_of(const struct match_problem *p, const struct extent *x, int *column)
{
    int64_t sum = 0;
    for (int j = 0; j < p->coordinates && !x->empty; j++) {
        *column = j;
        if (!match_band_holds(&p->band[j], x->low[j], x->high[j]))
            return -1;
        sum += match_band_cost(&p->band[j], x->low[j], x->high[j]);
    }
    return sum;
}

static struct extent extent_there(const struct match_problem *p, const struct complete_ask *ask)
{
    struct extent x = {.empty = true};
    for (int m = 0; m < ask->members; m++)
        widen(&x, p, ask->value + (int64_t)m * p->coordinates);
    return x;
}

bool complete_holds(const struct match_problem *p, const struct complete_ask *ask,
                    const int64_t *value, int64_t *cost)
{
    struct extent x = extent_there(p, ask);
    int column;
    widen(&x, p, value);
    int64_t sum = cost_of(p, &x, &column);
    if (sum >= 0 && cost != NULL)
        *cost = sum;
    return sum >= 0;
}

static bool ask_check(const struct match_problem *p, const struct complete_ask *ask, struct err *e)
{
    if (ask->missing < 1 || ask->missing > COMPLETE_MISSING)
        return err_field(e, "missing", ERR_INVALID,
                         "%d members are missing; 1 to %d can be looked for", ask->missing,
                         COMPLETE_MISSING);
    if (ask->members < 0 || ask->members + ask->missing > MATCH_SIZE)
        return err_field(e, "members", ERR_INVALID, "%d members are given; a set has at most %d",
                         ask->members, MATCH_SIZE);
    if (ask->most < 1 || ask->most > COMPLETE_MOST)
        return err_field(e, "most", ERR_INVALID, "%d answers are wanted; give 1 to %d", ask->most,
                         COMPLETE_MOST);
    struct extent x = extent_there(p, ask);
    int column = 0;
    if (cost_of(p, &x, &column) < 0)
        return err_field(
            e, p->column[column], ERR_CONFLICT,
            "the members that are there do not hold together in %.40s: %lld and %lld, in "
            "its last decimal; give a wider band",
            p->column[column], (long long)x.low[column], (long long)x.high[column]);
    return true;
}

static int compare_tubes(const struct completion *a, const struct completion *b, int n)
{
    for (int i = 0; i < n; i++) {
        if (a->tube[i] != b->tube[i])
            return a->tube[i] < b->tube[i] ? -1 : 1;
    }
    return 0;
}

static void keep(struct ranking *r, int64_t cost)
{
    struct completion new = {.cost = cost};
    memcpy(new.tube, r->tube, sizeof new.tube);
    int at = r->count < r->ask->most ? r->count++ : r->count - 1;
    while (at > 0 && (r->best[at - 1].cost > cost ||
                      (r->best[at - 1].cost == cost &&
                       compare_tubes(&r->best[at - 1], &new, r->ask->missing) > 0))) {
        r->best[at] = r->best[at - 1];
        at--;
    }
    r->best[at] = new;
}

/* Tubes come in ascending order, so of two equal completions the first met is the one that goes
 * before. */
static void extend(struct ranking *r, const struct extent *x, int have, int from, int32_t class_of)
{
    for (int at = from; at + (r->ask->missing - have) <= r->candidates; at++) {
        int tube = r->candidate[at];
        struct extent wider = *x;
        int column;
        if (!x->empty && r->p->class_of[tube] != class_of)
            continue;
        widen(&wider, r->p, row_of(r->p, tube));
        int64_t cost = cost_of(r->p, &wider, &column);
        if (cost < 0 || (r->count == r->ask->most && cost >= r->best[r->count - 1].cost))
            continue;
        r->tube[have] = tube;
        if (have + 1 == r->ask->missing)
            keep(r, cost);
        else
            extend(r, &wider, have + 1, at + 1, r->p->class_of[tube]);
    }
}

bool complete_rank(const struct match_problem *p, const struct complete_ask *ask, struct arena *a,
                   struct completion **out, int *count, struct err *e)
{
    if (!ask_check(p, ask, e))
        return false;
    int *candidate = arena_array(a, (size_t)p->tubes, sizeof *candidate);
    struct ranking r = {.p = p, .ask = ask, .candidate = candidate};
    for (int i = 0; i < p->tubes; i++) {
        if ((ask->members == 0 || p->class_of[i] == ask->class_of) &&
            complete_holds(p, ask, row_of(p, i), NULL))
            candidate[r.candidates++] = i;
    }
    r.best = arena_array(a, (size_t)ask->most + 1, sizeof *r.best);
    struct extent x = extent_there(p, ask);
    extend(&r, &x, 0, 0, ask->class_of);
    *out = r.best;
    *count = r.count;
    return true;
}
