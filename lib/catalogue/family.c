/* SPDX-License-Identifier: MIT
 *
 * family: union-find for `same`, and shortest chains for the rest.
 *
 * "Best" compares the weakest link first and sums second, and a maximum before a sum does not
 * survive being extended: the best chain to a type need not run through the best chains to the
 * types before it.  So there is one search for each weakest relation allowed, the strongest first.
 * Within one search the sums (unequal, remembered, steps) add up along a chain, and an ordinary
 * shortest-path search is exact.  A type is answered by the first search that reaches it; a cycle
 * can never shorten a chain.
 */
#include "catalogue/family.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

struct graph {
    int types;
    const struct link *links;
    size_t count;
    int *parent;               /* of the union-find; the root is the lowest member */
    int *out_first, *in_first; /* links by `from` and by `to`: offsets, types + 1 of them */
    int *out_link, *in_link;
};

static int find_root(int *parent, int i)
{
    while (parent[i] != i) {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    return i;
}

static void unite(int *parent, int a, int b)
{
    a = find_root(parent, a);
    b = find_root(parent, b);
    if (a < b)
        parent[b] = a;
    else
        parent[a] = b;
}

/* Link numbers grouped by one end. */
static void group(struct arena *a, const struct graph *g, bool by_from, int **first, int **list)
{
    size_t types = (size_t)g->types;
    *first = arena_array(a, types + 2, sizeof **first);
    *list = arena_array(a, g->count, sizeof **list);
    for (size_t i = 0; i < g->count; i++)
        (*first)[(by_from ? g->links[i].from : g->links[i].to) + 2]++;
    for (size_t t = 1; t <= types; t++)
        (*first)[t + 1] += (*first)[t];
    for (size_t i = 0; i < g->count; i++)
        (*list)[(*first)[(by_from ? g->links[i].from : g->links[i].to) + 1]++] = (int)i;
}

struct graph *graph_new(struct arena *a, int types, const struct link *links, size_t count)
{
    struct graph *g = arena_alloc(a, sizeof *g);
    *g = (struct graph){.types = types, .links = links, .count = count};
    g->parent = arena_array(a, (size_t)types, sizeof *g->parent);
    for (int t = 0; t < types; t++)
        g->parent[t] = t;
    for (size_t i = 0; i < count; i++) {
        assert(links[i].from >= 0 && links[i].from < types && links[i].to >= 0 &&
               links[i].to < types && links[i].from != links[i].to);
        if (links[i].relation == RELATION_SAME)
            unite(g->parent, links[i].from, links[i].to);
    }
    for (int t = 0; t < types; t++) /* roots are lowest, so one pass flattens */
        g->parent[t] = g->parent[g->parent[t]];
    group(a, g, true, &g->out_first, &g->out_link);
    group(a, g, false, &g->in_first, &g->in_link);
    return g;
}

int family_of(const struct graph *g, int type)
{
    while (g->parent[type] != type)
        type = g->parent[type];
    return type;
}

const int *family_members(const struct graph *g, int type, size_t *count, struct arena *a)
{
    int root = family_of(g, type);
    size_t n = 0;
    for (int t = 0; t < g->types; t++)
        n += family_of(g, t) == root;
    int *members = arena_array(a, n, sizeof *members);
    *count = 0;
    for (int t = 0; t < g->types; t++)
        if (family_of(g, t) == root)
            members[(*count)++] = t;
    return members;
}

/* ---- chains --------------------------------------------------------------------------------- */

/* The best chain known to a type. */
struct reach {
    int unequal, remembered, steps; /* the cost, compared in this order */
    int link, from;                 /* the last step, and the type before it */
    bool reached, queued;
};

struct search {
    const struct graph *g;
    enum stand_in direction;
    struct stand_in_limit limit;
    struct reach *reach;
    int *queue; /* a ring of g->types + 1 */
    int head, tail;
};

static int compare_cost(const struct reach *a, const struct reach *b)
{
    if (a->unequal != b->unequal)
        return a->unequal - b->unequal;
    if (a->remembered != b->remembered)
        return a->remembered - b->remembered;
    return a->steps - b->steps;
}

static void queue_push(struct search *s, int type)
{
    if (s->reach[type].queued)
        return;
    s->reach[type].queued = true;
    s->queue[s->tail] = type;
    s->tail = (s->tail + 1) % (s->g->types + 1);
}

static int queue_pop(struct search *s)
{
    int type = s->queue[s->head];
    s->head = (s->head + 1) % (s->g->types + 1);
    s->reach[type].queued = false;
    return type;
}

/* Try to reach `to` from `from` by a link.  Equal costs keep the lower link number, so that the
 * order of the search does not show. */
static void try_link(struct search *s, int from, int to, int link, enum relation weakest)
{
    const struct link *l = &s->g->links[link];
    const struct reach *before = &s->reach[from];
    struct reach *now = &s->reach[to];
    struct reach made = *before;
    if (l->relation > weakest)
        return;
    made.unequal += l->relation != RELATION_SAME;
    made.remembered += l->how == HOW_MEMORY;
    made.steps++;
    made.link = link;
    made.from = from;
    made.reached = true;
    made.queued = now->queued;
    if (made.unequal > s->limit.unequal)
        return;
    int order = now->reached ? compare_cost(&made, now) : -1;
    if (order > 0 || (order == 0 && now->link <= link))
        return;
    *now = made;
    queue_push(s, to);
}

static void expand(struct search *s, int type, enum relation weakest)
{
    const struct graph *g = s->g;
    for (int i = g->out_first[type]; i < g->out_first[type + 1]; i++) {
        const struct link *l = &g->links[g->out_link[i]];
        if (l->relation == RELATION_SAME || s->direction == STAND_IN_FOR)
            try_link(s, type, l->to, g->out_link[i], weakest);
    }
    for (int i = g->in_first[type]; i < g->in_first[type + 1]; i++) {
        const struct link *l = &g->links[g->in_link[i]];
        if (l->relation == RELATION_SAME || s->direction == STAND_IN_OF)
            try_link(s, type, l->from, g->in_link[i], weakest);
    }
}

static void search_run(struct search *s, int type, enum relation weakest)
{
    memset(s->reach, 0, (size_t)s->g->types * sizeof *s->reach);
    s->reach[type] = (struct reach){.link = -1, .from = -1, .reached = true};
    queue_push(s, type);
    while (s->head != s->tail)
        expand(s, queue_pop(s), weakest);
}

/* ---- the answer ----------------------------------------------------------------------------- */

static void add_condition(struct replacement *r, const char **list, const char *text)
{
    for (size_t i = 0; i < r->conditions; i++)
        if (strcmp(list[i], text) == 0)
            return;
    if (*text)
        list[r->conditions++] = text;
}

static struct replacement answer_of(const struct search *s, int type, struct arena *a)
{
    const struct reach *at = &s->reach[type];
    struct replacement r = {.type = type,
                            .unequal = at->unequal,
                            .remembered = at->remembered,
                            .steps = (size_t)at->steps};
    struct step *steps = arena_array(a, r.steps, sizeof *steps);
    const char **conditions = arena_array(a, r.steps, sizeof *conditions);
    size_t n = r.steps;
    for (int t = type; s->reach[t].link >= 0; t = s->reach[t].from) {
        const struct link *l = &s->g->links[s->reach[t].link];
        bool outward = l->to == t && l->from == s->reach[t].from;
        /* seen from the replaced tube: STAND_IN_OF walked the chain from the new one */
        size_t place = s->direction == STAND_IN_FOR ? --n : r.steps - n--;
        steps[place].link = l;
        steps[place].backwards = s->direction == STAND_IN_FOR ? !outward : outward;
        r.relations |= 1u << l->relation;
        if (l->relation > r.weakest)
            r.weakest = l->relation;
    }
    for (size_t i = 0; i < r.steps; i++)
        add_condition(&r, conditions, steps[i].link->conditions);
    r.step = steps;
    r.condition = conditions;
    return r;
}

static int compare_answers(const void *pa, const void *pb)
{
    const struct replacement *a = pa, *b = pb;
    if (a->weakest != b->weakest)
        return a->weakest < b->weakest ? -1 : 1;
    if (a->unequal != b->unequal)
        return a->unequal - b->unequal;
    if (a->remembered != b->remembered)
        return a->remembered - b->remembered;
    if (a->steps != b->steps)
        return a->steps < b->steps ? -1 : 1;
    return a->type - b->type;
}

const struct replacement *stand_in_find(const struct graph *g, int type, enum stand_in direction,
                                        struct stand_in_limit limit, size_t *count, struct arena *a)
{
    struct search s = {.g = g, .direction = direction, .limit = limit};
    s.reach = arena_array(a, (size_t)g->types, sizeof *s.reach);
    s.queue = arena_array(a, (size_t)g->types + 1, sizeof *s.queue);
    bool *answered = arena_array(a, (size_t)g->types, sizeof *answered);
    struct replacement *list = arena_array(a, (size_t)g->types, sizeof *list);
    answered[type] = true;
    *count = 0;
    for (int r = 0; r <= (int)limit.weakest; r++) {
        search_run(&s, type, (enum relation)r);
        for (int t = 0; t < g->types; t++) {
            if (!s.reach[t].reached || answered[t])
                continue;
            answered[t] = true;
            list[(*count)++] = answer_of(&s, t, a);
        }
    }
    if (*count)
        qsort(list, *count, sizeof *list, compare_answers);
    return list;
}
