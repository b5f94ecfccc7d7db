/* SPDX-License-Identifier: MIT
 *
 * Check digits: tests/reference/check_digits_mod_11_10.csv.  What is refused: stockno.h.  That
 * every single wrong figure is found: ISO/IEC 7064, what the systems are for.
 */
#include "base/stockno.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

static void what_is_no_stock_number_is_refused_with_the_reason(void **state)
{
    (void)state;
    /* 1000019: payload 100001, check digit 9 (python3, from the rule as python-stdnum has it) */
    static const struct {
        const char *text;
        int64_t at;
        const char *says;
    } rows[] = {
        {"", 0, "missing"},
        {" \r\n", 0, "missing"},
        {"1000018", 0, "probably mistyped"},
        {"1000091", 0, "probably mistyped"}, /* two neighbours swapped */
        {"1O00019", 1, "offset 1 holds something other than a figure"},
        {"12AX7", 2, "other than a figure"},
        {"-1000019", 0, "other than a figure"},
        {"1000019-", 7, "other than a figure"},
        {"1000.019", 4, "other than a figure"},
        {"1000019\xE2\x80", 7, "other than a figure"},
        {"07945", 0, "none starts with 0"},
        {"00200667308", 0, "none starts with 0"},
        {"794623", 0, "it has 6 figures, and 7 is the least"},
        {"1234567890123", 12, "more than 12 figures"},
        {"1000002", 0, "none is that low"}, /* payload 100000, rightly checked, never given out */
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct err e = ERR_INIT;
        int64_t v = 42;
        assert_false(stockno_parse(&v, rows[i].text, strlen(rows[i].text), &e));
        assert_int_equal(e.code, ERR_INVALID);
        if (!strstr(e.text, rows[i].says))
            fail_msg("'%s' ought to say '%s' but says: %s", rows[i].text, rows[i].says, e.text);
        assert_int_equal(e.at, rows[i].at);
        assert_int_equal(v, 42);
    }
}

static void the_message_never_tells_the_right_digit(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    int64_t v;
    assert_false(stockno_parse(&v, "1000018", 7, &e));
    assert_null(strchr(e.text, '9'));
}

static void stock_numbers_are_read_as_typed_or_scanned(void **state)
{
    (void)state;
    static const char *const rows[] = {
        "1000019",
        " 1000019\r\n",
        "100 0019",
        "1-0-0-0-0-1-9",
        "1000 - 019",
        "100\xC2\xA0"
        "0019",
        "100\xE2\x80\x93"
        "0019",
        "100\xE2\x80\xAF"
        "0019",
        "100\xE2\x88\x92"
        "0019",
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct err e = ERR_INIT;
        int64_t v = 0;
        if (!stockno_parse(&v, rows[i], strlen(rows[i]), &e))
            fail_msg("'%s': %s", rows[i], e.text);
        assert_int_equal(v, 1000019);
    }
    int64_t v;
    assert_true(stockno_parse(&v, "1000019999", 7, NULL)); /* the length counts, not a zero */
    assert_int_equal(v, 1000019);
}

static void check_digits_agree_with_published_ones(void **state)
{
    (void)state;
    FILE *f = fopen("tests/reference/check_digits_mod_11_10.csv", "r");
    assert_non_null(f);
    char line[300], payload[40], check;
    int rows = 0;
    assert_non_null(fgets(line, sizeof line, f)); /* the head */
    for (; fgets(line, sizeof line, f); rows++) {
        assert_int_equal(sscanf(line, "%39[0-9],%c,", payload, &check), 2);
        assert_int_equal(stockno_check_digit(payload, strlen(payload)), check);
    }
    fclose(f);
    assert_int_equal(rows, 3);
    assert_int_equal(stockno_check_digit("12A4", 4), 0);
    assert_int_equal(stockno_check_digit("", 0), 0);
}

static bool passes(int64_t v)
{
    char buf[24];
    return stockno_parse(&v, buf, (size_t)snprintf(buf, sizeof buf, "%lld", (long long)v), NULL);
}

static void what_is_made_is_read_back(void **state)
{
    (void)state;
    static const int64_t payloads[] = {STOCKNO_FIRST, 999999, 1000000, 123456789, STOCKNO_LAST};
    for (size_t i = 0; i < ARRAY_LEN(payloads); i++) {
        int64_t v = stockno_make(payloads[i]);
        assert_true(passes(v));
        assert_int_equal(stockno_payload(v), payloads[i]);
    }
    assert_int_equal(stockno_make(100001), 1000019);
    assert_int_equal(stockno_make(STOCKNO_LAST), INT64_C(999999999990));
}

static void every_wrong_figure_is_found_and_nearly_every_swap(void **state)
{
    (void)state;
    long swaps = 0, missed = 0;
    for (int64_t payload = 123450; payload < 124450; payload++) {
        const int64_t v = stockno_make(payload);
        for (int64_t place = 1; place <= 1000000; place *= 10) {
            int64_t figure = v / place % 10, left = v / place / 10 % 10;
            for (int64_t other = 0; other <= 9; other++)
                if (other != figure)
                    assert_false(passes(v + (other - figure) * place));
            if (place == 1000000 || figure == left)
                continue;
            swaps++;
            missed += passes(v + (left - figure) * place + (figure - left) * place * 10);
        }
    }
    assert_true(swaps > 4000);
    assert_true(missed * 100 < swaps * 3); /* "nearly": house rule, three in a hundred */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_no_stock_number_is_refused_with_the_reason),
        cmocka_unit_test(the_message_never_tells_the_right_digit),
        cmocka_unit_test(stock_numbers_are_read_as_typed_or_scanned),
        cmocka_unit_test(check_digits_agree_with_published_ones),
        cmocka_unit_test(what_is_made_is_read_back),
        cmocka_unit_test(every_wrong_figure_is_found_and_nearly_every_swap),
    };
    return cmocka_run_group_tests_name("stockno", tests, NULL, NULL);
}
