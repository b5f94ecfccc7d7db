/* SPDX-License-Identifier: MIT
 *
 * conformity: JCGM 106:2012, clauses 7.3 (one limit) and 7.4 (two limits), from memory: the share
 * of a normal distribution about the measured value that lies within the limits.
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

int64_t conformity_ppm(int64_t above_low, int64_t below_high, int64_t u)
{
    assert(u > 0);
    double low = above_low == NONE ? -INFINITY : -((double)above_low / (double)u);
    double high = below_high == NONE ? INFINITY : (double)below_high / (double)u;
    return ppm(normal_between(low, high));
}

int64_t conformity_pair_ppm(int64_t x, int64_t ux, int64_t y, int64_t uy, int64_t band)
{
    assert(band >= 0 && ux >= 0 && uy >= 0 && (ux > 0 || uy > 0));
    double k = 1 + (double)band / 1e4;
    double too_high_x = ((double)x - k * (double)y) / hypot((double)ux, k * (double)uy);
    double too_high_y = ((double)y - k * (double)x) / hypot((double)uy, k * (double)ux);
    return ppm(1 - normal_below(too_high_x) - normal_below(too_high_y));
}
