/* SPDX-License-Identifier: MIT
 *
 * store_priv: how the store's files speak SQL.  Included by server/store only.
 *
 *     static const char LOT_GET[] =
 *         "SELECT " LOT_COLS " FROM lot WHERE id = :id";
 *
 *     struct query *q = query(st, LOT_GET);
 *     query_int(q, ":id", id);
 *     bool found = query_row(q);
 *     if (found)
 *         lot_from_row(out, q, a);
 *     query_end(q);
 *
 * A statement is prepared once per connection, found again by the address of its constant text, and
 * given back by query_end.  A misspelt parameter, a wrong column number or a statement that was not
 * given back is a wrong program and stops it.
 */
#ifndef QUADRILLE_STORE_STORE_PRIV_H
#define QUADRILLE_STORE_STORE_PRIV_H

#include <sqlite3.h>

#include "store/store.h"

struct query;

/* Take the statement for a constant SQL text.  Aborts when the text does not prepare. */
struct query *query(struct store *st, const char *sql);

/* Bind by name.  NONE and NULL bind NULL.  Texts and blobs must live until query_end. */
void query_int(struct query *q, const char *name, int64_t v);
void query_real(struct query *q, const char *name, double v);
void query_text(struct query *q, const char *name, const char *v);
void query_blob(struct query *q, const char *name, const void *v, size_t n);

/* Step: true when there is a row; false at the end or on failure (query_failed tells). */
bool query_row(struct query *q);

/* Columns of the current row, counted from 0.  Texts and blobs are copied into the arena. */
int64_t query_col_int(struct query *q, int col); /* NONE for NULL */
double query_col_real(struct query *q, int col);
const char *query_col_text(struct query *q, int col, struct arena *a); /* NULL for NULL */
const void *query_col_blob(struct query *q, int col, size_t n);        /* exactly n bytes; until the
                                                                          next step; NULL if other */

/* Give the statement back.  query_end for reads asserts nothing; query_done also reports what went
 * wrong: a constraint or a trigger's RAISE is ERR_CONFLICT with SQLite's own sentence, a full disk
 * ERR_UNAVAILABLE, anything else ERR_INTERNAL. */
void query_end(struct query *q);
MUST_USE bool query_done(struct query *q, struct err *e);

/* Run a changing statement to its end and give it back. */
MUST_USE bool query_run(struct query *q, struct err *e);

/* A question with one number for answer, and giving it back; NONE when there is no row. */
int64_t query_number(struct query *q);
/* The same for a text, in the arena; NULL when there is no row. */
const char *query_word(struct query *q, struct arena *a);

/* Rows changed by the last query_run, and the rowid of the last insert. */
int64_t store_changes(struct store *st);
int64_t store_last_id(struct store *st);

/* True when the failure in *e was a UNIQUE constraint on table.column ("tube.outside_mark"). */
bool store_was_unique(const struct err *e, const char *table_column);

/* A writing function begins with this: it may only run inside a savepoint of the writer. */
void store_assert_writing(const struct store *st);

/* Is a savepoint of the writer open? */
bool store_in_mark(const struct store *st);

/* A growing array in an arena, for lists: p = store_grow(a, p, &room, count, sizeof *p). */
void *store_grow(struct arena *a, void *items, size_t *room, size_t count, size_t size);

/* Things a connection keeps for its own speed (a parsed scheme, the catalogue in memory): one of
 * each kind, freed when replaced and when the connection closes. */
enum store_keeps {
    STORE_KEEPS_SCHEME,
    STORE_KEEPS_CATALOGUE,
    STORE_KEEPS_RECALL,
    STORE_KEEPS__COUNT
};
void *store_kept(struct store *st, enum store_keeps kind); /* NULL when there is none */
void store_keep_for_itself(struct store *st, enum store_keeps kind, void *p, void (*free)(void *));

/* The handle itself, for migrate, backup and verify. */
sqlite3 *store_handle(struct store *st);

/* The journal head kept by the connection (journal.c). */
struct journal_head {
    int64_t seq;            /* of the last row; 0 when there is none */
    unsigned char hash[32]; /* its hash; zeros when there is none */
};
struct journal_head *store_journal(struct store *st);

#endif
