/* SPDX-License-Identifier: MIT
 *
 * judge: one requirement against one tube.  Between the files of lib/grade only.
 */
#ifndef QUADRILLE_GRADE_JUDGE_H
#define QUADRILLE_GRADE_JUDGE_H

#include "grade/grade.h"

enum why { /* of VERDICT_UNTESTED, and of an idle one */
           WHY_NONE,
           WHY_NOT_LOOKED,
           WHY_NOT_JUDGED,
           WHY_NOT_DONE,
           WHY_NO_NOMINAL,
           WHY_NO_BURN_IN
};

struct judgement {
    enum verdict verdict;
    enum why why;
    const struct quantity *quantity; /* the one that counted; NULL where the subject is none */
    int section;                     /* the worst, 0 for none */
    const struct grade_value *value; /* of that section; NULL where not tested */
    const struct grade_value *other; /* BALANCE: the highest, value being the lowest */
    int64_t ppm;                     /* or NONE */
    bool borderline;
};

struct judgement judge_requirement(const struct scheme *s, const struct scheme_requirement *r,
                                   const struct grade_input *in);

/* The standing value of a quantity in a section (0 for the whole tube), or NULL.  May be one that
 * was not tested. */
const struct grade_value *judge_value(const struct grade_input *in, const char *quantity,
                                      int section);

/* Was the test made, by its own result or by a value of its quantity in every section? */
bool judge_test_done(const struct grade_input *in, enum scheme_test t);

/* Standard uncertainty with the calibration's, GRADE_U_DECIMALS more than the value; 0: not known.
 */
int64_t judge_u(const struct grade_value *v);

/* The sentence for a judgement that is not idle, and its subject: in the arena. */
const char *judge_words(struct arena *a, const struct scheme *s, const struct scheme_requirement *r,
                        const struct grade_input *in, const struct judgement *j);
const char *judge_subject(struct arena *a, const struct scheme_requirement *r,
                          const struct grade_input *in, const struct judgement *j);

/* "transconductance of section 2" */
const char *judge_name(struct arena *a, const struct quantity *q, const struct grade_input *in,
                       int section);

#endif
