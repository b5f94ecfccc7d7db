/* SPDX-License-Identifier: MIT
 *
 * curve: how the number of sets grows with the band.
 */
#ifndef QUADRILLE_MATCH_CURVE_H
#define QUADRILLE_MATCH_CURVE_H

#include "match/solve.h"

#define CURVE_POINTS 64 /* the most points of a curve */

/* One point: every band of the problem widened or narrowed by one ratio. */
struct curve_point {
    int64_t num; /* in: the bands are multiplied by num / den; ascending from point to point */
    int64_t den;
    int64_t found; /* out: sets of the problem's one demand line */
    int64_t bound;
    bool proven; /* found is the most there can be */
};

/* Fill in the points for p, whose demand must have one line.  Pairs are exact at every point.  What
 * holds in a narrow band holds in a wider one: so found never falls, and bound never falls either.
 * The options' budget is shared evenly.  ERR_INVALID: no points, too many, not ascending, a ratio
 * that is not positive, a band that becomes too wide. */
MUST_USE bool curve_solve(const struct match_problem *p, const struct match_options *o,
                          struct curve_point *point, int points, struct err *e);

#endif
