/* SPDX-License-Identifier: MIT
 *
 * How likely a value conforms.  Expected: examples of JCGM 106:2012 clause 7 and of the tests of
 * suncal (Sandia), to six figures as computed with scipy 1.10.1 stats.norm; the standard normal
 * table.  Each row names its source.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>

#include "base/err.h"
#include "measure/conformity.h"

#include "../reference/measure/conformance_probability.h"

/* y, u and limits as in the source, times the power of ten that makes them whole */
static const struct {
    int64_t y, u, low, high, ppm;
    const char *source;
} published[] = {
    {-547, 5, NONE, -540, 919243, "JCGM 106:2012 7.3 example 1, Zener diode: 0.92"},
    {5097, 86, 4900, NONE, 989010, "JCGM 106:2012 7.3 example 2, container: 0.99"},
    {136, 18, 125, 163, 662630, "JCGM 106:2012 7.4 example, motor oil: 0.66"},
    {100, 4, 90, 110, 987581, "suncal test_cpk: 0.98758"},
    {105, 4, 90, 110, 894262, "suncal test_cpk: 0.89426"},
    {120, 4, 90, 110, 6210, "suncal test_cpk: 0.00621"},
    {0, 1, NONE, 0, 500000, "normal table, z = 0"},
    {0, 1, NONE, 1, 841345, "normal table, z = 1"},
    {0, 1, NONE, 2, 977250, "normal table, z = 2"},
    {536, 12, 450, 550, 878327, "scipy: 53.6 mA, u 1.2, limits 45 to 55"},
    {550, 12, 450, 550, 500000, "scipy: the same, on the limit"},
    {0, 1, NONE, NONE, 1000000, "no limit is always met"},
};

static void published_conformance_probabilities_are_met(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(published); i++) {
        int64_t above = published[i].low == NONE ? NONE : published[i].y - published[i].low;
        int64_t below = published[i].high == NONE ? NONE : published[i].high - published[i].y;
        int64_t got = conformity_ppm(above, below, published[i].u);
        if (got != published[i].ppm)
            fail_msg("%s: %lld", published[i].source, (long long)got);
    }
}

static void guard_bands_bound_the_risk_as_published(void **state)
{
    (void)state;
    /* ILAC-G8:09/2019 and JCGM 106: the worst risk at a guard band of r * U, U = 2 u, one-sided:
     * r = 1: 2.275 %, r = 0.83: 4.846 %, r = 1.5: 0.135 % */
    assert_int_equal(conformity_ppm(200, NONE, 100), CONFORMITY_SURE - 22750);
    assert_int_equal(conformity_ppm(166, NONE, 100), CONFORMITY_SURE - 48457);
    assert_int_equal(conformity_ppm(300, NONE, 100), CONFORMITY_SURE - 1350);
}

static void a_pair_on_the_edge_of_its_band_is_an_even_chance(void **state)
{
    (void)state;
    /* 110 and 100 at 10 %: one tail is one half, the other (100 - 1.1 * 110) / (1.1 * 1.0 and 1.0)
     * is 14 sigma away */
    assert_int_equal(conformity_pair_ppm(110, 1, 100, 1, 1000), 500000);
    assert_int_equal(conformity_pair_ppm(100, 1, 110, 1, 1000), 500000);
    /* one side known exactly: z = (1.1 * 100 - 108) / 2 = 1, normal table 0.841345 */
    assert_int_equal(conformity_pair_ppm(108, 2, 100, 0, 1000), 841345);
    /* equal values, band 0: surely not exactly equal */
    assert_int_equal(conformity_pair_ppm(100, 1, 100, 1, 0), 0);
}

static void uncertainties_add_in_quadrature_and_are_rounded_up(void **state)
{
    (void)state;
    assert_int_equal(conformity_u(3, 4), 5);
    assert_int_equal(conformity_u(7, 0), 7);
    assert_int_equal(conformity_u(0, 7), 7);
    assert_int_equal(conformity_u(1, 1), 2); /* 1.414 */
}

/* ---- in floating point ------------------------------------------------------------------------
 */

static void assert_near(double got, double expected, double tolerance)
{
    if (!(fabs(got - expected) <= tolerance))
        fail_msg("%.15g came where %.15g was expected", got, expected);
}

static void probabilities_agree_with_jcgm_106_and_two_libraries(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(conformance_case); i++) {
        double p = conformity_probability(conformance_case[i].y, conformance_case[i].u,
                                          conformance_case[i].low, conformance_case[i].high);
        assert_near(p, conformance_case[i].p, 1e-12);
        if (conformance_case[i].printed > 0.0) /* JCGM prints two decimals, suncal five */
            assert_near(p, conformance_case[i].printed, i < 3 ? 0.005 : 0.000005);
    }
}

static void certain_values_conform_or_do_not(void **state)
{
    (void)state;
    assert_near(conformity_probability(5.0, 0.0, 5.0, 6.0), 1.0, 0.0); /* the limit is allowed */
    assert_near(conformity_probability(4.999, 0.0, 5.0, 6.0), 0.0, 0.0);
    assert_near(conformity_probability(1e9, 1.0, -INFINITY, INFINITY), 1.0, 0.0);
}

static void two_sided_acceptance_limits_agree_with_an_independent_library(void **state)
{
    (void)state;
    /* limits T wide, guard band w = r U: probability at the acceptance limit (scipy 1.10.1) */
    static const struct {
        double t, w, p;
    } row[] = {
        {4, 0, 0.4999683287581669},  {4, 1, 0.8399948480369128},    {4, 1.66, 0.9419009037879189},
        {4, 2, 0.9544997361036416},  {6, 1, 0.841344459416971},     {6, 1.66, 0.9515356495974757},
        {6, 2, 0.9772181968099877},  {8, 1.66, 0.9515427736182947}, {8, 2, 0.9772498670652331},
        {12, 1, 0.8413447460685429}, {20, 2, 0.9772498680518208},
    };
    for (size_t i = 0; i < ARRAY_LEN(row); i++)
        assert_near(conformity_probability(row[i].w, 1.0, 0.0, row[i].t), row[i].p, 2e-13);
}

static void global_risks_agree_with_published_tables(void **state)
{
    (void)state;
    /* inputs of the resistor of JCGM 106:2012 9.5.5 (from memory), digits by scipy 1.10.1 quad;
     * D. Deaver and NCSLI RP-19 as quoted in sandialabs/suncal test/test_risk.py (found) */
    static const struct {
        double spread, u, limit, guard, consumer, producer;
    } row[] = {
        {0.12, 0.04, 0.2, 0.0, 0.018942206717029106, 0.037207800178057755},
        {0.12, 0.04, 0.2, 0.08, 0.0004686335988703536, 0.2476696402011523},
        {0.12, 0.04, 0.2, 0.04, 0.00433407222181924, 0.11465657840825816},
        {1, 0.25, 2, 0, 0.008006084834450094, 0.0148508842112549},
        {1, 0.25, 2.5, 0, 0.0024453487127036417, 0.005319389091350322},
        {1, 0.5, 2, 0.18, 0.008051608545312443, 0.0661064521590341},
        {1.18818294989389, 0.2970457374734725, 1, 0, 0.04838603208493638, 0.0626045275912564},
        {0.9648473410224805, 0.24121183525562012, 1, 0, 0.03922341070992426, 0.05388529720616481},
        {0.7803041460723791, 0.19507603651809477, 1, 0, 0.028558306210056705, 0.042320163471073755},
        {0.6079568319117692, 0.1519892079779423, 1, 0, 0.01599953530464447, 0.026545851092887975},
        {0.5102134569246539, 0.12755336423116348, 1, 0, 0.00871010188138952, 0.01595393568811235},
        {0.38822448312946434, 0.09705612078236608, 1, 0, 0.001999169629188481,
         0.004456360519756557},
    };
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        struct conformity_risk r =
            conformity_risk(row[i].spread, row[i].u, row[i].limit, row[i].guard);
        assert_near(r.consumer, row[i].consumer, 1e-11);
        assert_near(r.producer, row[i].producer, 1e-11);
    }
    struct conformity_risk r = conformity_risk(0.12, 0.04, 0.2, 0.0);
    assert_near(r.outside, 0.09558070454562939, 1e-15);
    assert_near(r.outside, 0.10, 0.005); /* JCGM 106 prints 10 % (from memory) */
    r = conformity_risk(1, 0.25, 2, 2);
    assert_near(r.consumer, 0.0, 0.0);
    assert_near(r.producer + r.outside, 1.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_conformance_probabilities_are_met),
        cmocka_unit_test(guard_bands_bound_the_risk_as_published),
        cmocka_unit_test(uncertainties_add_in_quadrature_and_are_rounded_up),
        cmocka_unit_test(a_pair_on_the_edge_of_its_band_is_an_even_chance),
        cmocka_unit_test(probabilities_agree_with_jcgm_106_and_two_libraries),
        cmocka_unit_test(certain_values_conform_or_do_not),
        cmocka_unit_test(two_sided_acceptance_limits_agree_with_an_independent_library),
        cmocka_unit_test(global_risks_agree_with_published_tables),
    };
    return cmocka_run_group_tests_name("conformity", tests, NULL, NULL);
}
