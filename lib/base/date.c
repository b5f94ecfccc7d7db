/* SPDX-License-Identifier: MIT
 *
 * date: day numbers by counting years from 1 March, so that the leap day is the last of its year
 * and a month's start is a linear formula; 400 years are 146097 days.  After H. Hinnant,
 * "chrono-compatible low-level date algorithms", 2013.  Everything else (weeks, moments, windows)
 * is day numbers.
 */
#include "base/date.h"
#include "base/text.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

#define YEAR_FIRST  1880
#define YEAR_LAST   2100
#define ERA_DAYS    146097 /* of 400 years */
#define EPOCH_DAYS  719468 /* from 0000-03-01 to 1970-01-01 */
#define DAY_MS      INT64_C(86400000)
#define MINUTE_MS   INT64_C(60000)
#define SHOW(s, n)  text_show((char[TEXT_SHOW_BYTES]){0}, s, n)
#define WINDOW_LIKE "1962, 1962-03, 1962-03-14, 1962-W11, or two of these as in 1958..1962"

static const char *const month_names[] = {"January",   "February", "March",    "April",
                                          "May",       "June",     "July",     "August",
                                          "September", "October",  "November", "December"};

static int64_t floor_div(int64_t a, int64_t b)
{
    return a / b - (a % b < 0);
}

static int64_t day_number(int year, int month, int day)
{
    int64_t y = year - (month <= 2);
    int64_t era = floor_div(y, 400), of_era = y - era * 400;
    int64_t of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
    return era * ERA_DAYS + of_era * 365 + of_era / 4 - of_era / 100 + of_year - EPOCH_DAYS;
}

int64_t date_days(int year, int month, int day)
{
    assert(year >= 0 && year <= 9999 && month >= 1 && month <= 12 && day >= 1 && day <= 31);
    return day_number(year, month, day);
}

void date_civil(int64_t days, int *year, int *month, int *day)
{
    days += EPOCH_DAYS;
    int64_t era = floor_div(days, ERA_DAYS), d = days - era * ERA_DAYS;
    int64_t y = (d - d / 1460 + d / 36524 - d / (ERA_DAYS - 1)) / 365;
    int64_t of_year = d - (365 * y + y / 4 - y / 100);
    int64_t m = (5 * of_year + 2) / 153;
    *day = (int)(of_year - (153 * m + 2) / 5 + 1);
    *month = (int)(m < 10 ? m + 3 : m - 9);
    *year = (int)(y + era * 400 + (*month <= 2));
}

/* 1 (Monday)..7; 1970-01-01 was a Thursday. */
static int weekday_of(int64_t days)
{
    return (int)(days + 3 - floor_div(days + 3, 7) * 7) + 1;
}

/* ISO 8601: the week belongs to the year that holds its Thursday. */
void date_week(int64_t days, int *year, int *week, int *weekday)
{
    *weekday = weekday_of(days);
    int64_t thursday = days - *weekday + 4;
    int month, day;
    date_civil(thursday, year, &month, &day);
    *week = (int)((thursday - day_number(*year, 1, 1)) / 7) + 1;
}

static int days_of_month(int year, int month)
{
    if (month == 2)
        return 28 + (year % 4 == 0 && (year % 100 != 0 || year % 400 == 0));
    return month == 4 || month == 6 || month == 9 || month == 11 ? 30 : 31;
}

/* A text being read: the whole of it for messages, and what is left. */
struct reading_head {
    const char *s;
    size_t n;
    const char *p, *end;
};

static struct reading_head head_of(const char *s, size_t n)
{
    size_t left = n;
    const char *p = text_trim(s, &left);
    return (struct reading_head){s, n, p, p + left};
}

static bool take(struct reading_head *h, const char *any_of)
{
    if (h->p == h->end || !*h->p || !strchr(any_of, *h->p))
        return false;
    h->p++;
    return true;
}

/* Exactly count figures. */
static bool take_figures(struct reading_head *h, int count, int *v)
{
    int sum = 0;
    for (; count > 0; count--, h->p++) {
        if (h->p == h->end || *h->p < '0' || *h->p > '9')
            return false;
        sum = sum * 10 + (*h->p - '0');
    }
    *v = sum;
    return true;
}

static bool bad(const struct reading_head *h, const char *what, const char *right, struct err *e)
{
    return err_at(e, ERR_INVALID, h->p - h->s, "\"%s\" is not %s: write %s.", SHOW(h->s, h->n),
                  what, right);
}

static bool check_year(const struct reading_head *h, int year, struct err *e)
{
    if (year >= YEAR_FIRST && year <= YEAR_LAST)
        return true;
    return err_at(e, ERR_INVALID, 0, "\"%s\": the year %d is out of range; %d to %d are taken.",
                  SHOW(h->s, h->n), year, YEAR_FIRST, YEAR_LAST);
}

static bool check_month(const struct reading_head *h, int year, int month, struct err *e)
{
    if (!check_year(h, year, e))
        return false;
    if (month >= 1 && month <= 12)
        return true;
    return err_at(e, ERR_INVALID, 0, "\"%s\": there is no month %02d; 01 to 12 are.",
                  SHOW(h->s, h->n), month);
}

static bool make_day(int64_t *days, const struct reading_head *h, int year, int month, int day,
                     struct err *e)
{
    if (!check_month(h, year, month, e))
        return false;
    if (day < 1 || day > days_of_month(year, month))
        return err_at(e, ERR_INVALID, 0, "\"%s\": %s %d has the days 01 to %d, not %02d.",
                      SHOW(h->s, h->n), month_names[month - 1], year, days_of_month(year, month),
                      day);
    *days = date_days(year, month, day);
    return true;
}

static bool take_date(struct reading_head *h, int *year, int *month, int *day)
{
    return take_figures(h, 4, year) && take(h, "-") && take_figures(h, 2, month) && take(h, "-") &&
           take_figures(h, 2, day);
}

bool date_parse(int64_t *days, const char *s, size_t n, struct err *e)
{
    struct reading_head h = head_of(s, n);
    int year, month, day;
    if (!take_date(&h, &year, &month, &day) || h.p < h.end)
        return bad(&h, "a date", "it as YYYY-MM-DD, such as 1962-03-14", e);
    return make_day(days, &h, year, month, day, e);
}

const char *date_print(char *buf, int64_t days)
{
    int year, month, day;
    date_civil(days, &year, &month, &day);
    assert(year >= 0 && year <= 9999);
    snprintf(buf, DATE_BYTES, "%04d-%02d-%02d", year % 10000, month % 100, day % 100);
    return buf;
}

/* hh:mm[:ss[.f...]] as milliseconds of the day; *leap where the second is 60. */
static bool take_time(struct reading_head *h, int64_t *ms, bool *leap, struct err *e)
{
    static const char like[] = "the time as hh:mm, hh:mm:ss or hh:mm:ss.fff";
    int hour, minute, second = 0, fraction = 0, scale = 100;
    if (!take_figures(h, 2, &hour) || !take(h, ":") || !take_figures(h, 2, &minute))
        return bad(h, "a moment", like, e);
    if (take(h, ":")) {
        if (!take_figures(h, 2, &second))
            return bad(h, "a moment", like, e);
        if (take(h, ".")) {
            int figure;
            if (!take_figures(h, 1, &figure))
                return bad(h, "a moment", like, e);
            do {
                fraction += figure * scale;
                scale /= 10; /* 0 from the fourth figure on: cut */
            } while (take_figures(h, 1, &figure));
        }
    }
    if (hour > 23 || minute > 59 || second > 60)
        return err_at(e, ERR_INVALID, 0, "\"%s\": there is no time %02d:%02d:%02d.",
                      SHOW(h->s, h->n), hour, minute, second);
    *leap = second == 60;
    *ms = hour * 60 * MINUTE_MS + minute * MINUTE_MS + second * INT64_C(1000) + fraction;
    return true;
}

/* Z or an offset, as milliseconds east of Greenwich. */
static bool take_zone(struct reading_head *h, int64_t *ms, struct err *e)
{
    static const char like[] = "Z (for UTC) or an offset such as +01:00 behind the time";
    *ms = 0;
    if (take(h, "Zz"))
        return true;
    int64_t sign = h->p < h->end && *h->p == '-' ? -1 : 1;
    int hours, minutes;
    if (!take(h, "+-") || !take_figures(h, 2, &hours) || !take(h, ":") ||
        !take_figures(h, 2, &minutes))
        return bad(h, "a moment with its zone", like, e);
    if (hours > 23 || minutes > 59)
        return err_at(e, ERR_INVALID, 0, "\"%s\": there is no offset %02d:%02d.", SHOW(h->s, h->n),
                      hours, minutes);
    *ms = sign * (hours * 60 + minutes) * MINUTE_MS;
    return true;
}

/* A leap second ends a month in UTC (RFC 3339 section 5.7), and counts as the second after it. */
static bool check_leap(const struct reading_head *h, int64_t ms, struct err *e)
{
    int year, month, day;
    date_civil(floor_div(ms, DAY_MS), &year, &month, &day);
    int64_t of_day = ms - floor_div(ms, DAY_MS) * DAY_MS;
    if (day == 1 && of_day < 1000)
        return true;
    return err_at(e, ERR_INVALID, 0,
                  "\"%s\": second 60 exists only as the last of a month in UTC; write 00 to 59.",
                  SHOW(h->s, h->n));
}

bool moment_parse(int64_t *ms, const char *s, size_t n, struct err *e)
{
    struct reading_head h = head_of(s, n);
    int year, month, day;
    int64_t days, time = 0, zone = 0;
    bool leap = false;
    if (!take_date(&h, &year, &month, &day))
        return bad(&h, "a moment", "it as 1962-03-14T07:11:00Z", e);
    if (!make_day(&days, &h, year, month, day, e))
        return false;
    if (h.p < h.end) {
        if (!take(&h, "Tt "))
            return bad(&h, "a moment", "T or a space between date and time", e);
        if (!take_time(&h, &time, &leap, e) || !take_zone(&h, &zone, e))
            return false;
        if (h.p < h.end)
            return bad(&h, "a moment", "nothing behind the zone", e);
    }
    int64_t moment = days * DAY_MS + time - zone;
    if (leap && !check_leap(&h, moment, e))
        return false;
    *ms = moment;
    return true;
}

const char *moment_print(char *buf, int64_t ms)
{
    int64_t days = floor_div(ms, DAY_MS);
    int of_day = (int)(ms - days * DAY_MS), minutes = of_day / (int)MINUTE_MS;
    date_print(buf, days);
    size_t n = strlen(buf);
    n += (size_t)snprintf(buf + n, MOMENT_BYTES - n, "T%02d:%02d:%02d", minutes / 60, minutes % 60,
                          of_day / 1000 % 60);
    if (of_day % 1000)
        n += (size_t)snprintf(buf + n, MOMENT_BYTES - n, ".%03d", of_day % 1000);
    snprintf(buf + n, MOMENT_BYTES - n, "Z");
    return buf;
}

/* Monday of a week; week 1 holds 4 January. */
static int64_t monday_of(int year, int week)
{
    int64_t fourth = date_days(year, 1, 4);
    return fourth - weekday_of(fourth) + 1 + (week - 1) * 7;
}

static bool make_week(int64_t *first, int64_t *last, const struct reading_head *h, int year,
                      int week, struct err *e)
{
    if (!check_year(h, year, e))
        return false;
    int weeks = (int)(monday_of(year + 1, 1) - monday_of(year, 1)) / 7;
    if (week < 1 || week > weeks)
        return err_at(e, ERR_INVALID, 0, "\"%s\": %d has the weeks 01 to %d, not %02d.",
                      SHOW(h->s, h->n), year, weeks, week);
    *first = monday_of(year, week);
    *last = *first + 6;
    return true;
}

/* The shape of YYYY, YYYY-MM, YYYY-MM-DD or YYYY-Www; what is absent stays 0, and week is -1 where
 * none was written.  A shape ends at the end, a space or the dots. */
static bool take_code(struct reading_head *h, int *year, int *month, int *day, int *week)
{
    *month = *day = 0;
    *week = -1;
    bool ok = take_figures(h, 4, year);
    if (ok && take(h, "-")) {
        if (take(h, "Ww"))
            ok = take_figures(h, 2, week);
        else
            ok = take_figures(h, 2, month) && (!take(h, "-") || take_figures(h, 2, day));
    }
    return ok && (h->p == h->end || *h->p == ' ' || *h->p == '.');
}

static bool take_window(struct reading_head *h, int64_t *first, int64_t *last, struct err *e)
{
    int year, month, day, week;
    const char *start = h->p;
    if (!take_code(h, &year, &month, &day, &week))
        return bad(h, "a date code", WINDOW_LIKE, e);
    size_t length = (size_t)(h->p - start);
    if (week >= 0)
        return make_week(first, last, h, year, week, e);
    if (length == strlen("YYYY-MM-DD")) {
        bool ok = make_day(first, h, year, month, day, e);
        *last = *first;
        return ok;
    }
    if (length == strlen("YYYY"))
        month = 1;
    if (!check_month(h, year, month, e))
        return false;
    *first = date_days(year, month, 1);
    if (length == strlen("YYYY"))
        month = 12;
    *last = date_days(year, month, days_of_month(year, month));
    return true;
}

bool date_window_parse(int64_t *first, int64_t *last, const char *s, size_t n, struct err *e)
{
    struct reading_head h = head_of(s, n);
    int64_t from = 0, to = 0, unused = 0;
    if (!take_window(&h, &from, &to, e))
        return false;
    while (take(&h, " "))
        ;
    if (h.p < h.end) {
        if (!take(&h, ".") || !take(&h, "."))
            return bad(&h, "a date code", WINDOW_LIKE, e);
        while (take(&h, " "))
            ;
        if (!take_window(&h, &unused, &to, e))
            return false;
        if (h.p < h.end)
            return bad(&h, "a date code", WINDOW_LIKE, e);
    }
    if (to < from)
        return err_at(e, ERR_INVALID, 0, "\"%s\" ends before it starts: write the earlier first.",
                      SHOW(s, n));
    *first = from;
    *last = to;
    return true;
}
