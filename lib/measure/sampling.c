/* SPDX-License-Identifier: MIT
 *
 * sampling: t, chi-square and F through the incomplete beta and gamma functions.
 *
 * Both functions have a continued fraction that converges fast on one side of the mean, and a
 * symmetry (beta) or a power series (gamma) for the other.  The fractions are evaluated forward by
 * the modified Lentz method.  Formulas: NIST Digital Library of Mathematical Functions, chapter 8.
 * Quantiles bisect the distribution function: it is monotone, and speed does not matter here.
 */
#include "measure/sampling.h"

#include "measure/normal.h"

#include <assert.h>
#include <float.h>
#include <math.h>

#define TINY  1e-300 /* stands for a zero denominator in Lentz's method */
#define STEPS 100000 /* far beyond what the stated range of degrees of freedom needs */

static double log_gamma(double x)
{
    int sign; /* lgamma proper keeps the sign in a global: not for threads */
    return lgamma_r(x, &sign);
}

static double away_from_zero(double x)
{
    return fabs(x) < TINY ? TINY : x;
}

/* DLMF 8.17.22: the continued fraction of I_x(a,b), good for x < (a+1)/(a+b+2). */
static double beta_fraction(double x, double a, double b)
{
    double c = 1.0;
    double d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    double f = d;
    for (int m = 1; m < STEPS; m++) {
        double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
        d = 1.0 / away_from_zero(1.0 + even * d);
        c = away_from_zero(1.0 + even / c);
        f *= d * c;
        double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
        d = 1.0 / away_from_zero(1.0 + odd * d);
        c = away_from_zero(1.0 + odd / c);
        f *= d * c;
        if (fabs(d * c - 1.0) < DBL_EPSILON)
            break;
    }
    return f;
}

double sampling_beta(double x, double a, double b)
{
    assert(a > 0.0 && b > 0.0);
    if (x <= 0.0)
        return 0.0;
    if (x >= 1.0)
        return 1.0;
    double front = exp(a * log(x) + b * log1p(-x) + log_gamma(a + b) - log_gamma(a) - log_gamma(b));
    if (x < (a + 1.0) / (a + b + 2.0))
        return front * beta_fraction(x, a, b) / a;
    return 1.0 - front * beta_fraction(1.0 - x, b, a) / b; /* DLMF 8.17.4 */
}

/* DLMF 8.7.1: the power series of P(a, x), good for x < a + 1. */
static double gamma_series(double a, double x)
{
    double term = 1.0 / a;
    double sum = term;
    for (int n = 1; n < STEPS; n++) {
        term *= x / (a + n);
        sum += term;
        if (term < sum * DBL_EPSILON)
            break;
    }
    return sum * exp(-x + a * log(x) - log_gamma(a));
}

/* DLMF 8.9.2: the continued fraction of Q(a, x), good for x >= a + 1. */
static double gamma_fraction(double a, double x)
{
    double b = x + 1.0 - a;
    double c = 1.0 / TINY;
    double d = 1.0 / b;
    double f = d;
    for (int n = 1; n < STEPS; n++) {
        double numerator = -n * (n - a);
        b += 2.0;
        d = 1.0 / away_from_zero(numerator * d + b);
        c = away_from_zero(b + numerator / c);
        f *= d * c;
        if (fabs(d * c - 1.0) < DBL_EPSILON)
            break;
    }
    return f * exp(-x + a * log(x) - log_gamma(a));
}

double sampling_gamma_above(double a, double x)
{
    assert(a > 0.0);
    if (x <= 0.0)
        return 1.0;
    if (isinf(x))
        return 0.0;
    return x < a + 1.0 ? 1.0 - gamma_series(a, x) : gamma_fraction(a, x);
}

double sampling_t_below(double t, double dof)
{
    assert(dof > 0.0);
    if (isinf(dof))
        return normal_below(t);
    /* Abramowitz and Stegun 26.7.1: P(|T| <= t) = 1 - I_x(dof/2, 1/2), x = dof/(dof+t^2) */
    double tail = 0.5 * sampling_beta(dof / (dof + t * t), 0.5 * dof, 0.5);
    return t < 0.0 ? tail : 1.0 - tail;
}

double sampling_t_factor(double p, double dof)
{
    assert(p > 0.0 && p < 1.0 && dof > 0.0);
    double low = 0.0, high = 1.0;
    while (2.0 * sampling_t_below(high, dof) - 1.0 < p && high < 1e15)
        high *= 2.0;
    for (int i = 0; i < 200 && high - low > DBL_EPSILON * high; i++) {
        double middle = 0.5 * (low + high);
        if (2.0 * sampling_t_below(middle, dof) - 1.0 < p)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

double sampling_chi2_above(double x, double dof)
{
    return sampling_gamma_above(0.5 * dof, 0.5 * x); /* Abramowitz and Stegun 26.4.19 */
}

double sampling_chi2_quantile(double p, double dof)
{
    assert(p > 0.0 && p < 1.0 && dof > 0.0);
    double low = 0.0, high = 1.0;
    while (1.0 - sampling_chi2_above(high, dof) < p && high < 1e15)
        high *= 2.0;
    for (int i = 0; i < 200 && high - low > DBL_EPSILON * high; i++) {
        double middle = 0.5 * (low + high);
        if (1.0 - sampling_chi2_above(middle, dof) < p)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

double sampling_f_above(double f, double dof1, double dof2)
{
    assert(dof1 > 0.0 && dof2 > 0.0);
    if (f <= 0.0)
        return 1.0;
    if (isinf(f))
        return 0.0;
    /* Abramowitz and Stegun 26.6.2 */
    return sampling_beta(dof2 / (dof2 + dof1 * f), 0.5 * dof2, 0.5 * dof1);
}
