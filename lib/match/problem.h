/* SPDX-License-Identifier: MIT
 *
 * problem: which tubes belong together, as plain integers.
 *
 * A set holds when all its tubes are of one class and, in every coordinate, the highest is not too
 * far above the lowest:
 *   relative band num/den:  (max - min) * den <= num * min, min > 0
 *   absolute band num:      max - min <= num
 * The limit itself is allowed, and equal values always hold.  Every subset of a set that holds also
 * holds.  The cost of a set is the sum over the coordinates of
 *   round-half-up(10^9 * spread / band),  spread = (max - min) / min, or max - min
 * computed exactly; equal values cost nothing whatever the band.  The aim is lexicographic: as many
 * sets as possible of the first demand line, then of the second, ..., then the least total cost.
 */
#ifndef QUADRILLE_MATCH_PROBLEM_H
#define QUADRILLE_MATCH_PROBLEM_H

#include "base/arena.h"
#include "base/err.h"

#define MATCH_TUBES       200000                       /* the most tubes of one problem */
#define MATCH_COORDINATES 32                           /* the most coordinates of a tube */
#define MATCH_SIZE        64                           /* the largest set */
#define MATCH_LINES       16                           /* the most demand lines */
#define MATCH_VALUE       INT64_C(1000000000000000000) /* the largest magnitude of a coordinate */
#define MATCH_BAND_PART   INT64_C(1000000000)          /* the largest num and den of a ratio */
#define MATCH_COST_UNIT   INT64_C(1000000000) /* the cost of a spread as wide as the band */
#define MATCH_ANY         INT64_C(-1)         /* a demand for as many sets as there are */

enum match_kind { MATCH_RELATIVE, MATCH_ABSOLUTE, MATCH_KIND__COUNT };

/* How far apart the members of a set may be in one coordinate. */
struct match_band {
    enum match_kind kind;
    int64_t num; /* relative: 0..MATCH_BAND_PART; absolute: 0..MATCH_VALUE, in the last decimal */
    int64_t den; /* relative: 1..MATCH_BAND_PART (5 % is 1/20); absolute: not used, 1 */
};

/* One line of the demand: sets of one size. */
struct match_line {
    int size;      /* 2..MATCH_SIZE */
    int64_t limit; /* at most so many sets, >= 0, or MATCH_ANY */
};

/* The whole question.  All arrays are owned by the caller and outlive the solving. */
struct match_problem {
    int tubes;               /* 0..MATCH_TUBES */
    int coordinates;         /* 1..MATCH_COORDINATES */
    int lines;               /* 1..MATCH_LINES */
    const char *const *id;   /* [tubes] strictly ascending, compared byte by byte */
    const int32_t *class_of; /* [tubes] tubes of different classes never meet in a set */
    const int64_t *value;    /* [tubes * coordinates] row by row, magnitude up to MATCH_VALUE */
    const struct match_band *band;   /* [coordinates] */
    const struct match_line *demand; /* [lines] by priority, no size twice */
    const char *const *column;       /* [coordinates] names for messages */
    const int *decimals;             /* [coordinates] for messages: the last decimal of a value */
    const int64_t *row;              /* [tubes] line of the input each tube came from, or NULL */
};

/* Put the tubes of p in ascending order of id, whatever order they came in; the arrays of p that
 * belong to tubes are replaced by sorted copies in the arena.
 * ERR_CONFLICT when an id stands there twice (both rows named). */
MUST_USE bool match_problem_sort(struct match_problem *p, struct arena *a, struct err *e);

/* Everything above that can be broken by input.  ERR_INVALID or ERR_TOO_LARGE with e->field naming
 * the column and e->line the row, e.g. for a relative band on a value that is not positive. */
MUST_USE bool match_problem_check(const struct match_problem *p, struct err *e);

/* The band itself: ERR_INVALID when it is out of range; column is for the message. */
MUST_USE bool match_band_check(const struct match_band *b, const char *column, struct err *e);

/* Do low and high, low <= high, hold together?  Exact. */
bool match_band_holds(const struct match_band *b, int64_t low, int64_t high);

/* The highest value that still holds with low; INT64_MAX where that does not fit. */
int64_t match_band_limit(const struct match_band *b, int64_t low);

/* round-half-up(10^9 * spread / band) of low <= high, also beyond the band; at most
 * MATCH_COST_WORST, which also stands for a spread where the band is zero or low is not positive.
 */
#define MATCH_COST_WORST (MATCH_COST_UNIT * 1000)
int64_t match_band_cost(const struct match_band *b, int64_t low, int64_t high);

/* Does the set of tubes member[0..size) hold?  If so *cost (may be NULL) is its cost. */
bool match_set_holds(const struct match_problem *p, const int *member, int size, int64_t *cost);

#endif
