/* SPDX-License-Identifier: MIT
 *
 * type_point: test points of a type: going out with their units, coming in with theirs.
 *
 * A condition or a value without its unit is refused: 250 could be volts or the typist's slip.
 */
#include <stdio.h>
#include <string.h>

#include "api/page.h"
#include "api/type.h"
#include "api/type_priv.h"
#include "base/decimal.h"
#include "base/unit.h"
#include "catalogue/point.h"
#include "store/catalogue.h"
#include "store/point.h"
#include "store/quantity.h"

/* ---- shapes ------------------------------------------------------------------------------- */

struct figure_view {
    const char *quantity, *name, *nominal, *low, *high, *known, *source, *where;
};
#define AT(f) offsetof(struct figure_view, f)
static const struct field FIGURE_FIELDS[] = {
    {"quantity", K_TEXT, F_REQUIRED, AT(quantity), .help = "code", .example = "gm"},
    {"name", K_TEXT, F_REQUIRED, AT(name), .help = "in words", .example = "transconductance"},
    {"nominal", K_TEXT, 0, AT(nominal), .help = "published value", .example = "1.600 mA/V"},
    {"low", K_TEXT, 0, AT(low), .help = "published lower limit"},
    {"high", K_TEXT, 0, AT(high), .help = "published upper limit"},
    {"known", K_TEXT, F_REQUIRED, AT(known), .help = KNOWN_HELP},
    {"source", K_NOTE, 0, AT(source), .help = "publication"},
    {"where", K_NOTE, 0, AT(where), .help = "address read"},
    {0},
};
static const struct shape FIGURE = {"test_point_figure", sizeof(struct figure_view), FIGURE_FIELDS};
#undef AT

static const char *const HELD[HELD__COUNT + 1] = {"grid", "current", "cathode", "none", NULL};
static const char *const SECTION[] = {"t", "p", NULL};

/* Texts of conditions carry their unit. */
struct point_view {
    const char *code, *title, *held, *section;
    const char *va, *vg2, *vg1, *rk, *ia, *heater;
    int64_t warm_s;
    const char *known, *source, *where, *origin;
    struct list figures;
};
#define AT(f) offsetof(struct point_view, f)
static const struct field POINT_FIELDS[] = {
    {"code", K_TEXT, F_REQUIRED, AT(code), .help = "short name within the type"},
    {"title", K_TEXT, F_REQUIRED, AT(title), .help = "in words"},
    {"held", K_TEXT, F_REQUIRED, AT(held),
     .help = "what is held: grid volts, plate current set by the grid, cathode resistor, none"},
    {"section", K_TEXT, 0, AT(section), .help = "t or p of a triode-pentode; absent: any"},
    {"va", K_TEXT, 0, AT(va), .help = "plate voltage", .example = "250 V"},
    {"vg2", K_TEXT, 0, AT(vg2), .help = "screen voltage"},
    {"vg1", K_TEXT, 0, AT(vg1), .help = "grid voltage", .example = "-8 V"},
    {"rk", K_TEXT, 0, AT(rk), .help = "cathode resistor", .example = "470 ohm"},
    {"ia", K_TEXT, 0, AT(ia), .help = "plate current that is set", .example = "10 mA"},
    {"heater", K_TEXT, 0, AT(heater), .help = "heater voltage"},
    {"warm_s", K_INT, 0, AT(warm_s), .help = "time on heat before reading, s"},
    {"figures", K_LIST, F_REQUIRED, AT(figures), .sub = &FIGURE, .help = "values and limits"},
    {"known", K_TEXT, F_REQUIRED, AT(known), .help = KNOWN_HELP},
    {"source", K_NOTE, 0, AT(source), .help = "publication"},
    {"where", K_NOTE, 0, AT(where), .help = "address read"},
    {"origin", K_TEXT, F_REQUIRED, AT(origin), .help = "bundled, or own"},
    {0},
};
const struct shape POINT_VIEW = {"test_point", sizeof(struct point_view), POINT_FIELDS};
#undef AT

struct points {
    struct list items;
};
static const struct field POINTS_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct points, items), .sub = &POINT_VIEW,
     .help = "by code"},
    {0},
};
const struct shape POINTS = {"test_points", sizeof(struct points), POINTS_FIELDS};

struct figure_new {
    const char *quantity, *nominal, *low, *high;
};
#define AT(f) offsetof(struct figure_new, f)
static const struct field FIGURE_NEW_FIELDS[] = {
    {"quantity", K_TEXT, F_REQUIRED, AT(quantity), 1, 23, .help = "code", .example = "gm"},
    {"nominal", K_TEXT, 0, AT(nominal), 1, 60, .help = "published value, with its unit",
     .example = "2.6 mA/V"},
    {"low", K_TEXT, 0, AT(low), 1, 60, .help = "lower limit, with its unit"},
    {"high", K_TEXT, 0, AT(high), 1, 60, .help = "upper limit, with its unit"},
    {0},
};
static const struct shape FIGURE_NEW = {"test_point_figure_new", sizeof(struct figure_new),
                                        FIGURE_NEW_FIELDS};
#undef AT

struct point_new {
    const char *designation, *code, *title, *source;
    const char *va, *vg2, *vg1, *rk, *ia, *heater;
    int64_t held, section, warm_s;
    struct list figures;
};
#define AT(f) offsetof(struct point_new, f)
static const struct field POINT_NEW_FIELDS[] = {
    {"designation", K_TEXT, F_PATH | F_REQUIRED, AT(designation), 1, 60, .help = "the type"},
    {"code", K_TEXT, F_REQUIRED, AT(code), 1, 23, .help = "short name: a-z, 0-9, -",
     .example = "grid"},
    {"title", K_TEXT, F_REQUIRED, AT(title), 1, 120, .help = "in words",
     .example = "Plate 250 V, grid -8 V"},
    {"held", K_ENUM, F_REQUIRED, AT(held), .names = HELD,
     .help = "what is held: grid volts, plate current set by the grid, cathode resistor, none"},
    {"section", K_ENUM, 0, AT(section), .names = SECTION, .help = "t or p of a triode-pentode"},
    {"va", K_TEXT, 0, AT(va), 1, 40, .help = "plate voltage", .example = "250 V"},
    {"vg2", K_TEXT, 0, AT(vg2), 1, 40, .help = "screen voltage"},
    {"vg1", K_TEXT, 0, AT(vg1), 1, 40, .help = "grid voltage", .example = "-8 V"},
    {"rk", K_TEXT, 0, AT(rk), 1, 40, .help = "cathode resistor", .example = "470 ohm"},
    {"ia", K_TEXT, 0, AT(ia), 1, 40, .help = "plate current that is set", .example = "10 mA"},
    {"heater", K_TEXT, 0, AT(heater), 1, 40, .help = "heater voltage", .example = "6.3 V"},
    {"warm_s", K_INT, 0, AT(warm_s), 0, 86400, .help = "time on heat before reading, s"},
    {"source", K_NOTE, F_REQUIRED, AT(source), 1, 400, .help = "publication, or your grounds"},
    {"figures", K_LIST, 0, AT(figures), 0, 40, .sub = &FIGURE_NEW, .help = "values and limits"},
    {0},
};
const struct shape POINT_NEW = {"test_point_new", sizeof(struct point_new), POINT_NEW_FIELDS};
#undef AT

/* ---- going out ----------------------------------------------------------------------------- */

static const char *with_unit(struct arena *a, const char *figure, const char *unit)
{
    return figure ? arena_printf(a, "%s %s", figure, unit) : NULL;
}

static const char *value_text(struct arena *a, const struct quantity *q, int64_t v)
{
    char buf[QUANTITY_PRINT_BYTES];
    return v == NONE ? NULL : arena_text(a, quantity_value_print(buf, q, v));
}

static bool figures_view(struct list *out, struct store *st, const struct list *figures,
                         struct arena *a, struct err *e)
{
    const struct point_figure *f = figures->items;
    struct figure_view *rows = arena_array(a, figures->count, sizeof *rows);
    for (size_t i = 0; i < figures->count; i++) {
        struct quantity q;
        if (!quantity_load(&q, st, f[i].quantity, a, e))
            return false;
        rows[i] = (struct figure_view){.quantity = q.code,
                                       .name = q.name,
                                       .nominal = value_text(a, &q, f[i].nominal),
                                       .low = value_text(a, &q, f[i].low),
                                       .high = value_text(a, &q, f[i].high),
                                       .known = f[i].how,
                                       .source = f[i].source,
                                       .where = f[i].where};
    }
    *out = (struct list){rows, figures->count};
    return true;
}

static bool point_view(struct point_view *v, struct store *st, const struct test_point *p,
                       struct arena *a, struct err *e)
{
    *v = (struct point_view){.code = p->code,
                             .title = p->title,
                             .held = p->held,
                             .section = p->section,
                             .va = with_unit(a, p->va_v, "V"),
                             .vg2 = with_unit(a, p->vg2_v, "V"),
                             .vg1 = with_unit(a, p->vg1_v, "V"),
                             .rk = with_unit(a, p->rk_ohm, "ohm"),
                             .ia = with_unit(a, p->ia_ma, "mA"),
                             .heater = with_unit(a, p->heater_v, "V"),
                             .warm_s = p->warm_s,
                             .known = p->how,
                             .source = p->source,
                             .where = p->where,
                             .origin = p->origin};
    return figures_view(&v->figures, st, &p->figures, a, e);
}

bool type_points(struct list *out, struct store *st, int64_t type_id, struct arena *a,
                 struct err *e)
{
    struct list points;
    test_point_list(&points, st, type_id, a);
    struct point_view *rows = arena_array(a, points.count, sizeof *rows);
    for (size_t i = 0; i < points.count; i++)
        if (!point_view(&rows[i], st, (const struct test_point *)points.items + i, a, e))
            return false;
    *out = (struct list){rows, points.count};
    return true;
}

bool points_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct type_ask *in = rq->in;
    struct points *view = arena_alloc(rq->arena, sizeof *view);
    int64_t id;
    return store_type_named(&id, rq->store, "designation", in->designation, rq->arena, e) &&
           type_points(&view->items, rq->store, id, rq->arena, e) && reply_body(out, view);
}

/* ---- coming in ----------------------------------------------------------------------------- */

/* The conditions, by the column of lib's table that they are. */
static const struct {
    const char *name, *unit, *example;
    size_t at;
    enum point_column column;
} CONDITIONS[] = {
    {"va", "V", "250 V", offsetof(struct point_new, va), POINT_VA_V},
    {"vg2", "V", "250 V", offsetof(struct point_new, vg2), POINT_VG2_V},
    {"vg1", "V", "-8 V", offsetof(struct point_new, vg1), POINT_VG1_V},
    {"rk", "ohm", "470 ohm", offsetof(struct point_new, rk), POINT_RK_OHM},
    {"ia", "mA", "10 mA", offsetof(struct point_new, ia), POINT_IA_MA},
    {"heater", "V", "6.3 V", offsetof(struct point_new, heater), POINT_HEATER_V},
};

/* "0.01 A" to "10" where mA is wanted. */
static bool condition_read(const char **out, const char *text, size_t i, struct arena *a,
                           struct err *e)
{
    const struct unit *given, *wanted;
    struct decimal d;
    const char *unit;
    size_t n, unit_n;
    int64_t milli;
    int shift;
    unit_split(text, &n, &unit, &unit_n);
    if (unit_n == 0)
        return err_field(e, CONDITIONS[i].name, ERR_INVALID, "%s has no unit: write it as in %s",
                         text, CONDITIONS[i].example);
    if (!unit_find(&given, unit, e) || !unit_find(&wanted, CONDITIONS[i].unit, e) ||
        !unit_shift(&shift, given, wanted, e) || !decimal_parse(&d, text, n, e) ||
        !decimal_scale(&milli, decimal_shift(d, shift), 3, e))
        return err_in(e, CONDITIONS[i].name);
    *out = test_point_text(a, milli);
    return true;
}

/* lib names its columns; the form names its fields. */
static bool rename_field(struct err *e)
{
    for (size_t i = 0; i < ARRAY_LEN(CONDITIONS); i++)
        if (strcmp(e->field, point_columns[CONDITIONS[i].column]) == 0)
            snprintf(e->field, sizeof e->field, "%s", CONDITIONS[i].name);
    return false;
}

static bool conditions_read(struct test_point *p, const struct point_new *in, struct arena *a,
                            struct err *e)
{
    const char *section = in->section == NONE ? NULL : SECTION[in->section];
    const char *text[POINT__COLUMNS] = {
        [POINT_DESIGNATION] = in->designation,
        [POINT_CODE] = in->code,
        [POINT_TITLE] = in->title,
        [POINT_HELD] = HELD[in->held],
        [POINT_SECTION] = section,
        [POINT_SOURCE] = in->source,
        [POINT_HOW] = how_words[HOW_OWN],
    };
    struct sheet_row row;
    struct point read;
    for (size_t i = 0; i < ARRAY_LEN(CONDITIONS); i++) {
        const char *given = *(const char *const *)((const char *)in + CONDITIONS[i].at);
        if (given && !condition_read(&text[CONDITIONS[i].column], given, i, a, e))
            return false;
    }
    sheet_row_init(&row, point_columns, text, POINT__COLUMNS);
    if (!point_read(&read, &row.sheet, &row.record, a, e))
        return rename_field(e);
    *p = (struct test_point){.code = in->code,
                             .title = in->title,
                             .held = HELD[in->held],
                             .section = section,
                             .va_v = text[POINT_VA_V],
                             .vg2_v = text[POINT_VG2_V],
                             .vg1_v = text[POINT_VG1_V],
                             .rk_ohm = text[POINT_RK_OHM],
                             .ia_ma = text[POINT_IA_MA],
                             .heater_v = text[POINT_HEATER_V],
                             .warm_s = in->warm_s,
                             .source = in->source};
    return true;
}

static bool value_read(int64_t *out, const struct quantity *q, const char *text, struct err *e)
{
    struct quantity_value v;
    const char *unit;
    size_t n, unit_n;
    *out = NONE;
    if (!text)
        return true;
    unit_split(text, &n, &unit, &unit_n);
    if (unit_n == 0 && *q->unit)
        return err_set(e, ERR_INVALID,
                       "%s of %s has no unit: write it in %s, or in a unit of the "
                       "same kind",
                       text, q->name, q->unit);
    if (!quantity_value_parse(&v, q, text, strlen(text), NULL, e))
        return false;
    *out = v.scaled;
    return true;
}

static bool figure_read(struct point_figure *f, const struct figure_new *in, struct store *st,
                        const char *source, struct arena *a, struct err *e)
{
    struct quantity q;
    *f = (struct point_figure){.quantity = in->quantity, .source = source};
    if (!quantity_load(&q, st, in->quantity, a, e) ||
        !value_read(&f->nominal, &q, in->nominal, e) || !value_read(&f->low, &q, in->low, e) ||
        !value_read(&f->high, &q, in->high, e))
        return false;
    if (f->nominal == NONE && f->low == NONE && f->high == NONE)
        return err_set(e, ERR_INVALID, "%s needs a nominal value or a limit", in->quantity);
    if (f->low != NONE && f->high != NONE && f->low > f->high)
        return err_set(e, ERR_INVALID, "the low limit of %s lies above the high one", in->quantity);
    return true;
}

static bool figures_read(struct test_point *p, const struct point_new *in, struct store *st,
                         struct arena *a, struct err *e)
{
    const struct figure_new *given = in->figures.items;
    struct point_figure *rows = arena_array(a, in->figures.count, sizeof *rows);
    for (size_t i = 0; i < in->figures.count; i++) {
        for (size_t k = 0; k < i; k++)
            if (strcmp(given[k].quantity, given[i].quantity) == 0)
                return err_field(e, "figures", ERR_INVALID, "%s stands there twice",
                                 given[i].quantity);
        if (!figure_read(&rows[i], &given[i], st, in->source, a, e)) {
            snprintf(e->field, sizeof e->field, "figures[%zu]", i);
            return false;
        }
    }
    p->figures = (struct list){rows, in->figures.count};
    return true;
}

bool point_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct point_new *in = rq->in;
    struct point_view *v = arena_alloc(rq->arena, sizeof *v);
    struct test_point p;
    int64_t type_id, id;
    if (!store_type_named(&type_id, rq->store, "designation", in->designation, rq->arena, e) ||
        !conditions_read(&p, in, rq->arena, e) || !figures_read(&p, in, rq->store, rq->arena, e))
        return false;
    p.type_id = type_id;
    if (!test_point_create(&id, rq->store, &p, rq->arena, e) ||
        !test_point_load(&p, rq->store, type_id, in->code, rq->arena, e) ||
        !point_view(v, rq->store, &p, rq->arena, e))
        return false;
    out->location = arena_printf(rq->arena, "/api/types/%s/test-points",
                                 page_escape(rq->arena, in->designation));
    out->event = "type";
    out->event_id = type_id;
    return reply_body(out, v);
}
