/* SPDX-License-Identifier: MIT
 *
 * calibration: finding a tester's line and applying it to a reading.
 *
 * The line runs from reading to true value, so that applying it needs no inversion.  York's fit is
 * the same whichever axis is called x, so nothing is lost by that.
 */
#include "measure/calibration.h"

#include "measure/york.h"

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

/* house rule: a slope that is not clear of 0 by this many uncertainties says nothing of the scale
 */
#define SLOPE_CLEAR 3.0

static bool line_check(const struct york *line, struct err *e)
{
    if (line->slope > SLOPE_CLEAR * line->u_slope)
        return true;
    return err_set(
        e, ERR_INVALID,
        "these check tubes do not tell the tester's scale (slope %g with an uncertainty of "
        "%g): use ones that differ more",
        line->slope, line->u_slope);
}

bool calibration_find(struct calibration *out, struct calibration_fit *fit,
                      const struct calibration_pair *pair, size_t n, struct err *e)
{
    struct york_point point[CALIBRATION_MOST];
    if (n < CALIBRATION_FEWEST || n > CALIBRATION_MOST)
        return err_set(e, ERR_INVALID, "a calibration needs %d to %d check tubes, but %zu came",
                       CALIBRATION_FEWEST, CALIBRATION_MOST, n);
    struct calibration c = {.low = INFINITY, .high = -INFINITY};
    for (size_t i = 0; i < n; i++) {
        point[i] = (struct york_point){.x = pair[i].reading,
                                       .y = pair[i].reference,
                                       .u_x = pair[i].u_reading,
                                       .u_y = pair[i].u_reference};
        c.low = fmin(c.low, pair[i].reading);
        c.high = fmax(c.high, pair[i].reading);
    }
    struct york line;
    if (!york_fit(&line, point, n, e))
        return false;
    double excess = fmax(line.s / line.df, 1.0);
    line.u_intercept *= sqrt(excess);
    line.u_slope *= sqrt(excess);
    if (!line_check(&line, e))
        return false;
    c.intercept = line.intercept;
    c.slope = line.slope;
    c.u_intercept = line.u_intercept;
    c.u_slope = line.u_slope;
    c.covariance = line.covariance * excess;
    *out = c;
    if (fit != NULL)
        *fit = (struct calibration_fit){n, line.s, line.p, sqrt(excess)};
    return true;
}
