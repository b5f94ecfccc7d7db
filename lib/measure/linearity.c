/* SPDX-License-Identifier: MIT
 *
 * linearity: a regression of the bias, with the two tests that decide.
 */
#include "measure/linearity.h"

#include "base/arena.h"
#include "measure/sampling.h"

#include <math.h>
#include <stdlib.h>

static double two_sided(double t, int df)
{
    return 2.0 * sampling_t_below(-fabs(t), df);
}

bool linearity_fit(struct linearity *out, const double *reference, const double *reading, size_t n,
                   struct err *e)
{
    if (n > LINEARITY_POINTS)
        return err_set(e, ERR_INVALID, "a linearity study holds at most %d readings, but %zu came",
                       LINEARITY_POINTS, n);
    double *bias = xcalloc(n, sizeof(double));
    for (size_t i = 0; i < n; i++)
        bias[i] = reading[i] - reference[i];
    struct linearity l;
    bool fine = regression_fit(&l.line, reference, bias, n, 1, false, e);
    free(bias);
    if (!fine)
        return false;
    /* an exact line has no error to hold it against: then any difference from 0 is certain */
    l.t_intercept = l.line.beta[0] == 0.0 ? 0.0 : l.line.beta[0] / l.line.se[0];
    l.t_slope = l.line.beta[1] == 0.0 ? 0.0 : l.line.beta[1] / l.line.se[1];
    l.p_intercept = isinf(l.t_intercept) ? 0.0 : two_sided(l.t_intercept, l.line.df_residual);
    l.p_slope = isinf(l.t_slope) ? 0.0 : two_sided(l.t_slope, l.line.df_residual);
    *out = l;
    return true;
}
