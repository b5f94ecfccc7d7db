/* SPDX-License-Identifier: MIT
 *
 * uncertainty: the law of propagation, with and without correlation.
 */
#include "measure/uncertainty.h"

#include "measure/sampling.h"

#include <assert.h>
#include <math.h>

double uncertainty_covariance(const double *a, const double *b, const double *u, size_t n,
                              const double *r)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j < n; j++) {
            double rho = r != NULL ? r[i * n + j] : (i == j ? 1.0 : 0.0);
            sum += a[i] * b[j] * u[i] * u[j] * rho;
        }
    }
    return sum;
}

double uncertainty_combine(const struct uncertainty_input *in, size_t n, const double *r)
{
    double c[UNCERTAINTY_INPUTS], u[UNCERTAINTY_INPUTS];
    assert(n <= UNCERTAINTY_INPUTS);
    for (size_t i = 0; i < n; i++) {
        c[i] = in[i].sensitivity;
        u[i] = in[i].u;
    }
    /* full correlation can cancel to nothing, and rounding to a little less */
    return sqrt(fmax(uncertainty_covariance(c, c, u, n, r), 0.0));
}

double uncertainty_dof(const struct uncertainty_input *in, size_t n)
{
    double combined = uncertainty_combine(in, n, NULL);
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        double share = fabs(in[i].sensitivity) * in[i].u;
        if (isfinite(in[i].dof) && share > 0.0)
            sum += pow(share / combined, 4.0) / in[i].dof;
    }
    return sum > 0.0 ? 1.0 / sum : (double)INFINITY;
}

double uncertainty_factor(double p, double dof)
{
    return sampling_t_factor(p, isinf(dof) ? dof : fmax(floor(dof), 1.0));
}

void uncertainty_sensitivities(double *out, uncertainty_model *f, void *ctx, const double *x,
                               const double *u, size_t n)
{
    double at[UNCERTAINTY_INPUTS];
    assert(n <= UNCERTAINTY_INPUTS);
    for (size_t i = 0; i < n; i++)
        at[i] = x[i];
    for (size_t i = 0; i < n; i++) {
        out[i] = 0.0;
        if (!(u[i] > 0.0))
            continue;
        at[i] = x[i] + u[i];
        double above = f(at, ctx);
        at[i] = x[i] - u[i];
        double below = f(at, ctx);
        at[i] = x[i];
        out[i] = (above - below) / (2.0 * u[i]);
    }
}
