/* SPDX-License-Identifier: MIT
 *
 * wire: fields, their limits, and the sentences that refuse what does not fit them.
 */
#include "api/wire_priv.h"
#include "base/text.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define SHOW(s, n) text_show((char[TEXT_SHOW_BYTES]){0}, s, n)
#define NEAR_EDITS 2   /* a name this close to a known one is taken for a slip */
#define LIST_BYTES 200 /* of known names in one sentence */

/* ---- what a field is ----------------------------------------------------------------------------
 */

static bool is_unlimited(const struct field *f)
{
    return f->min == 0 && f->max == 0;
}

int64_t wire_min(const struct field *f)
{
    if (f->kind == K_INT || f->kind == K_DECIMAL)
        return is_unlimited(f) ? -WIRE_INT_MOST : f->min;
    if (is_unlimited(f) && (f->kind == K_TEXT || f->kind == K_TEXTS))
        return 1;
    return f->min;
}

int64_t wire_max(const struct field *f)
{
    if (!is_unlimited(f) && f->max >= f->min)
        return f->max;
    switch (f->kind) {
    case K_TEXT:
    case K_TEXTS:
        return WIRE_TEXT_BYTES;
    case K_NOTE:
        return WIRE_NOTE_BYTES;
    case K_LIST:
        return WIRE_ITEMS;
    case K_INT:
    case K_BOOL:
    case K_DECIMAL:
    case K_STOCKNO:
    case K_MOMENT:
    case K_DATE:
    case K_ENUM:
    case K_OBJECT:
    case K_RAW:
        break;
    }
    return WIRE_INT_MOST;
}

const struct field *wire_find(const struct shape *s, const char *name)
{
    for (const struct field *f = s->field; f->name; f++)
        if (!strcmp(f->name, name))
            return f;
    return NULL;
}

bool wire_is_text(enum kind k)
{
    return k == K_TEXT || k == K_NOTE || k == K_DECIMAL || k == K_STOCKNO || k == K_MOMENT ||
           k == K_DATE || k == K_ENUM;
}

static bool has_secret(const struct shape *s, int depth)
{
    for (const struct field *f = s->field; f->name; f++)
        if (f->flags & F_SECRET || (f->sub && depth < WIRE_DEPTH && has_secret(f->sub, depth + 1)))
            return true;
    return false;
}

bool wire_has_secret(const struct shape *s)
{
    return has_secret(s, 0);
}

bool wire_is_absent(const struct field *f, const void *from)
{
    const void *slot = (const char *)from + f->at;
    switch (f->kind) {
    case K_TEXT:
    case K_NOTE:
    case K_DECIMAL:
    case K_RAW:
        return !*(const char *const *)slot;
    case K_OBJECT:
        return !*(const void *const *)slot;
    case K_LIST:
        return !((const struct list *)slot)->items && !((const struct list *)slot)->count;
    case K_TEXTS:
        return !((const struct texts *)slot)->items && !((const struct texts *)slot)->count;
    case K_BOOL:
        return *(const int64_t *)slot < 0;
    case K_INT:
    case K_STOCKNO:
    case K_MOMENT:
    case K_DATE:
    case K_ENUM:
        break;
    }
    return *(const int64_t *)slot == NONE;
}

void wire_clear(void *to, const struct shape *s)
{
    memset(to, 0, s->size);
    for (const struct field *f = s->field; f->name; f++)
        if (f->kind == K_INT || f->kind == K_BOOL || f->kind == K_STOCKNO || f->kind == K_MOMENT ||
            f->kind == K_DATE || f->kind == K_ENUM)
            *(int64_t *)((char *)to + f->at) = NONE;
}

void *wire_blank(const struct shape *s, struct arena *a)
{
    void *to = arena_alloc(a, s->size);
    wire_clear(to, s);
    return to;
}

/* ---- sentences ----------------------------------------------------------------------------------
 */

static size_t print_path(char *buf, size_t room, const struct wire_path *at)
{
    size_t n = at->up ? print_path(buf, room, at->up) : 0;
    int more = at->name ? snprintf(buf + n, room - n, "%s%s", n ? "." : "",
                                   SHOW(at->name, strlen(at->name)))
                        : snprintf(buf + n, room - n, "[%zu]", at->index);
    n += (size_t)more;
    return n < room ? n : room - 1;
}

const char *wire_path_print(char *buf, const struct wire_path *at)
{
    char all[(WIRE_DEPTH + 1) * 48 + TEXT_SHOW_BYTES];
    size_t n = print_path(all, sizeof all, at);
    const char *from = all;
    if (n > 60) { /* "...", 60 bytes, the end */
        from = all + n - 60;
        while ((*from & 0xC0) == 0x80) /* not from the middle of a character */
            from++;
    }
    snprintf(buf, WIRE_PATH_BYTES, "%s%.60s", from == all ? "" : "...", from);
    return buf;
}

bool wire_refuse(struct err *e, enum err_code code, const struct wire_path *at, const char *fmt,
                 ...)
{
    if (!e)
        return false;
    char path[WIRE_PATH_BYTES], sentence[sizeof e->text];
    va_list ap;
    va_start(ap, fmt);
    vsnprintf(sentence, sizeof sentence, fmt, ap);
    va_end(ap);
    wire_path_print(path, at);
    return err_field(e, path, code, "%s %s", path, sentence);
}

bool wire_refuse_in(struct err *e, const struct wire_path *at)
{
    if (!e)
        return false;
    char path[WIRE_PATH_BYTES], sentence[sizeof e->text];
    memcpy(sentence, e->text, sizeof sentence);
    wire_path_print(path, at);
    snprintf(e->text, sizeof e->text, "%s: %.*s", path, (int)(sizeof e->text - sizeof path - 3),
             sentence);
    return err_in(e, path);
}

/* "a, b, c" within room; ", ..." where it does not fit. */
static const char *list_names(char *buf, size_t room, const char *const *names)
{
    size_t n = 0;
    buf[0] = '\0';
    for (; *names; names++) {
        if (n + strlen(*names) + 8 > room) {
            snprintf(buf + n, room - n, ", ...");
            break;
        }
        n += (size_t)snprintf(buf + n, room - n, "%s%s", n ? ", " : "", *names);
    }
    return buf;
}

static void int_wants(char *buf, const struct field *f)
{
    int64_t min = wire_min(f), max = wire_max(f);
    if (min == -WIRE_INT_MOST && max == WIRE_INT_MOST)
        snprintf(buf, WIRE_WANTS_BYTES, "a whole number within 64 bits");
    else if (max == WIRE_INT_MOST)
        snprintf(buf, WIRE_WANTS_BYTES, "a whole number of at least %" PRId64, min);
    else
        snprintf(buf, WIRE_WANTS_BYTES, "a whole number from %" PRId64 " to %" PRId64, min, max);
}

static void limit_wants(char *buf, const char *what, const struct field *f, const char *of)
{
    snprintf(buf, WIRE_WANTS_BYTES, "%s, %" PRId64 " to %" PRId64 " %s", what, wire_min(f),
             wire_max(f), of);
}

static void example_wants(char *buf, const char *what, const struct field *f, const char *example)
{
    snprintf(buf, WIRE_WANTS_BYTES, "%s, such as \"%s\"", what, f->example ? f->example : example);
}

const char *wire_wants(char *buf, const struct field *f)
{
    char names[LIST_BYTES];
    switch (f->kind) {
    case K_TEXT:
        limit_wants(buf, "one line of text", f, "bytes");
        break;
    case K_NOTE:
        limit_wants(buf, "text", f, "bytes");
        break;
    case K_INT:
        int_wants(buf, f);
        break;
    case K_BOOL:
        snprintf(buf, WIRE_WANTS_BYTES, "true or false");
        break;
    case K_DECIMAL:
        example_wants(buf, "a decimal number as text", f, "5.20");
        break;
    case K_STOCKNO:
        snprintf(buf, WIRE_WANTS_BYTES, "a stock number as text, with its check digit");
        break;
    case K_MOMENT:
        example_wants(buf, "a moment with its zone", f, "2026-11-25T07:11:00Z");
        break;
    case K_DATE:
        example_wants(buf, "a date", f, "2026-11-25");
        break;
    case K_ENUM:
        snprintf(buf, WIRE_WANTS_BYTES, "one of: %s", list_names(names, sizeof names, f->names));
        break;
    case K_TEXTS:
        limit_wants(buf, "a list of texts", f, "bytes each");
        break;
    case K_OBJECT:
        snprintf(buf, WIRE_WANTS_BYTES, "an object (%s)", f->sub->name);
        break;
    case K_LIST:
        snprintf(buf, WIRE_WANTS_BYTES, "a list of %" PRId64 " to %" PRId64 " objects (%s)",
                 wire_min(f), wire_max(f), f->sub->name);
        break;
    case K_RAW:
        snprintf(buf, WIRE_WANTS_BYTES, "left out");
        break;
    }
    return buf;
}

/* The known name that a slip of the fingers turns into this one, or NULL: at most one edit for each
 * three letters. */
static const char *nearest_name(const char *const *names, const char *name)
{
    const char *best = NULL;
    for (int limit = NEAR_EDITS; *names; names++) {
        int edits = text_distance(name, *names, limit);
        if (edits <= limit && (size_t)edits <= strlen(*names) / 3) {
            best = *names;
            limit = edits - 1;
            if (limit < 0)
                break;
        }
    }
    return best;
}

bool wire_refuse_unknown(const struct shape *s, const struct wire_path *at, struct err *e)
{
    const char *names[128];
    size_t n = 0;
    for (const struct field *f = s->field; f->name && n + 1 < ARRAY_LEN(names); f++)
        if (!(f->flags & F_PATH) && f->kind != K_RAW)
            names[n++] = f->name;
    names[n] = NULL;
    const char *near = nearest_name(names, at->name);
    char known[LIST_BYTES];
    if (near)
        return wire_refuse(e, ERR_INVALID, at, "is not known here; did you mean \"%s\"?", near);
    if (!n)
        return wire_refuse(e, ERR_INVALID, at,
                           "is not known here; nothing is taken: leave it out.");
    return wire_refuse(e, ERR_INVALID, at, "is not known here; known are: %s.",
                       list_names(known, sizeof known, names));
}

bool wire_refuse_missing(const struct field *f, const struct wire_path *at, struct err *e)
{
    char wants[WIRE_WANTS_BYTES];
    return wire_refuse(e, ERR_INVALID, at, "is missing; it must be %s.", wire_wants(wants, f));
}

bool wire_complete(const void *from, const struct shape *s, struct err *e)
{
    for (const struct field *f = s->field; f->name; f++)
        if (f->flags & F_REQUIRED && wire_is_absent(f, from))
            return wire_refuse_missing(f, &(struct wire_path){NULL, f->name, 0}, e);
    return true;
}
