/* SPDX-License-Identifier: MIT
 *
 * confidence: one integral for each member as the lowest.
 *
 * The integrand is smooth but may turn sharply where another member's distribution begins or ends,
 * in x or in top(x).  So the range is cut at those places, and each piece is integrated by the
 * Gauss-Legendre rule with ten points.  A member without uncertainty is a step: it limits the
 * range, and as the lowest itself it is one term without an integral.
 */
#include "match/confidence.h"

#include <math.h>
#include <stdlib.h>

#define REACH 9.0 /* standard uncertainties; what lies beyond is below 10^-18 */

/* Points and weights of the ten-point rule on -1..1 (Abramowitz & Stegun, table 25.4, from memory,
 * and checked in the tests by what they integrate). */
#define POINTS 5
static const double point[POINTS] = {0.1488743389816312, 0.4333953941292472, 0.6794095682990244,
                                     0.8650633666889845, 0.9739065285171717};
static const double weight[POINTS] = {0.2955242247147529, 0.2692667193099963, 0.2190863625159820,
                                      0.1494513491505806, 0.0666713443086881};

struct question {
    const double *value;
    const double *u;
    int n;
    bool relative;
    double width; /* absolute width, or 1 + band */
};

static double top(const struct question *q, double x)
{
    if (!q->relative)
        return x + q->width;
    return x > 0 ? x * q->width : x;
}

/* The lowest x whose top is y. */
static double bottom(const struct question *q, double y)
{
    return q->relative ? y / q->width : y - q->width;
}

/* The probability that member j lies between a and b. */
static double between(const struct question *q, int j, double a, double b)
{
    double scale = q->u[j] * sqrt(2.0);
    double from = (a - q->value[j]) / scale;
    double to = (b - q->value[j]) / scale;
    if (from > 0)
        return 0.5 * (erfc(from) - erfc(to));
    return 0.5 * (erfc(-to) - erfc(-from));
}

/* The product over all others of lying between x and top(x); i may be -1.  Of members without
 * uncertainty that are equally low, the first counts as the lowest. */
static double others(const struct question *q, int i, double x)
{
    double product = 1.0;
    double high = top(q, x);
    for (int j = 0; j < q->n && product > 0; j++) {
        double v = q->value[j];
        if (j == i)
            continue;
        if (q->u[j] > 0)
            product *= between(q, j, x, high);
        else if (v < x || v > high || (v == x && i >= 0 && q->u[i] <= 0 && j < i))
            product = 0;
    }
    return product;
}

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Places within from..to where the integrand of member i may turn, both ends included, in order. */
static int cuts(const struct question *q, int i, double from, double to, double *cut)
{
    static const double at[] = {-REACH, -5, -3, -1.5, 0, 1.5, 3, 5, REACH};
    int count = 0;
    cut[count++] = from;
    cut[count++] = to;
    for (int j = 0; j < q->n; j++) {
        for (size_t s = 0; s < ARRAY_LEN(at); s++) {
            double x = q->value[j] + at[s] * q->u[j];
            if (x > from && x < to)
                cut[count++] = x;
            double y = bottom(q, x);
            if (j != i && y > from && y < to)
                cut[count++] = y;
        }
    }
    qsort(cut, (size_t)count, sizeof *cut, compare_doubles);
    return count;
}

static double density(const struct question *q, int i, double x)
{
    double z = (x - q->value[i]) / q->u[i];
    return exp(-0.5 * z * z) / (q->u[i] * sqrt(2.0 * acos(-1.0)));
}

/* Member i, which has an uncertainty, as the lowest. */
static double lowest(const struct question *q, int i)
{
    double from = q->value[i] - REACH * q->u[i];
    double to = q->value[i] + REACH * q->u[i];
    for (int j = 0; j < q->n; j++) {
        if (q->u[j] > 0)
            continue;
        to = fmin(to, q->value[j]);
        from = fmax(from, bottom(q, q->value[j]));
    }
    if (from >= to)
        return 0;
    double cut[CONFIDENCE_MOST * 18 + 2];
    int count = cuts(q, i, from, to, cut);
    double sum = 0;
    for (int c = 1; c < count; c++) {
        double half = (cut[c] - cut[c - 1]) / 2;
        double middle = (cut[c] + cut[c - 1]) / 2;
        for (int p = 0; p < POINTS && half > 0; p++) {
            double a = middle - half * point[p];
            double b = middle + half * point[p];
            sum += half * weight[p] *
                   (density(q, i, a) * others(q, i, a) + density(q, i, b) * others(q, i, b));
        }
    }
    return sum;
}

double confidence_in_band(const double *value, const double *u, int n,
                          const struct match_band *band, int decimals)
{
    struct question q = {.value = value, .u = u, .n = n, .relative = band->kind == MATCH_RELATIVE};
    q.width = q.relative ? 1.0 + (double)band->num / (double)band->den
                         : (double)band->num / pow(10.0, decimals);
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += u[i] > 0 ? lowest(&q, i) : others(&q, i, value[i]);
    return sum < 0 ? 0 : sum > 1 ? 1 : sum;
}
