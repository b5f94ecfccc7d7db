/* SPDX-License-Identifier: MIT
 *
 * curve: one solving for each point, from the narrowest band up.
 *
 * An answer for a narrow band is one for every wider band, and a bound for a wide band is one for
 * every narrower band: so each point is helped by its neighbours on both sides.
 */
#include "match/curve.h"

#include <string.h>

static int64_t common_divisor(int64_t a, int64_t b)
{
    while (b != 0) {
        int64_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

static bool points_check(const struct match_problem *p, const struct curve_point *point, int points,
                         struct err *e)
{
    if (p->lines != 1)
        return err_field(e, "demand", ERR_INVALID, "a curve is for one size of set, not for %d",
                         p->lines);
    if (points < 1 || points > CURVE_POINTS)
        return err_field(e, "points", ERR_INVALID, "%d points; a curve has 1 to %d", points,
                         CURVE_POINTS);
    for (int i = 0; i < points; i++) {
        if (point[i].num < 1 || point[i].den < 1 || point[i].num > 1000000 ||
            point[i].den > 1000000)
            return err_field(e, "points", ERR_INVALID,
                             "point %d: the ratio %lld/%lld must be of numbers from 1 to 1000000",
                             i + 1, (long long)point[i].num, (long long)point[i].den);
        if (i > 0 && point[i].num * point[i - 1].den <= point[i - 1].num * point[i].den)
            return err_field(e, "points", ERR_INVALID, "point %d is not wider than the one before",
                             i + 1);
    }
    return true;
}

/* band * num / den.  An absolute band is rounded down to the last decimal: values have no finer
 * ones. */
static bool band_scale(struct match_band *b, const struct curve_point *x, const char *column,
                       struct err *e)
{
    int64_t divisor = common_divisor(b->num, x->den);
    int64_t num = b->num / divisor;
    int64_t den = x->den / divisor;
    if (num > MATCH_VALUE / x->num)
        return err_field(e, column, ERR_INVALID, "the band of %.40s becomes too wide", column);
    num *= x->num;
    if (b->kind == MATCH_ABSOLUTE) {
        b->num = num / den;
        return match_band_check(b, column, e);
    }
    den *= b->den;
    divisor = common_divisor(num, den);
    b->num = num / divisor;
    b->den = den / divisor;
    return match_band_check(b, column, e);
}

/* The caller's budget as one point sees it. */
struct share {
    const struct match_options *o;
    int point;
    int points;
};

static int64_t share_pace(void *ctx, const struct match_progress *progress)
{
    const struct share *s = ctx;
    int64_t spent = s->o->pace(s->o->ctx, progress);
    if (spent >= MATCH_WHOLE)
        return MATCH_WHOLE;
    int64_t own = spent * s->points - s->point * MATCH_WHOLE;
    return own < 0 ? 0 : own;
}

static bool point_solve(const struct match_problem *p, const struct match_options *o, int at,
                        struct curve_point *point, int points, struct err *e)
{
    struct arena *a = arena_new();
    struct match_problem scaled = *p;
    struct match_band *band = arena_array(a, (size_t)p->coordinates, sizeof *band);
    struct share share = {.o = o, .point = at, .points = points};
    struct match_options options = *o;
    struct match_answer answer;
    bool ok = true;
    if (o->pace != NULL) {
        options.pace = share_pace;
        options.ctx = &share;
    }
    memcpy(band, p->band, (size_t)p->coordinates * sizeof *band);
    for (int j = 0; j < p->coordinates && ok; j++)
        ok = band_scale(&band[j], &point[at], p->column[j], e);
    scaled.band = band;
    ok = ok && match_solve(&scaled, &options, a, &answer, e);
    if (ok) {
        point[at].found = answer.found[0];
        point[at].bound = answer.bound[0];
    }
    arena_free(a);
    return ok;
}

bool curve_solve(const struct match_problem *p, const struct match_options *o,
                 struct curve_point *point, int points, struct err *e)
{
    if (!points_check(p, point, points, e))
        return false;
    for (int i = 0; i < points; i++) {
        if (!point_solve(p, o, i, point, points, e))
            return false;
    }
    for (int i = 1; i < points; i++) {
        if (point[i].found < point[i - 1].found)
            point[i].found = point[i - 1].found;
    }
    for (int i = points - 1; i > 0; i--) {
        if (point[i - 1].bound > point[i].bound)
            point[i - 1].bound = point[i].bound;
    }
    for (int i = 0; i < points; i++)
        point[i].proven = point[i].found == point[i].bound;
    return true;
}
