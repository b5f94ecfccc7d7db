/* SPDX-License-Identifier: MIT
 *
 * replay: see the header.
 */
#include "replay.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { COLUMNS = 24, TABLES = 8, SITTINGS = 0, READINGS = 1 };

/* The rows of one table that belong to the saves, in the order of the saves.  A table without a
 * statement of its own gets INSERT INTO name VALUES (?, ...). */
static const struct {
    const char *name, *select; /* ?1: after, ?2: after_seq */
    const char *write;
} tables[TABLES] = {
    {"sitting", "SELECT * FROM sitting", NULL}, /* before the saves: see replay_open */
    {"reading", "SELECT * FROM reading WHERE id > ?1 ORDER BY id", NULL},
    {"reading_value",
     "SELECT v.* FROM reading_value v JOIN reading r ON r.id = v.reading_id WHERE r.id > ?1 "
     "ORDER BY r.id, v.quantity",
     NULL},
    {"standing",
     "SELECT s.* FROM standing s JOIN reading r ON r.tube_id = s.tube_id WHERE r.id > ?1 "
     "ORDER BY r.id, s.quantity",
     NULL},
    {"grading",
     "SELECT g.* FROM grading g JOIN reading r ON r.tube_id = g.tube_id WHERE r.id > ?1 "
     "ORDER BY r.id",
     NULL},
    {"tube",
     "SELECT t.state, t.grade, t.grading_id, t.version, t.id FROM tube t JOIN reading r "
     "ON r.tube_id = t.id WHERE r.id > ?1 ORDER BY r.id",
     "UPDATE tube SET state = ?, grade = ?, grading_id = ?, version = ? WHERE id = ?"},
    {"journal", "SELECT * FROM journal WHERE seq > ?2 ORDER BY seq", NULL},
    {"idempotency", "SELECT * FROM idempotency ORDER BY created_ms", NULL},
};

struct row {
    int n;
    sqlite3_value *v[COLUMNS];
};

struct replay {
    struct row *rows[TABLES];
    int count[TABLES];
    int saves;
    sqlite3 *db;
    sqlite3_stmt *write[TABLES];
};

static void must(bool good, sqlite3 *db, const char *what)
{
    if (good)
        return;
    fprintf(stderr, "bench: %s: %s\n", what, sqlite3_errmsg(db));
    exit(1);
}

static void table_load(struct replay *r, int t, sqlite3 *db, long after, long after_seq)
{
    sqlite3_stmt *s = NULL;
    int room = 0;
    must(sqlite3_prepare_v2(db, tables[t].select, -1, &s, NULL) == SQLITE_OK, db, tables[t].select);
    if (sqlite3_bind_parameter_count(s) >= 1)
        sqlite3_bind_int64(s, 1, after);
    if (sqlite3_bind_parameter_count(s) >= 2)
        sqlite3_bind_int64(s, 2, after_seq);
    while (sqlite3_step(s) == SQLITE_ROW) {
        if (r->count[t] == room) {
            room = room ? 2 * room : 1024;
            r->rows[t] = realloc(r->rows[t], (size_t)room * sizeof *r->rows[t]);
            must(r->rows[t] != NULL, db, "memory");
        }
        struct row *row = &r->rows[t][r->count[t]++];
        row->n = sqlite3_column_count(s);
        must(row->n <= COLUMNS, db, "too many columns");
        for (int i = 0; i < row->n; i++)
            row->v[i] = sqlite3_value_dup(sqlite3_column_value(s, i));
    }
    sqlite3_finalize(s);
}

struct replay *replay_load(const char *path, long after, long after_seq)
{
    struct replay *r = calloc(1, sizeof *r);
    sqlite3 *db;
    must(r && sqlite3_open(path, &db) == SQLITE_OK, NULL, path);
    for (int t = 0; t < TABLES; t++)
        table_load(r, t, db, after, after_seq);
    sqlite3_close(db);
    r->saves = r->count[READINGS];
    return r;
}

void replay_free(struct replay *r)
{
    for (int t = 0; t < TABLES; t++) {
        for (int i = 0; i < r->count[t]; i++)
            for (int k = 0; k < r->rows[t][i].n; k++)
                sqlite3_value_free(r->rows[t][i].v[k]);
        free(r->rows[t]);
    }
    free(r);
}

int replay_count(const struct replay *r)
{
    return r->saves;
}

static sqlite3_stmt *write_prepare(struct replay *r, int t)
{
    char sql[300];
    sqlite3_stmt *s = NULL;
    int n = snprintf(sql, sizeof sql, "INSERT INTO %s VALUES (?", tables[t].name);
    for (int i = 1; r->count[t] && i < r->rows[t][0].n; i++)
        n += snprintf(sql + n, sizeof sql - (size_t)n, ",?");
    snprintf(sql + n, sizeof sql - (size_t)n, ")");
    if (r->count[t])
        must(sqlite3_prepare_v3(r->db, tables[t].write ? tables[t].write : sql, -1,
                                SQLITE_PREPARE_PERSISTENT, &s, NULL) == SQLITE_OK,
             r->db, sql);
    return s;
}

static void row_write(struct replay *r, int t, int k)
{
    const struct row *row = &r->rows[t][k];
    for (int c = 0; c < row->n; c++)
        sqlite3_bind_value(r->write[t], c + 1, row->v[c]);
    must(sqlite3_step(r->write[t]) == SQLITE_DONE, r->db, tables[t].name);
    sqlite3_reset(r->write[t]);
}

/* The settings of store.c, so that the yardstick is held to the same promise. */
void replay_open(struct replay *r, const char *path)
{
    must(sqlite3_open(path, &r->db) == SQLITE_OK, r->db, path);
    must(sqlite3_exec(r->db,
                      "PRAGMA foreign_keys = ON; PRAGMA journal_mode = WAL;"
                      "PRAGMA synchronous = FULL; PRAGMA temp_store = MEMORY;"
                      "PRAGMA wal_autocheckpoint = 4000; PRAGMA cache_size = -65536",
                      NULL, NULL, NULL) == SQLITE_OK,
         r->db, "settings");
    for (int t = 0; t < TABLES; t++)
        r->write[t] = write_prepare(r, t);
    for (int i = 0; i < r->count[SITTINGS]; i++)
        row_write(r, SITTINGS, i);
}

void replay_begin(struct replay *r)
{
    must(sqlite3_exec(r->db, "BEGIN IMMEDIATE", NULL, NULL, NULL) == SQLITE_OK, r->db, "BEGIN");
}

void replay_commit(struct replay *r)
{
    must(sqlite3_exec(r->db, "COMMIT", NULL, NULL, NULL) == SQLITE_OK, r->db, "COMMIT");
}

void replay_write(struct replay *r, int i)
{
    for (int t = READINGS; t < TABLES; t++) {
        int from = (int)((long)r->count[t] * i / r->saves);
        int to = (int)((long)r->count[t] * (i + 1) / r->saves);
        for (int k = from; k < to; k++)
            row_write(r, t, k);
    }
}

void replay_close(struct replay *r)
{
    for (int t = 0; t < TABLES; t++)
        sqlite3_finalize(r->write[t]);
    sqlite3_close(r->db);
}
