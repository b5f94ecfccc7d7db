/* SPDX-License-Identifier: MIT */
#include "measure/regression.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <float.h>
#include <math.h>
#include <string.h>

#include "../reference/measure/strd_regression.h"

static double digits(double got, double certified)
{
    double error = certified != 0.0 ? fabs(got - certified) / fabs(certified) : fabs(got);
    return error < 1e-16 ? 16.0 : -log10(error);
}

/* Certified values of the NIST/ITL Statistical Reference Datasets (15 digits).  need: the digits
 * that must come out; where below 14 the reason stands beside. */
static const struct strd {
    const char *name;
    const double (*data)[2];
    size_t n;
    int degree;
    bool through_origin;
    double beta[6], se[6], residual_sd, r_squared, ss_model, ss_residual, f;
    double need_beta, need_rest;
} strd[] = {
    {"Norris",
     strd_norris,
     ARRAY_LEN(strd_norris),
     1,
     false,
     {-0.262323073774029, 1.00211681802045},
     {0.232818234301152, 0.429796848199937E-03},
     0.884796396144373,
     0.999993745883712,
     4255954.13232369,
     26.6173985294224,
     5436385.54079785,
     13.5,
     13.5}, /* the data are tenths, which double holds to 1e-16 only */
    {"Pontius",
     strd_pontius,
     ARRAY_LEN(strd_pontius),
     2,
     false,
     {0.673565789473684E-03, 0.732059160401003E-06, -0.316081871345029E-14},
     {0.107938612033077E-03, 0.157817399981659E-09, 0.486652849992036E-16},
     0.205177424076185E-03,
     0.999999900178537,
     15.6040343244198,
     0.155761768796992E-05,
     185330865.995752,
     13.0,
     13.0}, /* the same, and the residual is 1e-4 of y */
    {"NoInt1",
     strd_noint1,
     ARRAY_LEN(strd_noint1),
     1,
     true,
     {2.07438016528926},
     {0.165289256198347E-01},
     3.56753034006338,
     0.999365492298663,
     200457.727272727,
     127.272727272727,
     15750.25,
     14.0,
     14.0},
    {"NoInt2",
     strd_noint2,
     ARRAY_LEN(strd_noint2),
     1,
     true,
     {0.727272727272727},
     {0.420827318078432E-01},
     0.369274472937998,
     0.993348115299335,
     40.7272727272727,
     0.272727272727273,
     298.6666666666667,
     14.0,
     14.0},
    {"Wampler1",
     strd_wampler1,
     ARRAY_LEN(strd_wampler1),
     5,
     false,
     {1, 1, 1, 1, 1, 1},
     {0},
     0,
     1,
     18814317208116.7,
     0,
     (double)INFINITY,
     12.0,
     14.0}, /* powers up to 20^5: a condition of 1e6 eats as many digits */
    {"Wampler4",
     strd_wampler4,
     ARRAY_LEN(strd_wampler4),
     5,
     false,
     {1, 1, 1, 1, 1, 1},
     {215232.624678170, 236355.173469681, 77934.3524331583, 10147.5507550350, 564.566512170752,
      11.2324854679312},
     236014.502379268,
     0.957478440825662,
     18814317208116.7,
     835542680000.000,
     67.5524458240122,
     11.0,
     14.0}, /* the same, and the residual is 1e5 times the coefficients */
};

static void nist_data_sets_come_out_to_the_stated_digits(void **state)
{
    (void)state;
    for (size_t s = 0; s < ARRAY_LEN(strd); s++) {
        const struct strd *c = &strd[s];
        double x[64], y[64];
        for (size_t i = 0; i < c->n; i++) {
            y[i] = c->data[i][0];
            x[i] = c->data[i][1];
        }
        struct regression r;
        struct err e = ERR_INIT;
        if (!regression_fit(&r, x, y, c->n, c->degree, c->through_origin, &e))
            fail_msg("%s: %s", c->name, e.text);
        double beta = 16.0, rest = 16.0;
        for (int k = 0; k < r.terms; k++) {
            beta = fmin(beta, digits(r.beta[k], c->beta[k]));
            rest = fmin(rest, digits(r.se[k], c->se[k]));
        }
        rest = fmin(rest, digits(r.residual_sd, c->residual_sd));
        rest = fmin(rest, digits(r.r_squared, c->r_squared));
        rest = fmin(rest, digits(r.ss_model, c->ss_model));
        rest = fmin(rest, digits(r.ss_residual, c->ss_residual));
        if (isfinite(c->f))
            rest = fmin(rest, digits(r.f, c->f));
        else
            assert_true(isinf(r.f));
        /* where long double is only double the last three digits of the hard ones go */
        double wide = LDBL_MANT_DIG >= 64 ? 0.0 : 3.0;
        if (beta < c->need_beta - wide || rest < c->need_rest - wide)
            fail_msg("%s: %.1f digits of the coefficients, %.1f of the rest", c->name, beta, rest);
    }
}

static void thermometer_of_jcgm_100_annex_h3_is_fitted_and_predicted(void **state)
{
    (void)state;
    /* JCGM 100:2008 H.3: y1 -0.1712, u 0.0029; y2 0.00218, u 0.00067; r -0.930; s 0.0035;
     * b(30) -0.1494, u 0.0041 */
    const double t[] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
                        24.513, 25.002, 25.503, 26.010, 26.511};
    const double b[] = {-0.171, -0.169, -0.166, -0.159, -0.164, -0.165,
                        -0.156, -0.157, -0.159, -0.161, -0.160};
    double x[11];
    for (size_t i = 0; i < 11; i++)
        x[i] = t[i] - 20.0;
    struct regression r;
    assert_true(regression_fit(&r, x, b, 11, 1, false, NULL));
    assert_true(fabs(r.beta[0] + 0.1712) < 0.00005 && fabs(r.se[0] - 0.0029) < 0.00005);
    assert_true(fabs(r.beta[1] - 0.00218) < 0.000005 && fabs(r.se[1] - 0.00067) < 0.000005);
    assert_true(fabs(r.covariance[0][1] / (r.se[0] * r.se[1]) + 0.930) < 0.0005);
    assert_true(fabs(r.residual_sd - 0.0035) < 0.00005);
    double u, b30 = regression_at(&r, 10.0, &u);
    assert_true(fabs(b30 + 0.1494) < 0.00005 && fabs(u - 0.0041) < 0.00005);
    /* numpy 1.24.2 */
    assert_true(fabs(b30 + 0.1493768127324778) < 1e-13);
    assert_true(fabs(u - 0.004138595752854953) < 1e-14);
}

static void refuses_what_cannot_be_fitted(void **state)
{
    (void)state;
    struct regression r;
    const double x[] = {1, 1, 1, 1}, y[] = {1, 2, 3, (double)NAN};
    struct err e = ERR_INIT;
    assert_false(regression_fit(&r, x, y, 2, 1, false, &e));
    assert_non_null(strstr(e.text, "3 points or more, but 2 came"));
    assert_false(regression_fit(&r, x, y, 3, 1, false, &e));
    assert_non_null(strstr(e.text, "too few different places"));
    assert_false(regression_fit(&r, x, y, 4, 1, false, &e));
    assert_non_null(strstr(e.text, "point 4 is not a number"));
    const double zero[] = {0, 0, 0};
    assert_false(regression_fit(&r, zero, y, 3, 1, true, &e));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nist_data_sets_come_out_to_the_stated_digits),
        cmocka_unit_test(thermometer_of_jcgm_100_annex_h3_is_fitted_and_predicted),
        cmocka_unit_test(refuses_what_cannot_be_fitted),
    };
    return cmocka_run_group_tests_name("regression", tests, NULL, NULL);
}
