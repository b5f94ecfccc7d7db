/* SPDX-License-Identifier: MIT
 *
 * Walks tests/cases/grade.tsv: looks and readings as a dealer writes them, judged by the default
 * scheme.  The expected grades, reasons and histories were decided by hand before the evaluator was
 * written; the heading of the file says by which rules.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "grade/grade.h"
#include "grade/history.h"

enum {
    NO,
    STORY,
    LOOK,
    TESTS,
    READINGS,
    CLAIM,
    GRADE,
    KEPT,
    BORDERLINE,
    NOT_TESTED,
    HISTORY,
    COLUMNS
};

static struct arena *arena;
static struct scheme *scheme;

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

static int set_up(void **state)
{
    (void)state;
    arena = arena_new();
    size_t n, count;
    const char *text = slurp("seed-data/grade/default.csv", &n);
    const struct quantity *q = quantity_builtin(&count);
    struct err e = ERR_INIT;
    if (!scheme_parse(&scheme, arena, text, n, q, count, &e)) {
        print_error("default.csv, line %lld, %s: %s\n", (long long)e.line, e.field, e.text);
        return -1;
    }
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    arena_free(arena);
    return 0;
}

/* ---- reading the notation of the cases ----------------------------------------------------------
 */
static int64_t number(const struct quantity *q, const char *s, size_t n)
{
    struct quantity_value v;
    struct err e = ERR_INIT;
    if (!quantity_value_parse(&v, q, s, n, NULL, &e))
        fail_msg("%.*s: %s", (int)n, s, e.text);
    return v.scaled;
}

/* quantity[.section]=value[~u][/nominal][[low..high]][?] */
static struct grade_value reading(char *s, int *sections)
{
    struct grade_value v = {.tested = true,
                            .own_u = NONE,
                            .calibration_u = NONE,
                            .nominal = NONE,
                            .low = NONE,
                            .high = NONE,
                            .before = NONE,
                            .before_u = NONE};
    char *value = strchr(s, '='), *dot = strchr(s, '.');
    assert_non_null(value);
    *value++ = '\0';
    if (dot && dot < value) {
        *dot = '\0';
        v.section = atoi(dot + 1);
    }
    if (v.section > *sections)
        *sections = v.section;
    v.quantity = s;
    const struct quantity *q = quantity_find(s);
    if (!q)
        fail_msg("no quantity %s", s);
    v.decimals = q->decimals;
    size_t n = strcspn(value, "~/[?");
    v.value = number(q, value, n);
    char *p = value + n;
    if (*p == '~') {
        char *end;
        v.own_u = (int64_t)(strtod(p + 1, &end) * 1000 + 0.5);
        for (int i = 0; i < q->decimals; i++)
            v.own_u *= 10;
        p = end;
    }
    if (*p == '/') {
        n = strcspn(p + 1, "[?");
        v.nominal = number(q, p + 1, n);
        p += 1 + n;
    }
    if (*p == '[') {
        char *dots = strstr(p, ".."), *end = strchr(p, ']');
        assert_non_null(dots);
        assert_non_null(end);
        v.low = dots > p + 1 ? number(q, p + 1, (size_t)(dots - p - 1)) : NONE;
        v.high = end > dots + 2 ? number(q, dots + 2, (size_t)(end - dots - 2)) : NONE;
        p = end + 1;
    }
    v.questioned = *p == '?';
    return v;
}

static enum test_result result_of(const char *s)
{
    if (strcmp(s, "clear") == 0)
        return TEST_CLEAR;
    if (strcmp(s, "found") == 0)
        return TEST_FOUND;
    assert_string_equal(s, "n/a");
    return TEST_NOT_APPLICABLE;
}

static void test_note(struct grade_input *in, char *s)
{
    char *value = strchr(s, '=');
    assert_non_null(value);
    *value++ = '\0';
    if (strcmp(s, "sections") == 0) {
        in->sections = atoi(value);
        return;
    }
    if (strcmp(s, "mismatch") == 0) {
        in->mismatch = strcmp(value, "open") == 0;
        return;
    }
    for (int t = 0; t < SCHEME_TEST__COUNT; t++)
        if (strcmp(s, scheme_test_code((enum scheme_test)t)) == 0) {
            in->tests[t] = result_of(value);
            return;
        }
    fail_msg("no test %s", s);
}

static struct grade_input input_of(char **field)
{
    struct grade_input in = {.sections = 1};
    struct grade_value *values = arena_array(arena, 20, sizeof *values);
    struct err e = ERR_INIT;
    if (!inspection_parse(&in.look, field[LOOK], strlen(field[LOOK]), &e))
        fail_msg("case %s: %s", field[NO], e.text);
    char *save;
    for (char *s = strtok_r(field[TESTS], " ", &save); s; s = strtok_r(NULL, " ", &save))
        test_note(&in, s);
    for (char *s = strtok_r(field[READINGS], " ", &save); s; s = strtok_r(NULL, " ", &save))
        values[in.value_count++] = reading(s, &in.sections);
    in.values = values;
    if (!grade_check(scheme, &in, &e))
        fail_msg("case %s: %s", field[NO], e.text);
    return in;
}

/* ---- what came out, in the notation of the cases
 * -------------------------------------------------
 */
static const char *join(const char *list, const char *glue, const char *item)
{
    return arena_printf(arena, "%s%s%s", list, *list ? glue : "", item);
}

static int next_better(const struct grade_report *r)
{
    int last = scheme->grade_count - 1;
    return r->decision.grade == GRADE_NONE ? last - 1 : r->decision.grade - 1;
}

static const char *kept(const struct grade_report *r)
{
    const char *list = "";
    int grade = next_better(r);
    for (size_t i = 0; i < r->reason_count; i++)
        if (r->reasons[i].grade == grade && r->reasons[i].verdict != VERDICT_MET)
            list = join(list, "; ",
                        arena_printf(arena, "%s %s", r->reasons[i].subject,
                                     verdict_code(r->reasons[i].verdict)));
    return *list ? list : "-";
}

static const char *borderline(const struct grade_report *r)
{
    const char *list = "";
    for (size_t i = 0; i < r->reason_count; i++) {
        const struct grade_reason *why = &r->reasons[i];
        bool decides = why->grade == r->decision.grade || why->grade == next_better(r);
        if (decides && why->borderline)
            list = join(list, "; ",
                        arena_printf(arena, "%s %.1f", why->subject, (double)why->ppm / 1e4));
    }
    return *list ? list : "-";
}

static const char *not_tested(const struct grade_report *r)
{
    const char *list = "";
    for (size_t i = 0; i < r->untested_count; i++)
        for (int t = 0; t < SCHEME_TEST__COUNT; t++)
            if (strcmp(r->untested[i].subject, scheme_test_code((enum scheme_test)t)) == 0)
                list = join(list, " ", r->untested[i].subject);
    return *list ? list : "-";
}

static const char *history(const struct grade_input *in, char *claim)
{
    char *word = strchr(claim, ' ');
    if (word)
        *word++ = '\0';
    enum history_claim c = HISTORY_UNKNOWN;
    struct err e = ERR_INIT;
    if (*claim && !history_claim_find(&c, claim, strlen(claim), &e))
        fail_msg("%s", e.text);
    struct history h = history_weigh(arena, &in->look, c, word, in->mismatch);
    return arena_printf(arena, "%s %s", history_evidence_code(h.evidence),
                        history_standing_code(h.standing));
}

static int differs(char **field, const char *what, const char *want, const char *got)
{
    if (strcmp(want, got) == 0)
        return 0;
    print_error("case %s, %s: %s should be \"%s\" but is \"%s\"\n", field[NO], field[STORY], what,
                want, got);
    return 1;
}

static int case_differs(char **field)
{
    struct grade_input in = input_of(field);
    struct grade_report r = grade_explain(scheme, &in, arena);
    struct grade_decision d = grade_decide(scheme, &in);
    assert_int_equal(d.grade, r.decision.grade);
    const char *grade = d.grade == GRADE_NONE ? "-" : scheme->grade[d.grade].code;
    const char *near = borderline(&r);
    assert_int_equal(d.borderline, strcmp(near, "-") != 0);
    for (size_t i = 0; i < r.reason_count; i++)
        assert_true(strlen(r.reasons[i].text) > 0 && strlen(r.reasons[i].subject) > 0);
    return differs(field, "grade", field[GRADE], grade) +
           differs(field, "what kept it", field[KEPT], kept(&r)) +
           differs(field, "borderline", field[BORDERLINE], near) +
           differs(field, "what was not tested", field[NOT_TESTED], not_tested(&r)) +
           differs(field, "history", field[HISTORY], history(&in, field[CLAIM]));
}

static void every_case_of_the_dealer_comes_out_as_decided(void **state)
{
    (void)state;
    size_t n;
    char *text = slurp("tests/cases/grade.tsv", &n), *save;
    int count = 0, wrong = 0;
    for (char *line = strtok_r(text, "\n", &save); line; line = strtok_r(NULL, "\n", &save)) {
        char *field[COLUMNS + 1];
        int k = 0;
        if (*line == '#')
            continue;
        for (char *f = line; f && k <= COLUMNS; k++) {
            char *tab = strchr(f, '\t');
            field[k] = f;
            if (tab)
                *tab = '\0';
            f = tab ? tab + 1 : NULL;
        }
        assert_int_equal(k, COLUMNS);
        if (strcmp(field[NO], "no") == 0)
            continue;
        count++;
        wrong += case_differs(field);
    }
    assert_true(count >= 60);
    assert_int_equal(wrong, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_case_of_the_dealer_comes_out_as_decided),
    };
    return cmocka_run_group_tests_name("grade_cases", tests, set_up, tear_down);
}
