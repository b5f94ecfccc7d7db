/* SPDX-License-Identifier: MIT
 *
 * csv: one buffer, one record at a time.  A record is first scanned to its end (a five-state
 * machine, RFC 4180 section 2), refilling the buffer as needed, and only then split in place:
 * unquoting never lengthens a field, and the byte that ended it becomes its zero.
 *
 * Two kinds of bad record.  Where the bytes are at fault (NUL, ill-formed UTF-8, too many fields)
 * the record's end is known and the record is skipped.  Where the quotes or the length are at
 * fault, where the record ends is a guess; the safe one is that only its first line is bad, so
 * reading goes on behind that line.  This looks at bytes twice.  So that no input can make it look
 * at everything 64 K times, what is looked at again is counted; past RESCAN_TIMES the input read so
 * far (and RESCAN_FREE), all that was scanned is skipped instead.
 */
#include "base/csv.h"
#include "base/arena.h"
#include "base/text.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RESCAN_FREE  ((uint64_t)1024 * 1024)
#define RESCAN_TIMES 8

struct csv {
    csv_read_fn *read;
    void *ctx;
    char separator;
    bool started;               /* the byte order mark and the separator are dealt with */
    bool ended, failed;         /* nothing more will come from read */
    bool skipping;              /* up to the next line end, inside a bad record */
    size_t at, end;             /* buf[at..end) is not handed out yet */
    int64_t line;               /* the line buf[at] stands on, from 1 */
    uint64_t passed, rescanned; /* bytes dealt with; bytes looked at again */
    const char *field[CSV_FIELDS];
    size_t length[CSV_FIELDS];
    char buf[2 * CSV_RECORD_BYTES + 1]; /* one byte for the zero behind the last field */
};

enum scan_state {
    AT_FIELD,  /* the next byte starts a field */
    BARE,      /* in a field without quotes */
    QUOTED,    /* between quotes */
    CLOSED,    /* behind a quote that closes the field, unless another follows */
    CLOSED_CR, /* the same, and behind a CR that only LF may follow */
};

struct scan {
    enum scan_state state;
    size_t pos;    /* bytes of the record scanned */
    size_t fields; /* fields begun before the present one */
};

enum scan_end { SCAN_DONE, SCAN_NOTHING, SCAN_FAILED, SCAN_TOO_LONG, SCAN_OPEN, SCAN_TRAILING };

struct csv *csv_new(csv_read_fn *read, void *ctx, char separator)
{
    assert(!separator || separator == ',' || separator == ';' || separator == '\t');
    struct csv *c = xmalloc(sizeof *c);
    memset(c, 0, offsetof(struct csv, buf)); /* most of buf is never touched by a small file */
    c->read = read;
    c->ctx = ctx;
    c->separator = separator;
    c->line = 1;
    return c;
}

void csv_free(struct csv *c)
{
    free(c);
}

/* Read more behind buf[end); false when nothing more will come.  Moves the buffer's content down,
 * so positions are kept relative to at. */
static bool fill(struct csv *c)
{
    if (c->ended || c->failed)
        return false;
    if (c->at && c->end == sizeof c->buf - 1) {
        memmove(c->buf, c->buf + c->at, c->end - c->at);
        c->end -= c->at;
        c->at = 0;
    }
    assert(c->end < sizeof c->buf - 1);
    long got = c->read(c->ctx, c->buf + c->end, sizeof c->buf - 1 - c->end);
    assert(got <= (long)(sizeof c->buf - 1 - c->end));
    c->failed = got < 0;
    c->ended = got == 0;
    if (got > 0)
        c->end += (size_t)got;
    return got > 0;
}

static void pass(struct csv *c, size_t n)
{
    for (size_t i = 0; i < n; i++)
        c->line += c->buf[c->at + i] == '\n';
    c->at += n;
    c->passed += n;
}

/* Pass what is left of the present line. */
static void skip_line(struct csv *c)
{
    for (;;) {
        const char *lf = memchr(c->buf + c->at, '\n', c->end - c->at);
        pass(c, lf ? (size_t)(lf - c->buf) + 1 - c->at : c->end - c->at);
        if (lf || !fill(c))
            return;
    }
}

/* The separator that occurs most, outside quotes, in the first line at p that is not empty.  Looks
 * at no more than a record's bytes, so that the answer does not hang on how much happened to be
 * read. */
static char separator_guess(const char *p, size_t n)
{
    static const char separators[] = ",;\t";
    size_t count[3] = {0}, best = 0, i = 0;
    bool quoted = false;
    n = n < CSV_RECORD_BYTES ? n : CSV_RECORD_BYTES;
    while (i < n && (p[i] == '\r' || p[i] == '\n'))
        i++;
    for (; i < n && p[i] != '\n'; i++) {
        if (p[i] == '"')
            quoted = !quoted;
        for (size_t k = 0; !quoted && k < 3; k++)
            count[k] += p[i] == separators[k];
    }
    for (size_t k = 1; k < 3; k++)
        if (count[k] > count[best])
            best = k;
    return separators[best];
}

/* Whether a whole line that is not empty lies in the buffer, or as much of one as is looked at. */
static bool has_line(const struct csv *c)
{
    const char *p = c->buf + c->at, *end = c->buf + c->end;
    while (p < end && (*p == '\r' || *p == '\n'))
        p++;
    return c->end - c->at > CSV_RECORD_BYTES || memchr(p, '\n', (size_t)(end - p));
}

/* At the head of the stream: drop the byte order mark, settle the separator. */
static void start(struct csv *c)
{
    c->started = true;
    while (c->end < 3 && fill(c))
        ;
    if (c->end >= 3 && !memcmp(c->buf, "\xEF\xBB\xBF", 3))
        pass(c, 3);
    if (c->separator)
        return;
    while (!has_line(c) && fill(c))
        ;
    c->separator = separator_guess(c->buf + c->at, c->end - c->at);
}

/* Take byte b; true when it ends the record.  *bad is set when it must not stand here. */
static bool scan_byte(struct scan *s, char b, char separator, bool *bad)
{
    if (s->state == QUOTED) {
        if (b == '"')
            s->state = CLOSED;
        return false;
    }
    if (b == '\n')
        return true;
    if (b == separator && s->state != CLOSED_CR) {
        s->state = AT_FIELD;
        s->fields++;
    } else if (s->state == AT_FIELD) {
        s->state = b == '"' ? QUOTED : BARE;
    } else if (s->state == CLOSED && b == '"') {
        s->state = QUOTED;
    } else if (s->state == CLOSED && b == '\r') {
        s->state = CLOSED_CR;
    } else if (s->state == CLOSED || s->state == CLOSED_CR) {
        *bad = true;
    }
    return false;
}

/* Scan the record at c->at.  On SCAN_DONE s->pos counts its line end in. */
static enum scan_end scan_record(struct csv *c, struct scan *s)
{
    for (bool bad = false;; s->pos++) {
        if (c->at + s->pos == c->end && !fill(c)) {
            if (c->failed)
                return SCAN_FAILED;
            if (!s->pos)
                return SCAN_NOTHING;
            return s->state == QUOTED ? SCAN_OPEN : SCAN_DONE;
        }
        if (s->pos >= CSV_RECORD_BYTES + 2)
            return s->state == QUOTED ? SCAN_OPEN : SCAN_TOO_LONG;
        if (scan_byte(s, c->buf[c->at + s->pos], c->separator, &bad)) {
            s->pos++;
            return SCAN_DONE;
        }
        if (bad)
            return SCAN_TRAILING;
    }
}

/* Bytes of the record buf[at..at+n) without its line end. */
static size_t content_length(const struct csv *c, size_t n)
{
    const char *p = c->buf + c->at;
    if (n && p[n - 1] == '\n')
        n--;
    return n && p[n - 1] == '\r' ? n - 1 : n;
}

/* Unquote and terminate the fields of the n bytes at buf[at], which were scanned and hold no more
 * than CSV_FIELDS.  Returns how many there are. */
static size_t split(struct csv *c, size_t at, size_t n)
{
    char *in = c->buf + at, *end = in + n;
    for (size_t count = 0;; in++) {
        char *out = in;
        c->field[count] = out;
        if (in < end && *in == '"') {
            for (in++; *in != '"' || (in + 1 < end && in[1] == '"'); in++) {
                in += *in == '"';
                *out++ = *in;
            }
            in++;
        } else {
            while (in < end && *in != c->separator)
                in++;
            out = in;
        }
        bool last = in == end;
        *out = '\0';
        c->length[count] = (size_t)(out - c->field[count]);
        count++;
        if (last)
            return count;
    }
}

/* Skip what cannot be told apart: the first line of what s scanned, or all of it. */
static void skip_scanned(struct csv *c, const struct scan *s)
{
    const char *lf = memchr(c->buf + c->at, '\n', s->pos);
    size_t first = lf ? (size_t)(lf - c->buf) + 1 - c->at : s->pos;
    if (c->rescanned + s->pos - first > RESCAN_FREE + RESCAN_TIMES * c->passed)
        first = s->pos;
    c->rescanned += s->pos - first;
    c->skipping = c->buf[c->at + first - 1] != '\n';
    pass(c, first);
}

static enum csv_got bad_structure(struct csv *c, const struct scan *s, enum scan_end why,
                                  struct err *e)
{
    if (why == SCAN_TOO_LONG)
        err_at(e, ERR_TOO_LARGE, (int64_t)CSV_RECORD_BYTES,
               "The record is longer than %zu bytes; lines must end in LF or CRLF.",
               CSV_RECORD_BYTES);
    else if (why == SCAN_OPEN)
        err_at(e, ERR_INVALID, (int64_t)s->pos,
               "Column %zu opens a quote that is not closed%s; close it, and double every quote "
               "inside a quoted field.",
               s->fields + 1, c->ended ? "" : " within 64 KiB");
    else
        err_at(e, ERR_INVALID, (int64_t)s->pos,
               "Column %zu goes on after its closing quote; double every quote inside a quoted "
               "field.",
               s->fields + 1);
    skip_scanned(c, s);
    return CSV_BAD;
}

static enum csv_got bad_text(struct csv *c, size_t column, bool utf16, struct err *e)
{
    struct err why = ERR_INIT;
    if (text_check(c->field[column], c->length[column], &why))
        return CSV_RECORD;
    if (utf16)
        err_at(e, ERR_INVALID, 0, "The file is in UTF-16 by its first bytes; save it as UTF-8.");
    else
        err_at(e, ERR_INVALID, why.at, "Column %zu: %s", column + 1, why.text);
    return CSV_BAD;
}

/* Hand out the record of n bytes (with its line end), or say what is wrong with its bytes. */
static enum csv_got take(struct csv *c, const struct scan *s, struct csv_record *out, struct err *e)
{
    enum csv_got got = CSV_RECORD;
    size_t n = content_length(c, s->pos), count = 0;
    int64_t line = c->line;
    bool utf16 =
        !c->passed && n >= 2 && (!memcmp(c->buf, "\xFF\xFE", 2) || !memcmp(c->buf, "\xFE\xFF", 2));
    const size_t at = c->at;
    pass(c, s->pos); /* counts the lines before split writes zeros over their ends */
    if (s->fields >= CSV_FIELDS) {
        err_at(e, ERR_TOO_LARGE, -1, "The record has %zu columns; at most %d are taken.",
               s->fields + 1, CSV_FIELDS);
        return CSV_BAD;
    }
    count = split(c, at, n);
    for (size_t i = 0; i < count && got == CSV_RECORD; i++)
        got = bad_text(c, i, utf16, e);
    if (got == CSV_RECORD)
        *out = (struct csv_record){line, count, c->field, c->length};
    return got;
}

enum csv_got csv_next(struct csv *c, struct csv_record *out, struct err *e)
{
    if (!c->started)
        start(c);
    if (c->skipping)
        skip_line(c);
    c->skipping = false;
    for (;;) {
        struct scan s = {AT_FIELD, 0, 0};
        enum scan_end end = scan_record(c, &s);
        if (end == SCAN_NOTHING)
            return CSV_END;
        if (e)
            e->line = c->line;
        if (end == SCAN_FAILED) {
            err_set(e, ERR_UNAVAILABLE, "The input could not be read to its end.");
            return CSV_FAILED;
        }
        if (end == SCAN_DONE && content_length(c, s.pos) > CSV_RECORD_BYTES)
            end = SCAN_TOO_LONG;
        if (end != SCAN_DONE)
            return bad_structure(c, &s, end, e);
        if (content_length(c, s.pos))
            return take(c, &s, out, e);
        pass(c, s.pos); /* an empty line */
    }
}

static bool needs_quotes(const char *field, bool first)
{
    size_t n = strlen(field);
    if (!n)
        return first; /* a record of one empty field would be an empty line */
    if (first && !strncmp(field, "\xEF\xBB\xBF", 3))
        return true; /* else taken for a byte order mark */
    return field[0] == ' ' || field[n - 1] == ' ' || strpbrk(field, "\",;\t\r\n");
}

/* Byte b at out[at], where there is room; returns the next place. */
static size_t put(char *out, size_t n, size_t at, char b)
{
    if (at < n)
        out[at] = b;
    return at + 1;
}

size_t csv_put(char *out, size_t n, const char *field, bool first)
{
    size_t at = 0;
    bool quotes = needs_quotes(field, first);
    if (!first)
        at = put(out, n, at, ',');
    if (quotes)
        at = put(out, n, at, '"');
    for (const char *p = field; *p; p++) {
        if (*p == '"')
            at = put(out, n, at, '"');
        at = put(out, n, at, *p);
    }
    if (quotes)
        at = put(out, n, at, '"');
    if (n)
        out[at < n ? at : n - 1] = '\0';
    return at;
}
