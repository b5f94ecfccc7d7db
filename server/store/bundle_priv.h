/* SPDX-License-Identifier: MIT
 *
 * bundle_priv: what the files of bundle share: the load under way.  Included by bundle*.c only.
 */
#ifndef QUADRILLE_STORE_BUNDLE_PRIV_H
#define QUADRILLE_STORE_BUNDLE_PRIV_H

#include "store/bundle.h"
#include "store/catalogue_priv.h"

struct load {
    struct store *st;
    struct catalogue *c; /* the bundle as lib read it */
    struct arena *arena;
    const struct bundle *bundle;
    int64_t *type_id; /* row of each type number of c */
    char *kept;       /* ids as a JSON list, for "id NOT IN (SELECT value FROM json_each(:kept))" */
    size_t kept_n, kept_room;
};

/* Begin a list of ids, add to it, have it as JSON, run a statement of the one parameter :kept. */
void kept_start(struct load *l);
void kept_add(struct load *l, int64_t id);
const char *kept_list(struct load *l);
MUST_USE bool kept_sweep(struct load *l, const char *sql, struct err *e);

/* The row of a type by its main designation in the bundle. */
int64_t bundle_type(const struct load *l, const char *designation);

/* NULL for "". */
const char *bundle_text(const char *s);

/* Each brings one kind of row and sweeps what is no longer bundled. */
MUST_USE bool bundle_spellings(struct load *l, struct err *e);
MUST_USE bool bundle_statements(struct load *l, struct err *e);
MUST_USE bool bundle_points(struct load *l, struct err *e);
MUST_USE bool bundle_hazards(struct load *l, struct err *e);
MUST_USE bool bundle_doubts(struct load *l, struct err *e);

#endif
