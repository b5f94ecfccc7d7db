/* SPDX-License-Identifier: MIT
 *
 * wire_pack: from a C struct to JSON text, written straight into the arena; no tree is built.
 */
#include "api/wire_priv.h"
#include "base/date.h"

#include <assert.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

static void pack_texts(struct pen *p, const struct texts *t)
{
    pen_char(p, '[');
    for (size_t i = 0; i < t->count; i++) {
        if (i)
            pen_char(p, ',');
        pen_quote(p, t->items[i]);
    }
    pen_char(p, ']');
}

static void pack_list(struct pen *p, const struct shape *s, const struct list *l)
{
    pen_char(p, '[');
    for (size_t i = 0; i < l->count; i++) {
        if (i)
            pen_char(p, ',');
        wire_pack_to(p, s, (const char *)l->items + i * s->size);
    }
    pen_char(p, ']');
}

static const char *name_of(const struct field *f, int64_t index)
{
    assert(index >= 0);
    for (int64_t i = 0; i < index; i++)
        assert(f->names[i]);
    assert(f->names[index]);
    return f->names[index];
}

const char *wire_print(char *buf, const struct field *f, const void *from)
{
    const void *slot = (const char *)from + f->at;
    if (wire_is_absent(f, from))
        return "";
    switch (f->kind) {
    case K_TEXT:
    case K_NOTE:
    case K_DECIMAL:
    case K_RAW:
        return *(const char *const *)slot;
    case K_INT:
    case K_STOCKNO:
        snprintf(buf, WIRE_PRINT_BYTES, "%" PRId64, *(const int64_t *)slot);
        return buf;
    case K_BOOL:
        return *(const int64_t *)slot ? "true" : "false";
    case K_MOMENT:
        return moment_print(buf, *(const int64_t *)slot);
    case K_DATE:
        return date_print(buf, *(const int64_t *)slot);
    case K_ENUM:
        return name_of(f, *(const int64_t *)slot);
    case K_TEXTS:
    case K_OBJECT:
    case K_LIST:
        break;
    }
    assert(false); /* not a field of one text or number */
    return "";
}
_Static_assert(WIRE_PRINT_BYTES >= MOMENT_BYTES && WIRE_PRINT_BYTES >= DATE_BYTES, "both fit");

/* f is not absent. */
static void pack_value(struct pen *p, const struct field *f, const void *from)
{
    const void *slot = (const char *)from + f->at;
    char buf[WIRE_PRINT_BYTES];
    switch (f->kind) {
    case K_TEXT:
    case K_NOTE:
    case K_DECIMAL:
    case K_MOMENT:
    case K_DATE:
    case K_ENUM:
        pen_quote(p, wire_print(buf, f, from));
        break;
    case K_RAW:
    case K_BOOL:
        pen_text(p, wire_print(buf, f, from));
        break;
    case K_INT:
        pen_int(p, *(const int64_t *)slot);
        break;
    case K_STOCKNO:
        pen_char(p, '"');
        pen_int(p, *(const int64_t *)slot);
        pen_char(p, '"');
        break;
    case K_TEXTS:
        pack_texts(p, slot);
        break;
    case K_OBJECT:
        wire_pack_to(p, f->sub, *(const void *const *)slot);
        break;
    case K_LIST:
        pack_list(p, f->sub, slot);
        break;
    }
}

/* What stands for a field that is absent but promised: an empty list, or null. */
static const char *nothing_of(const struct field *f)
{
    bool many = f->kind == K_LIST || f->kind == K_TEXTS;
    if (many && f->flags & F_REQUIRED)
        return "[]";
    return f->flags & (F_NULL | F_REQUIRED) ? "null" : NULL;
}

void wire_pack_to(struct pen *p, const struct shape *s, const void *from)
{
    char before = '{';
    for (const struct field *f = s->field; f->name; f++) {
        if (f->flags & F_PATH)
            continue;
        bool absent = wire_is_absent(f, from);
        const char *nothing = absent ? nothing_of(f) : NULL;
        if (absent && !nothing)
            continue;
        pen_char(p, before);
        before = ',';
        pen_char(p, '"');
        pen_text(p, f->name);
        pen_bytes(p, "\":", 2);
        if (absent)
            pen_text(p, nothing);
        else
            pack_value(p, f, from);
    }
    if (before == '{')
        pen_char(p, '{');
    pen_char(p, '}');
}

const char *wire_pack(const struct shape *s, const void *from, struct arena *a, size_t *n)
{
    struct pen p;
    pen_init(&p, a, 0);
    wire_pack_to(&p, s, from);
    return pen_done(&p, n);
}

const char *wire_quote(const char *s, struct arena *a)
{
    struct pen p;
    pen_init(&p, a, strlen(s) + 3);
    pen_quote(&p, s);
    return pen_done(&p, NULL);
}

/* The reason phrases of RFC 9110 section 15 (428 and 429: RFC 6585), which RFC 9457 section 4.2.1
 * asks for as the title of a problem without a type of its own. */
static const char *phrase(int status)
{
    static const struct {
        int status;
        const char *phrase;
    } phrases[] = {
        {400, "Bad Request"},
        {401, "Unauthorized"},
        {403, "Forbidden"},
        {404, "Not Found"},
        {405, "Method Not Allowed"},
        {408, "Request Timeout"},
        {409, "Conflict"},
        {411, "Length Required"},
        {412, "Precondition Failed"},
        {413, "Content Too Large"},
        {414, "URI Too Long"},
        {415, "Unsupported Media Type"},
        {422, "Unprocessable Content"},
        {428, "Precondition Required"},
        {429, "Too Many Requests"},
        {431, "Request Header Fields Too Large"},
        {500, "Internal Server Error"},
        {503, "Service Unavailable"},
        {507, "Insufficient Storage"},
    };
    for (size_t i = 0; i < ARRAY_LEN(phrases); i++)
        if (phrases[i].status == status)
            return phrases[i].phrase;
    return status < 500 ? "Refused" : "Failed";
}

const char *const wire_code_names[ERR__COUNT + 1] = {
    [ERR_NONE] = "none",
    [ERR_INVALID] = "invalid",
    [ERR_NOT_FOUND] = "not-found",
    [ERR_CONFLICT] = "conflict",
    [ERR_DENIED] = "denied",
    [ERR_TOO_LARGE] = "too-large",
    [ERR_UNAVAILABLE] = "unavailable",
    [ERR_FULL] = "full",
    [ERR_INTERNAL] = "internal",
};

/* Texts of an err may have been cut at the end of their buffers, in the middle of a character: take
 * that stump away instead of showing U+FFFD for it. */
static void quote_cut(struct pen *p, const char *s, size_t room)
{
    size_t n = strnlen(s, room);
    if (n + 1 >= room) {
        size_t back = n;
        while (back > 0 && n - back < 3 && (s[back - 1] & 0xC0) == 0x80)
            back--;
        if (back > 0 && (unsigned char)s[back - 1] >= 0xC0) {
            unsigned char lead = (unsigned char)s[back - 1];
            size_t whole = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
            if (n - back + 1 < whole)
                n = back - 1;
        }
    }
    pen_quote_bytes(p, s, n);
}

const char *wire_problem(const struct err *e, int status, const char *request_id, struct arena *a,
                         size_t *n)
{
    assert(e->code >= 0 && e->code < ERR__COUNT);
    struct pen p;
    pen_init(&p, a, 0);
    pen_text(&p, "{\"type\":\"about:blank\",\"title\":");
    pen_quote(&p, phrase(status));
    pen_text(&p, ",\"status\":");
    pen_int(&p, status);
    pen_text(&p, ",\"detail\":");
    quote_cut(&p, e->text, sizeof e->text);
    pen_text(&p, ",\"code\":");
    pen_quote(&p, wire_code_names[e->code]);
    if (*e->field) {
        pen_text(&p, ",\"field\":");
        quote_cut(&p, e->field, sizeof e->field);
    }
    if (e->line > 0) {
        pen_text(&p, ",\"line\":");
        pen_int(&p, e->line);
    }
    if (e->at >= 0) {
        pen_text(&p, ",\"at\":");
        pen_int(&p, e->at);
    }
    if (request_id && *request_id) {
        pen_text(&p, ",\"request_id\":");
        pen_quote(&p, request_id);
    }
    pen_char(&p, '}');
    return pen_done(&p, n);
}
