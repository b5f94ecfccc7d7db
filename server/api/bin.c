/* SPDX-License-Identifier: MIT
 *
 * bin: routes of bins.
 */
#include "api/bin.h"

#include "api/page.h"
#include "store/bin.h"

#define AT(f) offsetof(struct bin, f)
static const struct field BIN_FIELDS[] = {
    {"code", K_TEXT, F_REQUIRED, AT(code), 1, 40, .help = "as written on the shelf, unique",
     .example = "C3-2"},
    {"note", K_NOTE, 0, AT(note), .help = "free text"},
    {0},
};
static const struct shape BIN = {"bin", sizeof(struct bin), BIN_FIELDS};

struct bins {
    struct list items;
};
static const struct field BINS_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct bins, items), .sub = &BIN, .help = "by code"},
    {0},
};
static const struct shape BINS = {"bins", sizeof(struct bins), BINS_FIELDS};

static bool bins_list(struct reply *out, struct req *rq, struct err *e)
{
    (void)e;
    const struct page *p = rq->in;
    struct bins *view = arena_alloc(rq->arena, sizeof *view);
    bin_list(&view->items, rq->store, p->after, page_limit(p) + 1, rq->arena);
    if (page_cut(&view->items, p)) {
        const struct bin *last = (const struct bin *)view->items.items + view->items.count - 1;
        out->next = page_next_text(rq->arena, "/api/bins", p, last->code);
    }
    return reply_body(out, view);
}

static bool bin_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct bin *in = rq->in;
    int64_t id;
    if (!bin_create(&id, rq->store, in, rq->arena, e))
        return false;
    out->event = "bin";
    out->event_id = id;
    return reply_body(out, in);
}

const struct route bin_routes[] = {
    {GET, "/api/bins", R_ANY, 0, &PAGE, &BINS, NULL, bins_list, "Bins by code"},
    {POST, "/api/bins", R_STOCK, WRITE | CREATES, &BIN, &BIN, NULL, bin_post, "Add a bin"},
    {0},
};
