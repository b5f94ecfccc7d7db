/* SPDX-License-Identifier: MIT
 *
 * calibration: the line that carries a tester's readings to true values.
 *
 * value = intercept + slope * reading, for one quantity of one tester, from check tubes whose
 * values are known.  The same line serves a tester that shows only a relative scale: reading is
 * then in the scale's unit, value in the quantity's.  The line is fitted with uncertainties on both
 * axes (measure/york.h); what it leaves uncertain is common to every tube read with it and is
 * therefore kept apart from a reading's own uncertainty.
 */
#ifndef QUADRILLE_MEASURE_CALIBRATION_H
#define QUADRILLE_MEASURE_CALIBRATION_H

#include "base/err.h"

struct calibration {
    double intercept;   /* quantity's unit */
    double slope;       /* quantity's unit per unit of the reading; not 0 */
    double u_intercept; /* standard uncertainties and covariance of the two */
    double u_slope;
    double covariance;
    double low; /* the check tubes' readings span low..high; outside the line is stretched */
    double high;
};

struct calibrated {
    double value;   /* quantity's unit */
    double u;       /* standard uncertainty from the line alone */
    double slope;   /* what a reading's own uncertainty is multiplied by (its magnitude) */
    bool stretched; /* the reading lies outside low..high by more than a tenth of that span */
};

/* Apply the line to a reading.  u^2 = u_a^2 + x^2 u_b^2 + 2 x cov(a, b)
 * (JCGM 100:2008, 5.2.2 eq. 13 and H.3.4 eq. H.15). */
struct calibrated calibration_apply(const struct calibration *c, double reading);

#endif
