/* SPDX-License-Identifier: MIT
 *
 * show: cells are made first, all of them, because only then is it known how wide a column is and
 * whether it holds anything.  Widths count characters, not bytes.
 */
#include "command/show.h"

#include "base/pen.h"
#include "base/text.h"

#include <inttypes.h>
#include <string.h>

#define COLUMNS 64 /* the most fields of a shape that is shown as a table */
#define CELL_MOST                                                                  \
    100 /* where a cell is wider, rows are shown as lines under each other instead \
         */

static const void *slot(const struct field *f, const void *from)
{
    return (const char *)from + f->at;
}

static int width(const char *s)
{
    int n = 0;
    for (; *s; n++)
        (void)text_next(&s);
    return n;
}

/* "made_first" as "made first". */
static const char *title(const struct field *f, struct arena *a)
{
    char *s = arena_text(a, f->name);
    for (char *c = s; *c; c++)
        if (*c == '_')
            *c = ' ';
    return s;
}

/* ---- cells -------------------------------------------------------------------------------- */

static const char *cell(const struct field *f, const void *from, struct arena *a);

/* The fields of a struct behind each other: "ia 1.2 mA". */
static void put_inline(struct pen *p, const struct shape *s, const void *from, struct arena *a)
{
    bool first = true;
    for (const struct field *f = s->field; f->name; f++) {
        const char *text = cell(f, from, a);
        if (!*text)
            continue;
        if (!first)
            pen_char(p, ' ');
        if (f->kind == K_BOOL || f->kind == K_INT)
            pen_printf(p, "%s ", f->name);
        pen_text(p, text);
        first = false;
    }
}

static const char *many_cell(const struct field *f, const void *from, struct arena *a)
{
    struct pen p;
    pen_init(&p, a, 0);
    if (f->kind == K_TEXTS) {
        const struct texts *t = slot(f, from);
        for (size_t i = 0; i < t->count; i++)
            pen_printf(&p, "%s%s", i ? "; " : "", t->items[i]);
    } else if (f->kind == K_LIST) {
        const struct list *l = slot(f, from);
        for (size_t i = 0; i < l->count; i++) {
            pen_text(&p, i ? "; " : "");
            put_inline(&p, f->sub, (const char *)l->items + i * f->sub->size, a);
        }
    } else {
        const void *one = *(const void *const *)slot(f, from);
        if (one)
            put_inline(&p, f->sub, one, a);
    }
    return pen_done(&p, NULL);
}

/* JSON of our own database as words: {"ia":"5.2","gm":1} as "ia 5.2, gm 1"; between: what stands
 * between the objects of a list. */
static const char *raw_words(const char *json, const char *between, struct arena *a)
{
    struct pen p;
    bool quoted = false;
    pen_init(&p, a, strlen(json));
    for (const char *s = json; *s; s++) {
        if (*s == '"') {
            quoted = !quoted;
        } else if (quoted && *s == '\\' && s[1]) {
            s++;
            pen_char(&p, *s == 'n' || *s == 't' || *s == 'r' ? ' ' : *s);
        } else if (quoted || !strchr("{}[]:,", *s)) {
            pen_char(&p, *s);
        } else if (*s == ',') {
            pen_text(&p, s[1] == '{' || s[1] == '[' ? between : ", ");
        } else if (*s == '[' && s[1] == '{' && *between == '\n') {
            pen_text(&p, between);
        } else if (*s == ':') {
            pen_char(&p, ' ');
        }
    }
    return pen_done(&p, NULL);
}

/* One line of text; "" when absent. */
static const char *cell(const struct field *f, const void *from, struct arena *a)
{
    char buf[WIRE_PRINT_BYTES];
    if (f->kind == K_TEXTS || f->kind == K_LIST || f->kind == K_OBJECT)
        return many_cell(f, from, a);
    const char *text = wire_print(buf, f, from);
    if (f->kind == K_RAW)
        return raw_words(text, "; ", a);
    if (f->kind == K_BOOL && *text)
        return *text == 't' ? "yes" : "no";
    char *line = arena_text(a, text);
    for (char *c = line; *c; c++)
        if (*c == '\n' || *c == '\r' || *c == '\t')
            *c = ' ';
    return line;
}

/* ---- tables ------------------------------------------------------------------------------- */

struct table {
    const struct field *field[COLUMNS];
    int width[COLUMNS];
    size_t columns, rows;
    const char **cells; /* row by row */
};

static void put_padded(FILE *to, const char *text, int wide, bool right, bool last)
{
    int pad = wide - width(text);
    if (right)
        fprintf(to, "%*s%s", pad > 0 ? pad : 0, "", text);
    else
        fprintf(to, "%s%*s", text, pad > 0 && !last ? pad : 0, "");
    if (!last)
        fputs("  ", to);
}

static void table_fill(struct table *t, const struct shape *s, const struct list *l,
                       struct arena *a)
{
    for (const struct field *f = s->field; f->name && t->columns < COLUMNS; f++)
        t->field[t->columns++] = f;
    t->rows = l->count;
    t->cells = arena_array(a, t->rows * t->columns, sizeof *t->cells);
    for (size_t r = 0; r < t->rows; r++)
        for (size_t c = 0; c < t->columns; c++) {
            const char *text = cell(t->field[c], (const char *)l->items + r * s->size, a);
            int n = width(text);
            t->cells[r * t->columns + c] = text;
            t->width[c] = n > t->width[c] ? n : t->width[c];
        }
}

static void show_lines(FILE *to, const struct shape *s, const void *from, struct arena *a);

static void show_table(FILE *to, const struct shape *s, const struct list *l, struct arena *a)
{
    struct table t = {0};
    size_t last = 0;
    bool wide_cells = false;
    if (!l->count) {
        fputs("none\n", to);
        return;
    }
    table_fill(&t, s, l, a);
    for (size_t c = 0; c < t.columns; c++) {
        last = t.width[c] ? c : last;
        wide_cells |= t.width[c] > CELL_MOST;
    }
    for (size_t r = 0; wide_cells && r < t.rows; r++) {
        fputs(r ? "\n" : "", to);
        show_lines(to, s, (const char *)l->items + r * s->size, a);
    }
    if (wide_cells)
        return;
    for (size_t r = 0; r <= t.rows; r++) {
        for (size_t c = 0; c <= last; c++) {
            const char *head = title(t.field[c], a);
            int wide = t.width[c] > width(head) ? t.width[c] : width(head);
            bool right = t.field[c]->kind == K_INT || t.field[c]->kind == K_DECIMAL;
            if (t.width[c])
                put_padded(to, r ? t.cells[(r - 1) * t.columns + c] : head, wide, right, c == last);
        }
        fputc('\n', to);
    }
}

/* ---- replies ------------------------------------------------------------------------------ */

/* The one list that a shape is, or NULL. */
static const struct field *only_list(const struct shape *s)
{
    const struct field *f = s->field;
    return f->name && f->kind == K_LIST && !f[1].name ? f : NULL;
}

static int names_width(const struct shape *s, const void *from)
{
    int wide = 0;
    for (const struct field *f = s->field; f->name; f++)
        if (f->kind != K_LIST &&
            (f->kind == K_OBJECT ? *(const void *const *)slot(f, from) != NULL : true) &&
            width(f->name) > wide)
            wide = width(f->name);
    return wide;
}

/* The sentences of a grading, as the API gives them in its reasons; all that a person reads. */
struct told_reason {
    const char *text;
};
static const struct field TOLD_FIELDS[] = {
    {"text", K_TEXT, F_REQUIRED, offsetof(struct told_reason, text), .help = "the sentence"},
    {0},
};
static const struct shape TOLD = {"told_reason", sizeof(struct told_reason), TOLD_FIELDS};

struct told_reasons {
    struct list reasons;
    struct texts untested;
};
static const struct field TOLDS_FIELDS[] = {
    {"reasons", K_LIST, F_REQUIRED, offsetof(struct told_reasons, reasons), .sub = &TOLD,
     .help = "for the grade, and against each higher one"},
    {"untested", K_TEXTS, F_REQUIRED, offsetof(struct told_reasons, untested),
     .help = "what was not tested"},
    {0},
};
static const struct shape TOLDS = {"told_reasons", sizeof(struct told_reasons), TOLDS_FIELDS};

/* NULL when raw is something else. */
static const char *reasons_words(const char *raw, struct arena *a)
{
    void *from;
    struct pen p;
    if (!wire_unpack_reply(&from, &TOLDS, raw, strlen(raw), a, NULL))
        return NULL;
    const struct told_reasons *t = from;
    if (!t->reasons.items && !t->untested.items)
        return NULL;
    pen_init(&p, a, 0);
    for (size_t i = 0; i < t->reasons.count; i++)
        pen_printf(&p, "\n  %s",
                   ((const struct told_reason *)(const void *)t->reasons.items)[i].text);
    for (size_t i = 0; i < t->untested.count; i++)
        pen_printf(&p, "%s%s", i ? "; " : "\n  still open: ", t->untested.items[i]);
    return pen_done(&p, NULL);
}

/* Notes keep their lines. */
static const char *line_text(const struct field *f, const void *from, struct arena *a)
{
    const char *note =
        f->kind == K_NOTE || f->kind == K_RAW ? *(const char *const *)slot(f, from) : NULL;
    if (note && f->kind == K_RAW) {
        const char *reasons = reasons_words(note, a);
        return reasons ? reasons : raw_words(note, "\n  ", a);
    }
    return note ? note : cell(f, from, a);
}

static void show_lists(FILE *to, const struct shape *s, const void *from, bool after,
                       struct arena *a)
{
    for (const struct field *f = s->field; f->name; f++) {
        const struct list *l = f->kind == K_LIST ? slot(f, from) : NULL;
        if (!l || !l->count)
            continue;
        fprintf(to, "%s%s:\n", after ? "\n" : "", title(f, a));
        show_table(to, f->sub, l, a);
        after = true;
    }
}

void show_reply(FILE *to, const struct shape *s, const void *from, struct arena *a)
{
    const struct field *only = only_list(s);
    if (only) {
        show_table(to, only->sub, slot(only, from), a);
        return;
    }
    show_lines(to, s, from, a);
}

/* Field by field, then the lists. */
static void show_lines(FILE *to, const struct shape *s, const void *from, struct arena *a)
{
    int wide = names_width(s, from);
    bool any = false;
    for (const struct field *f = s->field; f->name; f++) {
        const char *text = f->kind == K_LIST ? "" : line_text(f, from, a);
        if (!*text && f->kind == K_TEXT && f->flags & F_REQUIRED)
            text = "none";
        if (!*text)
            continue;
        fprintf(to, "%s:%*s %s\n", title(f, a), wide - width(f->name), "", text);
        any = true;
    }
    show_lists(to, s, from, any, a);
}

/* ---- refusals ----------------------------------------------------------------------------- */

struct problem {
    const char *detail, *field;
    int64_t line;
};
#define AT(f) offsetof(struct problem, f)
static const struct field PROBLEM_FIELDS[] = {
    {"detail", K_TEXT, 0, AT(detail), .help = "the sentence"},
    {"field", K_TEXT, 0, AT(field), .help = "which field"},
    {"line", K_INT, 0, AT(line), .help = "which line"},
    {0},
};
static const struct shape PROBLEM = {"problem", sizeof(struct problem), PROBLEM_FIELDS};
#undef AT

void show_problem(FILE *to, const struct told *told, const struct shape *reply, struct arena *a)
{
    void *from;
    const struct problem *p;
    if (!wire_unpack_reply(&from, &PROBLEM, told->body, told->n, a, NULL)) {
        fprintf(to, "refused with status %d, and no more was said\n", told->status);
        return;
    }
    p = from;
    if (p->line != NONE && p->line > 0)
        fprintf(to, "line %" PRId64 ": ", p->line);
    /* A field may be whatever a file calls its column. */
    const char *field =
        p->field ? text_show((char[TEXT_SHOW_BYTES]){0}, p->field, strlen(p->field)) : NULL;
    if (field && !(p->detail && strstr(p->detail, field)))
        fprintf(to, "%s: ", field);
    fprintf(to, "%s\n", p->detail ? p->detail : "refused");
    if (reply && wire_unpack_reply(&from, reply, told->body, told->n, a, NULL))
        show_lists(to, reply, from, true, a);
}
