/* SPDX-License-Identifier: MIT
 *
 * sets: the search for many sets of any sizes at once.
 */
#ifndef QUADRILLE_MATCH_SETS_H
#define QUADRILLE_MATCH_SETS_H

#include "match/near.h"
#include "match/solve.h"

/* What the search works on: every tube of the pool stands in one slot; slots [start[s], start[s+1])
 * are set s, the slots behind the last set are loose.  A set that does not hold counts for nothing;
 * it is only a place where tubes wait. */
struct sets {
    const struct pool *pool;
    int count;     /* of sets, holding or not */
    int *start;    /* [count + 1] */
    int *line;     /* [count] demand line of each set; a lower line goes before */
    int *slot;     /* [n] the tube in each slot */
    int *at;       /* [n] the slot of each tube */
    int *set_of;   /* [n] the set of each tube, -1 for loose */
    int64_t *cost; /* [count] as the search sees it: nearly, and beyond the band more and more */
    bool *holds;   /* [count] */
    int *found;    /* [lines] sets that hold */
    int64_t total; /* cost of the sets that hold, nearly */
    int lines;
};

/* count empty sets (size[s] tubes each, by line ascending) to be filled from the pool; the sizes
 * may not add up to more than the pool.  In the arena. */
struct sets *sets_new(const struct pool *q, int count, const int *size, const int *line, int lines,
                      struct arena *a);

/* A first answer at once: one set after another from the nearest loose tubes, those with the fewest
 * neighbours first. */
void sets_fill(struct sets *s, const struct near_table *near, struct arena *a);

struct sets_search {
    struct draw *draw;
    const int *order; /* [n] the tubes, near ones near each other, as in struct near_tree */
    int64_t iterations;
    int64_t hot;  /* the temperature at the beginning, as a cost */
    int halvings; /* and how often it is halved to the end */
    match_pace_fn *pace;
    void *ctx;
    int64_t pace_from;    /* share of the caller's budget at which this search begins */
    int64_t pace_to;      /* and at which it should have ended */
    const int64_t *bound; /* [lines] for progress */
};

/* Annealed swaps (S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, "Optimization by simulated
 * annealing", Science 220, 1983); leaves the best state met.  False when the caller's budget is
 * spent. */
bool sets_anneal(struct sets *s, const struct near_table *near, const struct sets_search *how,
                 struct arena *a);

#endif
