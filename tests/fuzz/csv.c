/* SPDX-License-Identifier: MIT
 *
 * csv under any bytes: what is handed out is well-formed and within the limits, the size of the
 * pieces read does not matter, lines only go up, and what csv_put writes reads back as it was.
 */
#include "base/csv.h"
#include "base/text.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n);

struct source {
    const char *bytes;
    size_t n, piece;
};

static long source_read(void *ctx, char *buf, size_t n)
{
    struct source *s = ctx;
    size_t take = s->piece < n ? s->piece : n;
    take = take < s->n ? take : s->n;
    if (take)
        memcpy(buf, s->bytes, take);
    s->bytes += take;
    s->n -= take;
    return (long)take;
}

/* All records read so far, as csv_put writes them. */
struct copy {
    char *bytes;
    size_t at, room;
};

/* Whether it was kept: quoting may push a record that just fitted over the limit. */
static bool copy_record(struct copy *to, const struct csv_record *r)
{
    size_t start = to->at;
    for (size_t i = 0; i < r->count; i++) {
        size_t need = 2 * r->length[i] + 5;
        if (to->room - to->at < need) {
            to->room = to->room * 2 + need;
            to->bytes = realloc(to->bytes, to->room);
            assert(to->bytes);
        }
        size_t put = csv_put(to->bytes + to->at, to->room - to->at, r->field[i], i == 0);
        assert(put < need - 1);
        to->at += put;
    }
    to->bytes[to->at++] = '\n';
    bool fits = to->at - start <= CSV_RECORD_BYTES;
    to->at = fits ? to->at : start;
    return fits;
}

/* Digests (FNV-1a) of all that was said, and of the fields alone. */
struct said {
    uint64_t all, fields;
};

static void digest(uint64_t *d, const void *bytes, size_t n)
{
    for (size_t i = 0; i < n; i++)
        *d = (*d ^ ((const unsigned char *)bytes)[i]) * 1099511628211U;
}

static void take_record(struct said *said, const struct csv_record *r, struct copy *to)
{
    assert(r->count >= 1 && r->count <= CSV_FIELDS);
    bool kept = !to || copy_record(to, r);
    for (size_t i = 0; i < r->count; i++) {
        assert(strlen(r->field[i]) == r->length[i]);
        assert(text_check(r->field[i], r->length[i], NULL));
        digest(&said->all, r->field[i], r->length[i] + 1);
        if (kept)
            digest(&said->fields, r->field[i], r->length[i] + 1);
    }
}

/* Read everything, with a copy of it where to is given. */
static struct said read_all(const char *bytes, size_t n, size_t piece, char separator,
                            struct copy *to)
{
    struct source s = {bytes, n, piece};
    struct csv *c = csv_new(source_read, &s, separator);
    struct said said = {14695981039346656037U, 14695981039346656037U};
    int64_t line = 0;
    for (enum csv_got got = CSV_RECORD; got != CSV_END;) {
        struct csv_record r = {0};
        struct err e = ERR_INIT;
        got = csv_next(c, &r, &e);
        assert(got != CSV_FAILED);
        int64_t now = got == CSV_RECORD ? r.line : e.line;
        assert(got == CSV_END || now > line);
        line = now;
        if (got == CSV_RECORD)
            take_record(&said, &r, to);
        if (got == CSV_BAD)
            assert(e.code != ERR_NONE && text_check_line(e.text, strlen(e.text), 399, NULL));
        digest(&said.all, &got, sizeof got);
        digest(&said.all, &line, sizeof line);
    }
    csv_free(c);
    return said;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n)
{
    static const char separators[] = {0, ',', ';', '\t'};
    if (!n)
        return 0;
    const char *bytes = (const char *)data + 1, separator = separators[data[0] % 4];
    struct copy copy = {malloc(64), 0, 64};
    struct said whole = read_all(bytes, n - 1, SIZE_MAX, separator, &copy);
    struct said pieces = read_all(bytes, n - 1, (size_t)data[0] / 4 + 1, separator, NULL);
    assert(whole.all == pieces.all);
    assert(read_all(copy.bytes, copy.at, SIZE_MAX, ',', NULL).fields == whole.fields);
    free(copy.bytes);
    return 0;
}
