/* SPDX-License-Identifier: MIT
 *
 * Cases as a bench hand meets them.  Nominal values: RCA Receiving Tube Manual RC-30 data for
 * 12AX7 (250 V, -2 V: 1.2 mA, 1.6 mA/V, 62.5 kohm, mu 100) and 6SN7 (250 V, -8 V: 9 mA, 2.6 mA/V,
 * 7.7 kohm, mu 20); what must be asked follows the rules' own words, there is no published table.
 */
#include "measure/plausible.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <string.h>

static struct arena *arena;

static int arena_make(void **state)
{
    (void)state;
    arena = arena_new();
    return 0;
}

static int arena_drop(void **state)
{
    (void)state;
    arena_free(arena);
    return 0;
}

/* An entry as typed, with nothing known beside it. */
static struct plausible_entry entry(const char *code, int section, const char *typed)
{
    static const char *const name[] = {"", "1", "2"};
    struct plausible_entry e = {.quantity = quantity_find(code),
                                .section = section,
                                .section_name = name[section + 1],
                                .nominal = NONE,
                                .low = NONE,
                                .high = NONE,
                                .previous = NONE,
                                .earlier = NONE};
    struct err err = ERR_INIT;
    if (!quantity_value_parse(&e.value, e.quantity, typed, strlen(typed), NULL, &err))
        fail_msg("%s", err.text);
    return e;
}

static struct plausible_entry nominal(struct plausible_entry e, int64_t v)
{
    e.nominal = v;
    return e;
}

static struct plausible_questions check(const struct plausible_entry *e, size_t count)
{
    return plausible_check(
        &(struct plausible_case){
            .entry = e, .count = count, .heated_s = NONE, .heat_needed_s = NONE},
        arena);
}

/* The questions as one string of codes, "unit-slip,limits". */
static const char *codes(const struct plausible_questions *q)
{
    const char *all = "";
    for (size_t i = 0; i < q->count; i++)
        all = arena_printf(arena, "%s%s%s", all, i > 0 ? "," : "", q->item[i].rule);
    return all;
}

static void assert_asks(const struct plausible_questions *q, const char *expected)
{
    if (strcmp(codes(q), expected) != 0)
        fail_msg("asked \"%s\" where \"%s\" was expected%s%s", codes(q), expected,
                 q->count > 0 ? ": " : "", q->count > 0 ? q->item[0].sentence : "");
}

static void good_tube_is_asked_nothing(void **state)
{
    (void)state;
    struct plausible_entry e[] = {
        nominal(entry("ia", 0, "1.15"), 1200),    nominal(entry("gm", 0, "1.65"), 1600),
        nominal(entry("rp", 0, "61"), 62500),     nominal(entry("mu", 0, "100"), 10000),
        nominal(entry("ia", 1, "1.02"), 1200),    nominal(entry("gm", 1, "1.50"), 1600),
        nominal(entry("heater", -1, "298"), 3000)};
    for (size_t i = 0; i < ARRAY_LEN(e); i++) {
        e[i].low = e[i].nominal * 6 / 10;
        e[i].high = e[i].nominal * 14 / 10;
    }
    struct plausible_questions q = check(e, ARRAY_LEN(e));
    assert_asks(&q, "");
}

static void worn_tube_is_asked_nothing(void **state)
{
    (void)state;
    /* 55 % of nominal is a grade, not a slip */
    struct plausible_entry e = nominal(entry("gm", 0, "1.43"), 2600);
    e.low = 1820;
    e.high = 3380;
    struct plausible_questions q = check(&e, 1);
    assert_asks(&q, "");
}

static void micromho_typed_as_ma_per_v_is_asked_with_what_was_meant(void **state)
{
    (void)state;
    struct plausible_entry e = nominal(entry("gm", 0, "5200"), 5500);
    struct plausible_questions q = check(&e, 1);
    assert_asks(&q, "unit-slip");
    assert_int_equal(q.item[0].suggest, 5200);
    assert_int_equal(q.item[0].severity, PLAUSIBLE_ASK);
    assert_int_equal(q.item[0].section, 0);
    assert_string_equal(
        q.item[0].sentence,
        "transconductance of section 1: 5200.000 mA/V is far from the nominal 5.500 "
        "mA/V, but a thousandth, 5.200 mA/V, would fit: was it read in another unit?");
}

static void unit_slips_are_found_in_both_directions_and_without_a_type(void **state)
{
    (void)state;
    static const struct {
        const char *code, *typed;
        int64_t nominal, suggest;
    } row[] = {
        {"gm", "5200", NONE, 5200},     /* nothing known: the usual span of all tubes */
        {"gm", "0.0052", 5500, 5200},   /* typed as mA/V what was A/V */
        {"ia", "0.0105", 10500, 10500}, /* amperes typed as milliamperes: exact before rounding */
        {"ia", "10500", 10500, 10500},  /* microamperes */
        {"rp", "62500", 62500, 62500},  /* ohms typed as kilohms */
        {"heater", "0.3", 3000, 3000},  /* amperes */
    };
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        bool tube = strcmp(row[i].code, "heater") == 0;
        struct plausible_entry e =
            nominal(entry(row[i].code, tube ? -1 : 0, row[i].typed), row[i].nominal);
        struct plausible_questions q = check(&e, 1);
        assert_asks(&q, "unit-slip");
        assert_int_equal(q.item[0].suggest, row[i].suggest);
    }
}

static void missed_decimal_point_is_asked_upwards_only(void **state)
{
    (void)state;
    struct plausible_entry e = nominal(entry("gm", 0, "52"), 5500);
    struct plausible_questions q = check(&e, 1);
    assert_asks(&q, "point-slip");
    assert_int_equal(q.item[0].suggest, 5200);
    e = nominal(entry("gm", 0, "0.52"), 5500); /* a tenth: worn out */
    q = check(&e, 1);
    assert_asks(&q, "");
}

static void data_sheets_agree_with_themselves(void **state)
{
    (void)state;
    /* gm (mA/V), rp (kohm), mu of published operating points: RCA Receiving Tube Manual RC-30,
     * Western Electric, Philips, General Electric sheets (partly found, partly from memory) */
    static const struct {
        const char *type, *gm, *rp, *mu;
    } row[] = {
        {"12AX7", "1.6", "62.5", "100"}, {"12AX7", "1.25", "80", "100"},
        {"12AU7", "2.2", "7.7", "17"},   {"12AU7", "3.1", "6.25", "19.5"},
        {"12AT7", "5.5", "10.9", "60"},  {"6SN7GTB", "2.6", "7.7", "20"},
        {"6SN7GTB", "3.0", "6.7", "20"}, {"6DJ8/ECC88", "12.5", "2.64", "33"},
        {"300B", "5.5", "0.7", "3.85"},  {"2A3", "5.25", "0.8", "4.2"},
    };
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        struct plausible_entry e[] = {entry("gm", 0, row[i].gm), entry("rp", 0, row[i].rp),
                                      entry("mu", 0, row[i].mu)};
        double gm = quantity_value_real(e[0].quantity, e[0].value.scaled);
        double rp = quantity_value_real(e[1].quantity, e[1].value.scaled);
        double mu = quantity_value_real(e[2].quantity, e[2].value.scaled);
        if (gm * rp / mu < 0.99 || gm * rp / mu > 1.01)
            fail_msg("%s: %g against %g", row[i].type, gm * rp, mu);
        struct plausible_questions q = check(e, 3);
        assert_asks(&q, "");
    }
}

static void mu_is_held_against_gm_times_rp(void **state)
{
    (void)state;
    struct plausible_entry e[] = {entry("gm", 0, "2.6"), entry("rp", 0, "7.7"),
                                  entry("mu", 0, "20")};
    struct plausible_questions q = check(e, 3);
    assert_asks(&q, "");           /* 20.02 */
    e[2] = entry("mu", 0, "17.1"); /* 14.6 % below: gm and rp repeat within 3 to 5 % each */
    q = check(e, 3);
    assert_asks(&q, "");
    e[2] = entry("mu", 0, "23.5"); /* 14.8 % above */
    q = check(e, 3);
    assert_asks(&q, "");
    e[2] = entry("mu", 0, "24"); /* 16.6 % above */
    q = check(e, 3);
    assert_asks(&q, "mu-gm-rp");
}

static void mu_is_asked_about_with_all_three_numbers(void **state)
{
    (void)state;
    struct plausible_entry e[] = {entry("mu", 0, "14"), entry("gm", 0, "2.6"),
                                  entry("rp", 0, "7.7"), entry("mu", 1, "14"),
                                  entry("gm", 1, "2.6")};
    struct plausible_questions q =
        check(e, 5); /* section 2 has no rp: nothing to hold it against */
    assert_asks(&q, "mu-gm-rp");
    assert_string_equal(q.item[0].sentence,
                        "amplification factor of section 1: 14.00 was read, but 2.600 mA/V times "
                        "7.700 kohm makes 20: which of the three is off?");
}

static void outlier_of_family_and_lot_is_asked(void **state)
{
    (void)state;
    struct plausible_entry e = entry("ia", 0, "14");
    e.family = (struct robust){.median = 9000, .mad = 600, .count = 40};
    e.lot = (struct robust){.median = 9500, .mad = 700, .count = 8};
    struct plausible_questions q = check(&e, 1);
    assert_asks(&q, "family-outlier"); /* 5.6 and 4.3 robust sigmas */
    assert_non_null(strstr(q.item[0].sentence, "14.000 mA is far from the other 40 of the family, "
                                               "which lie around 9.000 mA (6 times their spread)"));
    e.lot.mad = 300;
    q = check(&e, 1);
    assert_asks(&q, "family-outlier,lot-outlier");
    e.family.count = e.lot.count = 7; /* too few to know */
    q = check(&e, 1);
    assert_asks(&q, "");
}

static void family_without_spread_is_not_pedantic(void **state)
{
    (void)state;
    struct plausible_entry e = entry("ia", 0, "9.3");
    e.family = (struct robust){.median = 9000, .mad = 0, .count = 10};
    struct plausible_questions q = check(&e, 1); /* 3.3 % off: within 5 times 1 % */
    assert_asks(&q, "");
    e = entry("ia", 0, "0.002");
    e.family = (struct robust){.median = 1, .mad = 0, .count = 10};
    q = check(&e, 1); /* one step of the scale */
    assert_asks(&q, "");
}

static void value_far_outside_the_limits_is_asked(void **state)
{
    (void)state;
    struct plausible_entry e = entry("ia", 0, "17");
    e.low = 6000;
    e.high = 12000;
    struct plausible_questions q = check(&e, 1);
    assert_asks(&q, "limits"); /* beyond 12 + 3 */
    assert_string_equal(q.item[0].sentence, "plate current of section 1: 17.000 mA is far outside "
                                            "the test point's limits 6.000 mA to 12.000 mA");
    e = entry("ia", 0, "14");
    e.low = 6000;
    e.high = 12000;
    q = check(&e, 1);
    assert_asks(&q, "");
}

static void same_values_as_the_tube_before_are_asked(void **state)
{
    (void)state;
    struct plausible_entry e[] = {entry("gm", 0, "5.2"), entry("ia", 0, "48.5")};
    e[0].previous = 5200;
    e[1].previous = 48500;
    struct plausible_questions q = check(e, 2);
    assert_asks(&q, "same-as-before");
    assert_string_equal(q.item[0].sentence,
                        "transconductance of section 1 5.200 mA/V, exactly as on the tube before, "
                        "and so are all the other values: was the tube changed?");
    e[1].previous = 48400;
    q = check(e, 2);
    assert_asks(&q, "");
    q = check(e, 1); /* one value of two figures: chance */
    assert_asks(&q, "");
    struct plausible_entry fine = entry("gm", 0, "5.23");
    fine.previous = 5230;
    q = check(&fine, 1);
    assert_asks(&q, "same-as-before");
}

static void dead_section_is_asked_once_for_each_quantity(void **state)
{
    (void)state;
    struct plausible_entry e[] = {entry("gm", 0, "2.6"), entry("gm", 1, "0.1"),
                                  entry("hk", 0, "0.1"), entry("hk", 1, "4")};
    struct plausible_questions q = check(e, 4); /* leakage may differ as it likes */
    assert_asks(&q, "dead-section");
    assert_int_equal(q.item[0].section, 1);
    assert_string_equal(q.item[0].sentence, "transconductance: section 2 shows 0.100 mA/V where "
                                            "section 1 shows 2.600 mA/V: is it dead, or was the "
                                            "switch not turned?");
    e[1] = entry("gm", 1, "1.2");
    q = check(e, 4);
    assert_asks(&q, "");
}

static void sections_the_other_way_round_are_asked(void **state)
{
    (void)state;
    struct plausible_entry e[] = {entry("gm", 0, "2.6"), entry("gm", 1, "1.9")};
    e[0].earlier = 1880;
    e[1].earlier = 2640;
    struct plausible_questions q = check(e, 2);
    assert_asks(&q, "swapped-sections");
    e[0].earlier = 2500; /* alike before: nothing to tell them apart */
    e[1].earlier = 2640;
    q = check(e, 2);
    assert_asks(&q, "");
}

static void heater_that_was_off_is_asked(void **state)
{
    (void)state;
    struct plausible_entry cold[] = {nominal(entry("heater", -1, "12"), 3000), entry("ia", 0, "0")};
    struct plausible_questions q = check(cold, 2);
    assert_asks(&q, "heater-off");
    assert_string_equal(q.item[0].sentence, "heater current: 12.0 mA where 300.0 mA is nominal: is "
                                            "the heater open, or was it off?");
    struct plausible_entry unread[] = {entry("heater", -1, "0"), entry("ia", 0, "9")};
    q = check(unread, 2);
    assert_asks(&q, "heater-off");
    assert_non_null(strstr(q.item[0].sentence, "the heater draws nothing, yet plate current"));
    struct plausible_entry dead[] = {nominal(entry("ia", 0, "0"), 9000),
                                     nominal(entry("gm", 0, "0.01"), 2600)};
    q = check(dead, 2);
    assert_asks(&q, "heater-off");
    assert_non_null(strstr(q.item[0].sentence, "nothing conducts"));
    q = plausible_check(
        &(struct plausible_case){
            .entry = dead, .count = 2, .heated_s = 0, .heat_needed_s = NONE, .cold_cathode = true},
        arena);
    assert_asks(&q, "");
}

static void short_warm_up_is_asked_with_both_times(void **state)
{
    (void)state;
    struct plausible_entry e = entry("gm", 0, "2.6");
    struct plausible_case c = {.entry = &e, .count = 1, .heated_s = 12, .heat_needed_s = 120};
    struct plausible_questions q = plausible_check(&c, arena);
    assert_asks(&q, "warm-up");
    assert_string_equal(q.item[0].sentence, "read after 12 s on heat, but this test point asks for "
                                            "120 s: read again when it is warm?");
    c.heat_needed_s = NONE;
    c.heated_s = PLAUSIBLE_HEAT_S;
    q = plausible_check(&c, arena);
    assert_asks(&q, "");
    struct plausible_entry leak = entry("leak", -1, "500"); /* comes before the heat */
    c.entry = &leak;
    c.heated_s = 0;
    q = plausible_check(&c, arena);
    assert_asks(&q, "");
}

static void readings_after_a_short_are_asked(void **state)
{
    (void)state;
    struct plausible_entry e[] = {entry("leak", -1, "0.01"), entry("gm", 0, "2.6")};
    struct plausible_case c = {
        .entry = e, .count = 2, .heated_s = NONE, .heat_needed_s = NONE, .shorted = true};
    struct plausible_questions q = plausible_check(&c, arena);
    assert_asks(&q, "after-short");
    c.count = 1;
    q = plausible_check(&c, arena);
    assert_asks(&q, "");
}

static void only_the_impossible_is_refused(void **state)
{
    (void)state;
    struct plausible_entry e = nominal(entry("gm", 0, "5.2"), 5500);
    e.value.scaled = -5200; /* as a script might hand it over, past the parser */
    struct plausible_questions q = check(&e, 1);
    assert_asks(&q, "impossible");
    assert_int_equal(q.item[0].severity, PLAUSIBLE_REFUSE);
    assert_non_null(
        strstr(q.item[0].sentence, "-5.200 mA/V cannot be; it lies between 0.000 mA/V"));
}

static void ordinals_and_empty_sittings_are_asked_nothing(void **state)
{
    (void)state;
    struct plausible_entry e = entry("noise-ear", 0, "loud");
    e.previous = 3;
    e.family = (struct robust){.median = 0, .mad = 0, .count = 50};
    struct plausible_questions q = check(&e, 1);
    assert_asks(&q, "");
    q = check(NULL, 0);
    assert_asks(&q, "");
}

static void every_rule_is_listed_once(void **state)
{
    (void)state;
    size_t count;
    const struct plausible_rule *r = plausible_rules(&count);
    assert_int_equal(count, 13);
    for (size_t i = 0; i < count; i++) {
        assert_true(r[i].says[0] != '\0');
        for (size_t j = 0; j < i; j++)
            assert_string_not_equal(r[i].code, r[j].code);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(good_tube_is_asked_nothing),
        cmocka_unit_test(worn_tube_is_asked_nothing),
        cmocka_unit_test(micromho_typed_as_ma_per_v_is_asked_with_what_was_meant),
        cmocka_unit_test(unit_slips_are_found_in_both_directions_and_without_a_type),
        cmocka_unit_test(missed_decimal_point_is_asked_upwards_only),
        cmocka_unit_test(data_sheets_agree_with_themselves),
        cmocka_unit_test(mu_is_held_against_gm_times_rp),
        cmocka_unit_test(mu_is_asked_about_with_all_three_numbers),
        cmocka_unit_test(outlier_of_family_and_lot_is_asked),
        cmocka_unit_test(family_without_spread_is_not_pedantic),
        cmocka_unit_test(value_far_outside_the_limits_is_asked),
        cmocka_unit_test(same_values_as_the_tube_before_are_asked),
        cmocka_unit_test(dead_section_is_asked_once_for_each_quantity),
        cmocka_unit_test(sections_the_other_way_round_are_asked),
        cmocka_unit_test(heater_that_was_off_is_asked),
        cmocka_unit_test(short_warm_up_is_asked_with_both_times),
        cmocka_unit_test(readings_after_a_short_are_asked),
        cmocka_unit_test(only_the_impossible_is_refused),
        cmocka_unit_test(ordinals_and_empty_sittings_are_asked_nothing),
        cmocka_unit_test(every_rule_is_listed_once),
    };
    return cmocka_run_group_tests_name("plausible", tests, arena_make, arena_drop);
}
