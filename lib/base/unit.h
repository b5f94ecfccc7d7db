/* SPDX-License-Identifier: MIT
 *
 * unit: units of the bench and the powers of ten between them.
 *
 * 5200 micromho and 5.2 mA/V are one number: units of one dimension differ only by a power of ten,
 * so conversion moves the decimal point and loses nothing.
 */
#ifndef QUADRILLE_BASE_UNIT_H
#define QUADRILLE_BASE_UNIT_H

#include "base/err.h"

enum dimension {
    DIM_NONE, /* a pure number, such as mu */
    DIM_VOLT,
    DIM_AMPERE,
    DIM_SIEMENS, /* transconductance: mA/V, mS, micromho */
    DIM_OHM,
    DIM_WATT,
    DIM_PERCENT,
    DIM_DECIBEL,
    DIM_STEP, /* ordinal: a place in an ordered list */
    DIM__COUNT
};

/* value in this unit * 10^exp10 = value in the dimension's base unit (V, A, S, ohm, W, %, dB, 1) */
struct unit {
    const char *name; /* canonical: "mA/V" */
    enum dimension dimension;
    int exp10;
};

/* Find a unit by any customary spelling ("micromho", "umho", "µmho", "uS", "mS", "mA/V", "kOhm",
 * "kΩ", "Mohm", "uA", "µA" with either micro sign, "мА/В" ...), with white space anywhere.  Case
 * matters only where it must (m and M in front of a symbol).  NULL or "" gives the unit of a pure
 * number, whose name is "" and dimension DIM_NONE.  *out is static, one address a unit. ERR_INVALID
 * naming the spelling and the known ones. */
MUST_USE bool unit_find(const struct unit **out, const char *name, struct err *e);

/* The exponent x such that value_in_from * 10^x = value_in_to.  ERR_INVALID when the dimensions
 * differ ("mA is a current, gm is a transconductance: give mA/V or micromho"). */
MUST_USE bool unit_shift(int *exp10, const struct unit *from, const struct unit *to, struct err *e);

/* Split "5200 micromho" or "5.2mA/V" into the number's text and the unit's name; unit is "" where
 * none is given.  Lengths in bytes, without the white space around the unit or behind the number;
 * *unit points into s and may be given to unit_find as it is.  The unit starts at the first letter,
 * % or symbol behind a figure; the e of "1e3" belongs to the number.  Does not check either part.
 */
void unit_split(const char *s, size_t *number_len, const char **unit, size_t *unit_len);

/* For messages, with its article. */
const char *dimension_name(enum dimension d); /* "a transconductance" */

#endif
