/* SPDX-License-Identifier: MIT
 *
 * setting: small facts that the house keeps about itself: a key, a text.
 */
#ifndef QUADRILLE_STORE_SETTING_H
#define QUADRILLE_STORE_SETTING_H

#include "store/store.h"

/* The text kept under a key, in the arena; NULL when there is none. */
const char *setting_get(struct store *st, const char *key, struct arena *a);

/* The same as a whole number; 0 when there is none. */
int64_t setting_number(struct store *st, const char *key);

/* Keep a text under a key.  Not journalled: the change it belongs to is. */
MUST_USE bool setting_put(struct store *st, const char *key, const char *value, struct err *e);

#endif
