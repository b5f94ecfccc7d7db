/* SPDX-License-Identifier: MIT
 *
 * compare: one type put where another was, point by point.
 *
 * Never "compatible" by silence: what is not known on either side is a point of its own.  The
 * answer has a direction; compare(a, b) says nothing of compare(b, a).
 */
#ifndef QUADRILLE_CATALOGUE_COMPARE_H
#define QUADRILLE_CATALOGUE_COMPARE_H

#include "catalogue/type.h"

/* From the gravest. */
enum compare_level {
    COMPARE_STOP,    /* can destroy the tube or the set, or cannot work: do not plug it in */
    COMPARE_CHANGE,  /* works after work: bias, screen volts, cathode resistor, a wire */
    COMPARE_UNKNOWN, /* a figure is missing: check the data sheet */
    COMPARE_REMARK,  /* good to know */
    COMPARE__LEVELS
};
extern const char *const compare_levels[COMPARE__LEVELS]; /* "stop" "change" "unknown" "remark" */

enum compare_aspect {
    ASPECT_KIND,   /* what kind of tube, and how many systems */
    ASPECT_HEATER, /* volts, amps, tap, direct or indirect */
    ASPECT_BASE,
    ASPECT_PINS,
    ASPECT_CAP,
    ASPECT_RATING,         /* limits */
    ASPECT_CHARACTERISTIC, /* bias and figures at the published point */
    ASPECT_ENVELOPE,
    ASPECT__COUNT
};
extern const char *const compare_aspects[ASPECT__COUNT]; /* "kind" "heater" ... */

struct difference {
    enum compare_level level;
    enum compare_aspect aspect;
    bool memory;    /* a figure in it rests on memory alone */
    char text[220]; /* one sentence with both figures and their units */
};

#define COMPARE_DIFFERENCES 40

struct comparison {
    size_t count;
    struct difference difference[COMPARE_DIFFERENCES]; /* the gravest first, then by aspect */
    int levels[COMPARE__LEVELS];                       /* how many of each */
};

/* `new` in the place of `old`.
 *   stop      another kind or number of systems; heater volts more than 5 percent apart; a heater
 * tap that meets something else; another socket; a pin whose electrode meets another's circuit; a
 * cap where there was none or the reverse; a limit more than 10 percent below the old one's, or
 * below the old one's published operating point change    heater current more than 5 percent apart,
 * another way of heating; a pin that needs a wire; bias, screen volts, cathode resistor or plate
 * current more than 10 percent apart remark    a limit lower by up to 10 percent (one step between
 * rating systems, http://www.tubecad.com/december2000/page19.html); gain, slope, resistance, load
 * more than 10 percent apart; another bulb or class unknown   any of these that is not known on a
 * side where it matters The percentages are a house rule, wider than the rounding of published
 * figures. */
void compare_types(struct comparison *out, const struct type *old, const struct type *new);

#endif
