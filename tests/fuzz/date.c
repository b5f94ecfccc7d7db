/* SPDX-License-Identifier: MIT
 *
 * date and stockno under any bytes: what is read prints and reads back the same and is in range;
 * what is refused leaves its outputs alone and says so in well-formed text.
 */
#include "base/date.h"
#include "base/stockno.h"
#include "base/text.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n);

static void check_refusal(const struct err *e, size_t n)
{
    assert(e->code == ERR_INVALID && e->at >= 0 && (size_t)e->at <= n);
    assert(text_check(e->text, strlen(e->text), NULL));
}

static void check_dates(const char *s, size_t n)
{
    const int64_t least = date_days(1879, 12, 29), most = date_days(2101, 1, 2);
    struct err e = ERR_INIT;
    int64_t v = 7, again = 0, last = 7;
    char buf[MOMENT_BYTES];
    if (date_parse(&v, s, n, &e)) {
        assert(v >= least && v <= most);
        date_print(buf, v);
        assert(date_parse(&again, buf, strlen(buf), NULL) && again == v);
    } else {
        check_refusal(&e, n);
        assert(v == 7);
    }
    v = 7;
    if (date_window_parse(&v, &last, s, n, &e)) {
        assert(v <= last && v >= least && last <= most);
    } else {
        check_refusal(&e, n);
        assert(v == 7 && last == 7);
    }
}

static void check_moment(const char *s, size_t n)
{
    struct err e = ERR_INIT;
    int64_t v = 7, again = 0;
    char buf[MOMENT_BYTES];
    if (!moment_parse(&v, s, n, &e)) {
        check_refusal(&e, n);
        assert(v == 7);
        return;
    }
    moment_print(buf, v);
    /* an offset may carry a moment out of the years that are taken */
    if (v >= date_days(1880, 1, 1) * 86400000 && v < date_days(2101, 1, 1) * 86400000)
        assert(moment_parse(&again, buf, strlen(buf), NULL) && again == v);
}

static void check_stockno(const char *s, size_t n)
{
    struct err e = ERR_INIT;
    int64_t v = 7;
    if (stockno_parse(&v, s, n, &e)) {
        assert(stockno_make(stockno_payload(v)) == v);
    } else {
        check_refusal(&e, n);
        assert(v == 7);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n)
{
    char *s = malloc(n ? n : 1); /* no terminating zero: lengths must be kept */
    if (n)
        memcpy(s, data, n);
    check_dates(s, n);
    check_moment(s, n);
    check_stockno(s, n);
    free(s);
    return 0;
}
