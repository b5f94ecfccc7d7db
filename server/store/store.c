/* SPDX-License-Identifier: MIT
 *
 * store: connections, transactions and prepared statements.
 *
 * Statements are kept in a small open-addressed table keyed by the address of their constant text:
 * one entry per text per connection, so a request prepares nothing.  The same text may be in use
 * twice at a time only if it is queried twice; that is a wrong program and stops it.
 *
 * The writer holds one transaction open for a whole group of changes; each change has a savepoint.
 * SQLite's deferred foreign keys are not used, so a savepoint that is kept cannot make the commit
 * fail for its data: only for the disk.
 */
#include "store/store_priv.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "store/journal.h"
#include "store/migrate.h"
#include "store/recall.h"

#define QUERY_SLOTS     1024 /* power of two, twice the most statements a connection ever uses */
#define BUSY_MS         10000
#define READ_CACHE_KIB  8192
#define WRITE_CACHE_KIB 65536

/* Some 64 MiB of log before a commit checkpoints by itself.  At 4000 pages more than one save in a
 * hundred waited for that during a bulk load, and it made the p99. */
#define CHECKPOINT_PAGES 16000

struct query {
    const char *sql; /* its address is the key; NULL: a free slot */
    sqlite3_stmt *stmt;
    struct store *st;
    bool busy;
    int rc; /* of the last step */
};

struct store {
    sqlite3 *db;
    struct query slot[QUERY_SLOTS];
    size_t used;
    bool writer;
    bool in_transaction, in_mark;
    struct journal_head head, head_at_mark, head_at_begin;
    int64_t user_id, now_ms;
    struct {
        void *p;
        void (*free)(void *);
    } kept[STORE_KEEPS__COUNT];
};

static void stop(struct store *st, const char *what, const char *sql)
{
    fprintf(stderr, "quadrille: wrong SQL in the program: %s: %s\n  %s\n", what,
            sqlite3_errmsg(st->db), sql);
    abort();
}

/* ---- opening ------------------------------------------------------------------------------ */

static bool exec(struct store *st, const char *sql, struct err *e)
{
    int rc = sqlite3_exec(st->db, sql, NULL, NULL, NULL);
    if (rc == SQLITE_OK)
        return true;
    enum err_code code = (rc & 0xff) == SQLITE_CONSTRAINT ? ERR_CONFLICT : ERR_UNAVAILABLE;
    return err_set(e, code, "the database said: %s", sqlite3_errmsg(st->db));
}

static bool configure(struct store *st, enum store_mode mode, struct err *e)
{
    char sql[400];
    sqlite3_extended_result_codes(st->db, 1);
    sqlite3_busy_timeout(st->db, BUSY_MS);
    snprintf(sql, sizeof sql,
             "PRAGMA foreign_keys = ON; PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON;"
             "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA temp_store = MEMORY;"
             "PRAGMA wal_autocheckpoint = %d; PRAGMA cache_size = -%d; %s",
             CHECKPOINT_PAGES, mode == STORE_READ ? READ_CACHE_KIB : WRITE_CACHE_KIB,
             mode == STORE_READ ? "PRAGMA query_only = ON;" : "");
    return exec(st, sql, e);
}

bool store_open(struct store **out, const char *path, enum store_mode mode, struct err *e)
{
    struct store *st = xcalloc(1, sizeof *st);
    int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX |
                (mode == STORE_MEMORY ? SQLITE_OPEN_CREATE | SQLITE_OPEN_MEMORY : 0);
    st->writer = mode != STORE_READ;
    st->user_id = NONE;
    st->now_ms = NONE;
    if (sqlite3_open_v2(mode == STORE_MEMORY ? ":memory:" : path, &st->db, flags, NULL) !=
        SQLITE_OK) {
        err_set(e, ERR_UNAVAILABLE, "cannot open the database %s: %s", path,
                st->db ? sqlite3_errmsg(st->db) : "out of memory");
        goto fail;
    }
    if (!configure(st, mode, e))
        goto fail;
    if (mode == STORE_MEMORY && !migrate_handle(st->db, 0, e))
        goto fail;
    if (mode != STORE_MEMORY && !migrate_check(st->db, e))
        goto fail;
    if (st->writer)
        journal_head_load(st);
    *out = st;
    return true;
fail:
    store_close(st);
    return false;
}

void store_close(struct store *st)
{
    if (!st)
        return;
    for (int k = 0; k < STORE_KEEPS__COUNT; k++)
        store_keep_for_itself(st, (enum store_keeps)k, NULL, NULL);
    for (size_t i = 0; i < QUERY_SLOTS; i++)
        sqlite3_finalize(st->slot[i].stmt);
    sqlite3_close(st->db);
    free(st);
}

/* ---- transactions ------------------------------------------------------------------------- */

bool store_begin(struct store *st, struct err *e)
{
    assert(st->writer && !st->in_transaction);
    if (!exec(st, "BEGIN IMMEDIATE", e))
        return false;
    st->in_transaction = true;
    st->head_at_begin = st->head;
    return true;
}

/* SQLite rolled the transaction back by itself. */
static bool gave_up(struct err *e)
{
    return err_set(e, ERR_UNAVAILABLE,
                   "the database gave the change up (disk full or an I/O error): nothing was kept, "
                   "try again");
}

bool store_mark(struct store *st, struct err *e)
{
    assert(st->in_transaction && !st->in_mark);
    /* Where the transaction is gone, a savepoint would begin one of its own and RELEASE commit it.
     */
    if (sqlite3_get_autocommit(st->db))
        return gave_up(e);
    if (!exec(st, "SAVEPOINT mark", e))
        return false;
    st->in_mark = true;
    st->head_at_mark = st->head;
    recall_clear(st);
    return true;
}

bool store_keep(struct store *st, struct err *e)
{
    assert(st->in_mark);
    if (!exec(st, "RELEASE mark", e)) {
        store_undo(st);
        return false;
    }
    st->in_mark = false;
    return true;
}

void store_undo(struct store *st)
{
    assert(st->in_mark);
    st->in_mark = false;
    st->head = st->head_at_mark;
    /* A full disk or an I/O error may have rolled the whole transaction back by itself; the commit
     * will then report it. */
    if (!sqlite3_get_autocommit(st->db))
        sqlite3_exec(st->db, "ROLLBACK TO mark; RELEASE mark", NULL, NULL, NULL);
}

bool store_commit(struct store *st, struct err *e)
{
    assert(st->in_transaction && !st->in_mark);
    if (sqlite3_get_autocommit(st->db)) {
        store_abort(st);
        return gave_up(e);
    }
    int rc = sqlite3_exec(st->db, "COMMIT", NULL, NULL, NULL);
    if (rc == SQLITE_OK) {
        st->in_transaction = false;
        return true;
    }
    bool full = (rc & 0xff) == SQLITE_FULL;
    err_set(e, full ? ERR_FULL : ERR_UNAVAILABLE,
            full ? "the disk is full: nothing was kept (%s)" : "the change was not kept: %s",
            sqlite3_errmsg(st->db));
    store_abort(st);
    return false;
}

void store_abort(struct store *st)
{
    assert(st->in_transaction);
    if (!sqlite3_get_autocommit(st->db))
        sqlite3_exec(st->db, "ROLLBACK", NULL, NULL, NULL);
    st->in_transaction = st->in_mark = false;
    st->head = st->head_at_begin;
}

void store_as(struct store *st, int64_t user_id, int64_t now_ms)
{
    st->user_id = user_id;
    st->now_ms = now_ms;
}

int64_t store_user(const struct store *st)
{
    assert(st->user_id != NONE);
    return st->user_id;
}

int64_t store_now(const struct store *st)
{
    assert(st->now_ms != NONE);
    return st->now_ms;
}

void store_checkpoint(struct store *st)
{
    sqlite3_wal_checkpoint_v2(st->db, NULL, SQLITE_CHECKPOINT_PASSIVE, NULL, NULL);
}

void store_assert_writing(const struct store *st)
{
    assert(st->writer && st->in_mark);
}

bool store_in_mark(const struct store *st)
{
    return st->in_mark;
}

sqlite3 *store_handle(struct store *st)
{
    return st->db;
}

void *store_kept(struct store *st, enum store_keeps kind)
{
    return st->kept[kind].p;
}

void store_keep_for_itself(struct store *st, enum store_keeps kind, void *p,
                           void (*free_it)(void *))
{
    if (st->kept[kind].p)
        st->kept[kind].free(st->kept[kind].p);
    st->kept[kind].p = p;
    st->kept[kind].free = free_it;
}

struct journal_head *store_journal(struct store *st)
{
    return &st->head;
}

/* ---- statements --------------------------------------------------------------------------- */

struct query *query(struct store *st, const char *sql)
{
    size_t i = ((uintptr_t)sql >> 4) * 0x9E3779B97F4A7C15u >> 32 & (QUERY_SLOTS - 1);
    while (st->slot[i].sql && st->slot[i].sql != sql)
        i = (i + 1) & (QUERY_SLOTS - 1);
    struct query *q = &st->slot[i];
    if (!q->sql) {
        if (++st->used > QUERY_SLOTS / 2)
            stop(st, "too many statements", sql);
        const char *tail;
        if (sqlite3_prepare_v3(st->db, sql, -1, SQLITE_PREPARE_PERSISTENT, &q->stmt, &tail) !=
                SQLITE_OK ||
            *tail)
            stop(st, "a statement does not prepare", sql);
        q->sql = sql;
        q->st = st;
    }
    if (q->busy)
        stop(st, "a statement was not given back", sql);
    q->busy = true;
    q->rc = SQLITE_OK;
    return q;
}

static int parameter(struct query *q, const char *name)
{
    int i = sqlite3_bind_parameter_index(q->stmt, name);
    if (!i)
        stop(q->st, name, q->sql);
    return i;
}

void query_int(struct query *q, const char *name, int64_t v)
{
    int i = parameter(q, name);
    if (v == NONE)
        sqlite3_bind_null(q->stmt, i);
    else
        sqlite3_bind_int64(q->stmt, i, v);
}

void query_real(struct query *q, const char *name, double v)
{
    sqlite3_bind_double(q->stmt, parameter(q, name), v);
}

void query_text(struct query *q, const char *name, const char *v)
{
    sqlite3_bind_text(q->stmt, parameter(q, name), v, -1, SQLITE_STATIC);
}

void query_blob(struct query *q, const char *name, const void *v, size_t n)
{
    sqlite3_bind_blob64(q->stmt, parameter(q, name), v, n, SQLITE_STATIC);
}

bool query_row(struct query *q)
{
    q->rc = sqlite3_step(q->stmt);
    return q->rc == SQLITE_ROW;
}

static void column(struct query *q, int col)
{
    if (col < 0 || col >= sqlite3_column_count(q->stmt))
        stop(q->st, "no such column", q->sql);
}

int64_t query_col_int(struct query *q, int col)
{
    column(q, col);
    if (sqlite3_column_type(q->stmt, col) == SQLITE_NULL)
        return NONE;
    return sqlite3_column_int64(q->stmt, col);
}

double query_col_real(struct query *q, int col)
{
    column(q, col);
    return sqlite3_column_double(q->stmt, col);
}

const char *query_col_text(struct query *q, int col, struct arena *a)
{
    column(q, col);
    const unsigned char *s = sqlite3_column_text(q->stmt, col);
    if (!s)
        return NULL;
    return arena_bytes(a, (const char *)s, (size_t)sqlite3_column_bytes(q->stmt, col));
}

const void *query_col_blob(struct query *q, int col, size_t n)
{
    column(q, col);
    const void *p = sqlite3_column_blob(q->stmt, col);
    return p && (size_t)sqlite3_column_bytes(q->stmt, col) == n ? p : NULL;
}

void query_end(struct query *q)
{
    sqlite3_reset(q->stmt);
    sqlite3_clear_bindings(q->stmt);
    q->busy = false;
}

bool query_done(struct query *q, struct err *e)
{
    int rc = q->rc;
    bool good = rc == SQLITE_DONE || rc == SQLITE_ROW || rc == SQLITE_OK;
    if (!good) {
        const char *said = sqlite3_errmsg(q->st->db);
        switch (rc & 0xff) {
        case SQLITE_CONSTRAINT:
            err_set(e, ERR_CONFLICT, "%s", said);
            break;
        case SQLITE_FULL:
            err_set(e, ERR_FULL, "the disk is full: nothing was kept (%s)", said);
            break;
        case SQLITE_IOERR:
        case SQLITE_BUSY:
        case SQLITE_NOMEM:
            err_set(e, ERR_UNAVAILABLE, "the change was not kept: %s", said);
            break;
        default:
            err_set(e, ERR_INTERNAL, "the database said: %s", said);
        }
    }
    query_end(q);
    return good;
}

bool query_run(struct query *q, struct err *e)
{
    while (query_row(q))
        ;
    return query_done(q, e);
}

int64_t query_number(struct query *q)
{
    int64_t v = query_row(q) ? query_col_int(q, 0) : NONE;
    query_end(q);
    return v;
}

const char *query_word(struct query *q, struct arena *a)
{
    const char *s = query_row(q) ? query_col_text(q, 0, a) : NULL;
    query_end(q);
    return s;
}

int64_t store_changes(struct store *st)
{
    return sqlite3_changes64(st->db);
}

int64_t store_last_id(struct store *st)
{
    return sqlite3_last_insert_rowid(st->db);
}

bool store_was_unique(const struct err *e, const char *table_column)
{
    char wanted[160];
    snprintf(wanted, sizeof wanted, "UNIQUE constraint failed: %s", table_column);
    return e->code == ERR_CONFLICT && strcmp(e->text, wanted) == 0;
}

void *store_grow(struct arena *a, void *items, size_t *room, size_t count, size_t size)
{
    if (count < *room)
        return items;
    size_t wider = *room ? *room * 2 : 16;
    void *p = arena_array(a, wider, size);
    if (count)
        memcpy(p, items, count * size);
    *room = wider;
    return p;
}
