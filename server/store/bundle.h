/* SPDX-License-Identifier: MIT
 *
 * bundle: the catalogue that comes with the program, brought into the tables.
 *
 * Rows that came with a bundle are written over in place, so that a type keeps its id as long as
 * the data folder lives.  Rows of one's own are never touched.  What a newer bundle no longer holds
 * goes, except types (tubes may be of them) and test points (readings may be at them): a type stays
 * as it was, a test point is retired.  A test point whose conditions changed is retired too and a
 * new one takes its code, for readings compare only at the same conditions.
 */
#ifndef QUADRILLE_STORE_BUNDLE_H
#define QUADRILLE_STORE_BUNDLE_H

#include "catalogue/load.h"
#include "store/store.h"

/* The files of a bundle, by enum catalogue_file. */
struct bundle {
    struct {
        const char *bytes;
        size_t n;
    } file[FILE__COUNT];
};

/* The files packed into this program. */
void bundle_packed(struct bundle *out);

/* Load a bundle unless it is the one that was loaded last (SHA-256 of its files in the setting
 * 'catalogue.bundle'); *changed (may be NULL) tells.  Needs the built-in quantities.  Folds all
 * spellings anew where the program folds them otherwise than it did, and derives the families.
 * ERR_INVALID with e->line and the file's name in the text where a line of it is bad: nothing is
 * kept then but what the caller keeps. */
MUST_USE bool bundle_load(bool *changed, struct store *st, const struct bundle *b, struct err *e);

#endif
