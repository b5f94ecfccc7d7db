/* SPDX-License-Identifier: MIT
 *
 * What is well formed: RFC 4180 section 2, its own examples; and
 * tests/reference/csv_from_python.csv, written by python3's csv module.  What is refused, and how
 * reading goes on: csv.h.  Every text is read in pieces of 1, 2, 3, 7 and 4096 bytes, which must
 * not matter.
 */
#include "base/csv.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

static const size_t pieces[] = {1, 2, 3, 7, 4096};

struct source {
    const char *bytes;
    size_t n, piece;
    bool fails; /* at the end, instead of ending */
};

static long source_read(void *ctx, char *buf, size_t n)
{
    struct source *s = ctx;
    assert_true(n > 0);
    if (!s->n)
        return s->fails ? -1 : 0;
    size_t take = s->piece < n ? s->piece : n;
    take = take < s->n ? take : s->n;
    memcpy(buf, s->bytes, take);
    s->bytes += take;
    s->n -= take;
    return (long)take;
}

/* All that csv_next says, as one text: "line:field|field\n", "line!what is wrong\n". */
static char *read_all(const char *bytes, size_t n, size_t piece, char separator, bool fails)
{
    struct source s = {bytes, n, piece, fails};
    struct csv *c = csv_new(source_read, &s, separator);
    char *said = NULL;
    size_t said_n;
    FILE *f = open_memstream(&said, &said_n);
    for (enum csv_got got = CSV_RECORD; got != CSV_END && got != CSV_FAILED;) {
        struct csv_record r = {0};
        struct err e = ERR_INIT;
        got = csv_next(c, &r, &e);
        if (got == CSV_BAD || got == CSV_FAILED)
            fprintf(f, "%d!%s\n", (int)e.line, e.text);
        if (got != CSV_RECORD)
            continue;
        fprintf(f, "%d:", (int)r.line);
        for (size_t i = 0; i < r.count; i++) {
            assert_int_equal(strlen(r.field[i]), r.length[i]);
            fprintf(f, "%s%s", i ? "|" : "", r.field[i]);
        }
        fputc('\n', f);
    }
    fclose(f);
    csv_free(c);
    return said;
}

static void expect(const char *bytes, size_t n, char separator, const char *want)
{
    for (size_t i = 0; i < ARRAY_LEN(pieces); i++) {
        char *said = read_all(bytes, n, pieces[i], separator, false);
        if (strcmp(said, want))
            fail_msg("pieces of %zu: want\n%s\ngot\n%s", pieces[i], want, said);
        free(said);
    }
}

static void expect_text(const char *text, const char *want)
{
    expect(text, strlen(text), ',', want);
}

#define QUOTE_OPEN(col)                                                                           \
    "Column " col " opens a quote that is not closed; close it, and double every quote inside a " \
    "quoted field.\n"
#define QUOTE_TAIL(col) \
    "Column " col " goes on after its closing quote; double every quote inside a quoted field.\n"

static void a_bad_line_is_named_and_the_good_ones_are_kept(void **state)
{
    (void)state;
    expect_text("a,b\n1,\"x\"y,2\nc,d\n", "1:a|b\n2!" QUOTE_TAIL("2") "3:c|d\n");
    expect_text("a\n\"x\"\rb\nc\n", "1:a\n2!" QUOTE_TAIL("1") "3:c\n");
    expect_text("a\n\"x\"\r\"\nc\n", "1:a\n2!" QUOTE_TAIL("1") "3:c\n");
    expect_text("a\n\"x\" \nc\n", "1:a\n2!" QUOTE_TAIL("1") "3:c\n");
    /* a quote never closed: only its line is lost */
    expect_text("a\n1,\"abc\n2,d\n3,e\n", "1:a\n2!" QUOTE_OPEN("2") "3:2|d\n4:3|e\n");
    expect_text("a\n1,\"abc", "1:a\n2!" QUOTE_OPEN("2"));
    expect_text("\"", "1!" QUOTE_OPEN("1"));
    /* one that a later line's quote seems to close */
    expect_text("1,\"abc\n2,\"def\"\n3,x\n", "1!" QUOTE_TAIL("2") "2:2|def\n3:3|x\n");
    /* two lines running */
    expect_text("1,\"abc\n2,\"def\n3,x\n4,y\n",
                "1!" QUOTE_TAIL("2") "2!" QUOTE_OPEN("2") "3:3|x\n4:4|y\n");
}

static void bad_bytes_are_named_by_column_and_the_whole_record_is_skipped(void **state)
{
    (void)state;
    expect_text("a,b\n1,Gr\xFCn\n2,c\n",
                "1:a|b\n2!Column 2: Not UTF-8: byte 0xFC at offset 2 is a byte that never occurs; "
                "save or send the text as UTF-8, not in Latin-1 or another code page.\n3:2|c\n");
    /* the record spans two lines, and both are its */
    expect_text(
        "x,\"\xC0\xAF\nl2\",y\nz\n",
        "1!Column 2: Not UTF-8: byte 0xC0 at offset 0 is an overlong form; save or send the "
        "text as UTF-8, not in Latin-1 or another code page.\n3:z\n");
    /* a character cut by the end of its field, though the next field would complete it */
    expect_text(
        "\xE2\x82,\xAC\n",
        "1!Column 1: Not UTF-8: byte 0xE2 at offset 0 is not followed by the bytes it "
        "announces; save or send the text as UTF-8, not in Latin-1 or another code page.\n");
    expect("a\nb,c\0d\ne\n", 10, ',',
           "1:a\n2!Column 2: A NUL byte at offset 1; text must not hold any.\n3:e\n");
    expect("\xFF\xFE"
           "a\0,\0b\0",
           8, ',', "1!The file is in UTF-16 by its first bytes; save it as UTF-8.\n");
}

static void the_examples_of_rfc_4180_read_as_they_say(void **state)
{
    (void)state;
    expect_text("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", "1:aaa|bbb|ccc\n2:zzz|yyy|xxx\n"); /* 2.1 */
    expect_text("aaa,bbb,ccc\r\nzzz,yyy,xxx", "1:aaa|bbb|ccc\n2:zzz|yyy|xxx\n");     /* 2.2 */
    expect_text("\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx",                            /* 2.5 */
                "1:aaa|bbb|ccc\n2:zzz|yyy|xxx\n");
    expect_text("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx", /* 2.6 */
                "1:aaa|b\r\nbb|ccc\n3:zzz|yyy|xxx\n");
    expect_text("\"aaa\",\"b\"\"bb\",\"ccc\"", "1:aaa|b\"bb|ccc\n"); /* 2.7 */
}

static void customary_files_are_taken(void **state)
{
    (void)state;
    expect_text("", "");
    expect_text("\n\r\n\n", "");
    expect_text("\xEF\xBB\xBF", "");
    expect_text("\xEF\xBB\xBF"
                "a,b\n",
                "1:a|b\n");
    expect_text("\xEF\xBB\xBF\"a\",b\n", "1:a|b\n");
    expect_text("\n\na\n\r\n\nb\n", "3:a\n6:b\n");
    expect_text(",\n", "1:|\n");
    expect_text(",", "1:|\n");
    expect_text("a,", "1:a|\n");
    expect_text("\"\"\n", "1:\n");
    expect_text("\"\"", "1:\n");
    expect_text("a\r", "1:a\n");
    expect_text("\"a\"\r", "1:a\n");
    expect_text(" a , b \n", "1: a | b \n");
    expect_text("3.5\" jack, \"x\"\n", "1:3.5\" jack| \"x\"\n"); /* quotes inside bare fields */
    expect_text("a\rb,c\n", "1:a\rb|c\n");
    expect_text("=1+1,@x\n", "1:=1+1|@x\n"); /* data is data */
    expect_text("\"\"\"\"\n", "1:\"\n");
    expect_text("\"a,b;c\t\",d\n", "1:a,b;c\t|d\n");
}

static void the_separator_is_the_most_frequent_of_the_first_line(void **state)
{
    (void)state;
    static const struct {
        const char *text, *want;
    } rows[] = {
        {"a;b;c\n1,5;2,5;3\n", "1:a|b|c\n2:1,5|2,5|3\n"},
        {"a\tb\n1\t2\n", "1:a|b\n2:1|2\n"},
        {"a,b;c\n", "1:a|b;c\n"},                 /* as many: the comma */
        {"a;b\tc\n", "1:a|b\tc\n"},               /* as many: the semicolon */
        {"abc\nd;e,f\n", "1:abc\n2:d;e|f\n"},     /* none */
        {"\"a,b,c,d\";e;f\n", "1:a,b,c,d|e|f\n"}, /* quoted ones do not count */
        /* a line break ends the first line, though inside quotes */
        {"\"a\nb;c;d\",e\n", "1:a\nb;c;d|e\n"},
        {"\r\n\na;b\n", "3:a|b\n"},
        {"\xEF\xBB\xBF"
         "a;b",
         "1:a|b\n"},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++)
        expect(rows[i].text, strlen(rows[i].text), 0, rows[i].want);
    expect("a,b;c\n", 6, ';', "1:a,b|c\n");
    expect("a,b;c\td\n", 8, '\t', "1:a,b;c|d\n");
}

static char *slurp(const char *path, size_t *n)
{
    FILE *f = fopen(path, "rb");
    assert_non_null(f);
    char *bytes = malloc(100000);
    *n = fread(bytes, 1, 100000, f);
    assert_true(*n > 0 && *n < 100000);
    fclose(f);
    return bytes;
}

static void what_python_wrote_is_read(void **state)
{
    (void)state;
    size_t n;
    char *bytes = slurp("tests/reference/csv_from_python.csv", &n);
    FILE *list = fopen("tests/reference/csv_from_python.txt", "r");
    assert_non_null(list);
    struct source s = {bytes, n, 11, false};
    struct csv *c = csv_new(source_read, &s, ',');
    struct csv_record r;
    struct err e = ERR_INIT;
    char hex[400];
    size_t record, place, records = 0;
    while (csv_next(c, &r, &e) == CSV_RECORD) {
        records++;
        for (size_t i = 0; i < r.count; i++) {
            assert_int_equal(fscanf(list, "%zu %zu %399s", &record, &place, hex), 3);
            assert_int_equal(record, records);
            assert_int_equal(place, i);
            char got[400] = "-";
            for (size_t k = 0; k < r.length[i]; k++)
                snprintf(got + 2 * k, 3, "%02x", (unsigned char)r.field[i][k]);
            assert_string_equal(got, hex);
        }
    }
    assert_int_equal(records, 120);
    assert_int_equal(fscanf(list, "%zu", &record), EOF);
    fclose(list);
    csv_free(c);
    free(bytes);
}

/* n bytes of b, then tail. */
static char *long_text(const char *head, size_t n, char b, const char *tail)
{
    char *s = malloc(strlen(head) + n + strlen(tail) + 1);
    strcpy(s, head);
    memset(s + strlen(head), b, n);
    strcpy(s + strlen(head) + n, tail);
    return s;
}

static void expect_long(char *text, const char *want)
{
    expect(text, strlen(text), ',', want);
    free(text);
}

#define TOO_LONG "The record is longer than 65536 bytes; lines must end in LF or CRLF.\n"
#define OPEN_64K                                                                                 \
    "Column 1 opens a quote that is not closed within 64 KiB; close it, and double every quote " \
    "inside a quoted field.\n"

static void records_are_taken_up_to_the_limit_and_skipped_beyond(void **state)
{
    (void)state;
    char *longest = long_text("1:", CSV_RECORD_BYTES, 'x', "\n2:b\n");
    expect_long(long_text("", CSV_RECORD_BYTES, 'x', "\nb\n"), longest);
    expect_long(long_text("", CSV_RECORD_BYTES, 'x', "\r\nb\n"), longest);
    free(longest);
    expect_long(long_text("", CSV_RECORD_BYTES + 1, 'x', "\nb\n"), "1!" TOO_LONG "2:b\n");
    expect_long(long_text("", CSV_RECORD_BYTES + 1, 'x', "\r\nb\n"), "1!" TOO_LONG "2:b\n");
    expect_long(long_text("a\n", CSV_RECORD_BYTES * 5, 'x', "\nb\n"), "1:a\n2!" TOO_LONG "3:b\n");
    expect_long(long_text("a\n", CSV_RECORD_BYTES * 5, 'x', ""), "1:a\n2!" TOO_LONG);
    expect_long(long_text("", CSV_RECORD_BYTES + 1, ' ', ""), "1!" TOO_LONG);
}

static void a_quote_left_open_costs_its_first_line_only(void **state)
{
    (void)state;
    char *s = long_text("\"a\nb\n\n", CSV_RECORD_BYTES / 2, '\n', "");
    char *t = long_text(s, CSV_RECORD_BYTES * 2, '\n', "c\n");
    free(s);
    char want[400];
    snprintf(want, sizeof want, "1!%s2:b\n%d:c\n", OPEN_64K, (int)(CSV_RECORD_BYTES * 5 / 2) + 4);
    char *said = read_all(t, strlen(t), 4096, ',', false);
    assert_string_equal(said, want);
    free(said);
    free(t);
}

static void too_many_columns_are_refused(void **state)
{
    (void)state;
    char *said;
    char *most = long_text("", CSV_FIELDS - 1, ',', "\nb\n");
    char *bars = long_text("1:", CSV_FIELDS - 1, '|', "\n2:b\n");
    expect_long(most, bars);
    free(bars);
    expect_long(long_text("", CSV_FIELDS, ',', "\nb\n"),
                "1!The record has 257 columns; at most 256 are taken.\n2:b\n");
    said = long_text("\"x\ny\"", CSV_FIELDS, ',', "\nb\n");
    expect_long(said, "1!The record has 257 columns; at most 256 are taken.\n3:b\n");
}

/* Each line is a good start of a quote whether or not the one before left it open, and the last
 * ends in a fault: reading every line's rest again would look at 6 GB.  What must hold is only that
 * all of it is dealt with, and what stands behind it is read. */
static void hostile_quotes_cost_linear_time(void **state)
{
    (void)state;
    size_t lines = 200000, n = 0;
    char *bytes = malloc(lines * 5 + 20);
    for (size_t i = 0; i < lines; i++, n += 5)
        memcpy(bytes + n, "x\",\"\n", 5);
    memcpy(bytes + n, "x\"y\nlast\n", 9);
    n += 9;
    struct source s = {bytes, n, 4096, false};
    struct csv *c = csv_new(source_read, &s, ',');
    struct csv_record r;
    long bad = 0, last = 0;
    for (enum csv_got got; (got = csv_next(c, &r, NULL)) != CSV_END;) {
        assert_int_not_equal(got, CSV_FAILED);
        bad += got == CSV_BAD;
        last = got == CSV_RECORD && !strcmp(r.field[0], "last") ? (long)r.line : last;
    }
    assert_true(bad > 0 && bad < 2000);
    assert_int_equal(last, lines + 2);
    csv_free(c);
    free(bytes);
}

static void a_broken_stream_fails_and_hands_out_no_half_record(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(pieces); i++) {
        char *said = read_all("a,b\nc,d", 7, pieces[i], ',', true);
        assert_string_equal(said, "1:a|b\n2!The input could not be read to its end.\n");
        free(said);
    }
    struct source s = {"", 0, 1, true};
    struct csv *c = csv_new(source_read, &s, 0);
    struct csv_record r;
    struct err e = ERR_INIT;
    assert_int_equal(csv_next(c, &r, &e), CSV_FAILED);
    assert_int_equal(csv_next(c, &r, &e), CSV_FAILED);
    assert_int_equal(e.code, ERR_UNAVAILABLE);
    csv_free(c);
    csv_free(NULL);
}

static void a_fault_says_at_which_byte(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int64_t at;
    } rows[] = {{"12,\"ab\"c\n", 7}, {"12,ab\xFF\n", 2}, {"12,\"ab", 6}};
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct source s = {rows[i].text, strlen(rows[i].text), 3, false};
        struct csv *c = csv_new(source_read, &s, ',');
        struct csv_record r;
        struct err e = ERR_INIT;
        assert_int_equal(csv_next(c, &r, &e), CSV_BAD);
        assert_int_equal(e.code, ERR_INVALID);
        assert_int_equal(e.at, rows[i].at);
        csv_free(c);
    }
}

static void fields_are_quoted_only_where_needed(void **state)
{
    (void)state;
    static const struct {
        const char *field;
        bool first;
        const char *want;
    } rows[] = {
        {"12AX7", true, "12AX7"},
        {"12AX7", false, ",12AX7"},
        {"", false, ","},
        {"", true, "\"\""},
        {"a,b", true, "\"a,b\""},
        {"say \"x\"", false, ",\"say \"\"x\"\"\""},
        {"a\nb", true, "\"a\nb\""},
        {"a\rb", true, "\"a\rb\""},
        {"a;b", true, "\"a;b\""},
        {" a", true, "\" a\""},
        {"=1+1", true, "=1+1"},
        {"\xEF\xBB\xBFx", true, "\"\xEF\xBB\xBFx\""},
        {"\xEF\xBB\xBFx", false, ",\xEF\xBB\xBFx"},
    };
    char buf[40];
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        size_t n = csv_put(buf, sizeof buf, rows[i].field, rows[i].first);
        assert_string_equal(buf, rows[i].want);
        assert_int_equal(n, strlen(rows[i].want));
        for (size_t room = 0; room <= n; room++) { /* too small: the same need, nothing past room */
            memset(buf, '#', sizeof buf);
            assert_int_equal(csv_put(buf, room, rows[i].field, rows[i].first), n);
            assert_int_equal(buf[room], '#');
            assert_true(room == 0 || strlen(buf) == room - 1);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bad_line_is_named_and_the_good_ones_are_kept),
        cmocka_unit_test(bad_bytes_are_named_by_column_and_the_whole_record_is_skipped),
        cmocka_unit_test(the_examples_of_rfc_4180_read_as_they_say),
        cmocka_unit_test(customary_files_are_taken),
        cmocka_unit_test(the_separator_is_the_most_frequent_of_the_first_line),
        cmocka_unit_test(what_python_wrote_is_read),
        cmocka_unit_test(records_are_taken_up_to_the_limit_and_skipped_beyond),
        cmocka_unit_test(a_quote_left_open_costs_its_first_line_only),
        cmocka_unit_test(too_many_columns_are_refused),
        cmocka_unit_test(hostile_quotes_cost_linear_time),
        cmocka_unit_test(a_broken_stream_fails_and_hands_out_no_half_record),
        cmocka_unit_test(a_fault_says_at_which_byte),
        cmocka_unit_test(fields_are_quoted_only_where_needed),
    };
    return cmocka_run_group_tests_name("csv", tests, NULL, NULL);
}
