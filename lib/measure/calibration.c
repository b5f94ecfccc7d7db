/* SPDX-License-Identifier: MIT
 *
 * calibration: applying a tester's line to a reading.
 */
#include "measure/calibration.h"

#include <math.h>

struct calibrated calibration_apply(const struct calibration *c, double reading)
{
    /* JCGM 100:2008 H.3.4, eq. H.15; rounding can leave a variance of nothing just below zero. */
    double variance = c->u_intercept * c->u_intercept +
                      reading * reading * c->u_slope * c->u_slope + 2.0 * reading * c->covariance;
    /* house rule: a tenth of the span, since the line is straight only where it was looked at */
    double margin = 0.1 * (c->high - c->low);
    return (struct calibrated){.value = c->intercept + c->slope * reading,
                               .u = variance > 0.0 ? sqrt(variance) : 0.0,
                               .slope = fabs(c->slope),
                               .stretched =
                                   reading < c->low - margin || reading > c->high + margin};
}
