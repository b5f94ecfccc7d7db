/* SPDX-License-Identifier: MIT
 *
 * normal: the error function of the C library, arranged so that no tail is lost by subtraction, and
 * its inverse by Newton's method from a rough start.
 */
#include "measure/normal.h"

#include <assert.h>
#include <math.h>

double normal_density(double z)
{
    return exp(-0.5 * z * z) * 0.39894228040143267794; /* 1/sqrt(2 pi) */
}

double normal_below(double z)
{
    return 0.5 * erfc(-z * M_SQRT1_2); /* DLMF 7.2.2 with z/sqrt(2) */
}

double normal_above(double z)
{
    return 0.5 * erfc(z * M_SQRT1_2);
}

double normal_between(double a, double b)
{
    if (!(b > a))
        return 0.0;
    if (a > 0.0)
        return normal_above(a) - normal_above(b);
    if (b < 0.0)
        return normal_below(b) - normal_below(a);
    return 0.5 * (erf(b * M_SQRT1_2) - erf(a * M_SQRT1_2));
}

double normal_quantile(double p)
{
    assert(p > 0.0 && p < 1.0);
    if (p > 0.5)
        return -normal_quantile(1.0 - p); /* 1 - p is exact for p >= 0.5 (Sterbenz) */
    /* Abramowitz and Stegun 26.2.22, within 3e-3, is start enough. */
    double t = sqrt(-2.0 * log(p));
    double z = -(t - (2.30753 + 0.27061 * t) / (1.0 + t * (0.99229 + 0.04481 * t)));
    for (int i = 0; i < 8; i++) {
        /* Halley's step on P(z) - p: the second derivative of P is -z times the density. */
        double step = (normal_below(z) - p) / normal_density(z);
        step /= 1.0 + 0.5 * z * step;
        z -= step;
        if (fabs(step) < 1e-16 * (1.0 + fabs(z)))
            break;
    }
    return z;
}
