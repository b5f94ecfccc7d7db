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

/* One check tube: what the tester showed and what is known to be true. */
struct calibration_pair {
    double reading, u_reading; /* mean of its repeats in the reading's unit; standard uncertainty
                                  from repeatability and resolution, above 0 */
    double reference, u_reference; /* in the quantity's unit; 0 or more */
};

#define CALIBRATION_FEWEST 3 /* check tubes: two always make a line and never a doubt of it */
#define CALIBRATION_MOST   1000

/* How well the line goes through its check tubes. */
struct calibration_fit {
    size_t n;
    double s;      /* sum of squared weighted residuals; about n - 2 when all is as stated */
    double p;      /* probability of an s as large or larger */
    double factor; /* what the line's uncertainties were multiplied by, 1 or more */
};

/* Fit reference = intercept + slope * reading, both sides uncertain (measure/york.h).  Where the
 * points scatter more than their uncertainties allow, the line's uncertainties are multiplied by
 * sqrt(s / (n - 2)) (York et al. 2004; the Birge ratio).  fit may be NULL.
 * ERR_INVALID: fewer than CALIBRATION_FEWEST or more than CALIBRATION_MOST pairs; values that are
 * not finite or uncertainties below 0; readings all alike; a slope that is not above 0 by three of
 * its uncertainties ("these check tubes do not tell the tester's scale: use ones that differ
 * more"). */
MUST_USE bool calibration_find(struct calibration *out, struct calibration_fit *fit,
                               const struct calibration_pair *pair, size_t n, struct err *e);

#endif
