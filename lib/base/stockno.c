/* SPDX-License-Identifier: MIT
 *
 * stockno: ISO/IEC 7064:2003, hybrid system MOD 11,10.  It catches every single wrong figure and
 * nearly every swap of neighbours, with a check character that is itself a plain figure, so that
 * numbers can be typed on a keypad and read aloud.
 */
#include "base/stockno.h"
#include "base/text.h"

#include <assert.h>
#include <string.h>

#define FIGURES_LEAST 7
#define FIGURES_MOST  12
#define SHOW(s, n)    text_show((char[TEXT_SHOW_BYTES]){0}, s, n)

/* The recursive method of the hybrid systems: P starts at 10; with each figure a, S = (P + a) mod
 * 10, 0 standing for 10, and P becomes 2 S mod 11; the check figure makes (P + it) mod 10 equal 1.
 */
char stockno_check_digit(const char *digits, size_t n)
{
    int p = 10;
    if (!n)
        return 0;
    for (size_t i = 0; i < n; i++) {
        if (digits[i] < '0' || digits[i] > '9')
            return 0;
        int s = (p + digits[i] - '0') % 10;
        p = (s ? s : 10) * 2 % 11;
    }
    return (char)('0' + (11 - p) % 10);
}

int64_t stockno_make(int64_t payload)
{
    assert(payload >= STOCKNO_FIRST && payload <= STOCKNO_LAST);
    char figures[FIGURES_MOST];
    size_t n = 0;
    for (int64_t rest = payload; rest; rest /= 10)
        figures[FIGURES_MOST - ++n] = (char)('0' + rest % 10);
    return payload * 10 + stockno_check_digit(figures + FIGURES_MOST - n, n) - '0';
}

int64_t stockno_payload(int64_t stockno)
{
    return stockno / 10;
}

/* Bytes of the space or dash at p, 0 where there is none: space, -, U+00A0, U+2009, U+2010 to
 * U+2015, U+202F, U+2212. */
static size_t gap_length(const char *p, const char *end)
{
    size_t left = (size_t)(end - p);
    if (*p == ' ' || *p == '-')
        return 1;
    if (left >= 2 && !memcmp(p, "\xC2\xA0", 2))
        return 2;
    if (left < 3 || *p != '\xE2')
        return 0;
    bool dash =
        p[1] == '\x80' && (p[2] == '\x89' || p[2] == '\xAF' || (p[2] >= '\x90' && p[2] <= '\x95'));
    return dash || !memcmp(p + 1, "\x88\x92", 2) ? 3 : 0;
}

/* The figures of s[0..n) alone, at most FIGURES_MOST. */
static bool figures_of(char *figures, size_t *count, const char *s, size_t n, struct err *e)
{
    size_t left = n;
    const char *p = text_trim(s, &left), *end = p + left;
    *count = 0;
    if (!left)
        return err_at(e, ERR_INVALID, 0, "A stock number is missing.");
    while (p < end) {
        size_t gap = gap_length(p, end);
        if (gap && *count && p + gap < end) {
            p += gap;
            continue;
        }
        if (*p < '0' || *p > '9')
            return err_at(e, ERR_INVALID, p - s,
                          "\"%s\" is not a stock number: offset %td holds something other than a "
                          "figure; give its figures, with spaces or dashes between them at most.",
                          SHOW(s, n), p - s);
        if (*count == FIGURES_MOST)
            return err_at(e, ERR_INVALID, p - s,
                          "\"%s\" is not a stock number: it has more than %d figures.", SHOW(s, n),
                          FIGURES_MOST);
        figures[(*count)++] = *p++;
    }
    return true;
}

bool stockno_parse(int64_t *out, const char *s, size_t n, struct err *e)
{
    char figures[FIGURES_MOST] = {0};
    size_t count;
    if (!figures_of(figures, &count, s, n, e))
        return false;
    if (figures[0] == '0')
        return err_at(e, ERR_INVALID, 0, "\"%s\" is not a stock number: none starts with 0.",
                      SHOW(s, n));
    if (count < FIGURES_LEAST)
        return err_at(e, ERR_INVALID, 0,
                      "\"%s\" is not a stock number: it has %zu figures, and %d is the least.",
                      SHOW(s, n), count, FIGURES_LEAST);
    if (stockno_check_digit(figures, count - 1) != figures[count - 1])
        return err_at(e, ERR_INVALID, 0,
                      "\"%s\" is not a stock number: its figures do not fit together, so it was "
                      "probably mistyped or misread; look at the tube again.",
                      SHOW(s, n));
    int64_t v = 0;
    for (size_t i = 0; i < count; i++)
        v = v * 10 + (figures[i] - '0');
    if (v / 10 < STOCKNO_FIRST)
        return err_at(e, ERR_INVALID, 0, "\"%s\" is not a stock number: none is that low.",
                      SHOW(s, n));
    *out = v;
    return true;
}
