/* SPDX-License-Identifier: MIT
 *
 * york: iterate on the slope; each round weighs the points by both uncertainties at the last slope.
 *
 * The paper writes the formulas with weights omega = 1/u^2.  Multiplied out with the variances they
 * stay finite for a point that is exact on one axis:
 *     W    = 1 / (u_y^2 + b^2 u_x^2 - 2 b r u_x u_y)
 *     beta = W [ U u_y^2 + b V u_x^2 - (b U + V) r u_x u_y ],   U = x - X, V = y - Y
 *     b    = sum W beta V / sum W beta U
 * with X, Y the W-weighted means (eqs. 13 of York et al. 2004).
 */
#include "measure/york.h"

#include "measure/sampling.h"
#include "measure/statistics.h"

#include <float.h>
#include <math.h>

#define ROUNDS 500

bool york_deming(double *intercept, double *slope, const double *x, const double *y, size_t n,
                 double delta, struct err *e)
{
    if (n < 2 || !(delta > 0.0) || !isfinite(delta))
        return err_set(e, ERR_INVALID,
                       "a line needs 2 points or more and a ratio of variances above 0, but %zu "
                       "points and %g came",
                       n, delta);
    double sxx = statistics_covariance(x, x, n);
    double syy = statistics_covariance(y, y, n);
    double sxy = statistics_covariance(x, y, n);
    if (!(fabs(sxy) > DBL_EPSILON * sqrt(sxx * syy)))
        return err_set(e, ERR_INVALID, "the points show no line: y does not go with x");
    double d = syy - delta * sxx;
    double root = hypot(d, 2.0 * sqrt(delta) * sxy);
    /* the two forms are equal; each loses its digits where the other does not */
    *slope = d > 0.0 ? (d + root) / (2.0 * sxy) : 2.0 * delta * sxy / (root - d);
    *intercept = statistics_mean(y, n) - *slope * statistics_mean(x, n);
    return true;
}

/* What one round of the iteration knows. */
struct round {
    double slope; /* going in */
    double x_mean, y_mean, weight;
};

static double weight(const struct york_point *p, double b)
{
    return 1.0 / (p->u_y * p->u_y + b * b * p->u_x * p->u_x - 2.0 * b * p->r * p->u_x * p->u_y);
}

static double adjusted(const struct york_point *p, const struct round *r)
{
    double b = r->slope, u = p->x - r->x_mean, v = p->y - r->y_mean;
    return weight(p, b) *
           (u * p->u_y * p->u_y + b * v * p->u_x * p->u_x - (b * u + v) * p->r * p->u_x * p->u_y);
}

static void means_take(struct round *r, const struct york_point *point, size_t n)
{
    double wx = 0.0, wy = 0.0, w = 0.0;
    for (size_t i = 0; i < n; i++) {
        double wi = weight(&point[i], r->slope);
        w += wi;
        wx += wi * point[i].x;
        wy += wi * point[i].y;
    }
    r->weight = w;
    r->x_mean = wx / w;
    r->y_mean = wy / w;
}

static double slope_next(struct round *r, const struct york_point *point, size_t n)
{
    double top = 0.0, bottom = 0.0;
    means_take(r, point, n);
    for (size_t i = 0; i < n; i++) {
        double wb = weight(&point[i], r->slope) * adjusted(&point[i], r);
        top += wb * (point[i].y - r->y_mean);
        bottom += wb * (point[i].x - r->x_mean);
    }
    return top / bottom;
}

static bool points_check(const struct york_point *point, size_t n, struct err *e)
{
    if (n < 2 || n > YORK_POINTS)
        return err_set(e, ERR_INVALID, "a line needs 2 to %d points, but %zu came", YORK_POINTS, n);
    bool spread = false;
    for (size_t i = 0; i < n; i++) {
        const struct york_point *p = &point[i];
        if (!isfinite(p->x) || !isfinite(p->y) || !isfinite(p->u_x) || !isfinite(p->u_y))
            return err_set(e, ERR_INVALID, "point %zu is not a number", i + 1);
        if (p->u_x < 0.0 || p->u_y < 0.0 || !(p->u_x + p->u_y > 0.0))
            return err_set(
                e, ERR_INVALID,
                "point %zu needs uncertainties of 0 or more, and one above 0, but %g and "
                "%g came",
                i + 1, p->u_x, p->u_y);
        if (!(fabs(p->r) < 1.0))
            return err_set(e, ERR_INVALID,
                           "point %zu needs a correlation between -1 and 1, but %g came", i + 1,
                           p->r);
        spread = spread || p->x != point[0].x;
    }
    return spread ||
           err_set(e, ERR_INVALID,
                   "all points lie at %g, which makes no line: use tubes that differ", point[0].x);
}

/* A first slope: ordinary least squares of y on x, which only has to have the right sign. */
static double slope_first(const struct york_point *point, size_t n)
{
    double mx = 0.0, my = 0.0, sxy = 0.0, sxx = 0.0;
    for (size_t i = 0; i < n; i++) {
        mx += point[i].x / (double)n;
        my += point[i].y / (double)n;
    }
    for (size_t i = 0; i < n; i++) {
        sxy += (point[i].x - mx) * (point[i].y - my);
        sxx += (point[i].x - mx) * (point[i].x - mx);
    }
    return sxy / sxx;
}

/* Uncertainties from the adjusted points (York et al. 2004, after eqs. 13). */
static void uncertainties_take(struct york *out, struct round *r, const struct york_point *point,
                               size_t n)
{
    double mean = 0.0, square = 0.0;
    for (size_t i = 0; i < n; i++)
        mean += weight(&point[i], r->slope) * (r->x_mean + adjusted(&point[i], r)) / r->weight;
    for (size_t i = 0; i < n; i++) {
        double w = weight(&point[i], r->slope);
        double u = r->x_mean + adjusted(&point[i], r) - mean;
        double residual = point[i].y - out->intercept - out->slope * point[i].x;
        square += w * u * u;
        out->s += w * residual * residual;
    }
    double variance = 1.0 / square;
    out->u_slope = sqrt(variance);
    out->u_intercept = sqrt(1.0 / r->weight + mean * mean * variance);
    out->covariance = -mean * variance;
    out->df = (int)n - 2;
    out->p = out->df > 0 ? sampling_chi2_above(out->s, out->df) : 1.0;
}

bool york_fit(struct york *out, const struct york_point *point, size_t n, struct err *e)
{
    if (!points_check(point, n, e))
        return false;
    struct york y = {0};
    struct round r = {.slope = slope_first(point, n)};
    double before = INFINITY;
    for (y.rounds = 1; y.rounds <= ROUNDS; y.rounds++) {
        double next = slope_next(&r, point, n);
        double moved = fabs(next - r.slope);
        r.slope = next;
        if (!isfinite(next))
            break;
        /* still, or only the last bit swings to and fro */
        if (moved <= 4.0 * DBL_EPSILON * fabs(next) ||
            (moved <= 1e-13 * fabs(next) && moved >= before))
            break;
        before = moved;
    }
    if (!isfinite(r.slope) || y.rounds > ROUNDS)
        return err_set(
            e, ERR_INVALID,
            "no line settles through these points: their uncertainties are too large for "
            "how far they lie apart");
    means_take(&r, point, n);
    y.slope = r.slope;
    y.intercept = r.y_mean - r.slope * r.x_mean;
    uncertainties_take(&y, &r, point, n);
    if (!isfinite(y.u_slope) || !isfinite(y.s))
        return err_set(e, ERR_INVALID, "a point that is exact on y allows no slope of 0");
    *out = y;
    return true;
}
