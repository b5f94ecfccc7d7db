/* SPDX-License-Identifier: MIT
 *
 * packed: the files inside the executable: schema/NNNN_*.sql, seed-data/catalogue/,
 * seed-data/grade/, web/dist/.  Their names are their paths in the source tree.  Packed at build
 * time by embed.c.
 */
#ifndef QUADRILLE_WORK_PACKED_H
#define QUADRILLE_WORK_PACKED_H

#include "base/err.h"

struct packed {
    const char *name;  /* "schema/0001_ground.sql" */
    const char *bytes; /* n bytes and a zero after them; static */
    size_t n;
    const char *sha256; /* of the bytes: 64 hexadecimal digits, lower case */
};

/* The file of that name; false when there is none, and *out is untouched. */
MUST_USE bool packed_find(struct packed *out, const char *name);

/* Walk the files whose names begin with prefix, in the order of their names (bytes compared).  *at
 * is 0 to begin with; false when there is no further one.
 *     int at = 0;
 *     for (struct packed f; packed_each(&f, "schema/", &at);) ... */
bool packed_each(struct packed *out, const char *prefix, int *at);

/* What embed writes; for packed.c alone. */
struct packed_row {
    const char *name;
    const unsigned char *begin, *end;
    const char *sha256;
};
extern const struct packed_row packed_rows[];
extern const int packed_count;

#endif
