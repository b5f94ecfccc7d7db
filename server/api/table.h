/* SPDX-License-Identifier: MIT
 *
 * table: lists going out in bulk, as CSV (RFC 4180) or as NDJSON (one JSON object to a line),
 * written from the same shape as the JSON reply.
 *
 * CSV has a head line of field names.  A field of a nested object is a column "place.bin"; texts
 * stand in one cell with "; " between them; lists of objects have no column, and neither has an
 * object inside one of its own kind.  An absent field is an empty cell.  Nothing is changed in a
 * cell for the sake of a spreadsheet: data is data.
 */
#ifndef QUADRILLE_API_TABLE_H
#define QUADRILLE_API_TABLE_H

#include "base/pen.h"
#include "api/route.h"

enum table_form { TABLE_CSV, TABLE_NDJSON, TABLE__COUNT };

/* "csv", "ndjson", NULL: the names of a K_ENUM field "format" in a query. */
extern const char *const table_forms[];

const char *table_content_type(enum table_form form);

/* The head line; nothing for NDJSON. */
void table_head(struct pen *p, const struct shape *s, enum table_form form);

/* One line for each struct of the list. */
void table_rows(struct pen *p, const struct shape *s, const struct list *rows,
                enum table_form form);

/* The next rows of an export, in the arena a, or a count of 0 at the end; some hundred at a time
 * (design section 4, Queries).  state is the caller's, and remembers the place. */
typedef bool table_more_fn(void *state, struct store *st, struct arena *a, struct list *rows,
                           struct err *e);

/* A stream for reply.stream that asks more for rows until there are none, made in the arena of the
 * request. */
const struct stream *table_stream(const struct shape *s, enum table_form form, table_more_fn *more,
                                  void *state, struct arena *a);

#endif
