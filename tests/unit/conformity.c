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

#include "base/err.h"
#include "measure/conformity.h"

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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_conformance_probabilities_are_met),
        cmocka_unit_test(guard_bands_bound_the_risk_as_published),
        cmocka_unit_test(uncertainties_add_in_quadrature_and_are_rounded_up),
        cmocka_unit_test(a_pair_on_the_edge_of_its_band_is_an_even_chance),
    };
    return cmocka_run_group_tests_name("conformity", tests, NULL, NULL);
}
