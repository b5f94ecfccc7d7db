/* SPDX-License-Identifier: MIT */
#include "measure/statistics.h"

#include "base/err.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../reference/measure/strd_univariate.h"

/* Correct digits, as NIST counts them: -log10 of the relative error; 16 when it is nil. */
static double digits(double got, double certified)
{
    double error = fabs(got - certified) / fabs(certified);
    return error < 1e-16 ? 16.0 : -log10(error);
}

static void assert_certified(const double *x, size_t n, double mean, double sd, double lag1,
                             double sd_digits)
{
    double m = digits(statistics_mean(x, n), mean);
    double s = digits(statistics_sd(x, n), sd);
    double r = digits(statistics_lag1(x, n), lag1);
    if (m < 14.9 || s < sd_digits || r < sd_digits)
        fail_msg("%.1f digits of the mean, %.1f of s, %.1f of the autocorrelation", m, s, r);
}

static void nist_data_sets_come_out_to_all_certified_digits(void **state)
{
    (void)state;
    /* StRD certifies 15 digits.  299.85 is held in double to 3e-14, which is 12.4 digits of a
     * spread of 0.079 at worst; 2.0018 to 2e-16, 12.3 digits of 0.00043.  Random errors leave a
     * little more. */
    assert_certified(strd_michelso, ARRAY_LEN(strd_michelso), 299.8524, 0.0790105478190518,
                     0.535199668621283, 13.0);
    assert_certified(strd_mavro, ARRAY_LEN(strd_mavro), 2.001856, 0.000429123454003053,
                     0.937989183438248, 12.5);
    assert_certified(strd_lottery, ARRAY_LEN(strd_lottery), 518.958715596330, 291.699727470969,
                     -0.120948622967393, 14.5);
    assert_certified(strd_numacc1, ARRAY_LEN(strd_numacc1), 10000002, 1, -0.5, 15.0);
}

static void nist_numerical_accuracy_series_loses_only_what_double_cannot_hold(void **state)
{
    (void)state;
    /* The data are first + 500 pairs one tenth below and above.  10000000.1 itself is held to 9e-10
     * only, which is 8 digits of the 0.1 that is asked for: no method in double can pass 8.3 digits
     * of s on NumAcc4, 9.3 on NumAcc3. */
    static const struct {
        double first, below, above, sd_digits;
    } row[] = {{1.2, 1.1, 1.3, 14.0},
               {1000000.2, 1000000.1, 1000000.3, 9.3},
               {10000000.2, 10000000.1, 10000000.3, 8.2}};
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        double x[1001];
        x[0] = row[i].first;
        for (size_t j = 1; j < ARRAY_LEN(x); j += 2) {
            x[j] = row[i].below;
            x[j + 1] = row[i].above;
        }
        assert_certified(x, ARRAY_LEN(x), row[i].first, 0.1, -0.999, row[i].sd_digits);
    }
}

static void one_value_has_no_spread_and_a_constant_no_autocorrelation(void **state)
{
    (void)state;
    assert_true(statistics_sd((double[]){5.2}, 1) == 0.0);
    assert_true(statistics_mean((double[]){5.2}, 1) == 5.2);
    assert_true(statistics_lag1((double[]){2, 2, 2}, 3) == 0.0);
}

static void covariance_gives_the_correlations_of_jcgm_100_annex_h2(void **state)
{
    (void)state;
    /* JCGM 100:2008 table H.2: r(V,I) -0.36, r(V,phi) 0.86, r(I,phi) -0.65 (printed figures from
     * memory, data found) */
    const double v[] = {5.007, 4.994, 5.005, 4.990, 4.999};
    const double i[] = {19.663, 19.639, 19.640, 19.685, 19.678};
    const double phi[] = {1.0456, 1.0438, 1.0468, 1.0428, 1.0433};
    double sv = statistics_sd(v, 5), si = statistics_sd(i, 5), sp = statistics_sd(phi, 5);
    assert_true(fabs(statistics_covariance(v, i, 5) / (sv * si) + 0.36) < 0.005);
    assert_true(fabs(statistics_covariance(v, phi, 5) / (sv * sp) - 0.86) < 0.005);
    assert_true(fabs(statistics_covariance(i, phi, 5) / (si * sp) + 0.65) < 0.005);
}

static void robust_centre_is_not_moved_by_wild_values(void **state)
{
    (void)state;
    static const struct {
        int64_t v[9];
        size_t n;
        int64_t median, mad;
    } row[] = {
        /* by hand */
        {{7}, 1, 7, 0},
        {{1, 2}, 2, 2, 0}, /* 1.5 and a MAD of 0.5: the half goes to even, 2; |1|,|0| */
        {{3, 1, 2}, 3, 2, 1},
        {{10, 20, 30, 40}, 4, 25, 10},
        {{1, 1, 2, 2, 4, 6, 9}, 7, 2, 1}, /* the textbook example of a MAD */
        {{100, 101, 99, 100, 5200, 100, 98, 102, 0}, 9, 100, 1},
        {{-5, -3, -1}, 3, -3, 2},
        {{5, 5, 5, 5, 900}, 5, 5, 0},
    };
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        int64_t v[9];
        memcpy(v, row[i].v, sizeof v);
        struct robust r = statistics_robust(v, row[i].n);
        assert_int_equal(r.count, row[i].n);
        assert_int_equal(r.median, row[i].median);
        assert_int_equal(r.mad, row[i].mad);
    }
    assert_int_equal(statistics_robust(NULL, 0).count, 0);
}

static int ascending(const void *a, const void *b)
{
    int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

static void merged_mad_equals_the_median_of_all_distances(void **state)
{
    (void)state;
    uint64_t r = 88172645463325252u; /* xorshift64, Marsaglia 2003 */
    for (int round = 0; round < 2000; round++) {
        int64_t v[31], d[31];
        size_t n = 1 + (size_t)round % 31;
        for (size_t i = 0; i < n; i++) {
            r ^= r << 13;
            r ^= r >> 7;
            r ^= r << 17;
            v[i] = 2 * (int64_t)(r % 40) - 30; /* even, so that a median is a value or whole */
        }
        struct robust got = statistics_robust(v, n);
        for (size_t i = 0; i < n; i++)
            d[i] = v[i] > got.median ? v[i] - got.median : got.median - v[i];
        qsort(d, n, sizeof d[0], ascending);
        int64_t twice = n % 2 == 1 ? 2 * d[n / 2] : d[n / 2 - 1] + d[n / 2];
        int64_t off = 2 * got.mad - twice;
        assert_true(off >= -1 && off <= 1 && (off == 0 || got.mad % 2 == 0));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nist_data_sets_come_out_to_all_certified_digits),
        cmocka_unit_test(nist_numerical_accuracy_series_loses_only_what_double_cannot_hold),
        cmocka_unit_test(one_value_has_no_spread_and_a_constant_no_autocorrelation),
        cmocka_unit_test(covariance_gives_the_correlations_of_jcgm_100_annex_h2),
        cmocka_unit_test(robust_centre_is_not_moved_by_wild_values),
        cmocka_unit_test(merged_mad_equals_the_median_of_all_distances),
    };
    return cmocka_run_group_tests_name("statistics", tests, NULL, NULL);
}
