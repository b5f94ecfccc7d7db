/* SPDX-License-Identifier: MIT
 *
 * conformity: how likely a true value lies within limits, given what was measured.
 *
 * JCGM 106:2012 clause 7: the true value is taken as normal about the measured one, with its
 * standard uncertainty.  The functions for deciding take and give whole numbers, so that who
 * decides by them needs no floating point; the unit is the caller's, and only has to be the same
 * for all arguments of a call.
 */
#ifndef QUADRILLE_MEASURE_CONFORMITY_H
#define QUADRILLE_MEASURE_CONFORMITY_H

#include "base/err.h"
#include "base/value.h"

#define CONFORMITY_SURE 1000000 /* certainty, in the unit in which probabilities are returned */

/* Two independent standard uncertainties together (root of the sum of squares, JCGM
 * 100:2008 5.1.2), rounded up; both >= 0. */
int64_t conformity_u(int64_t a, int64_t b);

/* The probability in millionths, rounded to the nearest, that the true value lies within limits.
 *   above_low   measured value - lower limit (negative when below it), NONE for no lower limit
 *   below_high  upper limit - measured value (negative when above it), NONE for no upper limit
 *   u           standard uncertainty, > 0 */
int64_t conformity_ppm(int64_t above_low, int64_t below_high, int64_t u);

/* The probability in millionths that two true values, both taken as positive, are within a relative
 * band of each other: max - min <= band * min.
 *   x, y    measured values
 *   ux, uy  their standard uncertainties, >= 0 and not both 0, without what is common to the two
 *   band    in hundredths of a percent, >= 0
 * Being positive, at most one of them can be too high, so that the two tails only add. */
int64_t conformity_pair_ppm(int64_t x, int64_t ux, int64_t y, int64_t uy, int64_t band);

/* The same probability in floating point, for the mathematics of this folder: the estimate y with
 * standard uncertainty u >= 0 lies within low..high; -INFINITY or INFINITY where there is no limit.
 * u = 0: 1 or 0, the limits themselves conform. */
double conformity_probability(double y, double u, double low, double high);

/* What deciding by a guard band costs over all tubes of a process that is normal about the middle
 * of -limit..limit with standard deviation spread > 0, measured with u > 0; accepted within the
 * limits less guard, the width of the guard band (JCGM 106:2012, 9.5.2 eqs. 19 and 20). */
struct conformity_risk {
    double consumer; /* accepted though outside */
    double producer; /* refused though inside */
    double outside;  /* share of the process outside its limits */
};
struct conformity_risk conformity_risk(double spread, double u, double limit, double guard);

#endif
