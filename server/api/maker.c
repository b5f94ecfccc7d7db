/* SPDX-License-Identifier: MIT
 *
 * maker: routes of makers.
 */
#include "api/maker.h"

#include "api/page.h"
#include "store/maker.h"

#define AT(f) offsetof(struct maker, f)
static const struct field MAKER_FIELDS[] = {
    {"name", K_TEXT, F_REQUIRED, AT(name), 1, 100, .help = "unique", .example = "Halvorsen Rør"},
    {"country", K_TEXT, 0, AT(country), 2, 2, .help = "ISO 3166-1 alpha-2", .example = "NO"},
    {"note", K_NOTE, 0, AT(note), .help = "free text"},
    {0},
};
static const struct shape MAKER = {"maker", sizeof(struct maker), MAKER_FIELDS};

struct makers {
    struct list items;
};
static const struct field MAKERS_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct makers, items), .sub = &MAKER, .help = "by name"},
    {0},
};
static const struct shape MAKERS = {"makers", sizeof(struct makers), MAKERS_FIELDS};

static bool makers_list(struct reply *out, struct req *rq, struct err *e)
{
    (void)e;
    const struct page *p = rq->in;
    struct makers *view = arena_alloc(rq->arena, sizeof *view);
    maker_list(&view->items, rq->store, p->after, page_limit(p) + 1, rq->arena);
    if (page_cut(&view->items, p)) {
        const struct maker *last = (const struct maker *)view->items.items + view->items.count - 1;
        out->next = page_next_text(rq->arena, "/api/makers", p, last->name);
    }
    return reply_body(out, view);
}

static bool maker_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct maker *in = rq->in;
    int64_t id;
    if (!maker_create(&id, rq->store, in, rq->arena, e))
        return false;
    out->event = "maker";
    out->event_id = id;
    return reply_body(out, in);
}

const struct route maker_routes[] = {
    {GET, "/api/makers", R_ANY, 0, &PAGE, &MAKERS, NULL, makers_list, "Makers by name"},
    {POST, "/api/makers", R_STOCK, WRITE | CREATES, &MAKER, &MAKER, NULL, maker_post,
     "Add a maker"},
    {0},
};
