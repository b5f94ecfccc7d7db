/* SPDX-License-Identifier: MIT
 *
 * pairs: the most pairs, then the least cost, proven.
 */
#ifndef QUADRILLE_MATCH_PAIRS_H
#define QUADRILLE_MATCH_PAIRS_H

#include "match/answer.h"
#include "match/blossom.h"
#include "match/near.h"

struct pairs {
    int *mate; /* [n] -1: none */
    bool proven;
    struct match_certificate certificate; /* by number in the pool; only if proven */
};

/* Pair the pool of the tree.  reward: more than all pairs together can cost.  The result is in the
 * arena.  Stopped by pace: a valid pairing, proven false. */
void pairs_solve(const struct near_tree *t, int64_t reward, blossom_pace_fn *pace, void *ctx,
                 struct arena *a, struct pairs *out);

#endif
