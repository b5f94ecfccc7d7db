/* SPDX-License-Identifier: MIT
 *
 * migrate: bringing a database to the schema of this program, forward only.
 *
 * Migrations are the packed files schema/NNNN_*.sql, NNNN = 1, 2, 3 ... without gaps.  user_version
 * holds the number of the last one applied; the table schema_log holds for each when, by which
 * program, and the SHA-256 of the file, so that an old migration that was edited since is refused.
 */
#ifndef QUADRILLE_STORE_MIGRATE_H
#define QUADRILLE_STORE_MIGRATE_H

#include "base/err.h"

struct sqlite3;

/* Bring the database file at path up to date, creating it when absent.  Where migrations are
 * pending on an existing file, a copy of it is made first, beside it, as <path>.before-NNNN.
 * now_ms is written to the log.  Only the file's owner may read it.  ERR_CONFLICT: newer than this
 * program, another program's, or an old migration has changed.  *applied (may be NULL): how many
 * were applied. */
MUST_USE bool migrate_file(const char *path, int64_t now_ms, int *applied, struct err *e);

/* The copy that migrate_file makes of a database at schema have before it upgrades it: whole,
 * whatever the write-ahead log holds, and readable by its owner alone.  ERR_UNAVAILABLE. */
MUST_USE bool migrate_copy(struct sqlite3 *db, const char *path, int64_t have, struct err *e);

/* Apply all pending migrations on an open handle, each in its own transaction. */
MUST_USE bool migrate_handle(struct sqlite3 *db, int64_t now_ms, struct err *e);

/* The handle is at exactly this program's schema; ERR_CONFLICT saying which way it differs. */
MUST_USE bool migrate_check(struct sqlite3 *db, struct err *e);

/* The number of the newest packed migration. */
int migrate_latest(void);

#endif
