/* SPDX-License-Identifier: MIT
 *
 * chart: constants of the range from its own distribution, and the three rules.
 *
 * E(W) = Int_0 P(W > w) dw and E(W^2) = Int_0 2 w P(W > w) dw, with the distribution of the range
 * from measure/range; the integrands are smooth, so Gauss's rule over pieces of one sigma is good
 * to 1e-12.
 */
#include "measure/chart.h"

#include "measure/range.h"
#include "measure/statistics.h"

#include <assert.h>
#include <math.h>

#define RANGE_REACH 14 /* P(range of 25 > 14 sigma) is below 1e-20 */

/* Int_0 w^(power-1) power P(W > w) dw: the moments of the range of n. */
static double range_moment(int n, int power)
{
    /* ten points; Abramowitz and Stegun table 25.4 */
    static const double node[] = {0.1488743389816312, 0.4333953941292472, 0.6794095682990244,
                                  0.8650633666889845, 0.9739065285171717};
    static const double weight[] = {0.2955242247147529, 0.2692667193099963, 0.2190863625159820,
                                    0.1494513491505806, 0.0666713443086881};
    static const double mean[CHART_SAMPLE] = {0};
    double sigma[CHART_SAMPLE], sum = 0.0;
    for (int i = 0; i < n; i++)
        sigma[i] = 1.0;
    for (int piece = 0; piece < RANGE_REACH; piece++) {
        for (size_t i = 0; i < 2 * ARRAY_LEN(node); i++) {
            double at = i % 2 == 0 ? node[i / 2] : -node[i / 2];
            double w = piece + 0.5 + 0.5 * at;
            double above = 1.0 - range_probability(mean, sigma, (size_t)n, w);
            sum += 0.5 * weight[i / 2] * above * (power == 1 ? 1.0 : 2.0 * w);
        }
    }
    return sum;
}

double chart_d2(int n)
{
    assert(n >= 2 && n <= CHART_SAMPLE);
    return n == 2 ? M_2_SQRTPI : range_moment(n, 1); /* 2/sqrt(pi) for two */
}

double chart_d3(int n)
{
    assert(n >= 2 && n <= CHART_SAMPLE);
    double mean = chart_d2(n);
    return sqrt(range_moment(n, 2) - mean * mean);
}

/* sqrt(2/(n-1)) Gamma(n/2) / Gamma((n-1)/2) */
double chart_c4(int n)
{
    assert(n >= 2 && n <= CHART_SAMPLE);
    return sqrt(2.0 / (n - 1)) * tgamma(0.5 * n) / tgamma(0.5 * (n - 1));
}

bool chart_baseline(struct chart *out, const double *x, size_t n, struct err *e)
{
    if (n < CHART_FEWEST)
        return err_set(e, ERR_INVALID,
                       "a baseline needs %d checks of a sound tester or more, but %zu came",
                       CHART_FEWEST, n);
    double ranges = 0.0;
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(x[i]))
            return err_set(e, ERR_INVALID, "check %zu is not a number", i + 1);
        if (i > 0)
            ranges += fabs(x[i] - x[i - 1]);
    }
    struct chart c = {.target = statistics_mean(x, n), .range_mean = ranges / (double)(n - 1)};
    c.sigma = c.range_mean / chart_d2(2);
    if (!(c.sigma > 0.0))
        return err_set(e, ERR_INVALID,
                       "all %zu checks are %g: the tester's scale is too coarse to chart", n, x[0]);
    *out = c;
    return true;
}

double chart_upper(const struct chart *c)
{
    return c->target + CHART_WIDTH * c->sigma;
}

double chart_lower(const struct chart *c)
{
    return c->target - CHART_WIDTH * c->sigma;
}

double chart_range_upper(const struct chart *c)
{
    /* D4 = 1 + 3 d3/d2 for ranges of two; d3(2) = sqrt(2 - 4/pi) */
    double d4 = 1.0 + CHART_WIDTH * sqrt(2.0 - 4.0 / M_PI) / M_2_SQRTPI;
    return d4 * c->range_mean;
}

void chart_follow(struct chart_point *out, const struct chart *c, const double *x, size_t n,
                  double lambda, double width)
{
    assert(lambda > 0.0 && lambda <= 1.0 && width > 0.0 && c->sigma > 0.0);
    double average = c->target, fade = 1.0;
    size_t row = 0;
    for (size_t i = 0; i < n; i++) {
        struct chart_point p = {0};
        double off = x[i] - c->target;
        double before = i > 0 ? x[i - 1] - c->target : 0.0;
        row = off == 0.0 ? 0 : (off > 0.0) == (before > 0.0) && before != 0.0 ? row + 1 : 1;
        average = lambda * x[i] + (1.0 - lambda) * average;
        /* e-Handbook 6.3.2.4; Montgomery eq. for the variance at time i */
        fade *= (1.0 - lambda) * (1.0 - lambda);
        p.average = average;
        p.half = width * c->sigma * sqrt(lambda / (2.0 - lambda) * (1.0 - fade));
        if (fabs(off) > CHART_WIDTH * c->sigma)
            p.signals |= CHART_BEYOND;
        if (row >= CHART_RUN)
            p.signals |= CHART_ROW;
        if (fabs(average - c->target) > p.half)
            p.signals |= CHART_CREEP;
        out[i] = p;
    }
}

const char *chart_signal_says(unsigned signals)
{
    if (signals & CHART_BEYOND)
        return "this check lies beyond three standard deviations";
    if (signals & CHART_CREEP)
        return "the weighted average of the checks lies beyond its limits";
    if (signals & CHART_ROW)
        return "eight checks in a row lie on one side of the target";
    return "";
}
