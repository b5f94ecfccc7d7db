/* SPDX-License-Identifier: MIT */
#include "measure/linearity.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

static void assert_near(double got, double expected, double tolerance)
{
    if (!(fabs(got - expected) <= tolerance))
        fail_msg("%.15g came where %.15g was expected", got, expected);
}

static void aiag_example_comes_out_as_published(void **state)
{
    (void)state;
    /* AIAG MSA 4th ed. 2010, linearity study: 5 parts x 12 readings; data found in R package
     * qualityTools, man/gageLin.Rd */
    static const double row[5][13] = {
        {2, 2.7, 2.5, 2.4, 2.5, 2.7, 2.3, 2.5, 2.5, 2.4, 2.4, 2.6, 2.4},
        {4, 5.1, 3.9, 4.2, 5.0, 3.8, 3.9, 3.9, 3.9, 3.9, 4.0, 4.1, 3.8},
        {6, 5.8, 5.7, 5.9, 5.9, 6.0, 6.1, 6.0, 6.1, 6.4, 6.3, 6.0, 6.1},
        {8, 7.6, 7.7, 7.8, 7.7, 7.8, 7.8, 7.8, 7.7, 7.8, 7.5, 7.6, 7.7},
        {10, 9.1, 9.3, 9.5, 9.3, 9.4, 9.5, 9.5, 9.5, 9.6, 9.2, 9.3, 9.4}};
    double reference[60], reading[60];
    for (size_t i = 0; i < 60; i++) {
        reference[i] = row[i / 12][0];
        reading[i] = row[i / 12][1 + i % 12];
    }
    struct linearity l;
    assert_true(linearity_fit(&l, reference, reading, 60, NULL));
    /* the manual prints bias = 0.7367 - 0.1317 reference, s = 0.2395, R^2 = 71.4 % (from memory) */
    assert_near(l.line.beta[0], 0.7367, 5e-5);
    assert_near(l.line.beta[1], -0.1317, 5e-5);
    assert_near(l.line.residual_sd, 0.2395, 5e-5);
    assert_near(l.line.r_squared, 0.714, 5e-4);
    /* R 4.2.2 lm() */
    assert_near(l.line.beta[0], 0.73666666667, 5e-12);
    assert_near(l.line.beta[1], -0.13166666667, 5e-12);
    assert_near(l.line.se[0], 0.07252427, 5e-9);
    assert_near(l.line.se[1], 0.01093345, 5e-9);
    assert_near(l.line.residual_sd, 0.2395398, 5e-8);
    assert_near(l.line.r_squared, 0.7143184, 5e-8);
    assert_near(l.t_intercept, 10.15752, 5e-6);
    assert_near(l.t_slope, -12.04256, 5e-6);
    assert_true(l.p_intercept < 1e-12 && l.p_slope < 1e-15);
}

static void tester_without_bias_shows_none(void **state)
{
    (void)state;
    const double reference[] = {1, 2, 3, 4}, reading[] = {1, 2, 3, 4};
    struct linearity l;
    assert_true(linearity_fit(&l, reference, reading, 4, NULL));
    assert_near(l.t_slope, 0.0, 0.0);
    assert_near(l.p_slope, 1.0, 1e-15);
}

static void refuses_what_makes_no_line(void **state)
{
    (void)state;
    const double reference[] = {2, 2, 2}, reading[] = {1, 2, 3};
    struct linearity l;
    struct err e = ERR_INIT;
    assert_false(linearity_fit(&l, reference, reading, 3, &e));
    assert_non_null(strstr(e.text, "too few different places"));
    assert_false(linearity_fit(&l, reference, reading, LINEARITY_POINTS + 1, &e));
    assert_non_null(strstr(e.text, "at most 10000 readings"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(aiag_example_comes_out_as_published),
        cmocka_unit_test(tester_without_bias_shows_none),
        cmocka_unit_test(refuses_what_makes_no_line),
    };
    return cmocka_run_group_tests_name("linearity", tests, NULL, NULL);
}
