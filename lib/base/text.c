/* SPDX-License-Identifier: MIT
 *
 * text: UTF-8 by the byte ranges of RFC 3629 section 4.  The second byte's range depends on the
 * first (that is what keeps overlong forms, surrogates and anything past U+10FFFF out); every later
 * byte is 80..BF.  The table below is that syntax, nothing else knows it.
 */
#include "base/text.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

#define DISTANCE_MOST 64 /* code points of either side of text_distance */
#define SHOW_MOST     40 /* characters text_show shows */

/* RFC 3629 section 4: first byte from..to, bytes in all, range of the second byte. */
static const struct lead {
    unsigned char from, to, length, second_from, second_to;
} leads[] = {
    {0x00, 0x7F, 1, 0, 0},       {0xC2, 0xDF, 2, 0x80, 0xBF}, {0xE0, 0xE0, 3, 0xA0, 0xBF},
    {0xE1, 0xEC, 3, 0x80, 0xBF}, {0xED, 0xED, 3, 0x80, 0x9F}, {0xEE, 0xEF, 3, 0x80, 0xBF},
    {0xF0, 0xF0, 4, 0x90, 0xBF}, {0xF1, 0xF3, 4, 0x80, 0xBF}, {0xF4, 0xF4, 4, 0x80, 0x8F},
};

static const struct lead *lead_of(unsigned char b)
{
    for (size_t i = 0; i < ARRAY_LEN(leads); i++)
        if (b >= leads[i].from && b <= leads[i].to)
            return &leads[i];
    return NULL;
}

/* Bytes of the well-formed character at the head of s[0..n), or 0 where there is none. */
static size_t char_length(const unsigned char *s, size_t n)
{
    if (s[0] < 0x80)
        return 1;
    const struct lead *l = lead_of(s[0]);
    if (!l || n < l->length || s[1] < l->second_from || s[1] > l->second_to)
        return 0;
    for (size_t i = 2; i < l->length; i++)
        if ((s[i] & 0xC0) != 0x80)
            return 0;
    return l->length;
}

/* What is wrong with the bytes at s, none of which start a well-formed character. */
static const char *char_fault(const unsigned char *s, size_t n)
{
    const struct lead *l = lead_of(s[0]);
    bool follows = n > 1 && (s[1] & 0xC0) == 0x80;
    if ((s[0] & 0xC0) == 0x80)
        return "a continuation byte with nothing before it";
    if (s[0] == 0xC0 || s[0] == 0xC1)
        return "an overlong form";
    if (!l)
        return "a byte that never occurs";
    if (follows && s[1] < l->second_from)
        return "an overlong form";
    if (follows && s[1] > l->second_to)
        return s[0] == 0xED ? "half of a surrogate pair" : "beyond U+10FFFF";
    return "not followed by the bytes it announces";
}

bool text_check(const char *s, size_t n, struct err *e)
{
    const unsigned char *u = (const unsigned char *)s;
    for (size_t i = 0, step; i < n; i += step) {
        step = char_length(u + i, n - i);
        if (!step)
            return err_at(e, ERR_INVALID, (int64_t)i,
                          "Not UTF-8: byte 0x%02X at offset %zu is %s; save or send the text as "
                          "UTF-8, not in Latin-1 or another code page.",
                          u[i], i, char_fault(u + i, n - i));
        if (!u[i])
            return err_at(e, ERR_INVALID, (int64_t)i,
                          "A NUL byte at offset %zu; text must not hold any.", i);
    }
    return true;
}

static bool is_control(uint32_t c)
{
    return c < 0x20 || (c >= 0x7F && c <= 0x9F);
}

bool text_check_line(const char *s, size_t n, size_t max, struct err *e)
{
    if (n > max)
        return err_at(e, ERR_TOO_LARGE, (int64_t)max, "The text has %zu bytes; at most %zu fit.", n,
                      max);
    if (!text_check(s, n, e))
        return false;
    for (const char *p = s; p < s + n;) {
        const char *at = p;
        uint32_t c = text_next(&p);
        if (is_control(c))
            return err_at(e, ERR_INVALID, at - s,
                          "A control character (U+%04X) at offset %td; give one line of plain text "
                          "without tabs or line breaks.",
                          (unsigned)c, at - s);
    }
    return true;
}

uint32_t text_next(const char **s)
{
    const unsigned char *u = (const unsigned char *)*s;
    uint32_t c = u[0];
    int more = 0;
    if (c >= 0xF0)
        more = 3, c &= 0x07;
    else if (c >= 0xE0)
        more = 2, c &= 0x0F;
    else if (c >= 0xC0)
        more = 1, c &= 0x1F;
    u++;
    for (; more > 0 && (*u & 0xC0) == 0x80; more--)
        c = c << 6 | (*u++ & 0x3F);
    *s = (const char *)u;
    return c;
}

size_t text_put(char *buf, uint32_t c)
{
    assert(c <= 0x10FFFF && (c < 0xD800 || c > 0xDFFF));
    if (c < 0x80) {
        buf[0] = (char)c;
        return 1;
    }
    size_t n = c < 0x800 ? 2 : c < 0x10000 ? 3 : 4;
    for (size_t i = n - 1; i > 0; i--, c >>= 6)
        buf[i] = (char)(0x80 | (c & 0x3F));
    static const unsigned char mark[] = {0, 0, 0xC0, 0xE0, 0xF0};
    buf[0] = (char)(mark[n] | c);
    return n;
}

/* Bytes of the white space at p, where left bytes remain: 0 where there is none. */
static size_t space_length(const char *p, size_t left)
{
    if (left && (*p == ' ' || *p == '\t' || *p == '\r' || *p == '\n'))
        return 1;
    return left >= 2 && !memcmp(p, "\xC2\xA0", 2) ? 2 : 0;
}

const char *text_trim(const char *s, size_t *n)
{
    size_t from = 0, to = *n, step;
    while ((step = space_length(s + from, to - from)) > 0)
        from += step;
    for (;;) {
        if (to > from && space_length(s + to - 1, 1))
            to--;
        else if (to >= from + 2 && space_length(s + to - 2, 2) == 2)
            to -= 2;
        else
            break;
    }
    *n = to - from;
    return s + from;
}

/* Characters that would not be seen in a message, or would turn its reading order around. */
static bool is_unseen(uint32_t c)
{
    return is_control(c) || (c >= 0x200B && c <= 0x200F) || (c >= 0x2028 && c <= 0x202E) ||
           (c >= 0x2060 && c <= 0x206F) || c == 0xFEFF;
}

const char *text_show(char *buf, const char *s, size_t n)
{
    char *out = buf;
    int shown = 0;
    for (size_t i = 0; i < n;) {
        size_t step = char_length((const unsigned char *)s + i, n - i);
        const char *p = s + i;
        bool plain = step && !is_unseen(text_next(&p));
        if (!step)
            step = 1;
        if (shown + (plain ? 1 : (int)step) > SHOW_MOST) {
            out = stpcpy(out, "...");
            break;
        }
        if (plain) {
            memcpy(out, s + i, step);
            out += step;
            shown++;
        }
        for (size_t k = 0; !plain && k < step; k++, shown++)
            out += snprintf(out, 5, "\\x%02X", (unsigned char)s[i + k]);
        i += step;
    }
    *out = '\0';
    return buf;
}

static int code_points(uint32_t *c, const char *s)
{
    int n = 0;
    while (*s) {
        if (n == DISTANCE_MOST)
            return -1;
        c[n++] = text_next(&s);
    }
    return n;
}

static int least(int a, int b)
{
    return a < b ? a : b;
}

/* The recurrence of the optimal string alignment distance: Damerau, CACM 7(3), 1964, with the rows
 * of Wagner and Fischer, JACM 21(1), 1974; no piece is edited twice. */
int text_distance(const char *a, const char *b, int limit)
{
    assert(limit >= 0);
    uint32_t ca[DISTANCE_MOST], cb[DISTANCE_MOST];
    int na = code_points(ca, a), nb = code_points(cb, b);
    if (na < 0 || nb < 0 || na - nb > limit || nb - na > limit)
        return limit + 1;
    int row[3][DISTANCE_MOST + 1];
    int *before = row[0], *last = row[1], *now = row[2];
    for (int j = 0; j <= nb; j++)
        last[j] = j;
    for (int i = 1; i <= na; i++) {
        now[0] = i;
        for (int j = 1; j <= nb; j++) {
            int d = last[j - 1] + (ca[i - 1] != cb[j - 1]);
            d = least(d, least(last[j], now[j - 1]) + 1);
            if (i > 1 && j > 1 && ca[i - 1] == cb[j - 2] && ca[i - 2] == cb[j - 1])
                d = least(d, before[j - 2] + 1);
            now[j] = d;
        }
        int *spare = before;
        before = last, last = now, now = spare;
    }
    return least(last[nb], limit + 1);
}
