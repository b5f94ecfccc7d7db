/* SPDX-License-Identifier: MIT
 *
 * bin: one place on a shelf.
 */
#ifndef QUADRILLE_STORE_BIN_H
#define QUADRILLE_STORE_BIN_H

#include "store/store.h"

struct bin {
    int64_t id;
    const char *code; /* as written on the shelf, unique */
    const char *note;
};

/* By code after the given one (NULL: from the first), at most limit.  struct bin. */
void bin_list(struct list *out, struct store *st, const char *after, int64_t limit,
              struct arena *a);

/* ERR_NOT_FOUND naming the bin. */
MUST_USE bool bin_find(int64_t *id, struct store *st, const char *code, struct err *e);

/* ERR_CONFLICT when the code is taken. */
MUST_USE bool bin_create(int64_t *id, struct store *st, const struct bin *b, struct arena *a,
                         struct err *e);

#endif
