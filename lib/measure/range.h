/* SPDX-License-Identifier: MIT
 *
 * range: how probable it is that a set's true values lie within a band.
 *
 * The true values are taken as independent and normal: mean[i] the value that stands, sigma[i] the
 * standard uncertainty that item i does not share with the others (an error common to all, such as
 * the calibration of the one tester they were read with, cancels and must be left out).
 * For equal means and sigmas this is the distribution of the range (the studentized range with
 * infinite degrees of freedom; Harter, Ann. Math. Stat. 31 (1960)).
 */
#ifndef QUADRILLE_MEASURE_RANGE_H
#define QUADRILLE_MEASURE_RANGE_H

#include <stddef.h>

#define RANGE_ITEMS 64 /* the most items of a set */

/* P(max - min <= width) of k items, 1 <= k <= RANGE_ITEMS.  width in the unit of the means; below 0
 * the answer is 0.  sigma[i] is 0 (known exactly) or at least 1e-9 of the largest mean.
 * Absolute error below 1e-12 (1e-9 where the sigmas differ by more than some hundredfold or one is
 * 0). */
double range_probability(const double *mean, const double *sigma, size_t k, double width);

/* P(min > 0 and max - min <= band * min), band >= 0 as a share (0.05 is 5 %).  The same otherwise.
 */
double range_probability_relative(const double *mean, const double *sigma, size_t k, double band);

#endif
