/* SPDX-License-Identifier: MIT
 *
 * conformity: JCGM 106:2012, clauses 7.3 (one limit) and 7.4 (two limits), from memory: the share
 * of a normal distribution about the measured value that lies within the limits.
 *
 * The global risks are integrals over the true value of its density times the probability to be
 * accepted.  Both factors are smooth at the scale of the smaller of the two spreads, so Gauss's
 * rule over short pieces of the two ranges, inside and outside the limits, is exact to 1e-11.
 */
#include "measure/conformity.h"

#include "measure/normal.h"

#include <assert.h>
#include <math.h>

static int64_t ppm(double p)
{
    if (p <= 0)
        return 0;
    return p >= 1 ? CONFORMITY_SURE : llround(p * CONFORMITY_SURE);
}

int64_t conformity_u(int64_t a, int64_t b)
{
    assert(a >= 0 && b >= 0);
    if (a == 0 || b == 0)
        return a + b;
    return (int64_t)ceil(hypot((double)a, (double)b));
}

double conformity_probability(double y, double u, double low, double high)
{
    assert(u >= 0);
    if (u == 0)
        return y >= low && y <= high ? 1 : 0;
    return normal_between((low - y) / u, (high - y) / u);
}

int64_t conformity_ppm(int64_t above_low, int64_t below_high, int64_t u)
{
    assert(u > 0);
    double low = above_low == NONE ? -INFINITY : -(double)above_low;
    double high = below_high == NONE ? INFINITY : (double)below_high;
    return ppm(conformity_probability(0, (double)u, low, high));
}

int64_t conformity_pair_ppm(int64_t x, int64_t ux, int64_t y, int64_t uy, int64_t band)
{
    assert(band >= 0 && ux >= 0 && uy >= 0 && (ux > 0 || uy > 0));
    double k = 1 + (double)band / 1e4;
    double too_high_x = ((double)x - k * (double)y) / hypot((double)ux, k * (double)uy);
    double too_high_y = ((double)y - k * (double)x) / hypot((double)uy, k * (double)ux);
    return ppm(1 - normal_below(too_high_x) - normal_below(too_high_y));
}

/* ---- risks over a whole process ---------------------------------------------------------------
 */

struct process {
    double spread, u, accept; /* accepted within -accept..accept */
};

/* Density of the process at the true value x, times the probability to be accepted there. */
static double accepted_at(const struct process *p, double x)
{
    return normal_density(x / p->spread) / p->spread *
           normal_between((-p->accept - x) / p->u, (p->accept - x) / p->u);
}

/* Integral of accepted_at from..to, in pieces of the smaller spread, five Gauss points each
 * (Abramowitz and Stegun table 25.4). */
static double accepted_between(const struct process *p, double from, double to)
{
    static const double node[] = {0.0, 0.538469310105683, 0.906179845938664};
    static const double weight[] = {0.568888888888889, 0.478628670499366, 0.236926885056189};
    int pieces = (int)ceil(4.0 * (to - from) / fmin(p->spread, p->u));
    double half = 0.5 * (to - from) / pieces, sum = 0.0;
    for (int i = 0; i < pieces; i++) {
        double middle = from + (2 * i + 1) * half;
        sum += weight[0] * accepted_at(p, middle);
        for (size_t j = 1; j < ARRAY_LEN(node); j++)
            sum += weight[j] * (accepted_at(p, middle - half * node[j]) +
                                accepted_at(p, middle + half * node[j]));
    }
    return sum * half;
}

struct conformity_risk conformity_risk(double spread, double u, double limit, double guard)
{
    assert(spread > 0.0 && u > 0.0 && limit > 0.0 && limit / fmin(spread, u) < 1e5);
    struct process p = {.spread = spread, .u = u, .accept = limit - guard};
    struct conformity_risk r = {.outside = 2.0 * normal_above(limit / spread)};
    if (p.accept <= 0.0) { /* the guard band leaves nothing to accept */
        r.producer = 1.0 - r.outside;
        return r;
    }
    double reach = fmin(9.0 * spread, p.accept + 9.0 * u);
    if (reach > limit)
        r.consumer = 2.0 * accepted_between(&p, limit, reach);
    r.producer = 1.0 - r.outside - accepted_between(&p, -limit, limit);
    return r;
}
