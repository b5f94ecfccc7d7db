/* SPDX-License-Identifier: MIT
 *
 * migrate: forward only, never over a newer file, never after an edited step, never without a copy.
 * What is expected is what store/migrate.h promises.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/stat.h>
#include <unistd.h>

#include "store/migrate.h"
#include "store/store.h"

static char dir[64], path[96];

static int fresh(void **state)
{
    (void)state;
    snprintf(dir, sizeof dir, "/tmp/quadrille-migrate-XXXXXX");
    assert_non_null(mkdtemp(dir));
    snprintf(path, sizeof path, "%s/quadrille.db", dir);
    return 0;
}

static int gone(void **state)
{
    (void)state;
    static const char *const ends[] = {"", "-wal", "-shm", ".before-0001", ".before-0002"};
    char name[128];
    for (size_t i = 0; i < ARRAY_LEN(ends); i++) {
        snprintf(name, sizeof name, "%s%s", path, ends[i]);
        unlink(name);
    }
    rmdir(dir);
    return 0;
}

static void sql(const char *text)
{
    sqlite3 *db = NULL;
    char *said = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    if (sqlite3_exec(db, text, NULL, NULL, &said) != SQLITE_OK)
        fail_msg("%s: %s", said, text);
    sqlite3_close(db);
}

static void migrated(int wanted)
{
    struct err e = ERR_INIT;
    int applied = -1;
    if (!migrate_file(path, 1700000000000, &applied, &e))
        fail_msg("%s", e.text);
    assert_int_equal(applied, wanted);
}

static void a_new_folder_gets_the_whole_schema_and_a_second_run_does_nothing(void **state)
{
    (void)state;
    migrated(migrate_latest());
    migrated(0);
    struct err e = ERR_INIT;
    struct store *st;
    assert_true(store_open(&st, path, STORE_WRITE, &e));
    store_close(st);
    assert_true(store_open(&st, path, STORE_READ, &e));
    store_close(st);
}

static void a_newer_file_is_refused_and_left_alone(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    struct store *st = NULL;
    migrated(migrate_latest());
    sql("PRAGMA user_version = 9999");
    assert_false(migrate_file(path, 0, NULL, &e));
    assert_int_equal(e.code, ERR_CONFLICT);
    assert_non_null(strstr(e.text, "newer than this program"));
    assert_false(store_open(&st, path, STORE_WRITE, &e));
    assert_non_null(strstr(e.text, "9999"));
    assert_null(st);
}

static void an_edited_migration_is_refused(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    struct store *st = NULL;
    migrated(migrate_latest());
    sql("UPDATE schema_log SET sha256 = 'ff' WHERE number = 1");
    assert_false(migrate_file(path, 0, NULL, &e));
    assert_int_equal(e.code, ERR_CONFLICT);
    assert_non_null(strstr(e.text, "schema/0001_"));
    assert_false(store_open(&st, path, STORE_WRITE, &e));
    assert_non_null(strstr(e.text, "never edited"));
}

static void a_file_that_is_no_database_is_refused(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    FILE *f = fopen(path, "w");
    for (int i = 0; i < 500; i++)
        fputs("this is a letter to my aunt\n", f);
    fclose(f);
    assert_false(migrate_file(path, 0, NULL, &e));
    assert_int_equal(e.code, ERR_UNAVAILABLE);
}

static void somebody_elses_database_is_refused_and_left_alone(void **state)
{
    (void)state;
    sql("CREATE TABLE recipe (title TEXT)");
    struct err e = ERR_INIT;
    assert_false(migrate_file(path, 0, NULL, &e));
    assert_int_equal(e.code, ERR_CONFLICT);
    assert_non_null(strstr(e.text, "another program"));
    sql("CREATE TABLE tube (a TEXT)"); /* ours was not made */
}

/* The folder may be anybody's to read; password hashes are not. */
static void only_its_owner_reads_the_database(void **state)
{
    (void)state;
    mode_t before = umask(022);
    struct stat s;
    migrated(migrate_latest());
    (void)umask(before);
    assert_int_equal(stat(path, &s), 0);
    assert_int_equal(s.st_mode & 0777, 0600);
}

static void an_older_file_must_be_migrated_before_it_is_opened(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    struct store *st = NULL;
    sql("CREATE TABLE old (x); PRAGMA user_version = 0");
    assert_false(store_open(&st, path, STORE_WRITE, &e));
    assert_int_equal(e.code, ERR_CONFLICT);
}

/* What was committed is in the copy though it is still in the log alone; and nobody else may read
 * it. */
static void the_copy_made_before_an_upgrade_is_whole_and_private(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    struct stat mode;
    sqlite3 *db = NULL, *copy = NULL;
    sqlite3_stmt *s = NULL;
    char name[128];
    migrated(migrate_latest());
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db,
                                  "PRAGMA wal_autocheckpoint = 0;"
                                  "INSERT INTO bin (code) VALUES ('only in the log')",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    if (!migrate_copy(db, path, 1, &e))
        fail_msg("%s", e.text);
    snprintf(name, sizeof name, "%s.before-0002", path);
    assert_int_equal(stat(name, &mode), 0);
    assert_int_equal(mode.st_mode & 0777, 0600);
    assert_int_equal(sqlite3_open(name, &copy), SQLITE_OK);
    sqlite3_prepare_v2(copy, "SELECT count(*) FROM bin WHERE code = 'only in the log'", -1, &s,
                       NULL);
    assert_int_equal(sqlite3_step(s), SQLITE_ROW);
    assert_int_equal(sqlite3_column_int(s, 0), 1);
    sqlite3_finalize(s);
    sqlite3_close(copy);
    assert_false(migrate_copy(db, "/nowhere/at/all.db", 1, &e));
    assert_int_equal(e.code, ERR_UNAVAILABLE);
    sqlite3_close(db);
}

/* The schema that is kept for reading says what the migrations make. */
static void the_log_tells_when_each_step_was_made(void **state)
{
    (void)state;
    migrated(migrate_latest());
    sqlite3 *db = NULL;
    sqlite3_stmt *s = NULL;
    sqlite3_open(path, &db);
    sqlite3_prepare_v2(db, "SELECT count(*), min(applied_ms), min(length(sha256)) FROM schema_log",
                       -1, &s, NULL);
    assert_int_equal(sqlite3_step(s), SQLITE_ROW);
    assert_int_equal(sqlite3_column_int(s, 0), migrate_latest());
    assert_int_equal(sqlite3_column_int64(s, 1), 1700000000000);
    assert_int_equal(sqlite3_column_int(s, 2), 64);
    sqlite3_finalize(s);
    sqlite3_close(db);
}

int main(void)
{
#define T(f) cmocka_unit_test_setup_teardown(f, fresh, gone)
    const struct CMUnitTest tests[] = {
        T(a_new_folder_gets_the_whole_schema_and_a_second_run_does_nothing),
        T(a_newer_file_is_refused_and_left_alone),
        T(an_edited_migration_is_refused),
        T(a_file_that_is_no_database_is_refused),
        T(somebody_elses_database_is_refused_and_left_alone),
        T(only_its_owner_reads_the_database),
        T(an_older_file_must_be_migrated_before_it_is_opened),
        T(the_copy_made_before_an_upgrade_is_whole_and_private),
        T(the_log_tells_when_each_step_was_made),
    };
    return cmocka_run_group_tests_name("migrate", tests, NULL, NULL);
}
