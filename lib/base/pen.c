/* SPDX-License-Identifier: MIT
 *
 * pen: a buffer that doubles inside an arena.
 */
#include "base/pen.h"
#include "base/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define PEN_BYTES ((size_t)480)

void pen_init(struct pen *p, struct arena *a, size_t expect)
{
    p->arena = a;
    p->n = 0;
    p->room = expect > PEN_BYTES ? expect : PEN_BYTES;
    p->s = arena_alloc(a, p->room);
}

char *pen_room(struct pen *p, size_t more)
{
    if (more > p->room - p->n) {
        size_t room = p->room * 2 > p->n + more ? p->room * 2 : p->n + more;
        char *s = arena_alloc(p->arena, room);
        memcpy(s, p->s, p->n);
        p->s = s;
        p->room = room;
    }
    return p->s + p->n;
}

void pen_bytes(struct pen *p, const char *s, size_t n)
{
    if (n)
        memcpy(pen_room(p, n), s, n);
    p->n += n;
}

void pen_text(struct pen *p, const char *s)
{
    pen_bytes(p, s, strlen(s));
}

void pen_char(struct pen *p, char c)
{
    *pen_room(p, 1) = c;
    p->n++;
}

void pen_int(struct pen *p, int64_t v)
{
    char digits[24], *at = digits + sizeof digits;
    uint64_t left = v < 0 ? 0 - (uint64_t)v : (uint64_t)v;
    do
        *--at = (char)('0' + left % 10);
    while (left /= 10);
    if (v < 0)
        *--at = '-';
    pen_bytes(p, at, (size_t)(digits + sizeof digits - at));
}

void pen_printf(struct pen *p, const char *fmt, ...)
{
    va_list ap, again;
    va_start(ap, fmt);
    va_copy(again, ap);
    int n = vsnprintf(NULL, 0, fmt, ap);
    va_end(ap);
    if (n > 0) {
        vsnprintf(pen_room(p, (size_t)n + 1), (size_t)n + 1, fmt, again);
        p->n += (size_t)n;
    }
    va_end(again);
}

/* The letter after the backslash for a byte that JSON wants escaped; 'u' for the long form. */
static char escape_letter(unsigned char c)
{
    switch (c) {
    case '"':
    case '\\':
        return (char)c;
    case '\b':
        return 'b';
    case '\f':
        return 'f';
    case '\n':
        return 'n';
    case '\r':
        return 'r';
    case '\t':
        return 't';
    default:
        return c < 0x20 ? 'u' : 0;
    }
}

/* Well-formed text, escaped where needed; runs of plain bytes go in one piece. */
static void put_escaped(struct pen *p, const char *s, size_t n)
{
    size_t from = 0;
    for (size_t i = 0; i < n; i++) {
        unsigned char c = (unsigned char)s[i];
        if (c >= 0x20 && c != '"' && c != '\\')
            continue;
        pen_bytes(p, s + from, i - from);
        from = i + 1;
        char letter = escape_letter(c);
        if (letter == 'u') {
            static const char hex[] = "0123456789abcdef";
            const char code[] = {'\\', 'u', '0', '0', hex[c >> 4], hex[c & 15]};
            pen_bytes(p, code, sizeof code);
        } else {
            pen_bytes(p, (const char[]){'\\', letter}, 2);
        }
    }
    pen_bytes(p, s + from, n - from);
}

static bool is_ascii(const char *s, size_t n)
{
    unsigned char any = 0, none = 0xFF;
    for (size_t i = 0; i < n; i++) {
        any |= (unsigned char)s[i];
        none = (unsigned char)s[i] ? none : 0;
    }
    return any < 0x80 && none;
}

void pen_quote_bytes(struct pen *p, const char *s, size_t n)
{
    pen_char(p, '"');
    while (n && !is_ascii(s, n)) {
        struct err e = ERR_INIT;
        if (text_check(s, n, &e))
            break;
        size_t good = (size_t)e.at;
        put_escaped(p, s, good);
        pen_text(p, "\xEF\xBF\xBD"); /* U+FFFD */
        s += good + 1;
        n -= good + 1;
    }
    put_escaped(p, s, n);
    pen_char(p, '"');
}

void pen_quote(struct pen *p, const char *s)
{
    pen_quote_bytes(p, s, strlen(s));
}

const char *pen_done(struct pen *p, size_t *n)
{
    *pen_room(p, 1) = '\0';
    if (n)
        *n = p->n;
    return p->s;
}
