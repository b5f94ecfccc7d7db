/* SPDX-License-Identifier: MIT */
#include "measure/normal.h"

#include "base/err.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>

static void probability_below_agrees_with_an_independent_library(void **state)
{
    (void)state;
    /* R 4.2.2; the risks of guard bands of 1.5 U and 3 U; the last: scipy 1.10.1 */
    static const struct {
        double z, p;
    } row[] = {
        {0.0, 0.5},
        {1.0, 0.841344746068542949},
        {1.6448536269514722, 0.95},
        {2.0, 0.977249868051820793},
        {-3.0, 0.0013498980316300945},
        {-6.0, 9.8658764503769814e-10},
        {-30.0, 4.906713927148187e-198},
    };
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        assert_true(fabs(normal_below(row[i].z) - row[i].p) <= 1e-13 * row[i].p);
        assert_true(fabs(normal_above(-row[i].z) - row[i].p) <= 1e-13 * row[i].p);
    }
}

static void quantiles_agree_with_jcgm_106_table_1(void **state)
{
    (void)state;
    /* JCGM 106:2012 table 1 prints 0.84 1.28 1.64 2.33 3.09 (from memory); digits: scipy 1.10.1 */
    static const struct {
        double p, printed, z;
    } row[] = {
        {0.80, 0.84, 0.8416212335729143}, {0.90, 1.28, 1.2815515655446004},
        {0.95, 1.64, 1.6448536269514722}, {0.99, 2.33, 2.3263478740408408},
        {0.999, 3.09, 3.090232306167813},
    };
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        double z = normal_quantile(row[i].p);
        assert_true(fabs(z - row[i].printed) < 0.005);
        assert_true(fabs(z - row[i].z) < 1e-14);
        assert_true(fabs(normal_quantile(1.0 - row[i].p) + row[i].z) < 2e-13);
    }
}

static void quantile_undoes_probability_far_into_the_tail(void **state)
{
    (void)state;
    for (double z = -37.0; z < 8.0; z += 0.37) {
        double p = normal_below(z);
        double near_one = p > 0.5 ? 1e-15 / normal_density(z) : 0.0;
        assert_true(fabs(normal_quantile(p) - z) < 1e-12 + near_one);
    }
    assert_true(normal_quantile(0.5) == 0.0 || fabs(normal_quantile(0.5)) < 1e-16);
}

static void probability_between_keeps_its_digits_in_either_tail(void **state)
{
    (void)state;
    /* P(8 < Z <= 9) = P(Z>8) - P(Z>9); tails from Abramowitz and Stegun table 26.2 (from memory):
     * 6.22096e-16 and 1.12859e-19 */
    double expected = 6.22096057427178e-16 - 1.12858840595384e-19;
    assert_true(fabs(normal_between(8.0, 9.0) / expected - 1.0) < 1e-12);
    assert_true(fabs(normal_between(-9.0, -8.0) / expected - 1.0) < 1e-12);
    assert_true(fabs(normal_between(-1.0, 1.0) - 0.68268949213708590) < 1e-15);
    assert_true(normal_between(1.0, 1.0) == 0.0);
    assert_true(normal_between(2.0, 1.0) == 0.0);
    assert_true(normal_between(-INFINITY, INFINITY) == 1.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(probability_below_agrees_with_an_independent_library),
        cmocka_unit_test(quantiles_agree_with_jcgm_106_table_1),
        cmocka_unit_test(quantile_undoes_probability_far_into_the_tail),
        cmocka_unit_test(probability_between_keeps_its_digits_in_either_tail),
    };
    return cmocka_run_group_tests_name("normal", tests, NULL, NULL);
}
