/* SPDX-License-Identifier: MIT
 *
 * spelling: the names of types, and the keys they are found by.
 */
#ifndef QUADRILLE_STORE_SPELLING_H
#define QUADRILLE_STORE_SPELLING_H

#include "store/store.h"

struct alias {
    int64_t type_id;
    const char *text;
    const char *kind; /* "printed", "trade" */
    const char *source;
    const char *where; /* address of the page read; NULL none */
    const char *how;   /* "found", "memory", "own" */
};

/* All spellings of a type, the main one first.  struct alias. */
void spelling_list(struct list *out, struct store *st, int64_t type_id, struct arena *a);

/* A name that a text may be the beginning of. */
struct beginning {
    int64_t type_id;
    const char *text; /* the spelling */
    const char *type; /* main designation */
};

/* Spellings whose key begins with a reading of the text, one a type, the plainest reading first,
 * then by key; at most limit.  struct beginning.  Errors as fold_read. */
MUST_USE bool spelling_begins(struct list *out, struct store *st, const char *text, int64_t limit,
                              struct arena *a, struct err *e);

/* Add a spelling of one's own with its key.  ERR_CONFLICT naming the type that has it already;
 * ERR_INVALID as fold_key.  The caller tells catalogue_changed. */
MUST_USE bool spelling_create(int64_t *id, struct store *st, const struct alias *s, struct arena *a,
                              struct err *e);

/* Write the key of every spelling whose key is not what this program folds it to; *changed (may be
 * NULL) tells whether there was one. */
MUST_USE bool spelling_keys_derive(bool *changed, struct store *st, struct err *e);

#endif
