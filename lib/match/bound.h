/* SPDX-License-Identifier: MIT
 *
 * bound: more sets than this there cannot be.
 */
#ifndef QUADRILLE_MATCH_BOUND_H
#define QUADRILLE_MATCH_BOUND_H

#include "match/near.h"

/* An upper bound on the number of disjoint sets of size that the pool can give, from each component
 * of the graph of pairs that hold: its tubes that lie in at least one set, divided by size; and
 * for each coordinate alone the exact number.  *lonely, if not NULL, is how many tubes lie in no
 * set. */
int64_t bound_sets(const struct near_tree *t, int size, int *lonely, struct arena *a);

#endif
