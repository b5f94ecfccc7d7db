/* SPDX-License-Identifier: MIT
 *
 * construction: how a tube is built, as one can see it from outside.
 */
#ifndef QUADRILLE_STORE_CONSTRUCTION_H
#define QUADRILLE_STORE_CONSTRUCTION_H

#include "store/store.h"

struct construction {
    int64_t id;
    const char *title;                            /* unique */
    int64_t maker_id;                             /* NONE: several, or unknown */
    const char *maker;                            /* name (read only) */
    const char *plate, *getter, *base, *envelope; /* form and finish, in words */
    const char *note;
};

/* By title after the given one (NULL: from the first), at most limit.  struct construction. */
void construction_list(struct list *out, struct store *st, const char *after, int64_t limit,
                       struct arena *a);

/* ERR_NOT_FOUND naming the construction. */
MUST_USE bool construction_find(int64_t *id, struct store *st, const char *title, struct err *e);

/* ERR_CONFLICT when the title is taken. */
MUST_USE bool construction_create(int64_t *id, struct store *st, const struct construction *c,
                                  struct arena *a, struct err *e);

#endif
