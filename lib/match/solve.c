/* SPDX-License-Identifier: MIT
 *
 * solve: what can be solved apart is.
 *
 * A demand for one size without a limit falls into the components of the graph of pairs that hold;
 * each is solved and proven by itself.  A limit or several lines tie all components together.
 */
#include "match/solve.h"

#include "match/bound.h"
#include "match/pairs.h"
#include "match/part.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

struct work {
    const struct match_problem *p;
    const struct match_options *o;
    struct match_answer *out;
    struct arena *arena;   /* of the caller: what the answer is made of */
    struct arena *scratch; /* dies with the solving */
    const struct pool *pool;
    const struct near_tree *tree;
    int64_t iterations;
    bool stopped;
};

static int64_t least(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

/* ---- the answer ------------------------------------------------------------------------------ */

static int compare_ints(const void *a, const void *b)
{
    int x = *(const int *)a;
    int y = *(const int *)b;
    return (x > y) - (x < y);
}

static int compare_sets(const void *a, const void *b)
{
    const struct match_set *x = a;
    const struct match_set *y = b;
    return x->line != y->line ? (x->line < y->line ? -1 : 1)
                              : (x->member[0] > y->member[0]) - (x->member[0] < y->member[0]);
}

static void answer_add(struct work *w, const struct pool *pool, int line, const int *pool_member)
{
    struct match_answer *out = w->out;
    int size = w->p->demand[line].size;
    int *member = arena_array(w->arena, (size_t)size, sizeof *member);
    for (int m = 0; m < size; m++)
        member[m] = pool->tube[pool_member[m]];
    qsort(member, (size_t)size, sizeof *member, compare_ints);
    struct match_set *set = &out->set[out->sets++];
    *set = (struct match_set){.line = line, .member = member};
    bool holds = match_set_holds(w->p, member, size, &set->cost);
    assert(holds); /* the search and the definition agree, or no answer leaves */
    out->cost += set->cost;
    out->found[line]++;
}

static void answer_room(struct work *w, int sets)
{
    w->out->set = arena_array(w->arena, (size_t)sets, sizeof *w->out->set);
}

static void answer_sort(struct work *w)
{
    qsort(w->out->set, (size_t)w->out->sets, sizeof *w->out->set, compare_sets);
}

/* ---- pairs alone ----------------------------------------------------------------------------- */

static bool pairs_pace(void *ctx)
{
    const struct work *w = ctx;
    struct match_progress progress = {.bound = w->out->bound[0]};
    return w->o->pace == NULL || w->o->pace(w->o->ctx, &progress) < MATCH_WHOLE;
}

static void pairs_take(struct work *w, const struct pairs *r)
{
    struct match_answer *out = w->out;
    answer_room(w, w->pool->n / 2);
    for (int i = 0; i < w->pool->n; i++) {
        const int pair[2] = {i, r->mate[i]};
        if (i < r->mate[i])
            answer_add(w, w->pool, 0, pair);
    }
    if (!r->proven) {
        out->bound[0] = bound_sets(w->tree, 2, NULL, w->scratch);
        out->count_proven = out->found[0] == out->bound[0];
        out->why = "the time was spent before the pairing was proven";
        return;
    }
    struct match_certificate *c = arena_alloc(w->arena, sizeof *c);
    *c = r->certificate;
    out->certificate = c;
    out->bound[0] = out->found[0];
    out->count_proven = out->cost_proven = true;
    out->why = "the prices of the matching cover every pair that holds";
}

static void solve_pairs(struct work *w)
{
    const struct match_problem *p = w->p;
    struct pairs r = {0};
    int64_t reward = (int64_t)(p->tubes / 2) * p->coordinates * MATCH_COST_UNIT + 1;
    w->out->bound[0] = p->tubes / 2;
    pairs_solve(w->tree, reward, pairs_pace, w, w->arena, &r);
    pairs_take(w, &r);
}

/* ---- parts ----------------------------------------------------------------------------------- */

static void part_take(struct work *w, const struct near_tree *t, struct part_budget *budget,
                      struct arena *a)
{
    struct match_answer *out = w->out;
    const struct part *part = part_solve(t, w->p->demand, w->p->lines, budget, a);
    for (int s = 0; s < part->sets; s++)
        answer_add(w, t->pool, part->line[s], part->member + part->start[s]);
    for (int l = 0; l < w->p->lines; l++)
        out->bound[l] += part->bound[l];
    out->count_proven = out->count_proven && part->count_proven;
    out->cost_proven = out->cost_proven && part->cost_proven;
    w->stopped = budget->stopped;
}

static void why_set(struct match_answer *out)
{
    out->cost_proven = out->cost_proven && out->count_proven;
    if (out->cost_proven)
        out->why =
            out->cost == 0
                ? "as many sets were found as the bound allows, and they cost nothing"
                : "all sets that hold were listed, and branch and bound left no better choice";
    else if (out->count_proven)
        out->why = "as many sets were found as the bound allows; their cost is the least met";
    else
        out->why = "the bound allows more sets than the search found";
}

static void solve_whole(struct work *w)
{
    struct part_budget budget = {.seed = w->o->seed,
                                 .iterations = w->iterations,
                                 .pace = w->o->pace,
                                 .ctx = w->o->ctx,
                                 .to = MATCH_WHOLE};
    part_take(w, w->tree, &budget, w->scratch);
}

/* The components that can hold a set, each with its share of the budget by its number of tubes. */
static void solve_components(struct work *w)
{
    int n = w->pool->n;
    int size = w->p->demand[0].size;
    int *component = arena_array(w->scratch, (size_t)n, sizeof *component);
    int count = near_components(w->tree, component, w->scratch);
    int *start = arena_array(w->scratch, (size_t)count + 2, sizeof *start);
    int *by = arena_array(w->scratch, (size_t)n, sizeof *by);
    int64_t whole = 0;
    for (int i = 0; i < n; i++)
        start[component[i] + 2]++;
    for (int c = 0; c < count; c++) {
        whole += start[c + 2] >= size ? start[c + 2] : 0;
        start[c + 2] += start[c + 1];
    }
    for (int i = 0; i < n; i++)
        by[start[component[i] + 1]++] = w->pool->tube[i];
    int64_t before = 0;
    for (int c = 0; c < count; c++) {
        int tubes = start[c + 1] - start[c];
        if (tubes < size)
            continue;
        struct part_budget budget = {.seed = w->o->seed + (uint64_t)c,
                                     .iterations = w->iterations / whole * tubes + tubes,
                                     .pace = w->o->pace,
                                     .ctx = w->o->ctx,
                                     .from = before * MATCH_WHOLE / whole,
                                     .to = (before + tubes) * MATCH_WHOLE / whole};
        struct arena *a = arena_new();
        const struct pool *pool = pool_new(w->p, by + start[c], tubes, a);
        part_take(w, near_new(pool, a), &budget, a);
        arena_free(a);
        before += tubes;
    }
}

static void solve_parts(struct work *w)
{
    const struct match_problem *p = w->p;
    w->iterations = w->o->iterations;
    if (w->iterations == 0)
        w->iterations = MATCH_ITERATIONS * (int64_t)p->tubes;
    if (w->o->iterations == 0 && w->iterations > MATCH_ITERATIONS_MOST)
        w->iterations = MATCH_ITERATIONS_MOST;
    w->iterations = least(w->iterations, INT64_MAX / 4); /* room for sums */
    w->out->count_proven = w->out->cost_proven = true;
    answer_room(w, p->tubes / 2);
    if (p->lines == 1 && p->demand[0].limit == MATCH_ANY)
        solve_components(w);
    else
        solve_whole(w);
    answer_sort(w);
    why_set(w->out);
}

bool match_solve(const struct match_problem *p, const struct match_options *o, struct arena *arena,
                 struct match_answer *out, struct err *e)
{
    if (!match_problem_check(p, e))
        return false;
    *out = (struct match_answer){0};
    out->found = arena_array(arena, (size_t)p->lines, sizeof *out->found);
    out->bound = arena_array(arena, (size_t)p->lines, sizeof *out->bound);
    struct work w = {.p = p, .o = o, .out = out, .arena = arena, .scratch = arena_new()};
    int *all = arena_array(w.scratch, (size_t)p->tubes, sizeof *all);
    for (int i = 0; i < p->tubes; i++)
        all[i] = i;
    w.pool = pool_new(p, all, p->tubes, w.scratch);
    w.tree = near_new(w.pool, w.scratch);
    if (p->lines == 1 && p->demand[0].size == 2 && p->demand[0].limit == MATCH_ANY)
        solve_pairs(&w);
    else
        solve_parts(&w);
    arena_free(w.scratch);
    return true;
}
