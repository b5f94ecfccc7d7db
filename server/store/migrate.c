/* SPDX-License-Identifier: MIT
 *
 * migrate: each file runs in one transaction with foreign keys off, and foreign_key_check must be
 * clean before it commits; so a step is wholly there or wholly absent.
 */
#include "store/migrate.h"

#include <fcntl.h>
#include <fcntl.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <unistd.h>

#include "base/arena.h"
#include "work/packed.h"

static const char LOG_TABLE[] = "CREATE TABLE IF NOT EXISTS schema_log ("
                                "    number     INTEGER PRIMARY KEY,"
                                "    applied_ms INTEGER NOT NULL,"
                                "    sha256     TEXT NOT NULL"
                                ") STRICT;";

static bool failed(sqlite3 *db, const char *doing, struct err *e)
{
    return err_set(e, ERR_UNAVAILABLE, "%s: %s", doing, sqlite3_errmsg(db));
}

static int64_t number(sqlite3 *db, const char *sql)
{
    sqlite3_stmt *s = NULL;
    int64_t v = -1;
    if (sqlite3_prepare_v2(db, sql, -1, &s, NULL) == SQLITE_OK && sqlite3_step(s) == SQLITE_ROW)
        v = sqlite3_column_int64(s, 0);
    sqlite3_finalize(s);
    return v;
}

static int file_number(const struct packed *f)
{
    return (int)strtol(f->name + strlen("schema/"), NULL, 10);
}

int migrate_latest(void)
{
    int at = 0, latest = 0;
    for (struct packed f; packed_each(&f, "schema/", &at);)
        latest = file_number(&f);
    return latest;
}

/* Every migration that the database remembers is the one this program holds. */
static bool check_log(sqlite3 *db, struct err *e)
{
    int at = 0;
    bool good = true;
    if (number(db, "SELECT count(*) FROM sqlite_schema WHERE name = 'schema_log'") != 1)
        return true;
    for (struct packed f; good && packed_each(&f, "schema/", &at);) {
        sqlite3_stmt *s = NULL;
        if (sqlite3_prepare_v2(db, "SELECT sha256 FROM schema_log WHERE number = ?", -1, &s,
                               NULL) != SQLITE_OK)
            return failed(db, "cannot read schema_log", e);
        sqlite3_bind_int(s, 1, file_number(&f));
        if (sqlite3_step(s) == SQLITE_ROW &&
            strcmp((const char *)sqlite3_column_text(s, 0), f.sha256) != 0)
            good = err_set(e, ERR_CONFLICT,
                           "migration %s is not the one this database was made with: a migration "
                           "is never edited once it was used; put the old text back and add a new "
                           "one",
                           f.name);
        sqlite3_finalize(s);
    }
    return good;
}

static bool check_version(int64_t have, struct err *e)
{
    if (have > migrate_latest())
        return err_set(e, ERR_CONFLICT,
                       "the database is at schema %lld, newer than this program (schema %d): use "
                       "the newer program, or restore the copy made before its upgrade",
                       (long long)have, migrate_latest());
    return true;
}

bool migrate_check(sqlite3 *db, struct err *e)
{
    int64_t have = number(db, "PRAGMA user_version");
    if (have < 0)
        return failed(db, "this is not a Quadrille database", e);
    if (!check_version(have, e))
        return false;
    if (have < migrate_latest())
        return err_set(e, ERR_CONFLICT, "the database is at schema %lld, this program needs %d",
                       (long long)have, migrate_latest());
    return check_log(db, e);
}

static bool apply(sqlite3 *db, const struct packed *f, int64_t now_ms, struct err *e)
{
    char end[400];
    snprintf(end, sizeof end,
             "INSERT INTO schema_log VALUES (%d, %lld, '%s'); PRAGMA user_version = %d",
             file_number(f), (long long)now_ms, f->sha256, file_number(f));
    if (sqlite3_exec(db, "PRAGMA foreign_keys = OFF; BEGIN IMMEDIATE", NULL, NULL, NULL) ||
        sqlite3_exec(db, LOG_TABLE, NULL, NULL, NULL) ||
        sqlite3_exec(db, f->bytes, NULL, NULL, NULL) || sqlite3_exec(db, end, NULL, NULL, NULL)) {
        failed(db, f->name, e);
        goto undo;
    }
    if (number(db, "SELECT count(*) FROM pragma_foreign_key_check") != 0) {
        err_set(e, ERR_CONFLICT, "migration %s leaves rows that point nowhere: nothing was changed",
                f->name);
        goto undo;
    }
    if (sqlite3_exec(db, "COMMIT", NULL, NULL, NULL)) {
        failed(db, f->name, e);
        goto undo;
    }
    return sqlite3_exec(db, "PRAGMA foreign_keys = ON", NULL, NULL, NULL) == SQLITE_OK ||
           failed(db, f->name, e);
undo:
    sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL);
    sqlite3_exec(db, "PRAGMA foreign_keys = ON", NULL, NULL, NULL);
    return false;
}

bool migrate_handle(sqlite3 *db, int64_t now_ms, struct err *e)
{
    int64_t have = number(db, "PRAGMA user_version");
    if (have < 0)
        return failed(db, "this is not a Quadrille database", e);
    if (!check_version(have, e) || !check_log(db, e))
        return false;
    int at = 0;
    for (struct packed f; packed_each(&f, "schema/", &at);)
        if (file_number(&f) > have && !apply(db, &f, now_ms, e))
            return false;
    return true;
}

/* SQLite would make the file readable for all; what lies beside it takes the mode of the file. */
static void make_private(const char *path)
{
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd >= 0)
        close(fd);
}

/* Nothing is written into a database that has tables, but none of ours. */
static bool check_ours(sqlite3 *db, const char *path, struct err *e)
{
    if (number(db, "PRAGMA user_version") != 0 ||
        number(db, "SELECT count(*) FROM sqlite_schema") <= 0)
        return true;
    return err_set(e, ERR_CONFLICT,
                   "%s was made by another program: it holds tables, but no schema of Quadrille; "
                   "take another folder",
                   path);
}

/* An online copy by SQLite's own backup, so that it is whole whatever the log holds. */
bool migrate_copy(sqlite3 *db, const char *path, int64_t have, struct err *e)
{
    char to[4096];
    snprintf(to, sizeof to, "%s.before-%04lld", path, (long long)have + 1);
    sqlite3 *copy = NULL;
    make_private(to);
    bool good = sqlite3_open(to, &copy) == SQLITE_OK;
    sqlite3_backup *b = good ? sqlite3_backup_init(copy, "main", db, "main") : NULL;
    good = b && sqlite3_backup_step(b, -1) == SQLITE_DONE;
    good = b && sqlite3_backup_finish(b) == SQLITE_OK && good;
    if (!good)
        err_set(e, ERR_UNAVAILABLE, "cannot copy the database to %s before upgrading it: %s", to,
                copy ? sqlite3_errmsg(copy) : "cannot open");
    sqlite3_close(copy);
    return good;
}

bool migrate_file(const char *path, int64_t now_ms, int *applied, struct err *e)
{
    sqlite3 *db = NULL;
    bool good = false;
    make_private(path);
    if (sqlite3_open_v2(path, &db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL) != SQLITE_OK) {
        err_set(e, ERR_UNAVAILABLE, "cannot open the database %s: %s", path,
                db ? sqlite3_errmsg(db) : "out of memory");
        goto out;
    }
    if (!check_ours(db, path, e))
        goto out;
    if (sqlite3_exec(db, "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL", NULL, NULL,
                     NULL)) {
        failed(db, "cannot prepare the database", e);
        goto out;
    }
    int64_t have = number(db, "PRAGMA user_version");
    if (have > 0 && have < migrate_latest() && !migrate_copy(db, path, have, e))
        goto out;
    good = migrate_handle(db, now_ms, e);
    if (good && applied)
        *applied = migrate_latest() - (int)(have < 0 ? 0 : have);
out:
    sqlite3_close(db);
    return good;
}
