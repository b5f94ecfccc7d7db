/* SPDX-License-Identifier: MIT
 *
 * quantity: what can be read, as rows; the built-in ones are put there when the data folder is
 * made.
 */
#ifndef QUADRILLE_STORE_QUANTITY_H
#define QUADRILLE_STORE_QUANTITY_H

#include "measure/quantity.h"
#include "store/store.h"

/* By code.  struct quantity. */
void quantity_list(struct list *out, struct store *st, struct arena *a);

/* ERR_INVALID naming the code and those there are. */
MUST_USE bool quantity_load(struct quantity *out, struct store *st, const char *code,
                            struct arena *a, struct err *e);

/* Write the built-in rows that are not there or were bundled before; the owner's are left alone. */
MUST_USE bool quantity_refresh(struct store *st, struct err *e);

#endif
