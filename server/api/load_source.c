/* SPDX-License-Identifier: MIT
 *
 * load_source: rows out of a body that was kept in a file, CSV or NDJSON, in constant memory.
 *
 * The columns come in under our names and leave under the file's: map and the head line only rename
 * the fields of the row's shape.  So wire speaks of a field as its file calls it, and the two forms
 * share everything behind the reading of a line.
 */
#include "api/load_priv.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

#include "base/csv.h"
#include "base/pen.h"
#include "base/text.h"
#include "base/unit.h"

#define NEAR_EDITS 3 /* a spelling that is further away is not offered */
#define IGNORED    SIZE_MAX

#define SHOW(s) text_show((char[TEXT_SHOW_BYTES]){0}, s, strlen(s))

struct load_source {
    int fd;
    enum load_form form;
    struct load_columns *columns;
    struct csv *csv;
    size_t cell_column[CSV_FIELDS]; /* of each cell of a line; IGNORED */
    size_t cells;
    int64_t line;   /* NDJSON: of what was read last */
    size_t at, end; /* NDJSON: buf[at..end) was not looked at yet */
    bool ended;
    char buf[CSV_RECORD_BYTES];
};

static long read_some(void *ctx, char *buf, size_t n)
{
    long got;
    do
        got = read(((struct load_source *)ctx)->fd, buf, n);
    while (got < 0 && errno == EINTR);
    return got;
}

/* ---- names of columns --------------------------------------------------------------------- */

size_t load_column_find(const struct load_columns *c, const char *name)
{
    for (size_t i = 0; i < c->count; i++)
        if (strcmp(c->field[i].name, name) == 0)
            return i;
    for (size_t i = 0; i < c->count; i++)
        if (strcmp(c->column[i].code, name) == 0)
            return i;
    return c->count;
}

static size_t by_code(const struct load_columns *c, const char *code)
{
    for (size_t i = 0; i < c->count; i++)
        if (strcmp(c->column[i].code, code) == 0)
            return i;
    return c->count;
}

static const char *trimmed(struct arena *a, const char *s)
{
    size_t n = strlen(s);
    s = text_trim(s, &n);
    return arena_bytes(a, s, n);
}

/* "gm[micromho]" or "gm (mA/V)" into the code and the unit, NULL without one. */
static const char *split_unit(const char *name, const char **unit, struct arena *a)
{
    size_t n = strlen(name), open = strcspn(name, "[(");
    char close = name[open] == '[' ? ']' : ')';
    *unit = NULL;
    if (open == n || name[n - 1] != close)
        return name;
    *unit = trimmed(a, arena_bytes(a, name + open + 1, n - open - 2));
    return trimmed(a, arena_bytes(a, name, open));
}

/* What people's own tables call a column, as far as it has one meaning only. */
static const char *const OTHER_WORDS[][2] = {
    {"type", "printed"},     {"designation", "printed"}, {"tube", "printed"},
    {"serial", "mark"},      {"serial no", "mark"},      {"manufacturer", "maker"},
    {"brand", "maker"},      {"date code", "date"},      {"location", "bin"},
    {"shelf", "bin"},        {"notes", "note"},          {"mark", "tube"},
    {"stock_no", "tube"},    {"stock no", "tube"},       {"stock number", "tube"},
    {"serial", "tube"},      {"serial no", "tube"},      {"date", "taken"},
    {"time", "taken"},       {"moment", "taken"},        {"plate current", "ia"},
    {"anode current", "ia"}, {"transconductance", "gm"},
};

/* The column that name may mean, or NULL: another word for it, other letter cases, or a slip in
 * a third of its letters at most. */
static const char *meant(const struct load_columns *c, const char *name)
{
    int best = NEAR_EDITS + 1;
    const char *near = NULL;
    for (size_t i = 0; i < ARRAY_LEN(OTHER_WORDS); i++)
        if (strcasecmp(OTHER_WORDS[i][0], name) == 0 && by_code(c, OTHER_WORDS[i][1]) < c->count)
            return OTHER_WORDS[i][1];
    for (size_t i = 0; i < c->count; i++) {
        if (strcasecmp(name, c->column[i].code) == 0)
            return c->column[i].code;
        int d = text_distance(name, c->column[i].code, NEAR_EDITS);
        if (d < best && 3 * d <= (int)strlen(name)) {
            best = d;
            near = c->column[i].code;
        }
    }
    return near;
}

/* in_map: the name is what a mapping leads to, not what the file says. */
static bool refuse_unknown(const struct load_columns *c, const char *name, bool in_map,
                           struct arena *a, struct err *e)
{
    struct pen p;
    const char *near = meant(c, name);
    pen_init(&p, a, 300);
    for (size_t i = 0; i < c->count; i++) {
        pen_text(&p, i ? ", " : "");
        pen_text(&p, c->column[i].code);
    }
    const char *how = in_map ? ""
                             : arena_printf(a,
                                            "; map it with \"%s=COLUMN\", or leave it out with "
                                            "\"%s=\"",
                                            SHOW(name), SHOW(name));
    return err_field(e, in_map ? "map" : name, ERR_INVALID,
                     "there is no column \"%s\"%s%s%s%s; there are %s", SHOW(name),
                     near ? ": is \"" : "", near ? near : "", near ? "\" meant?" : "", how,
                     pen_done(&p, NULL));
}

/* A unit said in a column's name has to be one of the quantity's dimension.  A name that is no
 * unit may be a tester's own scale, so each line decides. */
static bool check_unit(const struct quantity *q, const char *unit, struct err *e)
{
    const struct unit *said, *own;
    int shift;
    return q->kind == QUANTITY_ORDINAL || !unit_find(&said, unit, NULL) ||
           !unit_find(&own, q->unit, NULL) || unit_shift(&shift, said, own, e);
}

/* Column i is called name in the file, and may say a unit. */
static bool take_name(struct load_columns *c, size_t i, const char *name, const char *unit,
                      struct err *e)
{
    if (c->column[i].there)
        return err_field(e, name, ERR_INVALID,
                         "\"%s\" and \"%s\" are both the column %s: keep one of them", SHOW(name),
                         SHOW(c->field[i].name), c->column[i].code);
    if (unit && !c->quantity[i])
        return err_field(e, name, ERR_INVALID,
                         "\"%s\" says a unit, but %s has none: write %s alone", SHOW(name),
                         c->column[i].code, c->column[i].code);
    if (unit && !check_unit(c->quantity[i], unit, e))
        return err_in(e, name);
    c->field[i].name = name;
    c->column[i].unit = unit;
    c->column[i].there = true;
    return true;
}

/* ---- map ---------------------------------------------------------------------------------- */

struct mapping {
    const char *own, *code, *unit; /* code "": left out */
    bool used;
};

static bool mappings_parse(struct mapping *out, const struct load_columns *c,
                           const struct texts *map, struct arena *a, struct err *e)
{
    for (size_t i = 0; i < map->count; i++) {
        const char *equals = strrchr(map->items[i], '=');
        if (!equals || equals == map->items[i])
            return err_field(e, "map", ERR_INVALID,
                             "\"%s\" is no mapping: write OWN=COLUMN, as in \"Serial=mark\"",
                             SHOW(map->items[i]));
        out[i].own = trimmed(a, arena_bytes(a, map->items[i], (size_t)(equals - map->items[i])));
        out[i].code = split_unit(trimmed(a, equals + 1), &out[i].unit, a);
        if (*out[i].code && by_code(c, out[i].code) == c->count) {
            return refuse_unknown(c, out[i].code, true, a, e);
        }
        for (size_t j = 0; j < i; j++)
            if (strcmp(out[j].own, out[i].own) == 0)
                return err_field(e, "map", ERR_INVALID, "\"%s\" is mapped twice", SHOW(out[i].own));
    }
    return true;
}

static struct mapping *mapping_of(struct mapping *m, size_t n, const char *own)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(m[i].own, own) == 0)
            return &m[i];
    return NULL;
}

/* NDJSON has no head: mapped columns are renamed, the rest keep our names. */
static bool rename_all(struct load_columns *c, struct mapping *m, size_t n, struct err *e)
{
    for (size_t i = 0; i < n; i++) {
        if (!*m[i].code)
            return err_field(e, "map", ERR_INVALID,
                             "only a CSV column can be left out; leave \"%s\" out of the lines",
                             SHOW(m[i].own));
        if (!take_name(c, by_code(c, m[i].code), m[i].own, m[i].unit, e))
            return false;
    }
    return true;
}

/* ---- the head of a CSV file --------------------------------------------------------------- */

static bool head_cell(struct load_source *s, const char *cell, struct mapping *m, size_t n,
                      struct arena *a, struct err *e)
{
    struct load_columns *c = s->columns;
    const char *unit, *name = trimmed(a, cell);
    struct mapping *mapped = mapping_of(m, n, name);
    size_t at = s->cells++;
    if (!*name)
        return err_set(e, ERR_INVALID,
                       "column %zu has no name: give it one in the head line, or delete it",
                       at + 1);
    if (mapped) {
        if (mapped->used)
            return err_field(e, name, ERR_INVALID, "the column \"%s\" stands twice", SHOW(name));
        mapped->used = true;
        s->cell_column[at] = *mapped->code ? by_code(c, mapped->code) : IGNORED;
        return !*mapped->code || take_name(c, s->cell_column[at], name, mapped->unit, e);
    }
    size_t i = by_code(c, split_unit(name, &unit, a));
    s->cell_column[at] = i;
    return i == c->count ? refuse_unknown(c, name, false, a, e) : take_name(c, i, name, unit, e);
}

static bool head_complete(const struct load_columns *c, const struct mapping *m, size_t n,
                          struct err *e)
{
    for (size_t i = 0; i < n; i++)
        if (!m[i].used)
            return err_field(e, "map", ERR_INVALID,
                             "the file has no column \"%s\", which map names", SHOW(m[i].own));
    for (size_t i = 0; i < c->count; i++)
        if (c->field[i].flags & F_REQUIRED && !c->column[i].there)
            return err_field(e, c->column[i].code, ERR_INVALID,
                             "the file has no column %s, which every line needs",
                             c->column[i].code);
    return true;
}

static bool head_read(struct load_source *s, struct mapping *m, size_t n, struct arena *a,
                      struct err *e)
{
    struct csv_record r;
    switch (csv_next(s->csv, &r, e)) {
    case CSV_RECORD:
        break;
    case CSV_END:
        return err_set(e, ERR_INVALID, "the file is empty: the first line names the columns");
    case CSV_BAD:
    case CSV_FAILED:
        return false;
    }
    for (size_t i = 0; i < r.count; i++)
        if (!head_cell(s, r.field[i], m, n, a, e)) {
            e->line = r.line;
            return false;
        }
    return head_complete(s->columns, m, n, e);
}

bool load_source_open(struct load_source **out, const char *path, enum load_form form,
                      char separator, struct load_columns *c, const struct texts *map,
                      struct arena *a, struct err *e)
{
    struct mapping *m = arena_array(a, map->count, sizeof *m);
    if (!mappings_parse(m, c, map, a, e))
        return false;
    struct load_source *s = xcalloc(1, sizeof *s);
    s->form = form;
    s->columns = c;
    s->fd = open(path, O_RDONLY | O_CLOEXEC);
    bool good = s->fd >= 0 ||
                err_set(e, ERR_UNAVAILABLE, "the body cannot be read again: %s", strerror(errno));
    if (good && form == LOAD_CSV) {
        s->csv = csv_new(read_some, s, separator);
        good = head_read(s, m, map->count, a, e);
    } else if (good) {
        good = rename_all(c, m, map->count, e);
    }
    if (!good) {
        load_source_close(s);
        return false;
    }
    *out = s;
    return true;
}

void load_source_close(struct load_source *s)
{
    if (!s)
        return;
    csv_free(s->csv);
    if (s->fd >= 0)
        close(s->fd);
    free(s);
}

/* ---- lines -------------------------------------------------------------------------------- */

static enum load_got next_record(struct load_source *s, void **row, int64_t *line,
                                 const char **came, struct arena *a, struct err *e)
{
    const struct load_columns *c = s->columns;
    struct csv_record r;
    enum csv_got got = csv_next(s->csv, &r, e);
    if (got != CSV_RECORD) {
        *line = e->line;
        return got == CSV_BAD ? LOAD_BAD : got == CSV_END ? LOAD_END : LOAD_FAILED;
    }
    *line = r.line;
    if (r.count != s->cells) {
        err_set(e, ERR_INVALID, "this line has %zu field%s, the head line %zu", r.count,
                r.count == 1 ? "" : "s", s->cells);
        return LOAD_BAD;
    }
    void *to = wire_blank(&c->shape, a);
    for (size_t i = 0; i < r.count; i++) {
        size_t n = r.length[i];
        const char *cell = text_trim(r.field[i], &n);
        if (!n || s->cell_column[i] == IGNORED)
            continue;
        cell = arena_bytes(a, cell, n);
        if (!wire_set(to, &c->shape, c->field[s->cell_column[i]].name, cell, a, e)) {
            *came = cell;
            return LOAD_BAD;
        }
    }
    if (!wire_complete(to, &c->shape, e))
        return LOAD_BAD;
    *row = to;
    return LOAD_ROW;
}

/* The next line of NDJSON in s->buf, zero-terminated; *n its bytes without the line end.  *whole is
 * false where the line is longer than the buffer: it was skipped. */
static enum load_got next_line(struct load_source *s, const char **text, size_t *n, bool *whole)
{
    *whole = true;
    for (;;) {
        char *lf = memchr(s->buf + s->at, '\n', s->end - s->at);
        if (lf || (s->ended && s->at < s->end)) {
            *text = s->buf + s->at;
            *n = lf ? (size_t)(lf - *text) : s->end - s->at;
            s->at += *n + (lf != NULL);
            s->line++;
            return LOAD_ROW;
        }
        if (s->ended)
            return LOAD_END;
        memmove(s->buf, s->buf + s->at, s->end - s->at);
        s->end -= s->at;
        s->at = 0;
        if (s->end == sizeof s->buf) { /* keep nothing of it but that it was there */
            *whole = false;
            s->end = 0;
        }
        long got = read_some(s, s->buf + s->end, sizeof s->buf - s->end);
        if (got < 0)
            return LOAD_FAILED;
        s->ended = got == 0;
        s->end += (size_t)got;
        if (s->ended && !*whole && s->at == s->end) { /* the long line was the last */
            *text = s->buf;
            *n = 0;
            s->line++;
            return LOAD_ROW;
        }
    }
}

static enum load_got next_object(struct load_source *s, void **row, int64_t *line, struct arena *a,
                                 struct err *e)
{
    const char *text;
    size_t n, left;
    bool whole;
    do {
        enum load_got got = next_line(s, &text, &n, &whole);
        *line = s->line + (got != LOAD_ROW);
        if (got == LOAD_FAILED)
            err_set(e, ERR_UNAVAILABLE, "the body cannot be read on: %s", strerror(errno));
        if (got != LOAD_ROW)
            return got;
        if (!whole) {
            err_set(e, ERR_TOO_LARGE, "this line is longer than the %zu bytes that are taken",
                    sizeof s->buf);
            return LOAD_BAD;
        }
        if (s->line == 1 && n >= 3 &&
            memcmp(text, "\xEF\xBB\xBF", 3) == 0) { /* a byte order mark */
            text += 3;
            n -= 3;
        }
        left = n;
        (void)text_trim(text, &left);
    } while (!left);
    return wire_unpack(row, &s->columns->shape, text, n, a, e) ? LOAD_ROW : LOAD_BAD;
}

enum load_got load_source_next(struct load_source *s, void **row, int64_t *line, const char **came,
                               struct arena *a, struct err *e)
{
    *came = NULL;
    *e = (struct err)ERR_INIT;
    return s->form == LOAD_CSV ? next_record(s, row, line, came, a, e)
                               : next_object(s, row, line, a, e);
}
