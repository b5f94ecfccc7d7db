/* SPDX-License-Identifier: MIT
 *
 * type: one catalogue entry as kept, with what stands beside its name.
 */
#ifndef QUADRILLE_STORE_TYPE_H
#define QUADRILLE_STORE_TYPE_H

#include "catalogue/type.h"
#include "store/store.h"

struct type_row {
    int64_t id;
    const char *text[TYPE__COLUMNS]; /* by enum type_column, as written; NULL not known */
    const char *family;              /* designation it is listed under; NULL without */
    int64_t family_id;
    const char *origin; /* "bundled", "own" */
    int64_t version;
};

/* ERR_NOT_FOUND. */
MUST_USE bool type_load(struct type_row *out, struct store *st, int64_t id, struct arena *a,
                        struct err *e);

/* The type of that main designation, byte for byte; NONE when there is none. */
int64_t type_find(struct store *st, const char *designation);

/* Write a type of one's own, with its main spelling; text[TYPE_HOW] is taken as "own".  A bundled
 * type of which only the name is known takes the figures and becomes one's own.  Texts must have
 * been read by lib's type_read before.  ERR_CONFLICT when there is a type, or a spelling of another
 * type, of that designation. */
MUST_USE bool type_create(int64_t *id, struct store *st, const char *const text[TYPE__COLUMNS],
                          struct arena *a, struct err *e);

/* Put one's own figures in the place of those of t->id (the designation stays; t->version as
 * elsewhere, ERR_CONFLICT); a newer bundle does not touch them any more. */
MUST_USE bool type_replace(struct store *st, const struct type_row *t, struct arena *a,
                           struct err *e);

struct type_hazard {
    const char *kind, *words, *source, *where, *how, *origin;
};

/* By kind.  struct type_hazard. */
void type_hazards(struct list *out, struct store *st, int64_t type_id, struct arena *a);

/* Their kinds alone. */
void type_hazard_kinds(struct texts *out, struct store *st, int64_t type_id, struct arena *a);

struct type_known_doubt {
    const char *check, *why;
};

/* Contradictions of the row that are known and left standing.  struct type_known_doubt. */
void type_known_doubts(struct list *out, struct store *st, int64_t type_id, struct arena *a);

#endif
