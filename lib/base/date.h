/* SPDX-License-Identifier: MIT
 *
 * date: days, moments and windows of the proleptic Gregorian calendar (ISO 8601).  Never asks the
 * clock: a function that needs "now" is given it.
 */
#ifndef QUADRILLE_BASE_DATE_H
#define QUADRILLE_BASE_DATE_H

#include "base/err.h"

/* Days since 1970-01-01 of a date; month 1..12, day 1..31, any year 0..9999. */
int64_t date_days(int year, int month, int day);
void date_civil(int64_t days, int *year, int *month, int *day);

/* ISO 8601 week of a day: week year, week 1..53, weekday 1 (Monday)..7. */
void date_week(int64_t days, int *year, int *week, int *weekday);

/* "YYYY-MM-DD".  ERR_INVALID with the sentence, e.g. for 2026-02-30.  Years 1880..2100 only (a tube
 * cannot have been bought in 2190: the message says the range). */
MUST_USE bool date_parse(int64_t *days, const char *s, size_t n, struct err *e);
#define DATE_BYTES 16
const char *date_print(char *buf, int64_t days);

/* RFC 3339 moment, "2026-11-25T07:11:00Z", "2026-11-25T08:11:00.250+01:00", or with a space for the
 * T, or to the minute; a zone is required (Z or an offset).  A bare date is midnight UTC.
 * Milliseconds since 1970-01-01T00:00Z; finer digits are cut.  Same years. */
MUST_USE bool moment_parse(int64_t *ms, const char *s, size_t n, struct err *e);
#define MOMENT_BYTES 40
const char *moment_print(char *buf, int64_t ms); /* always Z, milliseconds only where not zero */

/* A date code window as a dealer writes it: "1962", "1962-03", "1962-03-14", "1962-W11", "1958..1962"
 * (any two of those), each turned into first and last day.  ERR_INVALID. */
MUST_USE bool date_window_parse(int64_t *first, int64_t *last, const char *s, size_t n,
                                struct err *e);

#endif
