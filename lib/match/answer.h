/* SPDX-License-Identifier: MIT
 *
 * answer: the sets found for a problem, and what has been proven about them.
 */
#ifndef QUADRILLE_MATCH_ANSWER_H
#define QUADRILLE_MATCH_ANSWER_H

#include "match/problem.h"

/* One set. */
struct match_set {
    int line;          /* which demand line it serves, 0..lines-1 */
    const int *member; /* [demand[line].size] indexes of tubes, ascending */
    int64_t cost;      /* problem.h: 10^9 for a spread as wide as the band */
};

/* Why no better pairing can exist: a feasible solution of the dual of the matching polytope
 * (J. Edmonds, "Maximum matching and a polyhedron with 0,1-vertices", J. Res. NBS 69B, 1965).
 * The weight of a pair is 2 * (reward - cost), reward being more than all pairs together can cost,
 * so that the heaviest pairing has the most pairs first and the least cost then.  Prices are >= 0,
 * and price[i] + price[j] + sum of the extras of all groups that hold both >= weight of the pair
 * for every pair that holds; then no pairing weighs more than
 *   sum of prices + sum over groups of extra * (tubes of the group - 1) / 2,
 * and the answer weighs exactly that.  Groups are nested: each names the one around it. */
struct match_certificate {
    int64_t reward;       /* > (tubes / 2) * coordinates * 10^9 */
    const int64_t *price; /* [tubes] */
    int groups;
    const int *group_of;  /* [tubes] the innermost group, -1 for none */
    const int *around;    /* [groups] the group around it, -1 for none; always a greater index */
    const int64_t *extra; /* [groups] >= 0 */
};

/* Everything lives in the arena given to match_solve. */
struct match_answer {
    int sets;
    struct match_set *set; /* [sets] by line, then by first member */
    int64_t *found;        /* [lines] number of sets of the line */
    int64_t *bound;        /* [lines] no answer that is as good in the lines before has more */
    int64_t cost;          /* of all sets together */
    bool count_proven;     /* the numbers of sets are the best there can be */
    bool cost_proven;      /* and so is the cost, among all answers with these numbers */
    const char *why;       /* what the proof rests on, or what is missing, one sentence */
    const struct match_certificate *certificate; /* pairs only, else NULL */
};

#endif
