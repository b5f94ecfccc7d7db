/* SPDX-License-Identifier: MIT
 *
 * equivalence: families, chains of what may stand in, comparison, one's own statements.
 *
 * Counting stock costs a bounded number of tubes for the whole answer, shared out in the order of
 * the answer: what comes first is counted first.
 */
#include "api/equivalence.h"

#include <string.h>

#include "api/equivalence_priv.h"
#include "api/page.h"
#include "api/type.h"
#include "store/catalogue.h"
#include "store/equivalence.h"
#include "store/stock.h"
#include "store/type.h"

#define VISIT_TYPE 2000  /* tubes of one type looked at */
#define VISIT_ALL  10000 /* and of all types of one answer */

/* ---- differences --------------------------------------------------------------------------- */

struct difference_view {
    const char *level, *aspect, *text;
    int64_t memory;
};
#define AT(f) offsetof(struct difference_view, f)
static const struct field DIFFERENCE_FIELDS[] = {
    {"level", K_TEXT, F_REQUIRED, AT(level),
     .help = "stop: can destroy something or cannot work; change: works after work; unknown: check "
             "the data sheet; remark"},
    {"aspect", K_TEXT, F_REQUIRED, AT(aspect), .help = "heater, base, pins, cap, rating ..."},
    {"text", K_NOTE, F_REQUIRED, AT(text), .help = "with both figures and their units"},
    {"memory", K_BOOL, F_REQUIRED, AT(memory),
     .help = "a figure in it rests on memory alone: check a data sheet"},
    {0},
};
const struct shape DIFFERENCE = {"difference", sizeof(struct difference_view), DIFFERENCE_FIELDS};
#undef AT

struct list differences_view(const struct comparison *c, size_t most, struct arena *a)
{
    size_t n = c->count < most ? c->count : most;
    struct difference_view *rows = arena_array(a, n, sizeof *rows);
    for (size_t i = 0; i < n; i++) {
        const struct difference *d = &c->difference[i];
        rows[i] = (struct difference_view){compare_levels[d->level], compare_aspects[d->aspect],
                                           arena_text(a, d->text), d->memory};
    }
    return (struct list){rows, n};
}

/* ---- shapes of standing in ------------------------------------------------------------------ */

const char *const equivalence_relations[RELATION__COUNT + 1] = {
    "same", "improved", "close", "heater-differs", "cap-differs", "base-differs", NULL};
#define AT(f) offsetof(struct statement_view, f)
static const struct field STATEMENT_FIELDS[] = {
    {"from", K_TEXT, F_REQUIRED, AT(from), .help = "the type that is replaced"},
    {"to", K_TEXT, F_REQUIRED, AT(to), .help = "the type that stands in for it"},
    {"relation", K_TEXT, F_REQUIRED, AT(relation), .help = RELATION_HELP},
    {"conditions", K_NOTE, 0, AT(conditions), .help = "what differs, what must be done"},
    {"known", K_TEXT, F_REQUIRED, AT(known), .help = KNOWN_HELP},
    {"source", K_NOTE, 0, AT(source), .help = "publication, or grounds"},
    {"where", K_NOTE, 0, AT(where), .help = "address read"},
    {"backwards", K_BOOL, 0, AT(backwards), .help = "a same that was stated the other way round"},
    {0},
};
const struct shape STATEMENT = {"statement", sizeof(struct statement_view), STATEMENT_FIELDS};
#undef AT

#define AT(f) offsetof(struct stock_grade, f)
static const struct field GRADE_FIELDS[] = {
    {"grade", K_TEXT, F_NULL, AT(grade), .help = "null: not graded"},
    {"count", K_INT, F_REQUIRED, AT(count), .help = "free tubes of it"},
    {0},
};
static const struct shape GRADE = {"stock_grade", sizeof(struct stock_grade), GRADE_FIELDS};
#undef AT

struct stock_view {
    int64_t free, least;
    struct list by_grade;
};
#define AT(f) offsetof(struct stock_view, f)
static const struct field STOCK_FIELDS[] = {
    {"free", K_INT, F_REQUIRED, AT(free), .help = "neither in a set nor held nor gone"},
    {"least", K_BOOL, F_REQUIRED, AT(least),
     .help = "only the newest were counted: at least so many"},
    {"by_grade", K_LIST, F_REQUIRED, AT(by_grade), .sub = &GRADE, .help = "by the latest grading"},
    {0},
};
static const struct shape STOCK = {"type_stock", sizeof(struct stock_view), STOCK_FIELDS};
#undef AT

struct replacement_view {
    const char *type, *weakest;
    struct texts relations, conditions, hazards;
    int64_t remembered;
    struct list steps;
    const struct stock_view *stock;
};
#define AT(f) offsetof(struct replacement_view, f)
static const struct field REPLACEMENT_FIELDS[] = {
    {"type", K_TEXT, F_REQUIRED, AT(type), .help = "main designation"},
    {"weakest", K_TEXT, F_REQUIRED, AT(weakest), .help = "the weakest link: " RELATION_HELP},
    {"relations", K_TEXTS, F_REQUIRED, AT(relations), .help = "every relation on the way"},
    {"conditions", K_TEXTS, F_REQUIRED, AT(conditions), .help = "of all steps, none twice"},
    {"remembered", K_INT, F_REQUIRED, AT(remembered),
     .help = "steps that rest on memory alone: check before acting on it"},
    {"steps", K_LIST, F_REQUIRED, AT(steps), .sub = &STATEMENT,
     .help = "in the order in which tubes are exchanged"},
    {"hazards", K_TEXTS, F_REQUIRED, AT(hazards), .help = "shown beside its name"},
    {"stock", K_OBJECT, 0, AT(stock), .sub = &STOCK, .help = "absent: not counted this time"},
    {0},
};
static const struct shape REPLACEMENT = {"replacement", sizeof(struct replacement_view),
                                         REPLACEMENT_FIELDS};
#undef AT

struct equivalents {
    const char *type, *family;
    struct texts hazards;
    struct list same, instead, serves;
    const struct stock_view *stock;
};
#define AT(f) offsetof(struct equivalents, f)
static const struct field EQUIVALENTS_FIELDS[] = {
    {"type", K_TEXT, F_REQUIRED, AT(type), .help = "what was asked about"},
    {"family", K_TEXT, 0, AT(family), .help = "designation its family is listed under"},
    {"hazards", K_TEXTS, F_REQUIRED, AT(hazards), .help = "shown beside its name"},
    {"stock", K_OBJECT, 0, AT(stock), .sub = &STOCK, .help = "of the type itself"},
    {"same", K_LIST, F_REQUIRED, AT(same), .sub = &REPLACEMENT,
     .help = "its family: the same tube under other designations"},
    {"instead", K_LIST, F_REQUIRED, AT(instead), .sub = &REPLACEMENT,
     .help = "what may stand in for it, best first; never simply the same"},
    {"serves", K_LIST, F_REQUIRED, AT(serves), .sub = &REPLACEMENT,
     .help = "what it may stand in for, best first; never simply the same"},
    {0},
};
static const struct shape EQUIVALENTS = {"equivalents", sizeof(struct equivalents),
                                         EQUIVALENTS_FIELDS};
#undef AT

static const char *const DIRECTIONS[] = {"instead", "serves", "both", NULL};
enum { DIRECTION_INSTEAD, DIRECTION_SERVES, DIRECTION_BOTH };

struct equivalents_ask {
    const char *designation;
    int64_t relation, direction, steps;
};
#define AT(f) offsetof(struct equivalents_ask, f)
static const struct field EQUIVALENTS_ASK_FIELDS[] = {
    {"designation", K_TEXT, F_PATH | F_REQUIRED, AT(designation), 1, 60,
     .help = "any spelling that finds one type"},
    {"relation", K_ENUM, 0, AT(relation), .names = equivalence_relations,
     .help = "the weakest link accepted; all if absent"},
    {"direction", K_ENUM, 0, AT(direction), .names = DIRECTIONS,
     .help = "instead: what may stand in for it; serves: what it may stand in for; both if absent"},
    {"steps", K_INT, 0, AT(steps), 0, 6,
     .help = "most links of a chain that are not same; 3 if absent"},
    {0},
};
static const struct shape EQUIVALENTS_ASK = {"equivalents_ask", sizeof(struct equivalents_ask),
                                             EQUIVALENTS_ASK_FIELDS};
#undef AT

/* ---- standing in ----------------------------------------------------------------------------- */

struct answer {
    struct req *rq;
    const struct catalogue_view *view;
    int64_t visit; /* tubes that may still be looked at */
};

static const char *some(struct arena *a, const char *s)
{
    return s && *s ? arena_text(a, s) : NULL;
}

/* The number of a named type in the view that answers. */
static bool type_named(int *type, struct answer *w, const char *field, const char *text,
                       struct err *e)
{
    int64_t id;
    if (!store_type_named(&id, w->rq->store, field, text, w->rq->arena, e))
        return false;
    w->view = catalogue_view(w->rq->store);
    *type = catalogue_view_number(w->view, id);
    return *type >= 0 ||
           err_field(e, field, ERR_CONFLICT,
                     "the name of %s is kept, but no longer reads as a designation", text);
}

static const char *designation_of(const struct answer *w, int type)
{
    return arena_text(w->rq->arena, catalogue_type(w->view->catalogue, type)->designation);
}

static const struct stock_view *stock_view(struct answer *w, int type)
{
    struct stock s;
    if (w->visit <= 0)
        return NULL;
    struct stock_view *v = arena_alloc(w->rq->arena, sizeof *v);
    stock_count(&s, w->rq->store, w->view->type_id[type],
                w->visit < VISIT_TYPE ? w->visit : VISIT_TYPE, w->rq->arena);
    w->visit -= s.visited + 1; /* asking costs too */
    *v = (struct stock_view){s.free, s.least, s.by_grade};
    return v;
}

static struct list steps_view(const struct answer *w, const struct replacement *r)
{
    struct arena *a = w->rq->arena;
    struct statement_view *rows = arena_array(a, r->steps, sizeof *rows);
    for (size_t i = 0; i < r->steps; i++) {
        const struct link *l = r->step[i].link;
        bool back = r->step[i].backwards;
        rows[i] = (struct statement_view){.from = designation_of(w, back ? l->to : l->from),
                                          .to = designation_of(w, back ? l->from : l->to),
                                          .relation = relation_words[l->relation],
                                          .conditions = some(a, l->conditions),
                                          .known = how_words[l->how],
                                          .source = some(a, l->source),
                                          .where = some(a, l->where),
                                          .backwards = back ? 1 : NONE};
    }
    return (struct list){rows, r->steps};
}

static void replacement_view(struct replacement_view *v, struct answer *w,
                             const struct replacement *r)
{
    struct arena *a = w->rq->arena;
    const char **relations = arena_array(a, RELATION__COUNT, sizeof *relations);
    const char **conditions = arena_array(a, r->conditions, sizeof *conditions);
    size_t n = 0;
    for (int k = 0; k < RELATION__COUNT; k++)
        if (r->relations >> k & 1)
            relations[n++] = relation_words[k];
    for (size_t i = 0; i < r->conditions; i++)
        conditions[i] = arena_text(a, r->condition[i]);
    *v = (struct replacement_view){.type = designation_of(w, r->type),
                                   .weakest = relation_words[r->weakest],
                                   .relations = {relations, n},
                                   .conditions = {conditions, r->conditions},
                                   .remembered = r->remembered,
                                   .steps = steps_view(w, r)};
    type_hazard_kinds(&v->hazards, w->rq->store, w->view->type_id[r->type], a);
    v->stock = stock_view(w, r->type);
}

/* The family and the rest apart: `same` comes first in what lib found. */
static void stand_ins(struct list *same, struct list *rest, struct answer *w, int type,
                      enum stand_in direction, struct stand_in_limit limit)
{
    size_t count, n = 0;
    struct arena *a = w->rq->arena;
    const struct replacement *r = stand_in_find(w->view->graph, type, direction, limit, &count, a);
    while (n < count && r[n].weakest == RELATION_SAME)
        n++;
    struct replacement_view *rows = arena_array(a, count, sizeof *rows);
    for (size_t i = same ? 0 : n; i < count; i++)
        replacement_view(&rows[i], w, &r[i]);
    if (same)
        *same = (struct list){rows, n};
    *rest = (struct list){rows + n, count - n};
}

static bool equivalents_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct equivalents_ask *in = rq->in;
    struct equivalents *v = arena_alloc(rq->arena, sizeof *v);
    struct stand_in_limit limit = STAND_IN_ALL;
    int64_t direction = in->direction == NONE ? DIRECTION_BOTH : in->direction;
    struct answer w = {.rq = rq, .visit = VISIT_ALL};
    size_t members;
    int type;
    if (!type_named(&type, &w, "designation", in->designation, e))
        return false;
    if (in->relation != NONE)
        limit.weakest = (enum relation)in->relation;
    if (in->steps != NONE)
        limit.unequal = (int)in->steps;
    v->type = designation_of(&w, type);
    family_members(w.view->graph, type, &members, rq->arena);
    if (members > 1)
        v->family = designation_of(&w, family_of(w.view->graph, type));
    type_hazard_kinds(&v->hazards, rq->store, w.view->type_id[type], rq->arena);
    v->stock = stock_view(&w, type);
    if (direction == DIRECTION_SERVES)
        stand_ins(&v->same, &v->serves, &w, type, STAND_IN_OF, limit);
    else
        stand_ins(&v->same, &v->instead, &w, type, STAND_IN_FOR, limit);
    if (direction == DIRECTION_BOTH)
        stand_ins(NULL, &v->serves, &w, type, STAND_IN_OF, limit);
    return reply_body(out, v);
}

/* ---- compare ----------------------------------------------------------------------------------
 */

struct compare_view {
    const char *a, *b;
    int64_t levels[COMPARE__LEVELS];
    struct list differences, stated;
};
#define AT(f) offsetof(struct compare_view, f)
static const struct field COMPARE_FIELDS[] = {
    {"a", K_TEXT, F_REQUIRED, AT(a), .help = "the type that is replaced"},
    {"b", K_TEXT, F_REQUIRED, AT(b), .help = "the type put in its place"},
    {"stops", K_INT, F_REQUIRED, AT(levels[COMPARE_STOP]),
     .help = "differences that can destroy something or cannot work"},
    {"changes", K_INT, F_REQUIRED, AT(levels[COMPARE_CHANGE]), .help = "that need work"},
    {"unknown", K_INT, F_REQUIRED, AT(levels[COMPARE_UNKNOWN]),
     .help = "points that nobody can judge from what is known: check the data sheet"},
    {"remarks", K_INT, F_REQUIRED, AT(levels[COMPARE_REMARK]), .help = "good to know"},
    {"differences", K_LIST, F_REQUIRED, AT(differences), .sub = &DIFFERENCE,
     .help = "the gravest first; none is no promise that the two are the same"},
    {"stated", K_LIST, F_REQUIRED, AT(stated), .sub = &STATEMENT,
     .help = "what is stated of b in the place of a"},
    {0},
};
static const struct shape COMPARE = {"comparison", sizeof(struct compare_view), COMPARE_FIELDS};
#undef AT

struct compare_ask {
    const char *a, *b;
};
#define AT(f) offsetof(struct compare_ask, f)
static const struct field COMPARE_ASK_FIELDS[] = {
    {"a", K_TEXT, F_REQUIRED, AT(a), 1, 60, .help = "the type that is replaced"},
    {"b", K_TEXT, F_REQUIRED, AT(b), 1, 60, .help = "the type put in its place"},
    {0},
};
static const struct shape COMPARE_ASK = {"comparison_ask", sizeof(struct compare_ask),
                                         COMPARE_ASK_FIELDS};
#undef AT

static void add_stated(struct compare_view *v, const struct answer *w, int from, int to)
{
    size_t count, n = 0;
    struct arena *a = w->rq->arena;
    const struct edge *edge = catalogue_edges(w->view->catalogue, &count);
    struct statement_view *rows = arena_array(a, 2, sizeof *rows);
    for (size_t i = 0; i < count && n < 2; i++) {
        const struct equivalence *s = &edge[i].said;
        bool back = s->relation == RELATION_SAME && edge[i].from == to && edge[i].to == from;
        if (!back && (edge[i].from != from || edge[i].to != to))
            continue;
        rows[n++] = (struct statement_view){.from = designation_of(w, from),
                                            .to = designation_of(w, to),
                                            .relation = relation_words[s->relation],
                                            .conditions = some(a, s->conditions),
                                            .known = how_words[equivalence_known(s)],
                                            .source = some(a, s->source),
                                            .where = some(a, s->where),
                                            .backwards = back ? 1 : NONE};
    }
    v->stated = (struct list){rows, n};
}

static bool compare_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct compare_ask *in = rq->in;
    struct compare_view *v = arena_alloc(rq->arena, sizeof *v);
    struct comparison *c = arena_alloc(rq->arena, sizeof *c);
    struct answer w = {.rq = rq};
    int old, new;
    if (!type_named(&old, &w, "a", in->a, e) || !type_named(&new, &w, "b", in->b, e))
        return false;
    if (old == new)
        return err_field(e, "b", ERR_INVALID, "%s and %s are one type: there is nothing to compare",
                         in->a, in->b);
    compare_types(c, catalogue_type(w.view->catalogue, old),
                  catalogue_type(w.view->catalogue, new));
    v->a = designation_of(&w, old);
    v->b = designation_of(&w, new);
    for (int i = 0; i < COMPARE__LEVELS; i++)
        v->levels[i] = c->levels[i];
    v->differences = differences_view(c, COMPARE_DIFFERENCES, rq->arena);
    add_stated(v, &w, old, new);
    return reply_body(out, v);
}

const struct route equivalence_routes[] = {
    {GET, "/api/types/:designation/equivalents", R_ANY, 0, &EQUIVALENTS_ASK, &EQUIVALENTS, NULL,
     equivalents_get, "What a type's family is, what may stand in for it and what it may replace"},
    {GET, "/api/compare", R_ANY, 0, &COMPARE_ASK, &COMPARE, NULL, compare_get,
     "Two types point by point: what happens when b is put where a was"},
    {POST, "/api/equivalences", R_STOCK, WRITE | CREATES, &STATEMENT_NEW, &STATEMENT, NULL,
     statement_post, "State that one type may stand in for another"},
    {DELETE, "/api/equivalences", R_STOCK, WRITE, &STATEMENT_GO, NULL, NULL, statement_delete,
     "Take your own statement about a pair of types back"},
    {0},
};
