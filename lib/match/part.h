/* SPDX-License-Identifier: MIT
 *
 * part: one part of a problem that can be solved by itself.
 */
#ifndef QUADRILLE_MATCH_PART_H
#define QUADRILLE_MATCH_PART_H

#include "match/near.h"
#include "match/solve.h"

/* The caller's budget as a part sees it. */
struct part_budget {
    uint64_t seed;
    int64_t iterations;  /* steps of the search */
    match_pace_fn *pace; /* may be NULL */
    void *ctx;
    int64_t from; /* the part has the caller's budget between these two, in millionths */
    int64_t to;
    bool stopped; /* out: the whole of the caller's budget is spent */
};

struct part {
    const struct near_tree *tree;
    const struct match_line *demand;
    int lines;
    int64_t *found; /* [lines] */
    int64_t *bound; /* [lines] as in struct match_answer */
    bool count_proven;
    bool cost_proven;
    int sets;
    int *line;   /* [sets] */
    int *start;  /* [sets] where the members begin */
    int *member; /* by number in the pool */
    int64_t cost;
};

/* Solve the pool of the tree for the demand.  Everything in the arena. */
struct part *part_solve(const struct near_tree *t, const struct match_line *demand, int lines,
                        struct part_budget *budget, struct arena *a);

#endif
