/* SPDX-License-Identifier: MIT
 *
 * range: the one-dimensional integral over the place of the lowest item.
 *
 * With item i lowest at x, every other item must lie between x and top(x) = scale * x + width:
 *
 *     P = sum_i Int f_i(x) prod_{j != i} [ F_j(top(x)) - F_j(x) ] dx
 *
 * All items share one grid in x, so each F_j is evaluated once per node.  The integrand is a sum of
 * products of Gaussians and error functions: its Fourier transform dies like that of a Gaussian
 * whose inverse variance is the sum of theirs, so the trapezoidal rule with a step of 0.6 of that
 * width is exact to exp(-2 pi^2 / 0.36), below 1e-23 (Trefethen and Weideman, SIAM Review 56
 * (2014)).
 *
 * Where an item is known exactly, or much better than another, that step would be too many.  Then
 * the line is cut at every place where a factor changes, and Gauss-Legendre does each piece; an
 * exact item can also be the lowest by itself, which adds a product without an integral.
 */
#include "measure/range.h"

#include "base/err.h"
#include "measure/normal.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#define REACH         9.0  /* standard deviations beyond which nothing is left: 1e-19 */
#define STEP          0.6  /* of the narrowest width, see above */
#define NODES_MAX     4000 /* beyond, cutting is cheaper */
#define CUT_REACH     8
#define CUT_STEP      2
#define CUTS_PER_EDGE (2 * CUT_REACH / CUT_STEP + 1)

struct set {
    const double *mean, *sigma;
    size_t k;
    double scale, width; /* top(x) = scale * x + width */
    bool positive;       /* only values above 0 count */
    double low, high;    /* where the lowest item can be */
};

static double top(const struct set *s, double x)
{
    return s->scale * x + s->width;
}

/* P(from < item j <= to), or whether it is there when it is known exactly (both ends included). */
static double item_between(const struct set *s, size_t j, double from, double to)
{
    double m = s->mean[j], u = s->sigma[j];
    if (u > 0.0)
        return normal_between((from - m) / u, (to - m) / u);
    return m >= from && m <= to ? 1.0 : 0.0;
}

/* The integrand at x: the items with a density take turns in being the lowest. */
static double integrand(const struct set *s, double x)
{
    double factor[RANGE_ITEMS];
    double after[RANGE_ITEMS + 1]; /* after[j]: product of the factors from j on */
    for (size_t j = 0; j < s->k; j++)
        factor[j] = item_between(s, j, x, top(s, x));
    after[s->k] = 1.0;
    for (size_t j = s->k; j > 0; j--)
        after[j - 1] = after[j] * factor[j - 1];
    double before = 1.0, sum = 0.0;
    for (size_t j = 0; j < s->k; j++) {
        double u = s->sigma[j];
        if (u > 0.0)
            sum += normal_density((x - s->mean[j]) / u) / u * before * after[j + 1];
        before *= factor[j];
    }
    return sum;
}

/* Where can the lowest item lie?  Not below all items' reach, not above any item's reach, and high
 * enough for top(x) to reach every item. */
static void support_find(struct set *s)
{
    double lowest = INFINITY, high = INFINITY, needed = -INFINITY;
    for (size_t j = 0; j < s->k; j++) {
        double reach = REACH * s->sigma[j];
        lowest = fmin(lowest, s->mean[j] - reach);
        high = fmin(high, s->mean[j] + reach);
        needed = fmax(needed, (s->mean[j] - reach - s->width) / s->scale);
    }
    s->low = fmax(lowest, needed);
    s->high = high;
}

/* The step of the trapezoidal rule; 0 where an item is known exactly. */
static double step_choose(const struct set *s)
{
    double inverse = 0.0;
    for (size_t j = 0; j < s->k; j++) {
        if (s->sigma[j] <= 0.0)
            return 0.0;
        double width = s->sigma[j] / s->scale;
        inverse += 1.0 / (width * width);
    }
    return STEP / sqrt(inverse);
}

static double trapezoid(const struct set *s, double step)
{
    double sum = 0.0;
    long nodes = (long)ceil((s->high - s->low) / step);
    for (long n = 0; n <= nodes; n++)
        sum += integrand(s, s->low + (double)n * step);
    return sum * step;
}

/* ---- the line cut into pieces -----------------------------------------------------------------
 */

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double gauss_legendre(const struct set *s, double from, double to)
{
    /* ten points; Abramowitz and Stegun table 25.4 */
    static const double node[] = {0.1488743389816312, 0.4333953941292472, 0.6794095682990244,
                                  0.8650633666889845, 0.9739065285171717};
    static const double weight[] = {0.2955242247147529, 0.2692667193099963, 0.2190863625159820,
                                    0.1494513491505806, 0.0666713443086881};
    double middle = 0.5 * (from + to), half = 0.5 * (to - from), sum = 0.0;
    for (size_t i = 0; i < ARRAY_LEN(node); i++)
        sum += weight[i] *
               (integrand(s, middle - half * node[i]) + integrand(s, middle + half * node[i]));
    return sum * half;
}

static double pieces(const struct set *s)
{
    double cut[2 * RANGE_ITEMS * CUTS_PER_EDGE + 2];
    size_t count = 0;
    for (size_t j = 0; j < s->k; j++) {
        int reach = s->sigma[j] > 0.0 ? CUT_REACH : 0;
        for (int t = -reach; t <= reach; t += CUT_STEP) {
            double edge = s->mean[j] + t * s->sigma[j];
            const double at[] = {edge, (edge - s->width) / s->scale};
            for (size_t i = 0; i < ARRAY_LEN(at); i++)
                if (at[i] > s->low && at[i] < s->high)
                    cut[count++] = at[i];
        }
    }
    cut[count++] = s->low;
    cut[count++] = s->high;
    qsort(cut, count, sizeof cut[0], ascending);
    /* a product of k - 1 factors is narrower than each of them by the root of their number */
    int parts = (int)ceil(0.5 * sqrt((double)s->k));
    double sum = 0.0;
    for (size_t i = 1; i < count; i++) {
        double step = (cut[i] - cut[i - 1]) / parts;
        for (int n = 0; n < parts && step > 0.0; n++)
            sum += gauss_legendre(s, cut[i - 1] + n * step, cut[i - 1] + (n + 1) * step);
    }
    return sum;
}

/* The exactly known items: the lowest of them may be the lowest of all. */
static double exact_lowest(const struct set *s)
{
    double lowest = INFINITY;
    for (size_t j = 0; j < s->k; j++)
        if (s->sigma[j] <= 0.0)
            lowest = fmin(lowest, s->mean[j]);
    if (isinf(lowest) || (s->positive && lowest <= 0.0))
        return 0.0;
    double product = 1.0;
    for (size_t j = 0; j < s->k; j++)
        product *= item_between(s, j, lowest, top(s, lowest));
    return product;
}

static double probability(struct set *s)
{
    assert(s->k >= 1 && s->k <= RANGE_ITEMS);
    for (size_t j = 0; j < s->k; j++)
        assert(isfinite(s->mean[j]) && isfinite(s->sigma[j]) && s->sigma[j] >= 0.0);
    bool clipped = false;
    double p = exact_lowest(s);
    support_find(s);
    if (s->positive && s->low < 0.0) {
        s->low = 0.0;
        clipped = true;
    }
    if (s->high > s->low) {
        double step = step_choose(s);
        if (!clipped && step > 0.0 && (s->high - s->low) / step < NODES_MAX)
            p += trapezoid(s, step);
        else
            p += pieces(s);
    }
    return fmin(fmax(p, 0.0), 1.0);
}

double range_probability(const double *mean, const double *sigma, size_t k, double width)
{
    if (!(width >= 0.0))
        return 0.0;
    struct set s = {.mean = mean, .sigma = sigma, .k = k, .scale = 1.0, .width = width};
    return probability(&s);
}

double range_probability_relative(const double *mean, const double *sigma, size_t k, double band)
{
    if (!(band >= 0.0))
        return 0.0;
    struct set s = {.mean = mean, .sigma = sigma, .k = k, .scale = 1.0 + band, .positive = true};
    return probability(&s);
}
