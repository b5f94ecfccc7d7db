/* SPDX-License-Identifier: MIT
 *
 * table: the lines expected were written by hand from RFC 4180 (section 2) and from table.h; NDJSON
 * is read back by jansson.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <jansson.h>

#include "api/table.h"

static const char *const states[] = {"received", "tested", NULL};

struct place {
    const char *bin;
    int64_t level;
};
static const struct field place_fields[] = {
    {"bin", K_TEXT, 0, offsetof(struct place, bin), .help = "bin"},
    {"level", K_INT, 0, offsetof(struct place, level), .help = "level"},
    {0},
};
static const struct shape place_shape = {"place", sizeof(struct place), place_fields};

struct item {
    int64_t stock_no, state, day, at, unused;
    const char *type, *note, *gm;
    struct place *place;
    struct texts marks;
    struct list readings;
    struct item *twin;
};
#define AT(f) offsetof(struct item, f)
static const struct shape item_shape;
static const struct field item_fields[] = {
    {"stock_no", K_STOCKNO, 0, AT(stock_no), .help = "stock number"},
    {"type", K_TEXT, 0, AT(type), .help = "type"},
    {"state", K_ENUM, 0, AT(state), .names = states, .help = "state"},
    {"place", K_OBJECT, 0, AT(place), .sub = &place_shape, .help = "where"},
    {"marks", K_TEXTS, 0, AT(marks), .help = "marks"},
    {"readings", K_LIST, 0, AT(readings), .sub = &place_shape, .help = "left out of CSV"},
    {"twin", K_OBJECT, 0, AT(twin), .sub = &item_shape, .help = "left out of CSV: one of its kind"},
    {"gm", K_DECIMAL, 0, AT(gm), .help = "mA/V"},
    {"day", K_DATE, 0, AT(day), .help = "day"},
    {"at", K_MOMENT, 0, AT(at), .help = "moment"},
    {"unused", K_BOOL, 0, AT(unused), .help = "unused"},
    {"note", K_NOTE, 0, AT(note), .help = "note"},
    {0},
};
static const struct shape item_shape = {"item", sizeof(struct item), item_fields};

static struct place shelf = {"A, 12", 3};
static const char *marks[] = {"halo", "grey"};
static struct item items[] = {
    {1000019,
     1,
     1,
     1000,
     1,
     "ECC83",
     "a \"good\" one\nbox torn",
     "5.20",
     &shelf,
     {marks, 2},
     {0},
     NULL},
    {NONE, NONE, NONE, NONE, NONE, NULL, NULL, NULL, NULL, {0}, {0}, NULL},
    {1000019, 0, NONE, NONE, 0, "=1+1", "6Н2П", NULL, NULL, {0}, {0}, NULL},
};
static const struct list all = {items, ARRAY_LEN(items)};

static const char csv_expected[] =
    "stock_no,type,state,place.bin,place.level,marks,gm,day,at,unused,note\r\n"
    "1000019,ECC83,tested,\"A, 12\",3,\"halo; grey\",5.20,1970-01-02,1970-01-01T00:00:01Z,true,"
    "\"a \"\"good\"\" one\nbox torn\"\r\n"
    "\"\",,,,,,,,,,\r\n"
    "1000019,=1+1,received,,,,,,,false,6Н2П\r\n";

static int arena_up(void **state)
{
    *state = arena_new();
    return 0;
}

static int arena_down(void **state)
{
    arena_free(*state);
    return 0;
}

static void csv_has_a_head_dotted_names_and_one_line_a_struct(void **state)
{
    struct pen p;
    pen_init(&p, *state, 0);
    table_head(&p, &item_shape, TABLE_CSV);
    table_rows(&p, &item_shape, &all, TABLE_CSV);
    size_t n;
    assert_string_equal(pen_done(&p, &n), csv_expected);
    assert_int_equal(n, sizeof csv_expected - 1);
}

static void ndjson_is_one_object_a_line(void **state)
{
    struct pen p;
    pen_init(&p, *state, 0);
    table_head(&p, &item_shape, TABLE_NDJSON);
    table_rows(&p, &item_shape, &all, TABLE_NDJSON);
    const char *text = pen_done(&p, NULL);
    size_t lines = 0;
    for (const char *end; *text; text = end + 1, lines++) {
        end = strchr(text, '\n');
        assert_non_null(end);
        json_t *j = json_loadb(text, (size_t)(end - text), JSON_REJECT_DUPLICATES, NULL);
        assert_non_null(j);
        const json_t *type = json_object_get(j, "type");
        if (lines == 0)
            assert_string_equal(json_string_value(type), "ECC83");
        if (lines == 1)
            assert_int_equal(json_object_size(j), 0);
        json_decref(j);
    }
    assert_int_equal(lines, 3);
}

/* ---- streams ------------------------------------------------------------------------------------
 */

struct pages {
    size_t at, most, calls, fails_at;
};

static bool one_more(void *state, struct store *st, struct arena *a, struct list *rows,
                     struct err *e)
{
    struct pages *s = state;
    (void)st;
    (void)a;
    if (++s->calls == s->fails_at)
        return err_set(e, ERR_UNAVAILABLE, "The disk is gone.");
    assert_true(s->calls <= s->most + 1); /* never asked again after the end */
    *rows = (struct list){items + s->at, s->at < s->most};
    s->at += rows->count;
    return true;
}

static const char *read_all(const struct stream *s, struct arena *a)
{
    struct pen all_text;
    pen_init(&all_text, a, 0);
    for (;;) {
        struct arena *piece = arena_new();
        struct err e = ERR_INIT;
        const char *text = NULL;
        size_t n = 0;
        assert_true(s->next(s->state, NULL, piece, &text, &n, &e));
        if (text)
            pen_bytes(&all_text, text, n);
        arena_free(piece);
        if (!text)
            return pen_done(&all_text, NULL);
    }
}

static void a_stream_writes_its_head_once_and_ends(void **state)
{
    struct pages s = {.most = 3};
    const struct stream *csv = table_stream(&item_shape, TABLE_CSV, one_more, &s, *state);
    assert_string_equal(csv->content_type, "text/csv; charset=utf-8; header=present");
    assert_string_equal(read_all(csv, *state), csv_expected);
    struct arena *a = arena_new();
    struct err e = ERR_INIT;
    const char *text = "x";
    size_t n;
    assert_true(csv->next(csv->state, NULL, a, &text, &n, &e)); /* and stays ended */
    assert_null(text);
    arena_free(a);
}

static void an_empty_export_is_a_head_alone_or_nothing(void **state)
{
    struct pages s = {0}, t = {0};
    const char *csv = read_all(table_stream(&item_shape, TABLE_CSV, one_more, &s, *state), *state);
    assert_int_equal(strlen(csv), strcspn(csv_expected, "\r") + 2);
    const struct stream *nd = table_stream(&item_shape, TABLE_NDJSON, one_more, &t, *state);
    assert_string_equal(nd->content_type, "application/x-ndjson");
    assert_string_equal(read_all(nd, *state), "");
}

static void a_stream_that_fails_says_so(void **state)
{
    struct pages s = {.most = 3, .fails_at = 2};
    const struct stream *nd = table_stream(&item_shape, TABLE_NDJSON, one_more, &s, *state);
    struct err e = ERR_INIT;
    const char *text;
    size_t n;
    assert_true(nd->next(nd->state, NULL, *state, &text, &n, &e));
    assert_false(nd->next(nd->state, NULL, *state, &text, &n, &e));
    assert_int_equal(e.code, ERR_UNAVAILABLE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(csv_has_a_head_dotted_names_and_one_line_a_struct, arena_up,
                                        arena_down),
        cmocka_unit_test_setup_teardown(ndjson_is_one_object_a_line, arena_up, arena_down),
        cmocka_unit_test_setup_teardown(a_stream_writes_its_head_once_and_ends, arena_up,
                                        arena_down),
        cmocka_unit_test_setup_teardown(an_empty_export_is_a_head_alone_or_nothing, arena_up,
                                        arena_down),
        cmocka_unit_test_setup_teardown(a_stream_that_fails_says_so, arena_up, arena_down),
    };
    return cmocka_run_group_tests_name("table", tests, NULL, NULL);
}
