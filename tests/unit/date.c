/* SPDX-License-Identifier: MIT
 *
 * Week and ordinal dates: tests/reference/iso8601_week_dates.csv.  Moments: the examples of RFC
 * 3339 section 5.8.  Numbers of days and milliseconds: python3's datetime.
 */
#include "base/date.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

struct refusal {
    const char *text;
    int64_t at;
    const char *says;
};

static void check_refusal(const struct refusal *r, bool ok, const struct err *e)
{
    if (ok)
        fail_msg("'%s' was taken", r->text);
    assert_int_equal(e->code, ERR_INVALID);
    if (!strstr(e->text, r->says))
        fail_msg("'%s' ought to say '%s' but says: %s", r->text, r->says, e->text);
    if (e->at != r->at)
        fail_msg("'%s': at %d, not %d", r->text, (int)e->at, (int)r->at);
}

static void what_is_no_date_is_refused_with_what_would_be(void **state)
{
    (void)state;
    static const struct refusal rows[] = {
        {"", 0, "write it as YYYY-MM-DD"},
        {"14.3.1962", 2, "write it as YYYY-MM-DD"},
        {"62-03-14", 2, "write it as YYYY-MM-DD"},
        {"1962-3-14", 6, "write it as YYYY-MM-DD"},
        {"1962-03-14x", 10, "write it as YYYY-MM-DD"},
        {"1962/03/14", 4, "write it as YYYY-MM-DD"},
        {"1962-03", 7, "write it as YYYY-MM-DD"},
        {"2026-02-30", 0, "February 2026 has the days 01 to 28, not 30"},
        {"1900-02-29", 0, "February 1900 has the days 01 to 28, not 29"},
        {"1962-04-31", 0, "April 1962 has the days 01 to 30, not 31"},
        {"1962-03-00", 0, "March 1962 has the days 01 to 31, not 00"},
        {"1962-13-01", 0, "there is no month 13"},
        {"1962-00-01", 0, "there is no month 00"},
        {"2190-01-01", 0, "the year 2190 is out of range; 1880 to 2100"},
        {"1879-12-31", 0, "the year 1879 is out of range"},
        {"2101-01-01", 0, "the year 2101 is out of range"},
        {"\xFF", 0, "\"\\xFF\" is not a date"},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct err e = ERR_INIT;
        int64_t days = 42;
        check_refusal(&rows[i], date_parse(&days, rows[i].text, strlen(rows[i].text), &e), &e);
        assert_int_equal(days, 42);
    }
    int64_t days;
    assert_false(date_parse(&days, "1962-03-14", 9, NULL));
    assert_false(date_parse(&days,
                            "1962\0"
                            "03-14",
                            10, NULL));
}

static void what_is_no_moment_is_refused_with_what_would_be(void **state)
{
    (void)state;
    static const struct refusal rows[] = {
        {"", 0, "write it as"},
        {"07:11", 2, "write it as"},
        {"2026-11-25T07:11:00", 19, "write Z (for UTC) or an offset such as +01:00"},
        {"2026-11-25 07:11", 16, "write Z (for UTC)"},
        {"2026-11-25T07:11:00 CET", 19, "write Z (for UTC)"},
        {"2026-11-25T07:11:00+01", 22, "write Z (for UTC)"},
        {"2026-11-25T07:11:00+0100", 22, "write Z (for UTC)"},
        {"2026-11-25T07:11:00Zx", 20, "nothing behind the zone"},
        {"2026-11-25_07:11Z", 10, "T or a space"},
        {"2026-11-25T7:11Z", 12, "the time as hh:mm"},
        {"2026-11-25T07.11Z", 13, "the time as hh:mm"},
        {"2026-11-25T07:11:0Z", 18, "the time as hh:mm"},
        {"2026-11-25T07:11:00.Z", 20, "the time as hh:mm"},
        {"2026-11-25T07:11:00,5Z", 19, "write Z"},
        {"2026-11-25T24:00:00Z", 0, "there is no time 24:00:00"},
        {"2026-11-25T07:60:00Z", 0, "there is no time 07:60:00"},
        {"2026-11-25T07:11:61Z", 0, "there is no time 07:11:61"},
        {"2026-11-25T07:11:60Z", 0, "second 60 exists only"},
        {"2026-11-25T23:59:60Z", 0, "second 60 exists only"},
        {"2026-11-30T23:59:60+01:00", 0, "second 60 exists only"},
        {"2026-11-25T07:11:00+24:00", 0, "there is no offset 24:00"},
        {"2026-11-25T07:11:00+01:60", 0, "there is no offset 01:60"},
        {"2026-02-30T07:11:00Z", 0, "February 2026 has the days 01 to 28"},
        {"1492-10-12", 0, "the year 1492 is out of range"},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct err e = ERR_INIT;
        int64_t ms = 42;
        check_refusal(&rows[i], moment_parse(&ms, rows[i].text, strlen(rows[i].text), &e), &e);
        assert_int_equal(ms, 42);
    }
}

static void what_is_no_date_code_is_refused_with_what_would_be(void **state)
{
    (void)state;
    static const struct refusal rows[] = {
        {"", 0, "write 1962, 1962-03, 1962-03-14, 1962-W11, or two of these"},
        {"62", 2, "is not a date code"},
        {"1962-", 5, "is not a date code"},
        {"1962-3", 6, "is not a date code"},
        {"1962-W1", 7, "is not a date code"},
        {"1962-03-1", 9, "is not a date code"},
        {"1958-1962", 7, "is not a date code"},
        {"1958.1962", 5, "is not a date code"},
        {"1958..", 6, "is not a date code"},
        {"..1962", 0, "is not a date code"},
        {"1958...1962", 6, "is not a date code"},
        {"1958..1962..1963", 10, "is not a date code"},
        {"1962 x", 5, "is not a date code"},
        {"1962-13", 0, "there is no month 13"},
        {"1962-02-29", 0, "February 1962 has the days 01 to 28"},
        {"1962-W53", 0, "1962 has the weeks 01 to 52, not 53"},
        {"1962-W00", 0, "1962 has the weeks 01 to 52, not 00"},
        {"1962..1958", 0, "ends before it starts"},
        {"1962-03-14..1962-03-13", 0, "ends before it starts"},
        {"1870", 0, "the year 1870 is out of range"},
        {"1962..2200", 0, "the year 2200 is out of range"},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct err e = ERR_INIT;
        int64_t a = 42, b = 43;
        check_refusal(&rows[i], date_window_parse(&a, &b, rows[i].text, strlen(rows[i].text), &e),
                      &e);
        assert_int_equal(a, 42);
        assert_int_equal(b, 43);
    }
}

/* Ten thousand years, walked with the rule of the calendar and nothing else. */
static void day_numbers_follow_the_calendar(void **state)
{
    (void)state;
    static const int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int64_t n = -719528; /* python3: 0001-01-01 is day -719162; the year 0 has 366 days */
    int weekday = 6;     /* 0000-01-01, proleptic: a Saturday */
    for (int y = 0; y <= 9999; y++)
        for (int m = 1; m <= 12; m++) {
            bool leap = y % 4 == 0 && (y % 100 != 0 || y % 400 == 0);
            for (int d = 1; d <= lengths[m - 1] + (m == 2 && leap); d++, n++) {
                int year, month, day, iso_year, week, iso_weekday;
                date_civil(n, &year, &month, &day);
                date_week(n, &iso_year, &week, &iso_weekday);
                if (date_days(y, m, d) != n || year != y || month != m || day != d ||
                    iso_weekday != weekday)
                    fail_msg("%04d-%02d-%02d", y, m, d);
                weekday = weekday % 7 + 1;
            }
        }
    assert_int_equal(date_days(1970, 1, 1), 0);
    assert_int_equal(date_days(2000, 2, 29), 11016);
    assert_int_equal(n, 2932897); /* 9999-12-31 is day 2932896 */
}

static void week_and_ordinal_dates_agree_with_the_published(void **state)
{
    (void)state;
    FILE *f = fopen("tests/reference/iso8601_week_dates.csv", "r");
    assert_non_null(f);
    char line[300];
    int rows = 0;
    assert_non_null(fgets(line, sizeof line, f)); /* the head */
    for (; fgets(line, sizeof line, f); rows++) {
        int y, m, d, want_year, want_week, want_weekday, year, week, weekday, ordinal;
        assert_int_equal(sscanf(line, "%d-%d-%d,%d-W%d-%d,%d-%d,", &y, &m, &d, &want_year,
                                &want_week, &want_weekday, &year, &ordinal),
                         8);
        int64_t days, first, last;
        assert_true(date_parse(&days, line, 10, NULL));
        assert_int_equal(days - date_days(year, 1, 1) + 1, ordinal);
        date_week(days, &year, &week, &weekday);
        assert_int_equal(year, want_year);
        assert_int_equal(week, want_week);
        assert_int_equal(weekday, want_weekday);
        /* and the window of that week runs from its Monday to its Sunday */
        assert_true(date_window_parse(&first, &last, line + 11, 8, NULL));
        assert_int_equal(first, days - (weekday - 1));
        assert_int_equal(last, first + 6);
    }
    fclose(f);
    assert_int_equal(rows, 40);
}

static void dates_are_read_and_printed(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int64_t days;
    } rows[] = {{"1970-01-01", 0},      {"1962-03-14", -2850}, {"2000-02-29", 11016},
                {"1880-01-01", -32872}, {"2100-12-31", 47846}, {"1964-02-29", -2133}};
    char buf[DATE_BYTES], spaced[20];
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        int64_t days;
        struct err e = ERR_INIT;
        snprintf(spaced, sizeof spaced, " %s\r\n", rows[i].text);
        assert_true(date_parse(&days, spaced, strlen(spaced), &e));
        assert_int_equal(days, rows[i].days);
        assert_string_equal(date_print(buf, days), rows[i].text);
    }
    assert_string_equal(date_print(buf, date_days(0, 1, 1)), "0000-01-01");
    assert_string_equal(date_print(buf, date_days(9999, 12, 31)), "9999-12-31");
}

static void moments_are_read_with_their_zone_and_printed_in_utc(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int64_t ms;
        const char *printed;
    } rows[] = {
        /* RFC 3339 section 5.8 */
        {"1985-04-12T23:20:50.52Z", 482196050520, "1985-04-12T23:20:50.520Z"},
        {"1996-12-19T16:39:57-08:00", 851042397000, "1996-12-20T00:39:57Z"},
        {"1990-12-31T23:59:60Z", 662688000000, "1991-01-01T00:00:00Z"},
        {"1990-12-31T15:59:60-08:00", 662688000000, "1991-01-01T00:00:00Z"},
        {"1937-01-01T12:00:27.87+00:20", -1041337172130, "1937-01-01T11:40:27.870Z"},
        /* date.h */
        {"2026-11-25T08:11:00.250+01:00", 1795590660250, "2026-11-25T07:11:00.250Z"},
        {"2026-11-25 08:11+01:00", 1795590660000, "2026-11-25T07:11:00Z"},
        {"2026-11-25t07:11:00z", 1795590660000, "2026-11-25T07:11:00Z"},
        {"2026-11-25", 1795564800000, "2026-11-25T00:00:00Z"},
        {"1970-01-01T00:00:00-00:00", 0, "1970-01-01T00:00:00Z"},
        {"1969-12-31T23:59:59.9999999Z", -1, "1969-12-31T23:59:59.999Z"}, /* finer digits are cut */
        {"1880-01-01T00:00:00+14:00", -2840191200000, "1879-12-31T10:00:00Z"},
        {"2100-12-31T23:59:59Z", 4133980799000, "2100-12-31T23:59:59Z"},
    };
    char buf[MOMENT_BYTES];
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct err e = ERR_INIT;
        int64_t ms = 42;
        if (!moment_parse(&ms, rows[i].text, strlen(rows[i].text), &e))
            fail_msg("%s", e.text);
        if (ms != rows[i].ms)
            fail_msg("%s: %lld", rows[i].text, (long long)ms);
        assert_string_equal(moment_print(buf, ms), rows[i].printed);
    }
}

static void date_codes_become_first_and_last_day(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int64_t first, last;
    } rows[] = {
        {"1962", -2922, -2558},
        {"1962-03", -2863, -2833},
        {"1962-03-14", -2850, -2850},
        {"1962-W11", -2852, -2846},
        {"1962-w11", -2852, -2846},
        {"1964-02", -2161, -2133},
        {"1959-W53", -3657, -3651}, /* into 1960 */
        {"1958..1962", -4383, -2558},
        {" 1958 .. 1962 ", -4383, -2558},
        {"1962-03..1962-W11", -2863, -2846},
        {"1962-03-14..1962-03-14", -2850, -2850},
        {"1880-W01", -32875, -32869}, /* from 1879 */
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct err e = ERR_INIT;
        int64_t first = 0, last = 0;
        if (!date_window_parse(&first, &last, rows[i].text, strlen(rows[i].text), &e))
            fail_msg("%s", e.text);
        if (first != rows[i].first || last != rows[i].last)
            fail_msg("%s: %d %d", rows[i].text, (int)first, (int)last);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_no_date_is_refused_with_what_would_be),
        cmocka_unit_test(what_is_no_moment_is_refused_with_what_would_be),
        cmocka_unit_test(what_is_no_date_code_is_refused_with_what_would_be),
        cmocka_unit_test(day_numbers_follow_the_calendar),
        cmocka_unit_test(week_and_ordinal_dates_agree_with_the_published),
        cmocka_unit_test(dates_are_read_and_printed),
        cmocka_unit_test(moments_are_read_with_their_zone_and_printed_in_utc),
        cmocka_unit_test(date_codes_become_first_and_last_day),
    };
    return cmocka_run_group_tests_name("date", tests, NULL, NULL);
}
