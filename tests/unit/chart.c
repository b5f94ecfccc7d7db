/* SPDX-License-Identifier: MIT */
#include "measure/chart.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

#include "../reference/measure/chart_constants.h"

static void assert_near(double got, double expected, double tolerance)
{
    if (!(fabs(got - expected) <= tolerance))
        fail_msg("%.15g came where %.15g was expected", got, expected);
}

static struct chart baseline(const double *x, size_t n)
{
    struct chart c;
    struct err e = ERR_INIT;
    if (!chart_baseline(&c, x, n, &e))
        fail_msg("%s", e.text);
    return c;
}

static void constants_agree_with_mpmath_and_the_published_tables(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(chart_table); i++) {
        int n = chart_table[i].n;
        double d2 = chart_d2(n), d3 = chart_d3(n), c4 = chart_c4(n);
        assert_near(d2, chart_table[i].d2, 1e-10);
        assert_near(d3, chart_table[i].d3, 1e-10);
        assert_near(c4, chart_table[i].c4, 1e-12);
        assert_near(d2, chart_table[i].printed_d2, 5.01e-4);
        assert_near(d3, chart_table[i].printed_d3, 5.01e-4);
        assert_near(c4, chart_table[i].printed_c4, 5.01e-5);
        /* what hangs on them: A2 = 3/(d2 sqrt n), A3, B3, B4, D3, D4, 3/d2 */
        double root = sqrt(1.0 - c4 * c4);
        assert_near(fmax(1.0 - 3.0 * d3 / d2, 0.0), chart_table[i].D3, 1e-9);
        assert_near(1.0 + 3.0 * d3 / d2, chart_table[i].D4, 1e-9);
        assert_near(3.0 / (d2 * sqrt(n)), chart_table[i].A2, 1e-9);
        assert_near(3.0 / (c4 * sqrt(n)), chart_table[i].A3, 1e-9);
        assert_near(fmax(1.0 - 3.0 * root / c4, 0.0), chart_table[i].B3, 1e-9);
        assert_near(1.0 + 3.0 * root / c4, chart_table[i].B4, 1e-9);
        assert_near(3.0 / d2, chart_table[i].E2, 1e-9);
    }
}

/* The published limits use d2 = 1.128 and D4 = 3.267, we use all digits: limits computed from the
 * same mean range with the rounded constants must agree. */
static void assert_limits(const struct chart *c, double upper, double lower, double tolerance)
{
    double half = 3.0 * c->range_mean / 1.128;
    assert_near(c->target + half, upper, tolerance);
    assert_near(c->target - half, lower, tolerance);
    assert_near(chart_upper(c), c->target + half, 4e-4 * half); /* 1.12838 against 1.128 */
    assert_near(chart_lower(c), c->target - half, 4e-4 * half);
}

static void individuals_limits_agree_with_four_published_examples(void **state)
{
    (void)state;
    /* NIST/SEMATECH e-Handbook 6.3.2.2: limits found, data from memory, reproduce them */
    static const double nist[] = {49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
    struct chart c = baseline(nist, ARRAY_LEN(nist));
    assert_near(c.target, 50.81, 1e-12);
    assert_near(c.range_mean, 1.8778, 5e-5);
    assert_limits(&c, 55.8041, 45.8159, 6e-5);
    assert_near(chart_range_upper(&c), 6.134700000000002, 1e-3); /* with D4 = 3.267 */
    /* Montgomery, viscosity of a primer; data found in R package qcc, printed figures from memory
     */
    static const double primer[] = {33.75, 33.05, 34,    33.81, 33.46, 34.02, 33.68, 33.27,
                                    33.49, 33.2,  33.62, 33.0,  33.54, 33.12, 33.84};
    c = baseline(primer, ARRAY_LEN(primer));
    assert_near(c.target, 33.52, 0.005);
    assert_near(c.range_mean, 0.48, 0.005);
    assert_limits(&c, 34.80, 32.24, 0.006);
    assert_near(chart_range_upper(&c), 1.57, 0.005);
    /* Wetherill and Brown, Statistical Process Control, 1991, p. 120; limits by python3 */
    static const double water[] = {2.23, 2.53, 2.62, 2.63, 2.58, 2.44, 2.49, 2.34, 2.95,
                                   2.54, 2.6,  2.45, 2.17, 2.58, 2.57, 2.44, 2.38, 2.23,
                                   2.23, 2.54, 2.66, 2.84, 2.81, 2.39, 2.56, 2.7,  3.0,
                                   2.81, 2.77, 2.89, 2.54, 2.98, 2.35, 2.53};
    c = baseline(water, ARRAY_LEN(water));
    assert_near(c.target, 2.5697058823529413, 1e-14);
    assert_near(c.sigma, 0.17939381400074014, 1e-13); /* this row was computed with all digits */
    assert_near(chart_upper(&c), 3.1078873243551617, 1e-12);
    assert_near(chart_lower(&c), 2.031524440350721, 1e-12);
    /* SAS/QC IRCHART example, data set Jets */
    static const double jets[] = {78.4, 80.1, 84.4, 79.1, 80.4, 83.5, 73.8, 83.5, 75.0, 76.8,
                                  70.5, 80.3, 82.4, 79.4, 86.4, 90.5, 77.7, 82.5, 79.9, 83.2};
    c = baseline(jets, ARRAY_LEN(jets));
    assert_near(c.sigma, 4.720324466095743, 1e-12);
    assert_near(chart_upper(&c), 94.55097339828724, 1e-11);
    assert_near(chart_lower(&c), 66.22902660171279, 1e-11);
}

static void moving_average_agrees_with_the_nist_example(void **state)
{
    (void)state;
    /* NIST/SEMATECH e-Handbook 6.3.2.4: target 50, s 2.0539, lambda 0.3; averages printed to two
     * decimals; UCL 52.5884, LCL 47.4115 (unrounded 47.41157), no signal */
    static const double x[] = {52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
                               49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
    static const double printed[] = {50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75,
                                     49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05,
                                     49.38, 49.92, 50.73, 51.23, 51.94, 51.99};
    static const double half[] = {1.84851, 2.2563940121239905, 2.431405570795422,
                                  2.5127153468808507, 2.551611460073961}; /* python3 */
    struct chart c = {.target = 50, .sigma = 2.0539};
    struct chart_point p[ARRAY_LEN(x)];
    chart_follow(p, &c, x, ARRAY_LEN(x), CHART_LAMBDA, CHART_WIDTH);
    for (size_t i = 0; i < ARRAY_LEN(x); i++) {
        assert_near(p[i].average, printed[i], 0.00501);
        assert_int_equal(p[i].signals & CHART_CREEP, 0);
        if (i < ARRAY_LEN(half))
            assert_near(p[i].half, half[i], 1e-12);
    }
    assert_near(p[19].average, 51.988243258644616, 1e-12);
    assert_near(50 + p[19].half, 52.5884, 1e-4); /* all but steady after twenty */
    assert_near(50 - p[19].half, 47.41157, 1e-4);
}

static void moving_average_agrees_with_montgomerys_data(void **state)
{
    (void)state;
    /* python3, lambda 0.2, L 2.7, sigma by all digits of d2 */
    static const double x[] = {33.75, 33.05, 34,    33.81, 33.46, 34.02, 33.68, 33.27,
                               33.49, 33.2,  33.62, 33.0,  33.54, 33.12, 33.84};
    struct chart c = baseline(x, ARRAY_LEN(x));
    struct chart_point p[ARRAY_LEN(x)];
    chart_follow(p, &c, x, ARRAY_LEN(x), 0.2, 2.7);
    assert_near(p[0].average, 33.56866666666667, 1e-12);
    assert_near(p[14].average, 33.47052775754609, 1e-12);
    assert_near(p[0].half, 0.23005184946288673, 1e-12);
    assert_near(p[14].half, 0.38318235028104686, 1e-12);
}

static void each_rule_gives_its_signal_and_only_then(void **state)
{
    (void)state;
    struct chart c = {.target = 100, .sigma = 1};
    struct chart_point p[12];
    const double jump[] = {100.5, 99.6, 103.01, 100.2};
    chart_follow(p, &c, jump, 4, 0.05, 3.0);
    assert_int_equal(p[1].signals, 0);
    assert_int_equal(p[2].signals & CHART_BEYOND, CHART_BEYOND);
    assert_int_equal(p[3].signals, 0);
    const double edge[] = {103, 97};
    chart_follow(p, &c, edge, 2, 1.0, 3.0); /* on the limit is within it */
    assert_int_equal(p[0].signals | p[1].signals, 0);
    const double row[] = {99.9,  100.1, 100.1, 100.1, 100.1, 100.1,
                          100.1, 100.1, 100.1, 100.1, 100.0, 100.1};
    chart_follow(p, &c, row, 12, CHART_LAMBDA, CHART_WIDTH);
    for (size_t i = 0; i < 12; i++)
        assert_int_equal(p[i].signals, i == 8 || i == 9 ? CHART_ROW : 0);
    const double creep[] = {101.5, 101.5, 101.5, 101.5, 101.5};
    chart_follow(p, &c, creep, 5, CHART_LAMBDA, CHART_WIDTH);
    /* by hand: 1.5 (1 - 0.7^i) against 1.2603 sqrt(1 - 0.49^i): 0.45/0.9, 0.765/1.0986,
     * 0.9855/1.1838, 1.1399/1.2233, 1.2479/1.2424 */
    for (size_t i = 0; i < 5; i++)
        assert_int_equal(p[i].signals, i == 4 ? CHART_CREEP : 0);
    assert_string_equal(chart_signal_says(0), "");
    assert_non_null(strstr(chart_signal_says(CHART_BEYOND | CHART_ROW), "three standard"));
    assert_non_null(strstr(chart_signal_says(CHART_ROW), "eight"));
    assert_non_null(strstr(chart_signal_says(CHART_CREEP | CHART_ROW), "weighted average"));
}

static void refuses_what_makes_no_baseline(void **state)
{
    (void)state;
    struct chart c;
    struct err e = ERR_INIT;
    const double x[] = {1, 1, 1, 1, 1, (double)NAN};
    assert_false(chart_baseline(&c, x, 4, &e));
    assert_non_null(strstr(e.text, "5 checks of a sound tester or more, but 4 came"));
    assert_false(chart_baseline(&c, x, 5, &e));
    assert_non_null(strstr(e.text, "all 5 checks are 1"));
    assert_false(chart_baseline(&c, x, 6, &e));
    assert_non_null(strstr(e.text, "check 6 is not a number"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(constants_agree_with_mpmath_and_the_published_tables),
        cmocka_unit_test(individuals_limits_agree_with_four_published_examples),
        cmocka_unit_test(moving_average_agrees_with_the_nist_example),
        cmocka_unit_test(moving_average_agrees_with_montgomerys_data),
        cmocka_unit_test(each_rule_gives_its_signal_and_only_then),
        cmocka_unit_test(refuses_what_makes_no_baseline),
    };
    return cmocka_run_group_tests_name("chart", tests, NULL, NULL);
}
