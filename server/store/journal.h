/* SPDX-License-Identifier: MIT
 *
 * journal: who changed what, when, chained.
 *
 * hash = SHA-256 over the previous row's hash and this row's fields, each field with its length
 * before it, so that no two rows can be written the same way.  The head is kept by the connection
 * and goes back with a savepoint or a transaction that is undone.
 */
#ifndef QUADRILLE_STORE_JOURNAL_H
#define QUADRILLE_STORE_JOURNAL_H

#include "store/store.h"

struct journal_row {
    int64_t seq, at_ms, user_id;
    const char *user; /* shown name, NULL when gone */
    const char *act, *noun;
    int64_t noun_id;
    const char *before, *after; /* JSON, or NULL */
};

/* Append one row, by store_user at store_now.  noun is the table's name; before and after are JSON
 * texts or NULL.  Personal fields never go in here: journal_row names only that they changed. */
MUST_USE bool journal_append(struct store *st, const char *act, const char *noun, int64_t noun_id,
                             const char *before, const char *after, struct err *e);

/* The JSON of a row by a constant statement with one parameter :id and one column
 * (SELECT json_object(...) FROM ... WHERE id = :id), in the arena; NULL when there is no row. */
const char *journal_image(struct store *st, const char *sql, int64_t id, struct arena *a);

/* The newest rows about one thing, newest first, at most limit, older than before_seq (NONE: all).
 * Fills list with struct journal_row. */
void journal_of(struct list *out, struct store *st, const char *noun, int64_t noun_id,
                int64_t before_seq, int64_t limit, struct arena *a);

/* Walk the whole chain.  ERR_CONFLICT naming the first row that does not fit. */
MUST_USE bool journal_verify(struct store *st, struct err *e);

/* The head as text "seq:hex", for the log, backups and verify. */
const char *journal_head_text(struct store *st, struct arena *a);

/* Read the head from the database into the connection (store_open does). */
void journal_head_load(struct store *st);

#endif
