/* SPDX-License-Identifier: MIT
 *
 * judge: one requirement against one tube.
 *
 * Every comparison with a limit becomes a margin: how far the value is on the good side, in units
 * of 10^-4 of the value's last decimal, so that percentages in hundredths stay whole numbers.  A
 * margin of 0 is the limit itself and is allowed.  With |value| and |nominal| at most 10^13 and
 * percentages at most 1000.00 a margin stays below 1.1 * 10^18.  No floating point decides
 * anything; the probability of conforming (JCGM 106) is told beside the decision.  A guard band of
 * r * U, U = 2 u, asks for a margin of that size (JCGM 106:2012 clause 8.3).
 *
 * Of several sections the worst counts: one that misses before one that is above its alarm, before
 * one that cannot be judged, before those that hold, and of those the least likely to hold.
 */
#include "grade/judge.h"

#include "base/decimal.h"
#include "measure/conformity.h"

#include <assert.h>
#include <string.h>

/* ---- finding values -----------------------------------------------------------------------------
 */
const struct grade_value *judge_value(const struct grade_input *in, const char *quantity,
                                      int section)
{
    for (size_t i = 0; i < in->value_count; i++) {
        const struct grade_value *v = &in->values[i];
        bool same_section =
            v->section == section || (in->sections == 1 && v->section <= 1 && section <= 1);
        if (same_section && strcmp(v->quantity, quantity) == 0)
            return v;
    }
    return NULL;
}

/* The sections in which a quantity is measured: first..last. */
static void sections_of(const struct quantity *q, const struct grade_input *in, int *first,
                        int *last)
{
    bool per_section = q->scope == QUANTITY_SECTION;
    *first = per_section ? 1 : 0;
    *last = per_section ? in->sections : 0;
}

/* 2: a value stands for some section; 1: the test point tells a nominal; 0: neither. */
static int standing_rank(const struct quantity *q, const struct grade_input *in)
{
    int rank = 0, first, last;
    sections_of(q, in, &first, &last);
    for (int s = first; s <= last; s++) {
        const struct grade_value *v = judge_value(in, q->code, s);
        if (v && v->tested)
            return 2;
        if (v && v->nominal != NONE)
            rank = 1;
    }
    return rank;
}

static const struct quantity *quantity_pick(const struct scheme_requirement *r,
                                            const struct grade_input *in)
{
    const struct quantity *best = r->quantity[0];
    for (int i = 1, rank = standing_rank(best, in); i < r->quantity_count; i++) {
        int next = standing_rank(r->quantity[i], in);
        if (next > rank) {
            rank = next;
            best = r->quantity[i];
        }
    }
    return best;
}

bool judge_test_done(const struct grade_input *in, enum scheme_test t)
{
    if (in->tests[t] != TEST_NOT_DONE)
        return true;
    const char *code = scheme_test_quantity(t);
    const struct grade_value *whole = judge_value(in, code, 0);
    if (whole && whole->tested)
        return true;
    for (int n = 1; n <= in->sections; n++) {
        const struct grade_value *v = judge_value(in, code, n);
        if (!v || !v->tested)
            return false;
    }
    return true;
}

int64_t judge_u(const struct grade_value *v)
{
    if (v->own_u == NONE || v->own_u == 0)
        return 0;
    return conformity_u(v->own_u, v->calibration_u == NONE ? 0 : v->calibration_u);
}

/* ---- one value against a window -----------------------------------------------------------------
 */
#define MARGIN 10000 /* margins per last decimal of the value */

struct window {
    bool none;         /* nothing to compare with */
    bool alarm;        /* above the alarm */
    int64_t low, high; /* margins to the two ends, each may be NONE */
};

static struct window window_percent(const struct grade_value *v, int64_t low, int64_t high)
{
    int64_t nominal = v->nominal < 0 ? -v->nominal : v->nominal;
    return (struct window){.low = v->value * MARGIN - (v->nominal * MARGIN - low * nominal),
                           .high = (v->nominal * MARGIN + high * nominal) - v->value * MARGIN};
}

static struct window window_ends(int64_t value, int64_t low, int64_t high)
{
    return (struct window){.none = low == NONE && high == NONE,
                           .low = low == NONE ? NONE : (value - low) * MARGIN,
                           .high = high == NONE ? NONE : (high - value) * MARGIN};
}

static struct window window_of(const struct scheme_requirement *r, const struct grade_value *v)
{
    switch (r->op) {
    case SCHEME_OF_NOMINAL:
        if (v->nominal == NONE || v->nominal <= 0)
            return (struct window){.none = true};
        return (struct window){.low = v->value * MARGIN - r->low * v->nominal,
                               .high = NONE,
                               .alarm = r->high != NONE &&
                                        wide_compare(v->value, MARGIN, r->high, v->nominal) > 0};
    case SCHEME_NEAR_NOMINAL:
        if (v->nominal == NONE || v->nominal == 0)
            return (struct window){.none = true};
        return window_percent(v, r->high, r->high);
    case SCHEME_LIMITS:
        return window_ends(v->value, v->low, v->high);
    case SCHEME_RANGE:
        return window_ends(v->value, r->low, r->high);
    case SCHEME_AT_LEAST:
    case SCHEME_NOT_IN:
    case SCHEME_CLEAR:
    case SCHEME_TESTED:
    case SCHEME_BALANCE:
    case SCHEME_DRIFT:
    case SCHEME_HOURS:
    case SCHEME_UNQUESTIONED:
    case SCHEME_OP__COUNT:
        break;
    }
    assert(false && "an op without a window");
    return (struct window){.none = true};
}

/* margin >= guard * U, both sides exact: guard in hundredths, U = 2 u, u in 1/1000 of the value's
 * last decimal, so that guard * U is guard * u / 5 margins. */
static bool holds(int64_t margin, int64_t guard, int64_t u)
{
    return margin == NONE || (margin >= 0 && wide_compare(margin, 5, guard, u) >= 0);
}

static void mark_borderline(const struct scheme *s, struct judgement *j)
{
    j->borderline =
        j->ppm != NONE && j->ppm < s->borderline && j->ppm > CONFORMITY_SURE - s->borderline;
}

static struct judgement judge_one(const struct scheme *s, const struct scheme_requirement *r,
                                  const struct grade_value *v)
{
    struct judgement j = {.value = v, .section = v->section, .ppm = NONE};
    struct window w = window_of(r, v);
    if (w.none) {
        bool open = r->op == SCHEME_OF_NOMINAL || (r->op == SCHEME_NEAR_NOMINAL && !r->where_done);
        j.verdict = open ? VERDICT_UNTESTED : VERDICT_IDLE;
        j.why = WHY_NO_NOMINAL;
        return j;
    }
    int64_t u = judge_u(v);
    bool ok = holds(w.low, s->guard, u) && holds(w.high, s->guard, u);
    j.verdict = !ok ? VERDICT_MISSED : w.alarm ? VERDICT_ALARM : VERDICT_MET;
    if (u > 0)
        j.ppm = conformity_ppm(w.low, w.high, u * 10);
    mark_borderline(s, &j);
    return j;
}

/* ---- all sections -------------------------------------------------------------------------------
 */
static int badness(enum verdict v)
{
    static const int order[] = {[VERDICT_IDLE] = 0,
                                [VERDICT_MET] = 1,
                                [VERDICT_UNTESTED] = 2,
                                [VERDICT_ALARM] = 3,
                                [VERDICT_MISSED] = 4};
    return order[v];
}

/* Is a the worse of two judgements of one requirement?  Shares of nominal are compared exactly. */
static bool worse(const struct scheme_requirement *r, const struct judgement *a,
                  const struct judgement *b)
{
    if (a->verdict != b->verdict)
        return badness(a->verdict) > badness(b->verdict);
    if (a->ppm != NONE && b->ppm != NONE && a->ppm != b->ppm)
        return a->ppm < b->ppm;
    if (r->op == SCHEME_OF_NOMINAL && a->value && b->value && a->value->nominal != NONE &&
        b->value->nominal != NONE) {
        int order =
            wide_compare(a->value->value, b->value->nominal, b->value->value, a->value->nominal);
        return a->verdict == VERDICT_ALARM ? order > 0 : order < 0;
    }
    return false;
}

static struct judgement not_done(const struct scheme_requirement *r, int section, enum why why)
{
    return (struct judgement){.verdict = r->where_done ? VERDICT_IDLE : VERDICT_UNTESTED,
                              .why = why,
                              .section = section,
                              .ppm = NONE};
}

static struct judgement judge_sections(const struct scheme *s, const struct scheme_requirement *r,
                                       const struct quantity *q, const struct grade_input *in)
{
    struct judgement worst = {.verdict = VERDICT_IDLE, .ppm = NONE};
    int first, last;
    sections_of(q, in, &first, &last);
    for (int n = first; n <= last; n++) {
        const struct grade_value *v = judge_value(in, q->code, n);
        struct judgement j = {.verdict = VERDICT_MET, .value = v, .section = n, .ppm = NONE};
        if (!v || !v->tested)
            j = not_done(r, n, WHY_NOT_DONE);
        else if (r->op != SCHEME_TESTED)
            j = judge_one(s, r, v);
        if (n == first || worse(r, &j, &worst))
            worst = j;
    }
    if (r->op == SCHEME_TESTED && worst.verdict == VERDICT_MET)
        worst.section = 0; /* all of them */
    return worst;
}

static struct judgement judge_balance(const struct scheme *s, const struct scheme_requirement *r,
                                      const struct quantity *q, const struct grade_input *in)
{
    struct judgement j = {.verdict = VERDICT_IDLE, .ppm = NONE};
    int tested = 0;
    for (int n = 1; n <= in->sections; n++) {
        const struct grade_value *v = judge_value(in, q->code, n);
        if (!v || !v->tested) {
            if (in->sections > 1 && !r->where_done)
                return not_done(r, n, WHY_NOT_DONE);
            continue;
        }
        tested++;
        j.value = j.value && j.value->value <= v->value ? j.value : v;
        j.other = j.other && j.other->value >= v->value ? j.other : v;
    }
    if (tested < 2)
        return j;
    int64_t low = j.value->value, high = j.other->value;
    bool ok = high == low || (low > 0 && wide_compare(high - low, MARGIN, r->high, low) <= 0);
    j.verdict = ok ? VERDICT_MET : VERDICT_MISSED;
    /* what the calibration leaves uncertain is a gain common to both and cancels in a ratio */
    int64_t ul = j.value->own_u, uh = j.other->own_u;
    if (low > 0 && ul != NONE && uh != NONE && ul > 0 && uh > 0 && j.value != j.other)
        j.ppm = conformity_pair_ppm(low * 1000, ul, high * 1000, uh, r->high);
    mark_borderline(s, &j);
    return j;
}

static struct judgement drift_one(const struct scheme *s, const struct scheme_requirement *r,
                                  const struct grade_value *v, const struct grade_input *in)
{
    struct judgement j = {.value = v, .section = v->section, .ppm = NONE};
    int64_t change = v->value - v->before, u = 0, allowed;
    int64_t share = r->high * in->burn_in_min; /* millionths an hour * minutes */
    bool ok = wide_compare(change < 0 ? -change : change, INT64_C(60000000), share, v->before) <= 0;
    j.verdict = ok ? VERDICT_MET : VERDICT_MISSED;
    if (v->own_u != NONE && v->before_u != NONE)
        u = conformity_u(v->own_u, v->before_u);
    struct err e;
    if (u > 0 && wide_mul_div(&allowed, v->before * 1000, share, INT64_C(60000000), &e) &&
        allowed < SCHEME_VALUE_MOST * 1000)
        j.ppm = conformity_ppm(change * 1000 + allowed, allowed - change * 1000, u);
    mark_borderline(s, &j);
    return j;
}

static struct judgement judge_drift(const struct scheme *s, const struct scheme_requirement *r,
                                    const struct quantity *q, const struct grade_input *in)
{
    struct judgement worst = {.verdict = VERDICT_IDLE, .ppm = NONE};
    int first, last;
    sections_of(q, in, &first, &last);
    for (int n = first; n <= last; n++) {
        const struct grade_value *v = judge_value(in, q->code, n);
        struct judgement j;
        if (!v || !v->tested)
            j = not_done(r, n, WHY_NOT_DONE);
        else if (in->burn_in_min == 0 || v->before == NONE || v->before <= 0)
            j = not_done(r, n, WHY_NO_BURN_IN);
        else
            j = drift_one(s, r, v, in);
        if (n == first || worse(r, &j, &worst))
            worst = j;
    }
    return worst;
}

/* ---- what is not a number -----------------------------------------------------------------------
 */
static struct judgement judge_look(const struct scheme_requirement *r, const struct grade_input *in)
{
    struct judgement j = {.verdict = VERDICT_MET, .ppm = NONE};
    int first = (int)inspection_first(r->aspect), last = first + inspection_count(r->aspect) - 1;
    if (!inspection_looked(&in->look, r->aspect))
        return not_done(r, 0, WHY_NOT_LOOKED);
    for (int f = first; f <= last; f++) {
        unsigned flags = inspection_finding((enum finding)f)->flags;
        if (!in->look.seen[f])
            continue;
        if (flags & FINDING_NOT_JUDGED)
            return not_done(r, 0, WHY_NOT_JUDGED);
        if (flags & FINDING_NOT_APPLICABLE)
            j.verdict = VERDICT_IDLE;
        else if (flags & FINDING_NEVER_LOWERS)
            continue;
        else if (r->op == SCHEME_NOT_IN ? r->named[f] : f > (int)r->least)
            j.verdict = VERDICT_MISSED;
    }
    return j;
}

/* A test whose own result nobody noted counts as made where its quantity was measured and this very
 * grade holds the value against something: a grid current that nothing judges clears no gas. */
static bool cleared_by_value(const struct scheme *s, const struct scheme_requirement *r,
                             const struct grade_input *in)
{
    const struct scheme_grade *g = &s->grade[r->grade];
    if (!judge_test_done(in, r->test))
        return false;
    for (int i = g->first; i < g->first + g->count; i++) {
        const struct scheme_requirement *by = &s->requirement[i];
        if ((by->op != SCHEME_RANGE && by->op != SCHEME_LIMITS) ||
            strcmp(by->quantity[0]->code, scheme_test_quantity(r->test)) != 0)
            continue;
        enum verdict v = judge_sections(s, by, by->quantity[0], in).verdict;
        if (v == VERDICT_MET || v == VERDICT_MISSED)
            return true;
    }
    return false;
}

static struct judgement judge_clear(const struct scheme *s, const struct scheme_requirement *r,
                                    const struct grade_input *in)
{
    struct judgement j = {.ppm = NONE};
    switch (in->tests[r->test]) {
    case TEST_CLEAR:
        return j;
    case TEST_FOUND:
        j.verdict = VERDICT_MISSED;
        return j;
    case TEST_NOT_APPLICABLE:
        j.verdict = VERDICT_IDLE;
        return j;
    case TEST_NOT_DONE:
        break;
    }
    return cleared_by_value(s, r, in) ? j : not_done(r, 0, WHY_NOT_DONE);
}

static struct judgement judge_unquestioned(const struct grade_input *in)
{
    struct judgement j = {.ppm = NONE};
    for (size_t i = 0; i < in->value_count && !j.value; i++)
        if (in->values[i].tested && in->values[i].questioned) {
            j.verdict = VERDICT_MISSED;
            j.value = &in->values[i];
        }
    return j;
}

static struct judgement judge_hours(const struct scheme_requirement *r,
                                    const struct grade_input *in)
{
    if (in->burn_in_min == 0)
        return not_done(r, 0, WHY_NO_BURN_IN);
    return (struct judgement){.verdict = in->burn_in_min >= r->low ? VERDICT_MET : VERDICT_MISSED,
                              .ppm = NONE};
}

struct judgement judge_requirement(const struct scheme *s, const struct scheme_requirement *r,
                                   const struct grade_input *in)
{
    struct judgement j = {.ppm = NONE};
    const struct quantity *q = r->quantity_count ? quantity_pick(r, in) : NULL;
    switch (r->op) {
    case SCHEME_AT_LEAST:
    case SCHEME_NOT_IN:
        j = judge_look(r, in);
        break;
    case SCHEME_CLEAR:
        j = judge_clear(s, r, in);
        break;
    case SCHEME_TESTED:
    case SCHEME_OF_NOMINAL:
    case SCHEME_NEAR_NOMINAL:
    case SCHEME_LIMITS:
    case SCHEME_RANGE:
        j = judge_sections(s, r, q, in);
        break;
    case SCHEME_BALANCE:
        j = judge_balance(s, r, q, in);
        break;
    case SCHEME_DRIFT:
        j = judge_drift(s, r, q, in);
        break;
    case SCHEME_HOURS:
        j = judge_hours(r, in);
        break;
    case SCHEME_UNQUESTIONED:
        j = judge_unquestioned(in);
        break;
    case SCHEME_OP__COUNT:
        assert(false && "an op without a judge");
    }
    j.quantity = q;
    return j;
}
