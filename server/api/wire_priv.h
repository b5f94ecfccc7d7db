/* SPDX-License-Identifier: MIT
 *
 * wire_priv: what the files of wire share.  wire.c knows fields and sentences, wire_set.c takes
 * values, wire_unpack.c knows jansson, wire_pack.c writes, wire_schema.c documents.
 */
#ifndef QUADRILLE_API_WIRE_PRIV_H
#define QUADRILLE_API_WIRE_PRIV_H

#include "base/pen.h"
#include "api/wire.h"

#define WIRE_TEXT_BYTES INT64_C(200) /* wire's own limits, where a field's min and max are 0, 0 */
#define WIRE_NOTE_BYTES INT64_C(4000)
#define WIRE_ITEMS      INT64_C(1000)
#define WIRE_INT_MOST   INT64_MAX /* and its negative: INT64_MIN is NONE */

/* Where we are in the input: a chain from the field up to the top, kept on the stack. */
struct wire_path {
    const struct wire_path *up;
    const char *name; /* NULL: an item of a list */
    size_t index;
};

/* "values[2].typed", its beginning cut where it is long. */
#define WIRE_PATH_BYTES 64
const char *wire_path_print(char *buf, const struct wire_path *at);

/* Fail at a path: the sentence gets the path before it. */
bool wire_refuse(struct err *e, enum err_code code, const struct wire_path *at, const char *fmt,
                 ...) PRINTF_LIKE(4, 5);

/* A callee has refused a value in its own words, in *e: put the path before them.  false. */
bool wire_refuse_in(struct err *e, const struct wire_path *at);

/* "one line of text, 1 to 200 bytes": what would be right for a field. */
#define WIRE_WANTS_BYTES 320
const char *wire_wants(char *buf, const struct field *f);

/* Limits of a field with wire's own where it has none. */
int64_t wire_min(const struct field *f);
int64_t wire_max(const struct field *f);

const struct field *wire_find(const struct shape *s, const char *name);
bool wire_is_absent(const struct field *f, const void *from);
bool wire_is_text(enum kind k); /* kinds that are one text on the wire */
bool wire_has_secret(const struct shape *s);
void wire_clear(void *to, const struct shape *s); /* every field absent */

/* Set the field in the struct to from a value of the wire, checked. */
extern const char *const wire_code_names[]; /* by err_code, on the wire */

MUST_USE bool wire_take_text(void *to, const struct field *f, const char *s, size_t n,
                             const struct wire_path *at, struct arena *a, struct err *e);
MUST_USE bool wire_take_int(void *to, const struct field *f, int64_t v, const struct wire_path *at,
                            struct err *e);

/* The sentences for a name that s does not have, and for a field that had to be there.  false. */
bool wire_refuse_unknown(const struct shape *s, const struct wire_path *at, struct err *e);
bool wire_refuse_missing(const struct field *f, const struct wire_path *at, struct err *e);

#endif
