/* SPDX-License-Identifier: MIT
 *
 * construction: routes of how tubes are built.
 */
#include "api/construction.h"

#include "api/page.h"
#include "store/construction.h"
#include "store/maker.h"

#define AT(f) offsetof(struct construction, f)
static const struct field CONSTRUCTION_FIELDS[] = {
    {"title", K_TEXT, F_REQUIRED, AT(title), 1, 200, .help = "unique",
     .example = "long grey plates, D getter"},
    {"maker", K_TEXT, 0, AT(maker), 1, 100, .help = "maker's name, one of the makers"},
    {"plate", K_TEXT, 0, AT(plate), .help = "form and finish"},
    {"getter", K_TEXT, 0, AT(getter), .help = "form of its holder"},
    {"base", K_TEXT, 0, AT(base), .help = "form and finish"},
    {"envelope", K_TEXT, 0, AT(envelope), .help = "form of the glass"},
    {"note", K_NOTE, 0, AT(note), .help = "free text"},
    {0},
};
static const struct shape CONSTRUCTION = {"construction", sizeof(struct construction),
                                          CONSTRUCTION_FIELDS};

struct constructions {
    struct list items;
};
static const struct field CONSTRUCTIONS_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct constructions, items), .sub = &CONSTRUCTION,
     .help = "by title"},
    {0},
};
static const struct shape CONSTRUCTIONS = {"constructions", sizeof(struct constructions),
                                           CONSTRUCTIONS_FIELDS};

static bool constructions_list(struct reply *out, struct req *rq, struct err *e)
{
    (void)e;
    const struct page *p = rq->in;
    struct constructions *view = arena_alloc(rq->arena, sizeof *view);
    construction_list(&view->items, rq->store, p->after, page_limit(p) + 1, rq->arena);
    if (page_cut(&view->items, p)) {
        const struct construction *last =
            (const struct construction *)view->items.items + view->items.count - 1;
        out->next = page_next_text(rq->arena, "/api/constructions", p, last->title);
    }
    return reply_body(out, view);
}

static bool construction_post(struct reply *out, struct req *rq, struct err *e)
{
    struct construction *c = arena_alloc(rq->arena, sizeof *c);
    int64_t id;
    *c = *(const struct construction *)rq->in;
    c->maker_id = NONE;
    if ((c->maker && !maker_find(&c->maker_id, rq->store, c->maker, e)) ||
        !construction_create(&id, rq->store, c, rq->arena, e))
        return false;
    out->event = "construction";
    out->event_id = id;
    return reply_body(out, c);
}

const struct route construction_routes[] = {
    {GET, "/api/constructions", R_ANY, 0, &PAGE, &CONSTRUCTIONS, NULL, constructions_list,
     "Constructions by title"},
    {POST, "/api/constructions", R_STOCK, WRITE | CREATES, &CONSTRUCTION, &CONSTRUCTION, NULL,
     construction_post, "Add a construction"},
    {0},
};
