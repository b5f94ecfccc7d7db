/* SPDX-License-Identifier: MIT
 *
 * regression: Householder's orthogonal factorisation of the powers, in long double.
 *
 * The normal equations square the condition of the problem and lose twice the digits; the
 * factorisation does not (Golub, Numer. Math. 7 (1965) 206).  Each column is brought to length 1
 * first.  long double has 64 or more bits where it is wider than double and costs nothing at this
 * size; where it is not, the last digits of the hardest reference sets go, nothing else.
 */
#include "measure/regression.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdlib.h>

#include "base/arena.h"

struct work {
    size_t n;
    int terms;
    long double *column[REGRESSION_TERMS]; /* becomes the reflectors below the diagonal */
    long double *y;
    long double diagonal[REGRESSION_TERMS];
    long double upper[REGRESSION_TERMS][REGRESSION_TERMS]; /* R */
    long double inverse[REGRESSION_TERMS][REGRESSION_TERMS];
    long double length[REGRESSION_TERMS]; /* of the columns before scaling */
};

static long double dot(const long double *a, const long double *b, size_t from, size_t n)
{
    long double sum = 0;
    for (size_t i = from; i < n; i++)
        sum += a[i] * b[i];
    return sum;
}

static void work_load(struct work *w, long double *room, const double *x, const double *y,
                      int first)
{
    w->y = room;
    for (size_t i = 0; i < w->n; i++)
        w->y[i] = y[i];
    for (int k = 0; k < w->terms; k++) {
        long double *c = w->column[k] = room + (size_t)(k + 1) * w->n;
        for (size_t i = 0; i < w->n; i++) {
            c[i] = 1;
            for (int p = 0; p < first + k; p++)
                c[i] *= x[i];
        }
        w->length[k] = sqrtl(dot(c, c, 0, w->n));
        for (size_t i = 0; i < w->n && w->length[k] > 0; i++)
            c[i] /= w->length[k];
    }
}

/* Reflect column k of the rest, and y, so that everything below the diagonal vanishes.  false when
 * the column is no more than a combination of the ones before. */
static bool reflect(struct work *w, int k)
{
    size_t at = (size_t)k;
    long double *v = w->column[k];
    long double norm = sqrtl(dot(v, v, at, w->n));
    if (!(norm > 64 * LDBL_EPSILON))
        return false;
    if (v[at] > 0)
        norm = -norm;
    w->diagonal[k] = norm;
    v[at] -= norm;
    long double square = dot(v, v, at, w->n);
    for (int j = k + 1; j <= w->terms; j++) {
        long double *c = j < w->terms ? w->column[j] : w->y;
        long double scale = 2 * dot(v, c, at, w->n) / square;
        for (size_t i = at; i < w->n; i++)
            c[i] -= scale * v[i];
        if (j < w->terms)
            w->upper[k][j] = c[at];
    }
    w->upper[k][k] = norm;
    return true;
}

/* The inverse of the upper triangle, column by column. */
static void triangle_invert(struct work *w)
{
    for (int j = 0; j < w->terms; j++) {
        for (int i = j; i >= 0; i--) {
            long double sum = i == j ? 1 : 0;
            for (int k = i + 1; k <= j; k++)
                sum -= w->upper[i][k] * w->inverse[k][j];
            w->inverse[i][j] = sum / w->upper[i][i];
        }
    }
}

static void coefficients_take(struct regression *r, const struct work *w)
{
    for (int i = 0; i < w->terms; i++) {
        long double beta = 0;
        for (int k = i; k < w->terms; k++)
            beta += w->inverse[i][k] * w->y[k];
        r->beta[i] = (double)(beta / w->length[i]);
    }
    long double variance = (long double)r->ss_residual / r->df_residual;
    for (int i = 0; i < w->terms; i++) {
        for (int j = 0; j < w->terms; j++) {
            long double sum = 0;
            for (int k = i > j ? i : j; k < w->terms; k++)
                sum += w->inverse[i][k] * w->inverse[j][k];
            r->covariance[i][j] = (double)(variance * sum / w->length[i] / w->length[j]);
        }
        r->se[i] = sqrt(r->covariance[i][i]);
    }
}

/* With an intercept the first component of the turned y is the mean's share. */
static void sums_take(struct regression *r, const struct work *w)
{
    r->ss_residual = (double)dot(w->y, w->y, (size_t)w->terms, w->n);
    r->ss_model = (double)dot(w->y, w->y, r->first_power == 0 ? 1 : 0, (size_t)w->terms);
    double total = r->ss_model + r->ss_residual;
    /* what double cannot tell from nothing is nothing: residuals of an exact fit are rounding */
    if (r->ss_residual < total * 1e-30)
        r->ss_residual = 0.0;
    r->residual_sd = sqrt(r->ss_residual / r->df_residual);
    r->r_squared = total > 0.0 ? r->ss_model / total : 1.0;
    r->f = r->ss_residual > 0.0 ? r->ss_model / r->df_model / (r->ss_residual / r->df_residual)
                                : (double)INFINITY;
}

bool regression_fit(struct regression *out, const double *x, const double *y, size_t n, int degree,
                    bool through_origin, struct err *e)
{
    assert(degree >= 1 && degree < REGRESSION_TERMS);
    int terms = degree + (through_origin ? 0 : 1);
    if (n < (size_t)terms + 1)
        return err_set(e, ERR_INVALID, "%d coefficients need %d points or more, but %zu came",
                       terms, terms + 1, n);
    for (size_t i = 0; i < n; i++)
        if (!isfinite(x[i]) || !isfinite(y[i]))
            return err_set(e, ERR_INVALID, "point %zu is not a number", i + 1);

    struct work w = {.n = n, .terms = terms};
    struct regression r = {.n = n, .terms = terms, .first_power = through_origin ? 1 : 0};
    r.df_model = through_origin ? terms : terms - 1;
    r.df_residual = (int)n - terms;
    long double *room = xcalloc(n * (size_t)(terms + 1), sizeof(long double));
    work_load(&w, room, x, y, r.first_power);
    bool fine = true;
    for (int k = 0; k < terms && fine; k++)
        fine = reflect(&w, k);
    if (fine) {
        triangle_invert(&w);
        sums_take(&r, &w);
        coefficients_take(&r, &w);
        *out = r;
    }
    free(room);
    return fine ||
           err_set(e, ERR_INVALID,
                   "the points lie at too few different places to fit %d coefficients", terms);
}

double regression_at(const struct regression *r, double x, double *u)
{
    double power[REGRESSION_TERMS], value = 0.0, variance = 0.0;
    for (int i = 0; i < r->terms; i++) {
        power[i] = i > 0 ? power[i - 1] * x : (r->first_power == 0 ? 1.0 : x);
        value += r->beta[i] * power[i];
    }
    for (int i = 0; i < r->terms; i++)
        for (int j = 0; j < r->terms; j++)
            variance += power[i] * power[j] * r->covariance[i][j];
    if (u != NULL)
        *u = sqrt(fmax(variance, 0.0));
    return value;
}
