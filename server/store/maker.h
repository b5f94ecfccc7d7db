/* SPDX-License-Identifier: MIT
 *
 * maker: who made a tube.
 */
#ifndef QUADRILLE_STORE_MAKER_H
#define QUADRILLE_STORE_MAKER_H

#include "store/store.h"

struct maker {
    int64_t id;
    const char *name;    /* unique */
    const char *country; /* ISO 3166-1 alpha-2; NULL unknown */
    const char *note;
    int64_t version;
};

/* By name after the given one (NULL: from the first), at most limit.  struct maker. */
void maker_list(struct list *out, struct store *st, const char *after, int64_t limit,
                struct arena *a);

/* ERR_NOT_FOUND naming the maker. */
MUST_USE bool maker_find(int64_t *id, struct store *st, const char *name, struct err *e);

/* ERR_CONFLICT when the name is taken. */
MUST_USE bool maker_create(int64_t *id, struct store *st, const struct maker *m, struct arena *a,
                           struct err *e);

#endif
