/* SPDX-License-Identifier: MIT
 *
 * grade: routes of gradings, and of the vocabulary of inspections that they rest on.
 */
#include "api/grade.h"

#include "api/page.h"
#include "api/tube.h"
#include "store/grade.h"
#include "store/tube.h"

/* ---- shapes ------------------------------------------------------------------------------- */

#define AT(f) offsetof(struct grading, f)
static const struct field GRADING_FIELDS[] = {
    {"grade", K_TEXT, F_REQUIRED, AT(grade), .help = "empty: none can be given yet"},
    {"scheme", K_TEXT, F_REQUIRED, AT(scheme), .help = "scheme and edition"},
    {"borderline", K_BOOL, F_REQUIRED, AT(borderline),
     .help = "a value lies within its uncertainty of a limit"},
    {"at", K_MOMENT, F_REQUIRED, AT(at_ms), .help = "when"},
    {"by", K_TEXT, 0, AT(user), .help = "who caused it"},
    {"reasons", K_RAW, F_REQUIRED, AT(reasons),
     .help = "reasons: for the grade, and what kept the tube from each higher one; untested: what "
             "was not tested"},
    {0},
};
static const struct shape GRADING = {"grading", sizeof(struct grading), GRADING_FIELDS};
#undef AT

struct gradings {
    struct list items;
};
static const struct field GRADINGS_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct gradings, items), .sub = &GRADING,
     .help = "newest first"},
    {0},
};
static const struct shape GRADINGS = {"gradings", sizeof(struct gradings), GRADINGS_FIELDS};

struct word_view {
    const char *code, *words;
};
#define AT(f) offsetof(struct word_view, f)
static const struct field WORD_FIELDS[] = {
    {"code", K_TEXT, F_REQUIRED, AT(code), .help = "as it is sent"},
    {"words", K_TEXT, F_REQUIRED, AT(words), .help = "as it is read"},
    {0},
};
static const struct shape WORD = {"finding_word", sizeof(struct word_view), WORD_FIELDS};
#undef AT

struct aspect_view {
    const char *aspect, *words;
    struct list findings;
};
#define AT(f) offsetof(struct aspect_view, f)
static const struct field ASPECT_FIELDS[] = {
    {"aspect", K_TEXT, F_REQUIRED, AT(aspect), .help = "as it is sent"},
    {"words", K_TEXT, F_REQUIRED, AT(words), .help = "as it is read"},
    {"findings", K_LIST, F_REQUIRED, AT(findings), .sub = &WORD, .help = "best first"},
    {0},
};
static const struct shape ASPECT = {"aspect", sizeof(struct aspect_view), ASPECT_FIELDS};
#undef AT
static const struct field VOCABULARY_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct gradings, items), .sub = &ASPECT,
     .help = "in the order in which a tube is looked at"},
    {0},
};
static const struct shape VOCABULARY = {"inspection_vocabulary", sizeof(struct gradings),
                                        VOCABULARY_FIELDS};

/* ---- handlers ----------------------------------------------------------------------------- */

static bool gradings_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct tube_ask *in = rq->in;
    struct gradings *view = arena_alloc(rq->arena, sizeof *view);
    struct tube t;
    if (!tube_load(&t, rq->store, in->stock_no, rq->arena, e))
        return false;
    grading_list(&view->items, rq->store, t.id, PAGE_LIMIT, rq->arena);
    return reply_body(out, view);
}

/* Grade again by the scheme of today: the reply is the history with the newest first. */
static bool grading_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct tube_ask *in = rq->in;
    struct tube t;
    const char *grade;
    if (!tube_load(&t, rq->store, in->stock_no, rq->arena, e) ||
        !grade_refresh(&grade, rq->store, t.id, rq->arena, e))
        return false;
    out->status = 200;
    out->event = "tube";
    out->event_id = t.id;
    return gradings_get(out, rq, e);
}

static bool vocabulary_get(struct reply *out, struct req *rq, struct err *e)
{
    (void)e;
    struct gradings *view = arena_alloc(rq->arena, sizeof *view);
    struct aspect_view *v = arena_array(rq->arena, ASPECT__COUNT, sizeof *v);
    for (int i = 0; i < ASPECT__COUNT; i++) {
        const struct inspection_aspect *as = inspection_aspect((enum aspect)i);
        size_t n = (size_t)inspection_count((enum aspect)i);
        struct word_view *w = arena_array(rq->arena, n, sizeof *w);
        for (size_t j = 0; j < n; j++) {
            const struct inspection_finding *f =
                inspection_finding((enum finding)((size_t)inspection_first((enum aspect)i) + j));
            w[j] = (struct word_view){f->code, f->words};
        }
        v[i] = (struct aspect_view){as->code, as->words, {w, n}};
    }
    view->items = (struct list){v, ASPECT__COUNT};
    return reply_body(out, view);
}

const struct route grade_routes[] = {
    {GET, "/api/tubes/:stock_no/gradings", R_ANY, 0, &TUBE_ASK, &GRADINGS, NULL, gradings_get,
     "Grades of a tube with their reasons, newest first"},
    {POST, "/api/tubes/:stock_no/gradings", R_STOCK, WRITE | CREATES, &TUBE_ASK, &GRADINGS, NULL,
     grading_post, "Grade a tube by the current scheme"},
    {GET, "/api/inspection-vocabulary", R_ANY, 0, NULL, &VOCABULARY, NULL, vocabulary_get,
     "What can be seen of a tube, aspect by aspect"},
    {0},
};
