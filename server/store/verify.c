/* SPDX-License-Identifier: MIT
 *
 * verify: three looks at a database, none of which believes the others; and SQLite's own online
 * backup, whose result is looked at before it is called a copy.
 */
#include "store/verify.h"

#include "auth/crypto.h"
#include "store/journal.h"
#include "store/store_priv.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct findings {
    struct verify_finding *items;
    size_t room, count;
    struct arena *arena;
};

static void find(struct findings *f, const char *what, const char *text)
{
    f->items = store_grow(f->arena, f->items, &f->room, f->count, sizeof *f->items);
    f->items[f->count++] = (struct verify_finding){what, text};
}

/* A database that is not whole may not even be read: that is a finding too. */
static void ended(struct findings *f, const char *what, struct query *q)
{
    struct err why = ERR_INIT;
    if (!query_done(q, &why))
        find(f, what, arena_printf(f->arena, "this could not be looked through: %s", why.text));
}

static const char FILE_CHECK[] = "PRAGMA integrity_check(20)";

static void check_file(struct findings *f, struct store *st)
{
    struct query *q = query(st, FILE_CHECK);
    while (query_row(q)) {
        const char *said = query_col_text(q, 0, f->arena);
        if (!said || strcmp(said, "ok") != 0)
            find(f, "file", said ? said : "integrity_check said nothing");
    }
    ended(f, "file", q);
}

static const char REFERENCE_CHECK[] =
    "SELECT \"table\", rowid, parent FROM pragma_foreign_key_check LIMIT 20";

static void check_references(struct findings *f, struct store *st)
{
    struct query *q = query(st, REFERENCE_CHECK);
    while (query_row(q))
        find(f, "reference",
             arena_printf(f->arena, "row %lld of %s points to a row of %s that is not there",
                          (long long)query_col_int(q, 1), query_col_text(q, 0, f->arena),
                          query_col_text(q, 2, f->arena)));
    ended(f, "reference", q);
}

static const char JOURNAL_HASH[] = "SELECT hash FROM journal WHERE seq = :seq";

/* "seq:hash" */
static bool head_read(int64_t *seq, const char **hash, const char *text, struct err *e)
{
    char *end;
    long long v = strtoll(text, &end, 10);
    if (v < 0 || end == text || *end != ':' || strlen(end + 1) != CRYPTO_HEX_BYTES - 1 ||
        strspn(end + 1, "0123456789abcdef") != CRYPTO_HEX_BYTES - 1)
        return err_field(e, "head", ERR_INVALID,
                         "\"%.100s\" is no head of a journal: a number, a colon and 64 hexadecimal "
                         "figures, as verify and backup print it",
                         text);
    *seq = v;
    *hash = end + 1;
    return true;
}

static bool check_head(struct findings *f, struct store *st, const char *earlier, struct err *e)
{
    int64_t seq = 0;
    const char *hash = "";
    char hex[CRYPTO_HEX_BYTES];
    if (!head_read(&seq, &hash, earlier, e))
        return false;
    struct query *q = query(st, JOURNAL_HASH);
    query_int(q, ":seq", seq);
    const void *kept = query_row(q) ? query_col_blob(q, 0, CRYPTO_DIGEST_BYTES) : NULL;
    bool same = kept && strcmp(crypto_hex(hex, kept, CRYPTO_DIGEST_BYTES), hash) == 0;
    if (!same && seq > 0)
        find(f, "journal",
             arena_printf(f->arena,
                          "the head noted earlier is not part of this journal: row %lld is %s",
                          (long long)seq, kept ? "another one" : "not there"));
    query_end(q);
    return true;
}

bool verify_store(struct verified *out, struct store *st, const char *earlier, struct arena *a,
                  struct err *e)
{
    struct findings f = {.arena = a};
    struct err chain = ERR_INIT;
    check_file(&f, st);
    check_references(&f, st);
    if (!journal_verify(st, &chain))
        find(&f, "journal", arena_text(a, chain.text));
    if (earlier && !check_head(&f, st, earlier, e))
        return false;
    const char *head = journal_head_text(st, a);
    *out = (struct verified){.sound = f.count == 0,
                             .journal_rows = strtoll(head, NULL, 10),
                             .head = head,
                             .findings = {f.items, f.count}};
    return true;
}

/* ---- copies ------------------------------------------------------------------------------- */

/* Step by step, so that the source is not held for long; what is written meanwhile comes along. */
#define STEP_PAGES 2000

static bool copy_write(struct store *st, const char *path, struct err *e)
{
    sqlite3 *to = NULL;
    int rc = sqlite3_open_v2(path, &to, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL);
    sqlite3_backup *b =
        rc == SQLITE_OK ? sqlite3_backup_init(to, "main", store_handle(st), "main") : NULL;
    if (b) {
        do
            rc = sqlite3_backup_step(b, STEP_PAGES);
        while (rc == SQLITE_OK || rc == SQLITE_BUSY || rc == SQLITE_LOCKED);
        sqlite3_backup_finish(b);
    }
    bool good = b && rc == SQLITE_DONE &&
                sqlite3_exec(to, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL) == SQLITE_OK;
    if (!good)
        err_set(e, (rc & 0xff) == SQLITE_FULL ? ERR_FULL : ERR_UNAVAILABLE,
                "the copy %s cannot be written: %s", path,
                to ? sqlite3_errmsg(to) : sqlite3_errstr(rc));
    sqlite3_close(to);
    return good;
}

/* By a connection of its own, which leaves no log beside it. */
static bool copy_check(const char **head, const char *path, struct arena *a, struct err *e)
{
    struct store *copy;
    struct verified v;
    if (!store_open(&copy, path, STORE_WRITE, e))
        return false;
    bool good = verify_store(&v, copy, NULL, a, e);
    if (good && !v.sound)
        good = err_set(e, ERR_CONFLICT, "the copy is not sound: %s",
                       ((const struct verify_finding *)v.findings.items)->text);
    sqlite3_exec(store_handle(copy), "PRAGMA journal_mode = DELETE", NULL, NULL, NULL);
    store_close(copy);
    if (good)
        *head = v.head;
    return good;
}

bool verify_copy(const char **head, struct store *st, const char *path, struct arena *a,
                 struct err *e)
{
    if (access(path, F_OK) == 0)
        return err_set(e, ERR_CONFLICT, "there is a file %s already", path);
    if (copy_write(st, path, e) && copy_check(head, path, a, e))
        return true;
    unlink(path);
    return false;
}
