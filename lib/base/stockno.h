/* SPDX-License-Identifier: MIT
 *
 * stockno: the number on a tube.  Decimal, the last figure an ISO/IEC 7064 MOD 11,10 check digit,
 * so that a mistyped, transposed or misread number is refused.  At least 7 figures: a payload from
 * STOCKNO_FIRST upward without leading zeros, then the check digit.
 */
#ifndef QUADRILLE_BASE_STOCKNO_H
#define QUADRILLE_BASE_STOCKNO_H

#include "base/err.h"

#define STOCKNO_FIRST INT64_C(100001)      /* the first payload given out */
#define STOCKNO_LAST  INT64_C(99999999999) /* the last: 11 figures and the check digit */

/* The check digit of a string of n >= 1 decimal digits (ISO/IEC 7064:2003, hybrid system MOD
 * 11,10). '0'..'9', or 0 when digits holds anything else. */
char stockno_check_digit(const char *digits, size_t n);

/* payload (STOCKNO_FIRST..STOCKNO_LAST) with its check digit appended, as a number: 100001 ->
 * 1000019. */
int64_t stockno_make(int64_t payload);

/* The number without its check digit, which is not looked at. */
int64_t stockno_payload(int64_t stockno);

/* Read a stock number as typed or scanned: digits, with spaces or dashes anywhere between them.
 * White space around it is fine.  ERR_INVALID for nothing at all, other characters (e->at says
 * where), fewer than 7 or more than 12 digits, a leading zero, a payload below STOCKNO_FIRST, or a
 * wrong check digit (the message says that it was probably mistyped; it never says what the right
 * digit would be, for then people would type that). */
MUST_USE bool stockno_parse(int64_t *out, const char *s, size_t n, struct err *e);

#endif
