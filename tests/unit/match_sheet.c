/* SPDX-License-Identifier: MIT */
#include "match/band.h"
#include "match/demand.h"
#include "match/sheet.h"

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include <string.h>

static const struct match_line pairs = {2, MATCH_ANY};

static void bands_are_read_exactly(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct band_list list;
    struct err e = ERR_INIT;
    assert_true(band_list_parse(&list, "5%", a, &e));
    assert_int_equal(list.count, 1);
    assert_int_equal(list.band[0].ratio.num, 1);
    assert_int_equal(list.band[0].ratio.den, 20);
    assert_true(band_list_parse(&list, "ia=2.5%, gm=0.3mA/V,vg=abs:0.25", a, &e));
    assert_int_equal(list.count, 3);
    assert_int_equal(list.band[0].ratio.num, 1);
    assert_int_equal(list.band[0].ratio.den, 40);
    assert_string_equal(list.band[1].column, "gm");
    assert_string_equal(list.band[1].unit->name, "mA/V");
    assert_null(list.band[2].unit);
    assert_int_equal(list.band[2].width.mantissa, 25);
    arena_free(a);
}

static void bands_that_say_too_little_are_refused(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",         "5",          "-5%",         "1001%", "5%,6%",  "x%",
        "ia=",      "ia=5%,",     "ia=5%,5%",    "abs:",  "%",      "abs:-1",
        "ia=1ells", "0.0000001%", "ia=5%,ia=6%", "1e3%",  "ia=0.3", "nan%"};
    struct arena *a = arena_new();
    for (size_t i = 0; i < ARRAY_LEN(bad); i++) {
        struct band_list list;
        struct err e = ERR_INIT;
        if (band_list_parse(&list, bad[i], a, &e))
            fail_msg("\"%s\" was taken", bad[i]);
        assert_int_not_equal(e.text[0], '\0');
    }
    struct band_list list;
    struct err e = ERR_INIT;
    assert_false(band_list_parse(&list, "5", a, &e));
    assert_string_equal(e.text,
                        "the band \"5\" is a bare number: give 5% of the lowest, abs:5 in the "
                        "column's own unit, or a unit");
    arena_free(a);
}

static void demands_are_read_by_priority(void **state)
{
    (void)state;
    struct match_line line[MATCH_LINES];
    int lines;
    struct err e = ERR_INIT;
    assert_true(demand_parse(line, &lines, "4:10,2:*", &e));
    assert_int_equal(lines, 2);
    assert_int_equal(line[0].size, 4);
    assert_int_equal(line[0].limit, 10);
    assert_int_equal(line[1].size, 2);
    assert_int_equal(line[1].limit, MATCH_ANY);
    static const char *const bad[] = {"",    "1",    "4:", "4:x", "4,4",           ",",
                                      "4,,", "4:-1", "65", "*",   "4:99999999999", "2:1:1"};
    for (size_t i = 0; i < ARRAY_LEN(bad); i++) {
        if (demand_parse(line, &lines, bad[i], &e))
            fail_msg("\"%s\" was taken", bad[i]);
    }
}

/* ---- the table ------------------------------------------------------------------------------- */

#define FIELDS 6

struct table {
    const char *bands;
    const char *same;
    size_t columns;
    const char *field[5][FIELDS]; /* the heading first, up to an empty row */
};

static bool table_read(const struct table *t, struct arena *a, struct match_problem *p,
                       struct err *e)
{
    struct sheet *s = NULL;
    bool ok = sheet_new(&s, t->field[0], t->columns, e) && sheet_choose(s, t->bands, t->same, e);
    for (int64_t line = 2; ok && line <= 5 && t->field[line - 1][0] != NULL; line++)
        ok = sheet_add(s, line, t->field[line - 1], t->columns, e);
    ok = ok && sheet_problem(s, &pairs, 1, a, p, e);
    sheet_free(s);
    return ok;
}

static void columns_are_scaled_to_the_most_decimals_seen(void **state)
{
    (void)state;
    const struct table t = {"ia=5%,gm=300micromho,vg=abs:0.125",
                            "maker",
                            6,
                            {{"id", "ia.1", "ia.2", "gm", "vg", "maker"},
                             {"b", "20", "5,25", "5.2", "-1.5", "X"},
                             {"a", "20.5", "5.2", "5.0", "0", "X"},
                             {"c", "20.50", "5", "5", "1", ""}}};
    struct arena *a = arena_new();
    struct match_problem p;
    struct err e = ERR_INIT;
    if (!table_read(&t, a, &p, &e))
        fail_msg("%s", e.text);
    assert_int_equal(p.tubes, 3);
    assert_int_equal(p.coordinates, 4); /* both sections of ia, gm, vg */
    assert_string_equal(p.id[0], "a");
    assert_int_equal(p.value[0], 205);
    assert_int_equal(p.value[4], 200);
    assert_int_equal(p.value[5], 525);
    assert_int_equal(p.value[6], 52);
    assert_int_equal(p.band[2].num, 3);  /* 300 micromho are 0.3 mA/V */
    assert_int_equal(p.value[7], -1500); /* the band has three decimals */
    assert_int_equal(p.band[3].num, 125);
    assert_int_equal(p.class_of[0], p.class_of[1]);
    assert_int_not_equal(p.class_of[0], p.class_of[2]); /* unknown equals nothing */
    arena_free(a);
}

static void what_is_not_known_equals_nothing(void **state)
{
    (void)state;
    const struct table t = {"5%", "", 3, {{"id", "class", "x"}, {"1", "", "5"}, {"2", "", "5"}}};
    struct arena *a = arena_new();
    struct match_problem p;
    struct err e = ERR_INIT;
    assert_true(table_read(&t, a, &p, &e));
    assert_int_not_equal(p.class_of[0], p.class_of[1]);
    arena_free(a);
}

static void refused_tables_say_where_and_what(void **state)
{
    (void)state;
    static const struct {
        struct table table;
        const char *text;
    } bad[] = {
        {{"5%", "", 2, {{"tube", "x"}}}, "the heading has no column \"id\"; it has \"tube\", ..."},
        {{"5%", "", 3, {{"id", "x", "x"}}}, "the heading has the column \"x\" twice"},
        {{"5%", "", 2, {{"id", "class"}}},
         "the heading has no quantity to match by: beside id and class it wants columns such as ia "
         "and gm"},
        {{"5%", "ia", 2, {{"id", "ia"}}},
         "no quantity is left to match by: --same takes every one of \"ia\""},
        {{"gm=5%", "", 3, {{"id", "ia (mA)", "x"}}},
         "there is no quantity \"gm\" to have a band; there are \"ia (mA)\", \"x\""},
        {{"5%", "", 2, {{"id", "ia"}, {"7", "1 mA"}}},
         "line 2, column ia, \"1 mA\": \"1 mA\" holds more than a number: give the figures alone, "
         "without a unit."},
        {{"5%", "maker", 2, {{"id", "ia"}}}, "there is no column \"maker\" to be the same"},
        {{"x=0.3mA", "", 2, {{"id", "x"}, {"1", "1"}}},
         "the band of x has a unit, but that of the column is not known: give the band as abs: in "
         "the column's own unit"},
        {{"5%", "", 2, {{"id", "x"}, {"", "1"}}}, "line 2, column id: empty"},
        {{"5%", "", 2, {{"id", "x"}, {"7", "1"}, {"8", "1"}, {"7", "2"}}},
         "id \"7\" stands twice, in lines 2 and 4: each tube once"},
        {{"5%", "", 2, {{"id", "x"}, {"7", "0.00"}}},
         "line 2, column x, tube 7: the value is 0, and a band in per cent needs values above "
         "zero; "
         "give this column an absolute band"},
        {{"abs:1", "", 3, {{"id", "x", "u(x)"}, {"7", "1", "-1"}}},
         "line 2, column u(x): an uncertainty cannot be below zero"},
        {{"abs:1", "", 2, {{"id", "x"}, {"7", "999999999999999"}, {"8", "0.000000000001"}}},
         "line 2, column x: too large beside another value with 12 decimals"},
    };
    for (size_t i = 0; i < ARRAY_LEN(bad); i++) {
        struct arena *a = arena_new();
        struct match_problem p;
        struct err e = ERR_INIT;
        assert_false(table_read(&bad[i].table, a, &p, &e));
        assert_string_equal(e.text, bad[i].text);
        arena_free(a);
    }
}

static void a_value_that_is_no_number_is_refused_with_line_and_column(void **state)
{
    (void)state;
    static const char *const bad[] = {"",    " ",     "NaN",  "1e999", "inf",
                                      "--1", "1.2.3", "0x10", "5 mA"};
    for (size_t i = 0; i < ARRAY_LEN(bad); i++) {
        struct table t = {"5%", "", 2, {{"id", "gm"}, {"7", "5"}, {"8", bad[i]}}};
        struct arena *a = arena_new();
        struct match_problem p;
        struct err e = ERR_INIT;
        assert_false(table_read(&t, a, &p, &e));
        assert_int_equal(e.line, 3);
        assert_string_equal(e.field, "gm");
        assert_non_null(strstr(e.text, "line 3, column gm"));
        arena_free(a);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bands_are_read_exactly),
        cmocka_unit_test(bands_that_say_too_little_are_refused),
        cmocka_unit_test(demands_are_read_by_priority),
        cmocka_unit_test(columns_are_scaled_to_the_most_decimals_seen),
        cmocka_unit_test(what_is_not_known_equals_nothing),
        cmocka_unit_test(refused_tables_say_where_and_what),
        cmocka_unit_test(a_value_that_is_no_number_is_refused_with_line_and_column),
    };
    return cmocka_run_group_tests_name("match_sheet", tests, NULL, NULL);
}
