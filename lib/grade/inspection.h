/* SPDX-License-Identifier: MIT
 *
 * inspection: what the eye sees of a tube, in a fixed vocabulary.
 *
 * A tube is looked at aspect by aspect (pins, getter, ...).  In an aspect one or more findings are
 * noted, each by its code ("dull").  An aspect with no finding was not looked at, which is not the
 * same as sound.  The vocabulary is one table in inspection.c; each row says what the finding means
 * for the history of the tube, whether it ends the tube, and where we have that from.
 */
#ifndef QUADRILLE_GRADE_INSPECTION_H
#define QUADRILLE_GRADE_INSPECTION_H

#include "base/arena.h"
#include "base/err.h"

enum aspect {
    ASPECT_PINS,
    ASPECT_GETTER,      /* share of what is usual for that construction */
    ASPECT_GETTER_EDGE, /* the border of the getter flash */
    ASPECT_PLATE,       /* heat marks inside: plate, grids, mica */
    ASPECT_BASE,
    ASPECT_LABEL,
    ASPECT_GLASS,
    ASPECT_CAP,
    ASPECT_LOOSE, /* what rattles */
    ASPECT_BOX,
    ASPECT__COUNT
};

/* In each aspect from the best to the worst; the order is what "at least" means in a scheme. */
enum finding {
    FINDING_PINS_BRIGHT,
    FINDING_PINS_DULL,
    FINDING_PINS_SINGLE_TEST,
    FINDING_PINS_CLEANED,
    FINDING_PINS_WORN,
    FINDING_PINS_SOLDER,
    FINDING_PINS_BENT,
    FINDING_PINS_BROKEN,

    FINDING_GETTER_FULL,
    FINDING_GETTER_MOST,
    FINDING_GETTER_HALF,
    FINDING_GETTER_LITTLE,
    FINDING_GETTER_NONE,
    FINDING_GETTER_TINTED,
    FINDING_GETTER_NOT_JUDGED,
    FINDING_GETTER_WHITE,

    FINDING_EDGE_SHARP,
    FINDING_EDGE_PATCHY,
    FINDING_EDGE_NOT_JUDGED,
    FINDING_EDGE_RECEDING,

    FINDING_PLATE_CLEAN,
    FINDING_PLATE_NOT_JUDGED,
    FINDING_PLATE_SLIGHT,
    FINDING_PLATE_BROWN,
    FINDING_PLATE_SAGGED,

    FINDING_BASE_SOUND,
    FINDING_BASE_NONE,
    FINDING_BASE_SCORCHED,
    FINDING_BASE_LOOSE,
    FINDING_BASE_CRACKED,
    FINDING_BASE_KEY_BROKEN,

    FINDING_LABEL_CLEAR,
    FINDING_LABEL_FADED,
    FINDING_LABEL_PARTIAL,
    FINDING_LABEL_NONE,
    FINDING_LABEL_RELABELLED,

    FINDING_GLASS_SOUND,
    FINDING_GLASS_MOULDING,
    FINDING_GLASS_SCRATCHED,
    FINDING_GLASS_DARKENED,
    FINDING_GLASS_CRACKED,

    FINDING_CAP_SOUND,
    FINDING_CAP_NONE,
    FINDING_CAP_RESOLDERED,
    FINDING_CAP_LOOSE,
    FINDING_CAP_MISSING,

    FINDING_LOOSE_NONE,
    FINDING_LOOSE_FLAKE,
    FINDING_LOOSE_RATTLE,
    FINDING_LOOSE_PART,

    FINDING_BOX_ORIGINAL,
    FINDING_BOX_OTHER,
    FINDING_BOX_NONE,
    FINDING_BOX_SUSPECTED,
    FINDING__COUNT
};

/* What a finding says about the history of the tube. */
enum bearing {
    BEARING_UNUSED,  /* fits a tube that was never used */
    BEARING_NEUTRAL, /* says nothing either way */
    BEARING_USED,    /* tells of use */
    BEARING_DOUBT    /* casts doubt on what is claimed about the tube */
};

#define FINDING_ENDS           0x01u /* the tube is finished, whatever it measures */
#define FINDING_NEVER_LOWERS   0x02u /* no grade may depend on it: new tubes vary in this */
#define FINDING_NOT_JUDGED     0x04u /* looked for, but could not be judged */
#define FINDING_NOT_APPLICABLE 0x08u /* the type has no such part */
#define FINDING_ALONE          0x10u /* excludes every other finding of its aspect */

struct inspection_aspect {
    const char *code;  /* "getter_edge": field name in files and over the API */
    const char *words; /* "getter edge": in sentences */
};

struct inspection_finding {
    enum aspect aspect;
    const char *code;  /* "dull"; unique within its aspect */
    const char *words; /* "dulled by air": in sentences, after the aspect's words and a colon */
    enum bearing bearing;
    unsigned flags;     /* FINDING_... */
    unsigned kind;      /* two findings of an aspect with the same kind > 0 contradict each other */
    const char *source; /* a line of the notes on test practice, or "common practice, no source" */
};

/* One look at one tube.  Start from { 0 }. */
struct inspection {
    bool seen[FINDING__COUNT];
};

/* The rows; never NULL. */
const struct inspection_aspect *inspection_aspect(enum aspect a);
const struct inspection_finding *inspection_finding(enum finding f);

/* The findings of an aspect are (enum finding) first .. first + count - 1, best first. */
int inspection_first(enum aspect a);
int inspection_count(enum aspect a);

/* Find by code, n bytes of s.  ERR_INVALID naming what came and every code there is. */
MUST_USE bool inspection_aspect_find(enum aspect *out, const char *s, size_t n, struct err *e);
MUST_USE bool inspection_finding_find(enum finding *out, enum aspect a, const char *s, size_t n,
                                      struct err *e);

/* Replace the findings of one aspect by those listed in s[0..n): codes joined by '+', ',' or white
 * space ("dull+bent").  Nothing listed means not looked at.  ERR_INVALID for an unknown code, or
 * for findings that contradict each other; e->field is the aspect's code. */
MUST_USE bool inspection_read(struct inspection *in, enum aspect a, const char *s, size_t n,
                              struct err *e);

/* A whole look: "pins=dull+bent; getter=full".  Aspects in any order, ':' is taken for '='.
 * ERR_INVALID for an aspect named twice or without findings, or as in inspection_read. */
MUST_USE bool inspection_parse(struct inspection *out, const char *s, size_t n, struct err *e);

/* Nothing that was noted contradicts anything else ("bright" and "dull"; "sound" and "cracked").
 * ERR_INVALID naming both, e->field the aspect's code. */
MUST_USE bool inspection_check(const struct inspection *in, struct err *e);

/* Was anything noted in this aspect (be it "not judged")? */
bool inspection_looked(const struct inspection *in, enum aspect a);

/* Does a finding end the tube?  *out (may be NULL) is then the first that does. */
bool inspection_ends(const struct inspection *in, enum finding *out);

/* Text in the arena.  _print: codes, "dull+bent", "" when not looked at; _words: "dulled by air,
 * bent", "not looked at"; _print_all: as inspection_parse takes it. */
const char *inspection_print(struct arena *a, const struct inspection *in, enum aspect aspect);
const char *inspection_words(struct arena *a, const struct inspection *in, enum aspect aspect);
const char *inspection_print_all(struct arena *a, const struct inspection *in);

#endif
