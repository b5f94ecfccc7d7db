/* SPDX-License-Identifier: MIT */
#include "measure/uncertainty.h"

#include "base/err.h"
#include "measure/statistics.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>

static void assert_near(double got, double expected, double tolerance)
{
    if (!(fabs(got - expected) <= tolerance))
        fail_msg("%.15g came where %.15g was expected", got, expected);
}

static void end_gauge_of_jcgm_100_annex_h1(void **state)
{
    (void)state;
    /* JCGM 100:2008 H.1, components in nm; found in sandialabs/suncal test/ex_endgauge.yaml.
     * Published: d 9.7 nm with 25.6 degrees of freedom, u_c 32 nm, 16 degrees of freedom,
     * t99 = 2.92, U99 = 93 nm (from the rounded 32; unrounded 92.5). */
    const struct uncertainty_input d[] = {{1, 13 / sqrt(5.0), 24}, {1, 3.9, 5}, {1, 6.7, 8}};
    double u_d = uncertainty_combine(d, 3, NULL);
    assert_near(u_d, 9.7, 0.05);
    /* 25.6 is printed from rounded components; with these 25.4 */
    assert_near(uncertainty_dof(d, 3), 25.6, 0.25);
    const struct uncertainty_input in[] = {{1, 25, 18},
                                           {1, 9.681941953967707, 25.447250777362726},
                                           {1, 2.8867873148698995, 50},
                                           {1, 16.599027060501925, 2}};
    double u = uncertainty_combine(in, 4, NULL);
    assert_near(u, 32, 0.5);
    assert_near(u, 31.663879111008633, 1e-11); /* python3 */
    double dof = uncertainty_dof(in, 4);
    assert_near(floor(dof), 16, 0.0);
    assert_near(dof, 16.75243, 1e-3); /* python3, d with a step less of rounding */
    double k = uncertainty_factor(0.99, dof);
    assert_near(k, 2.92, 0.005);
    assert_near(k * u, 92.48327619974597, 1e-7);
}

/* R, X, Z from V, I, phi; ctx says which. */
static double impedance(const double *x, void *ctx)
{
    int which = *(int *)ctx;
    double z = x[0] / x[1];
    return which == 0 ? z * cos(x[2]) : which == 1 ? z * sin(x[2]) : z;
}

static void resistance_and_reactance_of_jcgm_100_annex_h2(void **state)
{
    (void)state;
    /* JCGM 100:2008 H.2; data and results found in sandialabs/suncal test_GUMH2 */
    static const double data[3][5] = {{5.007, 4.994, 5.005, 4.990, 4.999},
                                      {0.019663, 0.019639, 0.019640, 0.019685, 0.019678},
                                      {1.0456, 1.0438, 1.0468, 1.0428, 1.0433}};
    double x[3], u[3], r[9], c[3][3], value[3], cov[3][3];
    for (size_t i = 0; i < 3; i++) {
        x[i] = statistics_mean(data[i], 5);
        u[i] = statistics_sd(data[i], 5) / sqrt(5.0);
    }
    for (size_t i = 0; i < 3; i++)
        for (size_t j = 0; j < 3; j++)
            r[3 * i + j] = statistics_covariance(data[i], data[j], 5) / 5.0 / (u[i] * u[j]);
    for (int w = 0; w < 3; w++) {
        value[w] = impedance(x, &w);
        uncertainty_sensitivities(c[w], impedance, &w, x, u, 3);
    }
    for (size_t i = 0; i < 3; i++)
        for (size_t j = 0; j < 3; j++)
            cov[i][j] = uncertainty_covariance(c[i], c[j], u, 3, r);
    static const double printed[] = {127.732, 219.847, 254.260},
                        printed_u[] = {0.071, 0.295, 0.236};
    static const double numpy_u[] = {0.07107140740443404, 0.2955816773575567, 0.23633613008392965};
    for (size_t i = 0; i < 3; i++) {
        assert_near(value[i], printed[i], 0.0005);
        /* 0.295 is printed where the data give 0.29558: the guide rounds on the way */
        assert_near(sqrt(cov[i][i]), printed_u[i], 0.0006);
        assert_near(sqrt(cov[i][i]), numpy_u[i], 1e-6); /* central differences differ in the step */
    }
    assert_near(cov[0][1] / sqrt(cov[0][0] * cov[1][1]), -0.588, 0.0005);
    assert_near(cov[0][2] / sqrt(cov[0][0] * cov[2][2]), -0.485, 0.0005);
    assert_near(cov[1][2] / sqrt(cov[1][1] * cov[2][2]), 0.993, 0.0005);
}

static void amplification_factor_from_correlated_gm_and_rp(void **state)
{
    (void)state;
    /* first-order propagation of mu = gm rp, python3: gm 5.5 mA/V u 0.11, rp 700 ohm u 21 */
    static const struct {
        double r, u;
    } row[] = {{0, 0.13881372410536358}, {-0.6, 0.09272027825670066}, {1, 0.1925}};
    const struct uncertainty_input in[] = {{0.7, 0.11, INFINITY}, {5.5, 0.021, INFINITY}};
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        const double r[] = {1, row[i].r, row[i].r, 1};
        assert_near(uncertainty_combine(in, 2, r), row[i].u, 1e-15);
    }
    assert_near(uncertainty_combine(in, 2, NULL), row[0].u, 1e-15);
}

static void full_anticorrelation_cancels_to_nothing(void **state)
{
    (void)state;
    const struct uncertainty_input in[] = {{1, 0.3, INFINITY}, {1, 0.3, INFINITY}};
    const double r[] = {1, -1, -1, 1};
    assert_near(uncertainty_combine(in, 2, r), 0.0, 0.0);
    assert_true(isinf(uncertainty_dof(in, 2)));
    assert_near(uncertainty_factor(0.95, INFINITY), 1.959963984540054, 1e-14); /* scipy */
}

static void days_of_jcgm_100_annex_h5_do_not_differ(void **state)
{
    (void)state;
    /* JCGM 100:2008 H.5, table H.9: mean 10.000097 V, s of the means 57 uV, pooled 85 uV, F 2.25 */
    static const double mean_uv[] = {172, 116, 13, 144, 106, 31, 60, 125, 163, 41};
    static const double sd_uv[] = {60, 77, 111, 101, 67, 93, 80, 73, 88, 86};
    double squares[10];
    for (size_t i = 0; i < 10; i++)
        squares[i] = sd_uv[i] * sd_uv[i];
    double between = statistics_sd(mean_uv, 10), within = statistics_mean(squares, 10);
    assert_near(statistics_mean(mean_uv, 10), 97.1, 1e-12);
    assert_near(between, 57.08950088365963, 1e-9);             /* numpy, from volts in double */
    assert_near(sqrt(within), 84.88698369008054, 1e-12);       /* numpy */
    assert_near(5.0 * between * between / within, 2.25, 0.02); /* printed from rounded 57 and 85 */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(end_gauge_of_jcgm_100_annex_h1),
        cmocka_unit_test(resistance_and_reactance_of_jcgm_100_annex_h2),
        cmocka_unit_test(amplification_factor_from_correlated_gm_and_rp),
        cmocka_unit_test(full_anticorrelation_cancels_to_nothing),
        cmocka_unit_test(days_of_jcgm_100_annex_h5_do_not_differ),
    };
    return cmocka_run_group_tests_name("uncertainty", tests, NULL, NULL);
}
