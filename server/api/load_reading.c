/* SPDX-License-Identifier: MIT
 *
 * load_reading: one line of a file of readings.
 *
 * A reading that is there already is known by its tube, section, test point, tester, moment, method
 * and repeat, and is unchanged when its values are the same; that is looked at before any question
 * is asked, so that a file whose questions were confirmed once loads again without asking.
 *
 * In bulk nobody answers a question, so a questioned line is refused with the question, unless the
 * rule was confirmed for the whole file; the reading then carries the rule's code for ever.
 */
#include "api/load_priv.h"

#include <string.h>

#include "base/date.h"
#include "base/pen.h"
#include "base/stockno.h"
#include "base/unit.h"
#include "store/point.h"
#include "store/quantity.h"
#include "store/reading.h"
#include "store/tester.h"
#include "store/tube.h"

struct reading_row {
    const char *tube, *tester, *test_point, *method, *sitting;
    int64_t section, taken_ms, repeat, warm_s;
    const char *value[]; /* by quantity column */
};

/* ---- columns ------------------------------------------------------------------------------ */

#define AT(f) offsetof(struct reading_row, f)
static const struct field FIXED[] = {
    {"tube", K_TEXT, F_REQUIRED, AT(tube), 1, 60, .help = "stock number or outside mark"},
    {"section", K_INT, 0, AT(section), 0, 4, .help = "which section; 0 or absent: the whole tube"},
    {"tester", K_TEXT, F_REQUIRED, AT(tester), 1, 40, .help = "code of the tester"},
    {"test_point", K_TEXT, 0, AT(test_point), 1, 40,
     .help = "code of the type's test point; absent: its only one"},
    {"method", K_TEXT, 0, AT(method), 1, 40, .help = "where one tester can do it two ways"},
    {"taken", K_MOMENT, F_REQUIRED, AT(taken_ms), .help = "when"},
    {"repeat", K_INT, 0, AT(repeat), 1, 1000, .help = "which repeat; absent: the first"},
    {"warm_s", K_INT, 0, AT(warm_s), 0, 86400 * 7, .help = "time on heat, seconds"},
    {"sitting", K_TEXT, 0, AT(sitting), 1, 60,
     .help = "name of the stretch of work whose repeats are averaged"},
};

static void reading_columns(struct load_columns *out, struct store *st, struct arena *a)
{
    struct list all;
    quantity_list(&all, st, a);
    const struct quantity *q = all.items;
    size_t n = ARRAY_LEN(FIXED);
    out->field = arena_array(a, n + all.count + 1, sizeof *out->field);
    out->column = arena_array(a, n + all.count, sizeof *out->column);
    out->quantity = arena_array(a, n + all.count, sizeof(const struct quantity *));
    memcpy(out->field, FIXED, sizeof FIXED);
    for (size_t i = 0; i < all.count; i++, n++) {
        out->field[n] = (struct field){.name = q[i].code,
                                       .kind = K_TEXT,
                                       .flags = F_MEASURE,
                                       .at = AT(value) + i * sizeof(char *),
                                       .min = 1,
                                       .max = 80,
                                       .help = q[i].name};
        out->quantity[n] = &q[i];
    }
    for (size_t i = 0; i < n; i++)
        out->column[i].code = out->field[i].name;
    out->count = n;
    out->shape = (struct shape){"reading line", AT(value) + all.count * sizeof(char *), out->field};
}
#undef AT

static const char *reading_key(const void *row)
{
    return ((const struct reading_row *)row)->tube;
}

/* ---- words to rows ------------------------------------------------------------------------ */

/* As a scan reads it: a mark first, then a number. */
static bool tube_named(struct tube *out, struct store *st, const char *text, struct arena *a,
                       struct err *e)
{
    int64_t stock_no;
    struct err why = ERR_INIT;
    if (tube_find_mark(out, st, text, a))
        return true;
    if (stockno_parse(&stock_no, text, strlen(text), &why))
        return tube_load(out, st, stock_no, a, e) || err_field(e, "tube", e->code, "%s", e->text);
    if (strspn(text, "0123456789 -") == strlen(text))
        return err_field(e, "tube", why.code,
                         "no tube bears the mark %s, and as a stock number: %s", text, why.text);
    return err_field(e, "tube", ERR_NOT_FOUND, "no tube bears the mark %s", text);
}

static bool tester_named(int64_t *id, struct load *l, struct store *st, const char *code,
                         struct arena *a, struct err *e)
{
    struct tester t;
    for (size_t i = 0; i < l->testers; i++) {
        if (strcmp(l->tester[i].code, code) == 0) {
            *id = l->tester[i].id;
            return true;
        }
    }
    if (!tester_load(&t, st, code, a, e))
        return false;
    *id = t.id;
    if (l->testers < LOAD_KEPT)
        l->tester[l->testers++] =
            (struct load_tester){.code = arena_text(l->rq->arena, code), .id = t.id};
    return true;
}

/* A step's word becomes its number, for what is kept as typed is a decimal. */
static bool step_number(const char **typed, const struct quantity *q, const char *cell,
                        struct arena *a, struct err *e)
{
    struct quantity_value v;
    if (!quantity_value_parse(&v, q, cell, strlen(cell), NULL, e))
        return false;
    *typed = arena_printf(a, "%lld", (long long)v.scaled);
    return true;
}

static bool values_from(struct list *out, const struct load_columns *c,
                        const struct reading_row *row, struct arena *a, struct err *e)
{
    struct reading_value *v = arena_array(a, c->count, sizeof *v);
    size_t n = 0;
    for (size_t i = ARRAY_LEN(FIXED); i < c->count; i++) {
        const char *cell = row->value[i - ARRAY_LEN(FIXED)], *unit;
        size_t number_n, unit_n;
        if (!cell)
            continue;
        v[n].quantity = c->quantity[i]->code;
        if (c->quantity[i]->kind == QUANTITY_ORDINAL) {
            if (!step_number(&v[n].typed, c->quantity[i], cell, a, e))
                return false;
        } else {
            unit_split(cell, &number_n, &unit, &unit_n);
            v[n].typed = arena_bytes(a, cell, number_n);
            v[n].unit = unit_n ? arena_bytes(a, unit, unit_n) : c->column[i].unit;
        }
        n++;
    }
    *out = (struct list){v, n};
    return true;
}

/* ---- sittings ----------------------------------------------------------------------------- */

static struct load_sitting *sitting_kept(struct load *l, int64_t tester_id)
{
    for (size_t i = 0; i < l->sittings; i++)
        if (l->sitting[i].tester_id == tester_id)
            return &l->sitting[i];
    if (l->sittings == LOAD_KEPT)
        l->sittings = 0;
    struct load_sitting *s = &l->sitting[l->sittings++];
    *s = (struct load_sitting){.tester_id = tester_id, .id = NONE};
    return s;
}

/* A loaded sitting bears a label even where the file gives none: the moment of its first reading.
 * So it never mingles with a sitting that is open at the bench. */
static bool sitting_of(int64_t *id, struct load *l, struct store *st, const struct reading *r,
                       const char *label, struct arena *a, struct err *e)
{
    char moment[MOMENT_BYTES];
    if (label)
        return sitting_labelled(id, st, r->tester_id, label, r->taken_ms, e);
    struct load_sitting *s = sitting_kept(l, r->tester_id);
    int64_t apart = s->id == NONE ? 0 : r->taken_ms - s->last_ms;
    if (s->id == NONE || apart > SITTING_IDLE_MS || apart < -SITTING_IDLE_MS) {
        label = arena_printf(a, "loaded %s", moment_print(moment, r->taken_ms));
        if (!sitting_labelled(&s->id, st, r->tester_id, label, r->taken_ms, e)) {
            s->id = NONE;
            return false;
        }
    }
    s->last_ms = r->taken_ms;
    *id = s->id;
    return true;
}

/* ---- one line ----------------------------------------------------------------------------- */

static bool is_confirmed(const struct load_ask *ask, const char *rule)
{
    for (size_t i = 0; i < ask->confirm.count; i++)
        if (strcmp(ask->confirm.items[i], rule) == 0 || strcmp(ask->confirm.items[i], "all") == 0)
            return true;
    return false;
}

static bool answered(struct reading *r, struct load *l, struct store *st, const struct tube *t,
                     struct arena *a, struct err *e)
{
    struct list asked;
    if (!reading_question(&r->questions, &asked, st, r, t, l->samples, a, e))
        return false;
    const struct question *q = asked.items;
    for (size_t i = 0; i < asked.count; i++)
        if (!is_confirmed(l->ask, q[i].rule))
            return err_field(e, q[i].quantity ? q[i].quantity : "tube", ERR_CONFLICT,
                             "%s (confirm=%s keeps such readings)", q[i].sentence, q[i].rule);
    return true;
}

static bool reading_from(struct reading *r, struct tube *t, struct load *l, struct store *st,
                         const struct reading_row *row, struct arena *a, struct err *e)
{
    struct test_point p;
    *r = (struct reading){.section = row->section == NONE ? 0 : row->section,
                          .method = row->method,
                          .taken_ms = row->taken_ms,
                          .repeat_no = row->repeat,
                          .sitting_id = NONE,
                          .warm_s = row->warm_s};
    if (!tube_named(t, st, row->tube, a, e) ||
        !tester_named(&r->tester_id, l, st, row->tester, a, e) ||
        !test_point_load(&p, st, t->type_id, row->test_point, a, e) ||
        !reading_taken_check(row->taken_ms, l->rq->now_ms, e) ||
        !values_from(&r->values, &l->columns, row, a, e))
        return false;
    r->tube_id = t->id;
    r->test_point_id = p.shared_id;
    return reading_check(st, r, t->type_id, a, e);
}

static bool reading_put(enum load_outcome *out, struct load *l, struct store *st, const void *from,
                        struct arena *a, struct err *e)
{
    const struct reading_row *row = from;
    struct reading r;
    struct tube t;
    bool same;
    int64_t id;
    if (!reading_from(&r, &t, l, st, row, a, e) || !reading_find(&id, &same, st, &r, a, e))
        return false;
    *out = same ? LOAD_UNCHANGED : LOAD_ACCEPTED;
    if (same)
        return true;
    if (!answered(&r, l, st, &t, a, e))
        return false;
    if (l->dry)
        return true;
    l->wrote = true;
    load_touch(l, t.id);
    return sitting_of(&r.sitting_id, l, st, &r, row->sitting, a, e) &&
           reading_create(&id, &same, st, &r, a, e);
}

const struct load_kind load_readings = {"reading", reading_columns, reading_put, reading_key};
