/* SPDX-License-Identifier: MIT
 *
 * standing: rows of standing.
 */
#include "store/standing.h"

#include <string.h>

#include "catalogue/pins.h"
#include "measure/standing.h"
#include "store/quantity.h"
#include "store/recall.h"
#include "store/store_priv.h"
#include "store/tester.h"

/* ---- reading them ------------------------------------------------------------------------- */

static const char STANDINGS[] =
    "SELECT s.section, s.anode_pin, s.quantity, q.unit, q.decimals, s.test_point_id, s.method, "
    "s.value, s.u_milli, s.u_cal_milli, s.calibration_id, s.repeats, s.questioned, s.taken_ms "
    "FROM standing s JOIN quantity q ON q.code = s.quantity WHERE s.tube_id = :tube_id "
    "ORDER BY s.section, s.quantity, s.test_point_id";

void standing_list(struct list *out, struct store *st, int64_t tube_id, struct arena *a)
{
    struct standing_row *rows = NULL;
    size_t room = 0, n = 0;
    char text[DECIMAL_BYTES];
    struct query *q = query(st, STANDINGS);
    query_int(q, ":tube_id", tube_id);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        struct standing_row *r = &rows[n++];
        *r = (struct standing_row){.section = query_col_int(q, 0),
                                   .anode_pin = query_col_int(q, 1),
                                   .quantity = query_col_text(q, 2, a),
                                   .unit = query_col_text(q, 3, a),
                                   .decimals = query_col_int(q, 4),
                                   .test_point_id = query_col_int(q, 5),
                                   .method = query_col_text(q, 6, a),
                                   .value = query_col_int(q, 7),
                                   .u_milli = query_col_int(q, 8),
                                   .u_cal_milli = query_col_int(q, 9),
                                   .calibration_id = query_col_int(q, 10),
                                   .repeats = query_col_int(q, 11),
                                   .questioned = query_col_int(q, 12),
                                   .taken_ms = query_col_int(q, 13)};
        r->value_text = arena_text(a, decimal_print(text, r->value, (int)r->decimals));
    }
    query_end(q);
    *out = (struct list){rows, n};
}

static const char ONE[] =
    "SELECT value FROM standing WHERE tube_id = :tube_id AND section = :section "
    "AND quantity = :quantity AND test_point_id = :test_point_id AND method = :method";

int64_t standing_value(struct store *st, int64_t tube_id, int64_t section, const char *quantity,
                       int64_t test_point_id, const char *method)
{
    struct query *q = query(st, ONE);
    query_int(q, ":tube_id", tube_id);
    query_int(q, ":section", section);
    query_text(q, ":quantity", quantity);
    query_int(q, ":test_point_id", test_point_id);
    query_text(q, ":method", method);
    return query_number(q);
}

static const char SAMPLE[] =
    "SELECT s.value FROM (SELECT id FROM tube WHERE type_id = :type_id AND "
    "(:lot_id IS NULL OR lot_id = :lot_id) ORDER BY id DESC LIMIT :room) t "
    "JOIN standing s ON s.tube_id = t.id AND s.section = :section AND s.quantity = :quantity "
    "AND s.test_point_id = :test_point_id AND s.method = 'direct'";

size_t standing_sample(int64_t *out, size_t room, struct store *st, int64_t type_id, int64_t lot_id,
                       int64_t section, const char *quantity, int64_t test_point_id)
{
    size_t n = 0;
    struct query *q = query(st, SAMPLE);
    query_int(q, ":type_id", type_id);
    query_int(q, ":lot_id", lot_id);
    query_int(q, ":room", (int64_t)room);
    query_int(q, ":section", section);
    query_text(q, ":quantity", quantity);
    query_int(q, ":test_point_id", test_point_id);
    while (n < room && query_row(q))
        out[n++] = query_col_int(q, 0);
    query_end(q);
    return n;
}

static const char PREVIOUS[] =
    "SELECT tube_id FROM reading WHERE tester_id = :tester_id AND taken_ms <= :taken_ms "
    "AND tube_id <> :tube_id AND voided_ms IS NULL ORDER BY taken_ms DESC, id DESC LIMIT 1";

int64_t reading_previous(struct store *st, const struct reading *r, const char *quantity)
{
    struct query *q = query(st, PREVIOUS);
    query_int(q, ":tester_id", r->tester_id);
    query_int(q, ":taken_ms", r->taken_ms);
    query_int(q, ":tube_id", r->tube_id);
    int64_t before = query_number(q);
    return before == NONE ? NONE
                          : standing_value(st, before, r->section, quantity, r->test_point_id,
                                           r->method ? r->method : "direct");
}

/* ---- one typed value ---------------------------------------------------------------------- */

bool standing_parse(struct quantity_value *out, struct store *st, int64_t tester_id,
                    const struct quantity *q, const struct reading_value *v, struct arena *a,
                    struct err *e)
{
    const char *scale;
    bool relative;
    tester_terms(NULL, &scale, &relative, st, tester_id, q, a);
    if (relative) {
        if (v->unit && *v->unit && strcmp(v->unit, scale) != 0)
            return err_field(e, q->code, ERR_INVALID,
                             "this tester shows %s on a scale of its own in %s, not in %s", q->name,
                             scale, v->unit);
        struct quantity_value got = {.scaled = NONE};
        if (!decimal_parse(&got.typed, v->typed, strlen(v->typed), e))
            return err_in(e, q->code);
        got.exact = got.typed;
        *out = got;
        return true;
    }
    const char *unit = v->unit && *v->unit ? v->unit : scale;
    return quantity_value_parse(out, q, v->typed, strlen(v->typed), unit, e);
}

/* ---- deriving them ------------------------------------------------------------------------ */

/* What one standing value is derived for. */
struct place {
    int64_t tube_id, section, test_point_id;
    const char *quantity, *method;
};

static void place_bind(struct query *q, const struct place *at)
{
    query_int(q, ":tube_id", at->tube_id);
    query_int(q, ":section", at->section);
    query_text(q, ":quantity", at->quantity);
    query_int(q, ":test_point_id", at->test_point_id);
    query_text(q, ":method", at->method);
}

#define PLACE                                                                             \
    "r.tube_id = :tube_id AND r.section = :section AND r.test_point_id = :test_point_id " \
    "AND r.method = :method AND r.voided_ms IS NULL AND v.quantity = :quantity"

static const char LATEST[] = "SELECT r.sitting_id, r.tester_id FROM reading r "
                             "JOIN reading_value v ON v.reading_id = r.id WHERE " PLACE
                             " ORDER BY r.taken_ms DESC, r.id DESC LIMIT 1";

static const char REPEATS[] =
    "SELECT v.typed, v.unit, r.taken_ms, r.questions IS NOT NULL FROM reading r "
    "JOIN reading_value v ON v.reading_id = r.id WHERE " PLACE
    " AND r.sitting_id = :sitting_id ORDER BY r.taken_ms, r.id LIMIT :most";

static const char REMOVE[] =
    "DELETE FROM standing WHERE tube_id = :tube_id AND section = :section "
    "AND quantity = :quantity AND test_point_id = :test_point_id AND method = :method";

static const char PUT[] =
    "INSERT OR REPLACE INTO standing (tube_id, section, quantity, test_point_id, method, "
    "anode_pin, value, u_milli, u_cal_milli, calibration_id, tester_id, sitting_id, repeats, "
    "questioned, taken_ms) "
    "VALUES (:tube_id, :section, :quantity, :test_point_id, :method, :anode_pin, :value, "
    ":u_milli, :u_cal_milli, :calibration_id, :tester_id, :sitting_id, :repeats, :questioned, "
    ":taken_ms)";

struct repeats {
    struct decimal *value;
    size_t count;
    int64_t sitting_id, tester_id, taken_ms;
    bool questioned;
};

static bool repeats_load(struct repeats *out, struct store *st, const struct place *at,
                         const struct quantity *qu, struct arena *a, struct err *e)
{
    *out = (struct repeats){.sitting_id = NONE};
    struct query *q = query(st, LATEST);
    place_bind(q, at);
    if (query_row(q)) {
        out->sitting_id = query_col_int(q, 0);
        out->tester_id = query_col_int(q, 1);
    }
    query_end(q);
    if (out->sitting_id == NONE)
        return true;
    struct reading_value *typed = NULL;
    size_t room = 0;
    q = query(st, REPEATS);
    place_bind(q, at);
    query_int(q, ":sitting_id", out->sitting_id);
    query_int(q, ":most", STANDING_REPEATS);
    while (query_row(q)) {
        typed = store_grow(a, typed, &room, out->count, sizeof *typed);
        typed[out->count++] = (struct reading_value){.quantity = at->quantity,
                                                     .typed = query_col_text(q, 0, a),
                                                     .unit = query_col_text(q, 1, a)};
        out->taken_ms = query_col_int(q, 2);
        out->questioned = out->questioned || query_col_int(q, 3) == 1;
    }
    query_end(q);
    out->value = arena_array(a, out->count, sizeof *out->value);
    for (size_t i = 0; i < out->count; i++) {
        struct quantity_value v;
        if (!standing_parse(&v, st, out->tester_id, qu, &typed[i], a, e))
            return false;
        out->value[i] = v.exact;
    }
    return true;
}

static const char TYPE_PINS[] =
    "SELECT y.pins, y.base FROM tube t JOIN type y ON y.id = t.type_id WHERE t.id = :id";

static int64_t pin_of(const char *pins, const char *base, int64_t section)
{
    struct pinout p;
    if (!pinout_parse(&p, pins, base ? base_find(base) : NULL, NULL))
        return NONE;
    for (size_t i = 0; i < p.count; i++) {
        for (size_t j = 0; j < p.pin[i].count; j++) {
            char s = p.pin[i].on[j].section;
            if (p.pin[i].on[j].electrode == ELECTRODE_A &&
                (s == '0' + section || (s == 0 && section <= 1)))
                return p.pin[i].number;
        }
    }
    return NONE;
}

/* The pin at which a section's anode comes out, so that sections compare across the handbooks that
 * number them differently. */
static int64_t anode_pin(struct store *st, int64_t tube_id, int64_t section, struct arena *a)
{
    const char *pins = NULL, *base = NULL;
    struct query *q = query(st, TYPE_PINS);
    query_int(q, ":id", tube_id);
    if (query_row(q)) {
        pins = query_col_text(q, 0, a);
        base = query_col_text(q, 1, a);
    }
    query_end(q);
    if (!pins)
        return NONE;
    const char *both = arena_printf(a, "%s %s", base ? base : "", pins);
    const int64_t *known = recall(st, TYPE_PINS, section, both);
    if (known)
        return *known;
    int64_t pin = pin_of(pins, base, section);
    if (recall_arena(st)) {
        int64_t *kept = arena_alloc(recall_arena(st), sizeof *kept);
        *kept = pin;
        recall_keep(st, TYPE_PINS, section, both, kept);
    }
    return pin;
}

static bool put(struct store *st, const struct place *at, const struct repeats *r,
                const struct standing *value, int64_t calibration_id, struct arena *a,
                struct err *e)
{
    struct query *q = query(st, PUT);
    place_bind(q, at);
    query_int(q, ":anode_pin", anode_pin(st, at->tube_id, at->section, a));
    query_int(q, ":value", value->value);
    query_int(q, ":u_milli", value->unproven ? NONE : value->own_u);
    query_int(q, ":u_cal_milli", calibration_id == NONE ? NONE : value->calibration_u);
    query_int(q, ":calibration_id", calibration_id);
    query_int(q, ":tester_id", r->tester_id);
    query_int(q, ":sitting_id", r->sitting_id);
    query_int(q, ":repeats", (int64_t)r->count);
    query_int(q, ":questioned", r->questioned);
    query_int(q, ":taken_ms", r->taken_ms);
    return query_run(q, e);
}

bool standing_refresh(struct store *st, int64_t tube_id, int64_t section, const char *quantity,
                      int64_t test_point_id, const char *method, struct arena *a, struct err *e)
{
    store_assert_writing(st);
    const struct place at = {tube_id, section, test_point_id, quantity, method};
    struct quantity qu;
    struct repeats r;
    struct calibration line;
    bool relative = false;
    int64_t calibration_id = NONE;
    if (!quantity_load(&qu, st, quantity, a, e) || !repeats_load(&r, st, &at, &qu, a, e))
        return false;
    struct standing_input in = {
        .repeat = r.value, .repeat_count = r.count, .decimals = qu.decimals};
    if (r.count) {
        tester_terms(&in.tester, NULL, &relative, st, r.tester_id, &qu, a);
        tester_calibration(&line, &calibration_id, st, r.tester_id, quantity, r.taken_ms);
    }
    if (!r.count || (calibration_id == NONE && relative)) {
        struct query *q = query(st, REMOVE);
        place_bind(q, &at);
        return query_run(q, e);
    }
    struct standing value;
    in.calibration = calibration_id == NONE ? NULL : &line;
    if (qu.kind == QUANTITY_ORDINAL) { /* a place in a list has no mean: the last one stands */
        value = (struct standing){.unproven = true};
        if (!decimal_scale(&value.value, r.value[r.count - 1], 0, e))
            return false;
    } else if (!standing_compute(&value, &in, e)) {
        return err_in(e, quantity);
    }
    return put(st, &at, &r, &value, calibration_id, a, e);
}

static const char PLACES[] =
    "SELECT DISTINCT r.section, v.quantity, r.test_point_id, r.method FROM reading r "
    "JOIN reading_value v ON v.reading_id = r.id WHERE r.tube_id = :tube_id";

bool standing_derive(struct store *st, int64_t tube_id, struct arena *a, struct err *e)
{
    struct place *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, PLACES);
    query_int(q, ":tube_id", tube_id);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct place){.tube_id = tube_id,
                                   .section = query_col_int(q, 0),
                                   .quantity = query_col_text(q, 1, a),
                                   .test_point_id = query_col_int(q, 2),
                                   .method = query_col_text(q, 3, a)};
    }
    query_end(q);
    for (size_t i = 0; i < n; i++)
        if (!standing_refresh(st, tube_id, rows[i].section, rows[i].quantity, rows[i].test_point_id,
                              rows[i].method, a, e))
            return false;
    return true;
}
