/* SPDX-License-Identifier: MIT
 *
 * type: the page of one type, and entering types of one's own.
 *
 * Every fact goes out with how it is known, so that no surface can show a figure from memory
 * without its mark: there is no other way to get at it.
 */
#include "api/type.h"

#include <string.h>

#include "api/page.h"
#include "api/type_priv.h"
#include "api/version.h"
#include "store/catalogue.h"
#include "store/spelling.h"
#include "store/type.h"

/* ---- shapes ------------------------------------------------------------------------------- */

struct fact {
    const char *field, *name, *value, *unit, *known;
};
#define AT(f) offsetof(struct fact, f)
static const struct field FACT_FIELDS[] = {
    {"field", K_TEXT, F_REQUIRED, AT(field), .help = "which one", .example = "heater_v"},
    {"name", K_TEXT, F_REQUIRED, AT(name), .help = "in words", .example = "heater voltage"},
    {"value", K_TEXT, F_REQUIRED, AT(value), .help = "as published", .example = "12.6"},
    {"unit", K_TEXT, 0, AT(unit), .help = "of a figure", .example = "V"},
    {"known", K_TEXT, F_REQUIRED, AT(known), .help = KNOWN_HELP, .example = "found"},
    {0},
};
static const struct shape FACT = {"type_fact", sizeof(struct fact), FACT_FIELDS};
#undef AT

struct pin_view {
    const char *pin;
    struct texts carries;
};
#define AT(f) offsetof(struct pin_view, f)
static const struct field PIN_FIELDS[] = {
    {"pin", K_TEXT, F_REQUIRED, AT(pin), .help = "number, or cap for the top cap"},
    {"carries", K_TEXTS, F_REQUIRED, AT(carries),
     .help = "electrodes: a, g1, k ...; .1 .2 sections"},
    {0},
};
static const struct shape PIN = {"type_pin", sizeof(struct pin_view), PIN_FIELDS};
#undef AT

#define AT(f) offsetof(struct alias, f)
static const struct field ALIAS_FIELDS[] = {
    {"text", K_TEXT, F_REQUIRED, AT(text), .help = "the spelling"},
    {"kind", K_TEXT, F_REQUIRED, AT(kind), .help = "printed on tubes, or only trade usage"},
    {"known", K_TEXT, F_REQUIRED, AT(how), .help = KNOWN_HELP},
    {"source", K_NOTE, 0, AT(source), .help = "publication"},
    {"where", K_NOTE, 0, AT(where), .help = "address read"},
    {0},
};
static const struct shape ALIAS = {"type_alias", sizeof(struct alias), ALIAS_FIELDS};
#undef AT

#define AT(f) offsetof(struct type_hazard, f)
static const struct field HAZARD_FIELDS[] = {
    {"kind", K_TEXT, F_REQUIRED, AT(kind), .help = "which danger", .example = "radioactive"},
    {"words", K_NOTE, F_REQUIRED, AT(words), .help = "what to do, or not"},
    {"known", K_TEXT, F_REQUIRED, AT(how), .help = KNOWN_HELP},
    {"source", K_NOTE, 0, AT(source), .help = "publication"},
    {"where", K_NOTE, 0, AT(where), .help = "address read"},
    {0},
};
static const struct shape HAZARD = {"type_hazard", sizeof(struct type_hazard), HAZARD_FIELDS};
#undef AT

struct doubt_view {
    const char *check, *text, *why;
};
#define AT(f) offsetof(struct doubt_view, f)
static const struct field DOUBT_FIELDS[] = {
    {"check", K_TEXT, F_REQUIRED, AT(check), .help = "which check of the row fails"},
    {"text", K_NOTE, F_REQUIRED, AT(text), .help = "what contradicts what"},
    {"why", K_NOTE, 0, AT(why), .help = "why it is left standing, where somebody looked into it"},
    {0},
};
static const struct shape DOUBT = {"type_doubt", sizeof(struct doubt_view), DOUBT_FIELDS};
#undef AT

struct aside_view {
    const char *from, *to, *relation, *why;
};
#define AT(f) offsetof(struct aside_view, f)
static const struct field ASIDE_FIELDS[] = {
    {"from", K_TEXT, F_REQUIRED, AT(from), .help = "the type that would be replaced"},
    {"to", K_TEXT, F_REQUIRED, AT(to), .help = "the type that would stand in for it"},
    {"relation", K_TEXT, F_REQUIRED, AT(relation), .help = "as stated"},
    {"why", K_NOTE, F_REQUIRED, AT(why), .help = "why the statement is not believed"},
    {0},
};
static const struct shape ASIDE = {"type_statement_aside", sizeof(struct aside_view), ASIDE_FIELDS};
#undef AT

struct type_view {
    const char *designation, *family, *origin, *known, *source, *where, *found_fields, *notes;
    int64_t memory, version;
    struct list facts, pins, aliases, hazards, doubts, aside, points;
    struct texts not_stated;
};
#define AT(f) offsetof(struct type_view, f)
static const struct field TYPE_FIELDS[] = {
    {"designation", K_TEXT, F_REQUIRED, AT(designation), .help = "the main spelling",
     .example = "12AX7"},
    {"family", K_TEXT, 0, AT(family), .help = "designation its family is listed under"},
    {"hazards", K_LIST, F_REQUIRED, AT(hazards), .sub = &HAZARD,
     .help = "shown beside its name; without one it is not thereby harmless"},
    {"facts", K_LIST, F_REQUIRED, AT(facts), .sub = &FACT, .help = "what is known of it, and how"},
    {"not_stated", K_TEXTS, F_REQUIRED, AT(not_stated),
     .help = "fields without a figure: not known, or not applicable; check a data sheet"},
    {"memory", K_BOOL, F_REQUIRED, AT(memory),
     .help = "a fact rests on memory alone: check a data sheet before acting on it"},
    {"pins", K_LIST, F_REQUIRED, AT(pins), .sub = &PIN,
     .help = "what comes out where; a pin that is not listed is not stated"},
    {"aliases", K_LIST, F_REQUIRED, AT(aliases), .sub = &ALIAS, .help = "all its spellings"},
    {"test_points", K_LIST, F_REQUIRED, AT(points), .sub = &POINT_VIEW,
     .help = "where it is measured, with nominal values"},
    {"doubts", K_LIST, F_REQUIRED, AT(doubts), .sub = &DOUBT,
     .help = "contradictions inside its figures"},
    {"set_aside", K_LIST, F_REQUIRED, AT(aside), .sub = &ASIDE,
     .help = "statements about it that its figures or one's own statements contradict"},
    {"known", K_TEXT, F_REQUIRED, AT(known), .help = "how its row as a whole is known"},
    {"source", K_NOTE, 0, AT(source), .help = "publication"},
    {"where", K_NOTE, 0, AT(where), .help = "address at which the facts marked found were read"},
    {"found_fields", K_NOTE, 0, AT(found_fields), .help = "fields read there, as recorded"},
    {"notes", K_NOTE, 0, AT(notes), .help = "remarks"},
    {"origin", K_TEXT, F_REQUIRED, AT(origin), .help = "bundled, or own"},
    {"version", K_INT, F_REQUIRED, AT(version), .help = "for If-Match"},
    {0},
};
static const struct shape TYPE = {"type", sizeof(struct type_view), TYPE_FIELDS};
#undef AT

static const struct field TYPE_ASK_FIELDS[] = {
    {"designation", K_TEXT, F_PATH | F_REQUIRED, offsetof(struct type_ask, designation), 1, 60,
     .help = "any spelling that finds one type"},
    {0},
};
const struct shape TYPE_ASK = {"type_ask", sizeof(struct type_ask), TYPE_ASK_FIELDS};

#define SLOT(c) (offsetof(struct type_form, text) + (c) * sizeof(const char *))
#define FIGURE(c, n, h)                            \
    {                                              \
        n, K_DECIMAL, 0, SLOT(c), 0, -1, .help = h \
    }
#define WORDS(c, n, h)                           \
    {                                            \
        n, K_TEXT, 0, SLOT(c), 1, 200, .help = h \
    }
#define DESIGNATION(flag)                                                          \
    {                                                                              \
        "designation", K_TEXT, F_REQUIRED | (flag), SLOT(TYPE_DESIGNATION), 1, 60, \
            .help = "the main spelling", .example = "6P6S"                         \
    }

/* clang-format off */
#define TYPE_FORM(flag) { \
    DESIGNATION(flag), \
    {"source", K_NOTE, F_REQUIRED, SLOT(TYPE_SOURCE), 1, 400, .help = "where the figures come from: publication, or how they were measured"}, \
    {"where", K_NOTE, 0, SLOT(TYPE_WHERE), 1, 400, .help = "address or page"}, \
    WORDS(TYPE_SYSTEM, "system", "designation system"), \
    WORDS(TYPE_CLASS, "class", "kind of tube, such as twin triode"), \
    {"sections", K_INT, 0, offsetof(struct type_form, sections), 1, 4, .help = "separately testable systems"}, \
    FIGURE(TYPE_HEATER_V, "heater_v", "heater voltage, V; of a tapped heater in series"), \
    FIGURE(TYPE_HEATER_A, "heater_a", "heater current, A; of a tapped heater in series"), \
    WORDS(TYPE_HEATING, "heating", "indirect, direct or cold"), \
    WORDS(TYPE_BASE, "base", "base, such as octal"), \
    {"pins", K_TEXT, 0, SLOT(TYPE_PINS), 1, 400, .help = "pin=electrode pairs joined by ;", .example = "2=h;3=a;4=g2;5=g1;7=h;8=k"}, \
    WORDS(TYPE_TOP_CAP, "top_cap", "yes or no"), \
    WORDS(TYPE_ENVELOPE, "envelope", "form of the bulb"), \
    FIGURE(TYPE_MAX_VA_V, "max_va_v", "limit of plate voltage, V"), \
    FIGURE(TYPE_MAX_PA_W, "max_pa_w", "limit of plate dissipation, W a section"), \
    FIGURE(TYPE_MAX_VG2_V, "max_vg2_v", "limit of screen voltage, V"), \
    FIGURE(TYPE_MAX_PG2_W, "max_pg2_w", "limit of screen dissipation, W"), \
    FIGURE(TYPE_MAX_VHK_V, "max_vhk_v", "limit between heater and cathode, V"), \
    FIGURE(TYPE_VA_V, "va_v", "plate voltage at the published point, V"), \
    FIGURE(TYPE_VG2_V, "vg2_v", "screen voltage at the published point, V"), \
    FIGURE(TYPE_VG1_V, "vg1_v", "grid voltage at the published point, V"), \
    FIGURE(TYPE_RK_OHM, "rk_ohm", "cathode resistor at the published point, ohm"), \
    FIGURE(TYPE_IA_MA, "ia_ma", "plate current at the published point, mA a section"), \
    FIGURE(TYPE_IG2_MA, "ig2_ma", "screen current at the published point, mA"), \
    FIGURE(TYPE_GM_MA_PER_V, "gm_ma_per_v", "transconductance, mA/V"), \
    FIGURE(TYPE_MU, "mu", "amplification factor"), \
    FIGURE(TYPE_RP_KOHM, "rp_kohm", "plate resistance, kohm"), \
    FIGURE(TYPE_LOAD_KOHM, "load_kohm", "load, kohm"), \
    FIGURE(TYPE_PO_W, "po_w", "output power, W"), \
    WORDS(TYPE_SECTION2_DATA, "section2_data", "data of a dissimilar second section"), \
    WORDS(TYPE_CYRILLIC, "cyrillic", "Cyrillic original"), \
    {"notes", K_NOTE, 0, SLOT(TYPE_NOTES), .help = "remarks"}, \
    {0}, \
}
/* clang-format on */
static const struct field TYPE_NEW_FIELDS[] = TYPE_FORM(0);
const struct shape TYPE_NEW = {"type_new", sizeof(struct type_form), TYPE_NEW_FIELDS};
static const struct field TYPE_PUT_FIELDS[] = TYPE_FORM(F_PATH);
static const struct shape TYPE_PUT = {"type_put", sizeof(struct type_form), TYPE_PUT_FIELDS};

/* ---- the page of a type -------------------------------------------------------------------- */

static const struct {
    enum type_column column;
    const char *name, *unit;
} FACTS[] = {
    {TYPE_SYSTEM, "designation system", NULL},
    {TYPE_CLASS, "kind of tube", NULL},
    {TYPE_SECTIONS, "sections", NULL},
    {TYPE_HEATER_V, "heater voltage", "V"},
    {TYPE_HEATER_A, "heater current", "A"},
    {TYPE_HEATING, "heating", NULL},
    {TYPE_BASE, "base", NULL},
    {TYPE_PINS, "pins", NULL},
    {TYPE_TOP_CAP, "top cap", NULL},
    {TYPE_ENVELOPE, "envelope", NULL},
    {TYPE_MAX_VA_V, "limit of plate voltage", "V"},
    {TYPE_MAX_PA_W, "limit of plate dissipation a section", "W"},
    {TYPE_MAX_VG2_V, "limit of screen voltage", "V"},
    {TYPE_MAX_PG2_W, "limit of screen dissipation", "W"},
    {TYPE_MAX_VHK_V, "limit between heater and cathode", "V"},
    {TYPE_VA_V, "plate voltage at the published point", "V"},
    {TYPE_VG2_V, "screen voltage at the published point", "V"},
    {TYPE_VG1_V, "grid voltage at the published point", "V"},
    {TYPE_RK_OHM, "cathode resistor at the published point", "ohm"},
    {TYPE_IA_MA, "plate current at the published point a section", "mA"},
    {TYPE_IG2_MA, "screen current at the published point", "mA"},
    {TYPE_GM_MA_PER_V, "transconductance", "mA/V"},
    {TYPE_MU, "amplification factor", NULL},
    {TYPE_RP_KOHM, "plate resistance", "kohm"},
    {TYPE_LOAD_KOHM, "load", "kohm"},
    {TYPE_PO_W, "output power", "W"},
    {TYPE_SECTION2_DATA, "data of the second section", NULL},
    {TYPE_CYRILLIC, "Cyrillic original", NULL},
};

const char *type_known(const struct type *t, enum type_column c)
{
    if (t->how == HOW_OWN)
        return how_words[HOW_OWN];
    return how_words[type_field_found(t, c) ? HOW_FOUND : HOW_MEMORY];
}

static void add_facts(struct type_view *v, const struct type_row *row, const struct type *t,
                      struct arena *a)
{
    struct fact *facts = arena_array(a, ARRAY_LEN(FACTS), sizeof *facts);
    const char **without = arena_array(a, ARRAY_LEN(FACTS), sizeof *without);
    size_t n = 0, m = 0;
    v->memory = 0;
    for (size_t i = 0; i < ARRAY_LEN(FACTS); i++) {
        enum type_column c = FACTS[i].column;
        if (!row->text[c]) {
            without[m++] = type_columns[c];
            continue;
        }
        facts[n] = (struct fact){type_columns[c], FACTS[i].name, row->text[c], FACTS[i].unit,
                                 type_known(t, c)};
        v->memory |= strcmp(facts[n++].known, how_words[HOW_MEMORY]) == 0;
    }
    v->facts = (struct list){facts, n};
    v->not_stated = (struct texts){without, m};
}

static void add_pins(struct type_view *v, const struct pinout *p, struct arena *a)
{
    struct pin_view *pins = arena_array(a, p->count, sizeof *pins);
    for (size_t i = 0; i < p->count; i++) {
        const struct pin *pin = &p->pin[i];
        const char **on = arena_array(a, pin->count, sizeof *on);
        for (size_t k = 0; k < pin->count; k++)
            on[k] = pin->on[k].section
                        ? arena_printf(a, "%s.%c", electrode_name(pin->on[k].electrode),
                                       pin->on[k].section)
                        : electrode_name(pin->on[k].electrode);
        pins[i] = (struct pin_view){pin->number == PIN_TOP_CAP ? "cap"
                                                               : arena_printf(a, "%d", pin->number),
                                    {on, pin->count}};
    }
    v->pins = (struct list){pins, p->count};
}

#define DOUBTS 16

static void add_doubts(struct type_view *v, struct store *st, int64_t id, const struct type *t,
                       struct arena *a)
{
    struct type_doubt found[DOUBTS];
    size_t n = type_doubts(found, DOUBTS, t);
    n = n < DOUBTS ? n : DOUBTS;
    struct doubt_view *rows = arena_array(a, n, sizeof *rows);
    struct list known;
    type_known_doubts(&known, st, id, a);
    for (size_t i = 0; i < n; i++) {
        rows[i] = (struct doubt_view){found[i].check, arena_text(a, found[i].text), NULL};
        for (size_t k = 0; k < known.count; k++) {
            const struct type_known_doubt *d = (const struct type_known_doubt *)known.items + k;
            if (strcmp(d->check, found[i].check) == 0)
                rows[i].why = d->why;
        }
    }
    v->doubts = (struct list){rows, n};
}

static void add_aside(struct type_view *v, const struct catalogue_view *c, struct arena *a)
{
    struct aside_view *rows = arena_array(a, c->aside_count, sizeof *rows);
    size_t n = 0;
    for (size_t i = 0; i < c->aside_count; i++) {
        const struct equivalence *s = &c->aside[i].said;
        if (strcmp(s->from, v->designation) == 0 || strcmp(s->to, v->designation) == 0)
            rows[n++] =
                (struct aside_view){arena_text(a, s->from), arena_text(a, s->to),
                                    relation_words[s->relation], arena_text(a, c->aside[i].why)};
    }
    v->aside = (struct list){rows, n};
}

static bool type_view(struct type_view *v, struct store *st, int64_t id, struct arena *a,
                      struct err *e)
{
    struct type_row row;
    const struct catalogue_view *c = catalogue_view(st);
    int number = catalogue_view_number(c, id);
    if (!type_load(&row, st, id, a, e))
        return false;
    const struct type bare = type_bare(row.text[TYPE_DESIGNATION]);
    const struct type *t = number < 0 ? &bare : catalogue_type(c->catalogue, number);
    *v = (struct type_view){.designation = row.text[TYPE_DESIGNATION],
                            .family = row.family,
                            .origin = row.origin,
                            .known = row.text[TYPE_HOW],
                            .source = row.text[TYPE_SOURCE],
                            .where = row.text[TYPE_WHERE],
                            .notes = row.text[TYPE_NOTES],
                            .version = row.version};
    if (*row.text[TYPE_FOUND_FIELDS])
        v->found_fields = row.text[TYPE_FOUND_FIELDS];
    add_facts(v, &row, t, a);
    add_pins(v, &t->pins, a);
    add_doubts(v, st, id, t, a);
    add_aside(v, c, a);
    spelling_list(&v->aliases, st, id, a);
    type_hazards(&v->hazards, st, id, a);
    return type_points(&v->points, st, id, a, e);
}

static bool reply_type(struct reply *out, struct req *rq, int64_t id, struct err *e)
{
    struct type_view *v = arena_alloc(rq->arena, sizeof *v);
    if (!type_view(v, rq->store, id, rq->arena, e))
        return false;
    out->etag = version_etag(rq->arena, v->version);
    return reply_body(out, v);
}

static bool type_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct type_ask *in = rq->in;
    int64_t id;
    return store_type_named(&id, rq->store, "designation", in->designation, rq->arena, e) &&
           reply_type(out, rq, id, e);
}

/* ---- one's own ----------------------------------------------------------------------------- */

/* lib reads what was entered as it reads a line of the bundled table. */
bool type_form_read(struct type_form *form, struct arena *a, struct err *e)
{
    struct sheet_row row;
    struct type t;
    if (form->sections != NONE)
        form->text[TYPE_SECTIONS] = arena_printf(a, "%lld", (long long)form->sections);
    form->text[TYPE_HOW] = how_words[HOW_OWN];
    sheet_row_init(&row, type_columns, form->text, TYPE__COLUMNS);
    return type_read(&t, &row.sheet, &row.record, a, e);
}

bool type_name_is_free(struct store *st, const char *designation, struct err *e)
{
    const struct catalogue_view *v = catalogue_view(st);
    struct lookup l;
    if (!catalogue_lookup(&l, v->catalogue, v->graph, designation, e))
        return err_in(e, "designation");
    if (l.verdict != LOOKUP_IS || l.hit[0].reason != LOOKUP_EXACT)
        return true;
    const char *there = catalogue_type(v->catalogue, (int)l.hit[0].type)->designation;
    return strcmp(there, designation) == 0 ||
           err_field(e, "designation", ERR_CONFLICT,
                     "%s is %s, which is in the catalogue already: change that one", designation,
                     there);
}

static bool type_post(struct reply *out, struct req *rq, struct err *e)
{
    struct type_form form = *(const struct type_form *)rq->in;
    int64_t id;
    if (!type_form_read(&form, rq->arena, e) ||
        !type_name_is_free(rq->store, form.text[TYPE_DESIGNATION], e) ||
        !type_create(&id, rq->store, form.text, rq->arena, e))
        return false;
    out->location = arena_printf(rq->arena, "/api/types/%s",
                                 page_escape(rq->arena, form.text[TYPE_DESIGNATION]));
    out->event = "type";
    out->event_id = id;
    return reply_type(out, rq, id, e);
}

static bool type_put(struct reply *out, struct req *rq, struct err *e)
{
    struct type_form form = *(const struct type_form *)rq->in;
    struct type_row row;
    int64_t id;
    if (!store_type_named(&id, rq->store, "designation", form.text[TYPE_DESIGNATION], rq->arena,
                          e) ||
        !type_load(&row, rq->store, id, rq->arena, e) || !version_match(rq, row.version, e) ||
        !type_form_read(&form, rq->arena, e))
        return false;
    const char *designation = row.text[TYPE_DESIGNATION];
    memcpy(row.text, form.text, sizeof row.text);
    row.text[TYPE_DESIGNATION] = designation;
    if (!type_replace(rq->store, &row, rq->arena, e))
        return false;
    out->event = "type";
    out->event_id = id;
    return reply_type(out, rq, id, e);
}

const struct route type_routes[] = {
    {GET, "/api/types/:designation", R_ANY, 0, &TYPE_ASK, &TYPE, NULL, type_get,
     "What is known of a type, and how each figure is known"},
    {POST, "/api/types", R_STOCK, WRITE | CREATES, &TYPE_NEW, &TYPE, NULL, type_post,
     "Enter a type of your own"},
    {PUT, "/api/types/:designation", R_OWNER, WRITE, &TYPE_PUT, &TYPE, NULL, type_put,
     "Put your own figures in the place of a type's; If-Match wanted"},
    {GET, "/api/types/:designation/test-points", R_ANY, 0, &TYPE_ASK, &POINTS, NULL, points_get,
     "Where a type is measured, with nominal values and limits"},
    {POST, "/api/types/:designation/test-points", R_TEST, WRITE | CREATES, &POINT_NEW, &POINT_VIEW,
     NULL, point_post, "Enter a test point of your own"},
    {0},
};
