/* SPDX-License-Identifier: MIT
 *
 * linearity: does a tester's bias change with the size of what it reads?
 *
 * Bias against reference value, a straight line by least squares (AIAG, Measurement Systems
 * Analysis, 4th ed. 2010, ch. III sec. B): a slope that is not 0 is a scale error, a line that is
 * not 0 a bias.
 */
#ifndef QUADRILLE_MEASURE_LINEARITY_H
#define QUADRILLE_MEASURE_LINEARITY_H

#include "base/err.h"
#include "measure/regression.h"

#define LINEARITY_POINTS 10000 /* the most readings */

struct linearity {
    struct regression line;          /* bias = beta[0] + beta[1] * reference */
    double t_intercept, p_intercept; /* two-sided, n - 2 degrees of freedom */
    double t_slope, p_slope;
};

/* reference[i] the known value, reading[i] what was shown.  ERR_INVALID as regression_fit, and for
 * more than LINEARITY_POINTS. */
MUST_USE bool linearity_fit(struct linearity *out, const double *reference, const double *reading,
                            size_t n, struct err *e);

#endif
