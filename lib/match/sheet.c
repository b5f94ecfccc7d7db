/* SPDX-License-Identifier: MIT
 *
 * sheet: rows are kept as typed until the last one is in; then each column is scaled to the most
 * decimals that were seen in it, so that nothing is ever rounded.
 */
#include "match/sheet.h"

#include "base/pen.h"
#include "base/text.h"
#include "measure/quantity.h"

#include <stdlib.h>
#include <string.h>

enum role { ROLE_OTHER, ROLE_ID, ROLE_CLASS, ROLE_UNCERTAINTY };

struct column {
    char *name;
    enum role role;
    bool same;      /* part of the class */
    int coordinate; /* -1: none */
    int decimals;   /* the most seen */
    const struct band *band;
};

struct tube_row {
    char *id;
    int64_t line;
    int32_t class_of;
};

/* A class is the text of all columns that must be equal; numbered as they come. */
struct class_entry {
    char *text;
    uint64_t hash;
    int32_t number;
};

struct sheet {
    struct arena *arena;
    size_t columns;
    struct column column[SHEET_COLUMNS];
    int coordinates;
    size_t of_coordinate[MATCH_COORDINATES];
    struct band_list bands;
    int rows;
    int room;
    struct tube_row *row;
    struct decimal *cell;        /* [room * coordinates] */
    struct class_entry *classes; /* open addressing, a power of two */
    size_t class_room;
    int32_t class_count;
};

/* ---- the heading ----------------------------------------------------------------------------- */

static enum role role_of(const char *name)
{
    size_t n = strlen(name);
    if (strcmp(name, "id") == 0)
        return ROLE_ID;
    if (strcmp(name, "class") == 0)
        return ROLE_CLASS;
    return n > 3 && strncmp(name, "u(", 2) == 0 && name[n - 1] == ')' ? ROLE_UNCERTAINTY
                                                                      : ROLE_OTHER;
}

static bool heading_check(const struct sheet *s, struct err *e)
{
    bool has_id = false;
    for (size_t c = 0; c < s->columns; c++) {
        if (s->column[c].name[0] == '\0')
            return err_set(e, ERR_INVALID, "column %zu of the heading has no name", c + 1);
        for (size_t other = 0; other < c; other++) {
            if (strcmp(s->column[c].name, s->column[other].name) == 0)
                return err_field(e, s->column[c].name, ERR_INVALID,
                                 "the heading has the column \"%.40s\" twice", s->column[c].name);
        }
        has_id = has_id || s->column[c].role == ROLE_ID;
    }
    if (!has_id)
        return err_field(e, "id", ERR_INVALID,
                         "the heading has no column \"id\"; it has \"%.40s\"%s",
                         s->columns > 0 ? s->column[0].name : "", s->columns > 1 ? ", ..." : "");
    return true;
}

bool sheet_new(struct sheet **out, const char *const *name, size_t count, struct err *e)
{
    if (count > SHEET_COLUMNS)
        return err_set(e, ERR_TOO_LARGE, "the heading has %zu columns; at most %d are taken", count,
                       SHEET_COLUMNS);
    struct sheet *s = xcalloc(1, sizeof *s);
    s->arena = arena_new();
    s->columns = count;
    for (size_t c = 0; c < count; c++) {
        size_t n = strlen(name[c]);
        const char *trimmed = text_trim(name[c], &n);
        s->column[c].name = arena_bytes(s->arena, trimmed, n);
        s->column[c].role = role_of(s->column[c].name);
        s->column[c].coordinate = -1;
    }
    if (!heading_check(s, e)) {
        sheet_free(s);
        return false;
    }
    *out = s;
    return true;
}

void sheet_free(struct sheet *s)
{
    if (s == NULL)
        return;
    arena_free(s->arena);
    free(s->row);
    free(s->cell);
    free(s->classes);
    free(s);
}

/* ---- choices --------------------------------------------------------------------------------- */

/* "ia" covers "ia", and "ia.1"; "" covers all. */
static bool covers(const char *named, const char *column)
{
    size_t n = strlen(named);
    return n == 0 || (strncmp(column, named, n) == 0 && (column[n] == '\0' || column[n] == '.'));
}

static bool same_choose(struct sheet *s, const char *same, struct err *e)
{
    char *rest = arena_text(s->arena, same);
    while (rest != NULL && rest[0] != '\0') {
        char *part = rest;
        rest = strchr(part, ',');
        if (rest != NULL)
            *rest++ = '\0';
        size_t n = strlen(part);
        const char *name = arena_bytes(s->arena, text_trim(part, &n), n);
        bool found = false;
        for (size_t c = 0; c < s->columns; c++) {
            if (strncmp(s->column[c].name, name, n + 1) == 0 && s->column[c].role != ROLE_ID)
                found = s->column[c].same = true;
        }
        if (!found)
            return err_set(e, ERR_NOT_FOUND, "there is no column \"%.40s\" to be the same", name);
    }
    return true;
}

static bool coordinate_add(struct sheet *s, size_t c, const struct band *band, struct err *e)
{
    struct column *x = &s->column[c];
    if (s->coordinates == MATCH_COORDINATES)
        return err_set(e, ERR_TOO_LARGE, "more than %d quantities to match by", MATCH_COORDINATES);
    if (x->same)
        return err_field(e, x->name, ERR_INVALID,
                         "\"%.40s\" cannot have a band and be the same as well", x->name);
    x->band = band;
    x->coordinate = s->coordinates;
    s->of_coordinate[s->coordinates++] = c;
    return true;
}

/* Naming the quantities that there are. */
static bool refuse_band(const struct sheet *s, const char *column, struct err *e)
{
    struct pen names;
    int count = 0;
    pen_init(&names, s->arena, 100);
    for (size_t c = 0; c < s->columns; c++)
        if (s->column[c].role == ROLE_OTHER)
            pen_printf(&names, "%s\"%.40s\"", count++ > 0 ? ", " : "", s->column[c].name);
    if (count == 0)
        return err_set(e, ERR_NOT_FOUND,
                       "the heading has no quantity to match by: beside id and class it wants "
                       "columns such as ia and gm");
    if (*column == '\0')
        return err_set(e, ERR_NOT_FOUND,
                       "no quantity is left to match by: --same takes every one of %s",
                       pen_done(&names, NULL));
    return err_set(e, ERR_NOT_FOUND, "there is no quantity \"%.40s\" to have a band; there are %s",
                   column, pen_done(&names, NULL));
}

bool sheet_choose(struct sheet *s, const char *bands, const char *same, struct err *e)
{
    if (!band_list_parse(&s->bands, bands, s->arena, e) || !same_choose(s, same, e))
        return false;
    for (int b = 0; b < s->bands.count; b++) {
        const struct band *band = &s->bands.band[b];
        int before = s->coordinates;
        for (size_t c = 0; c < s->columns; c++) {
            const struct column *x = &s->column[c];
            bool skip = x->same && band->column[0] == '\0';
            if (x->role != ROLE_OTHER || skip || x->coordinate >= 0 ||
                !covers(band->column, x->name))
                continue;
            if (!coordinate_add(s, c, band, e))
                return false;
        }
        if (s->coordinates == before)
            return refuse_band(s, band->column, e);
    }
    for (size_t c = 0; c < s->columns; c++)
        s->column[c].same = s->column[c].same || s->column[c].role == ROLE_CLASS;
    return true;
}

/* ---- rows ------------------------------------------------------------------------------------ */

static bool fail_at(struct err *e, int64_t line)
{
    if (e != NULL)
        e->line = line;
    return false;
}

static void class_grow(struct sheet *s)
{
    struct class_entry *old = s->classes;
    size_t old_room = s->class_room;
    s->class_room = old_room == 0 ? 64 : 2 * old_room;
    s->classes = xcalloc(s->class_room, sizeof *s->classes);
    for (size_t i = 0; i < old_room; i++) {
        if (old[i].text == NULL)
            continue;
        size_t at = old[i].hash & (s->class_room - 1);
        while (s->classes[at].text != NULL)
            at = (at + 1) & (s->class_room - 1);
        s->classes[at] = old[i];
    }
    free(old);
}

/* FNV-1a (G. Fowler, L. C. Noll, P. Vo; constants from memory). */
static uint64_t hash_text(const char *s)
{
    uint64_t hash = UINT64_C(14695981039346656037);
    for (; *s != '\0'; s++)
        hash = (hash ^ (unsigned char)*s) * UINT64_C(1099511628211);
    return hash;
}

static int32_t class_number(struct sheet *s, char *text)
{
    if (2 * (size_t)s->class_count >= s->class_room)
        class_grow(s);
    uint64_t hash = hash_text(text);
    size_t at = hash & (s->class_room - 1);
    while (s->classes[at].text != NULL) {
        if (s->classes[at].hash == hash && strcmp(s->classes[at].text, text) == 0)
            return s->classes[at].number;
        at = (at + 1) & (s->class_room - 1);
    }
    s->classes[at] = (struct class_entry){text, hash, s->class_count};
    return s->class_count++;
}

/* All columns that must be the same, joined by a byte that no checked text holds. */
static int32_t class_of(struct sheet *s, const char *const *field)
{
    char *text = arena_text(s->arena, "");
    for (size_t c = 0; c < s->columns; c++) {
        if (!s->column[c].same)
            continue;
        size_t n = strlen(field[c]);
        const char *part = text_trim(field[c], &n);
        if (n == 0)
            return s->class_count++; /* a class of its own */
        text = arena_printf(s->arena, "%s\x1f%.*s", text, (int)n, part);
    }
    return class_number(s, text);
}

static bool cell_read(struct sheet *s, size_t c, const char *field, int64_t line,
                      struct decimal *out, struct err *e)
{
    struct column *x = &s->column[c];
    struct err inner = ERR_INIT;
    char shown[TEXT_SHOW_BYTES];
    if (!decimal_parse(out, field, strlen(field), &inner)) {
        err_field(e, x->name, inner.code, "line %lld, column %s, \"%s\": %s", (long long)line,
                  x->name, text_show(shown, field, strlen(field)), inner.text);
        return fail_at(e, line);
    }
    while (out->decimals > 0 && out->mantissa % 10 == 0) {
        out->mantissa /= 10;
        out->decimals--;
    }
    if (out->decimals > DECIMAL_DECIMALS) {
        err_field(e, x->name, ERR_INVALID, "line %lld, column %s, \"%s\": more than %d decimals",
                  (long long)line, x->name, text_show(shown, field, strlen(field)),
                  DECIMAL_DECIMALS);
        return fail_at(e, line);
    }
    if (out->decimals > x->decimals)
        x->decimals = out->decimals;
    return true;
}

static bool uncertainty_check(const struct sheet *s, size_t c, const char *field, int64_t line,
                              struct err *e)
{
    struct decimal d;
    struct err inner = ERR_INIT;
    size_t n = strlen(field);
    (void)text_trim(field, &n);
    if (n == 0)
        return true;
    bool ok = decimal_parse(&d, field, strlen(field), &inner);
    if (ok && d.mantissa >= 0)
        return true;
    err_field(e, s->column[c].name, ERR_INVALID, "line %lld, column %s: %s", (long long)line,
              s->column[c].name, ok ? "an uncertainty cannot be below zero" : inner.text);
    return fail_at(e, line);
}

static void rows_grow(struct sheet *s)
{
    s->room = s->room == 0 ? 256 : 2 * s->room;
    s->row = xrealloc(s->row, (size_t)s->room * sizeof *s->row);
    s->cell = xrealloc(s->cell, (size_t)s->room * (size_t)s->coordinates * sizeof *s->cell);
}

bool sheet_add(struct sheet *s, int64_t line, const char *const *field, size_t count, struct err *e)
{
    if (count != s->columns) {
        err_set(e, ERR_INVALID, "line %lld has %zu fields, the heading %zu", (long long)line, count,
                s->columns);
        return fail_at(e, line);
    }
    if (s->rows == MATCH_TUBES) {
        err_set(e, ERR_TOO_LARGE, "line %lld: more than %d tubes in one problem", (long long)line,
                MATCH_TUBES);
        return fail_at(e, line);
    }
    if (s->rows == s->room)
        rows_grow(s);
    struct tube_row *row = &s->row[s->rows];
    struct decimal *cell = s->cell + (size_t)s->rows * (size_t)s->coordinates;
    for (size_t c = 0; c < count; c++) {
        const struct column *x = &s->column[c];
        size_t n = strlen(field[c]);
        if (x->role == ROLE_ID) {
            const char *id = text_trim(field[c], &n);
            if (n == 0) {
                err_field(e, "id", ERR_INVALID, "line %lld, column id: empty", (long long)line);
                return fail_at(e, line);
            }
            row->id = arena_bytes(s->arena, id, n);
        } else if (x->role == ROLE_UNCERTAINTY && !uncertainty_check(s, c, field[c], line, e)) {
            return false;
        } else if (x->coordinate >= 0 &&
                   !cell_read(s, c, field[c], line, &cell[x->coordinate], e)) {
            return false;
        }
    }
    row->line = line;
    row->class_of = class_of(s, field);
    s->rows++;
    return true;
}

/* ---- the problem ----------------------------------------------------------------------------- */

/* The unit that a column's values are in by its quantity, NULL where that is not known. */
static const struct unit *column_unit(const char *name)
{
    char code[QUANTITY_CODE_BYTES];
    size_t n = strcspn(name, ".");
    const struct unit *unit;
    if (n >= sizeof code)
        return NULL;
    memcpy(code, name, n);
    code[n] = '\0';
    const struct quantity *q = quantity_find(code);
    return q != NULL && unit_find(&unit, q->unit, NULL) ? unit : NULL;
}

static bool band_make(struct sheet *s, int j, struct match_band *out, struct err *e)
{
    struct column *x = &s->column[s->of_coordinate[j]];
    if (x->band->kind == MATCH_RELATIVE) {
        *out = x->band->ratio;
        return true;
    }
    struct decimal width;
    int64_t num;
    if (!band_width(&width, x->band, x->name, column_unit(x->name), &x->decimals, e))
        return false;
    if (!decimal_scale(&num, width, x->decimals, e))
        return err_in(e, x->name);
    *out = (struct match_band){MATCH_ABSOLUTE, num, 1};
    return true;
}

static bool values_make(const struct sheet *s, int64_t *value, struct err *e)
{
    size_t d = (size_t)s->coordinates;
    for (size_t at = 0; at < (size_t)s->rows * d; at++) {
        const struct column *x = &s->column[s->of_coordinate[at % d]];
        struct err inner = ERR_INIT;
        if (decimal_scale(&value[at], s->cell[at], x->decimals, &inner))
            continue;
        int64_t line = s->row[at / d].line;
        err_field(e, x->name, ERR_TOO_LARGE,
                  "line %lld, column %s: too large beside another value with %d decimals",
                  (long long)line, x->name, x->decimals);
        return fail_at(e, line);
    }
    return true;
}

bool sheet_problem(struct sheet *s, const struct match_line *demand, int lines, struct arena *a,
                   struct match_problem *out, struct err *e)
{
    size_t n = (size_t)s->rows;
    size_t d = (size_t)s->coordinates;
    const char **id = arena_array(a, n, sizeof *id);
    int32_t *classes = arena_array(a, n, sizeof *classes);
    int64_t *line = arena_array(a, n, sizeof *line);
    int64_t *value = arena_array(a, n * d, sizeof *value);
    struct match_band *band = arena_array(a, d, sizeof *band);
    const char **column = arena_array(a, d, sizeof *column);
    int *decimals = arena_array(a, d, sizeof *decimals);
    for (int j = 0; j < s->coordinates; j++) {
        if (!band_make(s, j, &band[j], e))
            return false;
        column[j] = arena_text(a, s->column[s->of_coordinate[j]].name);
        decimals[j] = s->column[s->of_coordinate[j]].decimals;
    }
    for (size_t i = 0; i < n; i++) {
        id[i] = arena_text(a, s->row[i].id);
        classes[i] = s->row[i].class_of;
        line[i] = s->row[i].line;
    }
    if (!values_make(s, value, e))
        return false;
    struct match_problem p = {.tubes = s->rows,
                              .coordinates = s->coordinates,
                              .lines = lines,
                              .id = id,
                              .class_of = classes,
                              .value = value,
                              .band = band,
                              .demand = demand,
                              .column = column,
                              .decimals = decimals,
                              .row = line};
    if (!match_problem_sort(&p, a, e) || !match_problem_check(&p, e))
        return false;
    *out = p;
    return true;
}
