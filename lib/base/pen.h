/* SPDX-License-Identifier: MIT
 *
 * pen: text written piece by piece into an arena.  JSON, CSV and the documentation are written with
 * it; what it outgrows stays in the arena, at most as much again as the text.
 */
#ifndef QUADRILLE_BASE_PEN_H
#define QUADRILLE_BASE_PEN_H

#include "base/arena.h"

struct pen {
    struct arena *arena;
    char *s; /* n bytes written, room allocated; not zero-terminated before pen_done */
    size_t n, room;
};

/* Start an empty text.  expect: bytes thought likely, 0 for no idea. */
void pen_init(struct pen *p, struct arena *a, size_t expect);

/* Where the next n bytes may be written by somebody else, who then adds what he wrote to p->n. */
char *pen_room(struct pen *p, size_t n);

void pen_bytes(struct pen *p, const char *s, size_t n);
void pen_text(struct pen *p, const char *s);
void pen_char(struct pen *p, char c);
void pen_int(struct pen *p, int64_t v);
void pen_printf(struct pen *p, const char *fmt, ...) PRINTF_LIKE(2, 3);

/* s[0..n) as a JSON string (RFC 8259 section 7) with its quotes; UTF-8 is kept, and each byte that
 * is not part of well-formed UTF-8, or is NUL, becomes U+FFFD, so that the text is always JSON. */
void pen_quote_bytes(struct pen *p, const char *s, size_t n);
void pen_quote(struct pen *p, const char *s);

/* The text, zero-terminated, in the arena; *n (may be NULL) its length. */
const char *pen_done(struct pen *p, size_t *n);

#endif
