/* SPDX-License-Identifier: MIT
 *
 * text: UTF-8, checked at the door and walked by code point.
 */
#ifndef QUADRILLE_BASE_TEXT_H
#define QUADRILLE_BASE_TEXT_H

#include "base/err.h"

/* Check that s[0..n) is well-formed UTF-8 (RFC 3629: no overlong forms, no surrogates, at most
 * U+10FFFF) without NUL.  ERR_INVALID with e->at = offset where the first ill-formed sequence (or
 * the NUL) starts; all before it is good. */
MUST_USE bool text_check(const char *s, size_t n, struct err *e);

/* As text_check, and also refuse control characters (U+0000-U+001F, U+007F-U+009F), for names that
 * are printed on paper, and more than max bytes (ERR_TOO_LARGE). */
MUST_USE bool text_check_line(const char *s, size_t n, size_t max, struct err *e);

/* The code point at *s; moves *s behind it.  *s must be checked text and not at its end.  (Text
 * that was not checked yields nonsense, but a terminating zero is never passed.) */
uint32_t text_next(const char **s);

/* Write code point c (no surrogate) as UTF-8 at buf (room for 4), without a terminating zero;
 * returns the bytes written, 1..4. */
size_t text_put(char *buf, uint32_t c);

/* The bytes of s without leading and trailing white space (space, tab, CR, LF, U+00A0); *n is in
 * and out.  Points into s. */
const char *text_trim(const char *s, size_t *n);

/* For messages: at most 40 characters of s[0..n), unprintable (controls, zero-width and
 * direction-changing characters) and ill-formed bytes shown as \xNN, each counting as one, "..."
 * where cut.  buf needs TEXT_SHOW_BYTES; returns buf. */
#define TEXT_SHOW_BYTES 176
const char *text_show(char *buf, const char *s, size_t n);

/* Number of single edits (insert, delete, replace, swap of neighbours; code points) between a and
 * b, or limit + 1 when more than limit (limit >= 0).  Optimal string alignment distance.  Both at
 * most 64 code points (longer: limit + 1).  Case counts: fold first where it should not. */
int text_distance(const char *a, const char *b, int limit);

#endif
