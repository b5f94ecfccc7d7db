/* SPDX-License-Identifier: MIT
 *
 * lookup: what a text finds, with why; what the rules of the designation systems say where the
 * catalogue does not know it; near spellings, offered and never taken.
 */
#include "api/lookup.h"

#include <string.h>

#include "api/equivalence_priv.h"
#include "api/type.h"
#include "catalogue/compare.h"
#include "designation/decode.h"
#include "store/catalogue.h"
#include "store/point.h"
#include "store/spelling.h"
#include "store/type.h"

#define NEAR_MOST      8
#define NEAR_EDITS     2
#define DIFFERS_MOST   8 /* differences shown beside a candidate; the rest is in compare */
#define TYPEAHEAD      10
#define TYPEAHEAD_MOST 50

/* ---- shapes ------------------------------------------------------------------------------- */

static const char *const VERDICTS[] = {"is", "ambiguous", "candidates", "unknown", NULL};
static const char *const REASONS[] = {"exact", "reading", "weak", "suffix", NULL};

struct hit_view {
    const char *type, *family, *spelling, *why, *suffix, *class, *heater, *class_known,
        *heater_known;
    int64_t reason, name_only;
    struct texts hazards;
    struct list differs;
};
#define AT(f) offsetof(struct hit_view, f)
static const struct field HIT_FIELDS[] = {
    {"type", K_TEXT, F_REQUIRED, AT(type), .help = "main designation", .example = "6P6S"},
    {"family", K_TEXT, 0, AT(family), .help = "designation its family is listed under"},
    {"spelling", K_TEXT, F_REQUIRED, AT(spelling), .help = "the stored spelling that was found"},
    {"reason", K_ENUM, F_REQUIRED, AT(reason), .names = REASONS,
     .help = "exact: the same letters; reading: letters read otherwise; weak: only a suggestion; "
             "suffix: another quality or bulb suffix, a candidate only"},
    {"why", K_NOTE, F_REQUIRED, AT(why), .help = "the same in words"},
    {"suffix", K_TEXT, 0, AT(suffix), .help = "its suffix, where that is the difference"},
    {"class", K_TEXT, 0, AT(class), .help = "kind of tube"},
    {"class_known", K_TEXT, 0, AT(class_known), .help = KNOWN_HELP},
    {"heater", K_TEXT, 0, AT(heater), .help = "heater voltage", .example = "6.3 V"},
    {"heater_known", K_TEXT, 0, AT(heater_known), .help = KNOWN_HELP},
    {"name_only", K_BOOL, F_REQUIRED, AT(name_only),
     .help = "nothing but its name is known here: check the data sheet"},
    {"hazards", K_TEXTS, F_REQUIRED, AT(hazards), .help = "shown beside its name"},
    {"differs", K_LIST, 0, AT(differs), .sub = &DIFFERENCE,
     .help = "a candidate against what was found, the gravest first; all of it: compare"},
    {0},
};
static const struct shape HIT = {"lookup_hit", sizeof(struct hit_view), HIT_FIELDS};
#undef AT

struct decoded_view {
    const char *system, *word, *heater, *kind, *base, *serial, *quality, *remark;
    int64_t elements, exception;
};
#define AT(f) offsetof(struct decoded_view, f)
static const struct field DECODED_FIELDS[] = {
    {"system", K_TEXT, F_REQUIRED, AT(system), .help = "designation system"},
    {"word", K_TEXT, F_REQUIRED, AT(word), .help = "the name as read, in Latin letters"},
    {"heater", K_TEXT, 0, AT(heater), .help = "heater, where the name tells"},
    {"kind", K_TEXT, 0, AT(kind), .help = "kind of tube, where the name tells"},
    {"base", K_TEXT, 0, AT(base), .help = "base or envelope, where the name tells"},
    {"serial", K_TEXT, 0, AT(serial), .help = "serial number"},
    {"elements", K_INT, 0, AT(elements), .help = "useful elements brought out"},
    {"quality", K_TEXT, 0, AT(quality), .help = "what the suffix says"},
    {"remark", K_NOTE, 0, AT(remark), .help = "cautions and doubts"},
    {"exception", K_BOOL, F_REQUIRED, AT(exception), .help = "a rule is broken: see the remark"},
    {0},
};
static const struct shape DECODED = {"lookup_decoded", sizeof(struct decoded_view), DECODED_FIELDS};
#undef AT

struct near_view {
    const char *type, *class, *class_known;
};
#define AT(f) offsetof(struct near_view, f)
static const struct field NEAR_FIELDS[] = {
    {"type", K_TEXT, F_REQUIRED, AT(type), .help = "main designation"},
    {"class", K_TEXT, 0, AT(class), .help = "kind of tube"},
    {"class_known", K_TEXT, 0, AT(class_known), .help = KNOWN_HELP},
    {0},
};
static const struct shape NEAR = {"lookup_near", sizeof(struct near_view), NEAR_FIELDS};
#undef AT

struct lookup_view {
    const char *text;
    int64_t verdict;
    struct list hits, decoded, near;
};
#define AT(f) offsetof(struct lookup_view, f)
static const struct field LOOKUP_FIELDS[] = {
    {"text", K_TEXT, F_REQUIRED, AT(text), .help = "as asked"},
    {"verdict", K_ENUM, F_REQUIRED, AT(verdict), .names = VERDICTS,
     .help = "is: the first hit is it; ambiguous: several could be meant; candidates: only with "
             "another suffix; unknown"},
    {"hits", K_LIST, F_REQUIRED, AT(hits), .sub = &HIT, .help = "the surest first"},
    {"decoded", K_LIST, F_REQUIRED, AT(decoded), .sub = &DECODED,
     .help = "where the catalogue does not know it: what the name itself says, by the rules of its "
             "system, which all have exceptions"},
    {"near", K_LIST, F_REQUIRED, AT(near), .sub = &NEAR,
     .help = "where nothing was found: spellings near to it"},
    {0},
};
static const struct shape LOOKUP = {"lookup", sizeof(struct lookup_view), LOOKUP_FIELDS};
#undef AT

struct lookup_ask {
    const char *text;
};
static const struct field LOOKUP_ASK_FIELDS[] = {
    {"text", K_TEXT, F_REQUIRED, offsetof(struct lookup_ask, text), 1, 128,
     .help = "a designation, as printed, typed or misread", .example = "6П6С"},
    {0},
};
static const struct shape LOOKUP_ASK = {"lookup_ask", sizeof(struct lookup_ask), LOOKUP_ASK_FIELDS};

#define AT(f) offsetof(struct beginning, f)
static const struct field BEGINNING_FIELDS[] = {
    {"type", K_TEXT, F_REQUIRED, AT(type), .help = "main designation"},
    {"spelling", K_TEXT, F_REQUIRED, AT(text), .help = "the spelling that begins so"},
    {0},
};
static const struct shape BEGINNING = {"typeahead_item", sizeof(struct beginning),
                                       BEGINNING_FIELDS};
#undef AT

struct beginnings {
    struct list items;
};
static const struct field BEGINNINGS_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct beginnings, items), .sub = &BEGINNING,
     .help = "the plainest reading first"},
    {0},
};
static const struct shape BEGINNINGS = {"typeahead", sizeof(struct beginnings), BEGINNINGS_FIELDS};

struct typeahead_ask {
    const char *text;
    int64_t limit;
};
#define AT(f) offsetof(struct typeahead_ask, f)
static const struct field TYPEAHEAD_ASK_FIELDS[] = {
    {"text", K_TEXT, F_REQUIRED, AT(text), 1, 128, .help = "the beginning of a designation",
     .example = "6П"},
    {"limit", K_INT, 0, AT(limit), 1, TYPEAHEAD_MOST, .help = "most types wanted; 10 if absent"},
    {0},
};
static const struct shape TYPEAHEAD_ASK = {"typeahead_ask", sizeof(struct typeahead_ask),
                                           TYPEAHEAD_ASK_FIELDS};
#undef AT

/* ---- lookup -------------------------------------------------------------------------------- */

static const char *some(struct arena *a, const char *s)
{
    return s && *s ? arena_text(a, s) : NULL;
}

static const char *heater_text(struct arena *a, const struct type *t)
{
    const char *volts = test_point_text(a, t->heater_mv);
    return volts ? arena_printf(a, "%s V", volts) : NULL;
}

/* What a candidate of another suffix would change in the place of what was found. */
static void add_differs(struct hit_view *v, const struct type *found, const struct type *other,
                        struct arena *a)
{
    struct comparison *c = arena_alloc(a, sizeof *c);
    compare_types(c, found, other);
    v->differs = differences_view(c, DIFFERS_MOST, a);
}

static void hit_view(struct hit_view *v, const struct lookup *l, size_t i,
                     const struct catalogue_view *c, struct req *rq)
{
    struct arena *a = rq->arena;
    const struct lookup_hit *h = &l->hit[i];
    int number = (int)h->type, family = family_of(c->graph, number);
    const struct type *t = catalogue_type(c->catalogue, number);
    char why[LOOKUP_WHY_BYTES];
    size_t members;
    family_members(c->graph, number, &members, a);
    *v = (struct hit_view){
        .type = arena_text(a, t->designation),
        .family =
            members > 1 ? arena_text(a, catalogue_type(c->catalogue, family)->designation) : NULL,
        .spelling = arena_text(a, h->spelling),
        .why = arena_text(a, lookup_why_print(why, h)),
        .suffix = some(a, h->suffix),
        .class = some(a, t->class),
        .heater = heater_text(a, t),
        .reason = h->reason,
    };
    v->class_known = v->class ? type_known(t, TYPE_CLASS) : NULL;
    v->heater_known = v->heater ? type_known(t, TYPE_HEATER_V) : NULL;
    type_hazard_kinds(&v->hazards, rq->store, c->type_id[number], a);
    v->name_only = !*t->source;
    if (h->reason == LOOKUP_SUFFIX && l->verdict == LOOKUP_IS && !v->name_only)
        add_differs(v, catalogue_type(c->catalogue, (int)l->hit[0].type), t, a);
}

static void add_decoded(struct lookup_view *v, const struct decoding *d, struct arena *a)
{
    struct decoded_view *rows = arena_array(a, d->count, sizeof *rows);
    for (size_t i = 0; i < d->count; i++) {
        const struct decoded *r = &d->reading[i];
        rows[i] = (struct decoded_view){.system = system_names[r->system],
                                        .word = arena_text(a, r->word),
                                        .heater = some(a, r->heater),
                                        .kind = some(a, r->kind),
                                        .base = some(a, r->base),
                                        .serial = some(a, r->serial),
                                        .quality = some(a, r->quality),
                                        .remark = some(a, r->remark),
                                        .elements = r->elements ? r->elements : NONE,
                                        .exception = r->exception};
    }
    v->decoded = (struct list){rows, d->count};
}

static void add_near(struct lookup_view *v, const struct catalogue_view *c, const char *text,
                     struct arena *a)
{
    int near[NEAR_MOST];
    size_t n = catalogue_near(c->catalogue, text, NEAR_EDITS, near, NEAR_MOST);
    struct near_view *rows = arena_array(a, n, sizeof *rows);
    for (size_t i = 0; i < n; i++) {
        const struct type *t = catalogue_type(c->catalogue, near[i]);
        rows[i] = (struct near_view){arena_text(a, t->designation), some(a, t->class),
                                     *t->class ? type_known(t, TYPE_CLASS) : NULL};
    }
    v->near = (struct list){rows, n};
}

static bool lookup_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct lookup_ask *in = rq->in;
    struct lookup_view *v = arena_alloc(rq->arena, sizeof *v);
    const struct catalogue_view *c = catalogue_view(rq->store);
    struct lookup *l = arena_alloc(rq->arena, sizeof *l);
    struct decoding *d = arena_alloc(rq->arena, sizeof *d);
    if (!catalogue_lookup(l, c->catalogue, c->graph, in->text, e))
        return err_in(e, "text");
    v->text = in->text;
    v->verdict = l->verdict;
    struct hit_view *rows = arena_array(rq->arena, l->count, sizeof *rows);
    for (size_t i = 0; i < l->count; i++)
        hit_view(&rows[i], l, i, c, rq);
    v->hits = (struct list){rows, l->count};
    if (l->verdict != LOOKUP_IS) {
        if (!decode_text(d, in->text, e))
            return err_in(e, "text");
        add_decoded(v, d, rq->arena);
    }
    if (l->verdict == LOOKUP_UNKNOWN)
        add_near(v, c, in->text, rq->arena);
    return reply_body(out, v);
}

static bool typeahead_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct typeahead_ask *in = rq->in;
    struct beginnings *v = arena_alloc(rq->arena, sizeof *v);
    int64_t limit = in->limit == NONE ? TYPEAHEAD : in->limit;
    if (!spelling_begins(&v->items, rq->store, in->text, limit, rq->arena, e))
        return err_in(e, "text");
    return reply_body(out, v);
}

const struct route lookup_routes[] = {
    {GET, "/api/lookup", R_ANY, 0, &LOOKUP_ASK, &LOOKUP, NULL, lookup_get,
     "What a designation is, however it was written"},
    {GET, "/api/typeahead", R_ANY, 0, &TYPEAHEAD_ASK, &BEGINNINGS, NULL, typeahead_get,
     "Types whose designation begins so"},
    {0},
};
