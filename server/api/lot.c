/* SPDX-License-Identifier: MIT
 *
 * lot: routes of lots and their lines.
 */
#include "api/lot.h"

#include "api/page.h"
#include "api/version.h"
#include "store/catalogue.h"
#include "store/lot.h"
#include "store/maker.h"

/* ---- shapes ------------------------------------------------------------------------------- */

#define AT(f) offsetof(struct lot_line, f)
static const struct field LINE_FIELDS[] = {
    {"id", K_INT, F_REQUIRED, AT(id), .help = "number of the line"},
    {"type", K_TEXT, F_REQUIRED, AT(type), .help = "type in the catalogue", .example = "12AX7"},
    {"printed", K_TEXT, F_REQUIRED, AT(printed), .help = "designation as printed on them"},
    {"maker", K_TEXT, 0, AT(maker), .help = "maker's name, where known"},
    {"count", K_INT, F_REQUIRED, AT(count), .help = "pieces bought"},
    {"drawn", K_INT, F_REQUIRED, AT(drawn), .help = "pieces that became numbered tubes"},
    {"note", K_NOTE, 0, AT(note), .help = "free text"},
    {0},
};
static const struct shape LINE = {"lot_line", sizeof(struct lot_line), LINE_FIELDS};
#undef AT

#define AT(f) offsetof(struct lot, f)
static const struct field LOT_FIELDS[] = {
    {"code", K_TEXT, F_REQUIRED, AT(code), .help = "the dealer's name for it"},
    {"title", K_TEXT, F_REQUIRED, AT(title), .help = "what it is"},
    {"bought", K_DATE, 0, AT(bought_day), .help = "day of purchase"},
    {"cost_minor", K_INT, 0, AT(cost_minor), .help = "price in the currency's smallest unit"},
    {"currency", K_TEXT, 0, AT(currency), .help = "ISO 4217", .example = "EUR"},
    {"note", K_NOTE, 0, AT(note), .help = "free text"},
    {"version", K_INT, F_REQUIRED, AT(version), .help = "for If-Match"},
    {"tubes", K_INT, 0, AT(tubes), .help = "numbered tubes that came from it"},
    {"lines", K_LIST, 0, AT(lines), .sub = &LINE, .help = "untested pieces"},
    {0},
};
static const struct shape LOT = {"lot", sizeof(struct lot), LOT_FIELDS};

static const struct field LOT_NEW_FIELDS[] = {
    {"code", K_TEXT, F_REQUIRED, AT(code), 1, 40, .help = "the dealer's name for it, unique",
     .example = "L-2026-04"},
    {"title", K_TEXT, F_REQUIRED, AT(title), 1, 200, .help = "what it is"},
    {"bought", K_DATE, 0, AT(bought_day), .help = "day of purchase", .example = "2026-04-11"},
    {"cost_minor", K_INT, 0, AT(cost_minor), 0, INT64_C(1000000000000),
     .help = "price in the currency's smallest unit"},
    {"currency", K_TEXT, 0, AT(currency), 3, 3, .help = "ISO 4217", .example = "EUR"},
    {"note", K_NOTE, 0, AT(note), .help = "free text"},
    {0},
};
static const struct shape LOT_NEW = {"lot_new", sizeof(struct lot), LOT_NEW_FIELDS};

static const struct field LOT_CHANGE_FIELDS[] = {
    {"code", K_TEXT, F_PATH | F_REQUIRED, AT(code), .help = "the lot"},
    {"title", K_TEXT, 0, AT(title), 1, 200, .help = "what it is"},
    {"bought", K_DATE, 0, AT(bought_day), .help = "day of purchase"},
    {"cost_minor", K_INT, 0, AT(cost_minor), 0, INT64_C(1000000000000),
     .help = "price in the currency's smallest unit"},
    {"currency", K_TEXT, 0, AT(currency), 3, 3, .help = "ISO 4217"},
    {"note", K_NOTE, 0, AT(note), .help = "free text"},
    {0},
};
static const struct shape LOT_CHANGE = {"lot_change", sizeof(struct lot), LOT_CHANGE_FIELDS};
#undef AT

struct lot_ask {
    const char *code;
};
static const struct field LOT_ASK_FIELDS[] = {
    {"code", K_TEXT, F_PATH | F_REQUIRED, offsetof(struct lot_ask, code), .help = "the lot"},
    {0},
};
static const struct shape LOT_ASK = {"lot_ask", sizeof(struct lot_ask), LOT_ASK_FIELDS};

struct lots {
    struct list items;
};
static const struct field LOTS_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct lots, items), .sub = &LOT,
     .help = "newest first"},
    {0},
};
static const struct shape LOTS = {"lots", sizeof(struct lots), LOTS_FIELDS};

struct line_new {
    const char *code, *printed, *maker, *note;
    int64_t count;
};
#define AT(f) offsetof(struct line_new, f)
static const struct field LINE_NEW_FIELDS[] = {
    {"code", K_TEXT, F_PATH | F_REQUIRED, AT(code), .help = "the lot"},
    {"printed", K_TEXT, F_REQUIRED, AT(printed), 1, 60, .help = "designation as printed on them",
     .example = "6Н2П"},
    {"count", K_INT, F_REQUIRED, AT(count), 1, 1000000, .help = "pieces"},
    {"maker", K_TEXT, 0, AT(maker), .help = "maker's name, one of the makers"},
    {"note", K_NOTE, 0, AT(note), .help = "free text"},
    {0},
};
static const struct shape LINE_NEW = {"lot_line_new", sizeof(struct line_new), LINE_NEW_FIELDS};
#undef AT

/* ---- handlers ----------------------------------------------------------------------------- */

static bool lots_list(struct reply *out, struct req *rq, struct err *e)
{
    const struct page *p = rq->in;
    struct lots *view = arena_alloc(rq->arena, sizeof *view);
    int64_t before;
    if (!page_number(&before, p, e))
        return false;
    lot_list(&view->items, rq->store, before, page_limit(p) + 1, rq->arena);
    if (page_cut(&view->items, p)) {
        const struct lot *last = (const struct lot *)view->items.items + view->items.count - 1;
        out->next = page_next(rq->arena, "/api/lots", p, last->id);
    }
    return reply_body(out, view);
}

static bool lot_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct lot_ask *in = rq->in;
    struct lot *l = arena_alloc(rq->arena, sizeof *l);
    if (!lot_load(l, rq->store, in->code, rq->arena, e))
        return false;
    out->etag = version_etag(rq->arena, l->version);
    return reply_body(out, l);
}

static bool money_check(const struct lot *l, struct err *e)
{
    if ((l->cost_minor == NONE) != (l->currency == NULL))
        return err_field(e, "currency", ERR_INVALID,
                         "a cost needs its currency and a currency its cost: give both or neither");
    for (const char *s = l->currency; s && *s; s++)
        if (*s < 'A' || *s > 'Z')
            return err_field(e, "currency", ERR_INVALID,
                             "%s is no currency: three capitals as in ISO 4217, such as EUR",
                             l->currency);
    return true;
}

static bool lot_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct lot *in = rq->in;
    struct lot *l = arena_alloc(rq->arena, sizeof *l);
    int64_t id;
    if (!money_check(in, e) || !lot_create(&id, rq->store, in, rq->arena, e) ||
        !lot_load(l, rq->store, in->code, rq->arena, e))
        return false;
    out->location = arena_printf(rq->arena, "/api/lots/%s", page_escape(rq->arena, in->code));
    out->etag = version_etag(rq->arena, l->version);
    out->event = "lot";
    out->event_id = id;
    return reply_body(out, l);
}

static bool lot_patch(struct reply *out, struct req *rq, struct err *e)
{
    struct lot in = *(const struct lot *)rq->in;
    struct lot *l = arena_alloc(rq->arena, sizeof *l);
    if (!lot_load(l, rq->store, in.code, rq->arena, e) || !version_match(rq, l->version, e) ||
        !money_check(&in, e))
        return false;
    in.id = l->id;
    in.version = l->version;
    if (!lot_change(rq->store, &in, rq->arena, e) || !lot_load(l, rq->store, in.code, rq->arena, e))
        return false;
    out->etag = version_etag(rq->arena, l->version);
    out->event = "lot";
    out->event_id = l->id;
    return reply_body(out, l);
}

static bool line_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct line_new *in = rq->in;
    struct lot *l = arena_alloc(rq->arena, sizeof *l);
    struct lot_line line = {
        .printed = in->printed, .maker_id = NONE, .count = in->count, .note = in->note};
    int64_t id;
    if (!lot_load(l, rq->store, in->code, rq->arena, e) ||
        !store_type_resolve(&line.type_id, rq->store, in->printed, rq->arena, e) ||
        (in->maker && !maker_find(&line.maker_id, rq->store, in->maker, e)))
        return false;
    line.lot_id = l->id;
    if (!lot_line_create(&id, rq->store, &line, rq->arena, e) ||
        !lot_load(l, rq->store, in->code, rq->arena, e))
        return false;
    out->event = "lot";
    out->event_id = l->id;
    return reply_body(out, l);
}

const struct route lot_routes[] = {
    {GET, "/api/lots", R_ANY, 0, &PAGE, &LOTS, NULL, lots_list, "Lots, newest first"},
    {POST, "/api/lots", R_STOCK, WRITE | CREATES, &LOT_NEW, &LOT, NULL, lot_post,
     "Record a purchase"},
    {GET, "/api/lots/:code", R_ANY, 0, &LOT_ASK, &LOT, NULL, lot_get, "One lot with its lines"},
    {PATCH, "/api/lots/:code", R_OWNER, WRITE, &LOT_CHANGE, &LOT, NULL, lot_patch,
     "Change a lot; If-Match wanted"},
    {POST, "/api/lots/:code/lines", R_STOCK, WRITE | CREATES, &LINE_NEW, &LOT, NULL, line_post,
     "Add untested pieces to a lot"},
    {0},
};
