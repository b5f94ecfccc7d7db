/* SPDX-License-Identifier: MIT
 *
 * store: one connection to the database.  The store folder is the only place that knows SQLite;
 * each noun has a file of its own there, with domain structs in and out and its SQL above its use.
 *
 * A connection belongs to one thread at a time.  Readers open STORE_READ and run statements without
 * transactions of their own or inside store_snapshot; the one writer opens STORE_WRITE.
 */
#ifndef QUADRILLE_STORE_STORE_H
#define QUADRILLE_STORE_STORE_H

#include "base/arena.h"
#include "base/err.h"
#include "base/value.h"

struct store;

enum store_mode {
    STORE_READ,   /* query_only */
    STORE_WRITE,  /* the one writer */
    STORE_MEMORY, /* a fresh private database with the whole schema, for tests; path ignored */
};

/* Open the database file inside a data folder.  ERR_UNAVAILABLE when it cannot be opened;
 * ERR_CONFLICT when it is newer than this program.  STORE_WRITE on a file of an older schema is
 * refused: call store_migrate first (see migrate.h). */
MUST_USE bool store_open(struct store **out, const char *path, enum store_mode mode, struct err *e);
void store_close(struct store *st);

/* Writer only.  A transaction holds many savepoints, one for each change asked for.
 *   begin    BEGIN IMMEDIATE
 *   mark     a savepoint; keep or undo closes it.  undo also restores the journal head.
 *   commit   true when it is on the disk (fsync).  On failure everything since begin is gone, the
 *            journal head is what it was, and *e is ERR_UNAVAILABLE with e->text saying full or
 * why. */
MUST_USE bool store_begin(struct store *st, struct err *e);
MUST_USE bool store_mark(struct store *st, struct err *e);
MUST_USE bool store_keep(struct store *st, struct err *e);
void store_undo(struct store *st);
MUST_USE bool store_commit(struct store *st, struct err *e);
void store_abort(struct store *st);

/* Who and when, for the rows and the journal written from now on (set by call_run for each change).
 */
void store_as(struct store *st, int64_t user_id, int64_t now_ms);
int64_t store_user(const struct store *st);
int64_t store_now(const struct store *st);

/* Pages the write-ahead log holds, checkpoint it (PASSIVE), for the writer's idle moments. */
void store_checkpoint(struct store *st);

#endif
