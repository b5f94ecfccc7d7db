/* SPDX-License-Identifier: MIT
 *
 * match_case: problems for the tests of matching, made by rule from a number, and the exhaustive
 * search that they are compared with.
 */
#ifndef QUADRILLE_TESTS_MATCH_CASE_H
#define QUADRILLE_TESTS_MATCH_CASE_H

#include "match/judge.h"
#include "match/sheet.h"
#include "match/solve.h"

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

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

/* A sample of tests/reference/match/bench, one band for all its quantities. */
static inline struct match_problem case_load(const char *file, struct match_band band,
                                             const struct match_line *demand, int lines,
                                             struct arena *a)
{
    char line[512];
    FILE *f = fopen(arena_printf(a, "tests/reference/match/bench/%s", file), "r");
    if (f == NULL)
        fail_msg("%s is missing: run from the top of the tree", file);
    struct sheet *s = NULL;
    struct err e = ERR_INIT;
    struct match_problem p;
    const char *bands = arena_printf(a, "%lld%%", (long long)(band.num * 100 / band.den));
    for (int64_t row = 1; fgets(line, sizeof line, f) != NULL; row++) {
        const char *field[8];
        size_t count = 0;
        for (char *part = strtok(line, ",\n"); part != NULL; part = strtok(NULL, ",\n"))
            field[count++] = part;
        if (row == 1 ? !(sheet_new(&s, field, count, &e) && sheet_choose(s, bands, "", &e))
                     : !sheet_add(s, row, field, count, &e))
            fail_msg("%s", e.text);
    }
    (void)fclose(f);
    if (!sheet_problem(s, demand, lines, a, &p, &e))
        fail_msg("%s", e.text);
    sheet_free(s);
    return p;
}

/* ---- exhaustive search -------------------------------------------------------------------------
 * The best of every subset of the tubes that matters, remembered by the subset: either the lowest
 * tube stays idle, or it is in one of its sets.  A value is the numbers of sets by line, six bits
 * each from the top, less the cost. */
#define CASE_EXHAUSTIVE 24
#define CASE_REMEMBERED (1U << 18)

struct exhaustive {
    const struct match_problem *p;
    unsigned *mask; /* [CASE_REMEMBERED] 0: free */
    int64_t *value;
    unsigned known;
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
    unsigned at = mask * 2654435761U & (CASE_REMEMBERED - 1);
    for (; x->mask[at] != 0; at = (at + 1) & (CASE_REMEMBERED - 1)) {
        if (x->mask[at] == mask)
            return x->value[at];
    }
    int first = __builtin_ctz(mask);
    unsigned rest = mask & (mask - 1);
    int64_t best = exhaustive_best(x, rest);
    for (int l = 0; l < x->p->lines; l++) {
        member[0] = first;
        int64_t value = exhaustive_extend(x, rest, l, member, 1);
        best = value > best ? value : best;
    }
    while (x->mask[at] != 0)
        at = (at + 1) & (CASE_REMEMBERED - 1);
    assert_true(++x->known < CASE_REMEMBERED / 2);
    x->mask[at] = mask;
    x->value[at] = best;
    return best;
}

/* The value of the best answer; p has at most CASE_EXHAUSTIVE tubes and no limits. */
static inline int64_t case_exhaustive(const struct match_problem *p, struct arena *a)
{
    struct exhaustive x = {.p = p};
    assert_true(p->tubes <= CASE_EXHAUSTIVE);
    x.mask = arena_array(a, CASE_REMEMBERED, sizeof *x.mask);
    x.value = arena_array(a, CASE_REMEMBERED, sizeof *x.value);
    return exhaustive_best(&x, (1U << p->tubes) - 1);
}

static inline int64_t case_value(const struct match_problem *p, const struct match_answer *out)
{
    int64_t value = -out->cost;
    for (int l = 0; l < p->lines; l++)
        value += out->found[l] * (INT64_C(1) << (56 - 6 * l));
    return value;
}

#endif
