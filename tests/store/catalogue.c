/* SPDX-License-Identifier: MIT
 *
 * catalogue: the bundled catalogue in the tables, and what a newer bundle does to them.  What is
 * expected comes from seed-data/catalogue (read here line by line with lib's own reader) and from
 * the promises in store/bundle.h.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "auth/crypto.h"
#include "store/bundle.h"
#include "store/catalogue.h"
#include "store/furnish.h"
#include "store/quantity.h"
#include "store/setting.h"
#include "store/spelling.h"
#include "store/store_priv.h"

static struct store *st;
static struct arena *a;

static int empty(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    if (!crypto_init(&e) || !store_open(&st, NULL, STORE_MEMORY, &e))
        fail_msg("%s", e.text);
    a = arena_new();
    return 0;
}

static int furnished(void **state)
{
    struct err e = ERR_INIT;
    empty(state);
    if (!store_furnish(st, &e))
        fail_msg("%s", e.text);
    return 0;
}

static int gone(void **state)
{
    (void)state;
    arena_free(a);
    store_close(st);
    return 0;
}

/* ---- asking the tables --------------------------------------------------------------------- */

static void run(const char *sql)
{
    char *said = NULL;
    if (sqlite3_exec(store_handle(st), sql, NULL, NULL, &said) != SQLITE_OK)
        fail_msg("%s\n  %s", said, sql);
}

/* The first column of the first row as text; "" for NULL, "(no row)" for none. */
static const char *ask(const char *sql)
{
    sqlite3_stmt *s;
    const char *out = "(no row)";
    if (sqlite3_prepare_v2(store_handle(st), sql, -1, &s, NULL) != SQLITE_OK)
        fail_msg("%s\n  %s", sqlite3_errmsg(store_handle(st)), sql);
    if (sqlite3_step(s) == SQLITE_ROW) {
        const char *t = (const char *)sqlite3_column_text(s, 0);
        out = arena_text(a, t ? t : "");
    }
    sqlite3_finalize(s);
    return out;
}

static int64_t count(const char *sql)
{
    return strtoll(ask(sql), NULL, 10);
}

/* All that the catalogue's tables hold, ids too. */
static const char *picture(void)
{
    return ask(
        "SELECT json_array("
        "(SELECT json_group_array(json_array(id, designation, family_id, heater_v, pins, source, "
        "how, found_fields, found_where, origin, version, notes)) FROM type),"
        "(SELECT json_group_array(json_array(id, type_id, text, kind, source, how, origin)) "
        "FROM designation),"
        "(SELECT json_group_array(json_array(key, designation_id)) FROM designation_key),"
        "(SELECT json_group_array(json_array(id, from_id, to_id, relation, conditions, source, "
        "how, found_where, origin)) FROM equivalence),"
        "(SELECT json_group_array(json_array(id, name)) FROM family),"
        "(SELECT json_group_array(json_array(id, type_id, code, va_v, retired_ms)) "
        "FROM test_point),"
        "(SELECT json_group_array(json_array(test_point_id, quantity, nominal, low, high, how)) "
        "FROM test_point_quantity),"
        "(SELECT json_group_array(json_array(id, type_id, kind, words)) FROM hazard),"
        "(SELECT json_group_array(json_array(id, type_id, kind, why)) FROM doubt))");
}

/* ---- bundles of our own --------------------------------------------------------------------- */

static struct bundle packed(void)
{
    struct bundle b;
    bundle_packed(&b);
    return b;
}

/* The file with the first `old` in it replaced. */
static void edit(struct bundle *b, enum catalogue_file f, const char *old, const char *new)
{
    const char *at = strstr(b->file[f].bytes, old);
    if (!at)
        fail_msg("%s does not hold \"%s\"", catalogue_files[f], old);
    b->file[f].bytes = arena_printf(a, "%.*s%s%s", (int)(at - b->file[f].bytes), b->file[f].bytes,
                                    new, at + strlen(old));
    b->file[f].n = strlen(b->file[f].bytes);
}

/* Leave out every line that begins so. */
static void leave_out(struct bundle *b, enum catalogue_file f, const char *begin)
{
    char *out = arena_alloc(a, b->file[f].n + 1);
    size_t n = 0;
    for (const char *line = b->file[f].bytes; *line;) {
        size_t len = strcspn(line, "\n");
        len += line[len] == '\n';
        if (strncmp(line, begin, strlen(begin)) != 0) {
            memcpy(out + n, line, len);
            n += len;
        }
        line += len;
    }
    assert_true(n < b->file[f].n);
    b->file[f].bytes = out;
    b->file[f].n = n;
}

static bool load(const struct bundle *b, bool *changed, struct err *e)
{
    store_as(st, 1, 1700000000000);
    assert_true(store_begin(st, e) && store_mark(st, e));
    bool ok = bundle_load(changed, st, b, e);
    if (ok)
        assert_true(store_keep(st, e));
    else
        store_undo(st);
    assert_true(store_commit(st, NULL));
    return ok;
}

static void load_well(const struct bundle *b)
{
    struct err e = ERR_INIT;
    bool changed;
    if (!load(b, &changed, &e))
        fail_msg("%s", e.text);
    assert_true(changed);
}

/* ---- what is there after furnishing --------------------------------------------------------- */

/* Lines of a file without its head line; no field of these files holds a line break. */
static int64_t lines(const char *file)
{
    char path[100];
    int64_t n = -1;
    snprintf(path, sizeof path, "seed-data/catalogue/%s", file);
    FILE *in = fopen(path, "rb");
    if (!in)
        fail_msg("%s cannot be opened; run the tests from the top folder", path);
    for (int c; (c = fgetc(in)) != EOF;)
        n += c == '\n';
    fclose(in);
    return n;
}

static void every_bundled_row_is_in_its_table(void **state)
{
    (void)state;
    assert_int_equal(count("SELECT count(*) FROM type WHERE source IS NOT NULL"),
                     lines("types.csv"));
    assert_int_equal(count("SELECT count(*) FROM equivalence"), lines("equivalents.csv"));
    assert_int_equal(count("SELECT count(*) FROM test_point"), lines("test_points.csv"));
    assert_int_equal(count("SELECT count(*) FROM test_point_quantity"),
                     lines("test_point_values.csv"));
    assert_int_equal(count("SELECT count(*) FROM hazard"), lines("hazards.csv"));
    assert_int_equal(count("SELECT count(*) FROM doubt"), lines("doubts.csv"));
    assert_int_equal(count("SELECT count(*) FROM designation d WHERE NOT EXISTS "
                           "(SELECT 1 FROM designation_key k WHERE k.designation_id = d.id)"),
                     0);
    assert_int_equal(count("SELECT count(*) FROM type t WHERE NOT EXISTS (SELECT 1 FROM "
                           "designation d WHERE d.type_id = t.id AND d.text = t.designation)"),
                     0);
}

/* types.csv, the line of 12AX7. */
static void a_row_keeps_its_figures_as_written_and_where_they_were_read(void **state)
{
    (void)state;
    assert_string_equal(ask("SELECT max_pa_w FROM type WHERE designation = '12AX7'"), "1.0");
    assert_string_equal(ask("SELECT how FROM type WHERE designation = '12AX7'"), "found");
    assert_string_equal(ask("SELECT found_fields FROM type WHERE designation = '12AX7'"),
                        "heater_v;heater_a;max_pa_w;max_va_v;va_v;vg1_v;ia_ma;mu;rp_kohm;pins;"
                        "base;gm_ma_per_v;max_vhk_v");
    assert_non_null(
        strstr(ask("SELECT found_where FROM type WHERE designation = '12AX7'"), "wikipedia"));
    assert_string_equal(ask("SELECT source FROM type WHERE designation = '12AX7'"),
                        "RCA Receiving Tube Manual RC-30 (1975) tube data section");
}

/* test_point_values.csv: 12AX7 at 250 V, -2 V: 1.2 mA found; 6DJ8 at 90 V, -1.3 V: 12.5 mA/V from
 * memory; ia has 3 decimals in mA. */
static void nominal_values_are_at_their_quantitys_decimals(void **state)
{
    (void)state;
    static const char at[] = "SELECT %s FROM test_point_quantity v JOIN test_point p ON p.id = "
                             "v.test_point_id JOIN type t ON t.id = p.type_id JOIN quantity q ON "
                             "q.code = v.quantity WHERE t.designation = '%s' AND p.code = "
                             "'grid' AND v.quantity = '%s'";
    assert_string_equal(ask(arena_printf(a, at,
                                         "printf('%.*f', 3, v.nominal / pow(10, "
                                         "q.decimals))",
                                         "12AX7", "ia")),
                        "1.200");
    assert_string_equal(ask(arena_printf(a, at, "v.how", "12AX7", "ia")), "found");
    assert_string_equal(ask(arena_printf(a, at, "v.how", "6DJ8", "gm")), "memory");
}

/* A designation that occurs in a statement only is a type of which no figure is known. */
static void a_type_named_in_a_statement_only_is_there_without_figures(void **state)
{
    (void)state;
    assert_true(count("SELECT count(*) FROM type WHERE source IS NULL") > 0);
    assert_int_equal(count("SELECT count(*) FROM type WHERE source IS NULL AND (heater_v IS NOT "
                           "NULL OR base IS NOT NULL OR pins IS NOT NULL OR how <> 'memory')"),
                     0);
}

/* Both from equivalents.csv: "12AX7,ECC83,same". */
static void ecc83_and_12ax7_are_one_family(void **state)
{
    (void)state;
    assert_string_equal(ask("SELECT f.name FROM type t JOIN family f ON f.id = t.family_id "
                            "WHERE t.designation = 'ECC83'"),
                        "12AX7");
    assert_string_equal(ask("SELECT f.name FROM type t JOIN family f ON f.id = t.family_id "
                            "WHERE t.designation = '12AX7'"),
                        "12AX7");
    assert_int_equal(count("SELECT count(*) FROM (SELECT family_id FROM type WHERE family_id IS "
                           "NOT NULL GROUP BY family_id HAVING count(*) < 2)"),
                     0);
}

static void resolves(const char *text, const char *designation)
{
    struct err e = ERR_INIT;
    int64_t id;
    if (!store_type_resolve(&id, st, text, a, &e))
        fail_msg("%s: %s", text, e.text);
    assert_string_equal(
        ask(arena_printf(a, "SELECT designation FROM type WHERE id = %lld", (long long)id)),
        designation);
}

/* Folding as in the header of designation/fold.h; the middle one has a Latin C. */
static void a_type_is_found_by_any_spelling(void **state)
{
    (void)state;
    resolves("6П6С", "6P6S");
    resolves("6П6C", "6P6S");
    resolves("6p6s", "6P6S");
    resolves("12ax7", "12AX7");
    resolves("JAN 12AX7", "12AX7");
}

static void unresolved(const char *text, enum err_code code, const char *words)
{
    struct err e = ERR_INIT;
    int64_t id;
    if (store_type_resolve(&id, st, text, a, &e))
        fail_msg("%s was resolved", text);
    if (e.code != code || strcmp(e.field, "printed") != 0 || !strstr(e.text, words))
        fail_msg("%s: code %d in %s: %s", text, (int)e.code, e.field, e.text);
}

/* The first by tests/cases/designation.tsv: 6C5 is a reading of 6С5 only; the second has a suffix
 * that is in no file. */
static void a_text_that_names_no_one_type_is_refused_with_what_there_is(void **state)
{
    (void)state;
    unresolved("6С5", ERR_NOT_FOUND, "6C5");
    unresolved("6SN7WGTX", ERR_NOT_FOUND, "add it to the catalogue");
    unresolved("12AX7?", ERR_INVALID, "?");
    unresolved("QQ99XY", ERR_NOT_FOUND, "look it up");
    run("INSERT INTO type (designation, how, origin) VALUES ('6P6C', 'own', 'own')");
    run("INSERT INTO designation (type_id, text, how, origin) "
        "VALUES (last_insert_rowid(), '6P6C', 'own', 'own')");
    store_as(st, 1, 1);
    struct err e = ERR_INIT;
    assert_true(store_begin(st, &e) && store_mark(st, &e) && spelling_keys_derive(NULL, st, &e) &&
                catalogue_changed(st, &e) && store_keep(st, &e) && store_commit(st, &e));
    resolves("6P6C", "6P6C"); /* the very letters win over a reading of 6П6С */
    resolves("6П6С", "6P6S");
}

/* ---- loading again -------------------------------------------------------------------------- */

static void furnishing_twice_changes_nothing(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    const char *before = picture();
    int64_t revision = setting_number(st, "catalogue.revision");
    int64_t journal = count("SELECT count(*) FROM journal");
    assert_true(store_furnish(st, &e));
    assert_string_equal(picture(), before);
    assert_int_equal(setting_number(st, "catalogue.revision"), revision);
    assert_int_equal(count("SELECT count(*) FROM journal"), journal);
}

/* Even where the note of what was loaded is lost. */
static void loading_the_same_rows_again_changes_no_row(void **state)
{
    (void)state;
    struct bundle b = packed();
    const char *before = picture();
    run("DELETE FROM setting WHERE key = 'catalogue.bundle'");
    load_well(&b);
    assert_string_equal(picture(), before);
}

static void a_corrected_type_keeps_its_id(void **state)
{
    (void)state;
    struct bundle b = packed();
    const char *id = ask("SELECT id FROM type WHERE designation = '12AX7'");
    edit(&b, FILE_TYPES, "12AX7,RETMA,twin triode,2,12.6,0.15,indirect,noval B9A",
         "12AX7,RETMA,twin triode,2,12.6,0.150,indirect,noval B9A");
    load_well(&b);
    assert_string_equal(ask("SELECT heater_a FROM type WHERE designation = '12AX7'"), "0.150");
    assert_string_equal(ask("SELECT id FROM type WHERE designation = '12AX7'"), id);
    assert_string_equal(ask("SELECT version FROM type WHERE designation = '12AX7'"), "2");
    assert_string_equal(ask("SELECT version FROM type WHERE designation = 'ECC83'"), "1");
}

static void a_statement_that_was_withdrawn_goes_and_its_family_with_it(void **state)
{
    (void)state;
    struct bundle b = packed();
    leave_out(&b, FILE_EQUIVALENTS, "12AX7,ECC83,");
    load_well(&b);
    assert_int_equal(count("SELECT count(*) FROM equivalence e JOIN type f ON f.id = e.from_id "
                           "JOIN type t ON t.id = e.to_id WHERE f.designation = '12AX7' AND "
                           "t.designation = 'ECC83'"),
                     0);
    assert_string_not_equal(ask("SELECT ifnull(f.name, '') FROM type t LEFT JOIN family f ON "
                                "f.id = t.family_id WHERE t.designation = 'ECC83'"),
                            "12AX7");
}

static void a_type_that_vanished_from_the_bundle_is_kept(void **state)
{
    (void)state;
    struct bundle b = packed();
    leave_out(&b, FILE_TYPES, "12AX7,");
    leave_out(&b, FILE_EQUIVALENTS, "12AX7,");
    const char *row = ask("SELECT json_array(id, heater_v, source) FROM type "
                          "WHERE designation = '12AX7'");
    while (strstr(b.file[FILE_EQUIVALENTS].bytes, ",12AX7,"))
        edit(&b, FILE_EQUIVALENTS, ",12AX7,", ",12AX7X,");
    leave_out(&b, FILE_TEST_POINTS, "12AX7,");
    leave_out(&b, FILE_TEST_POINT_VALUES, "12AX7,");
    load_well(&b);
    assert_string_equal(ask("SELECT json_array(id, heater_v, source) FROM type "
                            "WHERE designation = '12AX7'"),
                        row);
    resolves("12AX7", "12AX7");
    assert_int_equal(count("SELECT count(*) FROM test_point p JOIN type t ON t.id = p.type_id "
                           "WHERE t.designation = '12AX7' AND p.retired_ms IS NULL"),
                     0);
}

static void a_test_point_whose_conditions_changed_is_retired_and_replaced(void **state)
{
    (void)state;
    struct bundle b = packed();
    const char *old = ask("SELECT p.id FROM test_point p JOIN type t ON t.id = p.type_id "
                          "WHERE t.designation = '12AX7' AND p.code = 'grid'");
    edit(&b, FILE_TEST_POINTS, "12AX7,grid,\"Plate 250 V, grid -2 V\",grid,,250,,-2,",
         "12AX7,grid,\"Plate 100 V, grid -1 V\",grid,,100,,-1,");
    load_well(&b);
    assert_string_equal(ask(arena_printf(a, "SELECT va_v FROM test_point WHERE id = %s", old)),
                        "250");
    assert_string_not_equal(
        ask(arena_printf(a, "SELECT retired_ms FROM test_point WHERE id = %s", old)), "");
    assert_string_equal(ask("SELECT p.va_v FROM test_point p JOIN type t ON t.id = p.type_id "
                            "WHERE t.designation = '12AX7' AND p.code = 'grid'"),
                        "100");
}

static void own_rows_survive_a_new_bundle(void **state)
{
    (void)state;
    struct bundle b = packed();
    run("UPDATE type SET origin = 'own', how = 'own', max_pa_w = '1.2' "
        "WHERE designation = '12AX7'");
    run("INSERT INTO type (designation, heater_v, how, origin) VALUES ('1Q2W', '1.4', 'own', "
        "'own')");
    run("INSERT INTO designation (type_id, text, how, origin) SELECT id, designation, 'own', 'own' "
        "FROM type WHERE designation = '1Q2W'");
    run("INSERT INTO equivalence (from_id, to_id, relation, conditions, how, origin) SELECT f.id, "
        "t.id, 'close', 'tried in our own amplifier', 'own', 'own' FROM type f, type t WHERE "
        "f.designation = '12AX7' AND t.designation = 'ECC83'");
    run("UPDATE hazard SET origin = 'own', words = 'ours' WHERE type_id = "
        "(SELECT id FROM type WHERE designation = '0A2')");
    edit(&b, FILE_TYPES, "12AX7,RETMA,twin triode,2,12.6,", "12AX7,RETMA,twin triode,2,12.5,");
    load_well(&b);
    assert_string_equal(ask("SELECT max_pa_w FROM type WHERE designation = '12AX7'"), "1.2");
    assert_string_equal(ask("SELECT heater_v FROM type WHERE designation = '12AX7'"), "12.6");
    resolves("1q2w", "1Q2W");
    assert_string_equal(ask("SELECT words FROM hazard WHERE type_id = (SELECT id FROM type WHERE "
                            "designation = '0A2')"),
                        "ours");
    /* The own statement is believed, so the two are no longer one family through the bundled. */
    const struct catalogue_view *v = catalogue_view(st);
    size_t n;
    const struct edge *edge = catalogue_edges(v->catalogue, &n);
    int from = catalogue_find(v->catalogue, "12AX7"), to = catalogue_find(v->catalogue, "ECC83");
    int stated = 0;
    for (size_t i = 0; i < n; i++)
        if (edge[i].from == from && edge[i].to == to) {
            assert_int_equal(edge[i].said.relation, RELATION_CLOSE);
            stated++;
        }
    assert_int_equal(stated, 1);
}

/* A newer bundle brings a type and a spelling that the owner had entered before. */
static void what_a_new_bundle_shares_with_own_rows_stays_own(void **state)
{
    (void)state;
    struct bundle b = packed();
    run("INSERT INTO type (designation, heater_v, source, how, origin) "
        "VALUES ('1Q2W', '1.4', 'own sheet', 'own', 'own')");
    run("INSERT INTO designation (type_id, text, how, origin) VALUES "
        "(last_insert_rowid(), '1Q2W', 'own', 'own')");
    run("INSERT INTO designation (type_id, text, how, origin) SELECT id, '1Q3W', 'own', 'own' "
        "FROM type WHERE designation = '12AX7'");
    edit(&b, FILE_EQUIVALENTS, "\n12AX7,ECC83,same,",
         "\n1Q2W,1Q4W,same,,a list,memory,\n12AX7,ECC83,same,");
    edit(&b, FILE_SPELLINGS, "\n6P6S,", "\n6P6S,1Q3W,trade,slip,a list,memory,\n6P6S,");
    load_well(&b);
    resolves("1Q2W", "1Q2W");
    resolves("1Q4W", "1Q4W");
    resolves("1Q3W", "12AX7");
    assert_string_equal(ask("SELECT heater_v || origin FROM type WHERE designation = '1Q2W'"),
                        "1.4own");
    assert_string_equal(ask("SELECT f.name FROM type t JOIN family f ON f.id = t.family_id WHERE "
                            "t.designation = '1Q4W'"),
                        "1Q2W");
}

static void a_bad_line_of_a_bundle_is_named_and_nothing_is_kept(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    struct bundle b = packed();
    const char *before = picture();
    edit(&b, FILE_EQUIVALENTS, "12AX7,ECC83,same", "12AX7,ECC83,twin");
    assert_false(load(&b, NULL, &e));
    assert_int_equal(e.line, 2);
    assert_non_null(strstr(e.text, "equivalents.csv"));
    assert_non_null(strstr(e.text, "\"twin\""));
    assert_string_equal(picture(), before);
}

/* ---- the copy in memory --------------------------------------------------------------------- */

static void the_copy_holds_what_the_tables_hold(void **state)
{
    (void)state;
    const struct catalogue_view *v = catalogue_view(st);
    size_t edges;
    assert_int_equal(catalogue_type_count(v->catalogue), count("SELECT count(*) FROM type"));
    assert_int_equal(catalogue_name_count(v->catalogue), count("SELECT count(*) FROM designation"));
    catalogue_edges(v->catalogue, &edges);
    assert_int_equal(edges, count("SELECT count(*) FROM equivalence"));
    for (int t = 0; t < catalogue_type_count(v->catalogue); t++)
        assert_int_equal(catalogue_view_number(v, v->type_id[t]), t);
    assert_int_equal(catalogue_view_number(v, 0), -1);
    int t = catalogue_find(v->catalogue, "12AX7");
    assert_int_equal(catalogue_type(v->catalogue, t)->heater_mv, 12600); /* types.csv */
    assert_true(type_field_found(catalogue_type(v->catalogue, t), TYPE_MU));
    assert_false(type_field_found(catalogue_type(v->catalogue, t), TYPE_ENVELOPE));
}

static void the_copy_is_kept_until_the_catalogue_changes(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    int64_t revision = catalogue_view(st)->revision;
    const struct catalogue *kept = catalogue_view(st)->catalogue;
    assert_ptr_equal(catalogue_view(st)->catalogue, kept);
    store_as(st, 1, 1);
    assert_true(store_begin(st, &e) && store_mark(st, &e));
    run("INSERT INTO type (designation, how, origin) VALUES ('1Q2W', 'own', 'own')");
    assert_true(catalogue_changed(st, &e));
    assert_true(catalogue_find(catalogue_view(st)->catalogue, "1Q2W") >= 0);
    store_undo(st); /* the change is given up: it must not be seen any more */
    assert_true(store_commit(st, &e));
    assert_int_equal(catalogue_find(catalogue_view(st)->catalogue, "1Q2W"), -1);
    assert_int_equal(catalogue_view(st)->revision, revision);
}

/* ---- plans ----------------------------------------------------------------------------------- */

static void no_plan_scans(const char *sql)
{
    sqlite3_stmt *s;
    const char *explain = arena_printf(a, "EXPLAIN QUERY PLAN %s", sql);
    if (sqlite3_prepare_v2(store_handle(st), explain, -1, &s, NULL) != SQLITE_OK)
        fail_msg("%s\n  %s", sqlite3_errmsg(store_handle(st)), sql);
    while (sqlite3_step(s) == SQLITE_ROW) {
        const char *step = (const char *)sqlite3_column_text(s, 3);
        if (strncmp(step, "SCAN", 4) == 0)
            fail_msg("%s: %s", step, sql);
    }
    sqlite3_finalize(s);
}

/* Every statement that resolving prepared on this connection, as SQLite holds it. */
static void finding_a_type_scans_no_table(void **state)
{
    (void)state;
    (void)state;
    struct err e = ERR_INIT;
    struct list found;
    int64_t id;
    int seen = 0;
    assert_true(store_type_resolve(&id, st, "6п6c", a, &e));
    assert_int_not_equal(store_type_family(st, id), 0);
    assert_true(spelling_begins(&found, st, "6П", 10, a, &e));
    assert_int_equal(found.count, 10);
    for (sqlite3_stmt *s = NULL; (s = sqlite3_next_stmt(store_handle(st), s)) != NULL;) {
        const char *sql = sqlite3_sql(s);
        if (strstr(sql, "FROM designation_key k JOIN") || strstr(sql, "SELECT family_id") ||
            strstr(sql, "type_id FROM designation WHERE")) {
            no_plan_scans(sql);
            seen++;
        }
    }
    assert_int_equal(seen, 3);
}

int main(void)
{
#define FURNISHED(t) cmocka_unit_test_setup_teardown(t, furnished, gone)
    const struct CMUnitTest tests[] = {
        FURNISHED(every_bundled_row_is_in_its_table),
        FURNISHED(a_row_keeps_its_figures_as_written_and_where_they_were_read),
        FURNISHED(nominal_values_are_at_their_quantitys_decimals),
        FURNISHED(a_type_named_in_a_statement_only_is_there_without_figures),
        FURNISHED(ecc83_and_12ax7_are_one_family),
        FURNISHED(a_type_is_found_by_any_spelling),
        FURNISHED(a_text_that_names_no_one_type_is_refused_with_what_there_is),
        FURNISHED(furnishing_twice_changes_nothing),
        FURNISHED(loading_the_same_rows_again_changes_no_row),
        FURNISHED(a_corrected_type_keeps_its_id),
        FURNISHED(a_statement_that_was_withdrawn_goes_and_its_family_with_it),
        FURNISHED(a_type_that_vanished_from_the_bundle_is_kept),
        FURNISHED(a_test_point_whose_conditions_changed_is_retired_and_replaced),
        FURNISHED(own_rows_survive_a_new_bundle),
        FURNISHED(what_a_new_bundle_shares_with_own_rows_stays_own),
        FURNISHED(a_bad_line_of_a_bundle_is_named_and_nothing_is_kept),
        FURNISHED(the_copy_holds_what_the_tables_hold),
        FURNISHED(the_copy_is_kept_until_the_catalogue_changes),
        FURNISHED(finding_a_type_scans_no_table),
    };
    return cmocka_run_group_tests_name("catalogue in the store", tests, NULL, NULL);
}
