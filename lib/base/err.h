/* SPDX-License-Identifier: MIT
 *
 * err: the one way to fail.
 *
 * A function that can fail returns bool, marked MUST_USE, with its outputs first and a
 * struct err * last.  On failure the outputs are as they were before the call.  A wrong
 * request is an err; a wrong program is an assert, and asserts stay on (NDEBUG is never set).
 */
#ifndef QUADRILLE_BASE_ERR_H
#define QUADRILLE_BASE_ERR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define MUST_USE          __attribute__((warn_unused_result))
#define PRINTF_LIKE(f, a) __attribute__((format(printf, f, a)))
#define ARRAY_LEN(x)      (sizeof(x) / sizeof((x)[0]))

enum err_code {
    ERR_NONE = 0,
    ERR_INVALID,     /* what was asked makes no sense: say what would */
    ERR_NOT_FOUND,   /* the thing named does not exist */
    ERR_CONFLICT,    /* true by itself, but at odds with what is recorded */
    ERR_DENIED,      /* not signed in, or not allowed */
    ERR_TOO_LARGE,   /* over a stated limit */
    ERR_UNAVAILABLE, /* not now: busy, stopping, disk trouble */
    ERR_FULL,        /* the disk is full */
    ERR_INTERNAL,    /* our fault */
    ERR__COUNT
};

/* One failure.  text is one sentence for a person: what is wrong, what came, what would be right.
 */
struct err {
    enum err_code code;
    int64_t at;     /* byte offset of the first thing not understood, or -1 */
    int64_t line;   /* line of a file, counted from 1; 0 where there is none */
    char field[64]; /* the input field or column, "" where there is none */
    char text[400];
};

#define ERR_INIT                   \
    {                              \
        .code = ERR_NONE, .at = -1 \
    }

/* Fill *e (which may be NULL when the caller does not care) and return false, so that failing is
 * one line: return err_set(e, ERR_INVALID, "...", ...).  Keeps e->field, e->line; sets e->at to -1.
 */
bool err_set(struct err *e, enum err_code code, const char *fmt, ...) PRINTF_LIKE(3, 4);

/* The same, and say at which byte offset of the input. */
bool err_at(struct err *e, enum err_code code, int64_t at, const char *fmt, ...) PRINTF_LIKE(4, 5);

/* The same as err_set, and say in which field. */
bool err_field(struct err *e, const char *field, enum err_code code, const char *fmt, ...)
    PRINTF_LIKE(4, 5);

/* Name the field of a failure that a callee reported without one.  Returns false. */
bool err_in(struct err *e, const char *field);

#endif
