/* SPDX-License-Identifier: MIT
 *
 * csv: records of comma-separated values (RFC 4180) from a stream, in constant memory.
 *
 * Takes LF and CRLF, a UTF-8 byte order mark before the first record, quoted fields with doubled
 * quotes and line breaks, and empty lines (skipped).  Spaces belong to their field; a quote inside
 * an unquoted field and a CR that no LF follows are data.  A record that cannot be read is reported
 * and skipped, and reading goes on: one bad line never takes the good ones down.  Where a quote is
 * at fault the record is taken to end with its first line.  (Input that would make this cost more
 * than linear time - quotes left open again and again across many lines - loses the lines so
 * scanned.)
 */
#ifndef QUADRILLE_BASE_CSV_H
#define QUADRILLE_BASE_CSV_H

#include "base/err.h"

#define CSV_RECORD_BYTES ((size_t)64 * 1024) /* the longest record taken */
#define CSV_FIELDS       256                 /* the most fields of a record */

/* Fill buf with up to n bytes (n > 0); return how many, 0 at the end, -1 on failure. */
typedef long csv_read_fn(void *ctx, char *buf, size_t n);

struct csv;

/* One record: zero-terminated fields, unquoted.  Valid until the next csv_next. */
struct csv_record {
    int64_t line; /* line on which the record starts, from 1 */
    size_t count;
    const char *const *field;
    const size_t *length; /* bytes of each field */
};

enum csv_got {
    CSV_RECORD, /* *out is filled */
    CSV_BAD,    /* a record was skipped: *e says what, e->line where */
    CSV_END,
    CSV_FAILED /* the stream could not be read; nothing more will come */
};

/* separator: ',' ';' or '\t'; 0: the one of these that occurs most in the first line that is not
 * empty, quoted text apart, ',' if none.  Some 130 KiB on the heap, owned by the caller;
 * csv_free(NULL) is fine. */
struct csv *csv_new(csv_read_fn *read, void *ctx, char separator);
void csv_free(struct csv *c);

/* The next record.  CSV_BAD for: more than CSV_RECORD_BYTES or CSV_FIELDS (ERR_TOO_LARGE), a NUL
 * byte, ill-formed UTF-8 (column and byte named), text after a closing quote, a quote never closed
 * (ERR_INVALID).  e->line is the line on which the record starts, e->at the offset of the fault: in
 * the column for NUL and UTF-8, in the record otherwise.  CSV_FAILED (ERR_UNAVAILABLE) comes at
 * once where the stream breaks off: half a record is not handed out.  *out is touched by CSV_RECORD
 * only. */
MUST_USE enum csv_got csv_next(struct csv *c, struct csv_record *out, struct err *e);

/* Write one field at out[0..n), quoted where needed, with a comma before it unless first; the
 * caller adds the line end.  What is written reads back as it was; a first field that is empty is
 * quoted, for a line without bytes would be skipped.  For text that a spreadsheet might run as a
 * formula nothing is changed: data is data.  Returns the bytes needed without the terminating zero;
 * as snprintf, it cuts where that is not below n, and always terminates when n > 0. */
size_t csv_put(char *out, size_t n, const char *field, bool first);

#endif
