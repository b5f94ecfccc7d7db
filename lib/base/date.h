/* SPDX-License-Identifier: MIT
 *
 * date: days, moments and windows of the proleptic Gregorian calendar (ISO 8601).  Never asks the
 * clock: a function that needs "now" is given it.
 */
#ifndef QUADRILLE_BASE_DATE_H
#define QUADRILLE_BASE_DATE_H

#include "base/err.h"

/* Days since 1970-01-01 of a date; month 1..12, day 1..31, any year 0..9999.  A day past the end of
 * its month counts on into the next. */
int64_t date_days(int year, int month, int day);

/* The reverse. */
void date_civil(int64_t days, int *year, int *month, int *day);

/* ISO 8601 week of a day: week year (not always the calendar year), week 1..53, weekday 1
 * (Monday)..7. */
void date_week(int64_t days, int *year, int *week, int *weekday);

/* "YYYY-MM-DD", with white space around it.  ERR_INVALID with the sentence, e.g. for 2026-02-30.
 * Years 1880..2100 only (a tube cannot have been bought in 2190: the message says the range). */
MUST_USE bool date_parse(int64_t *days, const char *s, size_t n, struct err *e);
#define DATE_BYTES 16

/* The same, of a day in the years 0..9999, at buf (DATE_BYTES); returns buf. */
const char *date_print(char *buf, int64_t days);

/* RFC 3339 moment, "2026-11-25T07:11:00Z", "2026-11-25T08:11:00.250+01:00", or with a space for the
 * T, or to the minute; a zone is required (Z or an offset).  A bare date is midnight UTC.
 * Milliseconds since 1970-01-01T00:00Z; finer digits are cut.  Second 60 is taken where a leap
 * second can be (the end of a month in UTC) and counts as the second after it.  Same years, as
 * written. */
MUST_USE bool moment_parse(int64_t *ms, const char *s, size_t n, struct err *e);
#define MOMENT_BYTES 40

/* At buf (MOMENT_BYTES), which it returns: always Z, milliseconds only where not zero. */
const char *moment_print(char *buf, int64_t ms);

/* A date code window as a dealer writes it: "1962", "1962-03", "1962-03-14", "1962-W11",
 * "1958..1962" (any two of those, the earlier first), turned into first and last day.  A week
 * belongs to its ISO year: "1959-W53" ends in 1960.  Same years.  ERR_INVALID. */
MUST_USE bool date_window_parse(int64_t *first, int64_t *last, const char *s, size_t n,
                                struct err *e);

#endif
