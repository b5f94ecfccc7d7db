/* SPDX-License-Identifier: MIT
 *
 * wire: between JSON and C structs, by tables.  The only place that knows jansson.
 *
 * A shape describes one C struct: for each field its name on the wire, its kind, its limits, and
 * where in the struct it lives.  From the same table wire unpacks and checks what comes in, packs
 * what goes out, and writes the documentation.  A handler never sees JSON.
 */
#ifndef QUADRILLE_API_WIRE_H
#define QUADRILLE_API_WIRE_H

#include "base/arena.h"
#include "base/err.h"
#include "base/value.h"

enum kind {
    K_TEXT,    /* const char *; min..max bytes; one line, checked UTF-8 */
    K_NOTE,    /* const char *; as K_TEXT, but line breaks and tabs are allowed */
    K_INT,     /* int64_t; min..max; JSON integer */
    K_BOOL,    /* int64_t: 0, 1; NONE when absent */
    K_DECIMAL, /* const char *; decimal text, kept as typed; min..max in whole units; a JSON number
                  is refused with a sentence */
    K_STOCKNO, /* int64_t; text with its check digit on the wire */
    K_MOMENT,  /* int64_t milliseconds; RFC 3339 on the wire */
    K_DATE,    /* int64_t days; "YYYY-MM-DD" on the wire */
    K_ENUM,    /* int64_t index into names; the name on the wire */
    K_TEXTS,   /* struct texts; each min..max bytes */
    K_OBJECT,  /* pointer to a struct of shape sub; NULL when absent */
    K_LIST,    /* struct list of structs of shape sub; at most max items */
    K_RAW,     /* const char *; JSON text from our own database, written out as it is; never read */
};

enum {
    F_REQUIRED = 1, /* refused when absent; documented as always present in replies */
    F_PATH = 2,     /* taken from the path's :name, not from query or body */
    F_SECRET = 4,   /* never logged, never part of a stored reply */
    F_NULL = 8,     /* in replies: written as null when absent (default: left out) */
    F_MEASURE = 16, /* K_TEXT: decimal text that may carry its unit; a JSON number is refused in the
                       words of K_DECIMAL */
};

struct shape;
struct pen; /* api/pen.h */

struct field {
    const char *name;
    enum kind kind;
    unsigned flags;
    size_t at;                /* offsetof in the struct */
    int64_t min, max;         /* see kind; 0, 0: wire's own limits (text 1..200, note 0..4000, list
                                 0..1000 items, numbers any); max < min: no upper limit of yours */
    const char *const *names; /* K_ENUM: NULL-terminated */
    const struct shape *sub;  /* K_OBJECT, K_LIST */
    const char *help;         /* with the unit; shown in the documentation */
    const char *example;      /* as on the wire; NULL where the help is enough */
};

struct shape {
    const char *name;          /* "tube", for the documentation and for messages */
    size_t size;               /* sizeof the struct */
    const struct field *field; /* ends with a field whose name is NULL */
};

#define WIRE_DEPTH 12 /* deepest JSON taken */

/* Unpack a JSON object.  *out is a new struct of s->size in the arena, absent fields set to their
 * "nothing".  Unknown, repeated, missing, mistyped and out-of-range fields are refused: ERR_INVALID
 * (or ERR_TOO_LARGE), e->field names the path ("values[2].typed"), the text says what would be
 * right.  F_PATH fields are refused in the body.  null is the same as absent; an empty list or
 * texts has items other than NULL.  The value of an F_SECRET field is in no sentence. */
MUST_USE bool wire_unpack(void **out, const struct shape *s, const char *json, size_t n,
                          struct arena *a, struct err *e);

/* Unpack a reply, for whoever asked (the command line): what the shape does not know is passed
 * over, limits are the sender's own affair, and a K_RAW field is its JSON text.  Fails only over
 * what is no JSON object or holds a field of another kind. */
MUST_USE bool wire_unpack_reply(void **out, const struct shape *s, const char *json, size_t n,
                                struct arena *a, struct err *e);

/* One field from its text form (query parameter, path segment, CSV cell): any kind but K_OBJECT,
 * K_LIST.  to points at the struct, which started as wire_blank.  Empty text leaves the field
 * absent. K_TEXTS takes one more text with each call; any other field a second time is refused. */
MUST_USE bool wire_set(void *to, const struct shape *s, const char *name, const char *text,
                       struct arena *a, struct err *e);

/* A new struct of s with every field absent, in the arena. */
void *wire_blank(const struct shape *s, struct arena *a);

/* The first required field that is absent, as an err; true when there is none. */
MUST_USE bool wire_complete(const void *from, const struct shape *s, struct err *e);

/* JSON text of a struct, in the arena, without white space; *n (may be NULL) its length.  An absent
 * field is left out, or null with F_NULL or F_REQUIRED, or [] for a required list.  An F_PATH field
 * belongs to the address: it is left out. */
const char *wire_pack(const struct shape *s, const void *from, struct arena *a, size_t *n);

/* The same, added to what is being written with p. */
void wire_pack_to(struct pen *p, const struct shape *s, const void *from);

/* The text form of a field of one text or number, the one that wire_set takes; "" when it is
 * absent. In buf, or the struct's own text.  Not for K_TEXTS, K_OBJECT, K_LIST. */
#define WIRE_PRINT_BYTES 48
const char *wire_print(char *buf, const struct field *f, const void *from);

/* A problem document (RFC 9457): status and title from e->code, detail, field, line, at. */
const char *wire_problem(const struct err *e, int status, const char *request_id, struct arena *a,
                         size_t *n);

/* JSON Schema (2020-12) of a shape and its sub-shapes, for OpenAPI: an object for
 * components/schemas as JSON text. See http/openapi for the document around it. */
const char *wire_schema(const struct shape *s, bool request, struct arena *a);

/* s as a JSON string with its quotes, in the arena. */
const char *wire_quote(const char *s, struct arena *a);

#endif
