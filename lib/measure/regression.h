/* SPDX-License-Identifier: MIT
 *
 * regression: least squares of y on powers of x, with the errors all in y.
 *
 * For lines and low polynomials: linearity of a tester, drift over the days.  Where x is itself a
 * reading, use measure/york.h instead.
 */
#ifndef QUADRILLE_MEASURE_REGRESSION_H
#define QUADRILLE_MEASURE_REGRESSION_H

#include "base/err.h"

#define REGRESSION_TERMS 6 /* the most coefficients: up to the fifth power */

struct regression {
    size_t n;
    int terms;                     /* coefficients fitted */
    int first_power;               /* of coefficient 0: 0, or 1 through the origin */
    double beta[REGRESSION_TERMS]; /* beta[k] belongs to x^(first_power + k) */
    double se[REGRESSION_TERMS];   /* standard errors */
    double covariance[REGRESSION_TERMS][REGRESSION_TERMS];
    int df_model;    /* regression degrees of freedom: terms, less 1 with an intercept */
    int df_residual; /* n - terms */
    double ss_model; /* about the mean; through the origin: about 0 */
    double ss_residual;
    double residual_sd; /* sqrt(ss_residual / df_residual) */
    double r_squared;   /* ss_model / (ss_model + ss_residual) */
    double f;           /* INFINITY when nothing is left over */
};

/* Fit y = sum beta[k] x^(first_power + k).
 *   degree          1..5: the highest power
 *   through_origin  without the constant term
 * ERR_INVALID: fewer points than coefficients + 1, a value that is not finite, or x values that do
 * not tell the coefficients apart (too few different ones). */
MUST_USE bool regression_fit(struct regression *out, const double *x, const double *y, size_t n,
                             int degree, bool through_origin, struct err *e);

/* The fitted value at x and its standard uncertainty from the coefficients alone
 * (JCGM 100:2008 H.3.4). */
double regression_at(const struct regression *r, double x, double *u);

#endif
