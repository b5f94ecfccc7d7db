/* SPDX-License-Identifier: MIT
 *
 * study: how well a tester repeats, and how much people differ: tubes x people x repeats, crossed.
 *
 * Two-way analysis of variance with random effects (AIAG, Measurement Systems Analysis, 4th ed.
 * 2010, ch. III and appendix A).  Its repeatability is what a tester is given as standard deviation
 * of one reading.
 */
#ifndef QUADRILLE_MEASURE_STUDY_H
#define QUADRILLE_MEASURE_STUDY_H

#include "base/err.h"

#define STUDY_CELLS 100000 /* the most values */

/* The interaction is pooled into the repeatability when its p-value is above this (common practice
 * of today; AIAG's text has 0.25).  The answer says whether it was. */
#define STUDY_POOL_ALPHA 0.05

enum study_source {
    STUDY_TUBE,
    STUDY_PERSON,
    STUDY_INTERACTION, /* one person reads some tubes higher than another person does */
    STUDY_REPEAT,
    STUDY_SOURCE__COUNT
};

struct study {
    double ss[STUDY_SOURCE__COUNT]; /* sums of squares, unpooled, */
    int df[STUDY_SOURCE__COUNT];    /* degrees of freedom, */
    double ms[STUDY_SOURCE__COUNT]; /* and mean squares; 0 where there are no degrees of freedom */
    double f_interaction, p_interaction; /* against the repeats; p 1 with one person */
    double f_tube, p_tube;               /* against the interaction, or the pooled repeats */
    double f_person, p_person;
    bool pooled;
    /* Components of variance; one that comes out below 0 is taken as 0. */
    double var[STUDY_SOURCE__COUNT];
    double var_reading; /* repeats + person + interaction: all that is not the tube */
    double var_total;
    double repeatability_sd; /* sqrt(var[STUDY_REPEAT]) */
    int repeatability_df;    /* of that estimate */
    double distinct;         /* sqrt(2) sd of tubes / sd of readings: how many classes the tester
                                can tell apart (AIAG's ndc, not rounded); INFINITY if no spread */
    bool coarse; /* the tester's step is above its repeatability: the repeats say little about it */
};

/* value[tube][person][repeat], flattened in that order; resolution the tester's step, 0: not known.
 * ERR_INVALID: fewer than 2 tubes, 1 person or 2 repeats; more than STUDY_CELLS values; a value
 * that is not finite; pool_alpha outside 0..1. */
MUST_USE bool study_crossed(struct study *out, const double *value, int tubes, int people,
                            int repeats, double resolution, double pool_alpha, struct err *e);

#endif
