/* SPDX-License-Identifier: MIT
 *
 * match: partners of a tube, and proposals of sets.
 *
 * A match runs on a worker from a snapshot of the stock, within the seconds it is given; what it
 * found is judged by the engine's own judge before it is kept as a proposal.
 */
#include "api/match.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "api/page.h"
#include "api/pool.h"
#include "api/tube.h"
#include "base/pen.h"
#include "base/stockno.h"
#include "match/demand.h"
#include "match/judge.h"
#include "match/solve.h"
#include "store/catalogue.h"
#include "store/match.h"
#include "store/tube.h"

#define PARTNERS     12
#define SECONDS      2 /* a match without a word about time */
#define SECONDS_MOST 60
#define SEED         1

/* ---- shapes ------------------------------------------------------------------------------- */

struct partner {
    int64_t stock_no, holds, worst;
    const char *printed, *maker, *bin, *grade, *spread;
};
#define AT(f) offsetof(struct partner, f)
static const struct field PARTNER_FIELDS[] = {
    {"stock_no", K_STOCKNO, F_REQUIRED, AT(stock_no), .help = "stock number"},
    {"printed", K_TEXT, 0, AT(printed), .help = "designation as printed"},
    {"maker", K_TEXT, 0, AT(maker), .help = "maker"},
    {"bin", K_TEXT, 0, AT(bin), .help = "where it lies"},
    {"grade", K_TEXT, 0, AT(grade), .help = "grade"},
    {"spread", K_RAW, F_REQUIRED, AT(spread), .help = "coordinate -> how far apart the two are"},
    {"of_band_permille", K_INT, F_REQUIRED, AT(worst),
     .help = "the widest of these as a share of its band"},
    {"holds", K_BOOL, F_REQUIRED, AT(holds), .help = "the pair is within the band"},
    {0},
};
static const struct shape PARTNER = {"partner", sizeof(struct partner), PARTNER_FIELDS};
#undef AT

struct partners {
    const char *band, *test_point, *family;
    struct list items;
    int64_t pool;
};
#define AT(f) offsetof(struct partners, f)
static const struct field PARTNERS_FIELDS[] = {
    {"family", K_TEXT, F_REQUIRED, AT(family), .help = "whose stock was looked through"},
    {"band", K_TEXT, F_REQUIRED, AT(band), .help = "as asked"},
    {"test_point", K_TEXT, F_REQUIRED, AT(test_point), .help = "where the values were read"},
    {"pool", K_INT, F_REQUIRED, AT(pool), .help = "tubes looked through"},
    {"items", K_LIST, F_REQUIRED, AT(items), .sub = &PARTNER, .help = "nearest first"},
    {0},
};
static const struct shape PARTNERS_VIEW = {"partners", sizeof(struct partners), PARTNERS_FIELDS};
#undef AT

struct partners_ask {
    int64_t stock_no;
    const char *band, *same;
};
#define AT(f) offsetof(struct partners_ask, f)
static const struct field PARTNERS_ASK_FIELDS[] = {
    {"stock_no", K_STOCKNO, F_PATH | F_REQUIRED, AT(stock_no), .help = "stock number"},
    {"band", K_TEXT, 0, AT(band), 1, 200, .help = "absent: 5%", .example = "ia=5%,gm=5%"},
    {"same", K_TEXT, 0, AT(same), 0, 100,
     .help = "what has to be equal, of printed, maker, construction, grade, lot, or none; absent: "
             "the first "
             "three"},
    {0},
};
static const struct shape PARTNERS_ASK = {"partners_ask", sizeof(struct partners_ask),
                                          PARTNERS_ASK_FIELDS};
#undef AT

struct match_ask {
    const char *family, *type, *demand, *band, *same;
    int64_t seconds, seed;
};
#define AT(f) offsetof(struct match_ask, f)
static const struct field MATCH_ASK_FIELDS[] = {
    {"family", K_TEXT, 0, AT(family), 1, 60, .help = "a designation: its whole family",
     .example = "ECC83"},
    {"type", K_TEXT, 0, AT(type), 1, 60, .help = "or: a designation, this type alone"},
    {"demand", K_TEXT, F_REQUIRED, AT(demand), 1, 200,
     .help = "sizes by priority: 4:10,2:* is at most ten quads, then pairs", .example = "4"},
    {"band", K_TEXT, F_REQUIRED, AT(band), 1, 200,
     .help = "5% for the usual quantities, or by name", .example = "ia=5%,gm=5%"},
    {"same", K_TEXT, 0, AT(same), 0, 100,
     .help =
         "what has to be equal within a set, of printed, maker, construction, grade, lot, or none; "
         "absent: the first three"},
    {"seconds", K_INT, 0, AT(seconds), 1, SECONDS_MOST, .help = "how long it may search"},
    {"seed", K_INT, 0, AT(seed), 0, INT64_MAX, .help = "of the search"},
    {0},
};
static const struct shape MATCH_ASK = {"match_new", sizeof(struct match_ask), MATCH_ASK_FIELDS};
#undef AT

#define AT(f) offsetof(struct set_member, f)
static const struct field MEMBER_FIELDS[] = {
    {"stock_no", K_STOCKNO, F_REQUIRED, AT(stock_no), .help = "stock number"},
    {"values", K_RAW, F_REQUIRED, AT(snapshot), .help = "what it was matched by"},
    {"bin", K_TEXT, 0, AT(bin), .help = "where it lies"},
    {"grade", K_TEXT, 0, AT(grade), .help = "grade"},
    {"left", K_MOMENT, 0, AT(left_ms), .help = "taken out since"},
    {0},
};
static const struct shape MEMBER = {"set_member", sizeof(struct set_member), MEMBER_FIELDS};
#undef AT

#define AT(f) offsetof(struct matched_set, f)
static const struct field PROPOSED_FIELDS[] = {
    {"set_no", K_INT, F_REQUIRED, AT(set_no), .help = "within the proposal"},
    {"size", K_INT, F_REQUIRED, AT(size), .help = "tubes"},
    {"spread", K_RAW, F_REQUIRED, AT(spread), .help = "coordinate -> highest against lowest"},
    {"cost", K_INT, F_REQUIRED, AT(cost),
     .help = "1000000000 for each coordinate as wide as its band"},
    {"members", K_LIST, F_REQUIRED, AT(members), .sub = &MEMBER, .help = "its tubes"},
    {0},
};
static const struct shape PROPOSED = {"proposed_set", sizeof(struct matched_set), PROPOSED_FIELDS};
static const struct field SET_FIELDS[] = {
    {"id", K_INT, F_REQUIRED, AT(id), .help = "number of the set"},
    {"size", K_INT, F_REQUIRED, AT(size), .help = "tubes"},
    {"family", K_TEXT, 0, AT(family), .help = "family"},
    {"band", K_TEXT, F_REQUIRED, AT(band), .help = "as asked"},
    {"spread", K_RAW, F_REQUIRED, AT(spread), .help = "coordinate -> highest against lowest"},
    {"cost", K_INT, F_REQUIRED, AT(cost), .help = "in the engine's unit"},
    {"made", K_MOMENT, F_REQUIRED, AT(made_ms), .help = "when"},
    {"dissolved", K_MOMENT, 0, AT(dissolved_ms), .help = "its tubes are free again since"},
    {"members", K_LIST, F_REQUIRED, AT(members), .sub = &MEMBER, .help = "its tubes"},
    {0},
};
static const struct shape SET = {"set", sizeof(struct matched_set), SET_FIELDS};
#undef AT

struct line_view {
    int64_t size, found, bound;
};
#define AT(f) offsetof(struct line_view, f)
static const struct field LINE_FIELDS[] = {
    {"size", K_INT, F_REQUIRED, AT(size), .help = "tubes in a set"},
    {"found", K_INT, F_REQUIRED, AT(found), .help = "sets found"},
    {"bound", K_INT, F_REQUIRED, AT(bound), .help = "more than that there cannot be"},
    {0},
};
static const struct shape LINE_VIEW = {"match_line", sizeof(struct line_view), LINE_FIELDS};
#undef AT

struct match_view {
    int64_t proposal, count_proven, cost_proven, cost, seed, pool, left_out;
    const char *family, *test_point, *why;
    struct list lines, sets;
};
#define AT(f) offsetof(struct match_view, f)
static const struct field MATCH_FIELDS[] = {
    {"proposal", K_INT, F_REQUIRED, AT(proposal), .help = "number, to accept or drop it"},
    {"family", K_TEXT, F_REQUIRED, AT(family), .help = "whose stock"},
    {"test_point", K_TEXT, F_REQUIRED, AT(test_point), .help = "where the values were read"},
    {"pool", K_INT, F_REQUIRED, AT(pool), .help = "tubes that could be members"},
    {"left_out", K_INT, F_REQUIRED, AT(left_out), .help = "tubes that lack a value"},
    {"lines", K_LIST, F_REQUIRED, AT(lines), .sub = &LINE_VIEW, .help = "the demand, line by line"},
    {"cost", K_INT, F_REQUIRED, AT(cost), .help = "of all sets together"},
    {"count_proven", K_BOOL, F_REQUIRED, AT(count_proven), .help = "more sets cannot be made"},
    {"cost_proven", K_BOOL, F_REQUIRED, AT(cost_proven), .help = "nor closer ones"},
    {"why", K_TEXT, F_REQUIRED, AT(why), .help = "what the proof rests on or what is missing"},
    {"seed", K_INT, F_REQUIRED, AT(seed), .help = "of the search"},
    {"sets", K_LIST, F_REQUIRED, AT(sets), .sub = &PROPOSED, .help = "closest first"},
    {0},
};
static const struct shape MATCH = {"match", sizeof(struct match_view), MATCH_FIELDS};
#undef AT

struct id_ask {
    int64_t id;
};
static const struct field ID_ASK_FIELDS[] = {
    {"id", K_INT, F_PATH | F_REQUIRED, offsetof(struct id_ask, id), 1, INT64_MAX, .help = "number"},
    {0},
};
static const struct shape ID_ASK = {"id_ask", sizeof(struct id_ask), ID_ASK_FIELDS};

struct sets_ask {
    struct page page;
    const char *family;
    int64_t size, all;
};
#define AT(f) offsetof(struct sets_ask, f)
static const struct field SETS_ASK_FIELDS[] = {
    PAGE_FIELDS(sets_ask),
    {"family", K_TEXT, 0, AT(family), 1, 60, .help = "a designation: sets of its family"},
    {"size", K_INT, 0, AT(size), 2, 64, .help = "tubes in a set"},
    {"all", K_BOOL, 0, AT(all), .help = "true: dissolved ones too"},
    {0},
};
static const struct shape SETS_ASK = {"sets_ask", sizeof(struct sets_ask), SETS_ASK_FIELDS};
#undef AT

struct items {
    struct list items;
};
static const struct field SETS_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct items, items), .sub = &SET, .help = "sets"},
    {0},
};
static const struct shape SETS = {"sets", sizeof(struct items), SETS_FIELDS};

/* ---- partners ----------------------------------------------------------------------------- */

/* Is there a tube of this number in the problem, and which is it? */
static int index_of(const struct pool_problem *p, const struct stock_pool *pool, int64_t id)
{
    const struct pool_tube *t = pool->tubes.items;
    for (int i = 0; i < p->problem.tubes; i++)
        if (t[p->tube[i]].id == id)
            return i;
    return -1;
}

static int partner_compare(const void *a, const void *b)
{
    const struct partner *x = a, *y = b;
    if (x->worst != y->worst)
        return x->worst < y->worst ? -1 : 1;
    return x->stock_no < y->stock_no ? -1 : x->stock_no > y->stock_no;
}

static void partners_find(struct list *out, const struct pool_problem *p,
                          const struct stock_pool *pool, int me, struct arena *a)
{
    const struct match_problem *m = &p->problem;
    const struct pool_tube *t = pool->tubes.items;
    struct partner *rows = arena_array(a, (size_t)m->tubes, sizeof *rows);
    size_t n = 0;
    for (int i = 0; i < m->tubes; i++) {
        if (i == me || m->class_of[i] != m->class_of[me])
            continue;
        int64_t worst = 0;
        for (int j = 0; j < m->coordinates; j++) {
            int64_t v = m->value[(int64_t)i * m->coordinates + j];
            int64_t w = m->value[(int64_t)me * m->coordinates + j];
            int64_t cost = match_band_cost(&m->band[j], v < w ? v : w, v < w ? w : v);
            worst = cost > worst ? cost : worst;
        }
        rows[n++] =
            (struct partner){.stock_no = t[p->tube[i]].stock_no, .worst = worst, .holds = i};
    }
    qsort(rows, n, sizeof *rows, partner_compare);
    if (n > PARTNERS)
        n = PARTNERS;
    for (size_t i = 0; i < n; i++) {
        int pair[2] = {(int)rows[i].holds, me};
        const struct pool_tube *o = &t[p->tube[rows[i].holds]];
        rows[i] = (struct partner){.stock_no = o->stock_no,
                                   .printed = o->printed,
                                   .maker = o->maker,
                                   .bin = o->bin,
                                   .grade = o->grade};
        rows[i].spread = pool_spread(p, pair, 2, &rows[i].worst, a);
        rows[i].holds = match_set_holds(m, pair, 2, NULL);
    }
    *out = (struct list){rows, n};
}

static bool partners_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct partners_ask *in = rq->in;
    struct partners *view = arena_alloc(rq->arena, sizeof *view);
    const struct match_line pairs = {2, MATCH_ANY};
    struct stock_pool pool;
    struct pool_problem p;
    struct tube t;
    if (!tube_load(&t, rq->store, in->stock_no, rq->arena, e))
        return false;
    const struct pool_ask ask = {t.family_id, t.type_id, NONE, t.id};
    view->band = in->band ? in->band : "5%";
    if (!pool_load(&pool, rq->store, &ask, rq->arena, e) ||
        !pool_problem(&p, &pool, view->band, in->same ? in->same : POOL_SAME, &pairs, 1, rq->arena,
                      e))
        return false;
    int me = index_of(&p, &pool, t.id);
    view->family = pool.family;
    view->test_point = pool.test_point;
    view->pool = p.problem.tubes;
    if (me >= 0)
        partners_find(&view->items, &p, &pool, me, rq->arena);
    return reply_body(out, view);
}

/* ---- matching ----------------------------------------------------------------------------- */

struct budget {
    struct timespec began;
    int64_t seconds;
};

static int64_t pace(void *ctx, const struct match_progress *progress)
{
    (void)progress;
    const struct budget *b = ctx;
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    int64_t us = (now.tv_sec - b->began.tv_sec) * 1000000 + (now.tv_nsec - b->began.tv_nsec) / 1000;
    return us / b->seconds;
}

static bool pool_asked(struct pool_ask *ask, struct store *st, const struct match_ask *in,
                       struct arena *a, struct err *e)
{
    *ask = (struct pool_ask){NONE, NONE, NONE, NONE};
    if ((in->family == NULL) == (in->type == NULL))
        return err_field(e, "family", ERR_INVALID, "name a family or a type, one of the two");
    if (!store_type_resolve(&ask->type_id, st, in->family ? in->family : in->type, a, e))
        return err_in(e, in->family ? "family" : "type");
    if (in->family)
        ask->family_id = store_type_family(st, ask->type_id);
    return true;
}

static int set_compare(const void *a, const void *b)
{
    const struct matched_set *x = a, *y = b;
    if (x->size != y->size)
        return x->size > y->size ? -1 : 1;
    if (x->cost != y->cost)
        return x->cost < y->cost ? -1 : 1;
    return x->set_no < y->set_no ? -1 : 1;
}

static void sets_from(struct list *out, const struct match_answer *ans,
                      const struct pool_problem *p, const struct stock_pool *pool,
                      const struct pool_ask *ask, const char *band, struct arena *a)
{
    const struct pool_tube *t = pool->tubes.items;
    struct matched_set *s = arena_array(a, (size_t)ans->sets, sizeof *s);
    for (int i = 0; i < ans->sets; i++) {
        int size = p->problem.demand[ans->set[i].line].size;
        struct set_member *m = arena_array(a, (size_t)size, sizeof *m);
        for (int j = 0; j < size; j++) {
            const struct pool_tube *o = &t[p->tube[ans->set[i].member[j]]];
            m[j] = (struct set_member){.tube_id = o->id,
                                       .stock_no = o->stock_no,
                                       .position = j + 1,
                                       .snapshot = pool_snapshot(pool, o, a),
                                       .left_ms = NONE,
                                       .bin = o->bin,
                                       .grade = o->grade};
        }
        s[i] = (struct matched_set){.size = size,
                                    .set_no = i,
                                    .family_id = ask->family_id,
                                    .band = band,
                                    .cost = ans->set[i].cost,
                                    .spread = pool_spread(p, ans->set[i].member, size, NULL, a),
                                    .members = {m, (size_t)size}};
    }
    qsort(s, (size_t)ans->sets, sizeof *s, set_compare);
    for (int i = 0; i < ans->sets; i++)
        s[i].set_no = i + 1;
    *out = (struct list){s, (size_t)ans->sets};
}

static const char *asked_json(const struct match_ask *in, const char *same, struct arena *a)
{
    return arena_printf(a, "{\"family\":%s,\"type\":%s,\"demand\":%s,\"band\":%s,\"same\":%s}",
                        in->family ? wire_quote(in->family, a) : "null",
                        in->type ? wire_quote(in->type, a) : "null", wire_quote(in->demand, a),
                        wire_quote(in->band, a), wire_quote(same, a));
}

struct keeping {
    struct match_view *view;
    const char *asked, *summary;
    struct arena *arena;
};

static bool proposal_keep(struct store *st, void *arg, struct err *e)
{
    struct keeping *k = arg;
    return proposal_create(&k->view->proposal, st, k->asked, k->summary, &k->view->sets, k->arena,
                           e);
}

static void view_from(struct match_view *v, const struct match_answer *ans,
                      const struct pool_problem *p, const struct stock_pool *pool, struct arena *a)
{
    struct line_view *lines = arena_array(a, (size_t)p->problem.lines, sizeof *lines);
    for (int i = 0; i < p->problem.lines; i++)
        lines[i] = (struct line_view){p->problem.demand[i].size, ans->found[i], ans->bound[i]};
    v->lines = (struct list){lines, (size_t)p->problem.lines};
    v->family = pool->family;
    v->test_point = pool->test_point;
    v->pool = p->problem.tubes;
    v->left_out = p->left_out;
    v->cost = ans->cost;
    v->count_proven = ans->count_proven;
    v->cost_proven = ans->cost_proven;
    v->why = ans->why;
}

static const char *summary_json(const struct match_view *v, struct arena *a)
{
    const struct line_view *l = v->lines.items;
    struct pen p;
    pen_init(&p, a, 300);
    pen_text(&p, "{\"lines\":[");
    for (size_t i = 0; i < v->lines.count; i++)
        pen_printf(&p, "%s{\"size\":%lld,\"found\":%lld,\"bound\":%lld}", i ? "," : "",
                   (long long)l[i].size, (long long)l[i].found, (long long)l[i].bound);
    pen_printf(&p, "],\"cost\":%lld,\"count_proven\":%s,\"cost_proven\":%s,\"seed\":%lld,\"why\":",
               (long long)v->cost, v->count_proven ? "true" : "false",
               v->cost_proven ? "true" : "false", (long long)v->seed);
    pen_quote(&p, v->why);
    pen_char(&p, '}');
    return pen_done(&p, NULL);
}

static bool match_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct match_ask *in = rq->in;
    const char *same = in->same ? in->same : POOL_SAME;
    struct match_view *view = arena_alloc(rq->arena, sizeof *view);
    struct match_line *demand = arena_array(rq->arena, MATCH_LINES, sizeof *demand);
    struct stock_pool pool;
    struct pool_problem p;
    struct pool_ask ask;
    struct match_answer ans;
    int lines;
    struct budget b = {.seconds = in->seconds == NONE ? SECONDS : in->seconds};
    clock_gettime(CLOCK_MONOTONIC, &b.began);
    view->seed = in->seed == NONE ? SEED : in->seed;
    if (!demand_parse(demand, &lines, in->demand, e))
        return err_in(e, "demand");
    if (!pool_asked(&ask, rq->store, in, rq->arena, e) ||
        !pool_load(&pool, rq->store, &ask, rq->arena, e) ||
        !pool_problem(&p, &pool, in->band, same, demand, lines, rq->arena, e))
        return false;
    const struct match_options options = {(uint64_t)view->seed, 0, pace, &b};
    if (!match_solve(&p.problem, &options, rq->arena, &ans, e) || !match_check(&p.problem, &ans, e))
        return false;
    view_from(view, &ans, &p, &pool, rq->arena);
    sets_from(&view->sets, &ans, &p, &pool, &ask, in->band, rq->arena);
    struct keeping k = {view, asked_json(in, same, rq->arena), summary_json(view, rq->arena),
                        rq->arena};
    if (!rq->port->write(rq->port, proposal_keep, &k, e))
        return false;
    out->status = 201;
    out->event = "proposal";
    out->event_id = view->proposal;
    return reply_body(out, view);
}

/* ---- proposals and sets ------------------------------------------------------------------- */

static bool proposal_accept_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct id_ask *in = rq->in;
    struct items *view = arena_alloc(rq->arena, sizeof *view);
    struct list made;
    if (!proposal_accept(&made, rq->store, in->id, rq->arena, e))
        return false;
    const int64_t *id = made.items;
    struct matched_set *s = arena_array(rq->arena, made.count, sizeof *s);
    for (size_t i = 0; i < made.count; i++)
        if (!set_load(&s[i], rq->store, id[i], rq->arena, e))
            return false;
    view->items = (struct list){s, made.count};
    out->event = "set";
    out->event_id = in->id;
    return reply_body(out, view);
}

static bool proposal_drop_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct id_ask *in = rq->in;
    if (!proposal_drop(rq->store, in->id, rq->arena, e))
        return false;
    out->status = 204;
    return true;
}

static bool sets_list(struct reply *out, struct req *rq, struct err *e)
{
    const struct sets_ask *in = rq->in;
    struct items *view = arena_alloc(rq->arena, sizeof *view);
    int64_t before, type_id, family_id = NONE;
    if (!page_number(&before, &in->page, e))
        return false;
    if (in->family) {
        if (!store_type_resolve(&type_id, rq->store, in->family, rq->arena, e))
            return err_in(e, "family");
        family_id = store_type_family(rq->store, type_id);
    }
    set_list(&view->items, rq->store, family_id, in->size, in->all != 1, before,
             page_limit(&in->page) + 1, rq->arena);
    if (page_cut(&view->items, &in->page)) {
        const struct matched_set *last =
            (const struct matched_set *)view->items.items + view->items.count - 1;
        const char *path = "/api/sets";
        if (in->family)
            path =
                arena_printf(rq->arena, "%s?family=%s", path, page_escape(rq->arena, in->family));
        if (in->size != NONE)
            path = arena_printf(rq->arena, "%s%csize=%lld", path, strchr(path, '?') ? '&' : '?',
                                (long long)in->size);
        if (in->all == 1)
            path = arena_printf(rq->arena, "%s%call=true", path, strchr(path, '?') ? '&' : '?');
        out->next = page_next(rq->arena, path, &in->page, last->id);
    }
    return reply_body(out, view);
}

static bool set_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct id_ask *in = rq->in;
    struct matched_set *s = arena_alloc(rq->arena, sizeof *s);
    return set_load(s, rq->store, in->id, rq->arena, e) && reply_body(out, s);
}

static bool set_dissolve_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct id_ask *in = rq->in;
    if (!set_dissolve(rq->store, in->id, rq->arena, e))
        return false;
    out->status = 200;
    out->event = "set";
    out->event_id = in->id;
    return set_get(out, rq, e);
}

const struct route match_routes[] = {
    {GET, "/api/tubes/:stock_no/partners", R_ANY, WORK, &PARTNERS_ASK, &PARTNERS_VIEW, NULL,
     partners_get, "The nearest partners of a tube in stock"},
    {POST, "/api/matches", R_STOCK, WORK, &MATCH_ASK, &MATCH, NULL, match_post,
     "Find sets in the stock of a family; kept as a proposal"},
    {POST, "/api/proposals/:id/accept", R_STOCK, WRITE | CREATES, &ID_ASK, &SETS, NULL,
     proposal_accept_post, "Turn a proposal into sets, all of it or nothing"},
    {POST, "/api/proposals/:id/drop", R_STOCK, WRITE, &ID_ASK, NULL, NULL, proposal_drop_post,
     "Drop a proposal"},
    {0},
};

const struct route set_routes[] = {
    {GET, "/api/sets", R_ANY, 0, &SETS_ASK, &SETS, NULL, sets_list, "Sets, newest first"},
    {GET, "/api/sets/:id", R_ANY, 0, &ID_ASK, &SET, NULL, set_get, "One set with its tubes"},
    {POST, "/api/sets/:id/dissolve", R_STOCK, WRITE | CREATES, &ID_ASK, &SET, NULL,
     set_dissolve_post, "Free the tubes of a set"},
    {0},
};
