/* SPDX-License-Identifier: MIT
 *
 * table: head and rows walk the shape in the same way, so that cells stand under their names.
 */
#include "api/table.h"
#include "base/csv.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

#define COLUMN_BYTES 200 /* of a dotted name */

const char *const table_forms[] = {[TABLE_CSV] = "csv", [TABLE_NDJSON] = "ndjson", NULL};
_Static_assert(ARRAY_LEN(table_forms) == TABLE__COUNT + 1, "a name for each form");

const char *table_content_type(enum table_form form)
{
    return form == TABLE_CSV ? "text/csv; charset=utf-8; header=present" : "application/x-ndjson";
}

/* The shapes we are inside of: one that comes again is not entered. */
struct chain {
    const struct chain *up;
    const struct shape *shape;
};

static bool is_inside(const struct chain *c, const struct shape *s)
{
    for (; c; c = c->up)
        if (c->shape == s)
            return true;
    return false;
}

static void put_cell(struct pen *p, const char *text, bool *first)
{
    size_t n = csv_put(NULL, 0, text, *first);
    csv_put(pen_room(p, n + 1), n + 1, text, *first);
    p->n += n;
    *first = false;
}

static void put_texts(struct pen *p, const struct texts *t, bool *first)
{
    struct pen cell;
    pen_init(&cell, p->arena, 0);
    for (size_t i = 0; i < t->count; i++) {
        pen_text(&cell, i ? "; " : "");
        pen_text(&cell, t->items[i]);
    }
    put_cell(p, pen_done(&cell, NULL), first);
}

static void put_names(struct pen *p, const struct chain *c, const char *before, bool *first)
{
    for (const struct field *f = c->shape->field; f->name; f++) {
        char name[COLUMN_BYTES];
        int n = snprintf(name, sizeof name, "%s%s", before, f->name);
        assert(n > 0 && n < (int)sizeof name - 1);
        if (f->kind == K_OBJECT && !is_inside(c, f->sub)) {
            memcpy(name + n, ".", 2);
            put_names(p, &(struct chain){c, f->sub}, name, first);
        } else if (f->kind != K_OBJECT && f->kind != K_LIST) {
            put_cell(p, name, first);
        }
    }
}

/* from is NULL for an object that is absent: its cells are empty. */
static void put_row(struct pen *p, const struct chain *c, const void *from, bool *first)
{
    char buf[WIRE_PRINT_BYTES];
    for (const struct field *f = c->shape->field; f->name; f++) {
        const void *slot = from ? (const char *)from + f->at : NULL;
        if (f->kind == K_OBJECT && !is_inside(c, f->sub))
            put_row(p, &(struct chain){c, f->sub}, slot ? *(const void *const *)slot : NULL, first);
        else if (f->kind == K_TEXTS && slot)
            put_texts(p, slot, first);
        else if (f->kind != K_OBJECT && f->kind != K_LIST)
            put_cell(p, slot ? wire_print(buf, f, from) : "", first);
    }
}

void table_head(struct pen *p, const struct shape *s, enum table_form form)
{
    bool first = true;
    if (form != TABLE_CSV)
        return;
    put_names(p, &(struct chain){NULL, s}, "", &first);
    pen_text(p, "\r\n");
}

void table_rows(struct pen *p, const struct shape *s, const struct list *rows, enum table_form form)
{
    for (size_t i = 0; i < rows->count; i++) {
        const void *row = (const char *)rows->items + i * s->size;
        bool first = true;
        if (form == TABLE_CSV) {
            put_row(p, &(struct chain){NULL, s}, row, &first);
            pen_text(p, "\r\n");
        } else {
            wire_pack_to(p, s, row);
            pen_char(p, '\n');
        }
    }
}

/* ---- streams ------------------------------------------------------------------------------------
 */

struct table {
    struct stream stream;
    const struct shape *shape;
    enum table_form form;
    table_more_fn *more;
    void *state;
    bool begun, ended;
};

static bool next_piece(void *state, struct store *st, struct arena *a, const char **text, size_t *n,
                       struct err *e)
{
    struct table *t = state;
    struct list rows = {0};
    struct pen p;
    if (!t->ended && !t->more(t->state, st, a, &rows, e))
        return false;
    t->ended = t->ended || !rows.count;
    pen_init(&p, a, rows.count * 256);
    if (!t->begun)
        table_head(&p, t->shape, t->form);
    table_rows(&p, t->shape, &rows, t->form);
    t->begun = true;
    *text = pen_done(&p, n);
    if (!*n)
        *text = NULL;
    return true;
}

const struct stream *table_stream(const struct shape *s, enum table_form form, table_more_fn *more,
                                  void *state, struct arena *a)
{
    struct table *t = arena_alloc(a, sizeof *t);
    *t = (struct table){.shape = s, .form = form, .more = more, .state = state};
    t->stream = (struct stream){next_piece, t, table_content_type(form)};
    return &t->stream;
}
