/* SPDX-License-Identifier: MIT
 *
 * Grade schemes: what is taken and what is refused.  Refusals with their exact sentences stand in
 * tests/cases/grade-scheme-refused.tsv.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "grade/scheme.h"

#define HEADER "grade,subject,op,value,words\n"

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

static bool parse(struct scheme **out, const char *text, size_t n, struct err *e)
{
    size_t count;
    const struct quantity *q = quantity_builtin(&count);
    return scheme_parse(out, arena, text, n, q, count, e);
}

static struct scheme *taken(const char *rows)
{
    struct scheme *s = NULL;
    struct err e = ERR_INIT;
    const char *text = arena_printf(arena, HEADER "%s", rows);
    if (!parse(&s, text, strlen(text), &e))
        fail_msg("line %lld, %s: %s", (long long)e.line, e.field, e.text);
    return s;
}

static char *slurp(const char *path, size_t *n)
{
    FILE *f = fopen(path, "rb");
    if (!f)
        fail_msg("%s cannot be opened; run from the top folder", path);
    char *text = arena_alloc(arena, 1024 * 1024);
    *n = fread(text, 1, 1024 * 1024 - 1, f);
    fclose(f);
    return text;
}

/* \n in the notation of the cases becomes a line end */
static const char *unescape(char *s)
{
    char *to = s;
    for (const char *from = s; *from; from++) {
        bool end = from[0] == '\\' && from[1] == 'n';
        *to++ = end ? '\n' : *from;
        from += end;
    }
    *to = '\0';
    return s;
}

static int refusal_differs(char **field)
{
    struct scheme *s = NULL;
    struct err e = ERR_INIT;
    const char *rows = unescape(field[1]);
    const char *text = *rows == '!' ? rows + 1 : arena_printf(arena, HEADER "%s", rows);
    if (parse(&s, text, strlen(text), &e)) {
        print_error("%s: taken\n", field[0]);
        return 1;
    }
    assert_null(s);
    assert_true(e.code == ERR_INVALID || e.code == ERR_TOO_LARGE);
    if (e.line == atoi(field[2]) && (!strcmp(field[3], "*") || !strcmp(field[3], e.field)) &&
        (!strcmp(field[4], "*") ? strlen(e.text) > 10 : !strcmp(field[4], e.text)))
        return 0;
    print_error("%s: line %lld, %s: %s\n", field[0], (long long)e.line, e.field, e.text);
    return 1;
}

static void every_scheme_that_makes_no_sense_is_refused_with_line_column_and_sentence(void **state)
{
    (void)state;
    size_t n;
    char *text = slurp("tests/cases/grade-scheme-refused.tsv", &n), *save;
    int count = 0, wrong = 0;
    for (char *line = strtok_r(text, "\n", &save); line; line = strtok_r(NULL, "\n", &save)) {
        char *field[6] = {0};
        int k = 0;
        if (*line == '#' || strncmp(line, "what\t", 5) == 0)
            continue;
        for (char *f = line; f && k < 6; k++) {
            field[k] = f;
            f = strchr(f, '\t');
            if (f)
                *f++ = '\0';
        }
        assert_int_equal(k, 5);
        count++;
        wrong += refusal_differs(field);
    }
    assert_true(count > 50);
    assert_int_equal(wrong, 0);
}

static void the_default_scheme_is_taken_whole(void **state)
{
    (void)state;
    size_t n;
    const char *text = slurp("seed-data/grade/default.csv", &n);
    struct scheme *s;
    struct err e = ERR_INIT;
    if (!parse(&s, text, n, &e))
        fail_msg("line %lld, %s: %s", (long long)e.line, e.field, e.text);
    /* names, settings and limits as in the file */
    static const char *const grades[] = {"prime", "good", "fair", "weak", "reject"};
    assert_int_equal(s->grade_count, ARRAY_LEN(grades));
    for (int g = 0; g < s->grade_count; g++)
        assert_string_equal(s->grade[g].code, grades[g]);
    assert_string_equal(s->name, "default");
    assert_int_equal(s->guard, 0);
    assert_int_equal(s->borderline, 950000);
    assert_int_equal(s->grade[4].count, 0);
    assert_int_equal(scheme_grade_find(s, "fair"), 2);
    assert_int_equal(scheme_grade_find(s, "Fair"), -1);
    assert_true(strlen(s->grade[0].words) > 0);
}

static void a_requirement_keeps_what_its_line_says(void **state)
{
    (void)state;
    struct scheme *s = taken("*,guard,set,0.83,\n"
                             "*,borderline,set,97.5,\n"
                             "top,,grade,,the top\n"
                             "top,gm|emission?,of-nominal,87.5..140,why\n"
                             "top,ig,range,-0.5..0.5 uA,\n"
                             "top,noise-ear,range,..faint,\n"
                             "top,label?,at-least,faded,\n"
                             "top,gm,drift,0.05,\n"
                             "top,burn-in,hours,1.5,\n");
    const struct scheme_requirement *r = s->requirement;
    assert_int_equal(s->guard, 83);
    assert_int_equal(s->borderline, 975000);
    assert_int_equal(s->requirement_count, 6);
    assert_true(r[0].where_done);
    assert_int_equal(r[0].quantity_count, 2);
    assert_string_equal(r[0].quantity[1]->code, "emission");
    assert_int_equal(r[0].low, 8750);
    assert_int_equal(r[0].high, 14000);
    assert_string_equal(r[0].words, "why");
    assert_int_equal(r[0].line, 5);
    assert_false(r[1].where_done);
    assert_int_equal(r[1].low, -500); /* ig has 3 decimals */
    assert_int_equal(r[1].high, 500);
    assert_true(r[2].low == NONE);
    assert_int_equal(r[2].high, 1); /* silent, faint */
    assert_int_equal(r[3].least, FINDING_LABEL_FADED);
    assert_int_equal(r[4].high, 500);
    assert_int_equal(r[5].low, 90);
}

static void units_of_a_range_only_move_the_point(void **state)
{
    (void)state;
    struct scheme *s = taken("top,,grade,,\ntop,gm,range,5200..6000 micromho,\n"
                             "top,ia,range,..0.05 A,\n");
    assert_int_equal(s->requirement[0].low, 5200); /* 5.200 mA/V */
    assert_int_equal(s->requirement[0].high, 6000);
    assert_int_equal(s->requirement[1].high, 50000); /* 50.000 mA */
}

static void demands_read_as_a_dealer_would_say_them(void **state)
{
    (void)state;
    static const char *const rows[][2] = {
        {"top,gm,of-nominal,87.5..140,", "87.5 % of nominal or more"},
        {"top,heater,near-nominal,10,", "a value within 10 % of nominal"},
        {"top,ia,limits,,", "a value within the limits of the test point"},
        {"top,ig,range,-0.5..0.5 uA,", "-0.500 uA to 0.500 uA"},
        {"top,hk,range,..10 uA,", "at most 10.000 uA"},
        {"top,leak,range,100.. Mohm,", "at least 100.000 Mohm"},
        {"top,glow,range,bright..bright,", "bright"},
        {"top,gm,balance,10,", "sections within 10 % of the lowest"},
        {"top,gm,drift,0.05,", "a change of at most 0.05 % an hour"},
        {"top,burn-in,hours,24,", "at least 24 h 0 min of burn-in"},
        {"top,pins,not-in,bent+worn,", "none of: worn by sockets, bent"},
        {"top,label,at-least,faded,", "\"faded\" or better"},
        {"top,gas,clear,,", "a test that finds nothing"},
        {"top,gm,tested,,", "a value for every section"},
        {"top,readings,unquestioned,,", "no reading that had to be confirmed"},
    };
    assert_int_equal(ARRAY_LEN(rows), SCHEME_OP__COUNT + 3);
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct scheme *s = taken(arena_printf(arena, "top,,grade,,\n%s\n", rows[i][0]));
        assert_string_equal(scheme_demand(arena, s->requirement), rows[i][1]);
    }
}

static void what_is_too_large_is_refused_and_the_limit_itself_is_taken(void **state)
{
    (void)state;
    struct scheme *s = NULL;
    struct err e = ERR_INIT;
    const char *rows = "";
    for (int g = 0; g < SCHEME_GRADES; g++)
        rows = arena_printf(arena, "%sg%d,,grade,,\ng%d,gm,of-nominal,%d,\n", rows, g, g, 100 - g);
    s = taken(rows);
    assert_int_equal(s->grade_count, SCHEME_GRADES);
    const char *text = arena_printf(arena, HEADER "%sone-more,,grade,,\n", rows);
    assert_false(parse(&s, text, strlen(text), &e));
    assert_int_equal(e.code, ERR_TOO_LARGE);
    assert_string_equal(e.text, "more than 32 grades");
    char *big = arena_alloc(arena, SCHEME_BYTES + 1);
    memset(big, 'x', SCHEME_BYTES + 1);
    assert_false(parse(&s, big, SCHEME_BYTES + 1, &e));
    assert_string_equal(e.text, "a scheme has at most 1048576 bytes, not 1048577");
}

static void the_longest_subject_still_gets_a_whole_sentence(void **state)
{
    (void)state;
    char subject[301];
    memset(subject, 'q', 300);
    subject[300] = '\0';
    static const char *const ops[] = {"clear",        "tested",   "hours",
                                      "unquestioned", "at-least", "nonsense"};
    for (size_t i = 0; i < ARRAY_LEN(ops); i++) {
        struct scheme *s = NULL;
        struct err e = ERR_INIT;
        const char *text =
            arena_printf(arena, HEADER "top,,grade,,\ntop,%s,%s,,\n", subject, ops[i]);
        assert_false(parse(&s, text, strlen(text), &e));
        assert_true(strlen(e.text) < sizeof e.text - 1);
        assert_true(strstr(e.text, "...") != NULL || i == 5);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_scheme_that_makes_no_sense_is_refused_with_line_column_and_sentence),
        cmocka_unit_test(the_default_scheme_is_taken_whole),
        cmocka_unit_test(a_requirement_keeps_what_its_line_says),
        cmocka_unit_test(units_of_a_range_only_move_the_point),
        cmocka_unit_test(demands_read_as_a_dealer_would_say_them),
        cmocka_unit_test(what_is_too_large_is_refused_and_the_limit_itself_is_taken),
        cmocka_unit_test(the_longest_subject_still_gets_a_whole_sentence),
    };
    return cmocka_run_group_tests_name("scheme", tests, set_up, tear_down);
}
