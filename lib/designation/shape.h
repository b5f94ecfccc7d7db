/* SPDX-License-Identifier: MIT
 *
 * shape: a word cut into slots, and what its look gives away.  Used by fold.c.
 */
#ifndef QUADRILLE_DESIGNATION_SHAPE_H
#define QUADRILLE_DESIGNATION_SHAPE_H

#include "designation/word.h"

/* What a slot stands for: in a word of the GOST shape the type letter, the envelope letter, a
 * quality letter, or the letters of a group in front; anything else is ROLE_ANY. */
enum role { ROLE_ANY, ROLE_KIND, ROLE_ENVELOPE, ROLE_QUALITY, ROLE_GROUP };

/* What a word shows by itself. */
struct marks {
    bool cyrillic;   /* it has Cyrillic letters */
    bool all_twins;  /* and each of them has a Latin twin */
    bool latin;      /* it has Latin letters */
    bool gost;       /* it has the GOST shape */
    bool small_n;    /* n stands where П is drawn like it */
    bool c_envelope; /* C stands for the envelope letter С */
    bool p_envelope; /* P stands for the envelope letter П */
    bool weak;       /* a sound Latin designation: other readings only suggest */
};

struct slot {
    size_t first, len; /* glyphs */
    enum role role;
};

struct slots {
    size_t count;
    struct slot slot[DESIGNATION_CHARS];
};

/* Cut w into slots: heater figures, type letter, serial, envelope, quality where it has the GOST
 * shape; single letters and figures otherwise. */
void word_shape(struct slots *s, struct marks *m, const struct word *w);

/* How many glyphs from `at` on are figures (or, with figures false, are not). */
size_t word_run(const struct word *w, size_t at, bool figures);

#endif
