/* SPDX-License-Identifier: MIT
 *
 * verify: whether a database is whole, and copies that are.
 */
#ifndef QUADRILLE_STORE_VERIFY_H
#define QUADRILLE_STORE_VERIFY_H

#include "store/store.h"

struct verify_finding {
    const char *what; /* "file", "reference", "journal" */
    const char *text; /* a sentence */
};

struct verified {
    int64_t sound;        /* 1: nothing was found */
    int64_t journal_rows; /* rows of the journal */
    const char *head;     /* its head, "seq:hash" */
    struct list findings; /* struct verify_finding; at most VERIFY_MOST of each kind */
};

#define VERIFY_MOST 20

/* Look at the whole file (SQLite's integrity_check), at every reference (foreign_key_check) and at
 * the whole chain of the journal.  earlier: a head noted at another time, "seq:hash", which has to
 * be part of the chain still; NULL for none.  What cannot even be read is a finding.  ERR_INVALID
 * when earlier is no head.  Takes time in proportion to the file; reads only. */
MUST_USE bool verify_store(struct verified *out, struct store *st, const char *earlier,
                           struct arena *a, struct err *e);

/* Write a copy of the database to a new file at path, whatever is being written meanwhile, and
 * verify the copy; *head (in the arena) is the journal's in it.  It is one file, without a log
 * beside it.  ERR_CONFLICT when the copy is not sound, ERR_FULL or ERR_UNAVAILABLE when it cannot
 * be written; nothing is left at path then. */
MUST_USE bool verify_copy(const char **head, struct store *st, const char *path, struct arena *a,
                          struct err *e);

#endif
