/* SPDX-License-Identifier: MIT
 *
 * match_case: problems for the tests of matching, made by rule from a number, and the exhaustive
 * search that they are compared with.
 */
#ifndef QUADRILLE_TESTS_MATCH_CASE_H
#define QUADRILLE_TESTS_MATCH_CASE_H

#include "match/judge.h"
#include "match/solve.h"

#include <stdio.h>
#include <string.h>

/* A generator of our own, so that the tests do not lean on the engine's. */
static inline uint32_t case_random(uint64_t *state)
{
    *state = *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)(*state >> 33);
}

static inline int64_t case_between(uint64_t *state, int64_t low, int64_t high)
{
    return low + (int64_t)(case_random(state) % (uint32_t)(high - low + 1));
}

#define CASE_COORDINATES 4

struct case_shape {
    int tubes;
    int coordinates;
    int classes;
    int64_t low; /* values are even draws between low and high */
    int64_t high;
    struct match_band band;
    const struct match_line *demand;
    int lines;
};

static inline struct match_problem case_make(const struct case_shape *s, uint64_t seed,
                                             struct arena *a)
{
    static const char *const column[CASE_COORDINATES] = {"ia", "gm", "mu", "vg"};
    uint64_t state = seed * 2 + 1;
    const char **id = arena_array(a, (size_t)s->tubes, sizeof *id);
    int32_t *class_of = arena_array(a, (size_t)s->tubes, sizeof *class_of);
    int64_t *value = arena_array(a, (size_t)s->tubes * (size_t)s->coordinates, sizeof *value);
    struct match_band *band = arena_array(a, (size_t)s->coordinates, sizeof *band);
    for (int i = 0; i < s->tubes; i++) {
        id[i] = arena_printf(a, "T%05d", i);
        class_of[i] = (int32_t)case_between(&state, 0, s->classes - 1);
        for (int j = 0; j < s->coordinates; j++)
            value[i * s->coordinates + j] = case_between(&state, s->low, s->high);
    }
    for (int j = 0; j < s->coordinates; j++)
        band[j] = s->band;
    return (struct match_problem){.tubes = s->tubes,
                                  .coordinates = s->coordinates,
                                  .lines = s->lines,
                                  .id = id,
                                  .class_of = class_of,
                                  .value = value,
                                  .band = band,
                                  .demand = s->demand,
                                  .column = column};
}

/* ---- exhaustive search -------------------------------------------------------------------------
 * The best of every subset of at most CASE_EXHAUSTIVE tubes: a value is the numbers of sets by
 * line, one byte each from the top, less the cost. */
#define CASE_EXHAUSTIVE 14

struct exhaustive {
    const struct match_problem *p;
    int64_t *best; /* [2^tubes] -1 for not known yet; only for demands without limits */
};

static inline int64_t exhaustive_best(struct exhaustive *x, unsigned mask);

/* Extend member[0..have) by tubes of mask behind the last and take the best of all completions. */
static inline int64_t exhaustive_extend(struct exhaustive *x, unsigned mask, int line, int *member,
                                        int have)
{
    int64_t best = -1;
    int64_t cost;
    if (!match_set_holds(x->p, member, have, &cost))
        return -1;
    if (have == x->p->demand[line].size)
        return (INT64_C(1) << (56 - 6 * line)) - cost + exhaustive_best(x, mask);
    for (int i = member[have - 1] + 1; i < x->p->tubes; i++) {
        if ((mask >> i & 1) == 0)
            continue;
        member[have] = i;
        int64_t value = exhaustive_extend(x, mask & ~(1U << i), line, member, have + 1);
        best = value > best ? value : best;
    }
    return best;
}

static inline int64_t exhaustive_best(struct exhaustive *x, unsigned mask)
{
    int member[MATCH_SIZE];
    if (mask == 0)
        return 0;
    if (x->best[mask] >= 0)
        return x->best[mask];
    int first = __builtin_ctz(mask);
    unsigned rest = mask & (mask - 1);
    int64_t best = exhaustive_best(x, rest);
    for (int l = 0; l < x->p->lines; l++) {
        member[0] = first;
        int64_t value = exhaustive_extend(x, rest, l, member, 1);
        best = value > best ? value : best;
    }
    x->best[mask] = best;
    return best;
}

/* The value of the best answer; p has at most CASE_EXHAUSTIVE tubes and no limits. */
static inline int64_t case_exhaustive(const struct match_problem *p, struct arena *a)
{
    struct exhaustive x = {.p = p};
    size_t states = (size_t)1 << p->tubes;
    x.best = arena_array(a, states, sizeof *x.best);
    memset(x.best, 0xff, states * sizeof *x.best);
    return exhaustive_best(&x, (unsigned)(states - 1));
}

static inline int64_t case_value(const struct match_problem *p, const struct match_answer *out)
{
    int64_t value = -out->cost;
    for (int l = 0; l < p->lines; l++)
        value += out->found[l] * (INT64_C(1) << (56 - 6 * l));
    return value;
}

#endif
