/* SPDX-License-Identifier: MIT
 *
 * decimal: digits to integers and back, nothing lost on the way.  Every rounding in the program of
 * what was read off a meter happens in decimal_scale, half to even, as IEEE 754-2019 section 4.3.1
 * (roundTiesToEven) has it.  The 128-bit integer of gcc and clang carries the wide products.
 */
#include "base/decimal.h"
#include "base/text.h"

#include <assert.h>
#include <string.h>

#define FIFTEEN       INT64_C(100000000000000)     /* from here on all 15 figures are there */
#define SCALED_MOST   INT64_C(1000000000000000000) /* 10^18 */
#define SHOW(s, n)    text_show((char[TEXT_SHOW_BYTES]){0}, s, n)
#define PARSED_PLACES 15 /* decimals taken as typed */

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool starts(const char *p, const char *end, const char *what)
{
    size_t n = strlen(what);
    return (size_t)(end - p) >= n && !memcmp(p, what, n);
}

/* The sign at p: its bytes, 0 where there is none. */
static size_t sign_length(const char *p, const char *end, bool *minus)
{
    *minus = starts(p, end, "-") || starts(p, end, "\xE2\x88\x92"); /* U+2212 */
    if (starts(p, end, "\xE2\x88\x92"))
        return 3;
    return *minus || starts(p, end, "+") ? 1 : 0;
}

/* Marks that people put between groups of three figures: space, apostrophe, U+00A0, U+2009, U+2019,
 * U+202F. */
static bool is_grouping(const char *p, const char *end)
{
    static const char *const marks[] = {
        " ", "'", "\xC2\xA0", "\xE2\x80\x89", "\xE2\x80\x99", "\xE2\x80\xAF"};
    for (size_t i = 0; i < ARRAY_LEN(marks); i++)
        if (starts(p, end, marks[i]))
            return true;
    return false;
}

/* The sentence for the first byte at p that does not belong to a number; sep is the decimal
 * separator met before it, or 0. */
static bool refuse(const char *s, size_t n, const char *p, char sep, struct err *e)
{
    const char *end = s + n;
    int64_t at = p - s;
    bool minus;
    if (*p == ' ' && p + 1 < end && (p[1] < '0' || p[1] > '9'))
        return err_at(e, ERR_INVALID, at,
                      "\"%s\" holds more than a number: give the figures alone, without a unit.",
                      SHOW(s, n));
    if (((*p == '.' || *p == ',') && sep && *p != sep) || is_grouping(p, end))
        return err_at(e, ERR_INVALID, at,
                      "\"%s\" seems to group its thousands: write the figures without grouping, "
                      "with one point or comma before the decimals.",
                      SHOW(s, n));
    if ((*p == '.' || *p == ',') && sep)
        return err_at(e, ERR_INVALID, at,
                      "\"%s\" has two decimal separators: write one point or comma, and no "
                      "grouping of thousands.",
                      SHOW(s, n));
    if ((*p >= 'a' && *p <= 'z') || (*p >= 'A' && *p <= 'Z'))
        return err_at(e, ERR_INVALID, at,
                      "\"%s\" is not a plain number: write the number out in figures, such as 1000 "
                      "for 1e3, without letters.",
                      SHOW(s, n));
    if (sign_length(p, end, &minus))
        return err_at(e, ERR_INVALID, at,
                      "\"%s\" has a sign where none belongs: write at most one, "
                      "before the first figure.",
                      SHOW(s, n));
    return err_at(e, ERR_INVALID, at,
                  "\"%s\" is not a number: a character that is no figure stands at offset %td; "
                  "write it like 5.2 or 5,2.",
                  SHOW(s, n), p - s);
}

static bool refuse_length(const char *s, size_t n, const char *p, struct err *e)
{
    return err_at(e, ERR_INVALID, p - s,
                  "\"%s\" has more than %d significant figures or decimals: no meter reads that "
                  "many; write fewer.",
                  SHOW(s, n), DECIMAL_DIGITS);
}

static bool refuse_lone_separator(const char *s, size_t n, const char *p, bool before,
                                  struct err *e)
{
    return err_at(e, ERR_INVALID, p - s,
                  "\"%s\" has no figure %s its decimal separator: write it like %s.", SHOW(s, n),
                  before ? "before" : "after", before ? "0.5" : "5 or 5.0");
}

bool decimal_parse(struct decimal *out, const char *s, size_t n, struct err *e)
{
    size_t left = n;
    const char *p = text_trim(s, &left), *end = p + left;
    if (!left)
        return err_at(e, ERR_INVALID, 0, "A number is missing: write it like 5.2.");
    bool minus;
    p += sign_length(p, end, &minus);
    if (p == end)
        return err_at(e, ERR_INVALID, p - s,
                      "\"%s\" is a sign without a number: write it like -5.2.", SHOW(s, n));
    struct decimal d = {0, 0};
    char sep = 0;
    for (const char *first = p; p < end; p++) {
        if (is_digit(*p)) {
            if (d.mantissa >= FIFTEEN || (sep && d.decimals == PARSED_PLACES))
                return refuse_length(s, n, p, e);
            d.mantissa = d.mantissa * 10 + (*p - '0');
            d.decimals += sep != 0;
        } else if ((*p == '.' || *p == ',') && !sep) {
            if (p == first)
                return refuse_lone_separator(s, n, p, true, e);
            sep = *p;
        } else {
            return refuse(s, n, p, sep, e);
        }
    }
    if (!is_digit(end[-1]))
        return refuse_lone_separator(s, n, end - 1, false, e);
    if (minus)
        d.mantissa = -d.mantissa;
    *out = d;
    return true;
}

struct decimal decimal_shift(struct decimal d, int exp10)
{
    d.decimals -= exp10;
    return d;
}

/* magnitude / 10^places, half to even. */
static uint64_t shorten(uint64_t magnitude, int places)
{
    if (places > 19) /* 10^20 / 2 is above any magnitude */
        return 0;
    unsigned __int128 power = 1;
    for (int i = 0; i < places; i++)
        power *= 10;
    uint64_t q = (uint64_t)(magnitude / power);
    unsigned __int128 rest2 = magnitude % power * 2;
    return q + (rest2 > power || (rest2 == power && (q & 1)));
}

bool decimal_scale(int64_t *out, struct decimal d, int decimals, struct err *e)
{
    assert(decimals >= 0 && decimals <= DECIMAL_DECIMALS);
    uint64_t v = d.mantissa < 0 ? -(uint64_t)d.mantissa : (uint64_t)d.mantissa;
    int64_t more = (int64_t)decimals - d.decimals;
    if (more < 0)
        v = shorten(v, more < -20 ? 20 : (int)-more);
    for (; more > 0 && v && v <= (uint64_t)SCALED_MOST; more--)
        if (__builtin_mul_overflow(v, (uint64_t)10, &v))
            v = UINT64_MAX;
    if (v > (uint64_t)SCALED_MOST)
        return err_set(e, ERR_TOO_LARGE,
                       "The number is too large: with %d decimals it must not exceed 10^%d.",
                       decimals, 18 - decimals);
    *out = d.mantissa < 0 ? -(int64_t)v : (int64_t)v;
    return true;
}

bool decimal_read(int64_t *out, const char *s, int decimals, struct err *e)
{
    struct decimal d;
    return decimal_parse(&d, s, strlen(s), e) && decimal_scale(out, d, decimals, e);
}

const char *decimal_print(char *buf, int64_t v, int decimals)
{
    assert(decimals >= 0 && decimals <= 18);
    char figures[24], *out = buf; /* least significant first */
    int n = 0;
    uint64_t rest = v < 0 ? -(uint64_t)v : (uint64_t)v;
    for (; rest || n <= decimals; rest /= 10)
        figures[n++] = (char)('0' + rest % 10);
    if (v < 0)
        *out++ = '-';
    while (n > 0) {
        *out++ = figures[--n];
        if (n == decimals && n > 0)
            *out++ = '.';
    }
    *out = '\0';
    return buf;
}

int wide_compare(int64_t a, int64_t b, int64_t c, int64_t d)
{
    __int128 left = (__int128)a * b, right = (__int128)c * d;
    return (left > right) - (left < right);
}

bool wide_mul_div(int64_t *out, int64_t a, int64_t b, int64_t c, struct err *e)
{
    assert(a >= 0 && b >= 0 && c > 0);
    unsigned __int128 q =
        ((unsigned __int128)a * (uint64_t)b * 2 + (uint64_t)c) / ((unsigned __int128)c * 2);
    if (q > INT64_MAX)
        return err_set(e, ERR_TOO_LARGE, "The result of a division passes 2^63.");
    *out = (int64_t)q;
    return true;
}
