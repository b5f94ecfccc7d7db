/* SPDX-License-Identifier: MIT
 *
 * grade: what a scheme makes of one tube's look and readings, with reasons.
 *
 * The first grade whose requirements all hold is given.  For each better grade every requirement
 * that kept the tube from it is named.  What was not tested is "not tested", never "passed".
 *
 * Three things hold whatever the scheme says.  A look that ends the tube (air, cracked glass) and a
 * short that was found leave only a last grade that asks for nothing.  Features that differ from
 * the construction claimed keep the tube from the best grade until the owner clears them.  And the
 * last grade is given only where something is proven to be too bad for the grade above it; where
 * things only were not tested, or a reading is above its alarm, no grade is given.
 */
#ifndef QUADRILLE_GRADE_GRADE_H
#define QUADRILLE_GRADE_GRADE_H

#include "base/arena.h"
#include "base/err.h"
#include "base/value.h"
#include "grade/inspection.h"
#include "grade/scheme.h"

#define GRADE_NONE       (-1) /* no grade can be given */
#define GRADE_U_DECIMALS 3    /* uncertainties have this many decimals more than the value */
#define GRADE_SECTIONS   16   /* the most sections of a tube */
#define GRADE_VALUES     500  /* the most values of a tube */

/* One standing value, or one that the test point asks for and nobody took. */
struct grade_value {
    const char *quantity;  /* code; one that the scheme does not name is passed over */
    int section;           /* 1..sections, 0 for the whole tube; of a tube with one section both */
    bool tested;           /* false: no value stands, only nominal and limits are told */
    int decimals;          /* of value, before, nominal, low, high: those of the quantity */
    int64_t value;         /* within +-SCHEME_VALUE_MOST, as all below; ordinals: the step */
    int64_t own_u;         /* standard uncertainty, GRADE_U_DECIMALS more; NONE or 0: not known */
    int64_t calibration_u; /* the same, of the calibration; NONE or 0: none */
    int64_t nominal;       /* of the test point, or NONE */
    int64_t low, high;     /* its limits, each may be NONE */
    int64_t before;        /* before the burn-in, or NONE */
    int64_t before_u;      /* its own uncertainty, as own_u */
    bool questioned;       /* had to be confirmed on entry */
};

enum test_result { TEST_NOT_DONE, TEST_CLEAR, TEST_FOUND, TEST_NOT_APPLICABLE };

/* One tube.  Start from { 0 }: burn_in_min is then 0, no burn-in. */
struct grade_input {
    struct inspection look;
    int sections; /* 1..GRADE_SECTIONS */
    const struct grade_value *values;
    size_t value_count;
    enum test_result tests[SCHEME_TEST__COUNT];
    bool mismatch;       /* features differ from those claimed, and the owner has not cleared it */
    int64_t burn_in_min; /* minutes between before and value */
};

enum verdict {
    VERDICT_MET,
    VERDICT_IDLE,     /* does not apply to this tube, or was not tested and need not be */
    VERDICT_MISSED,   /* proven not to hold */
    VERDICT_UNTESTED, /* not known */
    VERDICT_ALARM     /* the reading is too good to be believed */
};

struct grade_decision {
    int grade;       /* index into scheme->grade, or GRADE_NONE */
    bool borderline; /* the grade given rests on a value close to its limit, or only such values
                        kept the tube from the next better one */
    int64_t ppm; /* the probability, in millionths, of the one that is nearest to an even chance;
                    NONE unless borderline */
};

/* Why a grade was given or missed. */
struct grade_reason {
    int grade;       /* index into scheme->grade */
    int requirement; /* index into scheme->requirement, or -1 for the rules of every scheme */
    enum verdict verdict;
    const char *subject; /* "pins", "gas", "gm", "gm.2", "features", "readings", "burn-in" */
    bool borderline;
    int64_t ppm;      /* probability that the requirement is met, millionths; NONE: not known */
    const char *text; /* a sentence with the numbers and what was asked */
};

struct grade_untested {
    const char *subject;
    const char *text; /* "gas was not tested" */
};

struct grade_report {
    struct grade_decision decision;
    size_t reason_count;
    struct grade_reason *reasons; /* first the grade given, each requirement that holds; then each
                                     better grade, next better first, what kept the tube from it */
    size_t untested_count;
    struct grade_untested *untested; /* all that was not tested or looked at */
};

/* ERR_INVALID or ERR_TOO_LARGE with the quantity in e->field: sections, decimals or a number out of
 * range, one quantity of one section twice, a look that contradicts itself, limits the wrong way
 * round, a negative uncertainty. */
MUST_USE bool grade_check(const struct scheme *s, const struct grade_input *in, struct err *e);

/* The grade alone, without a word of explanation: for previews over the whole stock.  Allocates
 * nothing.  in must have passed grade_check. */
struct grade_decision grade_decide(const struct scheme *s, const struct grade_input *in);

/* The grade with its reasons, in the arena; in must have passed grade_check. */
struct grade_report grade_explain(const struct scheme *s, const struct grade_input *in,
                                  struct arena *a);

const char *verdict_code(enum verdict v); /* "missed", "untested" ... */

#endif
