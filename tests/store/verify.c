/* SPDX-License-Identifier: MIT
 *
 * verify: what was tampered with is found, and a copy is whole.  Expected findings follow from the
 * tampering itself.
 */
#include "auth/crypto.h"
#include "store/journal.h"
#include "store/migrate.h"
#include "store/store_priv.h"
#include "store/verify.h"

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[] = "/tmp/quadrille-verify-XXXXXX";
static struct arena *a;

static const char *path(const char *name)
{
    return arena_printf(a, "%s/%s", folder, name);
}

static void sql(struct store *st, const char *text)
{
    char *why = NULL;
    if (sqlite3_exec(store_handle(st), text, NULL, NULL, &why) != SQLITE_OK)
        fail_msg("%s: %s", text, why);
}

/* A database with three rows in its journal. */
static struct store *fresh(const char *name)
{
    struct store *st;
    struct err e = ERR_INIT;
    assert_true(migrate_file(path(name), 0, NULL, &e));
    assert_true(store_open(&st, path(name), STORE_WRITE, &e));
    store_as(st, 1, 1000);
    assert_true(store_begin(st, &e) && store_mark(st, &e));
    for (int i = 0; i < 3; i++)
        assert_true(journal_append(st, "add", "maker", i + 1, NULL, "{\"name\":\"x\"}", &e));
    assert_true(store_keep(st, &e) && store_commit(st, &e));
    return st;
}

static struct verified look(struct store *st, const char *head)
{
    struct verified v = {0};
    struct err e = ERR_INIT;
    if (!verify_store(&v, st, head, a, &e))
        fail_msg("%s", e.text);
    return v;
}

static const struct verify_finding *finding(const struct verified *v, size_t i)
{
    assert_true(i < v->findings.count);
    return (const struct verify_finding *)v->findings.items + i;
}

static void a_fresh_database_is_sound(void **state)
{
    (void)state;
    struct store *st = fresh("sound.db");
    struct verified v = look(st, NULL);
    assert_int_equal(v.sound, 1);
    assert_int_equal(v.journal_rows, 3);
    assert_int_equal(v.findings.count, 0);
    assert_int_equal(strncmp(v.head, "3:", 2), 0);
    store_close(st);
}

static void a_row_of_the_journal_that_was_changed_is_named(void **state)
{
    (void)state;
    struct store *st = fresh("changed.db");
    /* the schema forbids it: whoever tampers takes the trigger away first */
    sql(st, "DROP TRIGGER IF EXISTS journal_no_update; DROP TRIGGER IF EXISTS journal_no_delete;");
    sqlite3_exec(store_handle(st), "UPDATE journal SET noun_id = 77 WHERE seq = 2", NULL, NULL,
                 NULL);
    if (sqlite3_changes(store_handle(st)) != 1)
        fail_msg("the row could not be tampered with: %s", sqlite3_errmsg(store_handle(st)));
    struct verified v = look(st, NULL);
    assert_int_equal(v.sound, 0);
    assert_string_equal(finding(&v, 0)->what, "journal");
    assert_non_null(strstr(finding(&v, 0)->text, "row 2"));
    store_close(st);
}

static void a_reference_to_nothing_is_named(void **state)
{
    (void)state;
    struct store *st = fresh("orphan.db");
    sql(st, "PRAGMA foreign_keys = OFF;"
            "INSERT INTO session (user_id, token_hash, created_ms, seen_ms, expires_ms)"
            " VALUES (4711, zeroblob(32), 0, 0, 0); PRAGMA foreign_keys = ON");
    struct verified v = look(st, NULL);
    assert_int_equal(v.sound, 0);
    assert_string_equal(finding(&v, 0)->what, "reference");
    assert_non_null(strstr(finding(&v, 0)->text, "session"));
    assert_non_null(strstr(finding(&v, 0)->text, "user"));
    store_close(st);
}

static void a_head_noted_earlier_is_part_of_the_journal_or_is_missed(void **state)
{
    (void)state;
    struct store *st = fresh("head.db");
    struct err e = ERR_INIT;
    const char *early = arena_text(a, look(st, NULL).head);
    assert_true(store_begin(st, &e) && store_mark(st, &e));
    assert_true(journal_append(st, "add", "maker", 9, NULL, NULL, &e));
    assert_true(store_keep(st, &e) && store_commit(st, &e));
    assert_int_equal(look(st, early).sound, 1);
    char *other = arena_text(a, early);
    other[strlen(other) - 1] = other[strlen(other) - 1] == '0' ? '1' : '0';
    assert_int_equal(look(st, other).sound, 0);
    char *later = arena_text(a, early);
    later[0] = '9';
    struct verified v = look(st, later);
    assert_int_equal(v.sound, 0);
    assert_non_null(strstr(finding(&v, 0)->text, "row 9"));
    store_close(st);
}

static void what_is_no_head_is_refused(void **state)
{
    (void)state;
    struct store *st = fresh("nohead.db");
    static const char *const CASES[] = {"3", "3:", "3:abc", "x:y", "-1:00", ":", "3:zz"};
    for (size_t i = 0; i < ARRAY_LEN(CASES); i++) {
        struct verified v;
        struct err e = ERR_INIT;
        assert_false(verify_store(&v, st, CASES[i], a, &e));
        assert_int_equal(e.code, ERR_INVALID);
        assert_string_equal(e.field, "head");
        assert_non_null(strstr(e.text, CASES[i]));
    }
    store_close(st);
}

static void a_page_that_was_overwritten_is_found(void **state)
{
    (void)state;
    struct store *st = fresh("broken.db");
    sqlite3_exec(store_handle(st), "PRAGMA wal_checkpoint(TRUNCATE)", NULL, NULL, NULL);
    sqlite3_stmt *root;
    assert_int_equal(sqlite3_prepare_v2(store_handle(st),
                                        "SELECT rootpage FROM sqlite_schema WHERE name = 'maker'",
                                        -1, &root, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_step(root), SQLITE_ROW);
    long page = (long)sqlite3_column_int(root, 0) - 1;
    sqlite3_finalize(root);
    store_close(st);
    FILE *f = fopen(path("broken.db"), "r+be");
    assert_non_null(f);
    assert_int_equal(fseek(f, page * 4096, SEEK_SET), 0);
    char junk[4096];
    memset(junk, 0x5A, sizeof junk);
    assert_int_equal(fwrite(junk, 1, sizeof junk, f), sizeof junk);
    fclose(f);
    struct err e = ERR_INIT;
    assert_true(store_open(&st, path("broken.db"), STORE_WRITE, &e));
    struct verified v = look(st, NULL);
    assert_int_equal(v.sound, 0);
    assert_string_equal(finding(&v, 0)->what, "file");
    const char *head;
    assert_false(verify_copy(&head, st, path("of-broken.db"), a, &e));
    assert_int_equal(access(path("of-broken.db"), F_OK), -1);
    store_close(st);
}

static void a_copy_holds_the_same_and_is_one_file(void **state)
{
    (void)state;
    struct store *st = fresh("source.db"), *copy;
    struct err e = ERR_INIT;
    const char *head = NULL;
    assert_true(verify_copy(&head, st, path("copy.db"), a, &e));
    assert_string_equal(head, look(st, NULL).head);
    assert_int_equal(access(path("copy.db-wal"), F_OK), -1);
    assert_int_equal(access(path("copy.db-journal"), F_OK), -1);
    assert_true(store_open(&copy, path("copy.db"), STORE_WRITE, &e));
    assert_int_equal(look(copy, head).sound, 1);
    store_close(copy);
    assert_false(verify_copy(&head, st, path("copy.db"), a, &e)); /* never over another */
    assert_int_equal(e.code, ERR_CONFLICT);
    assert_false(verify_copy(&head, st, path("none/copy.db"), a, &e));
    assert_non_null(strstr(e.text, "none/copy.db"));
    store_close(st);
}

static int begin(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    a = arena_new();
    return crypto_init(&e) && mkdtemp(folder) ? 0 : -1;
}

static int end(void **state)
{
    (void)state;
    char line[100];
    snprintf(line, sizeof line, "rm -rf %s", folder);
    arena_free(a);
    return system(line);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_fresh_database_is_sound),
        cmocka_unit_test(a_row_of_the_journal_that_was_changed_is_named),
        cmocka_unit_test(a_reference_to_nothing_is_named),
        cmocka_unit_test(a_head_noted_earlier_is_part_of_the_journal_or_is_missed),
        cmocka_unit_test(what_is_no_head_is_refused),
        cmocka_unit_test(a_page_that_was_overwritten_is_found),
        cmocka_unit_test(a_copy_holds_the_same_and_is_one_file),
    };
    return cmocka_run_group_tests_name("verify", tests, begin, end);
}
