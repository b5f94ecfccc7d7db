/* SPDX-License-Identifier: MIT
 *
 * history: was the tube used?  A claim, on somebody's word, with the evidence for and against it.
 *
 * Stands beside the grade and never enters it: a used tube may be as good as new.  No measured
 * number tells whether a tube was used, so only the look counts.  An unused tube is told by three
 * things together (common practice, no source): pins without wear, dull or marked by one test being
 * allowed; a full getter whose edge was looked at and does not recede; and a sound base (or none,
 * on all-glass types) with a label that is clear or only faded.  A box speaks for it and never
 * decides: an original one makes nothing unused, a suspected one makes nothing used.
 */
#ifndef QUADRILLE_GRADE_HISTORY_H
#define QUADRILLE_GRADE_HISTORY_H

#include "base/arena.h"
#include "base/err.h"
#include "grade/inspection.h"

enum history_claim { HISTORY_UNKNOWN, HISTORY_UNUSED, HISTORY_USED, HISTORY_CLAIM__COUNT };

enum history_evidence {
    HISTORY_UNDECIDED,    /* neither the three things together, nor a sign of use */
    HISTORY_FITS_UNUSED,  /* the three things together, no sign of use, no doubt about what it is */
    HISTORY_TELLS_OF_USE, /* at least one sign of use */
    HISTORY_EVIDENCE__COUNT
};

enum history_standing {
    HISTORY_UNCLAIMED, /* nobody claims anything */
    HISTORY_SUPPORTED,
    HISTORY_CONTRADICTED,
    HISTORY_OPEN, /* the look neither supports nor contradicts it */
    HISTORY_STANDING__COUNT
};

struct history_item {
    enum bearing bearing;
    const char *subject; /* aspect's code, or "features" */
    const char *text;    /* "pins: dulled by air", "getter edge: not looked at" */
};

struct history {
    enum history_evidence evidence;
    enum history_standing standing;
    size_t count;
    struct history_item *items; /* for unused, of use, of doubt, then neutral */
    const char *text;           /* the whole in a sentence */
};

const char *history_claim_code(enum history_claim c);       /* "unused" */
const char *history_evidence_code(enum history_evidence e); /* "fits-unused" */
const char *history_standing_code(enum history_standing s); /* "supported" */

/* ERR_INVALID naming what came and the three there are. */
MUST_USE bool history_claim_find(enum history_claim *out, const char *s, size_t n, struct err *e);

/* Weigh a claim against a look that passed inspection_check.
 *   word      on whose word, for the sentence ("seller"); NULL or "" where nobody's
 *   mismatch  features differ from the construction claimed and the owner has not cleared it: casts
 *             doubt on what it is
 * A claim of "used" is supported by signs of use and never contradicted: a used tube may look new.
 * Everything returned is in the arena. */
struct history history_weigh(struct arena *a, const struct inspection *look,
                             enum history_claim claim, const char *word, bool mismatch);

#endif
