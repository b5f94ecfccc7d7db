/* SPDX-License-Identifier: MIT
 *
 * decimal: numbers as people read them off a meter.
 *
 * A reading travels as decimal text, at most 15 significant digits, and is kept as typed.  Where it
 * is compared it becomes an int64 at a declared number of decimals, rounded once, half to even.
 * No binary floating point takes part.
 */
#ifndef QUADRILLE_BASE_DECIMAL_H
#define QUADRILLE_BASE_DECIMAL_H

#include "base/err.h"

#define DECIMAL_DIGITS   15 /* significant digits taken */
#define DECIMAL_DECIMALS 12 /* the most decimals a scaled value may have */

/* value = mantissa * 10^-decimals, exactly as typed (5.20 is 520, 2).  |mantissa| < 10^15. */
struct decimal {
    int64_t mantissa;
    int decimals; /* 0..15 as parsed; below 0 or above 15 only after a shift */
};

/* Read [+|-|U+2212] digits [. or , digits], with white space around it.  Refused, each with its own
 * sentence: empty; a letter (NaN, inf, 1e3: "write the number out"); two separators; more than 15
 * significant digits (zeros in front do not count) or decimals; thousands grouping ("1,234.5" or
 * "1 234"); no digit before or after the separator; a stray sign.  A lone comma is always the
 * decimal comma: "1,234" is 1.234.  ERR_INVALID, e->at = offset of the first byte not understood.
 */
MUST_USE bool decimal_parse(struct decimal *out, const char *s, size_t n, struct err *e);

/* d * 10^exp10, exactly (only the point moves).  |exp10| <= 100. */
struct decimal decimal_shift(struct decimal d, int exp10);

/* *out = d at the given decimals (0..DECIMAL_DECIMALS), rounded half to even.
 * ERR_TOO_LARGE when it would exceed 10^18 in magnitude. */
MUST_USE bool decimal_scale(int64_t *out, struct decimal d, int decimals, struct err *e);

/* Parse and scale in one step; fails as the two do. */
MUST_USE bool decimal_read(int64_t *out, const char *s, int decimals, struct err *e);

/* Print v at the given decimals (0..18) with a decimal point and all decimals ("5.20").  buf needs
 * DECIMAL_BYTES; returns buf.  What it prints, decimal_parse reads where it has up to 15 digits. */
#define DECIMAL_BYTES 40
const char *decimal_print(char *buf, int64_t v, int decimals);

/* a * b as a 128-bit product, compared: -1, 0, 1 as a*b <=> c*d.  The one wide multiply. */
int wide_compare(int64_t a, int64_t b, int64_t c, int64_t d);

/* round-half-up(a * b / c) for a, b >= 0, c > 0.  ERR_TOO_LARGE when it does not fit int64. */
MUST_USE bool wide_mul_div(int64_t *out, int64_t a, int64_t b, int64_t c, struct err *e);

#endif
