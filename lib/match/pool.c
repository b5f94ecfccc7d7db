/* SPDX-License-Identifier: MIT
 *
 * pool: limits worked out once per tube, so that holding together is a matter of comparisons.
 *
 * high holds with low exactly when high <= limit(low), limit being the floor of low + band; so the
 * wide products are needed only n * d times.
 */
#include "match/pool.h"

#include <string.h>

#define ROOM (INT64_C(1) << 61)

/* Can every product in pool_span of values between low and high stay below 2^61? */
static bool fits(const struct match_band *b, int64_t low, int64_t high, int64_t top_factor)
{
    if (b->num == 0)
        return false;
    int64_t spread = high - low;
    int64_t magnitude = b->kind == MATCH_RELATIVE ? high : 1;
    return spread <= ROOM / top_factor && magnitude <= ROOM / b->num;
}

static void scale_set(struct pool *q, size_t j, const struct match_band *b)
{
    struct pool_scale *s = &q->scale[j];
    size_t d = (size_t)q->d;
    int64_t low = q->n > 0 ? q->value[j] : 0;
    int64_t high = low;
    for (size_t i = 0; i < (size_t)q->n; i++) {
        int64_t v = q->value[i * d + j];
        q->limit[i * d + j] = match_band_limit(b, v);
        low = v < low ? v : low;
        high = v > high ? v : high;
    }
    s->band = *b;
    s->top_factor = MATCH_COST_UNIT * (b->kind == MATCH_RELATIVE ? b->den : 1);
    s->narrow = fits(b, low, high, s->top_factor);
}

static bool one_class(const struct match_problem *p, const int *tube, int n)
{
    for (int i = 1; i < n; i++) {
        if (p->class_of[tube[i]] != p->class_of[tube[0]])
            return false;
    }
    return true;
}

struct pool *pool_new(const struct match_problem *p, const int *tube, int n, struct arena *a)
{
    static const struct match_band same = {.kind = MATCH_ABSOLUTE, .num = 0, .den = 1};
    struct pool *q = arena_alloc(a, sizeof *q);
    size_t given = (size_t)p->coordinates;
    size_t d = given + (one_class(p, tube, n) ? 0 : 1);
    q->n = n;
    q->d = (int)d;
    q->tube = arena_array(a, (size_t)n, sizeof *q->tube);
    q->value = arena_array(a, (size_t)n * d, sizeof *q->value);
    q->limit = arena_array(a, (size_t)n * d, sizeof *q->limit);
    q->scale = arena_array(a, d, sizeof *q->scale);
    for (size_t i = 0; i < (size_t)n; i++) {
        q->tube[i] = tube[i];
        memcpy(q->value + i * d, p->value + (size_t)tube[i] * given, given * sizeof *q->value);
        if (d > given)
            q->value[i * d + given] = p->class_of[tube[i]];
    }
    for (size_t j = 0; j < d; j++)
        scale_set(q, j, j < given ? &p->band[j] : &same);
    return q;
}

struct pool *pool_part(const struct pool *q, const int *number, int n, struct arena *a)
{
    struct pool *part = arena_alloc(a, sizeof *part);
    size_t d = (size_t)q->d;
    *part = (struct pool){.n = n, .d = q->d, .scale = q->scale};
    part->tube = arena_array(a, (size_t)n, sizeof *part->tube);
    part->value = arena_array(a, (size_t)n * d, sizeof *part->value);
    part->limit = arena_array(a, (size_t)n * d, sizeof *part->limit);
    for (size_t i = 0; i < (size_t)n; i++) {
        part->tube[i] = q->tube[number[i]];
        memcpy(part->value + i * d, pool_row(q, number[i]), d * sizeof *part->value);
        memcpy(part->limit + i * d, pool_limits(q, number[i]), d * sizeof *part->limit);
    }
    return part;
}

int64_t pool_pair_cost(const struct pool *q, int a, int b)
{
    const int64_t *x = pool_row(q, a);
    const int64_t *y = pool_row(q, b);
    int64_t sum = 0;
    for (int j = 0; j < q->d; j++)
        sum +=
            x[j] < y[j] ? pool_span(&q->scale[j], x[j], y[j]) : pool_span(&q->scale[j], y[j], x[j]);
    return sum;
}

bool pool_set_holds(const struct pool *q, const int *member, int size, int64_t *cost)
{
    int64_t sum = 0;
    for (int j = 0; j < q->d; j++) {
        int low = member[0];
        int64_t high = pool_row(q, low)[j];
        for (int m = 1; m < size; m++) {
            int64_t v = pool_row(q, member[m])[j];
            high = v > high ? v : high;
            low = v < pool_row(q, low)[j] ? member[m] : low;
        }
        if (high > pool_limits(q, low)[j])
            return false;
        if (cost != NULL)
            sum += pool_span(&q->scale[j], pool_row(q, low)[j], high);
    }
    if (cost != NULL)
        *cost = sum;
    return true;
}
