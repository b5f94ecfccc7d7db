/* SPDX-License-Identifier: MIT
 *
 * conformance: does a true value lie within its limits, given an uncertain estimate of it?
 *
 * JCGM 106:2012 with normal distributions.  A scheme chooses a guard band; the probability is shown
 * beside every borderline decision.
 */
#ifndef QUADRILLE_MEASURE_CONFORMANCE_H
#define QUADRILLE_MEASURE_CONFORMANCE_H

#include <stdbool.h>
#include <stddef.h>

/* Probability that the true value lies within low..high, the estimate being y with standard
 * uncertainty u >= 0 (7.3, 7.4).  -INFINITY or INFINITY where there is no limit.  u = 0: 1 or 0,
 * the limits themselves conform. */
double conformance_probability(double y, double u, double low, double high);

/* Guard bands a scheme may choose, by code. */
struct conformance_guard {
    const char *code;
    const char *says;
    double k;    /* width of the guard band in standard uncertainties, 0 or more */
    double risk; /* most probable wrong acceptance at the very edge, one-sided: Phi(-k) */
};

/* The table, weakest first; static.  conformance_guard_find: NULL for an unknown code. */
const struct conformance_guard *conformance_guards(size_t *count);
const struct conformance_guard *conformance_guard_find(const char *code);

/* What comes of an estimate under a guard band (ILAC-G8:09/2019, the non-binary rule). */
enum conformance_verdict {
    CONFORMANCE_PASS,     /* at or inside the acceptance limits: limits less the guard band */
    CONFORMANCE_LIKELY,   /* inside the limits, but within the guard band */
    CONFORMANCE_UNLIKELY, /* outside the limits, but within the guard band */
    CONFORMANCE_FAIL,     /* further out */
    CONFORMANCE_VERDICT__COUNT
};
enum conformance_verdict conformance_judge(double y, double u, double low, double high, double k);

/* Risks of accepting by a guard band, over all tubes of a process that is normal about the middle
 * of -limit..limit with standard deviation spread > 0, measured with u > 0; guard = width of the
 * guard band (JCGM 106:2012, 9.5.2 eqs. 19 and 20). */
struct conformance_risk {
    double consumer; /* accepted though outside */
    double producer; /* refused though inside */
    double outside;  /* share of the process outside its limits */
};
struct conformance_risk conformance_risk(double spread, double u, double limit, double guard);

#endif
