/* SPDX-License-Identifier: MIT
 *
 * catalogue: looking up, standing in, comparing and entering one's own, through whole calls without
 * a socket, over the bundled catalogue.  What is expected is cited beside each check: rows of
 * seed-data/catalogue by file, and the facts of the trade that are common practice.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "api/page.h"
#include "auth/crypto.h"
#include "base/stockno.h"
#include "http/call.h"
#include "store/bundle.h"
#include "store/furnish.h"
#include "store/store_priv.h"

static struct store *st;
static struct arena *a;
static json_t *roots[200];
static size_t root_count;

static int fresh(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    if (!crypto_init(&e) || !store_open(&st, NULL, STORE_MEMORY, &e) || !store_furnish(st, &e))
        fail_msg("%s", e.text);
    a = arena_new();
    return 0;
}

static int gone(void **state)
{
    (void)state;
    while (root_count)
        json_decref(roots[--root_count]);
    arena_free(a);
    store_close(st);
    return 0;
}

/* ---- asking --------------------------------------------------------------------------------- */

struct asked {
    int status;
    const char *text, *etag;
    json_t *json; /* NULL without a body */
};

static struct asked ask_matching(enum method m, const char *path, const char *body,
                                 const char *if_match)
{
    struct call *c = call_new();
    const char *mark = strchr(path, '?');
    c->method = m;
    c->path = mark ? arena_bytes(c->arena, path, (size_t)(mark - path)) : path;
    c->query = mark ? mark + 1 : "";
    c->body = body;
    c->body_n = body ? strlen(body) : 0;
    c->content_type = body ? "application/json" : NULL;
    c->if_match = if_match;
    c->peer = "local";
    c->trusted = true;
    c->now_ms = 1700000000000;
    call_serve(c, st);
    struct asked out = {c->status, c->answer ? arena_bytes(a, c->answer, c->answer_n) : "",
                        arena_text(a, c->etag), NULL};
    call_free(c);
    if (*out.text) {
        json_error_t bad;
        out.json = json_loads(out.text, 0, &bad);
        if (!out.json)
            fail_msg("%s: %s: %s", path, bad.text, out.text);
        assert_true(root_count < ARRAY_LEN(roots));
        roots[root_count++] = out.json;
    }
    return out;
}

static struct asked ask(enum method m, const char *path, const char *body)
{
    return ask_matching(m, path, body, NULL);
}

static json_t *get(const char *path)
{
    struct asked r = ask(GET, path, NULL);
    if (r.status != 200)
        fail_msg("%s: %d %s", path, r.status, r.text);
    return r.json;
}

static const char *url(const char *fmt, const char *one, const char *other)
{
    return arena_printf(a, "/api/%s%s%s%s", fmt, page_escape(a, one), other ? "&b=" : "",
                        other ? page_escape(a, other) : "");
}

static json_t *lookup(const char *text)
{
    return get(url("lookup?text=", text, NULL));
}

static json_t *type(const char *designation)
{
    return get(url("types/", designation, NULL));
}

static json_t *equivalents(const char *designation, const char *query)
{
    return get(arena_printf(a, "/api/types/%s/equivalents%s", page_escape(a, designation), query));
}

static json_t *compare(const char *old, const char *new)
{
    return get(url("compare?a=", old, new));
}

static void refused(struct asked r, int status, const char *field, const char *words)
{
    const char *in = r.json ? json_string_value(json_object_get(r.json, "field")) : NULL;
    if (r.status != status || !strstr(r.text, words) || (field && (!in || strcmp(in, field) != 0)))
        fail_msg("wanted %d in %s with \"%s\", got %d: %s", status, field ? field : "(none)", words,
                 r.status, r.text);
}

static const char *word(json_t *o, const char *name)
{
    const char *s = json_string_value(json_object_get(o, name));
    return s ? s : "";
}

static int64_t number(json_t *o, const char *name)
{
    json_t *v = json_object_get(o, name);
    return json_is_boolean(v) ? json_is_true(v) : json_integer_value(v);
}

/* The object of a list whose member `name` is `value`; NULL for none. */
static json_t *among(json_t *o, const char *list, const char *name, const char *value)
{
    json_t *items = json_object_get(o, list), *item;
    size_t i;
    assert_true(json_is_array(items));
    json_array_foreach(items, i, item) if (strcmp(word(item, name), value) == 0) return item;
    return NULL;
}

static bool lists(json_t *o, const char *list, const char *value)
{
    json_t *item;
    size_t i;
    json_array_foreach(json_object_get(o, list), i,
                       item) if (strcmp(json_string_value(item), value) == 0) return true;
    return false;
}

static json_t *first(json_t *o, const char *list)
{
    return json_array_get(json_object_get(o, list), 0);
}

/* ---- lookup --------------------------------------------------------------------------------- */

static void a_spelling_finds_its_type(void **state)
{
    (void)state;
    static const struct {
        const char *typed, *type, *reason;
    } rows[] = {
        {"6П6С", "6P6S", "exact"},   /* spellings.csv */
        {"6П6C", "6P6S", "reading"}, /* the last letter is a Latin C: header of fold.h */
        {"6p6s", "6P6S", "exact"},   /* types.csv, but for case */
        {"12AX7", "12AX7", "exact"}, /* types.csv */
        {"JAN-12ax7", "12AX7", "reading"},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        json_t *r = lookup(rows[i].typed);
        assert_string_equal(word(r, "verdict"), "is");
        assert_string_equal(word(first(r, "hits"), "type"), rows[i].type);
        assert_string_equal(word(first(r, "hits"), "reason"), rows[i].reason);
        assert_int_equal(json_array_size(json_object_get(r, "decoded")), 0);
    }
}

/* A lost suffix only lists candidates; 6L6 against 6L6GC is the example of the trade. */
static void another_suffix_is_a_candidate_with_what_it_changes(void **state)
{
    (void)state;
    json_t *r = lookup("6SN7GT");
    assert_string_equal(word(first(r, "hits"), "type"), "6SN7GT");
    json_t *b = among(r, "hits", "type", "6SN7GTB");
    assert_non_null(b);
    assert_string_equal(word(b, "reason"), "suffix");
    assert_string_equal(word(b, "suffix"), "GTB");
    assert_true(json_is_array(json_object_get(b, "differs")));
    assert_int_equal(number(b, "name_only"), 0);
    r = lookup("12SN7GT"); /* equivalents.csv names 12SX7GT, types.csv has no row of it */
    assert_int_equal(number(first(r, "hits"), "name_only"), 0);
    assert_int_equal(number(first(lookup("12SX7GT"), "hits"), "name_only"), 1);
}

/* designations.md: ECC is two triodes, 6.3 V by its E. */
static void what_the_catalogue_does_not_know_is_decoded_and_near_ones_offered(void **state)
{
    (void)state;
    json_t *r = lookup("ECC99X");
    assert_string_not_equal(word(r, "verdict"), "is");
    r = lookup("ECC8");
    assert_string_equal(word(r, "verdict"), "unknown");
    assert_non_null(among(r, "near", "type", "ECC83"));
    r = lookup("EBF2");
    assert_string_equal(word(r, "verdict"), "unknown");
    json_t *d = among(r, "decoded", "system", "european");
    assert_non_null(d);
    assert_non_null(strstr(word(d, "heater"), "6.3"));
    refused(ask(GET, "/api/lookup?text=12AX7%3F", NULL), 422, "text", "?");
    refused(ask(GET, "/api/lookup", NULL), 422, "text", "text");
}

/* hazards.csv: 0A2 radioactive. */
static void hazards_stand_beside_the_name(void **state)
{
    (void)state;
    assert_true(lists(first(lookup("OA2"), "hits"), "hazards", "radioactive"));
    assert_true(lists(equivalents("0A2", ""), "hazards", "radioactive"));
    json_t *h = among(type("0A2"), "hazards", "kind", "radioactive");
    assert_non_null(strstr(word(h, "words"), "do not break it"));
    assert_string_equal(word(h, "known"), "found");
}

static void typeahead_offers_what_begins_so_in_either_alphabet(void **state)
{
    (void)state;
    json_t *r = get("/api/typeahead?text=12ax");
    assert_string_equal(word(first(r, "items"), "type"), "12AX7");
    r = get(url("typeahead?limit=50&text=", "6П", NULL));
    assert_non_null(among(r, "items", "type", "6P6S"));
    assert_non_null(among(r, "items", "type", "6P7S"));
    json_t *item;
    size_t i;
    json_array_foreach(json_object_get(r, "items"), i, item)
        assert_null(strstr(word(item, "type"), "12A"));
    r = get("/api/typeahead?text=6&limit=3");
    assert_int_equal(json_array_size(json_object_get(r, "items")), 3);
    refused(ask(GET, "/api/typeahead?text=6&limit=51", NULL), 422, "limit", "50");
}

/* ---- the page of a type ---------------------------------------------------------------------- */

/* types.csv, the line of 12AX7: mu and base are among its found_fields.  The Cyrillic spelling of
 * 6P6S stands in a column of which no row says that it was read. */
static void every_fact_says_how_it_is_known(void **state)
{
    (void)state;
    json_t *t = type("ecc83");
    assert_string_equal(word(t, "designation"), "ECC83");
    t = type("12AX7");
    json_t *mu = among(t, "facts", "field", "mu"), *gm = among(t, "facts", "field", "gm_ma_per_v");
    assert_string_equal(word(mu, "value"), "100");
    assert_string_equal(word(mu, "known"), "found");
    assert_string_equal(word(gm, "value"), "1.6");
    assert_string_equal(word(gm, "unit"), "mA/V");
    assert_string_equal(word(among(t, "facts", "field", "base"), "known"), "found");
    json_t *p = type("6P6S");
    assert_string_equal(word(among(p, "facts", "field", "cyrillic"), "known"), "memory");
    assert_int_equal(number(p, "memory"), 1);
    assert_true(lists(t, "not_stated", "max_vg2_v"));
    assert_non_null(strstr(word(t, "where"), "wikipedia"));
    json_t *pin = among(t, "pins", "pin", "9"); /* the heater's tap */
    assert_true(lists(pin, "carries", "hct"));
    assert_true(lists(among(t, "pins", "pin", "6"), "carries", "a.1"));
    assert_string_equal(word(t, "family"), "12AX7");
}

/* test_points.csv and test_point_values.csv, 12AX7; the marks are compared for every value below.
 */
static void test_points_carry_units_and_their_mark(void **state)
{
    (void)state;
    json_t *p = among(get("/api/types/12AX7/test-points"), "items", "code", "grid");
    assert_string_equal(word(p, "va"), "250 V");
    assert_string_equal(word(p, "vg1"), "-2 V");
    assert_string_equal(word(among(p, "figures", "quantity", "ia"), "nominal"), "1.200 mA");
    assert_string_equal(word(among(p, "figures", "quantity", "ia"), "known"), "found");
    assert_true(json_equal(p, among(type("12AX7"), "test_points", "code", "grid")));
}

/* A value from memory in test_point_values.csv is one in the reply, for every type. */
static void every_nominal_value_goes_out_with_its_mark(void **state)
{
    (void)state;
    sqlite3_stmt *s;
    int memory = 0;
    assert_int_equal(
        sqlite3_prepare_v2(store_handle(st),
                           "SELECT t.designation, p.code, v.quantity, v.how FROM "
                           "test_point_quantity v JOIN test_point p ON p.id = v.test_point_id "
                           "JOIN type t ON t.id = p.type_id",
                           -1, &s, NULL),
        SQLITE_OK);
    while (sqlite3_step(s) == SQLITE_ROW) {
        const char *path = arena_printf(a, "/api/types/%s/test-points",
                                        page_escape(a, (const char *)sqlite3_column_text(s, 0)));
        json_t *p = among(get(path), "items", "code", (const char *)sqlite3_column_text(s, 1));
        json_t *v = among(p, "figures", "quantity", (const char *)sqlite3_column_text(s, 2));
        assert_string_equal(word(v, "known"), (const char *)sqlite3_column_text(s, 3));
        memory += strcmp(word(v, "known"), "memory") == 0;
        json_decref(roots[--root_count]);
    }
    sqlite3_finalize(s);
    assert_true(memory > 0);
}

/* doubts.csv: 6S4S, dissipation. */
static void a_known_contradiction_is_shown_with_its_reason(void **state)
{
    (void)state;
    json_t *d = among(type("6S4S"), "doubts", "check", "dissipation");
    assert_non_null(d);
    assert_non_null(strstr(word(d, "why"), "62 mA at 250 V"));
}

static void a_type_that_is_not_there_says_how_to_go_on(void **state)
{
    (void)state;
    refused(ask(GET, "/api/types/QQ99XY", NULL), 404, "designation", "add it to the catalogue");
}

/* No list of the whole catalogue may lose a mark: each fact of each type is found, memory or own,
 * and memory wherever its column is not in the row's found_fields. */
static void no_figure_of_any_type_goes_out_without_its_mark(void **state)
{
    (void)state;
    sqlite3_stmt *s;
    int facts = 0;
    assert_int_equal(sqlite3_prepare_v2(store_handle(st),
                                        "SELECT designation, ';' || replace(found_fields, ' ', '') "
                                        "|| ';' FROM type WHERE source IS NOT NULL ORDER BY id",
                                        -1, &s, NULL),
                     SQLITE_OK);
    while (sqlite3_step(s) == SQLITE_ROW) {
        struct asked r =
            ask(GET, url("types/", (const char *)sqlite3_column_text(s, 0), NULL), NULL);
        const char *found = (const char *)sqlite3_column_text(s, 1);
        json_t *fact;
        size_t i;
        assert_int_equal(r.status, 200);
        json_array_foreach(json_object_get(r.json, "facts"), i, fact)
        {
            bool read = strstr(found, arena_printf(a, ";%s;", word(fact, "field"))) != NULL;
            assert_string_equal(word(fact, "known"), read ? "found" : "memory");
            facts++;
        }
        json_decref(roots[--root_count]);
    }
    sqlite3_finalize(s);
    assert_true(facts > 1500);
}

/* ---- standing in ------------------------------------------------------------------------------
 */

/* Common practice, no source: 6П6С is the GOST counterpart of an early 6V6GT.  equivalents.csv:
 * "6V6GT,6P6S,close". */
static void the_western_counterpart_of_6p6s_is_6v6gt(void **state)
{
    (void)state;
    json_t *r = equivalents("6П6С", "?direction=serves&steps=1");
    json_t *v6 = among(r, "serves", "type", "6V6GT");
    assert_non_null(v6);
    assert_string_equal(word(v6, "weakest"), "close");
    assert_int_equal(json_array_size(json_object_get(v6, "conditions")), 1);
    assert_non_null(
        strstr(json_string_value(json_array_get(json_object_get(v6, "conditions"), 0)), "350 V"));
    json_t *step = first(v6, "steps");
    assert_string_equal(word(step, "from"), "6V6GT");
    assert_string_equal(word(step, "to"), "6P6S");
    assert_non_null(strstr(word(step, "source"), "Katsnelson"));
    assert_int_equal(number(v6, "remembered"), strcmp(word(step, "known"), "memory") == 0);
    assert_int_equal(json_array_size(json_object_get(r, "instead")), 0);
}

/* equivalents.csv: of "12AX7,7025,improved" the pair was seen, the relation word was not. */
static void a_statement_that_was_read_in_part_counts_as_memory(void **state)
{
    (void)state;
    json_t *r =
        among(equivalents("12AX7", "?relation=improved&steps=1"), "instead", "type", "7025");
    assert_non_null(strstr(word(first(r, "steps"), "where"), "pair seen"));
    assert_string_equal(word(first(r, "steps"), "known"), "memory");
    assert_int_equal(number(r, "remembered"), 1);
    assert_string_equal(word(first(compare("12AX7", "7025"), "stated"), "known"), "memory");
}

/* equivalents.csv: "12AX7,ECC83,same". */
static void ecc83_and_12ax7_are_one_family(void **state)
{
    (void)state;
    json_t *r = equivalents("ECC83", "?steps=0");
    json_t *same = among(r, "same", "type", "12AX7");
    assert_non_null(same);
    assert_string_equal(word(same, "weakest"), "same");
    assert_int_equal(number(first(same, "steps"), "backwards"), 1);
    assert_int_equal(json_array_size(json_object_get(r, "instead")), 0);
    assert_non_null(among(equivalents("12AX7", ""), "same", "type", "ECC83"));
}

/* equivalents.csv: "6SN7GT,12SN7GT,heater-differs".  Common practice, no source: it shares all but
 * the heater, a stop without rewiring. */
static void a_12sn7gt_for_a_6sn7gt_needs_another_heater_supply(void **state)
{
    (void)state;
    json_t *sn = among(equivalents("6SN7GT", ""), "instead", "type", "12SN7GT");
    assert_non_null(sn);
    assert_string_equal(word(sn, "weakest"), "heater-differs");
    assert_true(lists(sn, "relations", "heater-differs"));
    json_t *c = compare("6SN7GT", "12SN7GT");
    assert_true(number(c, "stops") >= 1);
    assert_string_equal(word(first(c, "differences"), "level"), "stop");
    assert_string_equal(word(first(c, "differences"), "aspect"), "heater");
    assert_string_equal(word(first(c, "stated"), "relation"), "heater-differs");
    assert_null(among(equivalents("6SN7GT", "?relation=close"), "instead", "type", "12SN7GT"));
}

/* equivalents.csv: "12AX7,7025,improved", and nothing the other way round. */
static void improved_is_never_read_backwards(void **state)
{
    (void)state;
    json_t *up = among(equivalents("12AX7", "?relation=improved"), "instead", "type", "7025");
    assert_non_null(up);
    assert_string_equal(word(up, "weakest"), "improved");
    json_t *r = equivalents("7025", "?relation=improved");
    assert_null(among(r, "same", "type", "12AX7"));
    assert_null(among(r, "instead", "type", "12AX7"));
    assert_non_null(among(r, "serves", "type", "12AX7"));
}

/* Common practice, no source: 6П7С is near a 6L6 with its anode on a top cap, so it is no drop-in:
 * cap and base wiring are stops. */
static void a_6p7s_in_the_place_of_a_6l6g_is_stopped_by_cap_and_pins(void **state)
{
    (void)state;
    json_t *c = compare("6L6G", "6П7С"), *d;
    bool cap = false, pins = false;
    size_t i;
    json_array_foreach(json_object_get(c, "differences"), i, d)
    {
        if (strcmp(word(d, "level"), "stop") != 0)
            continue;
        cap = cap || strcmp(word(d, "aspect"), "cap") == 0;
        pins = pins || strcmp(word(d, "aspect"), "pins") == 0;
    }
    assert_true(cap);
    assert_true(pins);
}

static void a_type_is_not_compared_with_itself(void **state)
{
    (void)state;
    refused(ask(GET, url("compare?a=", "6P6S", "6П6С"), NULL), 422, "b", "one type");
    refused(ask(GET, "/api/compare?a=6P6S&b=QQ99XY", NULL), 404, "b", "QQ99XY");
    refused(ask(GET, "/api/compare?a=6P6S", NULL), 422, "b", "b");
}

static void put_tube(int64_t id, const char *printed, const char *grade)
{
    const char *sql =
        arena_printf(a,
                     "INSERT INTO tube (id, stock_no, type_id, printed, grade, created_ms) "
                     "SELECT %lld, %lld, id, designation, %s, 0 FROM type WHERE designation = '%s'",
                     (long long)id, (long long)stockno_make(id), grade, printed);
    char *said = NULL;
    if (sqlite3_exec(store_handle(st), sql, NULL, NULL, &said) != SQLITE_OK)
        fail_msg("%s", said);
}

/* Three 12AX7, one of them held, and one ECC83. */
static void stock_stands_beside_each_type(void **state)
{
    (void)state;
    put_tube(100001, "12AX7", "'A'");
    put_tube(100002, "12AX7", "'A'");
    put_tube(100003, "12AX7", "NULL");
    put_tube(100004, "ECC83", "'B'");
    char *said = NULL;
    assert_int_equal(
        sqlite3_exec(store_handle(st),
                     "INSERT INTO customer (id, created_ms) VALUES (1, 0);"
                     "INSERT INTO hold (tube_id, customer_id, until_ms, placed_ms, user_id) "
                     "VALUES (100002, 1, 9, 0, 1)",
                     NULL, NULL, &said),
        SQLITE_OK);
    json_t *r = equivalents("12AX7", "");
    json_t *own = json_object_get(r, "stock");
    assert_int_equal(number(own, "free"), 2);
    assert_int_equal(number(own, "least"), 0);
    assert_int_equal(number(among(own, "by_grade", "grade", "A"), "count"), 1);
    assert_int_equal(number(json_object_get(among(r, "same", "type", "ECC83"), "stock"), "free"),
                     1);
}

/* ---- one's own --------------------------------------------------------------------------------
 */

#define OWN_TYPE                                                                           \
    "{\"designation\":\"1Q2W\",\"source\":\"measured on the bench\",\"class\":\"triode\"," \
    "\"heater_v\":\"6,3\",\"heater_a\":\"0.3\",\"base\":\"octal\",\"cyrillic\":\"1Э2В\"}"

static void an_own_type_is_found_by_its_spellings(void **state)
{
    (void)state;
    struct asked r = ask(POST, "/api/types", OWN_TYPE);
    assert_int_equal(r.status, 201);
    assert_string_equal(word(among(r.json, "facts", "field", "heater_v"), "known"), "own");
    assert_string_equal(word(r.json, "origin"), "own");
    assert_int_equal(number(r.json, "memory"), 0);
    assert_string_equal(word(first(lookup("1q2w"), "hits"), "type"), "1Q2W");
    assert_string_equal(word(first(lookup("1Э2В"), "hits"), "type"), "1Q2W");
    refused(ask(POST, "/api/types", OWN_TYPE), 409, "designation", "already");
}

static void a_wrong_own_type_is_refused_by_field(void **state)
{
    (void)state;
    static const struct {
        const char *fields, *field, *words;
    } rows[] = {
        {"\"designation\":\"1Q?W\",\"source\":\"x\"", "designation", "?"},
        {"\"designation\":\"1Q2W\"", "source", "source"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"heater_v\":6.3", "heater_v", "text"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"heater_v\":\"-6.3\"", "heater_v", "0"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"heater_v\":\"6300\"", "heater_v", "250"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"sections\":5", "sections", "4"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"pins\":\"1=q\"", "pins", "q"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"heating\":\"gas\"", "heating", "indirect"},
        {"\"designation\":\"12ax7\",\"source\":\"x\"", "designation", "12AX7"},
        {"\"designation\":\"12AX7\",\"source\":\"x\"", "designation", "change it"},
        {"\"designation\":\"6П6С\",\"source\":\"x\"", "designation", "6P6S"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"how\":\"found\"", "how", "how"},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct asked r = ask(POST, "/api/types", arena_printf(a, "{%s}", rows[i].fields));
        refused(r, r.status == 409 ? 409 : 422, rows[i].field, rows[i].words);
    }
}

/* equivalents.csv names 12SX7GT; types.csv has no row of it. */
static void a_type_known_by_its_name_alone_takes_own_figures(void **state)
{
    (void)state;
    assert_int_equal(json_array_size(json_object_get(type("12SX7GT"), "facts")), 0);
    struct asked r = ask(POST, "/api/types",
                         "{\"designation\":\"12SX7GT\",\"source\":\"own sheet\","
                         "\"heater_v\":\"12.6\",\"class\":\"twin triode\",\"sections\":2}");
    assert_int_equal(r.status, 201);
    assert_string_equal(word(among(r.json, "facts", "field", "sections"), "value"), "2");
    assert_string_equal(word(r.json, "origin"), "own");
}

static void own_figures_take_the_place_of_bundled_ones_and_survive(void **state)
{
    (void)state;
    static const char *const body = "{\"source\":\"own sheet\",\"class\":\"twin triode\","
                                    "\"heater_v\":\"12.6\",\"max_pa_w\":\"1.2\"}";
    refused(ask(PUT, "/api/types/12AX7", body), 422, NULL, "If-Match");
    struct asked was = ask(GET, "/api/types/12AX7", NULL);
    struct asked r =
        ask_matching(PUT, "/api/types/12AX7", body, arena_printf(a, "\"%s\"", was.etag));
    assert_int_equal(r.status, 200);
    assert_string_equal(word(among(r.json, "facts", "field", "max_pa_w"), "value"), "1.2");
    assert_string_equal(word(among(r.json, "facts", "field", "max_pa_w"), "known"), "own");
    refused(ask_matching(PUT, "/api/types/12AX7", body, arena_printf(a, "\"%s\"", was.etag)), 409,
            "If-Match", "read it again");
    struct err e = ERR_INIT;
    sqlite3_exec(store_handle(st), "DELETE FROM setting WHERE key = 'catalogue.bundle'", NULL, NULL,
                 NULL);
    assert_true(store_furnish(st, &e));
    assert_string_equal(word(among(type("12AX7"), "facts", "field", "max_pa_w"), "value"), "1.2");
    assert_non_null(among(equivalents("12AX7", ""), "same", "type", "ECC83"));
}

/* Heater 12.6 V against 6.3 V in types.csv. */
static void a_statement_that_the_figures_contradict_is_refused(void **state)
{
    (void)state;
    refused(ask(POST, "/api/equivalences",
                "{\"from\":\"6SN7GT\",\"to\":\"12SN7GT\",\"relation\":\"same\",\"source\":\"x\"}"),
            409, "relation", "heater");
    assert_null(among(equivalents("6SN7GT", ""), "same", "type", "12SN7GT"));
    refused(ask(POST, "/api/equivalences",
                "{\"from\":\"6SN7GT\",\"to\":\"6P6S\",\"relation\":\"close\",\"source\":\"x\"}"),
            422, "conditions", "what differs");
    refused(ask(POST, "/api/equivalences",
                "{\"from\":\"6SN7GT\",\"to\":\"6sn7gt\",\"relation\":\"same\",\"source\":\"x\"}"),
            422, "to", "itself");
    refused(ask(POST, "/api/equivalences",
                "{\"from\":\"QQ99XY\",\"to\":\"6P6S\",\"relation\":\"same\",\"source\":\"x\"}"),
            404, "from", "QQ99XY");
}

static void an_own_statement_joins_families_until_it_is_withdrawn(void **state)
{
    (void)state;
    assert_int_equal(ask(POST, "/api/types", OWN_TYPE).status, 201);
    put_tube(100001, "1Q2W", "NULL");
    assert_int_equal(ask(POST, "/api/types",
                         "{\"designation\":\"VZ77\",\"source\":\"own sheet\",\"heater_v\":\"6.3\"}")
                         .status,
                     201);
    struct asked r = ask(POST, "/api/equivalences",
                         "{\"from\":\"VZ77\",\"to\":\"1q2w\",\"relation\":\"same\",\"source\":"
                         "\"both opened and compared\"}");
    assert_int_equal(r.status, 201);
    assert_string_equal(word(r.json, "to"), "1Q2W");
    json_t *same = among(equivalents("VZ77", ""), "same", "type", "1Q2W");
    assert_string_equal(word(first(same, "steps"), "known"), "own");
    assert_string_equal(word(type("VZ77"), "family"), "1Q2W"); /* the lower row names it */
    json_t *tube = get(arena_printf(a, "/api/tubes/%lld", (long long)stockno_make(100001)));
    assert_string_equal(word(tube, "family"), "1Q2W");
    r = ask(DELETE, "/api/equivalences?from=VZ77&to=1Q2W", NULL);
    assert_int_equal(r.status, 204);
    assert_string_equal(word(type("VZ77"), "family"), "");
    refused(ask(DELETE, "/api/equivalences?from=VZ77&to=1Q2W", NULL), 404, NULL, "bundled");
}

static void an_own_statement_overrides_the_bundled_one_and_says_so(void **state)
{
    (void)state;
    struct asked r = ask(POST, "/api/equivalences",
                         "{\"from\":\"12AX7\",\"to\":\"ECC83\",\"relation\":\"close\","
                         "\"conditions\":\"hum differs in our amplifier\",\"source\":\"tried\"}");
    assert_int_equal(r.status, 201);
    json_t *t = type("ECC83");
    json_t *aside = among(t, "set_aside", "relation", "same");
    assert_non_null(aside);
    assert_string_equal(word(aside, "from"), "12AX7");
    assert_int_equal(ask(DELETE, "/api/equivalences?from=12AX7&to=ECC83", NULL).status, 204);
    assert_int_equal(json_array_size(json_object_get(type("ECC83"), "set_aside")), 0);
    assert_string_equal(word(type("ECC83"), "family"), "12AX7");
}

#define OWN_POINT                                                                                 \
    "{\"code\":\"low\",\"title\":\"Plate 100 V, grid -1 V\",\"held\":\"grid\",\"va\":\"0.1 kV\"," \
    "\"vg1\":\"-1000 mV\",\"source\":\"house rule\",\"figures\":[{\"quantity\":\"gm\","           \
    "\"nominal\":\"1250 micromho\",\"low\":\"0.9 mA/V\"}]}"

static void an_own_test_point_is_kept_in_its_quantitys_unit(void **state)
{
    (void)state;
    struct asked r = ask(POST, "/api/types/12AX7/test-points", OWN_POINT);
    assert_int_equal(r.status, 201);
    assert_string_equal(word(r.json, "va"), "100 V");
    assert_string_equal(word(r.json, "vg1"), "-1 V");
    assert_string_equal(word(r.json, "known"), "own");
    json_t *gm = among(r.json, "figures", "quantity", "gm");
    assert_string_equal(word(gm, "nominal"), "1.250 mA/V");
    assert_string_equal(word(gm, "low"), "0.900 mA/V");
    assert_non_null(among(get("/api/types/12AX7/test-points"), "items", "code", "low"));
    assert_non_null(among(get("/api/types/12AX7/test-points"), "items", "code", "grid"));
    refused(ask(POST, "/api/types/12AX7/test-points", OWN_POINT), 409, "code", "low");
}

static void a_wrong_test_point_is_refused_by_field(void **state)
{
    (void)state;
    static const struct {
        const char *fields, *field, *words;
    } rows[] = {
        {"\"held\":\"grid\",\"va\":\"250\",\"vg1\":\"-2 V\"", "va", "no unit"},
        {"\"held\":\"grid\",\"va\":\"250 mA\",\"vg1\":\"-2 V\"", "va", "mA"},
        {"\"held\":\"grid\",\"va\":250,\"vg1\":\"-2 V\"", "va", "text"},
        {"\"held\":\"grid\",\"va\":\"250 V\"", "vg1", "must be given"},
        {"\"held\":\"cathode\",\"va\":\"250 V\",\"vg1\":\"-2 V\",\"rk\":\"470 ohm\"", "vg1",
         "must stay empty"},
        {"\"held\":\"magnet\",\"va\":\"250 V\"", "held", "cathode"},
        {"\"held\":\"grid\",\"va\":\"250 V\",\"vg1\":\"-2 V\",\"section\":\"x\"", "section", "t"},
        {"\"held\":\"grid\",\"va\":\"250 V\",\"vg1\":\"-2 V\",\"figures\":[{\"quantity\":\"gm\","
         "\"nominal\":\"1.6\"}]",
         "figures[0]", "no unit"},
        {"\"held\":\"grid\",\"va\":\"250 V\",\"vg1\":\"-2 V\",\"figures\":[{\"quantity\":\"zz\","
         "\"nominal\":\"1.6 mA\"}]",
         "figures[0]", "there are"},
        {"\"held\":\"grid\",\"va\":\"250 V\",\"vg1\":\"-2 V\",\"figures\":[{\"quantity\":\"gm\","
         "\"low\":\"2 mA/V\",\"high\":\"1 mA/V\"}]",
         "figures[0]", "above"},
        {"\"held\":\"grid\",\"va\":\"250 V\",\"vg1\":\"-2 V\",\"figures\":[{\"quantity\":\"gm\"}]",
         "figures[0]", "nominal"},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++)
        refused(ask(POST, "/api/types/12AX7/test-points",
                    arena_printf(a, "{\"code\":\"x\",\"title\":\"x\",\"source\":\"x\",%s}",
                                 rows[i].fields)),
                422, rows[i].field, rows[i].words);
    refused(ask(POST, "/api/types/12AX7/test-points",
                "{\"code\":\"A B\",\"title\":\"x\",\"source\":\"x\",\"held\":\"none\"}"),
            422, "code", "small letters");
}

/* ---- one's own, in bulk -----------------------------------------------------------------------
 */

static json_t *load(const char *path, const char *csv, int status)
{
    char file[] = "/tmp/quadrille-test-XXXXXX";
    int fd = mkstemp(file);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, csv, strlen(csv)), (ssize_t)strlen(csv));
    close(fd);
    struct call *c = call_new();
    c->method = POST;
    c->path = path;
    c->query = "";
    c->content_type = "text/csv";
    c->upload = file;
    c->peer = "local";
    c->trusted = true;
    c->now_ms = 1700000000000;
    call_serve(c, st);
    unlink(file);
    const char *text = arena_bytes(a, c->answer, c->answer_n);
    if (c->status != status)
        fail_msg("%s: %d %s", path, c->status, text);
    call_free(c);
    return roots[root_count++] = json_loads(text, 0, NULL);
}

static void counts(json_t *r, int64_t accepted, int64_t unchanged, int64_t refused_lines)
{
    if (number(r, "accepted") != accepted || number(r, "unchanged") != unchanged ||
        number(r, "refused") != refused_lines)
        fail_msg("wanted %d, %d, %d: %s", (int)accepted, (int)unchanged, (int)refused_lines,
                 json_dumps(r, 0));
}

static void types_are_loaded_in_bulk_and_again_change_nothing(void **state)
{
    (void)state;
    static const char csv[] = "designation,source,class,heater_v,sections,pins\n"
                              "1Q2W,own sheet,triode,6.3,1,\n"
                              "1Q3W,own sheet,triode,6300,1,\n"
                              "12ax7,own sheet,triode,6.3,1,\n"
                              "1Q4W,,triode,6.3,1,\n"
                              "1Q5W,own sheet,triode,6.3,1,9=q\n"
                              "12SX7GT,own sheet,twin triode,12.6,2,\n";
    json_t *r = load("/api/load/types", csv, 200);
    counts(r, 2, 0, 4);
    json_t *p = json_object_get(r, "problems");
    static const struct {
        int line;
        const char *field, *came;
    } wanted[] = {{3, "heater_v", "6300"},
                  {4, "designation", "12ax7"},
                  {5, "source", ""},
                  {6, "pins", "9=q"}};
    for (size_t i = 0; i < ARRAY_LEN(wanted); i++) {
        json_t *one = json_array_get(p, i);
        assert_int_equal(number(one, "line"), wanted[i].line);
        assert_string_equal(word(one, "field"), wanted[i].field);
        assert_string_equal(word(one, "came"), wanted[i].came);
    }
    counts(load("/api/load/types", csv, 200), 0, 2, 4);
    assert_string_equal(word(type("12SX7GT"), "origin"), "own");
    counts(load("/api/load/types", "designation,source,class,heater_v\n1Q2W,own sheet,triode,6.2\n",
                200),
           1, 0, 0);
    assert_string_equal(word(among(type("1Q2W"), "facts", "field", "heater_v"), "value"), "6.2");
}

static void statements_are_loaded_in_bulk_and_contradictions_named(void **state)
{
    (void)state;
    static const char csv[] = "from,to,relation,conditions,source\n"
                              "6SN7GT,12SN7GT,same,,tried\n"
                              "6SN7GT,6P6S,close,,tried\n"
                              "QQ99XY,6P6S,same,,tried\n"
                              "6SN7GT,6P6S,twin,,tried\n"
                              "6P6S,6П7С,cap-differs,anode on a top cap,tried\n";
    json_t *r = load("/api/load/equivalences", csv, 200), *p = json_object_get(r, "problems");
    counts(r, 1, 0, 4);
    static const char *const fields[] = {"relation", "conditions", "from", "relation"};
    for (size_t i = 0; i < ARRAY_LEN(fields); i++) {
        assert_int_equal(number(json_array_get(p, i), "line"), (int)i + 2);
        assert_string_equal(word(json_array_get(p, i), "field"), fields[i]);
    }
    assert_non_null(strstr(word(json_array_get(p, 0), "sentence"), "heater"));
    json_t *s = among(equivalents("6P6S", "?steps=1"), "instead", "type", "6P7S");
    assert_string_equal(word(first(s, "steps"), "known"), "own");
    counts(load("/api/load/equivalences", csv, 200), 0, 1, 4);
}

/* ---- plans ----------------------------------------------------------------------------------- */

/* The statements that read the whole catalogue into memory, once a revision. */
static bool reads_the_whole_catalogue(const char *sql)
{
    return strstr(sql, "FROM type ORDER BY id") || strstr(sql, "WHERE d.text <> t.designation") ||
           strstr(sql, "FROM equivalence s JOIN type f");
}

static void no_question_scans_a_table(void **state)
{
    (void)state;
    const sqlite3_stmt *before[200]; /* furnishing's: no question asks them */
    size_t n = 0;
    int looked_at = 0;
    for (sqlite3_stmt *s = NULL; (s = sqlite3_next_stmt(store_handle(st), s)) != NULL;)
        before[n++] = s;
    assert_true(n < ARRAY_LEN(before));
    lookup("6П6C");
    get("/api/typeahead?text=6");
    type("12AX7");
    equivalents("12AX7", "");
    compare("12AX7", "12AT7");
    for (sqlite3_stmt *s = NULL; (s = sqlite3_next_stmt(store_handle(st), s)) != NULL;) {
        const char *sql = sqlite3_sql(s);
        sqlite3_stmt *plan;
        bool old = false;
        for (size_t i = 0; i < n; i++)
            old = old || before[i] == s;
        if (old || !sqlite3_stmt_readonly(s) || strncmp(sql, "SELECT", 6) != 0 ||
            reads_the_whole_catalogue(sql))
            continue;
        assert_int_equal(sqlite3_prepare_v2(store_handle(st),
                                            arena_printf(a, "EXPLAIN QUERY PLAN %s", sql), -1,
                                            &plan, NULL),
                         SQLITE_OK);
        while (sqlite3_step(plan) == SQLITE_ROW) {
            const char *step = (const char *)sqlite3_column_text(plan, 3);
            /* the t of the count is its bounded inner select */
            bool bounded = strcmp(step, "SCAN t") == 0 && strstr(sql, "LIMIT :visit) t");
            if (strncmp(step, "SCAN", 4) == 0 && !bounded)
                fail_msg("%s: %s", step, sql);
        }
        sqlite3_finalize(plan);
        looked_at++;
    }
    assert_true(looked_at >= 10);
}

int main(void)
{
#define FRESH(t) cmocka_unit_test_setup_teardown(t, fresh, gone)
    const struct CMUnitTest tests[] = {
        FRESH(a_spelling_finds_its_type),
        FRESH(another_suffix_is_a_candidate_with_what_it_changes),
        FRESH(what_the_catalogue_does_not_know_is_decoded_and_near_ones_offered),
        FRESH(hazards_stand_beside_the_name),
        FRESH(typeahead_offers_what_begins_so_in_either_alphabet),
        FRESH(every_fact_says_how_it_is_known),
        FRESH(test_points_carry_units_and_their_mark),
        FRESH(every_nominal_value_goes_out_with_its_mark),
        FRESH(a_known_contradiction_is_shown_with_its_reason),
        FRESH(a_type_that_is_not_there_says_how_to_go_on),
        FRESH(no_figure_of_any_type_goes_out_without_its_mark),
        FRESH(the_western_counterpart_of_6p6s_is_6v6gt),
        FRESH(a_statement_that_was_read_in_part_counts_as_memory),
        FRESH(ecc83_and_12ax7_are_one_family),
        FRESH(a_12sn7gt_for_a_6sn7gt_needs_another_heater_supply),
        FRESH(improved_is_never_read_backwards),
        FRESH(a_6p7s_in_the_place_of_a_6l6g_is_stopped_by_cap_and_pins),
        FRESH(a_type_is_not_compared_with_itself),
        FRESH(stock_stands_beside_each_type),
        FRESH(an_own_type_is_found_by_its_spellings),
        FRESH(a_wrong_own_type_is_refused_by_field),
        FRESH(a_type_known_by_its_name_alone_takes_own_figures),
        FRESH(own_figures_take_the_place_of_bundled_ones_and_survive),
        FRESH(a_statement_that_the_figures_contradict_is_refused),
        FRESH(an_own_statement_joins_families_until_it_is_withdrawn),
        FRESH(an_own_statement_overrides_the_bundled_one_and_says_so),
        FRESH(an_own_test_point_is_kept_in_its_quantitys_unit),
        FRESH(a_wrong_test_point_is_refused_by_field),
        FRESH(types_are_loaded_in_bulk_and_again_change_nothing),
        FRESH(statements_are_loaded_in_bulk_and_contradictions_named),
        FRESH(no_question_scans_a_table),
    };
    return cmocka_run_group_tests_name("catalogue", tests, NULL, NULL);
}
