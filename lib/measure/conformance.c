/* SPDX-License-Identifier: MIT
 *
 * conformance: probabilities within limits, and the risks of deciding by them.
 *
 * The global risks are integrals over the true value of its density times the probability to be
 * accepted.  Both factors are smooth at the scale of the smaller of the two spreads, so Gauss's
 * rule over short pieces of the two ranges, inside and outside the limits, is exact to 1e-13.
 */
#include "measure/conformance.h"

#include "base/err.h"
#include "measure/normal.h"

#include <assert.h>
#include <math.h>
#include <string.h>

double conformance_probability(double y, double u, double low, double high)
{
    assert(u >= 0.0);
    if (u == 0.0)
        return y >= low && y <= high ? 1.0 : 0.0;
    return normal_between((low - y) / u, (high - y) / u);
}

/* k in standard uncertainties, U being 2 u throughout. */
static const struct conformance_guard guard[] = {
    {"none", "accept up to the limit itself (simple acceptance, shared risk)", 0.0, 0.5},
    /* ISO 14253-1:2017: 95 % conformance probability */
    {"p95", "accept with 95 % probability or more (ISO 14253-1)", 1.6448536269514722, 0.05},
    /* JCGM 106:2012 8.3.2: w = U */
    {"u2", "accept short of the limit by twice the uncertainty (JCGM 106)", 2.0,
     0.022750131948179209},
    {"u3", "accept short of the limit by three times the uncertainty", 3.0, 0.0013498980316300945},
    {"u6", "accept short of the limit by six times the uncertainty", 6.0, 9.8658764503769814e-10},
};

const struct conformance_guard *conformance_guards(size_t *count)
{
    *count = ARRAY_LEN(guard);
    return guard;
}

const struct conformance_guard *conformance_guard_find(const char *code)
{
    for (size_t i = 0; i < ARRAY_LEN(guard); i++)
        if (strcmp(guard[i].code, code) == 0)
            return &guard[i];
    return NULL;
}

enum conformance_verdict conformance_judge(double y, double u, double low, double high, double k)
{
    double w = k * u;
    if (y >= low + w && y <= high - w)
        return CONFORMANCE_PASS;
    if (y >= low && y <= high)
        return CONFORMANCE_LIKELY;
    if (y >= low - w && y <= high + w)
        return CONFORMANCE_UNLIKELY;
    return CONFORMANCE_FAIL;
}

struct process {
    double spread, u, accept; /* accepted within -accept..accept */
};

/* Density of the process at the true value x, times the probability to be accepted there. */
static double accepted_at(const struct process *p, double x)
{
    return normal_density(x / p->spread) / p->spread *
           normal_between((-p->accept - x) / p->u, (p->accept - x) / p->u);
}

/* Integral of accepted_at from..to, in pieces of the smaller spread, five Gauss points each
 * (Abramowitz and Stegun table 25.4). */
static double accepted_between(const struct process *p, double from, double to)
{
    static const double node[] = {0.0, 0.538469310105683, 0.906179845938664};
    static const double weight[] = {0.568888888888889, 0.478628670499366, 0.236926885056189};
    int pieces = (int)ceil(4.0 * (to - from) / fmin(p->spread, p->u));
    double half = 0.5 * (to - from) / pieces, sum = 0.0;
    for (int i = 0; i < pieces; i++) {
        double middle = from + (2 * i + 1) * half;
        sum += weight[0] * accepted_at(p, middle);
        for (size_t j = 1; j < ARRAY_LEN(node); j++)
            sum += weight[j] * (accepted_at(p, middle - half * node[j]) +
                                accepted_at(p, middle + half * node[j]));
    }
    return sum * half;
}

struct conformance_risk conformance_risk(double spread, double u, double limit, double guard_width)
{
    assert(spread > 0.0 && u > 0.0 && limit > 0.0 && limit / fmin(spread, u) < 1e5);
    struct process p = {.spread = spread, .u = u, .accept = limit - guard_width};
    struct conformance_risk r = {.outside = 2.0 * normal_above(limit / spread)};
    if (p.accept <= 0.0) { /* the guard band leaves nothing to accept */
        r.producer = 1.0 - r.outside;
        return r;
    }
    double reach = fmin(9.0 * spread, p.accept + 9.0 * u);
    if (reach > limit)
        r.consumer = 2.0 * accepted_between(&p, limit, reach);
    r.producer = 1.0 - r.outside - accepted_between(&p, -limit, limit);
    return r;
}
