/* SPDX-License-Identifier: MIT
 *
 * decimal and unit under any bytes: what is read is within its bounds, prints and reads back the
 * same, and scales to the nearest, half to even; what is refused is refused with a place and a
 * sentence.
 */
#include "base/decimal.h"
#include "base/text.h"
#include "base/unit.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n);

static __int128 power(int n)
{
    __int128 p = 1;
    while (n-- > 0)
        p *= 10;
    return p;
}

/* v = d at the given decimals, by the definition and not by the way it was computed. */
static void check_scaled(struct decimal d, int decimals, int64_t v)
{
    if (decimals >= d.decimals) {
        assert((__int128)v == d.mantissa * power(decimals - d.decimals));
        return;
    }
    __int128 step = power(d.decimals - decimals), off = ((__int128)v * step - d.mantissa) * 2;
    off = off < 0 ? -off : off;
    assert(off < step || (off == step && v % 2 == 0));
}

static void check_number(const char *s, size_t n)
{
    struct err e = ERR_INIT;
    struct decimal d = {7, 7}, again;
    if (!decimal_parse(&d, s, n, &e)) {
        assert(e.code == ERR_INVALID && e.at >= 0 && (size_t)e.at <= n);
        assert(text_check(e.text, strlen(e.text), NULL));
        assert(d.mantissa == 7 && d.decimals == 7);
        return;
    }
    assert(d.mantissa > -power(15) && d.mantissa < power(15));
    assert(d.decimals >= 0 && d.decimals <= 15);
    char buf[DECIMAL_BYTES];
    decimal_print(buf, d.mantissa, d.decimals);
    assert(decimal_parse(&again, buf, strlen(buf), NULL));
    assert(again.mantissa == d.mantissa && again.decimals == d.decimals);
    for (int decimals = 0; decimals <= DECIMAL_DECIMALS; decimals++) {
        int64_t v = 7;
        if (decimal_scale(&v, d, decimals, &e))
            check_scaled(d, decimals, v);
        else
            assert(e.code == ERR_TOO_LARGE && v == 7);
    }
}

static void check_wide(const uint8_t *data)
{
    int64_t a, b, c, q = 7;
    memcpy(&a, data, 8);
    memcpy(&b, data + 8, 8);
    memcpy(&c, data + 16, 8);
    assert(wide_compare(a, b, b, a) == 0);
    assert(wide_compare(a, b, c, b) == -wide_compare(c, b, a, b));
    a &= INT64_MAX, b &= INT64_MAX, c &= INT64_MAX;
    if (!c)
        return;
    __int128 twice = (__int128)a * b * 2;
    if (wide_mul_div(&q, a, b, c, NULL)) /* q - 1/2 <= ab/c < q + 1/2 */
        assert(((__int128)q * 2 - 1) * c <= twice && twice < ((__int128)q * 2 + 1) * c);
    else
        assert(q == 7 && twice / c / 2 >= INT64_MAX);
}

static void check_split(const char *s)
{
    size_t number_len, unit_len;
    const char *name;
    unit_split(s, &number_len, &name, &unit_len);
    assert(number_len + unit_len <= strlen(s));
    assert(name >= s + number_len && name + unit_len <= s + strlen(s));
    struct err e = ERR_INIT;
    const struct unit *u = NULL, *again;
    if (unit_find(&u, name, &e)) {
        assert(unit_find(&again, u->name, NULL) && u == again);
    } else {
        assert(!u && e.code == ERR_INVALID);
        assert(text_check(e.text, strlen(e.text), NULL));
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n)
{
    char *s = malloc(n + 1);
    if (n)
        memcpy(s, data, n);
    s[n] = '\0';
    check_number(s, n);
    check_split(s);
    if (n >= 24)
        check_wide(data);
    free(s);
    return 0;
}
