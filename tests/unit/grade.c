/* SPDX-License-Identifier: MIT
 *
 * The evaluator, rule by rule.  Expected answers follow from the rules of lib/grade/grade.h and
 * scheme.h by hand; probabilities come from the sources named beside them.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "grade/grade.h"

#define HEADER "grade,subject,op,value,words\n"
#define UNKNOWN                                                                       \
    .own_u = NONE, .calibration_u = NONE, .nominal = NONE, .low = NONE, .high = NONE, \
    .before = NONE, .before_u = NONE

static struct arena *arena;

static int set_up(void **state)
{
    (void)state;
    arena = arena_new();
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    arena_free(arena);
    return 0;
}

static struct scheme *scheme(const char *rows)
{
    size_t count;
    const struct quantity *q = quantity_builtin(&count);
    struct scheme *s = NULL;
    struct err e = ERR_INIT;
    const char *text = arena_printf(arena, HEADER "%s", rows);
    if (!scheme_parse(&s, arena, text, strlen(text), q, count, &e))
        fail_msg("line %lld, %s: %s", (long long)e.line, e.field, e.text);
    return s;
}

/* gm in uA/V (3 decimals of mA/V), nominal the same */
static struct grade_value gm(int section, int64_t value, int64_t nominal)
{
    struct grade_value v = {
        .quantity = "gm", .section = section, .tested = true, .decimals = 3, UNKNOWN};
    v.value = value;
    v.nominal = nominal;
    return v;
}

static struct grade_value ia(int64_t value, int64_t low, int64_t high, int64_t own_u)
{
    struct grade_value v = {.quantity = "ia", .section = 1, .tested = true, .decimals = 3, UNKNOWN};
    v.value = value;
    v.low = low;
    v.high = high;
    v.own_u = own_u;
    return v;
}

static struct grade_input tube(const struct grade_value *v, size_t count, int sections)
{
    return (struct grade_input){.sections = sections, .values = v, .value_count = count};
}

static struct grade_report report(const struct scheme *s, const struct grade_input *in)
{
    struct err e = ERR_INIT;
    if (!grade_check(s, in, &e))
        fail_msg("%s: %s", e.field, e.text);
    struct grade_report r = grade_explain(s, in, arena);
    struct grade_decision d = grade_decide(s, in);
    assert_int_equal(d.grade, r.decision.grade);
    assert_int_equal(d.borderline, r.decision.borderline);
    return r;
}

static const char *graded(const struct scheme *s, const struct grade_input *in)
{
    int g = report(s, in).decision.grade;
    return g == GRADE_NONE ? "-" : s->grade[g].code;
}

static const struct grade_reason *reason(const struct grade_report *r, int grade,
                                         const char *subject)
{
    for (size_t i = 0; i < r->reason_count; i++)
        if (r->reasons[i].grade == grade && strcmp(r->reasons[i].subject, subject) == 0)
            return &r->reasons[i];
    fail_msg("no reason on %s", subject);
    return NULL;
}

#define TWO_GRADES "top,,grade,,\ntop,gm,of-nominal,90..140,\nlow,,grade,,\n"

static void the_limit_itself_is_allowed_and_a_last_digit_below_is_not(void **state)
{
    (void)state;
    struct scheme *s = scheme(TWO_GRADES);
    /* 90 % of 1.601 is 1.4409: 1.441 holds, 1.440 (89.94 %) does not */
    static const struct {
        int64_t value, nominal;
        const char *grade;
    } cases[] = {{1440, 1600, "top"}, {1439, 1600, "low"}, {1441, 1601, "top"},
                 {1440, 1601, "low"}, {2240, 1600, "top"}, {2241, 1600, "-"},
                 {0, 1600, "low"},    {-100, 1600, "low"}};
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        struct grade_value v = gm(1, cases[i].value, cases[i].nominal);
        struct grade_input in = tube(&v, 1, 1);
        assert_string_equal(graded(s, &in), cases[i].grade);
    }
}

static void a_share_is_never_printed_rounded_up_to_what_was_missed(void **state)
{
    (void)state;
    struct scheme *s = scheme(TWO_GRADES);
    struct grade_value v = gm(1, 14399, 16000); /* 89.99375 % */
    struct grade_input in = tube(&v, 1, 1);
    struct grade_report r = report(s, &in);
    assert_string_equal(reason(&r, 0, "gm")->text,
                        "transconductance is 14.399 mA/V, 89.9 % of the nominal 16.000 mA/V; top "
                        "asks for 90 % of nominal or more");
    v = gm(1, 22401, 16000); /* 140.00625 % */
    r = report(s, &in);
    assert_int_equal(reason(&r, 0, "gm")->verdict, VERDICT_ALARM);
    assert_string_equal(reason(&r, 0, "gm")->text,
                        "transconductance is 22.401 mA/V, 140.1 % of the nominal 16.000 mA/V: "
                        "above the alarm of 140 %; check type, settings and tester before it is "
                        "graded");
}

static void probabilities_agree_with_published_ones(void **state)
{
    (void)state;
    /* suncal test_risk.py test_cpk: limits 9 to 11, u 0.4; scipy: 53.6 mA, u 1.2, limits 45 to 55
     */
    static const struct {
        int64_t value, low, high, u, ppm;
        enum verdict verdict;
        bool borderline;
    } cases[] = {{10000, 9000, 11000, 400, 987581, VERDICT_MET, false},
                 {10500, 9000, 11000, 400, 894262, VERDICT_MET, true},
                 {12000, 9000, 11000, 400, 6210, VERDICT_MISSED, false},
                 {53600, 45000, 55000, 1200, 878327, VERDICT_MET, true},
                 {55000, 45000, 55000, 1200, 500000, VERDICT_MET, true}};
    struct scheme *s = scheme("top,,grade,,\ntop,ia,limits,,\nlow,,grade,,\n");
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        struct grade_value v = ia(cases[i].value, cases[i].low, cases[i].high, cases[i].u * 1000);
        struct grade_input in = tube(&v, 1, 1);
        struct grade_report r = report(s, &in);
        const struct grade_reason *why = reason(&r, 0, "ia");
        assert_int_equal(why->ppm, cases[i].ppm);
        assert_int_equal(why->verdict, cases[i].verdict);
        assert_int_equal(why->borderline, cases[i].borderline);
        assert_int_equal(r.decision.borderline, cases[i].borderline);
    }
}

static void own_and_calibration_uncertainty_add_in_quadrature(void **state)
{
    (void)state;
    /* 0.3 and 0.4 make 0.5: z = 0.5 / 0.5 = 1, normal table 0.841345 */
    struct scheme *s = scheme("top,,grade,,\ntop,ia,limits,,\n");
    struct grade_value v = ia(10500, 10000, NONE, 300000);
    v.calibration_u = 400000;
    struct grade_input in = tube(&v, 1, 1);
    struct grade_report r = report(s, &in);
    assert_int_equal(reason(&r, 0, "ia")->ppm, 841345);
    assert_string_equal(reason(&r, 0, "ia")->text,
                        "plate current is 10.500 mA (u 0.5), the limits are at least 10.000 mA; "
                        "top asks for a value within the limits of the test point; borderline: met "
                        "with a probability of 84.1 %");
}

static void a_guard_band_asks_for_its_share_of_u_in_hand(void **state)
{
    (void)state;
    /* JCGM 106 8.3: acceptance limit = limit + r * U, U = 2 u.  limit 10.000, u 0.100 */
    static const struct {
        const char *guard;
        int64_t needed;
    } cases[] = {{"0", 10000}, {"0.5", 10100}, {"0.83", 10166}, {"1", 10200}, {"3", 10600}};
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        struct scheme *s = scheme(
            arena_printf(arena, "*,guard,set,%s,\ntop,,grade,,\ntop,ia,limits,,\nlow,,grade,,\n",
                         cases[i].guard));
        struct grade_value v = ia(cases[i].needed, 10000, NONE, 100000);
        struct grade_input in = tube(&v, 1, 1);
        assert_string_equal(graded(s, &in), "top");
        v.value--;
        assert_string_equal(graded(s, &in), "low");
    }
}

static void what_a_guard_band_refuses_says_so(void **state)
{
    (void)state;
    struct scheme *s = scheme("*,guard,set,0.83,\ntop,,grade,,\ntop,ia,limits,,\nlow,,grade,,\n");
    struct grade_value v = ia(10150, 10000, NONE, 100000);
    struct grade_input in = tube(&v, 1, 1);
    struct grade_report r = report(s, &in);
    assert_string_equal(reason(&r, 0, "ia")->text,
                        "plate current is 10.150 mA (u 0.1), the limits are at least 10.000 mA; "
                        "top asks for a value within the limits of the test point, with a guard "
                        "band of 0.83 U in hand; borderline: met with a probability of 93.3 %");
    v.own_u = NONE;
    r = report(s, &in);
    assert_int_equal(r.decision.grade, 0);
    assert_non_null(strstr(reason(&r, 0, "ia")->text,
                           "its uncertainty is not known, so no guard band was kept"));
}

static void the_last_grade_takes_only_what_is_proven_to_be_too_bad(void **state)
{
    (void)state;
    struct scheme *s = scheme("top,,grade,,\ntop,shorts,clear,,\ntop,gm,of-nominal,90,\n"
                              "mid,,grade,,\nmid,gm,of-nominal,50,\nlow,,grade,,\n");
    struct grade_value v = gm(1, 400, 1000);
    struct grade_input in = tube(&v, 1, 1);
    assert_string_equal(graded(s, &in), "low");
    v.tested = false;
    assert_string_equal(graded(s, &in), "-");
    v = gm(1, 950, 1000);
    assert_string_equal(graded(s, &in), "mid"); /* shorts not tested: not the top */
    in.tests[SCHEME_SHORTS] = TEST_CLEAR;
    assert_string_equal(graded(s, &in), "top");
    in.tests[SCHEME_SHORTS] = TEST_FOUND;
    assert_string_equal(graded(s, &in), "low");
    in.tests[SCHEME_SHORTS] = TEST_CLEAR;
    in.look.seen[FINDING_GETTER_WHITE] = true;
    assert_string_equal(graded(s, &in), "low");
}

static void without_a_last_grade_that_asks_for_nothing_the_bad_stay_ungraded(void **state)
{
    (void)state;
    struct scheme *s = scheme("top,,grade,,\ntop,gm,of-nominal,90,\n");
    struct grade_value v = gm(1, 400, 1000);
    struct grade_input in = tube(&v, 1, 1);
    struct grade_report r = report(s, &in);
    assert_int_equal(r.decision.grade, GRADE_NONE);
    assert_int_equal(r.reason_count, 1);
    assert_int_equal(reason(&r, 0, "gm")->verdict, VERDICT_MISSED);
}

static void the_first_alternative_that_was_tested_counts(void **state)
{
    (void)state;
    struct scheme *s = scheme("top,,grade,,\ntop,gm|emission,of-nominal,90,\nlow,,grade,,\n");
    struct grade_value v[2] = {gm(1, 0, 1000), gm(1, 500, 1000)};
    v[0].tested = false; /* the test point asks for gm, but only emission was taken */
    v[1].quantity = "emission";
    v[1].decimals = 2;
    struct grade_input in = tube(v, 2, 1);
    assert_string_equal(graded(s, &in), "low");
    v[0].tested = true;
    v[0].value = 950;
    assert_string_equal(graded(s, &in), "top"); /* emission now only stands beside it */
}

static void a_value_that_nothing_judges_clears_no_test(void **state)
{
    (void)state;
    struct grade_value v = {.quantity = "hk", .section = 1, .tested = true, .decimals = 3, UNKNOWN};
    v.value = 900000; /* 900 uA */
    struct grade_input in = tube(&v, 1, 1);
    struct scheme *s = scheme("top,,grade,,\ntop,leakage,clear,,\nlow,,grade,,\n");
    assert_string_equal(graded(s, &in), "-");
    s = scheme("top,,grade,,\ntop,leakage,clear,,\ntop,hk?,range,..10 uA,\nlow,,grade,,\n");
    assert_string_equal(graded(s, &in), "low");
    v.value = 2000;
    assert_string_equal(graded(s, &in), "top");
    s = scheme("top,,grade,,\ntop,leakage,clear,,\ntop,hk?,limits,,\nlow,,grade,,\n");
    assert_string_equal(graded(s, &in), "-"); /* the test point states no limits for it */
}

static void the_worse_section_decides_and_is_the_one_named(void **state)
{
    (void)state;
    struct scheme *s = scheme(TWO_GRADES);
    struct grade_value v[3] = {gm(1, 950, 1000), gm(2, 700, 1000), gm(3, 800, 1000)};
    struct grade_input in = tube(v, 3, 3);
    struct grade_report r = report(s, &in);
    assert_string_equal(s->grade[r.decision.grade].code, "low");
    assert_non_null(strstr(reason(&r, 0, "gm.2")->text, "transconductance of section 2 is 0.700"));
    /* less strength but a known, large uncertainty: the less likely to hold is the worse */
    v[1] = gm(2, 920, 1000);
    v[2] = gm(3, 930, 1000);
    v[1].own_u = 1000;   /* 0.001 */
    v[2].own_u = 100000; /* 0.1: z = 0.3 */
    r = report(s, &in);
    assert_int_equal(r.decision.grade, 0);
    assert_true(reason(&r, 0, "gm.3")->borderline);
}

static void balance_counts_what_the_sections_differ_by_exactly(void **state)
{
    (void)state;
    struct scheme *s = scheme("top,,grade,,\ntop,gm,balance,10,\nlow,,grade,,\n");
    struct grade_value v[2] = {gm(1, 1100, NONE), gm(2, 1000, NONE)};
    struct grade_input in = tube(v, 2, 2);
    assert_string_equal(graded(s, &in), "top");
    v[0].value = 1101;
    assert_string_equal(graded(s, &in), "low");
    v[0].value = v[1].value = 0; /* equal always holds */
    assert_string_equal(graded(s, &in), "top");
    v[0].value = 5;
    assert_string_equal(graded(s, &in), "low");
    v[1].tested = false;
    assert_string_equal(graded(s, &in), "-");
    struct grade_input one = tube(v, 1, 1); /* a single section: does not apply */
    assert_string_equal(graded(s, &one), "top");
}

static void drift_over_the_burn_in_is_judged_by_the_hour(void **state)
{
    (void)state;
    struct scheme *s = scheme("top,,grade,,\ntop,gm,drift,0.05,\ntop,burn-in,hours,24,\n"
                              "low,,grade,,\n");
    /* 0.05 % an hour over 24 h is 1.2 %: of 1.000, 0.012 */
    struct grade_value v = gm(1, 988, NONE);
    v.before = 1000;
    struct grade_input in = tube(&v, 1, 1);
    assert_string_equal(graded(s, &in), "-"); /* not burned in at all */
    in.burn_in_min = 24 * 60;
    assert_string_equal(graded(s, &in), "top");
    v.value = 987;
    assert_string_equal(graded(s, &in), "low");
    v.value = 1012; /* upward counts the same */
    assert_string_equal(graded(s, &in), "top");
    v.value = 1013;
    assert_string_equal(graded(s, &in), "low");
    v.value = 1000;
    in.burn_in_min = 24 * 60 - 1;
    assert_string_equal(graded(s, &in), "low");
    in.burn_in_min = 24 * 60;
    v.before = NONE;
    assert_string_equal(graded(s, &in), "-");
    /* the change is 0.002 from its limit, u of a difference of two 0.001 is 0.001414: z = 1.414,
     * normal table 0.9213, the far limit adds nothing */
    v = gm(1, 990, NONE);
    v.before = 1000;
    v.own_u = v.before_u = 1000;
    struct grade_report r = report(s, &in);
    assert_in_range(reason(&r, 0, "gm")->ppm, 921200, 921400);
}

static void features_that_differ_keep_it_from_the_best_grade_only(void **state)
{
    (void)state;
    struct scheme *s = scheme("top,,grade,,\ntop,gm,of-nominal,90,\nmid,,grade,,\n"
                              "mid,gm,of-nominal,50,\nlow,,grade,,\n");
    struct grade_value v = gm(1, 1000, 1000);
    struct grade_input in = tube(&v, 1, 1);
    in.mismatch = true;
    struct grade_report r = report(s, &in);
    assert_string_equal(s->grade[r.decision.grade].code, "mid");
    assert_int_equal(reason(&r, 0, "features")->requirement, -1);
}

static void what_cannot_be_is_refused_before_it_is_graded(void **state)
{
    (void)state;
    struct scheme *s = scheme(TWO_GRADES);
    struct grade_value v[2] = {gm(1, 1000, 1000), gm(1, 1000, 1000)};
    struct grade_input in = tube(v, 2, 2);
    struct err e = ERR_INIT;
    assert_false(grade_check(s, &in, &e));
    assert_string_equal(e.text, "gm of section 1 stands twice");
    v[1].section = 3;
    assert_false(grade_check(s, &in, &e));
    assert_string_equal(e.text, "gm is told of section 3, but the tube has 2 sections");
    v[1].section = 0;
    assert_false(grade_check(s, &in, &e));
    assert_string_equal(e.text, "gm is told section by section, not for the whole tube");
    v[1].section = 2;
    v[1].decimals = 2;
    assert_false(grade_check(s, &in, &e));
    assert_string_equal(e.text, "gm has 3 decimals, not 2");
    v[1] = gm(2, SCHEME_VALUE_MOST + 1, 1000);
    assert_false(grade_check(s, &in, &e));
    assert_int_equal(e.code, ERR_TOO_LARGE);
    v[1] = gm(2, NONE, 1000);
    assert_false(grade_check(s, &in, &e));
    assert_string_equal(e.text, "gm is said to be tested but has no value");
    v[1] = gm(2, 1000, 1000);
    v[1].low = 5;
    v[1].high = 4;
    assert_false(grade_check(s, &in, &e));
    assert_string_equal(e.text, "the lower limit of gm is above its upper limit");
    v[1] = gm(2, 1000, 1000);
    v[1].own_u = -1;
    assert_false(grade_check(s, &in, &e));
    assert_string_equal(e.text, "an uncertainty of gm is below zero");
    v[1].own_u = 0;
    in.sections = 17;
    assert_false(grade_check(s, &in, &e));
    in.sections = 2;
    in.burn_in_min = -1;
    assert_false(grade_check(s, &in, &e));
    in.burn_in_min = 0;
    in.look.seen[FINDING_PINS_BRIGHT] = in.look.seen[FINDING_PINS_DULL] = true;
    assert_false(grade_check(s, &in, &e));
    assert_string_equal(e.field, "pins");
    in.look.seen[FINDING_PINS_DULL] = false;
    assert_true(grade_check(s, &in, &e));
}

static void numbers_at_the_edge_of_what_is_taken_do_not_overflow(void **state)
{
    (void)state;
    static const int64_t edge[] = {-SCHEME_VALUE_MOST, -1, 0, 1, SCHEME_VALUE_MOST};
    struct scheme *s = scheme("*,guard,set,3,\ntop,,grade,,\ntop,gm,of-nominal,1000,\n"
                              "top,gm,near-nominal,1000,\ntop,gm,limits,,\ntop,gm,balance,1000,\n"
                              "top,gm,range,1..2 mA/V,\ntop,gm,drift,100,\nlow,,grade,,\n");
    for (size_t i = 0; i < 625; i++) {
        struct grade_value v[2] = {gm(1, edge[i % 5], edge[i / 5 % 5]), gm(2, edge[i / 25 % 5], 1)};
        v[0].low = -SCHEME_VALUE_MOST;
        v[0].high = SCHEME_VALUE_MOST;
        v[0].before = v[1].before = edge[i / 125];
        v[0].own_u = v[1].own_u = v[0].before_u = v[1].before_u = SCHEME_VALUE_MOST * 1000;
        v[0].calibration_u = SCHEME_VALUE_MOST * 1000;
        struct grade_input in = tube(v, 2, 2);
        in.burn_in_min = 600000;
        struct grade_report r = report(s, &in);
        assert_true(r.reason_count > 0);
    }
}

/* A linear congruence with a fixed start (Knuth, TAOCP vol. 2, 3.3.4, from memory): reproducible.
 */
static uint64_t dice_state = 20240;

static int64_t dice(int64_t sides)
{
    dice_state = dice_state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (int64_t)((dice_state >> 33) % (uint64_t)sides);
}

static int rank(const struct scheme *s, const struct grade_input *in)
{
    int g = grade_decide(s, in).grade;
    return g == GRADE_NONE ? s->grade_count : g;
}

static void a_stronger_tube_is_never_graded_lower_and_a_test_left_out_never_raises(void **state)
{
    (void)state;
    struct scheme *s =
        scheme("top,,grade,,\ntop,shorts,clear,,\ntop,gas,clear,,\ntop,gm,of-nominal,90,\n"
               "top,pins,not-in,bent,\nmid,,grade,,\nmid,shorts,clear,,\nmid,gas?,clear,,\n"
               "mid,gm,of-nominal,65,\nlow,,grade,,\n");
    for (int i = 0; i < 20000; i++) {
        struct grade_value v[2] = {gm(1, dice(1300), 1000), gm(2, dice(1300), 1000)};
        struct grade_input in = tube(v, 2, 2);
        for (int t = 0; t < SCHEME_TEST__COUNT; t++)
            in.tests[t] = dice(4) ? TEST_CLEAR : TEST_FOUND;
        in.look.seen[dice(2) ? FINDING_PINS_DULL : FINDING_PINS_BENT] = true;
        int before = rank(s, &in);
        v[dice(2)].value += dice(300);
        int after = rank(s, &in);
        assert_true(after <= before);
        if (in.tests[SCHEME_GAS] == TEST_CLEAR) { /* a finding left out would be another matter */
            in.tests[SCHEME_GAS] = TEST_NOT_DONE;
            assert_true(rank(s, &in) >= after);
        }
        v[1].tested = false;
        assert_int_not_equal(rank(s, &in), 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_limit_itself_is_allowed_and_a_last_digit_below_is_not),
        cmocka_unit_test(a_share_is_never_printed_rounded_up_to_what_was_missed),
        cmocka_unit_test(probabilities_agree_with_published_ones),
        cmocka_unit_test(own_and_calibration_uncertainty_add_in_quadrature),
        cmocka_unit_test(a_guard_band_asks_for_its_share_of_u_in_hand),
        cmocka_unit_test(what_a_guard_band_refuses_says_so),
        cmocka_unit_test(the_last_grade_takes_only_what_is_proven_to_be_too_bad),
        cmocka_unit_test(without_a_last_grade_that_asks_for_nothing_the_bad_stay_ungraded),
        cmocka_unit_test(the_first_alternative_that_was_tested_counts),
        cmocka_unit_test(a_value_that_nothing_judges_clears_no_test),
        cmocka_unit_test(the_worse_section_decides_and_is_the_one_named),
        cmocka_unit_test(balance_counts_what_the_sections_differ_by_exactly),
        cmocka_unit_test(drift_over_the_burn_in_is_judged_by_the_hour),
        cmocka_unit_test(features_that_differ_keep_it_from_the_best_grade_only),
        cmocka_unit_test(what_cannot_be_is_refused_before_it_is_graded),
        cmocka_unit_test(numbers_at_the_edge_of_what_is_taken_do_not_overflow),
        cmocka_unit_test(a_stronger_tube_is_never_graded_lower_and_a_test_left_out_never_raises),
    };
    return cmocka_run_group_tests_name("grade", tests, set_up, tear_down);
}
