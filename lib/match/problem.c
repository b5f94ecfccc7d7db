/* SPDX-License-Identifier: MIT
 *
 * problem: the exact predicates, and what is refused.
 *
 * Values reach 10^18 and the parts of a band 10^9, so products stay below 2^127: one wide product
 * on either side of a comparison decides it, and no rounding takes part before the one that the
 * definition of the cost asks for.
 */
#include "match/problem.h"

#include "base/decimal.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

__extension__ typedef unsigned __int128 wide;

bool match_band_holds(const struct match_band *b, int64_t low, int64_t high)
{
    int64_t spread = high - low;
    if (spread == 0)
        return true;
    if (b->kind == MATCH_ABSOLUTE)
        return spread <= b->num;
    return low > 0 &&
           (wide)(uint64_t)spread * (uint64_t)b->den <= (wide)(uint64_t)low * (uint64_t)b->num;
}

int64_t match_band_limit(const struct match_band *b, int64_t low)
{
    if (b->kind == MATCH_ABSOLUTE)
        return low + b->num;
    if (low <= 0)
        return low;
    wide over = (wide)(uint64_t)low * (uint64_t)b->num / (uint64_t)b->den;
    return over > (wide)(INT64_MAX - low) ? INT64_MAX : low + (int64_t)over;
}

int64_t match_band_cost(const struct match_band *b, int64_t low, int64_t high)
{
    uint64_t spread = (uint64_t)high - (uint64_t)low;
    if (spread == 0)
        return 0;
    if (b->num == 0 || (b->kind == MATCH_RELATIVE && low <= 0))
        return MATCH_COST_WORST;
    wide top = (wide)spread * (uint64_t)MATCH_COST_UNIT;
    wide bottom = (wide)(uint64_t)b->num;
    if (b->kind == MATCH_RELATIVE) {
        top *= (uint64_t)b->den;
        bottom *= (uint64_t)low;
    }
    wide whole = top / bottom;
    wide rest = top % bottom;
    whole += rest >= bottom - rest;
    return whole > (wide)MATCH_COST_WORST ? MATCH_COST_WORST : (int64_t)whole;
}

bool match_set_holds(const struct match_problem *p, const int *member, int size, int64_t *cost)
{
    int64_t sum = 0;
    for (int m = 1; m < size; m++) {
        if (p->class_of[member[m]] != p->class_of[member[0]])
            return false;
    }
    for (int j = 0; j < p->coordinates; j++) {
        int64_t low = INT64_MAX;
        int64_t high = INT64_MIN;
        for (int m = 0; m < size; m++) {
            int64_t v = p->value[(size_t)member[m] * (size_t)p->coordinates + (size_t)j];
            low = v < low ? v : low;
            high = v > high ? v : high;
        }
        if (!match_band_holds(&p->band[j], low, high))
            return false;
        sum += match_band_cost(&p->band[j], low, high);
    }
    if (cost != NULL)
        *cost = sum;
    return true;
}

/* ---- order ---------------------------------------------------------------------------------- */

static int compare_ids(const void *a, const void *b, void *ctx)
{
    const char *const *id = ctx;
    return strcmp(id[*(const int *)a], id[*(const int *)b]);
}

bool match_problem_sort(struct match_problem *p, struct arena *a, struct err *e)
{
    size_t n = (size_t)p->tubes;
    size_t d = (size_t)p->coordinates;
    int *order = arena_array(a, n, sizeof *order);
    const char **id = arena_array(a, n, sizeof *id);
    int32_t *class_of = arena_array(a, n, sizeof *class_of);
    int64_t *value = arena_array(a, n * d, sizeof *value);
    int64_t *row = arena_array(a, n, sizeof *row);
    for (size_t i = 0; i < n; i++)
        order[i] = (int)i;
    qsort_r(order, n, sizeof *order, compare_ids, (void *)(uintptr_t)p->id);
    for (size_t i = 0; i < n; i++) {
        size_t from = (size_t)order[i];
        id[i] = p->id[from];
        class_of[i] = p->class_of[from];
        row[i] = p->row != NULL ? p->row[from] : (int64_t)from + 1;
        memcpy(value + i * d, p->value + from * d, d * sizeof *value);
    }
    for (size_t i = 1; i < n; i++) {
        if (strcmp(id[i - 1], id[i]) == 0) {
            int64_t first = row[i - 1] < row[i] ? row[i - 1] : row[i];
            int64_t second = row[i - 1] < row[i] ? row[i] : row[i - 1];
            err_field(e, "id", ERR_CONFLICT,
                      "id \"%.60s\" stands twice, in lines %lld and %lld: each tube once", id[i],
                      (long long)first, (long long)second);
            if (e != NULL)
                e->line = second;
            return false;
        }
    }
    p->id = id;
    p->class_of = class_of;
    p->value = value;
    p->row = row;
    return true;
}

/* ---- what is refused ------------------------------------------------------------------------- */

bool match_band_check(const struct match_band *b, const char *column, struct err *e)
{
    if (b->kind == MATCH_ABSOLUTE) {
        if (b->num < 0 || b->num > MATCH_VALUE)
            return err_field(e, column, ERR_INVALID,
                             "the absolute band of %s is %lld last decimals; it must be 0 to 10^18",
                             column, (long long)b->num);
        return true;
    }
    if (b->kind != MATCH_RELATIVE || b->den < 1 || b->den > MATCH_BAND_PART || b->num < 0 ||
        b->num > MATCH_BAND_PART || b->num / b->den > 10 ||
        (b->num / b->den == 10 && b->num % b->den > 0))
        return err_field(e, column, ERR_INVALID,
                         "the relative band of %s is %lld/%lld; it must be 0 to 1000 %%", column,
                         (long long)b->num, (long long)b->den);
    return true;
}

static bool demand_check(const struct match_problem *p, struct err *e)
{
    if (p->lines < 1 || p->lines > MATCH_LINES)
        return err_field(e, "demand", ERR_INVALID, "the demand has %d lines; it must have 1 to %d",
                         p->lines, MATCH_LINES);
    for (int l = 0; l < p->lines; l++) {
        if (p->demand[l].size < 2 || p->demand[l].size > MATCH_SIZE)
            return err_field(e, "demand", ERR_INVALID,
                             "the demand asks for sets of %d; a set has 2 to %d tubes",
                             p->demand[l].size, MATCH_SIZE);
        if (p->demand[l].limit < 0 && p->demand[l].limit != MATCH_ANY)
            return err_field(e, "demand", ERR_INVALID,
                             "the demand asks for %lld sets of %d; give 0 or more, or *",
                             (long long)p->demand[l].limit, p->demand[l].size);
        for (int other = 0; other < l; other++) {
            if (p->demand[other].size == p->demand[l].size)
                return err_field(e, "demand", ERR_INVALID,
                                 "the demand asks for sets of %d twice; give each size once",
                                 p->demand[l].size);
        }
    }
    return true;
}

static bool value_check(const struct match_problem *p, int i, int j, struct err *e)
{
    int64_t v = p->value[(size_t)i * (size_t)p->coordinates + (size_t)j];
    int64_t row = p->row != NULL ? p->row[i] : i + 1;
    char shown[DECIMAL_BYTES];
    bool ok = true;
    if (v > MATCH_VALUE || v < -MATCH_VALUE)
        ok = err_field(e, p->column[j], ERR_TOO_LARGE,
                       "line %lld, column %s, tube %.40s: a value beyond 10^18 last decimals",
                       (long long)row, p->column[j], p->id[i]);
    else if (p->band[j].kind == MATCH_RELATIVE && v <= 0)
        ok = err_field(
            e, p->column[j], ERR_INVALID,
            "line %lld, column %s, tube %.40s: the value is %s, and a band in per cent needs "
            "values above zero; give this column an absolute band",
            (long long)row, p->column[j], p->id[i],
            decimal_print(shown, v, p->decimals != NULL ? p->decimals[j] : 0));
    if (!ok && e != NULL)
        e->line = row;
    return ok;
}

bool match_problem_check(const struct match_problem *p, struct err *e)
{
    if (p->tubes < 0 || p->tubes > MATCH_TUBES)
        return err_set(e, ERR_TOO_LARGE,
                       "%d tubes are too many for one problem; at most %d are taken", p->tubes,
                       MATCH_TUBES);
    if (p->coordinates < 1 || p->coordinates > MATCH_COORDINATES)
        return err_set(e, ERR_INVALID, "%d quantities to match by; there must be 1 to %d",
                       p->coordinates, MATCH_COORDINATES);
    if (!demand_check(p, e))
        return false;
    for (int j = 0; j < p->coordinates; j++) {
        if (!match_band_check(&p->band[j], p->column[j], e))
            return false;
    }
    for (int i = 0; i < p->tubes; i++) {
        if (i > 0 && strcmp(p->id[i - 1], p->id[i]) >= 0)
            return err_field(e, "id", ERR_INVALID,
                             "tubes are not in ascending order of id: \"%.60s\" after \"%.60s\"",
                             p->id[i], p->id[i - 1]);
        for (int j = 0; j < p->coordinates; j++) {
            if (!value_check(p, i, j, e))
                return false;
        }
    }
    return true;
}
