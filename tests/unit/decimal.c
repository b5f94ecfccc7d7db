/* SPDX-License-Identifier: MIT
 *
 * Scaled values: tests/reference/decimal_half_even.csv, from python3's decimal module (the rule
 * stands in decimal_half_even.py).  What is refused: decimal.h.  Other expectations are arithmetic.
 */
#include "base/decimal.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

static void bad_numbers_are_refused_each_with_its_own_sentence(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int64_t at;
        const char *says;
    } rows[] = {
        {"", 0, "missing"},
        {" \t\xC2\xA0", 0, "missing"},
        {"-", 1, "sign without a number"},
        {" \xE2\x88\x92 ", 4, "sign without a number"},
        {"NaN", 0, "write the number out"},
        {"inf", 0, "write the number out"},
        {"1e3", 1, "write the number out"},
        {"5.2mA", 3, "write the number out"},
        {"0x10", 1, "write the number out"},
        {"1.2.3", 3, "two decimal separators"},
        {"1,2,3", 3, "two decimal separators"},
        {"1..2", 2, "two decimal separators"},
        {"1,234.5", 5, "group its thousands"},
        {"1.234,5", 5, "group its thousands"},
        {"1 234", 1, "group its thousands"},
        {"1\xC2\xA0"
         "234",
         1, "group its thousands"},
        {"1\xE2\x80\xAF"
         "234",
         1, "group its thousands"},
        {"1'234", 1, "group its thousands"},
        {"1234567890123456", 15, "15 significant figures"},
        {"1.000000000000000", 16, "15 significant figures"},
        {"0.0000000000000001", 17, "15 significant figures or decimals"},
        {".5", 0, "no figure before"},
        {",5", 0, "no figure before"},
        {"5.", 1, "no figure after"},
        {"-5,", 2, "no figure after"},
        {"--5", 1, "a sign where none belongs"},
        {"5-", 1, "a sign where none belongs"},
        {"+\xE2\x88\x92"
         "5",
         1, "a sign where none belongs"},
        {"5/2", 1, "no figure stands at offset 1"},
        {"\xFF", 0, "\"\\xFF\" is not a number"},
        {"\xD9\xA5", 0, "is not a number"}, /* U+0665, a digit, but not one of ours */
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct err e = ERR_INIT;
        struct decimal d = {42, 1};
        assert_false(decimal_parse(&d, rows[i].text, strlen(rows[i].text), &e));
        if (!strstr(e.text, rows[i].says))
            fail_msg("'%s' ought to say '%s' but says: %s", rows[i].text, rows[i].says, e.text);
        assert_int_equal(e.code, ERR_INVALID);
        assert_int_equal(e.at, rows[i].at);
        assert_int_equal(d.mantissa, 42); /* outputs are as they were */
    }
    struct decimal d;
    assert_false(decimal_parse(&d,
                               "5\0"
                               "2",
                               3, NULL));
}

static void numbers_are_kept_exactly_as_typed(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int64_t mantissa;
        int decimals;
    } rows[] = {
        {"5.20", 520, 2},
        {"5,20", 520, 2},
        {"+5.2", 52, 1},
        {"-1.5", -15, 1},
        {"\xE2\x88\x92"
         "1,5",
         -15, 1},
        {"0", 0, 0},
        {"-0.00", 0, 2},
        {"007", 7, 0},
        {"1,234", 1234, 3}, /* a comma is a decimal comma, always */
        {"  12.0\r\n", 120, 1},
        {"\xC2\xA0"
         "12\xC2\xA0",
         12, 0},
        {"999999999999999", 999999999999999, 0},
        {"0.999999999999999", 999999999999999, 15},
        {"00000000000000000001", 1, 0},
        {"0.000000000000001", 1, 15},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct err e = ERR_INIT;
        struct decimal d;
        if (!decimal_parse(&d, rows[i].text, strlen(rows[i].text), &e))
            fail_msg("'%s': %s", rows[i].text, e.text);
        assert_int_equal(d.mantissa, rows[i].mantissa);
        assert_int_equal(d.decimals, rows[i].decimals);
    }
}

static void scaling_agrees_with_pythons_decimal(void **state)
{
    (void)state;
    FILE *f = fopen("tests/reference/decimal_half_even.csv", "r");
    assert_non_null(f);
    char line[200], text[100], want[60];
    int decimals, rows = 0;
    assert_non_null(fgets(line, sizeof line, f)); /* the head */
    while (fgets(line, sizeof line, f)) {
        assert_int_equal(sscanf(line, "%99[^,],%d,%59[^\n]", text, &decimals, want), 3);
        int64_t got = 77;
        struct err e = ERR_INIT;
        bool ok = decimal_read(&got, text, decimals, &e);
        if (!strcmp(want, "too large")) {
            assert_false(ok);
            assert_int_equal(e.code, ERR_TOO_LARGE);
            assert_int_equal(got, 77);
        } else if (!ok || got != strtoll(want, NULL, 10)) {
            fail_msg("%s at %d decimals: want %s, got %lld %s", text, decimals, want,
                     (long long)got, e.text);
        }
        rows++;
    }
    fclose(f);
    assert_true(rows > 500);
}

static void shifting_moves_only_the_point(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    int64_t v;
    /* 5200 micromho is 0.0052 S is 5.2 mA/V */
    struct decimal d = decimal_shift((struct decimal){5200, 0}, -6);
    assert_int_equal(d.mantissa, 5200);
    assert_int_equal(d.decimals, 6);
    assert_true(decimal_scale(&v, decimal_shift(d, 3), 2, &e));
    assert_int_equal(v, 520);
    /* far shifts either way neither overflow nor lose the sign */
    assert_true(
        decimal_scale(&v, decimal_shift((struct decimal){999999999999999, 15}, -30), 12, &e));
    assert_int_equal(v, 0);
    assert_true(decimal_scale(&v, decimal_shift((struct decimal){-1, 0}, 18), 0, &e));
    assert_int_equal(v, INT64_C(-1000000000000000000));
    assert_false(decimal_scale(&v, decimal_shift((struct decimal){1, 0}, 19), 0, &e));
    assert_int_equal(e.code, ERR_TOO_LARGE);
    assert_true(decimal_scale(&v, decimal_shift((struct decimal){0, 3}, 40), 12, &e));
    assert_int_equal(v, 0);
}

static void printing_shows_all_decimals(void **state)
{
    (void)state;
    static const struct {
        int64_t v;
        int decimals;
        const char *text;
    } rows[] = {
        {520, 2, "5.20"},
        {5, 2, "0.05"},
        {-5, 2, "-0.05"},
        {0, 0, "0"},
        {0, 3, "0.000"},
        {-1200, 2, "-12.00"},
        {7, 0, "7"},
        {INT64_MIN, 0, "-9223372036854775808"},
        {INT64_MAX, 12, "9223372.036854775807"},
        {INT64_MIN, 18, "-9.223372036854775808"},
    };
    char buf[DECIMAL_BYTES];
    for (size_t i = 0; i < ARRAY_LEN(rows); i++)
        assert_string_equal(decimal_print(buf, rows[i].v, rows[i].decimals), rows[i].text);
}

static void wide_products_compare_exactly(void **state)
{
    (void)state;
    const int64_t big = INT64_MAX, low = INT64_MIN;
    assert_int_equal(wide_compare(big, big, big, big - 1), 1);
    assert_int_equal(wide_compare(big, big - 1, big, big), -1);
    assert_int_equal(wide_compare(big, 6, 6, big), 0);
    assert_int_equal(wide_compare(low, low, big, big), 1); /* 2^126 > (2^63-1)^2 */
    assert_int_equal(wide_compare(low, big, 0, 0), -1);
    assert_int_equal(wide_compare(-2, 3, 1, -6), 0);
    /* 2^32 * 2^32 wraps to 0 in 64 bits */
    assert_int_equal(wide_compare(INT64_C(1) << 32, INT64_C(1) << 32, 1, 1), 1);
}

static void wide_division_rounds_halves_up(void **state)
{
    (void)state;
    static const struct {
        int64_t a, b, c, want;
    } rows[] = {
        {1, 1, 2, 1}, /* 0.5 -> 1 */
        {3, 1, 2, 2}, /* 1.5 -> 2 */
        {5, 1, 2, 3}, /* 2.5 -> 3, where half to even would give 2 */
        {1, 1, 3, 0},
        {2, 1, 3, 1},
        {0, 9, 1, 0},
        {INT64_MAX, INT64_MAX, INT64_MAX, INT64_MAX},
        {INT64_MAX, 1, 2, INT64_C(4611686018427387904)},
        {INT64_C(1000000000), INT64_C(9223372036854775807), INT64_C(1000000001),
         INT64_C(9223372027631403779)}, /* python3: (2*a*b + c) // (2*c) */
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        int64_t got;
        assert_true(wide_mul_div(&got, rows[i].a, rows[i].b, rows[i].c, NULL));
        assert_int_equal(got, rows[i].want);
    }
    int64_t got = 9;
    struct err e = ERR_INIT;
    assert_false(wide_mul_div(&got, INT64_MAX, 2, 1, &e));
    assert_int_equal(e.code, ERR_TOO_LARGE);
    assert_int_equal(got, 9);
    assert_false(wide_mul_div(&got, INT64_MAX, 3, 2, &e));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bad_numbers_are_refused_each_with_its_own_sentence),
        cmocka_unit_test(numbers_are_kept_exactly_as_typed),
        cmocka_unit_test(scaling_agrees_with_pythons_decimal),
        cmocka_unit_test(shifting_moves_only_the_point),
        cmocka_unit_test(printing_shows_all_decimals),
        cmocka_unit_test(wide_products_compare_exactly),
        cmocka_unit_test(wide_division_rounds_halves_up),
    };
    return cmocka_run_group_tests_name("decimal", tests, NULL, NULL);
}
