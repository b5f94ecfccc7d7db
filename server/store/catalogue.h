/* SPDX-License-Identifier: MIT
 *
 * catalogue: types, spellings and statements between them, as kept.
 *
 * What is asked of the catalogue as a whole (lookup, families, standing in, comparing) is decided
 * in lib/catalogue over a copy in memory, one to a connection.  Every change of a catalogue row
 * counts the setting 'catalogue.revision' up, and a copy of another revision is made anew.
 */
#ifndef QUADRILLE_STORE_CATALOGUE_H
#define QUADRILLE_STORE_CATALOGUE_H

#include "catalogue/catalogue.h"
#include "catalogue/family.h"
#include "store/store.h"

/* A statement that stands in the table and not in the copy, because another one or the figures of
 * the two types contradict it. */
struct set_aside {
    struct equivalence said;
    const char *why;
};

/* The copy.  Types are numbered from 0 in the order of their rows.  Where an own statement and a
 * bundled one contradict each other the own one is in the copy and the bundled one is set aside. */
struct catalogue_view {
    const struct catalogue *catalogue;
    const struct graph *graph;
    const int64_t *type_id; /* row of each type number */
    const struct set_aside *aside;
    size_t aside_count;
    int64_t revision;
};

/* The copy as of now.  Owned by the connection; valid until it is asked for the next time, or a
 * catalogue row is changed through this connection. */
const struct catalogue_view *catalogue_view(struct store *st);

/* The number of a type's row in a view; -1 when there is none: its name no longer reads as one. */
int catalogue_view_number(const struct catalogue_view *v, int64_t type_id);

/* To be called after each change of catalogue rows: counts the revision up, drops the copy. */
MUST_USE bool catalogue_changed(struct store *st, struct err *e);

/* Would lib take this statement besides those that stand (and in the place of a bundled one of the
 * same pair)?  Errors as catalogue_add_equivalence. */
MUST_USE bool catalogue_accepts(struct store *st, const struct equivalence *q, struct err *e);

/* Write families and the types' family anew from the statements: each family is listed under its
 * lowest type's designation and keeps its row as long as that is so.  Calls catalogue_changed. */
MUST_USE bool catalogue_families_derive(struct store *st, struct err *e);

/* The type that a printed or typed designation names: an exact spelling wins, otherwise any reading
 * that folds to one type alone.  ERR_NOT_FOUND when none does; ERR_CONFLICT when several do, naming
 * them. */
MUST_USE bool store_type_resolve(int64_t *type_id, struct store *st, const char *text,
                                 struct arena *a, struct err *e);

/* The same for a text that came in another field than "printed". */
MUST_USE bool store_type_named(int64_t *type_id, struct store *st, const char *field,
                               const char *text, struct arena *a, struct err *e);

/* The family of a type; NONE when it has none. */
int64_t store_type_family(struct store *st, int64_t type_id);

#endif
