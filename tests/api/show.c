/* SPDX-License-Identifier: MIT
 *
 * show and wire_unpack_reply: replies read back by their shape, and laid out for people.  What is
 * expected is written by hand from the rules in command/show.h and api/wire.h.
 */
#include "api/wire.h"
#include "command/show.h"

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct part {
    const char *word, *typed;
    int64_t count;
};
#define AT(f) offsetof(struct part, f)
static const struct field PART_FIELDS[] = {
    {"word", K_TEXT, F_REQUIRED, AT(word), .help = "w"},
    {"typed", K_DECIMAL, 0, AT(typed), .help = "t"},
    {"count", K_INT, 0, AT(count), .help = "c"},
    {0},
};
static const struct shape PART = {"part", sizeof(struct part), PART_FIELDS};
#undef AT

struct whole {
    const char *name, *note, *raw;
    int64_t yes, made_day, id;
    struct texts words;
    struct list parts;
};
#define AT(f) offsetof(struct whole, f)
static const struct field WHOLE_FIELDS[] = {
    {"id", K_INT, F_PATH | F_REQUIRED, AT(id), .help = "i"},
    {"name", K_TEXT, F_REQUIRED, AT(name), 1, 5, .help = "n"},
    {"made_first", K_DATE, 0, AT(made_day), .help = "d"},
    {"yes", K_BOOL, 0, AT(yes), .help = "y"},
    {"words", K_TEXTS, 0, AT(words), .help = "w"},
    {"raw", K_RAW, 0, AT(raw), .help = "r"},
    {"note", K_NOTE, 0, AT(note), .help = "t"},
    {"parts", K_LIST, 0, AT(parts), 0, 2, .sub = &PART, .help = "p"},
    {0},
};
static const struct shape WHOLE = {"whole", sizeof(struct whole), WHOLE_FIELDS};
#undef AT

struct parts {
    struct list items;
};
static const struct field PARTS_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct parts, items), .sub = &PART, .help = "p"},
    {0},
};
static const struct shape PARTS = {"parts", sizeof(struct parts), PARTS_FIELDS};

static struct arena *a;

static void *unpack(const struct shape *s, const char *json)
{
    void *from = NULL;
    struct err e = ERR_INIT;
    if (!wire_unpack_reply(&from, s, json, strlen(json), a, &e))
        fail_msg("%s: %s", json, e.text);
    return from;
}

/* What is shown; in the arena. */
static const char *shown(const struct shape *s, const char *json)
{
    char *text = NULL;
    size_t n = 0;
    FILE *f = open_memstream(&text, &n);
    show_reply(f, s, unpack(s, json), a);
    fclose(f);
    const char *kept = arena_text(a, text);
    free(text);
    return kept;
}

static void a_reply_is_read_though_it_knows_more_and_is_longer_than_a_request_may_be(void **state)
{
    (void)state;
    const struct whole *w = unpack(
        &WHOLE, "{\"later\":{\"x\":[1]},\"name\":\"longer than five\",\"yes\":null,"
                "\"parts\":[{\"word\":\"a\"},{\"word\":\"b\",\"more\":1},{\"word\":\"c\"}]}");
    assert_string_equal(w->name, "longer than five");
    assert_int_equal(w->yes, NONE);
    assert_int_equal(w->parts.count, 3);
    assert_int_equal(w->id, NONE);
}

static void raw_json_in_a_reply_is_kept_as_its_text(void **state)
{
    (void)state;
    const struct whole *w = unpack(&WHOLE, "{\"raw\":{\"ia\":\"5.2\",\"n\":[1,2]}}");
    assert_string_equal(w->raw, "{\"ia\":\"5.2\",\"n\":[1,2]}");
}

static void a_reply_of_another_kind_or_no_json_is_refused(void **state)
{
    (void)state;
    static const char *const CASES[] = {"",       "[]",          "{\"name\":7}",   "{\"parts\":{}}",
                                        "<html>", "{\"yes\":1}", "{\"name\":\"a\""};
    for (size_t i = 0; i < ARRAY_LEN(CASES); i++) {
        void *from;
        struct err e = ERR_INIT;
        if (wire_unpack_reply(&from, &WHOLE, CASES[i], strlen(CASES[i]), a, &e))
            fail_msg("%s was taken", CASES[i]);
        assert_int_equal(e.code, ERR_INVALID);
    }
}

static void what_belongs_to_the_address_is_not_packed(void **state)
{
    (void)state;
    struct whole w = {.name = "x", .id = 7, .yes = NONE, .made_day = NONE};
    assert_string_equal(wire_pack(&WHOLE, &w, a, NULL), "{\"name\":\"x\"}");
}

static void one_thing_is_shown_line_by_line_without_what_is_absent(void **state)
{
    (void)state;
    assert_string_equal(shown(&WHOLE,
                              "{\"name\":\"6Н2П\",\"made_first\":\"1962-01-01\",\"yes\":true,"
                              "\"words\":[\"a\",\"b\"]}"),
                        "name:       6Н2П\n"
                        "made first: 1962-01-01\n"
                        "yes:        yes\n"
                        "words:      a; b\n");
}

static void its_lists_follow_as_tables(void **state)
{
    (void)state;
    assert_string_equal(shown(&WHOLE, "{\"name\":\"x\",\"parts\":[{\"word\":\"a\",\"count\":5},"
                                      "{\"word\":\"long\",\"count\":500}]}"),
                        "name:       x\n"
                        "\n"
                        "parts:\n"
                        "word  count\n"
                        "a         5\n"
                        "long    500\n");
}

static void a_column_is_as_wide_as_its_characters_and_left_out_where_it_is_empty(void **state)
{
    (void)state;
    assert_string_equal(shown(&PARTS, "{\"items\":[{\"word\":\"6П14П\",\"typed\":\"5.20\"},"
                                      "{\"word\":\"EL84\",\"typed\":\"11.3\"}]}"),
                        "word   typed\n"
                        "6П14П   5.20\n"
                        "EL84    11.3\n");
}

static void an_empty_table_says_so(void **state)
{
    (void)state;
    assert_string_equal(shown(&PARTS, "{\"items\":[]}"), "none\n");
}

static void rows_too_wide_for_a_line_are_shown_under_each_other(void **state)
{
    (void)state;
    char wide[121], json[300];
    memset(wide, 'x', 120);
    wide[120] = '\0';
    snprintf(json, sizeof json, "{\"items\":[{\"word\":\"%s\"},{\"word\":\"b\"}]}", wide);
    const char *text = shown(&PARTS, json);
    assert_int_equal(strncmp(text, "word:  xxx", 10), 0);
    assert_non_null(strstr(text, "x\n\nword:  b\n"));
}

static const char *problem(const char *json, const struct shape *reply)
{
    char *text = NULL;
    size_t n = 0;
    const struct told told = {.status = 422, .body = json, .n = strlen(json)};
    FILE *f = open_memstream(&text, &n);
    show_problem(f, &told, reply, a);
    fclose(f);
    const char *kept = arena_text(a, text);
    free(text);
    return kept;
}

static void a_refusal_names_field_and_line_once(void **state)
{
    (void)state;
    assert_string_equal(problem("{\"detail\":\"gm is wrong\",\"field\":\"gm\"}", NULL),
                        "gm is wrong\n");
    assert_string_equal(problem("{\"detail\":\"no number\",\"field\":\"gm\",\"line\":7}", NULL),
                        "line 7: gm: no number\n");
    assert_string_equal(problem("not json", NULL),
                        "refused with status 422, and no more was said\n");
    assert_string_equal(problem("{\"detail\":\"ask\",\"items\":[{\"word\":\"slip\"}]}", &PARTS),
                        "ask\n\nitems:\nword\nslip\n");
}

static int begin(void **state)
{
    (void)state;
    a = arena_new();
    return 0;
}

static int end(void **state)
{
    (void)state;
    arena_free(a);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_reply_is_read_though_it_knows_more_and_is_longer_than_a_request_may_be),
        cmocka_unit_test(raw_json_in_a_reply_is_kept_as_its_text),
        cmocka_unit_test(a_reply_of_another_kind_or_no_json_is_refused),
        cmocka_unit_test(what_belongs_to_the_address_is_not_packed),
        cmocka_unit_test(one_thing_is_shown_line_by_line_without_what_is_absent),
        cmocka_unit_test(its_lists_follow_as_tables),
        cmocka_unit_test(a_column_is_as_wide_as_its_characters_and_left_out_where_it_is_empty),
        cmocka_unit_test(an_empty_table_says_so),
        cmocka_unit_test(rows_too_wide_for_a_line_are_shown_under_each_other),
        cmocka_unit_test(a_refusal_names_field_and_line_once),
    };
    return cmocka_run_group_tests_name("show", tests, begin, end);
}
