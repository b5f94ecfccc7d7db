/* SPDX-License-Identifier: MIT
 *
 * uncertainty: combining standard uncertainties (JCGM 100:2008, clause 5 and annex G).
 */
#ifndef QUADRILLE_MEASURE_UNCERTAINTY_H
#define QUADRILLE_MEASURE_UNCERTAINTY_H

#include <stddef.h>

#define UNCERTAINTY_INPUTS 16

/* One input of a measurement: its sensitivity coefficient (how much the result moves for each unit
 * of it), its standard uncertainty in its own unit, and how many degrees of freedom that has
 * (INFINITY when it is not from few repeats). */
struct uncertainty_input {
    double sensitivity;
    double u;
    double dof;
};

/* The combined standard uncertainty of n <= UNCERTAINTY_INPUTS inputs (5.2.2 eq. 13, or 5.1.2 eq.
 * 10 where r is NULL).  r: n x n correlation coefficients by rows, symmetrical, ones on the
 * diagonal; NULL: all uncorrelated. */
double uncertainty_combine(const struct uncertainty_input *in, size_t n, const double *r);

/* The covariance of two results of the same inputs (H.2.3 eq. H.9): a and b hold each result's
 * sensitivities; u and r belong to the inputs. */
double uncertainty_covariance(const double *a, const double *b, const double *u, size_t n,
                              const double *r);

/* Welch's and Satterthwaite's effective degrees of freedom of uncorrelated inputs (G.4.1 eq. G.2b);
 * INFINITY when no input with finite degrees of freedom contributes. */
double uncertainty_dof(const struct uncertainty_input *in, size_t n);

/* The factor k for a coverage probability 0 < p < 1 (G.3.2): t with dof cut to a whole number, as
 * G.4.1 note 1 has it; below 1 it is taken as 1. */
double uncertainty_factor(double p, double dof);

/* Sensitivities of a model by central differences of one standard uncertainty either way
 * (5.1.3 note 2).  f is called 2 n times; an input with u = 0 gets 0. */
typedef double uncertainty_model(const double *x, void *ctx);
void uncertainty_sensitivities(double *out, uncertainty_model *f, void *ctx, const double *x,
                               const double *u, size_t n);

#endif
