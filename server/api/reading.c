/* SPDX-License-Identifier: MIT
 *
 * reading: routes of readings and standing values: the bench's own.
 *
 * One save holds all sections of one tube read in one go, and is kept whole or not at all.  What is
 * questioned is not kept until the bench hand confirms the rules that asked; the reading then
 * carries their codes for ever.
 */
#include "api/reading.h"

#include <stdio.h>
#include <string.h>

#include "api/page.h"
#include "api/tube.h"
#include "measure/plausible.h"
#include "store/grade.h"
#include "store/point.h"
#include "store/quantity.h"
#include "store/reading.h"
#include "store/standing.h"
#include "store/tester.h"
#include "store/tube.h"

#define FUTURE_MS    (INT64_C(5) * 60 * 1000) /* clocks of benches may run ahead by that much */
#define SAMPLE_TUBES 64 /* latest tubes that the robust limits rest on: enough for a median */

/* ---- shapes ------------------------------------------------------------------------------- */

#define AT(f) offsetof(struct reading_value, f)
static const struct field VALUE_FIELDS[] = {
    {"quantity", K_TEXT, F_REQUIRED, AT(quantity), 1, 24, .help = "code", .example = "gm"},
    {"typed", K_DECIMAL, F_REQUIRED, AT(typed), .help = "what the tester showed",
     .example = "5200"},
    {"unit", K_TEXT, 0, AT(unit), 1, 20,
     .help = "its unit; without it the tester's scale, else the quantity's own",
     .example = "micromho"},
    {0},
};
static const struct shape VALUE = {"reading_value", sizeof(struct reading_value), VALUE_FIELDS};
#undef AT

#define AT(f) offsetof(struct reading, f)
static const struct field READING_FIELDS[] = {
    {"id", K_INT, F_REQUIRED, AT(id), .help = "its number"},
    {"section", K_INT, F_REQUIRED, AT(section), .help = "0: the whole tube"},
    {"tester", K_TEXT, F_REQUIRED, AT(tester), .help = "code of the tester"},
    {"test_point", K_TEXT, F_REQUIRED, AT(test_point), .help = "code of the test point"},
    {"taken", K_MOMENT, F_REQUIRED, AT(taken_ms), .help = "when"},
    {"repeat", K_INT, F_REQUIRED, AT(repeat_no), .help = "which repeat"},
    {"sitting", K_INT, F_REQUIRED, AT(sitting_id), .help = "the sitting it was taken in"},
    {"by", K_TEXT, 0, AT(user), .help = "who"},
    {"warm_s", K_INT, 0, AT(warm_s), .help = "time on heat, seconds"},
    {"questions", K_TEXT, 0, AT(questions), .help = "rules it was kept against"},
    {"voided", K_MOMENT, 0, AT(voided_ms), .help = "since when it no longer counts"},
    {"void_reason", K_TEXT, 0, AT(void_reason), .help = "why"},
    {"values", K_LIST, F_REQUIRED, AT(values), .sub = &VALUE, .help = "as typed"},
    {0},
};
static const struct shape READING = {"reading", sizeof(struct reading), READING_FIELDS};
#undef AT

#define AT(f) offsetof(struct standing_row, f)
static const struct field STANDING_FIELDS[] = {
    {"section", K_INT, F_REQUIRED, AT(section), .help = "0: the whole tube"},
    {"anode_pin", K_INT, 0, AT(anode_pin), .help = "the section by its pin"},
    {"quantity", K_TEXT, F_REQUIRED, AT(quantity), .help = "code"},
    {"value", K_DECIMAL, F_REQUIRED, AT(value_text), .help = "at the quantity's decimals"},
    {"unit", K_TEXT, F_REQUIRED, AT(unit), .help = "its unit"},
    {"u_milli", K_INT, 0, AT(u_milli),
     .help = "own standard uncertainty, thousandths of the last place; absent: not known"},
    {"u_cal_milli", K_INT, 0, AT(u_cal_milli), .help = "that of the calibration"},
    {"test_point", K_INT, F_REQUIRED, AT(test_point_id), .help = "number of the test point"},
    {"repeats", K_INT, F_REQUIRED, AT(repeats), .help = "readings it is the mean of"},
    {"questioned", K_BOOL, F_REQUIRED, AT(questioned), .help = "kept against a question"},
    {"taken", K_MOMENT, F_REQUIRED, AT(taken_ms), .help = "when last read"},
    {0},
};
static const struct shape STANDING = {"standing", sizeof(struct standing_row), STANDING_FIELDS};
#undef AT

struct section_new {
    int64_t section, repeat;
    struct list values;
};
#define AT(f) offsetof(struct section_new, f)
static const struct field SECTION_FIELDS[] = {
    {"section", K_INT, 0, AT(section), 0, 4, .help = "which section; 0 or absent: the whole tube"},
    {"repeat", K_INT, 0, AT(repeat), 1, 1000, .help = "which repeat; absent: the first"},
    {"values", K_LIST, F_REQUIRED, AT(values), 1, 24, .sub = &VALUE,
     .help = "what the tester showed"},
    {0},
};
static const struct shape SECTION = {"section_reading", sizeof(struct section_new), SECTION_FIELDS};
#undef AT

struct readings_new {
    int64_t stock_no, taken_ms, warm_s;
    const char *tester, *test_point, *method;
    struct texts confirm;
    struct list sections;
};
#define AT(f) offsetof(struct readings_new, f)
static const struct field READINGS_NEW_FIELDS[] = {
    {"stock_no", K_STOCKNO, F_PATH | F_REQUIRED, AT(stock_no), .help = "stock number"},
    {"tester", K_TEXT, F_REQUIRED, AT(tester), 1, 40, .help = "code of the tester"},
    {"test_point", K_TEXT, 0, AT(test_point), 1, 40,
     .help = "code of the type's test point; absent: its only one"},
    {"method", K_TEXT, 0, AT(method), 1, 40, .help = "where one tester can do it two ways"},
    {"taken", K_MOMENT, 0, AT(taken_ms), .help = "when; absent: now"},
    {"warm_s", K_INT, 0, AT(warm_s), 0, 86400 * 7, .help = "time on heat, seconds"},
    {"confirm", K_TEXTS, 0, AT(confirm), 1, 40,
     .help = "rules whose question was seen and answered with yes"},
    {"sections", K_LIST, F_REQUIRED, AT(sections), 1, 5, .sub = &SECTION,
     .help = "section by section"},
    {0},
};
static const struct shape READINGS_NEW = {"readings_new", sizeof(struct readings_new),
                                          READINGS_NEW_FIELDS};
#undef AT

#define AT(f) offsetof(struct question, f)
static const struct field QUESTION_FIELDS[] = {
    {"rule", K_TEXT, F_REQUIRED, AT(rule), .help = "code, for confirm"},
    {"section", K_INT, 0, AT(section), .help = "where"},
    {"quantity", K_TEXT, 0, AT(quantity), .help = "of what"},
    {"sentence", K_TEXT, F_REQUIRED, AT(sentence), .help = "the question"},
    {"suggest", K_DECIMAL, 0, AT(suggest), .help = "what was probably meant"},
    {0},
};
static const struct shape QUESTION = {"question", sizeof(struct question), QUESTION_FIELDS};
#undef AT

struct saved {
    const char *title, *detail;
    int64_t status;
    struct list readings, standing, questions;
    const char *grade;
};
#define AT(f) offsetof(struct saved, f)
static const struct field SAVED_FIELDS[] = {
    {"readings", K_LIST, F_REQUIRED, AT(readings), .sub = &READING, .help = "as they were kept"},
    {"standing", K_LIST, F_REQUIRED, AT(standing), .sub = &STANDING,
     .help = "the tube's values now"},
    {"questions", K_LIST, 0, AT(questions), .sub = &QUESTION,
     .help = "what was asked and confirmed"},
    {"grade", K_TEXT, 0, AT(grade), .help = "its grade now"},
    {0},
};
static const struct shape SAVED = {"readings_saved", sizeof(struct saved), SAVED_FIELDS};
static const struct field ASKED_FIELDS[] = {
    {"title", K_TEXT, F_REQUIRED, AT(title), .help = "in short"},
    {"status", K_INT, F_REQUIRED, AT(status), .help = "409"},
    {"detail", K_TEXT, F_REQUIRED, AT(detail), .help = "what to do"},
    {"questions", K_LIST, F_REQUIRED, AT(questions), .sub = &QUESTION,
     .help = "to be confirmed, rule by rule, or the reading corrected"},
    {0},
};
static const struct shape ASKED = {"readings_questioned", sizeof(struct saved), ASKED_FIELDS};
#undef AT

struct values_view {
    struct list standing, readings;
};
static const struct field VALUES_VIEW_FIELDS[] = {
    {"standing", K_LIST, F_REQUIRED, offsetof(struct values_view, standing), .sub = &STANDING,
     .help = "current values"},
    {"readings", K_LIST, F_REQUIRED, offsetof(struct values_view, readings), .sub = &READING,
     .help = "all readings, newest first"},
    {0},
};
static const struct shape VALUES_VIEW = {"tube_readings", sizeof(struct values_view),
                                         VALUES_VIEW_FIELDS};

struct void_ask {
    int64_t id;
    const char *reason;
};
static const struct field VOID_FIELDS[] = {
    {"id", K_INT, F_PATH | F_REQUIRED, offsetof(struct void_ask, id), 1, INT64_MAX,
     .help = "number of the reading"},
    {"reason", K_TEXT, F_REQUIRED, offsetof(struct void_ask, reason), 1, 200, .help = "why"},
    {0},
};
static const struct shape VOID = {"reading_void", sizeof(struct void_ask), VOID_FIELDS};

/* ---- plausibility ------------------------------------------------------------------------- */

/* What a sample is of; compared member by member. */
struct sample {
    int64_t type_id, lot_id, section, test_point_id;
    char quantity[QUANTITY_CODE_BYTES];
    struct robust robust;
    int used; /* times since it was looked up */
};

#define SAMPLES_KEPT 512 /* what is pushed out by another is looked up again */
#define SAMPLES_NEAR 8   /* places looked at for one */

struct reading_samples {
    struct sample kept[SAMPLES_KEPT];
};

struct reading_samples *reading_samples_new(struct arena *a)
{
    return arena_alloc(a, sizeof(struct reading_samples));
}

static struct robust sample_load(struct store *st, const struct sample *of)
{
    int64_t v[SAMPLE_TUBES];
    size_t n = standing_sample(v, SAMPLE_TUBES, st, of->type_id, of->lot_id, of->section,
                               of->quantity, of->test_point_id);
    return statistics_robust(v, n);
}

static bool is_sample_of(const struct sample *k, const struct sample *of)
{
    return k->type_id == of->type_id && k->lot_id == of->lot_id && k->section == of->section &&
           k->test_point_id == of->test_point_id && strcmp(k->quantity, of->quantity) == 0;
}

/* Where a sample is kept, or where it may push out another. */
static struct sample *sample_slot(struct reading_samples *s, const struct sample *of)
{
    uint64_t h = (uint64_t)of->type_id * 31 + (uint64_t)of->lot_id * 17 +
                 (uint64_t)of->section * 7 + (uint64_t)of->test_point_id;
    for (const char *p = of->quantity; *p; p++)
        h = h * 131 + (unsigned char)*p;
    h = h * UINT64_C(0x9E3779B97F4A7C15) >> 32;
    for (size_t i = 0; i < SAMPLES_NEAR; i++) {
        struct sample *k = &s->kept[(h + i) % SAMPLES_KEPT];
        if (!*k->quantity || is_sample_of(k, of))
            return k;
    }
    return &s->kept[h % SAMPLES_KEPT];
}

static struct robust sample(struct store *st, const struct reading *r, const struct tube *t,
                            int64_t lot_id, const char *quantity, struct reading_samples *samples)
{
    struct sample of = {.type_id = t->type_id,
                        .lot_id = lot_id,
                        .section = r->section,
                        .test_point_id = r->test_point_id};
    snprintf(of.quantity, sizeof of.quantity, "%s", quantity);
    if (!samples)
        return sample_load(st, &of);
    struct sample *k = sample_slot(samples, &of);
    if (!is_sample_of(k, &of) || k->used++ >= SAMPLES_USED) {
        of.robust = sample_load(st, &of);
        *k = of;
    }
    return k->robust;
}

static const struct point_figure *figure_of(const struct list *figures, const char *quantity)
{
    const struct point_figure *f = figures->items;
    for (size_t i = 0; i < figures->count; i++)
        if (strcmp(f[i].quantity, quantity) == 0)
            return &f[i];
    return NULL;
}

static bool entry_from(struct plausible_entry *out, struct store *st, const struct reading *r,
                       const struct reading_value *v, const struct tube *t,
                       const struct list *figures, struct reading_samples *samples, struct arena *a,
                       struct err *e)
{
    struct quantity *q = arena_alloc(a, sizeof *q);
    if (!quantity_load(q, st, v->quantity, a, e))
        return false;
    const struct point_figure *f = figure_of(figures, v->quantity);
    *out = (struct plausible_entry){
        .quantity = q,
        .section = r->section ? (int)r->section - 1 : PLAUSIBLE_TUBE,
        .section_name = r->section ? arena_printf(a, "%lld", (long long)r->section) : "",
        .nominal = f ? f->nominal : NONE,
        .low = f ? f->low : NONE,
        .high = f ? f->high : NONE,
        .family = sample(st, r, t, NONE, v->quantity, samples),
        .previous = reading_previous(st, r, v->quantity),
        .earlier = standing_value(st, r->tube_id, r->section, v->quantity, r->test_point_id,
                                  r->method ? r->method : "direct"),
    };
    if (t->lot_id != NONE)
        out->lot = sample(st, r, t, t->lot_id, v->quantity, samples);
    return standing_parse(&out->value, st, r->tester_id, q, v, a, e);
}

static void question_from(struct question *out, const struct plausible_question *p, struct arena *a)
{
    char text[QUANTITY_PRINT_BYTES];
    *out = (struct question){.rule = p->rule,
                             .quantity = p->quantity ? p->quantity->code : NULL,
                             .sentence = p->sentence,
                             .section = p->section == PLAUSIBLE_TUBE ? 0 : p->section + 1};
    if (p->suggest != NONE && p->quantity)
        out->suggest = arena_text(a, decimal_print(text, p->suggest, p->quantity->decimals));
}

/* Several readings of one tube are asked about together, since sections speak for each other. */
static bool ask(struct list *questions, struct store *st, const struct list *readings,
                const struct tube *t, const struct test_point *p, struct reading_samples *samples,
                struct arena *a, struct err *e)
{
    const struct reading *r = readings->items;
    size_t room = 0, n = 0;
    for (size_t i = 0; i < readings->count; i++)
        room += r[i].values.count;
    struct plausible_entry *entry = arena_array(a, room, sizeof *entry);
    for (size_t i = 0; i < readings->count; i++) {
        const struct reading_value *v = r[i].values.items;
        for (size_t j = 0; j < r[i].values.count; j++) {
            if (!entry_from(&entry[n], st, &r[i], &v[j], t, &p->figures, samples, a, e))
                return false;
            if (entry[n].value.scaled != NONE) /* a relative scale cannot be judged yet */
                n++;
        }
    }
    const struct plausible_case c = {.entry = entry,
                                     .count = n,
                                     .heated_s = readings->count ? r[0].warm_s : NONE,
                                     .heat_needed_s = p->warm_s,
                                     .cold_cathode = strcmp(p->held, "none") == 0 && !p->heater_v};
    struct plausible_questions got = plausible_check(&c, a);
    struct question *out = arena_array(a, got.count, sizeof *out);
    for (size_t i = 0; i < got.count; i++) {
        if (got.item[i].severity == PLAUSIBLE_REFUSE)
            return err_field(e, got.item[i].quantity ? got.item[i].quantity->code : "values",
                             ERR_INVALID, "%s", got.item[i].sentence);
        question_from(&out[i], &got.item[i], a);
    }
    *questions = (struct list){out, got.count};
    return true;
}

/* Is the rule among the codes joined by ','? */
static bool has_rule(const char *rules, const char *rule)
{
    size_t n = strlen(rule);
    for (const char *s = rules; s && *s; s += strcspn(s, ","), s += *s == ',')
        if (strcspn(s, ",") == n && memcmp(s, rule, n) == 0)
            return true;
    return false;
}

/* The codes of the rules that asked about a section, or about the whole sitting. */
static const char *rules_of(const struct list *questions, int64_t section, struct arena *a)
{
    const struct question *q = questions->items;
    const char *rules = NULL;
    for (size_t i = 0; i < questions->count; i++)
        if ((!q[i].quantity || q[i].section == section) && !has_rule(rules, q[i].rule))
            rules = rules ? arena_printf(a, "%s,%s", rules, q[i].rule) : q[i].rule;
    return rules;
}

bool reading_question(const char **rules, struct list *questions, struct store *st,
                      const struct reading *r, const struct tube *t,
                      struct reading_samples *samples, struct arena *a, struct err *e)
{
    struct test_point p;
    struct reading *copy = arena_alloc(a, sizeof *copy);
    *copy = *r;
    const struct list one = {copy, 1};
    if (!test_point_by_id(&p, st, r->test_point_id, t->type_id, a, e) ||
        !ask(questions, st, &one, t, &p, samples, a, e))
        return false;
    *rules = rules_of(questions, r->section, a);
    return true;
}

/* ---- handlers ----------------------------------------------------------------------------- */

static bool confirmed(const struct question *q, const struct texts *confirm)
{
    for (size_t i = 0; i < confirm->count; i++)
        if (strcmp(confirm->items[i], q->rule) == 0)
            return true;
    return false;
}

/* The questions that nobody has answered with yes yet. */
static struct list unanswered(const struct list *questions, const struct texts *confirm,
                              struct arena *a)
{
    const struct question *q = questions->items;
    struct question *open = arena_array(a, questions->count, sizeof *open);
    size_t n = 0;
    for (size_t i = 0; i < questions->count; i++)
        if (!confirmed(&q[i], confirm))
            open[n++] = q[i];
    return (struct list){open, n};
}

/* The reply that asks: nothing was kept. */
static bool reply_asked(struct reply *out, const struct list *questions, struct arena *a)
{
    struct saved *view = arena_alloc(a, sizeof *view);
    view->title = "Is that right?";
    view->status = 409;
    view->detail = "nothing was kept yet: correct the reading, or send it again with the rules in "
                   "confirm";
    view->questions = *questions;
    out->status = 409;
    out->shape = &ASKED;
    return reply_body(out, view);
}

bool reading_taken_check(int64_t taken_ms, int64_t now_ms, struct err *e)
{
    return taken_ms <= now_ms + FUTURE_MS ||
           err_field(e, "taken", ERR_INVALID, "a reading cannot be taken in the future");
}

static bool readings_from(struct list *out, struct store *st, const struct readings_new *in,
                          const struct tube *t, const struct tester *tester,
                          const struct test_point *p, int64_t now_ms, struct arena *a,
                          struct err *e)
{
    const struct section_new *s = in->sections.items;
    struct reading *r = arena_array(a, in->sections.count, sizeof *r);
    if (in->taken_ms != NONE && !reading_taken_check(in->taken_ms, now_ms, e))
        return false;
    for (size_t i = 0; i < in->sections.count; i++) {
        r[i] = (struct reading){.tube_id = t->id,
                                .section = s[i].section == NONE ? 0 : s[i].section,
                                .tester_id = tester->id,
                                .test_point_id = p->shared_id,
                                .method = in->method,
                                .taken_ms = in->taken_ms == NONE ? now_ms : in->taken_ms,
                                .repeat_no = s[i].repeat,
                                .warm_s = in->warm_s,
                                .values = s[i].values};
        if (!reading_check(st, &r[i], t->type_id, a, e))
            return false;
    }
    *out = (struct list){r, in->sections.count};
    return true;
}

static bool keep(struct list *readings, struct req *rq, const struct list *questions, struct err *e)
{
    struct reading *r = readings->items;
    for (size_t i = 0; i < readings->count; i++) {
        bool same;
        int64_t id;
        r[i].questions = rules_of(questions, r[i].section, rq->arena);
        if (!sitting_current(&r[i].sitting_id, rq->store, r[i].tester_id, r[i].taken_ms, e) ||
            !reading_create(&id, &same, rq->store, &r[i], rq->arena, e) ||
            !reading_load(&r[i], rq->store, id, rq->arena, e))
            return false;
    }
    return true;
}

static bool readings_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct readings_new *in = rq->in;
    struct saved *view = arena_alloc(rq->arena, sizeof *view);
    struct tube t;
    struct tester tester;
    struct test_point p;
    if (!tube_load(&t, rq->store, in->stock_no, rq->arena, e) ||
        !tester_load(&tester, rq->store, in->tester, rq->arena, e) ||
        !test_point_load(&p, rq->store, t.type_id, in->test_point, rq->arena, e) ||
        !readings_from(&view->readings, rq->store, in, &t, &tester, &p, rq->now_ms, rq->arena, e) ||
        !ask(&view->questions, rq->store, &view->readings, &t, &p, NULL, rq->arena, e))
        return false;
    const struct list open = unanswered(&view->questions, &in->confirm, rq->arena);
    if (open.count)
        return reply_asked(out, &open, rq->arena);
    if (!keep(&view->readings, rq, &view->questions, e) ||
        !grade_refresh(&view->grade, rq->store, t.id, rq->arena, e))
        return false;
    standing_list(&view->standing, rq->store, t.id, rq->arena);
    out->event = "tube";
    out->event_id = t.id;
    return reply_body(out, view);
}

static bool readings_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct tube_ask *in = rq->in;
    struct values_view *view = arena_alloc(rq->arena, sizeof *view);
    struct tube t;
    if (!tube_load(&t, rq->store, in->stock_no, rq->arena, e))
        return false;
    standing_list(&view->standing, rq->store, t.id, rq->arena);
    reading_list(&view->readings, rq->store, t.id, PAGE_MOST, rq->arena);
    return reply_body(out, view);
}

static bool void_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct void_ask *in = rq->in;
    struct reading *r = arena_alloc(rq->arena, sizeof *r);
    const char *grade;
    if (!reading_void(rq->store, in->id, in->reason, rq->arena, e) ||
        !reading_load(r, rq->store, in->id, rq->arena, e) ||
        !grade_refresh(&grade, rq->store, r->tube_id, rq->arena, e))
        return false;
    out->status = 200;
    out->event = "tube";
    out->event_id = r->tube_id;
    return reply_body(out, r);
}

const struct route reading_routes[] = {
    {GET, "/api/tubes/:stock_no/readings", R_ANY, 0, &TUBE_ASK, &VALUES_VIEW, NULL, readings_get,
     "What a tube measures, and every reading of it"},
    {POST, "/api/tubes/:stock_no/readings", R_TEST, WRITE | CREATES, &READINGS_NEW, &SAVED, NULL,
     readings_post, "Record what a tester shows of a tube, section by section"},
    {POST, "/api/readings/:id/void", R_TEST, WRITE | CREATES, &VOID, &READING, NULL, void_post,
     "Void a wrong reading; it stays visible"},
    {0},
};
