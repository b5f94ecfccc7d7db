/* SPDX-License-Identifier: MIT
 *
 * york: the straight line through points that are uncertain on both axes.
 *
 * Reading against reference value: neither is exact, so ordinary least squares would flatten the
 * slope.  york_fit takes each point's own uncertainties (York, Evensen, Martinez, Delgado, Am. J.
 * Phys. 72 (2004) 367); york_deming needs only the ratio of the two variances and is the start of
 * the former (Deming 1943).
 */
#ifndef QUADRILLE_MEASURE_YORK_H
#define QUADRILLE_MEASURE_YORK_H

#include "base/err.h"

#define YORK_POINTS 10000 /* the most points */

struct york_point {
    double x, y;
    double u_x, u_y; /* standard uncertainties, 0 or more; not both 0 */
    double r;        /* correlation of the two errors of this point, -1 < r < 1; usually 0 */
};

struct york {
    double intercept, slope;
    double u_intercept,
        u_slope; /* from the points' uncertainties alone, not scaled by the scatter */
    double covariance;
    double s;   /* sum of squared weighted residuals; about n - 2 when the uncertainties fit */
    int df;     /* n - 2 */
    double p;   /* probability of an s as large or larger, chi-square; 1 for two points */
    int rounds; /* until the slope stood still */
};

/* ERR_INVALID: fewer than 2 points, or more than YORK_POINTS; a value that is not finite, a
 * negative uncertainty, a point exact on both axes, |r| >= 1; no spread in x; no line that the
 * iteration settles on. */
MUST_USE bool york_fit(struct york *out, const struct york_point *point, size_t n, struct err *e);

/* Deming's line with one ratio for all: delta = var(error in y) / var(error in x), above 0.  n >=
 * 2; ERR_INVALID when the points have no spread or no direction. */
MUST_USE bool york_deming(double *intercept, double *slope, const double *x, const double *y,
                          size_t n, double delta, struct err *e);

#endif
