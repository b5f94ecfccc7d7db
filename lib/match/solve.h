/* SPDX-License-Identifier: MIT
 *
 * solve: the one way to ask for sets.
 *
 * Pairs are solved to proven optimality; larger sets by a search that can be stopped at any time,
 * beside a proven upper bound on their number.  The order of the tubes never matters: they are
 * sorted by id.  Same problem, seed and iterations: same answer.  The engine knows no clock: a
 * caller with a time budget says through its callback how much of it is spent.
 */
#ifndef QUADRILLE_MATCH_SOLVE_H
#define QUADRILLE_MATCH_SOLVE_H

#include "match/answer.h"

#define MATCH_WHOLE INT64_C(1000000)

struct match_progress {
    int line;      /* the demand line at work */
    int64_t found; /* sets of it so far */
    int64_t bound; /* the most there can be */
    int64_t cost;  /* of the sets so far */
};

/* Called every few milliseconds.  Returns how much of the caller's budget is spent, in millionths;
 * MATCH_WHOLE or more ends the search with the best answer so far.  The search cools with it, so an
 * answer depends on it unless it always returns 0. */
typedef int64_t match_pace_fn(void *ctx, const struct match_progress *progress);

struct match_options {
    uint64_t seed;
    int64_t iterations;  /* steps of the search, > 0; 0: MATCH_ITERATIONS a tube, at most _MOST */
    match_pace_fn *pace; /* may be NULL */
    void *ctx;           /* handed to pace */
};
#define MATCH_ITERATIONS      20000
#define MATCH_ITERATIONS_MOST 50000000

/* Solve p, which must pass match_problem_check (refused here too, with its message).  The answer
 * lives in the arena and is always valid, whenever the search was stopped. */
MUST_USE bool match_solve(const struct match_problem *p, const struct match_options *o,
                          struct arena *arena, struct match_answer *out, struct err *e);

#endif
