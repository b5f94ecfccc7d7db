/* SPDX-License-Identifier: MIT
 *
 * normal: the standard normal distribution, mean 0 and standard deviation 1.
 */
#ifndef QUADRILLE_MEASURE_NORMAL_H
#define QUADRILLE_MEASURE_NORMAL_H

/* The density at z. */
double normal_density(double z);

/* P(Z <= z) and P(Z > z), each with full relative accuracy in its own tail. */
double normal_below(double z);
double normal_above(double z);

/* P(a < Z <= b), accurate when both are far out on the same side; 0 when b <= a. */
double normal_between(double a, double b);

/* The z with P(Z <= z) = p, 0 < p < 1; to within a few units in the last place. */
double normal_quantile(double p);

#endif
