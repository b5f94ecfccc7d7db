/* SPDX-License-Identifier: MIT
 *
 * catalogue: types, spellings and statements between them, as kept.
 */
#ifndef QUADRILLE_STORE_CATALOGUE_H
#define QUADRILLE_STORE_CATALOGUE_H

#include "store/store.h"

/* The type that a printed or typed designation names: an exact spelling wins, otherwise any reading
 * that folds to one type alone.  ERR_NOT_FOUND when none does; ERR_CONFLICT when several do, naming
 * them. */
MUST_USE bool store_type_resolve(int64_t *type_id, struct store *st, const char *text,
                                 struct arena *a, struct err *e);

/* The family of a type; NONE when it has none. */
int64_t store_type_family(struct store *st, int64_t type_id);

#endif
