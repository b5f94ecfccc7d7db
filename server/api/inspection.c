/* SPDX-License-Identifier: MIT
 *
 * inspection: routes of what the eye sees.
 */
#include "api/inspection.h"

#include <string.h>

#include "api/page.h"
#include "api/tube.h"
#include "store/grade.h"
#include "store/inspection.h"
#include "store/tube.h"

/* ---- shapes ------------------------------------------------------------------------------- */

struct finding_view {
    const char *aspect, *aspect_words, *finding, *words;
};
#define AT(f) offsetof(struct finding_view, f)
static const struct field FINDING_FIELDS[] = {
    {"aspect", K_TEXT, F_REQUIRED, AT(aspect), 1, 40, .help = "code of the aspect",
     .example = "pins"},
    {"finding", K_TEXT, F_REQUIRED, AT(finding), 1, 40, .help = "code of the finding",
     .example = "dull"},
    {"aspect_words", K_TEXT, 0, AT(aspect_words), .help = "the aspect in words"},
    {"words", K_TEXT, 0, AT(words), .help = "the finding in words"},
    {0},
};
static const struct shape FINDING = {"finding", sizeof(struct finding_view), FINDING_FIELDS};
#undef AT

struct look_view {
    int64_t stock_no, at_ms;
    const char *user, *note;
    struct list findings;
};
#define AT(f) offsetof(struct look_view, f)
static const struct field LOOK_NEW_FIELDS[] = {
    {"stock_no", K_STOCKNO, F_PATH | F_REQUIRED, AT(stock_no), .help = "stock number"},
    {"findings", K_LIST, F_REQUIRED, AT(findings), 1, 40, .sub = &FINDING,
     .help = "what was seen; an aspect left out was not looked at"},
    {"note", K_NOTE, 0, AT(note), .help = "free text"},
    {0},
};
static const struct shape LOOK_NEW = {"inspection_new", sizeof(struct look_view), LOOK_NEW_FIELDS};
static const struct field LOOK_FIELDS[] = {
    {"at", K_MOMENT, F_REQUIRED, AT(at_ms), .help = "when"},
    {"by", K_TEXT, 0, AT(user), .help = "who"},
    {"findings", K_LIST, F_REQUIRED, AT(findings), .sub = &FINDING, .help = "what was seen"},
    {"note", K_NOTE, 0, AT(note), .help = "free text"},
    {0},
};
static const struct shape LOOK = {"inspection", sizeof(struct look_view), LOOK_FIELDS};
#undef AT

struct looks {
    struct list items;
};
static const struct field LOOKS_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct looks, items), .sub = &LOOK,
     .help = "newest first"},
    {0},
};
static const struct shape LOOKS = {"inspections", sizeof(struct looks), LOOKS_FIELDS};

/* ---- handlers ----------------------------------------------------------------------------- */

static void view_of(struct look_view *v, const struct look *l, struct arena *a)
{
    struct finding_view *f = arena_array(a, FINDING__COUNT, sizeof *f);
    size_t n = 0;
    for (int i = 0; i < FINDING__COUNT; i++) {
        if (!l->seen.seen[i])
            continue;
        const struct inspection_finding *row = inspection_finding((enum finding)i);
        const struct inspection_aspect *aspect = inspection_aspect(row->aspect);
        f[n++] = (struct finding_view){aspect->code, aspect->words, row->code, row->words};
    }
    *v =
        (struct look_view){.at_ms = l->at_ms, .user = l->user, .note = l->note, .findings = {f, n}};
}

static bool looks_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct tube_ask *in = rq->in;
    struct looks *view = arena_alloc(rq->arena, sizeof *view);
    struct tube t;
    struct list looks;
    if (!tube_load(&t, rq->store, in->stock_no, rq->arena, e))
        return false;
    look_list(&looks, rq->store, t.id, PAGE_LIMIT, rq->arena);
    struct look_view *v = arena_array(rq->arena, looks.count, sizeof *v);
    for (size_t i = 0; i < looks.count; i++)
        view_of(&v[i], (const struct look *)looks.items + i, rq->arena);
    view->items = (struct list){v, looks.count};
    return reply_body(out, view);
}

static bool seen_from(struct inspection *out, const struct list *findings, struct err *e)
{
    const struct finding_view *f = findings->items;
    *out = (struct inspection){0};
    for (size_t i = 0; i < findings->count; i++) {
        enum aspect aspect;
        enum finding finding;
        if (!inspection_aspect_find(&aspect, f[i].aspect, strlen(f[i].aspect), e) ||
            !inspection_finding_find(&finding, aspect, f[i].finding, strlen(f[i].finding), e))
            return false;
        out->seen[finding] = true;
    }
    return true;
}

static bool look_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct look_view *in = rq->in;
    struct look_view *view = arena_alloc(rq->arena, sizeof *view);
    struct tube t;
    struct look l = {.at_ms = NONE, .note = in->note};
    const char *grade;
    int64_t id;
    if (!tube_load(&t, rq->store, in->stock_no, rq->arena, e) ||
        !seen_from(&l.seen, &in->findings, e))
        return false;
    l.tube_id = t.id;
    if (!look_create(&id, rq->store, &l, rq->arena, e) ||
        !grade_refresh(&grade, rq->store, t.id, rq->arena, e))
        return false;
    if (look_latest(&l, rq->store, t.id, rq->arena))
        view_of(view, &l, rq->arena);
    out->event = "tube";
    out->event_id = t.id;
    return reply_body(out, view);
}

const struct route inspection_routes[] = {
    {GET, "/api/tubes/:stock_no/inspections", R_ANY, 0, &TUBE_ASK, &LOOKS, NULL, looks_get,
     "What was seen of a tube"},
    {POST, "/api/tubes/:stock_no/inspections", R_STOCK, WRITE | CREATES, &LOOK_NEW, &LOOK, NULL,
     look_post, "Record what the eye sees"},
    {0},
};
