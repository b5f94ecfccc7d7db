/* SPDX-License-Identifier: MIT
 *
 * sampling: the distributions that statistics of a normal sample follow: Student's t, chi-square
 * and Fisher's F, as probabilities and as quantiles.
 *
 * Accurate to about 1e-13 absolute for degrees of freedom from 0.1 to 10^5.  Degrees of freedom
 * need not be whole (Welch and Satterthwaite give broken ones) and must be above 0.
 */
#ifndef QUADRILLE_MEASURE_SAMPLING_H
#define QUADRILLE_MEASURE_SAMPLING_H

/* P(T <= t) with dof degrees of freedom; dof = INFINITY is the normal distribution. */
double sampling_t_below(double t, double dof);

/* The t with P(|T| <= t) = p, 0 < p < 1: the coverage factor of JCGM 100:2008 table G.2. */
double sampling_t_factor(double p, double dof);

/* P(X > x) for chi-square, x >= 0, and the x with P(X <= x) = p, 0 < p < 1. */
double sampling_chi2_above(double x, double dof);
double sampling_chi2_quantile(double p, double dof);

/* P(F > f) with dof1 and dof2 degrees of freedom, f >= 0: the p-value of an analysis of variance.
 */
double sampling_f_above(double f, double dof1, double dof2);

/* The regularised incomplete beta and upper gamma functions on which the above stand:
 * I_x(a, b), 0 <= x <= 1, and Q(a, x), x >= 0; a, b > 0. */
double sampling_beta(double x, double a, double b);
double sampling_gamma_above(double a, double x);

#endif
