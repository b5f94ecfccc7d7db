/* SPDX-License-Identifier: MIT
 *
 * furnish: what a fresh or upgraded data folder needs before it can be worked in.
 */
#ifndef QUADRILLE_STORE_FURNISH_H
#define QUADRILLE_STORE_FURNISH_H

#include "store/store.h"

/* Bring the built-in quantities, the bundled catalogue and the default grade scheme into a migrated
 * database: in one transaction of its own, by the local command line's user, at the present moment.
 * What is there already is not written again, so it may be called at every start.  The store must
 * not be in a transaction. */
MUST_USE bool store_furnish(struct store *st, struct err *e);

#endif
