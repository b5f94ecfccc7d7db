/* SPDX-License-Identifier: MIT */
#include "measure/conformance.h"

#include "base/err.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>

#include "../reference/measure/conformance_probability.h"

static void assert_near(double got, double expected, double tolerance)
{
    if (!(fabs(got - expected) <= tolerance))
        fail_msg("%.15g came where %.15g was expected", got, expected);
}

static void probabilities_agree_with_jcgm_106_and_two_libraries(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(conformance_case); i++) {
        double p = conformance_probability(conformance_case[i].y, conformance_case[i].u,
                                           conformance_case[i].low, conformance_case[i].high);
        assert_near(p, conformance_case[i].p, 1e-12);
        if (conformance_case[i].printed > 0.0) /* JCGM prints two decimals, suncal five */
            assert_near(p, conformance_case[i].printed, i < 3 ? 0.005 : 0.000005);
    }
}

static void certain_values_conform_or_do_not(void **state)
{
    (void)state;
    assert_near(conformance_probability(5.0, 0.0, 5.0, 6.0), 1.0, 0.0); /* the limit is allowed */
    assert_near(conformance_probability(4.999, 0.0, 5.0, 6.0), 0.0, 0.0);
    assert_near(conformance_probability(1e9, 1.0, -INFINITY, INFINITY), 1.0, 0.0);
}

static void guard_bands_carry_the_published_risks(void **state)
{
    (void)state;
    /* ILAC-G8:09/2019 and JCGM 106:2012 8.3.2, with U = 2 u: no guard band 50 %, 0.83 U 5 %, U 2.3
     * % (printed 2.5 %), 1.5 U 0.135 % (printed 0.16 %), 3 U 1e-9 (printed 1 ppm) */
    static const struct {
        const char *code;
        double k, risk, tolerance;
    } row[] = {{"none", 0, 0.5, 0},
               {"p95", 1.66, 0.05, 1e-15},
               {"u2", 2, 0.02275013194817921, 1e-16},
               {"u3", 3, 0.0013498980316301035, 1e-16},
               {"u6", 6, 9.865877004244794e-10, 1e-15}};
    size_t count;
    const struct conformance_guard *g = conformance_guards(&count);
    assert_int_equal(count, ARRAY_LEN(row));
    for (size_t i = 0; i < count; i++) {
        assert_ptr_equal(conformance_guard_find(row[i].code), &g[i]);
        assert_near(g[i].k, row[i].k, i == 1 ? 0.02 : 0.0);
        assert_near(g[i].risk, row[i].risk, row[i].tolerance);
        /* an estimate at the acceptance limit of a wide tolerance has just that risk */
        double p = conformance_probability(g[i].k, 1.0, 0.0, 1000.0);
        assert_near(1.0 - p, g[i].risk, 1e-15);
    }
    assert_null(conformance_guard_find("half"));
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
        assert_near(conformance_probability(row[i].w, 1.0, 0.0, row[i].t), row[i].p, 2e-13);
}

static void verdicts_follow_the_four_zones(void **state)
{
    (void)state;
    static const struct {
        double y;
        enum conformance_verdict v;
    } row[] = {{50, CONFORMANCE_PASS},   {47, CONFORMANCE_PASS},       {46.9, CONFORMANCE_LIKELY},
               {45, CONFORMANCE_LIKELY}, {44.9, CONFORMANCE_UNLIKELY}, {43, CONFORMANCE_UNLIKELY},
               {42.9, CONFORMANCE_FAIL}, {53, CONFORMANCE_PASS},       {57, CONFORMANCE_UNLIKELY},
               {57.1, CONFORMANCE_FAIL}};
    for (size_t i = 0; i < ARRAY_LEN(row); i++)
        assert_int_equal(conformance_judge(row[i].y, 1.0, 45, 55, 2.0), row[i].v);
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
        struct conformance_risk r =
            conformance_risk(row[i].spread, row[i].u, row[i].limit, row[i].guard);
        assert_near(r.consumer, row[i].consumer, 1e-11);
        assert_near(r.producer, row[i].producer, 1e-11);
    }
    struct conformance_risk r = conformance_risk(0.12, 0.04, 0.2, 0.0);
    assert_near(r.outside, 0.09558070454562939, 1e-15);
    assert_near(r.outside, 0.10, 0.005); /* JCGM 106 prints 10 % (from memory) */
    r = conformance_risk(1, 0.25, 2, 2);
    assert_near(r.consumer, 0.0, 0.0);
    assert_near(r.producer + r.outside, 1.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(probabilities_agree_with_jcgm_106_and_two_libraries),
        cmocka_unit_test(certain_values_conform_or_do_not),
        cmocka_unit_test(guard_bands_carry_the_published_risks),
        cmocka_unit_test(two_sided_acceptance_limits_agree_with_an_independent_library),
        cmocka_unit_test(verdicts_follow_the_four_zones),
        cmocka_unit_test(global_risks_agree_with_published_tables),
    };
    return cmocka_run_group_tests_name("conformance", tests, NULL, NULL);
}
