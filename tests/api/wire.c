/* SPDX-License-Identifier: MIT
 *
 * wire: what is taken, what is refused and in which words, and what is written.  The expected
 * refusals were written from wire.h and the design (section 4, Numbers); the JSON from RFC 8259;
 * the packed text is read back by jansson, which had no part in writing it.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>
#include <jansson.h>

#include "api/wire.h"

/* ---- shapes that use every kind -----------------------------------------------------------------
 */

static const char *const colours[] = {"green", "amber", "red", NULL};

struct mark {
    const char *typed;
    int64_t section;
};

static const struct field mark_fields[] = {
    {"typed", K_DECIMAL, F_REQUIRED, offsetof(struct mark, typed), .help = "as read",
     .example = "5.20"},
    {"section", K_INT, 0, offsetof(struct mark, section), .min = 1, .max = 4, .help = "section"},
    {0},
};
static const struct shape mark_shape = {"mark", sizeof(struct mark), mark_fields};

struct thing {
    int64_t id;
    const char *name, *note, *pin;
    int64_t count, big, kept, stock_no, moment, day, colour;
    const char *share;
    struct texts tags;
    struct mark *first;
    struct list marks;
    const char *raw;
};

#define AT(f) offsetof(struct thing, f)
static const struct field thing_fields[] = {
    {"id", K_INT, F_REQUIRED | F_PATH, AT(id), .help = "id"},
    {"name", K_TEXT, F_REQUIRED, AT(name), .min = 1, .max = 20, .help = "name"},
    {"note", K_NOTE, 0, AT(note), .help = "note"},
    {"pin", K_TEXT, F_SECRET, AT(pin), .min = 4, .max = 8, .help = "secret"},
    {"count", K_INT, 0, AT(count), .min = 1, .max = 100, .help = "count"},
    {"big", K_INT, 0, AT(big), .help = "any integer"},
    {"kept", K_BOOL, 0, AT(kept), .help = "kept"},
    {"stock_no", K_STOCKNO, 0, AT(stock_no), .help = "stock number"},
    {"moment", K_MOMENT, 0, AT(moment), .help = "when"},
    {"day", K_DATE, 0, AT(day), .help = "day"},
    {"colour", K_ENUM, 0, AT(colour), .names = colours, .help = "colour"},
    {"share", K_DECIMAL, 0, AT(share), .min = 0, .max = 100, .help = "percent"},
    {"tags", K_TEXTS, 0, AT(tags), .min = 1, .max = 5, .help = "tags"},
    {"first", K_OBJECT, 0, AT(first), .sub = &mark_shape, .help = "the first mark"},
    {"marks", K_LIST, 0, AT(marks), .max = 3, .sub = &mark_shape, .help = "marks"},
    {"raw", K_RAW, 0, AT(raw), .help = "from the database"},
    {0},
};
static const struct shape thing_shape = {"thing", sizeof(struct thing), thing_fields};

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

static struct thing *take(struct arena *a, const char *json)
{
    struct err e = ERR_INIT;
    void *out = NULL;
    if (!wire_unpack(&out, &thing_shape, json, strlen(json), a, &e))
        fail_msg("refused: %s", e.text);
    return out;
}

/* ---- taking -------------------------------------------------------------------------------------
 */

static void every_kind_is_taken(void **state)
{
    const struct thing *t = take(
        *state, " {\"name\":\"Röhre\",\"note\":\"a\\nb\\tc\",\"pin\":\"1234\",\"count\":100,"
                "\"big\":9223372036854775807,\"kept\":true,\"stock_no\":\"100 0019\","
                "\"moment\":\"2026-11-25T07:11:00Z\",\"day\":\"1970-01-02\",\"colour\":\"amber\","
                "\"share\":\"99,5\",\"tags\":[\"a\",\"b\"],\"first\":{\"typed\":\"5.20\"},"
                "\"marks\":[{\"typed\":\"1\",\"section\":2},{\"typed\":\"2\"}]}\n");
    assert_string_equal(t->name, "R\xC3\xB6hre");
    assert_string_equal(t->note, "a\nb\tc");
    assert_string_equal(t->pin, "1234");
    assert_int_equal(t->count, 100);
    assert_true(t->big == INT64_MAX); /* not through a double, which would give 2^63 */
    assert_int_equal(t->kept, 1);
    assert_int_equal(t->stock_no, 1000019);           /* check digit: ISO/IEC 7064 by hand */
    assert_true(t->moment == INT64_C(1795590660000)); /* date -u -d 2026-11-25T07:11Z +%s */
    assert_int_equal(t->day, 1);
    assert_int_equal(t->colour, 1);
    assert_string_equal(t->share, "99,5"); /* as typed */
    assert_int_equal(t->tags.count, 2);
    assert_string_equal(t->tags.items[1], "b");
    assert_string_equal(t->first->typed, "5.20");
    assert_true(t->first->section == NONE);
    assert_int_equal(t->marks.count, 2);
    const struct mark *m = t->marks.items;
    assert_int_equal(m[0].section, 2);
    assert_string_equal(m[1].typed, "2");
    assert_true(m[1].section == NONE);
    assert_true(t->id == NONE);
}

static void absent_fields_are_nothing_and_null_is_absent(void **state)
{
    const struct thing *t = take(*state, "{\"name\":\"x\",\"note\":null,\"count\":null}");
    assert_null(t->note);
    assert_true(t->count == NONE);
    assert_true(t->kept == NONE);
    assert_true(t->colour == NONE);
    assert_null(t->first);
    assert_null(t->marks.items);
    assert_null(t->tags.items);
}

static void an_empty_list_is_not_an_absent_one(void **state)
{
    const struct thing *t = take(*state, "{\"name\":\"x\",\"marks\":[],\"tags\":[]}");
    assert_non_null(t->marks.items);
    assert_int_equal(t->marks.count, 0);
    assert_non_null(t->tags.items);
}

static void the_smallest_and_the_largest_integers_are_exact(void **state)
{
    assert_true(take(*state, "{\"name\":\"x\",\"big\":-9223372036854775807}")->big == -INT64_MAX);
    assert_true(take(*state, "{\"name\":\"x\",\"big\":9007199254740993}")->big ==
                INT64_C(9007199254740993)); /* 2^53 + 1, which a double cannot hold */
}

/* ---- refusing -----------------------------------------------------------------------------------
 */

static const struct bad {
    const char *json;
    enum err_code code;
    const char *field, *says[3];
} bad[] = {
    {"", ERR_INVALID, "", {"no body", "JSON object"}},
    {" \n", ERR_INVALID, "", {"no body"}},
    {"5", ERR_INVALID, "", {"is a number", "JSON object"}},
    {"[1]", ERR_INVALID, "", {"a list", "JSON object"}},
    {"\"abc\"", ERR_INVALID, "", {"JSON object"}},
    {"null", ERR_INVALID, "", {"null", "JSON object"}},
    {"{\"name\":\"x\"", ERR_INVALID, "name", {"breaks off"}},
    {"{\"name\":\"x\"} y", ERR_INVALID, "", {"After the JSON object", "nothing after"}},
    {"{\"name\":\"x\"}{}", ERR_INVALID, "", {"After the JSON object"}},
    {"{\"name\":\"x\",}", ERR_INVALID, "", {"not JSON"}},
    {"{'name':1}", ERR_INVALID, "", {"not JSON", "byte"}},
    {"{\"name\":NaN}", ERR_INVALID, "name", {"not JSON"}},
    {"{\"name\":01}", ERR_INVALID, "name", {"not JSON"}},
    {"\xEF\xBB\xBF{}", ERR_INVALID, "", {"byte order mark"}},
    {"{\"name\":\"\xC3\x28\"}", ERR_INVALID, "name", {"UTF-8"}},
    {"{\"name\":\"\xED\xA0\x80\"}", ERR_INVALID, "name", {"UTF-8"}},
    {"{\"name\":\"\\ud800\"}", ERR_INVALID, "name", {"not JSON"}},
    {"{\"name\":\"a\\u0000b\"}", ERR_INVALID, "name", {"NUL"}},
    {"{\"na\\u0000me\":\"a\"}", ERR_INVALID, "na\\u0000me", {"NUL"}},
    {"{\"name\":\"a\",\"name\":\"b\"}", ERR_INVALID, "name", {"name is given twice"}},
    {"{\"name\":\"a\",\"marks\":[{\"typed\":\"1\"},{\"typed\":\"1\",\"typed\":\"2\"}]}",
     ERR_INVALID,
     "marks[1].typed",
     {"marks[1].typed is given twice"}},
    {"{\"name\":\"a\",\"nmae\":1}", ERR_INVALID, "nmae", {"nmae is not known", "\"name\""}},
    {"{\"name\":\"a\",\"zzzzzz\":1}", ERR_INVALID, "zzzzzz", {"not known", "name, note, pin"}},
    {"{\"name\":\"a\",\"id\":1}", ERR_INVALID, "id", {"address", "leave it out"}},
    {"{\"name\":\"a\",\"raw\":1}", ERR_INVALID, "raw", {"not known"}},
    {"{}", ERR_INVALID, "name", {"name is missing", "1 to 20 bytes"}},
    {"{\"name\":null}", ERR_INVALID, "name", {"name is null", "1 to 20 bytes"}},
    {"{\"name\":5}", ERR_INVALID, "name", {"the number 5", "one line of text"}},
    {"{\"name\":\"\"}", ERR_INVALID, "name", {"is empty"}},
    {"{\"name\":\"  \"}", ERR_INVALID, "name", {"white space"}},
    {"{\"name\":\"123456789012345678901\"}", ERR_TOO_LARGE, "name", {"21 bytes", "1 to 20 bytes"}},
    {"{\"name\":\"a\\nb\"}", ERR_INVALID, "name", {"control character"}},
    {"{\"name\":\"x\",\"note\":\"a\\u0001b\"}", ERR_INVALID, "note", {"control character"}},
    {"{\"name\":\"x\",\"count\":0}", ERR_INVALID, "count", {"is 0", "from 1 to 100"}},
    {"{\"name\":\"x\",\"count\":101}", ERR_INVALID, "count", {"is 101", "from 1 to 100"}},
    {"{\"name\":\"x\",\"count\":5.0}", ERR_INVALID, "count", {"number 5.0", "whole number"}},
    {"{\"name\":\"x\",\"count\":\"5\"}", ERR_INVALID, "count", {"text \"5\"", "whole number"}},
    {"{\"name\":\"x\",\"big\":9223372036854775808}", ERR_INVALID, "big", {"64 bits"}},
    {"{\"name\":\"x\",\"big\":-9223372036854775808}", ERR_INVALID, "big", {"whole number"}},
    {"{\"name\":\"x\",\"big\":1e400}", ERR_INVALID, "big", {"64 bits"}},
    {"{\"name\":\"x\",\"kept\":1}", ERR_INVALID, "kept", {"true or false"}},
    {"{\"name\":\"x\",\"stock_no\":1000019}",
     ERR_INVALID,
     "stock_no",
     {"without quotes", "as text"}},
    {"{\"name\":\"x\",\"stock_no\":\"1000018\"}", ERR_INVALID, "stock_no", {"stock_no: "}},
    {"{\"name\":\"x\",\"moment\":\"yesterday\"}", ERR_INVALID, "moment", {"moment: "}},
    {"{\"name\":\"x\",\"day\":\"2026-02-30\"}", ERR_INVALID, "day", {"day: "}},
    {"{\"name\":\"x\",\"colour\":\"blue\"}",
     ERR_INVALID,
     "colour",
     {"\"blue\"", "green, amber, red"}},
    {"{\"name\":\"x\",\"first\":{\"typed\":5.2}}",
     ERR_INVALID,
     "first.typed",
     {"5.2", "decimal text", "\"5.20\" in quotes"}},
    {"{\"name\":\"x\",\"first\":{\"typed\":\"1e3\"}}", ERR_INVALID, "first.typed", {"1e3"}},
    {"{\"name\":\"x\",\"first\":{}}", ERR_INVALID, "first.typed", {"first.typed is missing"}},
    {"{\"name\":\"x\",\"first\":[]}", ERR_INVALID, "first", {"a list", "an object"}},
    {"{\"name\":\"x\",\"share\":\"100.001\"}", ERR_INVALID, "share", {"100.001", "from 0 to 100"}},
    {"{\"name\":\"x\",\"share\":\"-0.001\"}", ERR_INVALID, "share", {"-0.001"}},
    {"{\"name\":\"x\",\"tags\":\"a\"}", ERR_INVALID, "tags", {"list of texts"}},
    {"{\"name\":\"x\",\"tags\":[\"a\",5]}", ERR_INVALID, "tags[1]", {"tags[1] is the number 5"}},
    {"{\"name\":\"x\",\"tags\":[\"abcdef\"]}", ERR_TOO_LARGE, "tags[0]", {"6 bytes"}},
    {"{\"name\":\"x\",\"marks\":[1]}", ERR_INVALID, "marks[0]", {"the number 1", "an object"}},
    {"{\"name\":\"x\",\"marks\":[{\"typed\":\"1\"},{\"typed\":\"2\",\"section\":9}]}",
     ERR_INVALID,
     "marks[1].section",
     {"is 9", "from 1 to 4"}},
    {"{\"name\":\"x\",\"marks\":[{\"typed\":\"1\"},{\"typed\":\"1\"},{\"typed\":\"1\"},{\"typed\":"
     "\"1\"}]}",
     ERR_TOO_LARGE,
     "marks",
     {"4 items", "0 to 3"}},
};

static void a_bad_body_is_refused_with_its_field_and_what_would_be_right(void **state)
{
    for (size_t i = 0; i < ARRAY_LEN(bad); i++) {
        struct err e = ERR_INIT;
        void *out = &e;
        if (wire_unpack(&out, &thing_shape, bad[i].json, strlen(bad[i].json), *state, &e))
            fail_msg("taken: %s", bad[i].json);
        if (e.code != bad[i].code || strcmp(e.field, bad[i].field))
            fail_msg("%s: code %d, field \"%s\": %s", bad[i].json, e.code, e.field, e.text);
        for (size_t k = 0; k < ARRAY_LEN(bad[i].says) && bad[i].says[k]; k++)
            if (!strstr(e.text, bad[i].says[k]))
                fail_msg("%s: no \"%s\" in: %s", bad[i].json, bad[i].says[k], e.text);
        assert_ptr_equal(out, &e); /* untouched */
    }
}

static void a_nul_byte_in_the_body_is_refused_where_it_stands(void **state)
{
    static const char json[] = "{\"name\":\"a\0b\"}";
    struct err e = ERR_INIT;
    void *out;
    assert_false(wire_unpack(&out, &thing_shape, json, sizeof json - 1, *state, &e));
    assert_int_equal(e.code, ERR_INVALID);
    assert_int_equal(e.at, 10);
    assert_string_equal(e.field, "name");
    assert_non_null(strstr(e.text, "NUL"));
}

static void a_body_nested_too_deep_is_refused_before_it_is_read(void **state)
{
    char json[2 * 5000 + 32];
    size_t n = (size_t)snprintf(json, sizeof json, "{\"name\":");
    memset(json + n, '[', 5000);
    memset(json + n + 5000, ']', 5000);
    n += 10000;
    json[n++] = '}';
    struct err e = ERR_INIT;
    void *out;
    assert_false(wire_unpack(&out, &thing_shape, json, n, *state, &e));
    assert_int_equal(e.code, ERR_TOO_LARGE);
    assert_int_equal(e.at, 8 + WIRE_DEPTH - 1);
    assert_non_null(strstr(e.text, "deeper than 12 levels"));
}

static void a_bracket_inside_a_text_is_not_nesting(void **state)
{
    assert_string_equal(take(*state, "{\"name\":\"[[[[[[[[[[\\\"[[[[\"}")->name,
                        "[[[[[[[[[[\"[[[[");
}

static void a_secret_is_never_repeated(void **state)
{
    static const char *const bodies[] = {
        "{\"name\":\"x\",\"pin\":\"hush-hush-hush\"}",
        "{\"name\":\"x\",\"pin\":\"hus\"}",
        "{\"name\":\"x\",\"pin\":\"hush\\u0001\"}",
        "{\"name\":\"x\",\"pin\":[\"hush\"]}",
        "{\"name\":\"x\",\"pin\":\"hush\"hush\"}",
        "{\"name\":\"x\",\"pin\":\"hush} ",
        "{\"name\":\"x\",\"pin\":\"hush\"}hush",
        "\"hush\"",
        "{\"name\":\"x\",\"pin\":hush}",
    };
    for (size_t i = 0; i < ARRAY_LEN(bodies); i++) {
        struct err e = ERR_INIT;
        void *out;
        assert_false(wire_unpack(&out, &thing_shape, bodies[i], strlen(bodies[i]), *state, &e));
        if (strstr(e.text, "hus"))
            fail_msg("%s: %s", bodies[i], e.text);
    }
    struct err e = ERR_INIT;
    struct thing *t = wire_blank(&thing_shape, *state);
    assert_false(wire_set(t, &thing_shape, "pin", "hus", *state, &e));
    assert_string_equal(e.field, "pin");
    assert_null(strstr(e.text, "hus"));
}

static void a_long_path_keeps_its_end(void **state)
{
    struct err e = ERR_INIT;
    void *out;
    const char *json = "{\"name\":\"x\",\"a_name_that_is_much_longer_than_the_room_there_is_in_an_"
                       "err_for_it_and_then_some_more\":1}";
    assert_false(wire_unpack(&out, &thing_shape, json, strlen(json), *state, &e));
    assert_true(strlen(e.field) < sizeof e.field);
    assert_non_null(strstr(e.text, "not known"));
}

/* ---- fields from text ---------------------------------------------------------------------------
 */

static void a_query_sets_fields_from_text(void **state)
{
    struct arena *a = *state;
    struct thing *t = wire_blank(&thing_shape, a);
    static const char *const set[][2] = {
        {"id", "7"},
        {"name", "ECC83"},
        {"count", "12"},
        {"big", "-42"},
        {"kept", "TRUE"},
        {"stock_no", "1000019"},
        {"day", "1970-01-03"},
        {"colour", "red"},
        {"share", "5.20"},
        {"tags", "a"},
        {"tags", "b"},
        {"note", ""},
        {"moment", "1970-01-01T00:00:01Z"},
    };
    for (size_t i = 0; i < ARRAY_LEN(set); i++) {
        struct err e = ERR_INIT;
        if (!wire_set(t, &thing_shape, set[i][0], set[i][1], a, &e))
            fail_msg("%s=%s: %s", set[i][0], set[i][1], e.text);
    }
    assert_int_equal(t->id, 7);
    assert_string_equal(t->name, "ECC83");
    assert_int_equal(t->count, 12);
    assert_int_equal(t->big, -42);
    assert_int_equal(t->kept, 1);
    assert_int_equal(t->stock_no, 1000019);
    assert_int_equal(t->day, 2);
    assert_int_equal(t->colour, 2);
    assert_string_equal(t->share, "5.20");
    assert_int_equal(t->tags.count, 2);
    assert_string_equal(t->tags.items[0], "a");
    assert_string_equal(t->tags.items[1], "b");
    assert_null(t->note); /* an empty cell says nothing */
    assert_int_equal(t->moment, 1000);
}

static void a_bad_text_is_refused_with_its_field(void **state)
{
    static const struct {
        const char *name, *text, *says;
    } rows[] = {
        {"cuont", "1", "did you mean \"count\""},
        {"marks", "1", "not known here"},
        {"first", "1", "not known here"},
        {"raw", "1", "not known here"},
        {"count", "1.0", "\"1.0\"; it must be a whole number from 1 to 100"},
        {"count", "+1", "whole number"},
        {"count", " 1", "whole number"},
        {"count", "0x1", "whole number"},
        {"count", "-", "whole number"},
        {"count", "101", "is 101"},
        {"big", "9223372036854775808", "whole number"},
        {"big", "-9223372036854775808", "whole number"},
        {"big", "99999999999999999999999", "whole number"},
        {"kept", "maybe", "\"maybe\"; it must be true or false"},
        {"colour", "Green", "one of: green, amber, red"},
        {"name", "a\tb", "control character"},
        {"name", "\xFF", "UTF-8"},
        {"name", "123456789012345678901", "21 bytes"},
        {"share", "1e3", "1e3"},
        {"tags", "abcdef", "6 bytes"},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct err e = ERR_INIT;
        struct thing *t = wire_blank(&thing_shape, *state);
        if (wire_set(t, &thing_shape, rows[i].name, rows[i].text, *state, &e))
            fail_msg("taken: %s=%s", rows[i].name, rows[i].text);
        assert_string_equal(e.field, rows[i].name);
        if (!strstr(e.text, rows[i].says))
            fail_msg("%s=%s: %s", rows[i].name, rows[i].text, e.text);
    }
}

static void a_parameter_given_twice_is_refused(void **state)
{
    struct err e = ERR_INIT;
    struct thing *t = wire_blank(&thing_shape, *state);
    assert_true(wire_set(t, &thing_shape, "count", "1", *state, &e));
    assert_false(wire_set(t, &thing_shape, "count", "2", *state, &e));
    assert_non_null(strstr(e.text, "count is given twice"));
    assert_int_equal(t->count, 1);
}

static void the_limits_of_integers_are_exact_in_text(void **state)
{
    struct err e = ERR_INIT;
    struct thing *t = wire_blank(&thing_shape, *state);
    assert_true(wire_set(t, &thing_shape, "big", "9223372036854775807", *state, &e));
    assert_true(t->big == INT64_MAX);
    t = wire_blank(&thing_shape, *state);
    assert_true(wire_set(t, &thing_shape, "big", "-9223372036854775807", *state, &e));
    assert_true(t->big == -INT64_MAX);
}

static void complete_names_the_first_required_field_that_is_absent(void **state)
{
    struct err e = ERR_INIT;
    struct thing *t = wire_blank(&thing_shape, *state);
    assert_false(wire_complete(t, &thing_shape, &e));
    assert_string_equal(e.field, "id"); /* F_PATH counts here */
    t->id = 1;
    assert_false(wire_complete(t, &thing_shape, &e));
    assert_string_equal(e.field, "name");
    assert_int_equal(e.code, ERR_INVALID);
    t->name = "x";
    assert_true(wire_complete(t, &thing_shape, &e));
}

/* ---- writing ------------------------------------------------------------------------------------
 */

static void what_is_packed_is_read_back_by_jansson(void **state)
{
    struct arena *a = *state;
    struct mark marks[] = {{"5.20", 1}, {"4,9", NONE}};
    struct thing t;
    memset(&t, 0, sizeof t);
    memcpy(&t, wire_blank(&thing_shape, a), sizeof t);
    t.id = -INT64_MAX;
    t.name = "\"\\/\b\f\n\r\t\x01\x1F\x7F Ж\xE2\x80\xA8\xF0\x9D\x84\x9E</script>";
    t.kept = 0;
    t.stock_no = 1000019;
    t.moment = INT64_C(1795590660000);
    t.day = 1;
    t.colour = 2;
    t.tags = (struct texts){(const char *[]){"a", ""}, 2};
    t.first = &marks[0];
    t.marks = (struct list){marks, 2};
    t.raw = "{\"k\":[1,2]}";
    size_t n = 0;
    const char *text = wire_pack(&thing_shape, &t, a, &n);
    assert_int_equal(n, strlen(text));
    json_error_t why;
    json_t *j = json_loadb(text, n, JSON_REJECT_DUPLICATES, &why);
    if (!j)
        fail_msg("%s in %s", why.text, text);
    assert_null(json_object_get(j, "id")); /* of the address, not of the body */
    assert_string_equal(json_string_value(json_object_get(j, "name")), t.name);
    assert_true(json_is_false(json_object_get(j, "kept")));
    assert_string_equal(json_string_value(json_object_get(j, "stock_no")), "1000019");
    assert_string_equal(json_string_value(json_object_get(j, "moment")), "2026-11-25T07:11:00Z");
    assert_string_equal(json_string_value(json_object_get(j, "day")), "1970-01-02");
    assert_string_equal(json_string_value(json_object_get(j, "colour")), "red");
    assert_int_equal(json_array_size(json_object_get(j, "tags")), 2);
    const json_t *m = json_object_get(j, "marks");
    assert_int_equal(json_array_size(m), 2);
    assert_string_equal(json_string_value(json_object_get(json_array_get(m, 1), "typed")), "4,9");
    assert_null(json_object_get(json_array_get(m, 1), "section"));
    assert_int_equal(json_integer_value(json_object_get(json_object_get(j, "first"), "section")),
                     1);
    assert_int_equal(json_array_size(json_object_get(json_object_get(j, "raw"), "k")), 2);
    assert_null(json_object_get(j, "note")); /* absent: left out */
    json_decref(j);
}

static void absent_fields_are_left_out_or_null_or_an_empty_list(void **state)
{
    struct reply {
        const char *name;
        int64_t bin;
        struct list marks, other;
        int64_t flag;
    };
    static const struct field fields[] = {
        {"name", K_TEXT, F_NULL, offsetof(struct reply, name), .help = "n"},
        {"bin", K_INT, 0, offsetof(struct reply, bin), .help = "b"},
        {"marks", K_LIST, F_REQUIRED, offsetof(struct reply, marks), .sub = &mark_shape,
         .help = "m"},
        {"other", K_LIST, 0, offsetof(struct reply, other), .sub = &mark_shape, .help = "o"},
        {"flag", K_BOOL, 0, offsetof(struct reply, flag), .help = "f"},
        {0},
    };
    static const struct shape shape = {"reply", sizeof(struct reply), fields};
    struct reply r = {.bin = NONE, .flag = -1};
    assert_string_equal(wire_pack(&shape, &r, *state, NULL), "{\"name\":null,\"marks\":[]}");
    static const struct field none[] = {{0}};
    static const struct shape empty = {"empty", sizeof(struct reply), none};
    assert_string_equal(wire_pack(&empty, &r, *state, NULL), "{}");
}

static void quoting_escapes_what_must_be_and_mends_what_is_no_text(void **state)
{
    /* RFC 8259 section 7 */
    assert_string_equal(wire_quote("a\"b\\c\n\x01 é", *state), "\"a\\\"b\\\\c\\n\\u0001 é\"");
    /* U+FFFD for each byte that is no UTF-8 (Unicode 15, section 3.9, allows it) */
    assert_string_equal(wire_quote("a\xFF\xC3(", *state), "\"a\xEF\xBF\xBD\xEF\xBF\xBD(\"");
    assert_string_equal(wire_quote("", *state), "\"\"");
}

static void a_long_text_outgrows_its_first_buffer_and_stays_whole(void **state)
{
    char text[5000];
    memset(text, 'x', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    struct thing *t = wire_blank(&thing_shape, *state);
    t->name = text;
    size_t n;
    const char *json = wire_pack(&thing_shape, t, *state, &n);
    assert_int_equal(n, strlen("{\"name\":\"\"}") + sizeof text - 1);
    assert_int_equal(strspn(json + strlen("{\"name\":\""), "x"), sizeof text - 1);
}

static void a_problem_tells_status_sentence_field_and_place(void **state)
{
    struct err e = {ERR_INVALID, 17, 3, "values[2].typed", "It is \"wrong\"."};
    size_t n;
    const char *text = wire_problem(&e, 422, "r-1", *state, &n);
    json_t *j = json_loadb(text, n, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(j);
    assert_int_equal(json_integer_value(json_object_get(j, "status")), 422);
    assert_string_equal(json_string_value(json_object_get(j, "title")), "Unprocessable Content");
    assert_string_equal(json_string_value(json_object_get(j, "type")), "about:blank");
    assert_string_equal(json_string_value(json_object_get(j, "detail")), e.text);
    assert_string_equal(json_string_value(json_object_get(j, "code")), "invalid");
    assert_string_equal(json_string_value(json_object_get(j, "field")), "values[2].typed");
    assert_int_equal(json_integer_value(json_object_get(j, "line")), 3);
    assert_int_equal(json_integer_value(json_object_get(j, "at")), 17);
    assert_string_equal(json_string_value(json_object_get(j, "request_id")), "r-1");
    json_decref(j);
}

static void a_sentence_cut_inside_a_character_is_still_text(void **state)
{
    struct err e = ERR_INIT;
    char text[sizeof e.text + 8] = "xy"; /* so that the cut falls inside an é of two bytes */
    while (strlen(text) < sizeof e.text)
        strcat(text, "é");
    err_set(&e, ERR_CONFLICT, "%s", text);
    const char *p = wire_problem(&e, 409, NULL, *state, NULL);
    assert_null(strstr(p, "\xEF\xBF\xBD"));
    json_t *j = json_loads(p, 0, NULL);
    assert_non_null(j);
    assert_int_equal(strlen(json_string_value(json_object_get(j, "detail"))), sizeof e.text - 2);
    json_decref(j);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(every_kind_is_taken, arena_up, arena_down),
        cmocka_unit_test_setup_teardown(absent_fields_are_nothing_and_null_is_absent, arena_up,
                                        arena_down),
        cmocka_unit_test_setup_teardown(an_empty_list_is_not_an_absent_one, arena_up, arena_down),
        cmocka_unit_test_setup_teardown(the_smallest_and_the_largest_integers_are_exact, arena_up,
                                        arena_down),
        cmocka_unit_test_setup_teardown(
            a_bad_body_is_refused_with_its_field_and_what_would_be_right, arena_up, arena_down),
        cmocka_unit_test_setup_teardown(a_nul_byte_in_the_body_is_refused_where_it_stands, arena_up,
                                        arena_down),
        cmocka_unit_test_setup_teardown(a_body_nested_too_deep_is_refused_before_it_is_read,
                                        arena_up, arena_down),
        cmocka_unit_test_setup_teardown(a_bracket_inside_a_text_is_not_nesting, arena_up,
                                        arena_down),
        cmocka_unit_test_setup_teardown(a_secret_is_never_repeated, arena_up, arena_down),
        cmocka_unit_test_setup_teardown(a_long_path_keeps_its_end, arena_up, arena_down),
        cmocka_unit_test_setup_teardown(a_query_sets_fields_from_text, arena_up, arena_down),
        cmocka_unit_test_setup_teardown(a_bad_text_is_refused_with_its_field, arena_up, arena_down),
        cmocka_unit_test_setup_teardown(a_parameter_given_twice_is_refused, arena_up, arena_down),
        cmocka_unit_test_setup_teardown(the_limits_of_integers_are_exact_in_text, arena_up,
                                        arena_down),
        cmocka_unit_test_setup_teardown(complete_names_the_first_required_field_that_is_absent,
                                        arena_up, arena_down),
        cmocka_unit_test_setup_teardown(what_is_packed_is_read_back_by_jansson, arena_up,
                                        arena_down),
        cmocka_unit_test_setup_teardown(absent_fields_are_left_out_or_null_or_an_empty_list,
                                        arena_up, arena_down),
        cmocka_unit_test_setup_teardown(quoting_escapes_what_must_be_and_mends_what_is_no_text,
                                        arena_up, arena_down),
        cmocka_unit_test_setup_teardown(a_long_text_outgrows_its_first_buffer_and_stays_whole,
                                        arena_up, arena_down),
        cmocka_unit_test_setup_teardown(a_problem_tells_status_sentence_field_and_place, arena_up,
                                        arena_down),
        cmocka_unit_test_setup_teardown(a_sentence_cut_inside_a_character_is_still_text, arena_up,
                                        arena_down),
    };
    return cmocka_run_group_tests_name("wire", tests, NULL, NULL);
}
