/* SPDX-License-Identifier: MIT
 *
 * band: bands as people write them.
 */
#ifndef QUADRILLE_MATCH_BAND_H
#define QUADRILLE_MATCH_BAND_H

#include "base/decimal.h"
#include "base/unit.h"
#include "match/problem.h"

/* One band as written: "5%", "abs:0.25", "0.3mA/V". */
struct band {
    const char *column; /* which quantity it is for; "" for all.  In the arena */
    enum match_kind kind;
    struct match_band ratio; /* relative */
    struct decimal width;    /* absolute: in unit, or in the column's own unit */
    const struct unit *unit; /* NULL after "abs:" */
};

struct band_list {
    int count;
    struct band *band;
};

/* Read "5%" or "abs:0.25" for all quantities, or "ia=5%,gm=0.3mA/V,vg=abs:0.25" for some.
 * ERR_INVALID with the part at fault: a bare number ("give 5% or abs:5"), a band below zero or
 * above 1000 %, more than six decimals of a per cent, an unknown unit, a column twice. */
MUST_USE bool band_list_parse(struct band_list *out, const char *text, struct arena *a,
                              struct err *e);

/* The band of a column whose values are in unit (NULL: not known) and will be kept at *decimals; an
 * absolute band with more decimals than that raises *decimals.  ERR_INVALID where the units differ
 * in kind, or the band has a unit and the column none that is known. */
MUST_USE bool band_width(struct decimal *out, const struct band *b, const char *column,
                         const struct unit *unit, int *decimals, struct err *e);

#endif
