/* SPDX-License-Identifier: MIT
 *
 * confidence: how likely it is that what is true of a set is within its band, readings being what
 * they are.  The only place in matching that knows double: nothing here decides who belongs
 * together by itself.
 */
#ifndef QUADRILLE_MATCH_CONFIDENCE_H
#define QUADRILLE_MATCH_CONFIDENCE_H

#include "match/problem.h"

#define CONFIDENCE_MOST MATCH_SIZE

/* The probability that the true values of n members, 1..CONFIDENCE_MOST, hold in a band, each true
 * value being normal about value[i] with standard uncertainty u[i] >= 0, independent of the others;
 * a part that all have in common, such as that of one calibration, belongs in none. band      as in
 * problem.h: the highest against the lowest decimals  of an absolute band: value and u are in the
 * unit, band->num in its last decimal With the member i the lowest, at x, and top(x) the highest
 * value that holds with x: P = sum over i of the integral of phi_i(x) * product over j != i of
 * [Phi_j(top(x)) - Phi_j(x)] which for equal values and uncertainties is the distribution of the
 * studentized range with infinite degrees of freedom (H. L. Harter, Ann. Math. Stat. 31, 1960).
 * Accurate to 10^-9. */
double confidence_in_band(const double *value, const double *u, int n,
                          const struct match_band *band, int decimals);

#endif
