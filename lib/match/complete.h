/* SPDX-License-Identifier: MIT
 *
 * complete: what a set that lacks some members can be completed with.
 *
 * The members that are there may be in stock or sold long ago and known by their certificate alone:
 * only their values matter.
 */
#ifndef QUADRILLE_MATCH_COMPLETE_H
#define QUADRILLE_MATCH_COMPLETE_H

#include "match/problem.h"

#define COMPLETE_MISSING 4   /* the most members that may be missing */
#define COMPLETE_MOST    200 /* the most completions listed */

/* What is there. */
struct complete_ask {
    const int64_t *value; /* [members * coordinates] as the problem's values */
    int members;          /* 0..MATCH_SIZE - missing */
    int32_t class_of;     /* candidates are of this class; not looked at when members is 0 */
    int missing;          /* 1..COMPLETE_MISSING */
    int most;             /* how many completions are wanted, 1..COMPLETE_MOST */
};

/* One way to complete it: the tubes, ascending, and the cost of the whole set. */
struct completion {
    int tube[COMPLETE_MISSING];
    int64_t cost;
};

/* The best completions from the tubes of p, least cost first, then by tubes; in the arena.  p must
 * pass match_problem_check; its demand is not looked at.  ERR_INVALID where the ask is out of
 * range, and ERR_CONFLICT where what is there does not hold together by itself (which column, and
 * by how much). */
MUST_USE bool complete_rank(const struct match_problem *p, const struct complete_ask *ask,
                            struct arena *a, struct completion **out, int *count, struct err *e);

/* Does one tube's row of values hold with what is there?  For asking many incomplete sets about one
 * tube.  *cost, may be NULL, is that of all together. */
bool complete_holds(const struct match_problem *p, const struct complete_ask *ask,
                    const int64_t *value, int64_t *cost);

#endif
