/* SPDX-License-Identifier: MIT
 *
 * pool: the tubes that may serve one demand line, laid out for speed.
 *
 * Numbers in a pool count from 0 and keep the order of the problem, so that ties broken by number
 * are ties broken by id.  Where the tubes are of several classes the class becomes one more
 * coordinate with a band of zero, so that nothing below here needs to know about classes.
 */
#ifndef QUADRILLE_MATCH_POOL_H
#define QUADRILLE_MATCH_POOL_H

#include "match/problem.h"

/* A band with what makes its cost quick: where no product can pass 2^62, one 64-bit division. */
struct pool_scale {
    struct match_band band;
    int64_t top_factor; /* 10^9 * den, or 10^9 */
    bool narrow;        /* all products of this pool's values fit */
};

struct pool {
    int n;
    int d;
    int *tube;                /* [n] index in the problem, ascending */
    int64_t *value;           /* [n * d] */
    int64_t *limit;           /* [n * d] the highest value that holds with it */
    struct pool_scale *scale; /* [d] */
};

/* The pool of the given tubes of p (ascending), in the arena. */
struct pool *pool_new(const struct match_problem *p, const int *tube, int n, struct arena *a);

/* The pool of some tubes of another, by their numbers there (ascending), in the arena. */
struct pool *pool_part(const struct pool *q, const int *number, int n, struct arena *a);

/* match_band_cost, quicker. */
static inline int64_t pool_span(const struct pool_scale *s, int64_t low, int64_t high)
{
    if (low == high)
        return 0;
    if (!s->narrow)
        return match_band_cost(&s->band, low, high);
    int64_t bottom = s->band.kind == MATCH_RELATIVE ? low * s->band.num : s->band.num;
    return ((high - low) * s->top_factor + bottom / 2) / bottom;
}

static inline const int64_t *pool_row(const struct pool *q, int i)
{
    return q->value + (int64_t)i * q->d;
}

static inline const int64_t *pool_limits(const struct pool *q, int i)
{
    return q->limit + (int64_t)i * q->d;
}

/* Do tubes a and b of the pool hold together? */
static inline bool pool_pair_holds(const struct pool *q, int a, int b)
{
    const int64_t *x = pool_row(q, a);
    const int64_t *y = pool_row(q, b);
    const int64_t *xl = pool_limits(q, a);
    const int64_t *yl = pool_limits(q, b);
    for (int j = 0; j < q->d; j++) {
        if (y[j] > xl[j] || x[j] > yl[j])
            return false;
    }
    return true;
}

/* The cost of tubes a and b, which hold together. */
int64_t pool_pair_cost(const struct pool *q, int a, int b);

/* Does the set hold?  *cost, if wanted, is then its cost. */
bool pool_set_holds(const struct pool *q, const int *member, int size, int64_t *cost);

#endif
