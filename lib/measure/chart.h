/* SPDX-License-Identifier: MIT
 *
 * chart: has a tester drifted?  Check tubes are read again and again, and each check (the mean of
 * several check tubes or repeats) is a point.
 *
 * Individuals and moving range see a jump, the exponentially weighted moving average sees a creep
 * (NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 and 6.3.2.4; Montgomery, Introduction
 * to Statistical Quality Control).  Any signal makes the tester suspect.
 */
#ifndef QUADRILLE_MEASURE_CHART_H
#define QUADRILLE_MEASURE_CHART_H

#include "base/err.h"

#define CHART_SAMPLE 25  /* the largest n of the constants */
#define CHART_FEWEST 5   /* checks that make a baseline */
#define CHART_LAMBDA 0.3 /* weight of the newest check (e-Handbook 6.3.2.4's own example) */
#define CHART_WIDTH  3.0 /* limits, in sigmas */
#define CHART_RUN    8   /* in a row on one side (Western Electric, 1956, from memory) */

/* Constants for samples of n = 2..CHART_SAMPLE from a normal distribution, computed, not tabled:
 * mean and standard deviation of the range, mean of the standard deviation, all in sigmas. */
double chart_d2(int n);
double chart_d3(int n);
double chart_c4(int n);

/* What is held to be the tester in its right state.  Where a study has told the repeatability, set
 * sigma to it (over the root of the readings in a check) after chart_baseline: with 20 checks of
 * baseline that brings the false alarms from 3 % of checks to 2 % (simulated). */
struct chart {
    double target;
    double sigma;
    double range_mean; /* mean of the moving ranges of two; 0 when sigma was given */
};

/* From n >= CHART_FEWEST checks of a sound tester: target their mean, sigma = mean moving range /
 * d2(2).  ERR_INVALID: too few, a value that is not finite, or no spread at all. */
MUST_USE bool chart_baseline(struct chart *out, const double *x, size_t n, struct err *e);

/* Limits of the individuals and upper limit of their moving range: 3 sigma, and D4(2) range_mean.
 */
double chart_upper(const struct chart *c);
double chart_lower(const struct chart *c);
double chart_range_upper(const struct chart *c);

enum chart_signal {
    CHART_BEYOND = 1 << 0, /* this check lies beyond 3 sigma */
    CHART_ROW = 1 << 1,    /* CHART_RUN checks in a row on one side, this one the last */
    CHART_CREEP = 1 << 2,  /* the moving average lies beyond its limits */
};

struct chart_point {
    double average;   /* exponentially weighted, after this check */
    double half;      /* half width of its limits at this check (time-varying) */
    unsigned signals; /* enum chart_signal, or'd; 0: nothing */
};

/* Follow n checks from the target on; out has room for n.  A check exactly on the target breaks a
 * row.  0 < lambda <= 1, width > 0 in sigmas for the average. */
void chart_follow(struct chart_point *out, const struct chart *c, const double *x, size_t n,
                  double lambda, double width);

/* A sentence for the first signal of a point, "" for none; static. */
const char *chart_signal_says(unsigned signals);

#endif
