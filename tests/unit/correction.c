/* SPDX-License-Identifier: MIT */
#include "measure/correction.h"

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

/* Differences between two points of N. Koren's published model (Glass Audio 8(5), 1996), computed
 * in python3 and agreeing with ngspice 39.3 to 1e-6: exact change of plate current beside the
 * first-order one.  The reading is taken off the test point by dVa, dVg1, dVg2. */
static const struct model {
    const char *tube;
    double dva, dvg1, dvg2, gm, rp_ohm, gm2, ia0, first, exact;
    bool taken;
} model[] = {
    {"300B", 3, 0.5, 0, 5.161510907222833, 758.4627775381796, 0, 58.37909642734311,
     6.536124245389713, 6.663335775719786, true},
    {"300B far", -6, -1, 0, 5.161510907222833, 758.4627775381796, 0, 58.37909642734311,
     -13.072248490779426, -12.526317255228985, false},
    {"2A3", 5, 0, 0, 5.3065993932052695, 784.9784104269482, 0, 57.7313387769283, 6.369601932466537,
     6.483139474516501, true},
    {"12AX7", 2.5, 0.02, 0, 1.669980426846412, 53688.04532909714, 0, 0.9518032098915913,
     0.07996490970733763, 0.08164514567970288, true},
    {"12AU7", -5, 0.1, 0, 2.4795653310368677, 7248.9472758235825, 0, 10.393956964219761,
     -0.441798794083726, -0.4390585447837745, true},
    {"6L6GC", 5, 0.2, 2, 6.866329053389908, 98163.85241444703, 0.8218277610105851,
     80.98395074142596, 3.067856578994194, 3.086735980112873, true},
    {"EL34", -2, -0.1, 1.5, 13.068910764135744, 34184.62823531482, 1.2501614708240738,
     113.40715287423617, 0.5098453012310211, 0.5095341174906204, true},
    {"KT88", 10, 0.5, 5, 12.103373961819264, 38013.462902265244, 1.5658001998875015,
     155.4810670705955, 14.143752674708466, 14.389012501141274, true},
};

static struct correction_input input_of(const struct model *m)
{
    return (struct correction_input){.ia_ma = m->ia0 + m->exact,
                                     .dva_v = {m->dva, 0},
                                     .dvg1_v = {m->dvg1, 0},
                                     .dvg2_v = {m->dvg2, 0},
                                     .gm_ma_per_v = {m->gm, 0},
                                     .rp_kohm = {m->rp_ohm / 1000.0, 0},
                                     .gm2_ma_per_v = {m->gm2, 0}};
}

static void model_readings_come_back_to_the_test_point_within_their_uncertainty(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(model); i++) {
        const struct model *m = &model[i];
        struct correction c;
        struct err e = ERR_INIT;
        struct correction_input in = input_of(m);
        bool taken = correction_find(&c, &in, &e);
        if (taken != m->taken)
            fail_msg("%s: %s", m->tube, taken ? "taken" : e.text);
        if (!taken)
            continue;
        assert_near(c.shift_ma, -m->first, 1e-12);
        double missed = in.ia_ma + c.shift_ma - m->ia0;
        if (fabs(missed) > 2.0 * c.u_ma)
            fail_msg("%s: off by %g mA with an uncertainty of %g mA", m->tube, missed, c.u_ma);
        assert_true(fabs(missed) <= 0.003 * m->ia0); /* 0.22 % at most among these */
    }
}

static void departure_too_large_is_refused_with_the_numbers(void **state)
{
    (void)state;
    struct correction c;
    struct err e = ERR_INIT;
    struct correction_input in = input_of(&model[1]);
    assert_false(correction_find(&c, &in, &e));
    assert_int_equal(e.code, ERR_INVALID);
    assert_non_null(strstr(e.text, "off by -6 V at the plate, -1 V at the grid"));
    assert_non_null(strstr(e.text, "moves the plate current by 29 %; at most 15 %"));
    /* terms that cancel do not hide a large departure */
    in = (struct correction_input){.ia_ma = 10,
                                   .dva_v = {20, 0},
                                   .dvg1_v = {-1, 0},
                                   .gm_ma_per_v = {2, 0},
                                   .rp_kohm = {10, 0}};
    assert_false(correction_find(&c, &in, &e));
    assert_non_null(strstr(e.text, "by 40 %"));
}

static void no_departure_needs_no_correction(void **state)
{
    (void)state;
    struct correction c;
    assert_true(correction_find(&c, &(struct correction_input){.ia_ma = 10}, NULL));
    assert_near(c.shift_ma, 0.0, 0.0);
    assert_near(c.u_ma, 0.0, 0.0);
}

static void uncertainty_of_every_part_adds_in_quadrature(void **state)
{
    (void)state;
    /* by hand: gm 5 u 0.25, dVg 0.1 u 0.02: (0.1*0.25)^2 + (5*0.02)^2 = 0.000625 + 0.01;
     * 1/rp 1 u 0.1, dVa 0.5 u 0.3: (0.5*0.1)^2 + 0.3^2 = 0.0025 + 0.09;
     * gm2 0.5 u 0.1, dVg2 1 u 0.4: (1*0.1)^2 + (0.5*0.4)^2 = 0.01 + 0.04;
     * left out: share 1.5/100, 0.015^2/3 * 100 / sqrt 3 = 0.00433 */
    struct correction c;
    assert_true(correction_find(&c,
                                &(struct correction_input){.ia_ma = 100,
                                                           .dva_v = {0.5, 0.3},
                                                           .dvg1_v = {0.1, 0.02},
                                                           .dvg2_v = {1, 0.4},
                                                           .gm_ma_per_v = {5, 0.25},
                                                           .rp_kohm = {1, 0.1},
                                                           .gm2_ma_per_v = {0.5, 0.1}},
                                NULL));
    assert_near(c.shift_ma, -1.5, 1e-14);
    assert_near(c.share, 0.015, 1e-15);
    assert_near(c.u_ma, sqrt(0.000625 + 0.01 + 0.0025 + 0.09 + 0.01 + 0.04 + 0.00433 * 0.00433),
                1e-6);
}

static void three_halves_law_stays_within_what_is_left_out(void **state)
{
    (void)state;
    /* Ia = K (Va + mu Vg)^1.5 (Child and Langmuir; Langford-Smith 4th ed. ch. 2): 300 V, -61 V,
     * mu 3.85, K 1.1410e-4: 60 mA, gm 5.3185 mA/V, rp 723.89 ohm (closed form) */
    const double k = 0.00011409841732758626 * 1000.0, mu = 3.85;
    for (double dva = -12.0; dva <= 12.0; dva += 1.5) {
        double ia = k * pow(300.0 + dva - mu * 61.0, 1.5);
        struct correction c;
        struct err e = ERR_INIT;
        bool taken =
            correction_find(&c,
                            &(struct correction_input){.ia_ma = ia,
                                                       .dva_v = {dva, 0},
                                                       .gm_ma_per_v = {5.318495778971603, 0},
                                                       .rp_kohm = {0.7238888888888889, 0}},
                            &e);
        assert_int_equal(taken, fabs(dva) / 0.7238888888888889 <= 0.15 * ia);
        if (taken)
            assert_true(fabs(ia + c.shift_ma - 60.0) <= sqrt(3.0) * c.u_ma + 1e-9);
    }
}

static void refuses_what_cannot_be_corrected(void **state)
{
    (void)state;
    static const struct {
        struct correction_input in;
        const char *says;
    } row[] = {
        {{.ia_ma = 0}, "above 0 can be corrected, but 0 mA"},
        {{.ia_ma = (double)NAN}, "above 0"},
        {{.ia_ma = 10, .dva_v = {1, 0}}, "the plate resistance is needed"},
        {{.ia_ma = 10, .dvg1_v = {0.1, -1}}, "the grid volts' departure must be a number"},
        {{.ia_ma = 10, .gm2_ma_per_v = {(double)INFINITY, 0}}, "the screen's transconductance"},
    };
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        struct correction c;
        struct err e = ERR_INIT;
        assert_false(correction_find(&c, &row[i].in, &e));
        if (strstr(e.text, row[i].says) == NULL)
            fail_msg("%s", e.text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(model_readings_come_back_to_the_test_point_within_their_uncertainty),
        cmocka_unit_test(departure_too_large_is_refused_with_the_numbers),
        cmocka_unit_test(no_departure_needs_no_correction),
        cmocka_unit_test(uncertainty_of_every_part_adds_in_quadrature),
        cmocka_unit_test(three_halves_law_stays_within_what_is_left_out),
        cmocka_unit_test(refuses_what_cannot_be_corrected),
    };
    return cmocka_run_group_tests_name("correction", tests, NULL, NULL);
}
