/* SPDX-License-Identifier: MIT
 *
 * sheet: columns by name; every refusal names line, column, what came and what would be right.
 */
#include "catalogue/sheet.h"

#include "base/arena.h"
#include "base/decimal.h"
#include "base/text.h"
#include "base/value.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

const char *const how_words[HOW__COUNT] = {"found", "memory", "own"};

static bool refuse(struct err *e, const struct sheet *s, const struct csv_record *r, int column)
{
    if (e)
        e->line = r->line;
    return err_in(e, column >= 0 ? s->name[column] : "");
}

static int find_name(const struct sheet *s, const char *name, size_t len)
{
    for (size_t i = 0; i < s->count; i++)
        if (strlen(s->name[i]) == len && strncmp(s->name[i], name, len) == 0)
            return (int)i;
    return -1;
}

static void list_words(char *buf, size_t n, const char *const *words, size_t count)
{
    size_t at = 0;
    buf[0] = 0;
    for (size_t i = 0; i < count && at + 1 < n; i++)
        at += (size_t)snprintf(buf + at, n - at, "%s%s", i ? ", " : "", words[i]);
}

static bool take_header(struct sheet *s, const struct csv_record *header, struct err *e)
{
    for (size_t i = 0; i < header->count; i++) {
        size_t n = header->length[i];
        const char *name = text_trim(header->field[i], &n);
        int column = find_name(s, name, n);
        char show[TEXT_SHOW_BYTES], known[300];
        if (column < 0) {
            list_words(known, sizeof known, s->name, s->count);
            err_set(e, ERR_INVALID, "column \"%s\" is not known here; known are: %s",
                    text_show(show, name, n), known);
            return refuse(e, s, header, -1);
        }
        if (s->at[column] >= 0) {
            err_set(e, ERR_INVALID, "column \"%s\" stands twice in the header line",
                    s->name[column]);
            return refuse(e, s, header, column);
        }
        s->at[column] = (int)i;
    }
    return true;
}

bool sheet_init(struct sheet *out, const char *const *names, size_t count, size_t required,
                const struct csv_record *header, struct err *e)
{
    struct sheet s = {.name = names, .count = count, .width = header->count};
    assert(count <= SHEET_COLUMNS);
    for (size_t i = 0; i < SHEET_COLUMNS; i++)
        s.at[i] = -1;
    if (!take_header(&s, header, e))
        return false;
    for (size_t i = 0; i < required; i++)
        if (s.at[i] < 0) {
            err_set(e, ERR_INVALID, "column \"%s\" is missing from the header line", names[i]);
            return refuse(e, &s, header, (int)i);
        }
    *out = s;
    return true;
}

bool sheet_check(const struct sheet *s, const struct csv_record *r, struct err *e)
{
    if (r->count == s->width)
        return true;
    err_set(
        e, ERR_INVALID,
        "this line has %zu fields, the header line has %zu; a comma inside a field needs quotes "
        "around the field",
        r->count, s->width);
    return refuse(e, s, r, -1);
}

void sheet_row_init(struct sheet_row *out, const char *const *names, const char *const *text,
                    size_t count)
{
    assert(count <= SHEET_COLUMNS);
    out->sheet = (struct sheet){.name = names, .count = count, .width = count};
    for (size_t i = 0; i < SHEET_COLUMNS; i++) {
        out->sheet.at[i] = i < count ? (int)i : -1;
        out->field[i] = i < count && text[i] ? text[i] : "";
        out->length[i] = strlen(out->field[i]);
    }
    out->record = (struct csv_record){.count = count, .field = out->field, .length = out->length};
}

static const char *field(const struct sheet *s, const struct csv_record *r, int column, size_t *n)
{
    int at = s->at[column];
    *n = 0;
    if (at < 0 || (size_t)at >= r->count)
        return "";
    *n = r->length[at];
    return text_trim(r->field[at], n);
}

const char *sheet_text(const struct sheet *s, const struct csv_record *r, int column,
                       struct arena *a)
{
    size_t n;
    const char *f = field(s, r, column, &n);
    return n ? arena_bytes(a, f, n) : "";
}

bool sheet_number(int64_t *out, const struct sheet *s, const struct csv_record *r, int column,
                  int decimals, int64_t least, int64_t most, struct err *e)
{
    size_t n;
    const char *f = field(s, r, column, &n);
    struct decimal d;
    int64_t v;
    char low[DECIMAL_BYTES], high[DECIMAL_BYTES], show[TEXT_SHOW_BYTES];
    if (n == 0) {
        *out = NONE;
        return true;
    }
    if (!decimal_parse(&d, f, n, e) || !decimal_scale(&v, d, decimals, e))
        return refuse(e, s, r, column);
    if (v < least || v > most) {
        err_set(e, ERR_INVALID, "%s is %s; it must lie between %s and %s", s->name[column],
                text_show(show, f, n), decimal_print(low, least, decimals),
                decimal_print(high, most, decimals));
        return refuse(e, s, r, column);
    }
    *out = v;
    return true;
}

bool sheet_word(int *out, const struct sheet *s, const struct csv_record *r, int column,
                const char *const *words, size_t count, bool may_be_empty, struct err *e)
{
    size_t n;
    const char *f = field(s, r, column, &n);
    char show[TEXT_SHOW_BYTES], known[300];
    for (size_t i = 0; i < count; i++)
        if (strlen(words[i]) == n && strncmp(words[i], f, n) == 0) {
            *out = (int)i;
            return true;
        }
    if (n == 0 && may_be_empty) {
        *out = -1;
        return true;
    }
    list_words(known, sizeof known, words, count);
    err_set(e, ERR_INVALID, "%s is \"%s\"; it must be one of: %s", s->name[column],
            text_show(show, f, n), known);
    return refuse(e, s, r, column);
}
