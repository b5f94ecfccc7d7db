/* SPDX-License-Identifier: MIT
 *
 * recall: what a connection has looked up in the present savepoint, so that a change that touches
 * many rows asks for a quantity, a tester's terms or a test point once.
 *
 * Inside a savepoint of the one writer nobody else changes anything; so what was read stays true
 * until the savepoint ends, unless the same change alters it: whoever writes a row of those tables
 * calls recall_forget.  Outside a savepoint nothing is remembered.  Included by server/store only.
 */
#ifndef QUADRILLE_STORE_RECALL_H
#define QUADRILLE_STORE_RECALL_H

#include "store/store_priv.h"

/* The value remembered under a statement's constant text (its address counts) and parameters; word
 * may be NULL.  NULL when there is none. */
const void *recall(struct store *st, const char *sql, int64_t id, const char *word);

/* The arena of what is to be remembered, which lives until the savepoint ends; NULL outside one:
 * then use the caller's and remember nothing. */
struct arena *recall_arena(struct store *st);

/* Remember value, which is in recall_arena, as word is not: it is copied. */
void recall_keep(struct store *st, const char *sql, int64_t id, const char *word,
                 const void *value);

/* Look everything up again from now on.  Values handed out before stay readable. */
void recall_forget(struct store *st);

/* A savepoint begins or has ended (store.c). */
void recall_clear(struct store *st);

#endif
