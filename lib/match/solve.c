/* SPDX-License-Identifier: MIT
 *
 * solve: bounds first, then a search that fills all lines of the demand together.
 */
#include "match/draw.h"

#include "match/solve.h"

#include "match/bound.h"
#include "match/pairs.h"
#include "match/sets.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#define NEIGHBOURS 24 /* a tube is offered to the sets of so many nearest ones */

struct work {
    const struct match_problem *p;
    const struct match_options *o;
    struct match_answer *out;
    struct arena *arena;   /* of the caller: what the answer is made of */
    struct arena *scratch; /* dies with the solving */
    const struct pool *pool;
    const struct near_tree *tree;
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

static void answer_add(struct work *w, int line, const int *pool_member)
{
    struct match_answer *out = w->out;
    int size = w->p->demand[line].size;
    int *member = arena_array(w->arena, (size_t)size, sizeof *member);
    for (int m = 0; m < size; m++)
        member[m] = w->pool->tube[pool_member[m]];
    qsort(member, (size_t)size, sizeof *member, compare_ints);
    struct match_set *set = &out->set[out->sets++];
    *set = (struct match_set){.line = line, .member = member};
    bool holds = match_set_holds(w->p, member, size, &set->cost);
    assert(holds); /* the search and the definition agree, or no answer leaves */
    out->cost += set->cost;
    out->found[line]++;
}

static void answer_take(struct work *w, const struct sets *s)
{
    w->out->set = arena_array(w->arena, (size_t)s->count, sizeof *w->out->set);
    for (int i = 0; i < s->count; i++) {
        if (s->holds[i])
            answer_add(w, s->line[i], s->slot + s->start[i]);
    }
    qsort(w->out->set, (size_t)w->out->sets, sizeof *w->out->set, compare_sets);
}

/* ---- lines ----------------------------------------------------------------------------------- */

static void bounds_set(struct work *w)
{
    for (int l = 0; l < w->p->lines; l++) {
        const struct match_line *line = &w->p->demand[l];
        int64_t most = bound_sets(w->tree, line->size, NULL, w->scratch);
        if (line->limit != MATCH_ANY)
            most = least(most, line->limit);
        w->out->bound[l] = most;
    }
}

/* What the lines before leave bounds a line too; those before have been found as they are. */
static void bounds_tighten(struct work *w)
{
    int64_t left = w->p->tubes;
    w->out->count_proven = true;
    for (int l = 0; l < w->p->lines; l++) {
        w->out->bound[l] = least(w->out->bound[l], left / w->p->demand[l].size);
        left -= w->out->found[l] * w->p->demand[l].size;
        if (w->out->found[l] < w->out->bound[l])
            w->out->count_proven = false;
    }
    w->out->why = w->out->count_proven
                      ? "as many sets were found as the bound allows; their cost is the least met"
                      : "the bound allows more sets than the search found";
}

static struct sets *plan(struct work *w)
{
    int *size = arena_array(w->scratch, (size_t)w->pool->n + 1, sizeof *size);
    int *line = arena_array(w->scratch, (size_t)w->pool->n + 1, sizeof *line);
    int count = 0;
    int64_t left = w->pool->n;
    for (int l = 0; l < w->p->lines; l++) {
        int k = w->p->demand[l].size;
        for (int64_t s = 0; s < w->out->bound[l] && left >= k; s++) {
            size[count] = k;
            line[count++] = l;
            left -= k;
        }
    }
    return sets_new(w->pool, count, size, line, w->p->lines, w->scratch);
}

static void search(struct work *w)
{
    struct draw draw = {.state = w->o->seed};
    struct sets_search how = {.draw = &draw,
                              .iterations = w->o->iterations,
                              .pace = w->o->pace,
                              .ctx = w->o->ctx,
                              .pace_to = MATCH_WHOLE,
                              .bound = w->out->bound};
    if (how.iterations == 0)
        how.iterations = MATCH_ITERATIONS * (int64_t)w->pool->n;
    struct near_table *near = near_table_new(w->tree, NEIGHBOURS, w->scratch);
    struct sets *s = plan(w);
    sets_fill(s, near, w->scratch);
    (void)sets_anneal(s, near, &how, w->scratch);
    answer_take(w, s);
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
    out->set = arena_array(w->arena, (size_t)w->pool->n / 2, sizeof *out->set);
    for (int i = 0; i < w->pool->n; i++) {
        const int pair[2] = {i, r->mate[i]};
        if (i < r->mate[i])
            answer_add(w, 0, pair);
    }
    if (!r->proven) {
        bounds_set(w);
        bounds_tighten(w);
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
    if (p->lines == 1 && p->demand[0].size == 2 && p->demand[0].limit == MATCH_ANY) {
        solve_pairs(&w);
    } else {
        bounds_set(&w);
        search(&w);
        bounds_tighten(&w);
    }
    arena_free(w.scratch);
    return true;
}
