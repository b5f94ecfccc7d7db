/* SPDX-License-Identifier: MIT
 *
 * part: search, and where all sets can be listed, proof.
 *
 * The annealed search finds an answer; bounds say how far it may be from the best.  Where the sets
 * that hold are few enough to be listed, branch and bound then asks for one more set of each line
 * in turn, until there is none, and last for the same numbers at less cost: what it leaves is
 * proven.
 */
#include "match/draw.h"

#include "match/part.h"

#include "match/bound.h"
#include "match/pack.h"
#include "match/pairs.h"
#include "match/sets.h"

#include <stdlib.h>
#include <string.h>

#define HOT          (MATCH_COST_UNIT * 3 / 10) /* the temperature at which a search begins */
#define HALVINGS     5                          /* how often it is halved */
#define POLISH       2                          /* halvings that polishing leaves out */
#define NEIGHBOURS   24        /* a tube is offered to the sets of so many nearest ones */
#define LISTED       80000     /* sets that are listed at most */
#define LISTED_STEPS 3000      /* of the search, a tube, before a proof is tried */
#define LOOKS        300000000 /* of branch and bound for one question, at most */
#define LOOKS_A_STEP 100       /* and so many for each step of the search */

struct work {
    struct part *p;
    struct part_budget *budget;
    struct arena *a;
    int64_t *alone; /* [lines] the most sets of that size, were there no other lines and no limit */
    int *want;
    int *chosen;
};

static int64_t least(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

/* ---- budget ---------------------------------------------------------------------------------- */

/* How much of the caller's budget is spent as the part comes to a new stage. */
static int64_t spent(struct work *w)
{
    struct match_progress progress = {
        .found = w->p->found[0], .bound = w->p->bound[0], .cost = w->p->cost};
    return w->budget->pace == NULL ? 0 : w->budget->pace(w->budget->ctx, &progress);
}

static bool pairs_pace(void *ctx)
{
    struct work *w = ctx;
    int64_t now = spent(w);
    w->budget->stopped = w->budget->stopped || now >= MATCH_WHOLE;
    return !w->budget->stopped;
}

/* ---- bounds ---------------------------------------------------------------------------------- */

/* The most pairs of all tubes; a bound where the pairing was stopped. */
static int64_t most_pairs(struct work *w)
{
    const struct pool *q = w->p->tree->pool;
    struct pairs r = {0};
    int64_t count = 0;
    pairs_solve(w->p->tree, (int64_t)(q->n / 2) * q->d * MATCH_COST_UNIT + 1, pairs_pace, w, w->a,
                &r);
    if (!r.proven)
        return bound_sets(w->p->tree, 2, NULL, w->a);
    for (int i = 0; i < q->n; i++)
        count += i < r.mate[i];
    return count;
}

static void bounds_set(struct work *w)
{
    struct part *p = w->p;
    w->alone = arena_array(w->a, (size_t)p->lines, sizeof *w->alone);
    for (int l = 0; l < p->lines; l++) {
        int size = p->demand[l].size;
        w->alone[l] = size == 2 ? most_pairs(w) : bound_sets(p->tree, size, NULL, w->a);
        p->bound[l] =
            p->demand[l].limit == MATCH_ANY ? w->alone[l] : least(w->alone[l], p->demand[l].limit);
    }
}

/* What the lines before leave bounds a line too; those before have been found as they are.  Every
 * set of theirs could be split into sets of this size: so together they cannot be more than this
 * size alone allows. */
static void bounds_tighten(struct work *w)
{
    struct part *p = w->p;
    p->count_proven = true;
    for (int l = 0; l < p->lines; l++) {
        int64_t tubes = p->tree->pool->n;
        int64_t alone = w->alone[l];
        for (int before = 0; before < l; before++) {
            tubes -= p->found[before] * p->demand[before].size;
            alone -= p->found[before] * (p->demand[before].size / p->demand[l].size);
        }
        p->bound[l] = least(p->bound[l], least(alone, tubes / p->demand[l].size));
        p->count_proven = p->count_proven && p->found[l] == p->bound[l];
    }
}

/* ---- the answer ------------------------------------------------------------------------------ */

static void answer_room(struct work *w)
{
    size_t n = (size_t)w->p->tree->pool->n;
    w->p->line = arena_array(w->a, n, sizeof *w->p->line);
    w->p->start = arena_array(w->a, n, sizeof *w->p->start);
    w->p->member = arena_array(w->a, n, sizeof *w->p->member);
    w->want = arena_array(w->a, (size_t)w->p->lines, sizeof *w->want);
    w->chosen = arena_array(w->a, n, sizeof *w->chosen);
}

static void answer_clear(struct part *p)
{
    p->sets = 0;
    p->cost = 0;
    memset(p->found, 0, (size_t)p->lines * sizeof *p->found);
}

static void answer_add(struct part *p, int line, const int *member, int size, int64_t cost)
{
    int at = p->sets == 0 ? 0 : p->start[p->sets - 1] + p->demand[p->line[p->sets - 1]].size;
    memcpy(p->member + at, member, (size_t)size * sizeof *member);
    p->line[p->sets] = line;
    p->start[p->sets++] = at;
    p->found[line]++;
    p->cost += cost;
}

static void answer_from_sets(struct part *p, const struct sets *s)
{
    answer_clear(p);
    for (int i = 0; i < s->count; i++) {
        const int *member = s->slot + s->start[i];
        int size = s->start[i + 1] - s->start[i];
        int64_t cost;
        if (s->holds[i] && pool_set_holds(s->pool, member, size, &cost))
            answer_add(p, s->line[i], member, size, cost);
    }
}

static void answer_from_list(struct part *p, const struct pack_list *l, const int *chosen,
                             int count)
{
    answer_clear(p);
    for (int i = 0; i < count; i++) {
        int set = chosen[i];
        answer_add(p, l->line[set], l->member + l->start[set], l->start[set + 1] - l->start[set],
                   l->cost[set]);
    }
}

/* ---- search ---------------------------------------------------------------------------------- */

static struct sets *plan(const struct part *p, struct arena *a)
{
    int n = p->tree->pool->n;
    int *size = arena_array(a, (size_t)n + 1, sizeof *size);
    int *line = arena_array(a, (size_t)n + 1, sizeof *line);
    int count = 0;
    int64_t left = n;
    for (int l = 0; l < p->lines; l++) {
        int k = p->demand[l].size;
        for (int64_t s = 0; s < p->bound[l] && left >= k; s++, left -= k) {
            size[count] = k;
            line[count++] = l;
        }
    }
    return sets_new(p->tree->pool, count, size, line, p->lines, a);
}

/* Is what the search found better than the answer so far?  (Its costs are a hair off.) */
static bool search_better(const struct part *p, const struct sets *s)
{
    for (int l = 0; l < p->lines; l++) {
        if (s->found[l] != p->found[l])
            return s->found[l] > p->found[l];
    }
    return p->sets == 0 || s->total < p->cost;
}

static bool all_found(const struct part *p, const struct sets *s)
{
    for (int l = 0; l < p->lines; l++) {
        if (s->found[l] < p->bound[l])
            return false;
    }
    return true;
}

/* Twice: what the first cooling has left short of the bound the second may still find; where
 * nothing is short it only polishes. */
static void search(struct work *w, int64_t iterations)
{
    struct part *p = w->p;
    struct draw draw = {.state = w->budget->seed};
    int64_t from = spent(w);
    struct sets_search how = {.draw = &draw,
                              .order = p->tree->order,
                              .iterations = iterations / 5 * 3,
                              .hot = HOT,
                              .halvings = HALVINGS,
                              .pace = w->budget->pace,
                              .ctx = w->budget->ctx,
                              .pace_from = from,
                              .pace_to = from + (w->budget->to - from) / 5 * 3,
                              .bound = p->bound};
    struct near_table *near = near_table_new(p->tree, NEIGHBOURS, w->a);
    struct sets *s = plan(p, w->a);
    sets_fill(s, near, w->a);
    bool go_on = sets_anneal(s, near, &how, w->a);
    if (go_on) {
        bool polish = all_found(p, s);
        how.iterations = iterations - how.iterations;
        how.hot = polish ? HOT >> POLISH : HOT;
        how.halvings = polish ? HALVINGS - POLISH : HALVINGS;
        how.pace_from = how.pace_to;
        how.pace_to = w->budget->to;
        go_on = sets_anneal(s, near, &how, w->a);
    }
    w->budget->stopped = w->budget->stopped || !go_on;
    if (search_better(p, s))
        answer_from_sets(p, s);
}

/* ---- proof ----------------------------------------------------------------------------------- */

static bool proof_pace(void *ctx)
{
    struct work *w = ctx;
    int64_t now = spent(w);
    w->budget->stopped = w->budget->stopped || now >= MATCH_WHOLE;
    return now < w->budget->to;
}

/* Ask for the numbers in w->want at less than ceiling; take what is found. */
static enum pack_end ask(struct work *w, const struct pack_list *l, int64_t ceiling)
{
    int64_t steps = least(w->budget->iterations, LOOKS / LOOKS_A_STEP) * LOOKS_A_STEP;
    int count = 0;
    int64_t cost;
    enum pack_end end =
        pack_solve(l, w->want, ceiling, steps, proof_pace, w, w->chosen, &count, &cost);
    if (count > 0)
        answer_from_list(w->p, l, w->chosen, count);
    return end;
}

/* More sets of one line, the lines before being as found, until there are no more. */
static bool prove_line(struct work *w, const struct pack_list *l, int line)
{
    struct part *p = w->p;
    while (p->found[line] < p->bound[line]) {
        int64_t sets = 0;
        for (int other = 0; other < p->lines; other++) {
            w->want[other] = other > line ? 0 : (int)p->found[other] + (other == line);
            sets += w->want[other];
        }
        switch (ask(w, l, sets * p->tree->pool->d * MATCH_COST_UNIT + 1)) {
        case PACK_BEST:
            break;
        case PACK_NONE:
            p->bound[line] = p->found[line];
            break;
        case PACK_STOPPED:
            return false;
        }
    }
    return true;
}

static void prove(struct work *w, const struct pack_list *l)
{
    struct part *p = w->p;
    for (int line = 0; line < p->lines; line++) {
        if (!prove_line(w, l, line))
            return;
    }
    p->count_proven = true;
    for (int line = 0; line < p->lines; line++)
        w->want[line] = (int)p->found[line];
    p->cost_proven = ask(w, l, p->cost) != PACK_STOPPED;
}

/* ---- pairs last ------------------------------------------------------------------------------ */

/* The tubes that no set before the last line holds. */
static int left_over(const struct part *p, int *tube)
{
    int n = p->tree->pool->n;
    int count = 0;
    for (int i = 0; i < n; i++)
        tube[i] = 1;
    for (int s = 0; s < p->sets; s++) {
        for (int m = 0; p->line[s] != p->lines - 1 && m < p->demand[p->line[s]].size; m++)
            tube[p->member[p->start[s] + m]] = 0;
    }
    for (int i = 0; i < n; i++) {
        if (tube[i] != 0)
            tube[count++] = i;
    }
    return count;
}

/* Where as many pairs as there are come last, those before them decide what is left for them; of
 * that they are paired at their best. */
static void pair_rest(struct work *w)
{
    struct part *p = w->p;
    const struct pool *q = p->tree->pool;
    int last = p->lines - 1;
    struct pairs r = {0};
    int *tube = arena_array(w->a, (size_t)q->n, sizeof *tube);
    int n = left_over(p, tube);
    const struct pool *rest = pool_part(q, tube, n, w->a);
    int64_t reward = (int64_t)(n / 2) * q->d * MATCH_COST_UNIT + 1;
    pairs_solve(near_new(rest, w->a), reward, pairs_pace, w, w->a, &r);
    if (!r.proven)
        return;
    int kept = 0;
    while (kept < p->sets && p->line[kept] != last)
        kept++;
    for (int s = kept; s < p->sets; s++) {
        int64_t cost;
        (void)pool_set_holds(q, p->member + p->start[s], 2, &cost);
        p->cost -= cost;
    }
    p->sets = kept;
    p->found[last] = 0;
    for (int i = 0; i < n; i++) {
        if (i < r.mate[i]) {
            const int pair[2] = {tube[i], tube[r.mate[i]]};
            answer_add(p, last, pair, 2, pool_pair_cost(q, pair[0], pair[1]));
        }
    }
}

/* ---- all together ---------------------------------------------------------------------------- */

/* All sets of all lines, if they are few enough. */
static bool list_all(struct work *w, struct pack_list *l)
{
    int n = w->p->tree->pool->n;
    int *all = arena_array(w->a, (size_t)n, sizeof *all);
    for (int i = 0; i < n; i++)
        all[i] = i;
    for (int line = 0; line < w->p->lines; line++) {
        if (!pack_list_add(l, w->p->tree, all, n, line, w->p->demand[line].size, LISTED))
            return false;
    }
    return true;
}

struct part *part_solve(const struct near_tree *t, const struct match_line *demand, int lines,
                        struct part_budget *budget, struct arena *a)
{
    struct part *p = arena_alloc(a, sizeof *p);
    struct work w = {.p = p, .budget = budget, .a = a};
    struct pack_list list = {0};
    *p = (struct part){.tree = t, .demand = demand, .lines = lines};
    p->found = arena_array(a, (size_t)lines, sizeof *p->found);
    p->bound = arena_array(a, (size_t)lines, sizeof *p->bound);
    answer_room(&w);
    bounds_set(&w);
    bool listed = list_all(&w, &list);
    if (listed) {
        search(&w, least(budget->iterations, (int64_t)t->pool->n * LISTED_STEPS));
        bounds_tighten(&w);
        if (!budget->stopped)
            prove(&w, &list);
    }
    if (!p->cost_proven && !budget->stopped) {
        search(&w, budget->iterations);
        if (lines > 1 && demand[lines - 1].size == 2 && demand[lines - 1].limit == MATCH_ANY)
            pair_rest(&w);
        bounds_tighten(&w);
    }
    if (p->count_proven && p->cost == 0)
        p->cost_proven = true; /* nothing is cheaper than nothing */
    pack_list_done(&list);
    return p;
}
