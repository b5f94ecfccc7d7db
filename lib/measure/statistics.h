/* SPDX-License-Identifier: MIT
 *
 * statistics: the plain summary of a run of numbers, and the robust one.
 */
#ifndef QUADRILLE_MEASURE_STATISTICS_H
#define QUADRILLE_MEASURE_STATISTICS_H

#include <stddef.h>
#include <stdint.h>

/* Arithmetic mean of n >= 1 values. */
double statistics_mean(const double *x, size_t n);

/* Experimental standard deviation (n - 1) of n >= 2 values; 0 for one (JCGM 100:2008, 4.2.2). */
double statistics_sd(const double *x, size_t n);

/* Autocorrelation at lag 1 of n >= 2 values that are not all equal:
 * sum (x[i]-m)(x[i+1]-m) / sum (x[i]-m)^2 (NIST/SEMATECH e-Handbook 1.3.5.12).  0 for a constant.
 */
double statistics_lag1(const double *x, size_t n);

/* Covariance (n - 1) of n >= 2 pairs (JCGM 100:2008, C.3.4). */
double statistics_covariance(const double *x, const double *y, size_t n);

/* The centre and spread of a family or lot that a few wild values cannot move. */
struct robust {
    int64_t median; /* of an even count: half way, to even */
    int64_t mad;    /* median of the distances from the median; times 1.4826 it estimates sigma */
    size_t count;   /* 0: nothing known */
};

/* values[0..n) is put in order; all within +-10^18.  n = 0 gives a count of 0. */
struct robust statistics_robust(int64_t *values, size_t n);

/* What MAD is multiplied by to estimate a normal sigma: 1/Phi^-1(3/4). */
#define STATISTICS_MAD_SIGMA 1.4826022185056018

#endif
