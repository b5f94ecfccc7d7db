/* SPDX-License-Identifier: MIT
 *
 * Ill-formed sequences: RFC 3629 sections 3, 4 and 10; The Unicode Standard, version 16.0, tables
 * 3-8 to 3-11 (python3's decoder with errors="replace" agrees).  Well-formed ones: RFC 3629
 * section 7. Distances: the worked examples of the literature, and the definition itself tried out
 * in full.
 */
#include "base/text.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

static void ill_formed_text_is_refused_where_it_breaks(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        int64_t at;
        const char *says;
    } rows[] = {
        {"\xC0\x80", 0, "overlong"},                    /* RFC 3629 section 10: NUL in two bytes */
        {"/\xC0\xAE./", 1, "overlong"},                 /* the same: /../ in disguise */
        {"ab\xED\xA1\x8C\xED\xBE\xB4", 2, "surrogate"}, /* section 10: U+233B4 as a pair (CESU-8) */
        {"\xE0\x9F\xBF", 0, "overlong"},                /* just below U+0800 */
        {"\xF0\x8F\xBF\xBF", 0, "overlong"},            /* just below U+10000 */
        {"\xF4\x90\x80\x80", 0, "beyond U+10FFFF"},     /* U+110000 */
        {"\xF5\x80\x80\x80", 0, "never occurs"},
        {"\xFF", 0, "never occurs"},
        {"abc\x80", 3, "continuation byte"},
        {"\xE2\x82", 0, "not followed"}, /* cut at the end */
        {"x\xE2\x82y", 1, "not followed"},
        {"Gr\xF6\xDF"
         "e",
         2, "never occurs"}, /* Latin-1: byte F6 */
        {"caf\xE9", 3, "byte 0xE9 at offset 3"},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct err e = ERR_INIT;
        assert_false(text_check(rows[i].bytes, strlen(rows[i].bytes), &e));
        assert_int_equal(e.code, ERR_INVALID);
        assert_int_equal(e.at, rows[i].at);
        if (!strstr(e.text, rows[i].says) || !strstr(e.text, "UTF-8"))
            fail_msg("row %zu ought to say '%s' but says: %s", i, rows[i].says, e.text);
    }
    struct err e = ERR_INIT;
    assert_false(text_check("12\0AX7", 6, &e));
    assert_int_equal(e.at, 2);
    assert_non_null(strstr(e.text, "NUL"));
}

static void maximal_subparts_of_the_unicode_standard_are_each_refused(void **state)
{
    (void)state;
    /* bytes; offsets at which an ill-formed subpart starts; everything else is 'A' or 'B' */
    static const struct {
        const char *bytes;
        size_t n;
        const char *starts;
    } rows[] = {
        {"\xC0\xAF\xE0\x80\xBF\xF0\x81\x82\x41", 9, "01234567"}, /* table 3-8 */
        {"\xED\xA0\x80\xED\xBF\xBF\xED\xAF\x41", 9, "01234567"}, /* table 3-9 */
        {"\xF4\x91\x92\x93\xFF\x41\x80\xBF\x42", 9, "0123467"},  /* table 3-10 */
        {"\xE1\x80\xE2\xF0\x91\x92\xF1\xBF\x41", 9, "0236"},     /* table 3-11 */
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++)
        for (const char *k = rows[i].starts; *k; k++) {
            size_t at = (size_t)(*k - '0');
            struct err e = ERR_INIT;
            assert_false(text_check(rows[i].bytes + at, rows[i].n - at, &e));
            assert_int_equal(e.at, 0);
        }
    char buf[TEXT_SHOW_BYTES];
    assert_string_equal(text_show(buf, rows[3].bytes, 9),
                        "\\xE1\\x80\\xE2\\xF0\\x91\\x92\\xF1\\xBFA");
    assert_string_equal(text_show(buf, rows[2].bytes, 9), "\\xF4\\x91\\x92\\x93\\xFFA\\x80\\xBFB");
}

static void published_well_formed_texts_pass(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        uint32_t points[5];
    } rows[] = {
        /* RFC 3629 section 7 */
        {"\x41\xE2\x89\xA2\xCE\x91\x2E", {0x41, 0x2262, 0x391, 0x2E}},
        {"\xED\x95\x9C\xEA\xB5\xAD\xEC\x96\xB4", {0xD55C, 0xAD6D, 0xC5B4}},
        {"\xE6\x97\xA5\xE6\x9C\xAC\xE8\xAA\x9E", {0x65E5, 0x672C, 0x8A9E}},
        {"\xEF\xBB\xBF\xF0\xA3\x8E\xB4", {0xFEFF, 0x233B4}},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        assert_true(text_check(rows[i].bytes, strlen(rows[i].bytes), NULL));
        const char *p = rows[i].bytes;
        size_t k = 0;
        while (*p)
            assert_int_equal(text_next(&p), rows[i].points[k++]);
        assert_int_equal(rows[i].points[k], 0);
    }
    assert_true(text_check("", 0, NULL));
}

static void every_code_point_is_written_checked_and_read_back(void **state)
{
    (void)state;
    for (uint32_t c = 1; c <= 0x10FFFF; c++) {
        if (c == 0xD800)
            c = 0xE000;
        char buf[8] = {0};
        size_t n = text_put(buf, c);
        const char *p = buf;
        /* the four rows of the table in RFC 3629 section 3 */
        size_t want = c < 0x80 ? 1 : c < 0x800 ? 2 : c < 0x10000 ? 3 : 4;
        if (n != want || !text_check(buf, n, NULL) || text_next(&p) != c || p != buf + n)
            fail_msg("U+%04X", c);
    }
}

/* As many sequences pass as there are code points: nothing has two spellings. */
static void nothing_else_is_well_formed(void **state)
{
    (void)state;
    long two = 0, three = 0, four = 0;
    char s[4];
    for (int a = 0x80; a < 0x100; a++)
        for (int b = 0; b < 0x100; b++) {
            s[0] = (char)a, s[1] = (char)b;
            two += b && text_check(s, 2, NULL);
            for (int c = 0; a >= 0xE0 && c < 0x100; c++)
                s[2] = (char)c, three += text_check(s, 3, NULL);
            static const unsigned char edge[] = {0x7F, 0x80, 0xBF, 0xC0};
            for (size_t k = 0; a >= 0xF0 && k < 16; k++) {
                s[2] = (char)edge[k / 4], s[3] = (char)edge[k % 4];
                four += text_check(s, 4, NULL);
            }
        }
    assert_int_equal(two, 0x800 - 0x80);
    assert_int_equal(three, 0x10000 - 0x800 - 0x800); /* less the surrogates */
    assert_int_equal(four, (0x110000 - 0x10000) / 4096 * 4);
}

static void a_line_has_no_control_characters_and_a_limit(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int64_t at;
        const char *says;
    } rows[] = {
        {"bin\t4", 3, "U+0009"},    {"two\nlines", 3, "U+000A"}, {"\x7F", 0, "U+007F"},
        {"a\xC2\x85", 1, "U+0085"}, {"\xC2\x9F", 0, "U+009F"},   {"\x1F", 0, "U+001F"},
        {"\xFF", 0, "UTF-8"},
    };
    struct err e = ERR_INIT;
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        assert_false(text_check_line(rows[i].text, strlen(rows[i].text), 100, &e));
        assert_int_equal(e.code, ERR_INVALID);
        assert_int_equal(e.at, rows[i].at);
        assert_non_null(strstr(e.text, rows[i].says));
    }
    assert_false(text_check_line("123456", 6, 5, &e));
    assert_int_equal(e.code, ERR_TOO_LARGE);
    assert_non_null(strstr(e.text, "6 bytes; at most 5"));
    assert_true(text_check_line("12345", 5, 5, &e));
    assert_true(text_check_line("6\xD0\x9D"
                                "2\xD0\x9F \xC2\xA0~",
                                10, 100, &e));
}

static void white_space_is_trimmed_at_both_ends_only(void **state)
{
    (void)state;
    static const struct {
        const char *text, *want;
    } rows[] = {
        {"", ""},
        {" \t\r\n\xC2\xA0", ""},
        {"a", "a"},
        {" a b\t", "a b"},
        {"\xC2\xA0 \xC2\xA0x\xC2\xA0 \xC2\xA0", "x"},
        {"\xC3\xA0", "\xC3\xA0"}, /* ends in A0, but is the letter U+00E0 */
        {"\xE2\x80\xA0 ", "\xE2\x80\xA0"},
        {"\xC2", "\xC2"},
        {"\xA0", "\xA0"},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        size_t n = strlen(rows[i].text);
        const char *p = text_trim(rows[i].text, &n);
        assert_int_equal(n, strlen(rows[i].want));
        assert_memory_equal(p, rows[i].want, n);
        assert_true(p >= rows[i].text && p + n <= rows[i].text + strlen(rows[i].text));
    }
}

static void messages_show_what_came_and_stay_short(void **state)
{
    (void)state;
    char buf[TEXT_SHOW_BYTES], longest[400] = "";
    assert_string_equal(text_show(buf,
                                  "6\xD0\x9D"
                                  "2\xD0\x9F",
                                  6),
                        "6\xD0\x9D"
                        "2\xD0\x9F");
    assert_string_equal(text_show(buf, "a\0\n\x7F", 4), "a\\x00\\x0A\\x7F");
    assert_string_equal(text_show(buf,
                                  "\xE2\x80\xAE"
                                  "abc",
                                  6),
                        "\\xE2\\x80\\xAE"
                        "abc"); /* U+202E */
    assert_string_equal(text_show(buf, "\xEF\xBB\xBF", 3), "\\xEF\\xBB\\xBF");
    assert_string_equal(text_show(buf, "", 0), "");
    assert_string_equal(text_show(buf, "1234567890123456789012345678901234567890", 40),
                        "1234567890123456789012345678901234567890");
    assert_string_equal(text_show(buf, "12345678901234567890123456789012345678901", 41),
                        "1234567890123456789012345678901234567890...");
    for (int i = 0; i < 99; i++)
        strcat(longest, "\xF0\x9F\x98\x80");
    assert_int_equal(strlen(text_show(buf, longest, 396)), 163);
    memset(longest, 0xFF, 399);
    assert_int_equal(strlen(text_show(buf, longest, 399)), 163);
    assert_true(text_check(buf, strlen(buf), NULL));
}

/* The definition, tried out in full: at the heads of a and b either nothing, or one edit. */
static int try_all(const char *a, const char *b)
{
    if (!*a || !*b)
        return (int)(strlen(a) + strlen(b));
    int best = try_all(a + 1, b + 1) + (*a != *b);
    int d = try_all(a + 1, b) + 1;
    best = d < best ? d : best;
    d = try_all(a, b + 1) + 1;
    best = d < best ? d : best;
    if (a[1] && b[1] && a[0] == b[1] && a[1] == b[0]) {
        d = try_all(a + 2, b + 2) + 1;
        best = d < best ? d : best;
    }
    return best;
}

static void distances_agree_with_the_definition_on_all_short_words(void **state)
{
    (void)state;
    char words[121][5] = {{0}};
    size_t n = 1;
    for (size_t from = 0; n < ARRAY_LEN(words); from++)
        for (char c = 'a'; c <= 'c'; c++, n++) {
            memcpy(words[n], words[from], 4);
            words[n][strlen(words[n])] = c;
        }
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < n; k++)
            if (text_distance(words[i], words[k], 9) != try_all(words[i], words[k]))
                fail_msg("%s %s", words[i], words[k]);
}

static void distances_of_the_literature(void **state)
{
    (void)state;
    assert_int_equal(text_distance("ca", "abc", 9), 3); /* where the unrestricted one is 2 */
    assert_int_equal(text_distance("kitten", "sitting", 9), 3);
    assert_int_equal(text_distance("Saturday", "Sunday", 9), 3);
    assert_int_equal(text_distance("12AX7", "12XA7", 9), 1);
    assert_int_equal(text_distance("\xD0\x9D", "\xD0\x9F", 9), 1); /* code points, not bytes */
    assert_int_equal(text_distance("\xE2\x82\xAC", "", 9), 1);
    assert_int_equal(text_distance("", "", 0), 0);
}

static void distances_beyond_the_limit_are_limit_plus_one(void **state)
{
    (void)state;
    assert_int_equal(text_distance("kitten", "sitting", 3), 3);
    assert_int_equal(text_distance("kitten", "sitting", 2), 3);
    assert_int_equal(text_distance("kitten", "sitting", 0), 1);
    assert_int_equal(text_distance("abc", "abc", 0), 0);
    char a[66] = "", b[66] = "";
    memset(a, 'x', 64);
    memset(b, 'x', 64);
    assert_int_equal(text_distance(a, b, 2), 0);
    b[64] = 'x';
    assert_int_equal(text_distance(a, b, 2), 3); /* 65 code points: not looked at */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ill_formed_text_is_refused_where_it_breaks),
        cmocka_unit_test(maximal_subparts_of_the_unicode_standard_are_each_refused),
        cmocka_unit_test(published_well_formed_texts_pass),
        cmocka_unit_test(every_code_point_is_written_checked_and_read_back),
        cmocka_unit_test(nothing_else_is_well_formed),
        cmocka_unit_test(a_line_has_no_control_characters_and_a_limit),
        cmocka_unit_test(white_space_is_trimmed_at_both_ends_only),
        cmocka_unit_test(messages_show_what_came_and_stay_short),
        cmocka_unit_test(distances_agree_with_the_definition_on_all_short_words),
        cmocka_unit_test(distances_of_the_literature),
        cmocka_unit_test(distances_beyond_the_limit_are_limit_plus_one),
    };
    return cmocka_run_group_tests_name("text", tests, NULL, NULL);
}
