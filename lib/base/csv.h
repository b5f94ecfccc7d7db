/* SPDX-License-Identifier: MIT
 *
 * csv: records of comma-separated values (RFC 4180) from a stream, in constant memory.
 *
 * Takes LF and CRLF, a UTF-8 byte order mark before the first record, quoted fields with doubled
 * quotes and line breaks, and empty lines (skipped).  A record that cannot be read is reported and
 * skipped to the next line end, and reading goes on: one bad line never takes the good ones down.
 */
#ifndef QUADRILLE_BASE_CSV_H
#define QUADRILLE_BASE_CSV_H

#include "base/err.h"

#define CSV_RECORD_BYTES ((size_t)64 * 1024) /* the longest record taken */
#define CSV_FIELDS       256                 /* the most fields of a record */

/* Fill buf with up to n bytes; return how many, 0 at the end, -1 on failure. */
typedef long csv_read_fn(void *ctx, char *buf, size_t n);

struct csv;

/* One record: zero-terminated fields, unquoted.  Valid until the next csv_next. */
struct csv_record {
    int64_t line;    /* line on which the record starts, from 1 */
    size_t count;
    const char *const *field;
    const size_t *length; /* bytes of each field */
};

enum csv_got {
    CSV_RECORD, /* *out is filled */
    CSV_BAD,    /* a record was skipped: *e says what, e->line where */
    CSV_END,
    CSV_FAILED  /* the stream could not be read; nothing more will come */
};

/* separator: ',' ';' or '\t'; 0: the one of these that occurs most in the first line, ',' if none.
 * Owned by the caller. */
struct csv *csv_new(csv_read_fn *read, void *ctx, char separator);
void csv_free(struct csv *c);

/* The next record.  CSV_BAD for: more than CSV_RECORD_BYTES or CSV_FIELDS, a NUL byte, ill-formed
 * UTF-8 (column and byte named), text after a closing quote, a quote never closed. */
MUST_USE enum csv_got csv_next(struct csv *c, struct csv_record *out, struct err *e);

/* Append one field to out (room *n, used *at) quoting it where needed, with a comma before it unless
 * first.  For text that a spreadsheet might run as a formula nothing is changed: data is data.
 * Returns bytes that would be needed; writes nothing past n. */
size_t csv_put(char *out, size_t n, const char *field, bool first);

#endif
