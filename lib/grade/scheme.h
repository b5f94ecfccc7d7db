/* SPDX-License-Identifier: MIT
 *
 * scheme: a grade scheme as data: ordered grades, each a list of requirements.
 *
 * A scheme is a CSV text with the columns grade,subject,op,value,words.  Grades come best first; a
 * line with op "grade" opens one, the lines after it are what it asks for.  Lines of grade "*" are
 * settings of the whole scheme:
 *
 *   *,name,set,default,                  its name
 *   *,guard,set,0.83,                    guard band as a share of U = 2 u (JCGM 106): 0 decides by
 *                                        the value alone
 *   *,borderline,set,95,                 told as borderline when the probability of conforming lies
 *                                        between 100 - 95 and 95 percent
 *   prime,,grade,,as good as new         opens a grade; words are for people
 *   prime,pins,not-in,bent+broken,       requirements: see enum scheme_op
 *   prime,gm|emission?,of-nominal,90..140,
 *
 * A subject with ? counts only where it was looked at or tested; without it, what was not tested
 * keeps the tube from the grade ("not tested" is never "passed").  Of a|b|c the first that was
 * tested counts.  The last grade may ask for nothing: it takes what is proven to be too bad for the
 * one above it, never what was only not tested.
 */
#ifndef QUADRILLE_GRADE_SCHEME_H
#define QUADRILLE_GRADE_SCHEME_H

#include "base/arena.h"
#include "base/err.h"
#include "base/value.h"
#include "grade/inspection.h"
#include "measure/quantity.h"

#define SCHEME_GRADES       32
#define SCHEME_REQUIREMENTS 1000
#define SCHEME_ALTERNATIVES 8
#define SCHEME_CODE_BYTES   24 /* of a grade's code with its terminating zero */
#define SCHEME_VALUE_MOST   INT64_C(10000000000000) /* the largest limit or value, last digits */
#define SCHEME_WORDS_BYTES  400                     /* the longest words of a line */
#define SCHEME_BYTES        ((size_t)1024 * 1024)   /* the longest text taken */

enum scheme_op {
    SCHEME_AT_LEAST,     /* aspect, finding: nothing worse was found */
    SCHEME_NOT_IN,       /* aspect, findings joined by +: none of them was found */
    SCHEME_CLEAR,        /* shorts, gas or leakage: tested, and nothing found */
    SCHEME_TESTED,       /* quantities: a value stands for every section */
    SCHEME_OF_NOMINAL,   /* quantities, "90..140": percent of nominal asked for, and the alarm above
                            which the reading is not believed; worst section decides */
    SCHEME_NEAR_NOMINAL, /* quantity, "10": within that many percent of nominal */
    SCHEME_LIMITS,       /* quantity: within the test point's limits, where it states any */
    SCHEME_RANGE,        /* quantity, "-0.5..0.5 uA", "..10 uA", "silent..faint" */
    SCHEME_BALANCE,      /* quantity, "10": its sections within that many percent of the lowest */
    SCHEME_DRIFT,        /* quantity, "0.05": percent of change an hour of burn-in at most */
    SCHEME_HOURS,        /* burn-in, "24": hours at least */
    SCHEME_UNQUESTIONED, /* readings: none that had to be confirmed on entry */
    SCHEME_OP__COUNT
};

enum scheme_test {
    SCHEME_SHORTS,  /* shorts and leakage between electrodes; quantity leak */
    SCHEME_GAS,     /* quantity ig */
    SCHEME_LEAKAGE, /* heater to cathode; quantity hk */
    SCHEME_TEST__COUNT
};

struct scheme_requirement {
    int grade; /* index into scheme->grade */
    enum scheme_op op;
    bool where_done;            /* the subject's ? */
    enum aspect aspect;         /* AT_LEAST, NOT_IN */
    enum finding least;         /* AT_LEAST */
    bool named[FINDING__COUNT]; /* NOT_IN */
    enum scheme_test test;      /* CLEAR */
    int quantity_count;         /* 0 where the subject is no quantity */
    const struct quantity *quantity[SCHEME_ALTERNATIVES];
    int64_t low, high;   /* NONE where open.  OF_NOMINAL (high: the alarm), NEAR_NOMINAL, BALANCE:
                            hundredths of a percent; RANGE: at the quantity's decimals or steps;
                            DRIFT: millionths an hour; HOURS: minutes.  One bound: in low for
                            HOURS, else in high */
    const char *subject; /* as written, without the ? */
    const char *value;   /* as written */
    const char *words;   /* why, for people; "" */
    int64_t line;
};

struct scheme_grade {
    const char *code;  /* a-z, 0-9, '-' */
    const char *words; /* for people; "" */
    int first, count;  /* its requirements */
    int64_t line;
};

struct scheme {
    const char *name;
    int64_t guard;      /* hundredths of U */
    int64_t borderline; /* millionths, 500000..999999 */
    int grade_count;
    struct scheme_grade *grade; /* best first */
    int requirement_count;
    struct scheme_requirement *requirement;
};

/* Read and check a scheme.
 *   out          in the arena; untouched on failure
 *   text, n      CSV as above, at most SCHEME_BYTES
 *   quantity     the quantities there are; must live as long as the scheme
 * ERR_INVALID with e->line, e->field = column and a sentence that says what came and what would be
 * right, for anything not understood and for a scheme that makes no sense: a grade without
 * requirements that is not the last; a lower grade that asks more than a higher one; the same
 * requirement twice; a requirement on what must never lower a grade (getter area, moulding of the
 * glass, box).  ERR_TOO_LARGE over the counts above. */
MUST_USE bool scheme_parse(struct scheme **out, struct arena *a, const char *text, size_t n,
                           const struct quantity *quantity, size_t quantity_count, struct err *e);

/* The grade of that code, or -1. */
int scheme_grade_find(const struct scheme *s, const char *code);

const char *scheme_op_code(enum scheme_op op);        /* "not-in" */
const char *scheme_test_code(enum scheme_test t);     /* "leakage" */
const char *scheme_test_words(enum scheme_test t);    /* "heater-cathode leakage" */
const char *scheme_test_quantity(enum scheme_test t); /* the quantity that makes the same test */

/* What a requirement asks for, in the arena: "90 % of nominal or more", "at most 10.000 uA". */
const char *scheme_demand(struct arena *a, const struct scheme_requirement *r);

/* A percentage kept in hundredths, without needless zeros: 9000 -> "90", 8750 -> "87.5".  buf needs
 * DECIMAL_BYTES. */
const char *scheme_percent(char *buf, int64_t hundredths);

#endif
