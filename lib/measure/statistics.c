/* SPDX-License-Identifier: MIT
 *
 * statistics: two passes, and in the second the mean of the deviations is taken out once more.
 *
 * A one-pass sum of squares loses all digits when the spread is small beside the mean (StRD
 * NumAcc4: 0.1 beside 10^7).  Sums are compensated (Neumaier, ZAMM 54 (1974) 39), so that the mean
 * is as good as double can hold.
 */
#include "measure/statistics.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

struct sum {
    double total, lost;
};

static void sum_add(struct sum *s, double x)
{
    double t = s->total + x;
    if (fabs(s->total) >= fabs(x))
        s->lost += (s->total - t) + x;
    else
        s->lost += (x - t) + s->total;
    s->total = t;
}

static double sum_value(const struct sum *s)
{
    return s->total + s->lost;
}

double statistics_mean(const double *x, size_t n)
{
    assert(n >= 1);
    struct sum s = {0};
    for (size_t i = 0; i < n; i++)
        sum_add(&s, x[i]);
    double mean = sum_value(&s) / (double)n;
    struct sum rest = {0};
    for (size_t i = 0; i < n; i++)
        sum_add(&rest, x[i] - mean);
    return mean + sum_value(&rest) / (double)n;
}

/* sum (x-mx)(y-my), less what the rounded means leave (Chan, Golub, LeVeque, Am. Stat. 37 (1983),
 * the corrected two-pass algorithm). */
static double products(const double *x, double mx, const double *y, double my, size_t n)
{
    struct sum xy = {0}, dx = {0}, dy = {0};
    for (size_t i = 0; i < n; i++) {
        sum_add(&xy, (x[i] - mx) * (y[i] - my));
        sum_add(&dx, x[i] - mx);
        sum_add(&dy, y[i] - my);
    }
    return sum_value(&xy) - sum_value(&dx) * sum_value(&dy) / (double)n;
}

double statistics_sd(const double *x, size_t n)
{
    if (n < 2)
        return 0.0;
    double m = statistics_mean(x, n);
    return sqrt(fmax(products(x, m, x, m, n), 0.0) / (double)(n - 1));
}

double statistics_lag1(const double *x, size_t n)
{
    assert(n >= 2);
    double m = statistics_mean(x, n);
    struct sum lagged = {0};
    for (size_t i = 0; i + 1 < n; i++)
        sum_add(&lagged, (x[i] - m) * (x[i + 1] - m));
    double all = products(x, m, x, m, n);
    return all > 0.0 ? sum_value(&lagged) / all : 0.0;
}

double statistics_covariance(const double *x, const double *y, size_t n)
{
    assert(n >= 2);
    return products(x, statistics_mean(x, n), y, statistics_mean(y, n), n) / (double)(n - 1);
}

/* ---- robust -----------------------------------------------------------------------------------
 */

static int ascending(const void *a, const void *b)
{
    int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

static int64_t median_of_sorted(const int64_t *v, size_t n)
{
    if (n % 2 == 1)
        return v[n / 2];
    int64_t low = v[n / 2 - 1], gap = v[n / 2] - low;
    int64_t middle = low + gap / 2;
    return gap % 2 != 0 && middle % 2 != 0 ? middle + 1 : middle; /* the half goes to even */
}

struct robust statistics_robust(int64_t *values, size_t n)
{
    if (n == 0)
        return (struct robust){0};
    qsort(values, n, sizeof values[0], ascending);
    int64_t median = median_of_sorted(values, n);
    /* The distances from the median fall and then rise along the sorted values: merge from both
     * ends of the nearest value outwards, as far as the middle. */
    size_t left = 0;
    while (left < n && values[left] < median)
        left++;
    size_t right = left;
    int64_t last = 0, before = 0;
    for (size_t taken = 0; taken <= n / 2; taken++) {
        int64_t below = left > 0 ? median - values[left - 1] : INT64_MAX;
        int64_t above = right < n ? values[right] - median : INT64_MAX;
        before = last;
        if (below <= above) {
            last = below;
            left--;
        } else {
            last = above;
            right++;
        }
    }
    const int64_t pair[] = {before, last};
    return (struct robust){median, n % 2 == 1 ? last : median_of_sorted(pair, 2), n};
}
