/* SPDX-License-Identifier: MIT
 *
 * word: the letters and figures of a designation, taken out of text.
 *
 * Small letters become capitals (and are remembered), separators are dropped (and are remembered),
 * full-width and Greek letters become the Latin ones drawn alike, Cyrillic letters stay Cyrillic.
 */
#ifndef QUADRILLE_DESIGNATION_WORD_H
#define QUADRILLE_DESIGNATION_WORD_H

#include "designation/fold.h"

#define WORDS 3 /* the most names taken from one text */

struct glyph {
    uint32_t c; /* 'A'..'Z', '0'..'9' or a Cyrillic capital */
    bool lower; /* it was typed small */
    bool gap;   /* a space, dash or point stood before it */
};

/* One name. */
struct word {
    size_t n; /* 1..DESIGNATION_CHARS */
    struct glyph g[DESIGNATION_CHARS];
};

struct words {
    size_t count; /* 1..WORDS */
    struct word word[WORDS];
    bool joined; /* a slash, "=" or bracket stood between names */
};

/* What a Cyrillic capital means in a designation, and the Latin letter drawn like it. */
struct cyrillic {
    uint32_t c;
    char means[3]; /* one or two Latin capitals */
    char twin;     /* 0 where no Latin letter is drawn alike */
};

/* The row of a Cyrillic capital, NULL for any other character. */
const struct cyrillic *word_cyrillic(uint32_t c);

bool glyph_is_figure(const struct glyph *g);
bool glyph_is_latin(const struct glyph *g);

/* Take text apart.  ERR_INVALID / ERR_TOO_LARGE with e->at; see designation_check. */
MUST_USE bool word_scan(struct words *out, const char *text, struct err *e);

#endif
