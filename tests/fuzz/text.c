/* SPDX-License-Identifier: MIT
 *
 * text under any bytes: text_check agrees with a decoder that works the other way round (take the
 * bits, write them anew, compare), messages stay short and well-formed, trimming is idempotent,
 * distances are a symmetric measure.
 */
#include "base/text.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n);

/* Offset of the first character that, decoded by its bits and written anew, is not what stood
 * there. */
static size_t good_bytes(const char *s, size_t n)
{
    size_t at = 0;
    while (at < n) {
        unsigned char b = (unsigned char)s[at];
        size_t length = b < 0x80 ? 1 : b >> 5 == 6 ? 2 : b >> 4 == 14 ? 3 : b >> 3 == 30 ? 4 : 0;
        if (!b || !length || length > n - at)
            break;
        uint32_t c = length == 1 ? b : b & (0xFFU >> (length + 1));
        for (size_t i = 1; i < length; i++)
            c = c << 6 | ((unsigned char)s[at + i] & 0x3F);
        char anew[4];
        if (c > 0x10FFFF || (c >= 0xD800 && c <= 0xDFFF) || text_put(anew, c) != length ||
            memcmp(anew, s + at, length) != 0)
            break;
        at += length;
    }
    return at;
}

static void check_words(const char *s, size_t n)
{
    size_t cut = n / 2;
    while (cut && ((unsigned char)s[cut] & 0xC0) == 0x80)
        cut--;
    char *a = strndup(s, cut);
    const char *b = s + cut;
    int d = text_distance(a, b, 5);
    assert(d >= 0 && d <= 6 && d == text_distance(b, a, 5));
    assert((d == 0) == !strcmp(a, b) || n > 64);
    int close = text_distance(a, b, 1);
    assert(close == (d < 2 ? d : 2));
    free(a);
}

static void check_line(const char *s, size_t n)
{
    bool control = false;
    for (const char *p = s; p < s + n;) {
        uint32_t c = text_next(&p);
        control = control || c < 0x20 || (c >= 0x7F && c < 0xA0);
    }
    assert(text_check_line(s, n, n, NULL) == !control);
    assert(!n || !text_check_line(s, n, n - 1, NULL));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n)
{
    char *s = malloc(n + 1), shown[TEXT_SHOW_BYTES];
    if (n)
        memcpy(s, data, n);
    s[n] = '\0';
    struct err e = ERR_INIT;
    bool ok = text_check(s, n, &e);
    size_t good = good_bytes(s, n);
    assert(ok == (good == n) && (ok || e.at == (int64_t)good));
    text_show(shown, s, n);
    assert(text_check_line(shown, strlen(shown), TEXT_SHOW_BYTES - 1, NULL));
    size_t once = n, twice;
    const char *p = text_trim(s, &once);
    twice = once;
    assert(p >= s && p + once <= s + n && text_trim(p, &twice) == p && twice == once);
    if (ok) {
        check_words(s, n);
        check_line(s, n);
    }
    free(s);
    return 0;
}
