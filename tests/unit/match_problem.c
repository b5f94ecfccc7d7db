/* SPDX-License-Identifier: MIT */
#include "match/judge.h"
#include "match/problem.h"

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include <string.h>

static const struct match_band five_percent = {MATCH_RELATIVE, 1, 20};

/* Worked by hand from the definition max - min <= b * min. */
static void a_relative_band_is_exact_at_its_limit(void **state)
{
    (void)state;
    assert_true(match_band_holds(&five_percent, 2000, 2100));  /* 20.00 with 21.00 */
    assert_false(match_band_holds(&five_percent, 2000, 2101)); /* 20.00 with 21.01 */
    assert_int_equal(match_band_limit(&five_percent, 2000), 2100);
    assert_int_equal(match_band_limit(&five_percent, 2019), 2119); /* 2119.95 */
    assert_int_equal(match_band_cost(&five_percent, 2000, 2100), MATCH_COST_UNIT);
    assert_int_equal(match_band_cost(&five_percent, 2000, 2050), MATCH_COST_UNIT / 2);
    assert_int_equal(match_band_cost(&five_percent, 3, 4), 6666666667); /* 10^9 * 20 / 3 */
}

static void equal_values_hold_under_any_band(void **state)
{
    (void)state;
    const struct match_band none = {MATCH_ABSOLUTE, 0, 1};
    const struct match_band nought = {MATCH_RELATIVE, 0, 1};
    assert_true(match_band_holds(&none, 0, 0));
    assert_true(match_band_holds(&none, -7, -7));
    assert_true(match_band_holds(&nought, 5, 5));
    assert_false(match_band_holds(&none, 0, 1));
    assert_false(match_band_holds(&nought, 5, 6));
    assert_int_equal(match_band_cost(&none, 0, 0), 0);
}

static void an_absolute_band_takes_zero_and_negative_values(void **state)
{
    (void)state;
    const struct match_band three = {MATCH_ABSOLUTE, 3, 1};
    assert_true(match_band_holds(&three, -2, 1));
    assert_false(match_band_holds(&three, -2, 2));
    assert_int_equal(match_band_cost(&three, -2, -1), 333333333);
    assert_int_equal(match_band_cost(&three, -2, 0), 666666667);
}

static void the_largest_values_do_not_overflow(void **state)
{
    (void)state;
    const struct match_band wide = {MATCH_ABSOLUTE, MATCH_VALUE, 1};
    const struct match_band fine = {MATCH_RELATIVE, 1, MATCH_BAND_PART};
    assert_true(match_band_holds(&wide, -MATCH_VALUE / 2, MATCH_VALUE / 2));
    assert_false(match_band_holds(&wide, -MATCH_VALUE, MATCH_VALUE));
    assert_int_equal(match_band_cost(&wide, -MATCH_VALUE, MATCH_VALUE), 2 * MATCH_COST_UNIT);
    assert_true(match_band_holds(&fine, MATCH_VALUE - MATCH_BAND_PART, MATCH_VALUE - 1));
    assert_int_equal(match_band_limit(&fine, MATCH_VALUE),
                     MATCH_VALUE + MATCH_VALUE / MATCH_BAND_PART);
    assert_int_equal(match_band_cost(&fine, 1, MATCH_VALUE), MATCH_COST_WORST);
}

/* ---- what is refused ------------------------------------------------------------------------- */

static struct match_problem three_tubes(void)
{
    static const char *const id[] = {"7", "12", "9"};
    static const int32_t class_of[] = {0, 0, 0};
    static const int64_t value[] = {2000, 2100, 2050};
    static const char *const column[] = {"ia"};
    static const struct match_line pairs = {2, MATCH_ANY};
    static const int64_t row[] = {2, 3, 4};
    static const int decimals[] = {2};
    return (struct match_problem){.tubes = 3,
                                  .coordinates = 1,
                                  .lines = 1,
                                  .id = id,
                                  .class_of = class_of,
                                  .value = value,
                                  .band = &five_percent,
                                  .demand = &pairs,
                                  .column = column,
                                  .decimals = decimals,
                                  .row = row};
}

static void tubes_are_sorted_by_id(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct match_problem p = three_tubes();
    struct err e = ERR_INIT;
    assert_false(match_problem_check(&p, &e));
    assert_string_equal(e.text, "tubes are not in ascending order of id: \"12\" after \"7\"");
    assert_true(match_problem_sort(&p, a, &e));
    assert_true(match_problem_check(&p, &e));
    assert_string_equal(p.id[0], "12");
    assert_int_equal(p.value[0], 2100);
    assert_int_equal(p.row[0], 3);
    arena_free(a);
}

static void an_id_that_stands_twice_is_refused_with_both_rows(void **state)
{
    (void)state;
    static const char *const twice[] = {"7", "9", "7"};
    struct arena *a = arena_new();
    struct match_problem p = three_tubes();
    struct err e = ERR_INIT;
    p.id = twice;
    assert_false(match_problem_sort(&p, a, &e));
    assert_int_equal(e.code, ERR_CONFLICT);
    assert_int_equal(e.line, 4);
    assert_string_equal(e.text, "id \"7\" stands twice, in lines 2 and 4: each tube once");
    arena_free(a);
}

static void a_relative_band_on_nothing_is_refused_with_row_and_column(void **state)
{
    (void)state;
    static const int64_t value[] = {2000, 0, 2050};
    static const char *const id[] = {"1", "2", "3"};
    struct match_problem p = three_tubes();
    struct err e = ERR_INIT;
    p.value = value;
    p.id = id;
    assert_false(match_problem_check(&p, &e));
    assert_string_equal(e.field, "ia");
    assert_int_equal(e.line, 3);
    assert_string_equal(
        e.text, "line 3, column ia, tube 2: the value is 0.00, and a band in per cent needs "
                "values above zero; give this column an absolute band");
}

static void bands_and_demands_out_of_range_are_refused(void **state)
{
    (void)state;
    static const struct match_band bad_band[] = {
        {MATCH_RELATIVE, -1, 20},
        {MATCH_RELATIVE, 1, 0},
        {MATCH_RELATIVE, 11, 1},
        {MATCH_ABSOLUTE, -1, 1},
        {MATCH_ABSOLUTE, MATCH_VALUE + 1, 1},
    };
    static const struct match_line bad_line[] = {{1, 3}, {MATCH_SIZE + 1, 3}, {2, -2}};
    struct match_problem p = three_tubes();
    struct err e = ERR_INIT;
    for (size_t i = 0; i < ARRAY_LEN(bad_band); i++)
        assert_false(match_band_check(&bad_band[i], "ia", &e));
    for (size_t i = 0; i < ARRAY_LEN(bad_line); i++) {
        p.demand = &bad_line[i];
        assert_false(match_problem_check(&p, &e));
        assert_string_equal(e.field, "demand");
    }
    static const struct match_line twice[] = {{2, 3}, {2, MATCH_ANY}};
    p.demand = twice;
    p.lines = 2;
    assert_false(match_problem_check(&p, &e));
    assert_string_equal(e.text, "the demand asks for sets of 2 twice; give each size once");
}

/* ---- the judge sees what is wrong ------------------------------------------------------------ */

static bool judged(const struct match_set *set, int sets, int64_t found, int64_t bound,
                   int64_t cost)
{
    struct arena *a = arena_new();
    struct match_problem p = three_tubes();
    struct err e = ERR_INIT;
    assert_true(match_problem_sort(&p, a, &e)); /* 12: 21.00, 7: 20.00, 9: 20.50 */
    struct match_set copy[2];
    memcpy(copy, set, (size_t)sets * sizeof *set);
    struct match_answer answer = {
        .sets = sets, .set = copy, .found = &found, .bound = &bound, .cost = cost};
    bool ok = match_check(&p, &answer, &e);
    arena_free(a);
    return ok;
}

static void the_judge_refuses_what_is_not_so(void **state)
{
    (void)state;
    static const int right[] = {0, 1};
    static const int same[] = {1, 1};
    static const int nobody[] = {1, 3};
    const struct match_set good = {.line = 0, .member = right, .cost = MATCH_COST_UNIT};
    assert_true(judged(&good, 1, 1, 1, MATCH_COST_UNIT));
    assert_false(judged(&good, 1, 1, 0, MATCH_COST_UNIT));     /* more than the bound */
    assert_false(judged(&good, 1, 2, 2, MATCH_COST_UNIT));     /* counted wrong */
    assert_false(judged(&good, 1, 1, 1, MATCH_COST_UNIT - 1)); /* added wrong */
    const struct match_set cheap = {.line = 0, .member = right, .cost = MATCH_COST_UNIT - 1};
    assert_false(judged(&cheap, 1, 1, 1, MATCH_COST_UNIT - 1));
    const struct match_set again = {.line = 0, .member = same, .cost = 0};
    assert_false(judged(&again, 1, 1, 1, 0));
    const struct match_set ghost = {.line = 0, .member = nobody, .cost = 0};
    assert_false(judged(&ghost, 1, 1, 1, 0));
    const struct match_set both[] = {good, good};
    assert_false(judged(both, 2, 2, 2, 2 * MATCH_COST_UNIT));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_relative_band_is_exact_at_its_limit),
        cmocka_unit_test(equal_values_hold_under_any_band),
        cmocka_unit_test(an_absolute_band_takes_zero_and_negative_values),
        cmocka_unit_test(the_largest_values_do_not_overflow),
        cmocka_unit_test(tubes_are_sorted_by_id),
        cmocka_unit_test(an_id_that_stands_twice_is_refused_with_both_rows),
        cmocka_unit_test(a_relative_band_on_nothing_is_refused_with_row_and_column),
        cmocka_unit_test(bands_and_demands_out_of_range_are_refused),
        cmocka_unit_test(the_judge_refuses_what_is_not_so),
    };
    return cmocka_run_group_tests_name("match_problem", tests, NULL, NULL);
}
