/* SPDX-License-Identifier: MIT
 *
 * catalogue: looking up, standing in and comparing, through whole calls without a socket, over the
 * bundled catalogue.  What is expected is cited beside each check: rows of seed-data/catalogue by
 * file, and the facts of the trade that are common practice.
 */
#include "catalogue_ask.h"

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
        FRESH(no_question_scans_a_table),
    };
    return cmocka_run_group_tests_name("catalogue", tests, NULL, NULL);
}
