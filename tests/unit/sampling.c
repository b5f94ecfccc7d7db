/* SPDX-License-Identifier: MIT */
#include "measure/sampling.h"

#include "base/err.h"
#include "measure/normal.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>

static void coverage_factors_agree_with_jcgm_100_table_g2(void **state)
{
    (void)state;
    /* JCGM 100:2008 table G.2, printed to two decimals; digits: scipy 1.10.1, whose
     * own inverse is good to 1e-9 only: it gives 12.7062047364321 for tan(0.475 pi) below */
    static const struct {
        double p, dof, printed, t;
    } row[] = {
        {0.6827, 1, 1.84, 1.83740942951465},    {0.95, 1, 12.71, 12.706204736432095},
        {0.9973, 5, 5.51, 5.506984967905405},   {0.90, 20, 1.72, 1.7247182429207857},
        {0.9973, 1, 235.8, 235.78368715846764}, {0.90, 10, 1.81, 1.8124611228107335},
        {0.95, 20, 2.09, 2.0859634472658364},   {0.9973, 2, 19.21, 19.20601588774844},
        {0.99, 11, 3.11, 3.105806513221101},    {0.99, 16, 2.92, 2.9207816223499967},
    };
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        double t = sampling_t_factor(row[i].p, row[i].dof);
        assert_true(fabs(t - row[i].t) < 1e-9 * row[i].t);
        /* the table's own rounding; 235.8 is printed to one decimal */
        assert_true(fabs(t - row[i].printed) < (row[i].printed > 100 ? 0.05 : 0.005));
    }
}

static void t_becomes_normal_with_endless_degrees_of_freedom(void **state)
{
    (void)state;
    for (double t = -4.0; t <= 4.0; t += 0.5) {
        assert_true(sampling_t_below(t, INFINITY) == normal_below(t));
        assert_true(fabs(sampling_t_below(t, 1e5) - normal_below(t)) < 2e-6);
    }
    /* one degree of freedom is Cauchy's: 1/2 + atan(t)/pi */
    for (double t = -9.0; t <= 9.0; t += 0.75)
        assert_true(fabs(sampling_t_below(t, 1) - (0.5 + atan(t) / M_PI)) < 1e-14);
}

static void coverage_factors_agree_with_their_closed_forms(void **state)
{
    (void)state;
    /* one degree of freedom: tan(p pi/2); two: p sqrt(2/(1-p^2)) */
    for (double p = 0.05; p < 0.999; p += 0.0483) {
        assert_true(fabs(sampling_t_factor(p, 1) / tan(p * M_PI_2) - 1.0) < 1e-12);
        assert_true(fabs(sampling_t_factor(p, 2) / (p * sqrt(2.0 / (1.0 - p * p))) - 1.0) < 1e-12);
    }
}

static void chi_square_agrees_with_its_closed_forms_and_table(void **state)
{
    (void)state;
    for (double x = 0.0; x < 60.0; x += 0.7) {
        assert_true(fabs(sampling_chi2_above(x, 2) - exp(-0.5 * x)) < 1e-14);
        assert_true(fabs(sampling_chi2_above(x, 1) - 2.0 * normal_above(sqrt(x))) < 1e-14);
        /* four degrees of freedom: exp(-x/2)(1 + x/2) */
        assert_true(fabs(sampling_chi2_above(x, 4) - exp(-0.5 * x) * (1.0 + 0.5 * x)) < 1e-14);
    }
    /* NIST/SEMATECH e-Handbook 1.3.6.7.4, upper critical values (from memory, three decimals) */
    static const struct {
        double p, dof, x;
    } row[] = {{0.95, 1, 3.841},
               {0.95, 10, 18.307},
               {0.99, 5, 15.086},
               {0.975, 30, 46.979},
               {0.99, 100, 135.807}};
    for (size_t i = 0; i < ARRAY_LEN(row); i++)
        assert_true(fabs(sampling_chi2_quantile(row[i].p, row[i].dof) - row[i].x) < 6e-4);
}

static void f_gives_the_published_p_values_of_two_gauge_studies(void **state)
{
    (void)state;
    /* cran/SixSigma tests/testthat/test-ss-rr.R: F 28.797 (2, 4), 1.27 (2, 4), 0.974 (4, 18) */
    assert_true(fabs(sampling_f_above(28.797, 2, 4) - 0.00422) < 6e-6);
    assert_true(fabs(sampling_f_above(1.27, 2, 4) - 0.37415) < 3e-4); /* F printed to 2 decimals */
    assert_true(fabs(sampling_f_above(0.974, 4, 18) - 0.44619) < 2e-4);
    /* F(1, n) is t(n) squared */
    for (double n = 1; n < 50; n += 3)
        assert_true(fabs(sampling_f_above(4.0, 1, n) - 2.0 * sampling_t_below(-2.0, n)) < 1e-14);
    assert_true(sampling_f_above(0.0, 3, 3) == 1.0);
    assert_true(sampling_f_above(INFINITY, 3, 3) == 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(coverage_factors_agree_with_jcgm_100_table_g2),
        cmocka_unit_test(t_becomes_normal_with_endless_degrees_of_freedom),
        cmocka_unit_test(coverage_factors_agree_with_their_closed_forms),
        cmocka_unit_test(chi_square_agrees_with_its_closed_forms_and_table),
        cmocka_unit_test(f_gives_the_published_p_values_of_two_gauge_studies),
    };
    return cmocka_run_group_tests_name("sampling", tests, NULL, NULL);
}
