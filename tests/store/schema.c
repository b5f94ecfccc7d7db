/* SPDX-License-Identifier: MIT
 *
 * schema: what must never be is refused by the database itself, shown with plain SQL.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "base/stockno.h"
#include "order/state.h"
#include "store/migrate.h"
#include "store/store_priv.h"

static struct store *st;
static sqlite3 *db;

static int fresh(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    if (!store_open(&st, NULL, STORE_MEMORY, &e))
        fail_msg("%s", e.text);
    db = store_handle(st);
    return 0;
}

static int gone(void **state)
{
    (void)state;
    store_close(st);
    return 0;
}

static void good(const char *sql)
{
    char *said = NULL;
    if (sqlite3_exec(db, sql, NULL, NULL, &said) != SQLITE_OK)
        fail_msg("%s\n  %s", said, sql);
}

/* The statement must fail, and the sentence must hold the words. */
static void refused(const char *sql, const char *words)
{
    char *said = NULL;
    int rc = sqlite3_exec(db, sql, NULL, NULL, &said);
    if (rc == SQLITE_OK)
        fail_msg("was not refused: %s", sql);
    if (!strstr(said, words))
        fail_msg("refused with \"%s\", wanted \"%s\": %s", said, words, sql);
    sqlite3_free(said);
}

static void put_tubes(void)
{
    char sql[400];
    good("INSERT INTO type (id, designation, how, origin) VALUES (1, '12AX7', 'memory', 'own')");
    for (int64_t id = 100001; id <= 100004; id++) {
        snprintf(sql, sizeof sql,
                 "INSERT INTO tube (id, stock_no, type_id, printed, created_ms) "
                 "VALUES (%lld, %lld, 1, '12AX7', 0)",
                 (long long)id, (long long)stockno_make(id));
        good(sql);
    }
}

static void a_tube_cannot_be_in_two_live_sets(void **state)
{
    (void)state;
    put_tubes();
    good("INSERT INTO matched_set (id, size, band, spread, cost, made_ms, user_id) "
         "VALUES (1, 2, 'ia=5%', '{}', 0, 0, 1), (2, 2, 'ia=5%', '{}', 0, 0, 1)");
    good(
        "INSERT INTO set_member (set_id, tube_id, position, snapshot) VALUES (1, 100001, 1, '{}')");
    refused("INSERT INTO set_member (set_id, tube_id, position, snapshot) "
            "VALUES (2, 100001, 1, '{}')",
            "UNIQUE constraint failed: set_member.tube_id");
    good("UPDATE matched_set SET dissolved_ms = 5 WHERE id = 1");
    good(
        "INSERT INTO set_member (set_id, tube_id, position, snapshot) VALUES (2, 100001, 1, '{}')");
    refused("UPDATE matched_set SET dissolved_ms = NULL WHERE id = 1",
            "UNIQUE constraint failed: set_member.tube_id");
}

static void the_live_flag_of_a_member_cannot_be_forged(void **state)
{
    (void)state;
    put_tubes();
    good("INSERT INTO matched_set (id, size, band, spread, cost, made_ms, user_id) "
         "VALUES (1, 2, 'ia=5%', '{}', 0, 0, 1)");
    refused("INSERT INTO set_member (set_id, tube_id, position, snapshot, live) "
            "VALUES (1, 100001, 1, '{}', 0)",
            "live of a set member follows its set");
    good(
        "INSERT INTO set_member (set_id, tube_id, position, snapshot) VALUES (1, 100001, 1, '{}')");
    refused("UPDATE set_member SET live = 0", "live of a set member follows its set");
    good("UPDATE set_member SET left_ms = 7 WHERE tube_id = 100001");
    refused("UPDATE set_member SET live = 1", "live of a set member follows its set");
}

static void a_tube_cannot_be_held_twice(void **state)
{
    (void)state;
    put_tubes();
    good("INSERT INTO customer (id, created_ms) VALUES (1, 0)");
    good("INSERT INTO hold (id, tube_id, customer_id, until_ms, placed_ms, user_id) "
         "VALUES (1, 100001, 1, 9, 0, 1)");
    refused("INSERT INTO hold (tube_id, customer_id, until_ms, placed_ms, user_id) "
            "VALUES (100001, 1, 9, 0, 1)",
            "UNIQUE constraint failed: hold.tube_id");
    refused("UPDATE hold SET live = 0 WHERE id = 1", "live of a hold follows its release");
    good("UPDATE hold SET released_ms = 4, reason = 'by hand' WHERE id = 1");
    good("INSERT INTO hold (id, tube_id, customer_id, until_ms, placed_ms, user_id) "
         "VALUES (2, 100001, 1, 9, 0, 1)");
    refused("UPDATE hold SET released_ms = NULL WHERE id = 1", "a released hold stays released");
}

static void a_tube_cannot_be_shipped_twice(void **state)
{
    (void)state;
    put_tubes();
    good("INSERT INTO sales_order (id, created_ms) VALUES (1, 0)");
    good("INSERT INTO order_line (id, order_id, asked, set_size, quantity) "
         "VALUES (1, 1, '12AX7', 1, 2)");
    good("INSERT INTO shipment (id, order_id) VALUES (1, 1), (2, 1)");
    good("INSERT INTO shipment_tube (shipment_id, tube_id, order_line_id) VALUES (1, 100001, 1)");
    refused("INSERT INTO shipment_tube (shipment_id, tube_id, order_line_id) VALUES (2, 100001, 1)",
            "UNIQUE constraint failed: shipment_tube.tube_id");
    good("UPDATE shipment_tube SET returned_ms = 3 WHERE shipment_id = 1");
    good("INSERT INTO shipment_tube (shipment_id, tube_id, order_line_id) VALUES (2, 100001, 1)");
}

static void orphans_are_refused(void **state)
{
    (void)state;
    put_tubes();
    refused("INSERT INTO tube (id, stock_no, type_id, printed, created_ms) "
            "VALUES (100009, 1000099, 77, 'x', 0)",
            "FOREIGN KEY constraint failed");
    refused("UPDATE tube SET bin_id = 4 WHERE id = 100001", "FOREIGN KEY constraint failed");
    refused("DELETE FROM type WHERE id = 1", "FOREIGN KEY constraint failed");
    refused("INSERT INTO inspection (tube_id, at_ms, user_id) VALUES (5, 0, 1)",
            "FOREIGN KEY constraint failed");
}

static void a_tube_keeps_its_number_and_is_never_deleted(void **state)
{
    (void)state;
    put_tubes();
    refused("DELETE FROM tube WHERE id = 100001", "a tube is never deleted: scrap it");
    refused("UPDATE tube SET stock_no = stock_no + 1 WHERE id = 100001",
            "a stock number is never changed");
    refused("INSERT INTO tube (id, stock_no, type_id, printed, created_ms) "
            "VALUES (100009, 2000099, 1, 'x', 0)",
            "CHECK constraint failed");
    refused("INSERT INTO tube (id, stock_no, type_id, printed, created_ms, state) "
            "VALUES (100009, 1000099, 1, 'x', 0, 'shelved')",
            "a tube starts as received");
}

static void every_move_is_legal_exactly_where_the_table_says_so(void **state)
{
    (void)state;
    put_tubes();
    char sql[300];
    for (int from = 0; from < TUBE_STATE__COUNT; from++) {
        for (int to = 0; to < TUBE_STATE__COUNT; to++) {
            /* Without the trigger, to lay the ground; then with it. */
            good("DROP TRIGGER IF EXISTS tube_move");
            snprintf(sql, sizeof sql, "UPDATE tube SET state = '%s' WHERE id = 100001",
                     tube_state_code((enum tube_state)from));
            good(sql);
            char trigger[TUBE_MOVES_SQL_BYTES];
            tube_moves_sql(trigger, sizeof trigger);
            good(trigger);
            snprintf(sql, sizeof sql, "UPDATE tube SET state = '%s' WHERE id = 100001",
                     tube_state_code((enum tube_state)to));
            if (from == to || tube_move_legal((enum tube_state)from, (enum tube_state)to))
                good(sql);
            else
                refused(sql, "tube may only become");
        }
    }
}

static void the_trigger_of_moves_is_the_one_printed_from_the_table(void **state)
{
    (void)state;
    char wanted[TUBE_MOVES_SQL_BYTES];
    size_t n = tube_moves_sql(wanted, sizeof wanted);
    while (n && strchr(";\n", wanted[n - 1]))
        wanted[--n] = 0;
    sqlite3_stmt *s = NULL;
    assert_int_equal(sqlite3_prepare_v2(db,
                                        "SELECT sql FROM sqlite_schema WHERE name = 'tube_move'",
                                        -1, &s, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_step(s), SQLITE_ROW);
    assert_string_equal((const char *)sqlite3_column_text(s, 0), wanted);
    sqlite3_finalize(s);
}

static void readings_are_voided_never_changed(void **state)
{
    (void)state;
    put_tubes();
    good("INSERT INTO quantity (code, name, unit, decimals, better, scope, kind, least, most, "
         "origin) VALUES ('ia', 'plate current', 'mA', 2, 'nearer', 'section', 'numeric', 0, 99, "
         "'own')");
    good("INSERT INTO test_point (id, type_id, code, title, held, how, origin) "
         "VALUES (1, 1, 'a', 'a', 'grid', 'own', 'own')");
    good("INSERT INTO tester (id, code, title) VALUES (1, 'T', 't')");
    good("INSERT INTO sitting (id, tester_id, user_id, began_ms) VALUES (1, 1, 1, 0)");
    good("INSERT INTO reading (id, tube_id, section, tester_id, test_point_id, taken_ms, "
         "sitting_id, user_id, recorded_ms) VALUES (1, 100001, 1, 1, 1, 5, 1, 1, 6)");
    good("INSERT INTO reading_value VALUES (1, 'ia', '1.20', 'mA')");
    refused("UPDATE reading SET taken_ms = 4", "void it and read again");
    refused("UPDATE reading_value SET typed = '1.3'", "void it and read again");
    refused("DELETE FROM reading_value", "a reading is never deleted");
    refused("DELETE FROM reading", "a reading is never deleted");
    refused("INSERT INTO reading (tube_id, section, tester_id, test_point_id, taken_ms, "
            "sitting_id, user_id, recorded_ms) VALUES (100001, 1, 1, 1, 5, 1, 1, 6)",
            "UNIQUE constraint failed");
    refused("UPDATE reading SET voided_ms = 8", "CHECK constraint failed");
    good(
        "UPDATE reading SET voided_ms = 8, void_user_id = 1, void_reason = 'slipped' WHERE id = 1");
    refused("UPDATE reading SET void_reason = 'x'", "a voided reading stays voided");
}

static void what_is_kept_for_ever_is_not_changed(void **state)
{
    (void)state;
    put_tubes();
    good("INSERT INTO journal VALUES (1, 0, 1, 'create', 'tube', 1, NULL, '{}', zeroblob(32))");
    refused("UPDATE journal SET act = 'x'", "the journal is never changed");
    refused("DELETE FROM journal", "the journal is never shortened");
    good("INSERT INTO grade_scheme (id, code, edition, title, state, rows, origin, created_ms, "
         "user_id) VALUES (1, 'd', 1, 'd', 'current', 'x', 'own', 0, 1)");
    refused("UPDATE grade_scheme SET rows = 'y'", "make a new edition");
    refused("INSERT INTO grade_scheme (code, edition, title, state, rows, origin, created_ms, "
            "user_id) VALUES ('d', 2, 'd', 'current', 'x', 'own', 0, 1)",
            "UNIQUE constraint failed");
    good("INSERT INTO grading (tube_id, scheme_id, grade, reasons, borderline, at_ms, user_id) "
         "VALUES (100001, 1, 'g', '[]', 0, 0, 1)");
    refused("UPDATE grading SET grade = 'h'", "grade again");
    refused("DELETE FROM grading", "grade again");
    good("INSERT INTO certificate (code, tube_id, issued_ms, user_id, content) "
         "VALUES ('C1', 100001, 0, 1, '{}')");
    refused("UPDATE certificate SET content = '[]'", "issue a new one");
    refused("DELETE FROM certificate", "a certificate is never deleted");
}

static void a_lot_line_cannot_give_more_than_it_has(void **state)
{
    (void)state;
    put_tubes();
    good("INSERT INTO lot (id, code, title) VALUES (1, 'L1', 'l')");
    good("INSERT INTO lot_line (id, lot_id, type_id, printed, count) VALUES (1, 1, 1, '12AX7', 2)");
    good("UPDATE lot_line SET drawn = 2");
    refused("UPDATE lot_line SET drawn = 3", "CHECK constraint failed");
}

static void the_family_of_a_tube_follows_its_type(void **state)
{
    (void)state;
    put_tubes();
    good("INSERT INTO family (id, name) VALUES (3, '12AX7')");
    good("UPDATE type SET family_id = 3 WHERE id = 1");
    sqlite3_stmt *s = NULL;
    sqlite3_prepare_v2(db, "SELECT count(*) FROM tube WHERE family_id = 3", -1, &s, NULL);
    sqlite3_step(s);
    assert_int_equal(sqlite3_column_int(s, 0), 4);
    sqlite3_finalize(s);
}

/* Every column has a comment or a name that says it all; every _ms, _day, _minor is an INTEGER;
 * every table is STRICT. */
static void every_table_is_strict(void **state)
{
    (void)state;
    sqlite3_stmt *s = NULL;
    sqlite3_prepare_v2(db,
                       "SELECT name FROM pragma_table_list WHERE type = 'table' AND strict = 0 "
                       "AND name NOT LIKE 'sqlite_%'",
                       -1, &s, NULL);
    if (sqlite3_step(s) == SQLITE_ROW)
        fail_msg("table %s is not STRICT", sqlite3_column_text(s, 0));
    sqlite3_finalize(s);
}

static void foreign_keys_have_an_index(void **state)
{
    (void)state;
    /* Columns that point at a large table: a delete or a join there must not scan. */
    sqlite3_stmt *s = NULL;
    sqlite3_prepare_v2(
        db,
        "SELECT t.name, f.\"from\" FROM pragma_table_list t, pragma_foreign_key_list(t.name) f "
        "WHERE t.type = 'table' AND f.\"table\" IN ('tube', 'matched_set', 'sales_order', "
        "'order_line', 'reading') AND NOT EXISTS (SELECT 1 FROM pragma_index_list(t.name) i, "
        "pragma_index_info(i.name) c WHERE c.seqno = 0 AND c.name = f.\"from\") "
        "AND t.name NOT IN ('hold', 'shipment_tube', 'check_value')",
        -1, &s, NULL);
    if (sqlite3_step(s) == SQLITE_ROW)
        fail_msg("%s.%s has no index", sqlite3_column_text(s, 0), sqlite3_column_text(s, 1));
    sqlite3_finalize(s);
}

/* ---- the sum of the migrations, for reading ----------------------------------------------- */

#define SCHEMA_FILE "schema/schema.sql"

/* Everything that the migrations make, in the order of names within tables, indexes, triggers. */
static char *schema_text(void)
{
    sqlite3_str *out = sqlite3_str_new(db);
    sqlite3_stmt *s = NULL;
    sqlite3_str_appendf(out,
                        "-- The sum of the migrations at schema %d, for reading; generated: "
                        "make schema\n",
                        migrate_latest());
    sqlite3_prepare_v2(db,
                       "SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL AND name <> "
                       "'schema_log' ORDER BY tbl_name, CASE type WHEN 'table' THEN 0 WHEN 'index' "
                       "THEN 1 ELSE 2 END, name",
                       -1, &s, NULL);
    while (sqlite3_step(s) == SQLITE_ROW)
        sqlite3_str_appendf(out, "\n%s;\n", sqlite3_column_text(s, 0));
    sqlite3_finalize(s);
    return sqlite3_str_finish(out);
}

static void the_schema_kept_for_reading_is_what_the_migrations_make(void **state)
{
    (void)state;
    char *wanted = schema_text();
    size_t n = strlen(wanted);
    if (getenv("SCHEMA_WRITE")) {
        FILE *f = fopen(SCHEMA_FILE, "w");
        assert_non_null(f);
        assert_int_equal(fwrite(wanted, 1, n, f), n);
        assert_int_equal(fclose(f), 0);
    }
    FILE *f = fopen(SCHEMA_FILE, "r");
    if (!f)
        fail_msg("%s is not there: make schema", SCHEMA_FILE);
    char *have = calloc(1, n + 2);
    size_t got = fread(have, 1, n + 1, f);
    fclose(f);
    if (got != n || memcmp(have, wanted, n) != 0)
        fail_msg("%s is stale: make schema", SCHEMA_FILE);
    free(have);
    sqlite3_free(wanted);
}

int main(void)
{
#define T(f) cmocka_unit_test_setup_teardown(f, fresh, gone)
    const struct CMUnitTest tests[] = {
        T(a_tube_cannot_be_in_two_live_sets),
        T(the_live_flag_of_a_member_cannot_be_forged),
        T(a_tube_cannot_be_held_twice),
        T(a_tube_cannot_be_shipped_twice),
        T(orphans_are_refused),
        T(a_tube_keeps_its_number_and_is_never_deleted),
        T(every_move_is_legal_exactly_where_the_table_says_so),
        T(the_trigger_of_moves_is_the_one_printed_from_the_table),
        T(readings_are_voided_never_changed),
        T(what_is_kept_for_ever_is_not_changed),
        T(a_lot_line_cannot_give_more_than_it_has),
        T(the_family_of_a_tube_follows_its_type),
        T(every_table_is_strict),
        T(foreign_keys_have_an_index),
        T(the_schema_kept_for_reading_is_what_the_migrations_make),
    };
    return cmocka_run_group_tests_name("schema", tests, NULL, NULL);
}
