/* SPDX-License-Identifier: MIT */
#include "measure/range.h"

#include "base/err.h"
#include "measure/normal.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>

#include "../reference/measure/range_equal_means.h"
#include "../reference/measure/range_unequal_means.h"

static const double zero[8] = {0}, one[8] = {1, 1, 1, 1, 1, 1, 1, 1};
static const double zeros[10] = {0}, ones[10] = {1, 1, 1, 1, 1, 1, 1, 1, 1, 1};

static void assert_near(double got, double expected, double tolerance)
{
    if (!(fabs(got - expected) <= tolerance))
        fail_msg("%.15g came where %.15g was expected", got, expected);
}

static void equal_means_give_the_studentized_range(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(range_equal); i++)
        assert_near(range_probability(zero, one, (size_t)range_equal[i].k, range_equal[i].q),
                    range_equal[i].p, 1e-14);
}

static void published_quantiles_come_back(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(range_quantile); i++) {
        size_t k = (size_t)range_quantile[i].k;
        /* qtukey stops iterating early; its quantiles are good to some 1e-7 only */
        assert_near(range_probability(zeros, ones, k, range_quantile[i].q), range_quantile[i].p,
                    1e-7);
        double printed = range_quantile[i].printed; /* three decimals: half a unit either way */
        if (printed > 0.0) {
            assert_true(range_probability(zeros, ones, k, printed - 0.0006) < range_quantile[i].p);
            assert_true(range_probability(zeros, ones, k, printed + 0.0006) > range_quantile[i].p);
        }
    }
}

static void unequal_means_agree_with_quadrature_and_with_sampling(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(range_unequal); i++) {
        double p = range_probability(range_unequal[i].mean, range_unequal[i].sigma,
                                     range_unequal[i].k, range_unequal[i].width);
        assert_near(p, range_unequal[i].p, 1e-14);
        assert_near(p, range_unequal[i].sampled, 4.0 * range_unequal[i].sampled_se);
    }
}

static void pairs_agree_with_the_closed_form_whatever_their_sigmas(void **state)
{
    (void)state;
    /* P = Phi((w-D)/S) - Phi((-w-D)/S), D = m2 - m1, S^2 = s1^2 + s2^2 */
    for (double s2 = 1.0; s2 > 1e-7; s2 *= 0.11) {
        for (double d = 0.0; d < 5.0; d += 0.61) {
            double mean[] = {50.0, 50.0 + d}, sigma[] = {1.0, s2};
            double s = hypot(1.0, s2);
            double expected = normal_between((-2.0 - d) / s, (2.0 - d) / s);
            assert_near(range_probability(mean, sigma, 2, 2.0), expected, 1e-9);
            double turned[] = {mean[1], mean[0]}, turned_sigma[] = {s2, 1.0};
            assert_near(range_probability(turned, turned_sigma, 2, 2.0), expected, 1e-9);
        }
    }
}

static void items_known_exactly_take_their_place(void **state)
{
    (void)state;
    const double none[3] = {0, 0, 0};
    assert_near(range_probability((double[]){5, 6, 7}, none, 3, 2.0), 1.0, 0.0);
    assert_near(range_probability((double[]){5, 6, 7.01}, none, 3, 2.0), 0.0, 0.0);
    /* two exact at 0 and 1 and one N(0.3, 0.5) within 2: it lies in -1..2 */
    assert_near(range_probability((double[]){0, 1, 0.3}, (double[]){0, 0, 0.5}, 3, 2.0),
                normal_between(-2.6, 3.4), 1e-12);
    /* one exact at 0 and two standard normal within 1.7: Simpson's rule in python3, 20,000 steps */
    assert_near(range_probability((double[]){0, 0, 0}, (double[]){0, 1, 1}, 3, 1.7),
                0.711805862933595, 1e-10);
    /* sigmas a thousandfold apart: double integral over the two narrow ones by
     * Simpson's rule in python3 */
    assert_near(range_probability((double[]){0, 1, 0.5}, (double[]){0.001, 0.001, 1}, 3, 1.001),
                0.29180833303, 1e-9);
}

static void relative_bands_agree_with_a_second_formula_and_with_sampling(void **state)
{
    (void)state;
    /* python3: Int f1(x) [F2(1.05 x) - F2(x/1.05)] dx by Simpson's rule, 20,000 steps */
    assert_near(range_probability_relative((double[]){50, 52}, (double[]){1, 1.5}, 2, 0.05),
                0.6007646198578077, 1e-12);
    /* values near zero count only where they are above it; the same formula from 0 */
    assert_near(range_probability_relative((double[]){0.5, 0.8}, (double[]){0.5, 0.6}, 2, 0.5),
                0.2341596517762012, 1e-10);
    /* 1,000,000 draws with python3's Mersenne Twister: 0.911606 with standard error 0.000286 */
    assert_near(range_probability_relative((double[]){5.2, 5.3, 5.1, 5.4},
                                           (double[]){0.08, 0.08, 0.1, 0.1}, 4, 0.1),
                0.911606, 4 * 0.000286);
    assert_near(range_probability_relative((double[]){100, 105}, zero, 2, 0.05), 1.0, 0.0);
    assert_near(range_probability_relative((double[]){-1, -1}, zero, 2, 0.05), 0.0, 0.0);
}

static void one_item_and_impossible_widths_are_answered(void **state)
{
    (void)state;
    assert_near(range_probability((double[]){-3}, one, 1, 0.0), 1.0, 1e-14);
    assert_near(range_probability((double[]){-3}, zero, 1, 0.0), 1.0, 0.0);
    assert_near(range_probability(zero, one, 2, -0.1), 0.0, 0.0);
    assert_near(range_probability(zero, one, 2, (double)NAN), 0.0, 0.0);
    assert_near(range_probability(zero, one, 2, 0.0), 0.0, 1e-14);
    assert_near(range_probability(zero, one, 8, 1e6), 1.0, 1e-13);
    assert_near(range_probability((double[]){0, 1e6}, one, 2, 1.0), 0.0, 0.0);
}

static void sixty_four_items_are_taken(void **state)
{
    (void)state;
    double mean[RANGE_ITEMS], sigma[RANGE_ITEMS];
    for (size_t i = 0; i < RANGE_ITEMS; i++) {
        mean[i] = 100.0;
        sigma[i] = 1.0;
    }
    double p = range_probability(mean, sigma, RANGE_ITEMS, 6.0);
    /* python3, Simpson's rule, 8,000 steps: 64 Int phi (Phi(x+6) - Phi(x))^63 */
    assert_near(p, 0.9702131003310934, 1e-12);
    /* one known exactly: (Phi(6) - 1/2)^63 + 63 Int from -6 to 0 phi (Phi(x+6) - Phi(x))^62 */
    sigma[0] = 0.0;
    assert_near(range_probability(mean, sigma, RANGE_ITEMS, 6.0), 0.9710056947837747, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(equal_means_give_the_studentized_range),
        cmocka_unit_test(published_quantiles_come_back),
        cmocka_unit_test(unequal_means_agree_with_quadrature_and_with_sampling),
        cmocka_unit_test(pairs_agree_with_the_closed_form_whatever_their_sigmas),
        cmocka_unit_test(items_known_exactly_take_their_place),
        cmocka_unit_test(relative_bands_agree_with_a_second_formula_and_with_sampling),
        cmocka_unit_test(one_item_and_impossible_widths_are_answered),
        cmocka_unit_test(sixty_four_items_are_taken),
    };
    return cmocka_run_group_tests_name("range", tests, NULL, NULL);
}
