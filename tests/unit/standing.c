/* SPDX-License-Identifier: MIT */
#include "measure/standing.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

static struct standing compute(const struct standing_input *in)
{
    struct standing s;
    struct err e = ERR_INIT;
    if (!standing_compute(&s, in, &e))
        fail_msg("%s", e.text);
    return s;
}

static void mean_is_exact_and_rounded_once_half_to_even(void **state)
{
    (void)state;
    static const struct {
        struct decimal repeat[3];
        size_t count;
        int decimals;
        int64_t value;
    } row[] = {
        {{{520, 2}}, 1, 3, 5200},
        {{{5, 0}, {6, 0}}, 2, 0, 6},             /* 5.5 is as near to 6, which is even */
        {{{6, 0}, {7, 0}}, 2, 0, 6},             /* 6.5 */
        {{{-5, 0}, {-6, 0}}, 2, 0, -6},          /* -5.5 */
        {{{25, 1}, {25, 1}, {26, 1}}, 3, 1, 25}, /* 2.5333 */
        {{{1, 0}, {1, 0}, {2, 0}}, 3, 4, 13333}, /* 1.33333 */
        {{{2, 0}, {2, 0}, {1, 0}}, 3, 4, 16667}, /* 1.66667 */
        {{{52, -2}, {5200, 0}}, 2, 1, 52000},    /* decimals below zero */
        {{{12345, 4}, {12355, 4}}, 2, 3, 1235},  /* 1.2350 exactly */
        {{{12344, 4}, {12346, 4}}, 2, 3, 1234},  /* 1.2345: to even; double would not know */
        {{{999999999999999, 15}}, 1, 9, 1000000000},
    };
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        struct standing s = compute(&(struct standing_input){
            .repeat = row[i].repeat, .repeat_count = row[i].count, .decimals = row[i].decimals});
        assert_int_equal(s.value, row[i].value);
    }
}

static void repeatability_shrinks_with_the_root_of_n_and_resolution_does_not(void **state)
{
    (void)state;
    /* by hand: (0.05/sqrt 3)^2 + (0.1/sqrt 12)^2 = 2 * 0.000833333; root 0.0408248 */
    const struct decimal repeat[] = {{51, 1}, {52, 1}, {53, 1}};
    struct standing s =
        compute(&(struct standing_input){.repeat = repeat,
                                         .repeat_count = 3,
                                         .decimals = 3,
                                         .tester = {.resolution = 0.1, .repeatability = 0.05}});
    assert_int_equal(s.value, 5200);
    assert_int_equal(s.own_u, 40825); /* 0.040825, rounded up */
    assert_int_equal(s.calibration_u, 0);
    assert_true(fabs(s.spread - 0.1) < 1e-12);
    assert_false(s.unproven);
    assert_true(fabs(standing_u_real(s.own_u, 3) - 0.040825) < 1e-15);
}

static void last_digit_typed_counts_as_the_step_where_none_is_stated(void **state)
{
    (void)state;
    /* JCGM 100:2008 F.2.2.1: a step of 1 contributes 1/sqrt(12) = 0.288675 */
    const struct decimal coarse[] = {{5, 0}, {50, 1}};
    struct standing s = compute(&(struct standing_input){
        .repeat = coarse, .repeat_count = 2, .decimals = 1, .tester = {.repeatability = 1e-9}});
    assert_int_equal(s.own_u, 2887); /* 0.2887 */
    const struct decimal one[] = {{520, 2}};
    s = compute(&(struct standing_input){.repeat = one, .repeat_count = 1, .decimals = 3});
    assert_int_equal(s.own_u, 2887); /* a step of 0.01: 0.002887 */
    assert_true(s.unproven);
}

static void voltages_of_jcgm_100_annex_h2_give_the_printed_mean_and_spread(void **state)
{
    (void)state;
    /* JCGM 100:2008 table H.2: mean of V 4.9990, u(V) = s/sqrt(5) = 0.0032; t(68.27 %, 4) = 1.14 in
     * table G.2 (printed figures from memory, data found) */
    static const struct decimal repeat[] = {{5007, 3}, {4994, 3}, {5005, 3}, {499, 2}, {4999, 3}};
    struct standing s = compute(&(struct standing_input){.repeat = repeat,
                                                         .repeat_count = ARRAY_LEN(repeat),
                                                         .decimals = 4,
                                                         .tester = {.resolution = 1e-6}});
    assert_int_equal(s.value, 49990);
    assert_true(fabs(s.spread / sqrt(5.0) - 0.0032) < 0.00005);
    assert_true(fabs(standing_u_real(s.own_u, 4) - 0.0032 * 1.14) < 0.0001);
}

static void repeats_that_spread_too_far_are_said_to_and_use_their_own_spread(void **state)
{
    (void)state;
    const struct decimal wild[] = {{40, 1}, {52, 1}, {64, 1}};
    struct standing_input in = {.repeat = wild,
                                .repeat_count = 3,
                                .decimals = 3,
                                .tester = {.resolution = 0.001, .repeatability_share = 0.02}};
    struct standing s = compute(&in);
    assert_true(s.scattered);
    /* s = 1.2; s/sqrt(3) = 0.6928; t(68.27 %, 2) = 1.32 in JCGM 100 table G.2 */
    assert_true(fabs(standing_u_real(s.own_u, 3) - 0.6928 * 1.32) < 0.003);
    const struct decimal calm[] = {{51, 1}, {52, 1}, {53, 1}};
    in.repeat = calm;
    s = compute(&in);
    assert_false(s.scattered); /* s = 0.1 against 0.104 */
    assert_true(fabs(standing_u_real(s.own_u, 3) - 0.104 / sqrt(3.0)) < 2e-6);
}

static void calibration_is_applied_and_its_uncertainty_kept_apart(void **state)
{
    (void)state;
    /* by hand: value 0.2 + 1.06 * 50 = 53.2; line u^2 = 0.09 + 2500 * 0.0001 + 2 * 50 * -0.002
     * = 0.14, u 0.374166; own 1.06 * 0.5 = 0.53 */
    const struct decimal repeat[] = {{500, 1}};
    const struct calibration line = {.intercept = 0.2,
                                     .slope = 1.06,
                                     .u_intercept = 0.3,
                                     .u_slope = 0.01,
                                     .covariance = -0.002,
                                     .low = 20,
                                     .high = 80};
    struct standing_input in = {.repeat = repeat,
                                .repeat_count = 1,
                                .decimals = 1,
                                .tester = {.resolution = 1e-9, .repeatability = 0.5},
                                .calibration = &line};
    struct standing s = compute(&in);
    assert_int_equal(s.value, 532);
    assert_int_equal(s.own_u, 5300);
    assert_int_equal(s.calibration_u, 3742);
    assert_false(s.stretched);
    const struct decimal far[] = {{870, 1}};
    in.repeat = far;
    assert_true(compute(&in).stretched); /* beyond 80 + 6 */
}

static void correction_moves_the_value_and_adds_its_uncertainty(void **state)
{
    (void)state;
    const struct decimal repeat[] = {{600, 1}};
    struct standing s =
        compute(&(struct standing_input){.repeat = repeat,
                                         .repeat_count = 1,
                                         .decimals = 2,
                                         .tester = {.resolution = 1e-9, .repeatability = 0.3},
                                         .shift = -1.25,
                                         .shift_u = 0.4});
    assert_int_equal(s.value, 5875);
    assert_int_equal(s.own_u, 50000); /* 3-4-5 */
}

static void refuses_what_cannot_stand(void **state)
{
    (void)state;
    const struct decimal one[] = {{1, 0}};
    const struct decimal huge[] = {{999999999999999, -15}};
    const struct calibration flat = {.slope = 0.0};
    static struct standing untouched;
    memset(&untouched, 7, sizeof untouched);
    const struct {
        struct standing_input in;
        enum err_code code;
        const char *says;
    } row[] = {
        {{.repeat = one, .repeat_count = 0}, ERR_INVALID, "1 to 1000 readings"},
        {{.repeat = one, .repeat_count = 1, .tester = {.repeatability = -1}},
         ERR_INVALID,
         "must be 0 or more, but one is -1"},
        {{.repeat = one, .repeat_count = 1, .shift_u = NAN}, ERR_INVALID, "must be 0 or more"},
        {{.repeat = one, .repeat_count = 1, .shift = INFINITY}, ERR_INVALID, "not a number"},
        {{.repeat = one, .repeat_count = 1, .calibration = &flat},
         ERR_INVALID,
         "slope other than 0"},
        {{.repeat = huge, .repeat_count = 1}, ERR_TOO_LARGE, "too large"},
        {{.repeat = huge, .repeat_count = 1, .shift = 1}, ERR_TOO_LARGE, "too large"},
        {{.repeat = one, .repeat_count = 1, .shift_u = 1e18}, ERR_TOO_LARGE, "uncertainty"},
    };
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        struct standing s = untouched;
        struct err e = ERR_INIT;
        assert_false(standing_compute(&s, &row[i].in, &e));
        assert_int_equal(e.code, row[i].code);
        assert_non_null(strstr(e.text, row[i].says));
        assert_memory_equal(&s, &untouched, sizeof s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(mean_is_exact_and_rounded_once_half_to_even),
        cmocka_unit_test(repeatability_shrinks_with_the_root_of_n_and_resolution_does_not),
        cmocka_unit_test(last_digit_typed_counts_as_the_step_where_none_is_stated),
        cmocka_unit_test(voltages_of_jcgm_100_annex_h2_give_the_printed_mean_and_spread),
        cmocka_unit_test(repeats_that_spread_too_far_are_said_to_and_use_their_own_spread),
        cmocka_unit_test(calibration_is_applied_and_its_uncertainty_kept_apart),
        cmocka_unit_test(correction_moves_the_value_and_adds_its_uncertainty),
        cmocka_unit_test(refuses_what_cannot_stand),
    };
    return cmocka_run_group_tests_name("standing", tests, NULL, NULL);
}
