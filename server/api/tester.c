/* SPDX-License-Identifier: MIT
 *
 * tester: routes of testers and of the quantities they read.
 */
#include "api/tester.h"

#include "store/quantity.h"
#include "store/tester.h"

/* ---- shapes ------------------------------------------------------------------------------- */

#define AT(f) offsetof(struct tester_quantity, f)
static const struct field READS_FIELDS[] = {
    {"quantity", K_TEXT, F_REQUIRED, AT(quantity), 1, 24, .help = "code", .example = "gm"},
    {"unit", K_TEXT, F_REQUIRED, AT(unit), 0, 20, .help = "what its scale shows",
     .example = "mA/V"},
    {"low", K_DECIMAL, 0, AT(low), .help = "low end of the range, in that unit"},
    {"high", K_DECIMAL, 0, AT(high), .help = "high end of the range"},
    {"resolution", K_DECIMAL, 0, AT(resolution), .help = "smallest step shown", .example = "0.1"},
    {"repeatability", K_TEXT, 0, AT(repeatability), 1, 20,
     .help = "standard deviation of one reading: in that unit, or in percent of the reading",
     .example = "1.5%"},
    {"relative", K_BOOL, 0, AT(relative),
     .help = "true: an arbitrary scale, which means nothing until it is calibrated"},
    {0},
};
static const struct shape READS = {"tester_quantity", sizeof(struct tester_quantity), READS_FIELDS};
#undef AT

#define AT(f) offsetof(struct tester, f)
static const struct field TESTER_FIELDS[] = {
    {"code", K_TEXT, F_REQUIRED, AT(code), 1, 40, .help = "the dealer's name for it, unique",
     .example = "bench-1"},
    {"title", K_TEXT, F_REQUIRED, AT(title), 1, 200, .help = "what it is"},
    {"note", K_NOTE, 0, AT(note), .help = "free text"},
    {"suspect_since", K_MOMENT, 0, AT(suspect_ms), .help = "its readings are in doubt since"},
    {"reads", K_LIST, F_REQUIRED, AT(reads), 0, 40, .sub = &READS, .help = "what it reads"},
    {0},
};
static const struct shape TESTER = {"tester", sizeof(struct tester), TESTER_FIELDS};
static const struct field TESTER_NEW_FIELDS[] = {
    {"code", K_TEXT, F_REQUIRED, AT(code), 1, 40, .help = "the dealer's name for it, unique"},
    {"title", K_TEXT, F_REQUIRED, AT(title), 1, 200, .help = "what it is"},
    {"note", K_NOTE, 0, AT(note), .help = "free text"},
    {"reads", K_LIST, F_REQUIRED, AT(reads), 1, 40, .sub = &READS, .help = "what it reads"},
    {0},
};
static const struct shape TESTER_NEW = {"tester_new", sizeof(struct tester), TESTER_NEW_FIELDS};
#undef AT

struct items {
    struct list items;
};
static const struct field TESTERS_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct items, items), .sub = &TESTER, .help = "by code"},
    {0},
};
static const struct shape TESTERS = {"testers", sizeof(struct items), TESTERS_FIELDS};

struct quantity_view {
    const char *code, *name, *unit, *steps;
    int64_t decimals, section, ordinal;
};
#define AT(f) offsetof(struct quantity_view, f)
static const struct field QUANTITY_FIELDS[] = {
    {"code", K_TEXT, F_REQUIRED, AT(code), .help = "code"},
    {"name", K_TEXT, F_REQUIRED, AT(name), .help = "in words"},
    {"unit", K_TEXT, F_REQUIRED, AT(unit), .help = "unit, empty for a pure number"},
    {"decimals", K_INT, F_REQUIRED, AT(decimals), .help = "decimals at which values compare"},
    {"per_section", K_BOOL, F_REQUIRED, AT(section), .help = "read section by section"},
    {"ordinal", K_BOOL, F_REQUIRED, AT(ordinal), .help = "a place in an ordered list"},
    {"steps", K_TEXT, 0, AT(steps), .help = "its places, joined by |"},
    {0},
};
static const struct shape QUANTITY = {"quantity", sizeof(struct quantity_view), QUANTITY_FIELDS};
#undef AT
static const struct field QUANTITIES_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct items, items), .sub = &QUANTITY,
     .help = "by code"},
    {0},
};
static const struct shape QUANTITIES = {"quantities", sizeof(struct items), QUANTITIES_FIELDS};

/* ---- handlers ----------------------------------------------------------------------------- */

static bool testers_list(struct reply *out, struct req *rq, struct err *e)
{
    (void)e;
    struct items *view = arena_alloc(rq->arena, sizeof *view);
    tester_list(&view->items, rq->store, rq->arena);
    return reply_body(out, view);
}

static bool tester_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct tester *in = rq->in;
    struct tester *t = arena_alloc(rq->arena, sizeof *t);
    int64_t id;
    if (!tester_create(&id, rq->store, in, rq->arena, e) ||
        !tester_load(t, rq->store, in->code, rq->arena, e))
        return false;
    out->event = "tester";
    out->event_id = id;
    return reply_body(out, t);
}

static bool quantities_list(struct reply *out, struct req *rq, struct err *e)
{
    (void)e;
    struct items *view = arena_alloc(rq->arena, sizeof *view);
    struct list rows;
    quantity_list(&rows, rq->store, rq->arena);
    const struct quantity *q = rows.items;
    struct quantity_view *v = arena_array(rq->arena, rows.count, sizeof *v);
    for (size_t i = 0; i < rows.count; i++)
        v[i] = (struct quantity_view){.code = q[i].code,
                                      .name = q[i].name,
                                      .unit = q[i].unit,
                                      .steps = q[i].steps,
                                      .decimals = q[i].decimals,
                                      .section = q[i].scope == QUANTITY_SECTION,
                                      .ordinal = q[i].kind == QUANTITY_ORDINAL};
    view->items = (struct list){v, rows.count};
    return reply_body(out, view);
}

const struct route tester_routes[] = {
    {GET, "/api/testers", R_ANY, 0, NULL, &TESTERS, NULL, testers_list, "Testers in use"},
    {POST, "/api/testers", R_TEST, WRITE | CREATES, &TESTER_NEW, &TESTER, NULL, tester_post,
     "Add a tester and what it reads"},
    {GET, "/api/quantities", R_ANY, 0, NULL, &QUANTITIES, NULL, quantities_list,
     "What can be read"},
    {0},
};
