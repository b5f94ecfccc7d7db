/* SPDX-License-Identifier: MIT
 *
 * tester: rows of tester, tester_quantity, calibration and sitting.
 */
#include "store/tester.h"

#include <string.h>

#include "base/unit.h"
#include "store/journal.h"
#include "store/quantity.h"
#include "store/recall.h"
#include "store/store_priv.h"

static const char TESTERS[] =
    "SELECT id, code, title, note, suspect_ms, version FROM tester WHERE retired_ms IS NULL "
    "ORDER BY code";
static const char TESTER_GET[] =
    "SELECT id, code, title, note, suspect_ms, version FROM tester WHERE code = :code";
static const char READS[] =
    "SELECT quantity, unit, low, high, resolution, repeatability, relative FROM tester_quantity "
    "WHERE tester_id = :tester_id ORDER BY quantity";

static void tester_from_row(struct tester *t, struct query *q, struct arena *a)
{
    *t = (struct tester){.id = query_col_int(q, 0),
                         .code = query_col_text(q, 1, a),
                         .title = query_col_text(q, 2, a),
                         .note = query_col_text(q, 3, a),
                         .suspect_ms = query_col_int(q, 4),
                         .version = query_col_int(q, 5)};
}

static void reads_load(struct tester *t, struct store *st, struct arena *a)
{
    struct tester_quantity *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, READS);
    query_int(q, ":tester_id", t->id);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct tester_quantity){.quantity = query_col_text(q, 0, a),
                                             .unit = query_col_text(q, 1, a),
                                             .low = query_col_text(q, 2, a),
                                             .high = query_col_text(q, 3, a),
                                             .resolution = query_col_text(q, 4, a),
                                             .repeatability = query_col_text(q, 5, a),
                                             .relative = query_col_int(q, 6)};
    }
    query_end(q);
    t->reads = (struct list){rows, n};
}

void tester_list(struct list *out, struct store *st, struct arena *a)
{
    struct tester *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, TESTERS);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        tester_from_row(&rows[n++], q, a);
    }
    query_end(q);
    for (size_t i = 0; i < n; i++)
        reads_load(&rows[i], st, a);
    *out = (struct list){rows, n};
}

bool tester_load(struct tester *out, struct store *st, const char *code, struct arena *a,
                 struct err *e)
{
    struct query *q = query(st, TESTER_GET);
    query_text(q, ":code", code);
    bool found = query_row(q);
    if (found)
        tester_from_row(out, q, a);
    query_end(q);
    if (!found)
        return err_field(e, "tester", ERR_NOT_FOUND,
                         "there is no tester %s: add it to the testers first", code);
    reads_load(out, st, a);
    return true;
}

/* A figure in the scale's unit as a double in the quantity's unit; 0 when there is none. */
static double figure(const char *text, int shift)
{
    struct decimal d;
    int64_t v;
    if (!text || !decimal_parse(&d, text, strlen(text), NULL) ||
        !decimal_scale(&v, decimal_shift(d, shift), DECIMAL_DECIMALS, NULL))
        return 0;
    return standing_real(v, DECIMAL_DECIMALS);
}

static bool figure_check(const char *text, const char *field, bool percent, struct err *e)
{
    struct decimal d;
    size_t n = text ? strlen(text) : 0;
    if (!text)
        return true;
    if (percent && n && text[n - 1] == '%')
        n--;
    if (!decimal_parse(&d, text, n, e))
        return err_in(e, field);
    if (d.mantissa < 0 && strcmp(field, "low") != 0)
        return err_field(e, field, ERR_INVALID, "%s is negative: it has to be positive", text);
    return true;
}

static bool reads_check(struct store *st, const struct tester_quantity *r, struct arena *a,
                        struct err *e)
{
    struct quantity q;
    const struct unit *scale, *own;
    int shift;
    if (!quantity_load(&q, st, r->quantity, a, e))
        return false;
    if (r->relative != 1 && (!unit_find(&scale, r->unit, e) || !unit_find(&own, q.unit, e) ||
                             !unit_shift(&shift, scale, own, e)))
        return err_in(e, "unit");
    return figure_check(r->low, "low", false, e) && figure_check(r->high, "high", false, e) &&
           figure_check(r->resolution, "resolution", false, e) &&
           figure_check(r->repeatability, "repeatability", true, e);
}

static const char TESTER_IMAGE[] =
    "SELECT json_object('code', code, 'title', title, 'note', note, 'reads', "
    "(SELECT json_group_array(json_object('quantity', quantity, 'unit', unit, 'low', low, 'high', "
    "high, 'resolution', resolution, 'repeatability', repeatability, 'relative', relative)) "
    "FROM tester_quantity WHERE tester_id = id)) FROM tester WHERE id = :id";
static const char TESTER_CREATE[] =
    "INSERT INTO tester (code, title, note) VALUES (:code, :title, :note)";
static const char READS_CREATE[] =
    "INSERT INTO tester_quantity (tester_id, quantity, unit, low, high, resolution, "
    "repeatability, relative) "
    "VALUES (:tester_id, :quantity, :unit, :low, :high, :resolution, :repeatability, "
    "coalesce(:relative, 0))";

static bool reads_create(struct store *st, int64_t tester_id, const struct list *reads,
                         struct arena *a, struct err *e)
{
    const struct tester_quantity *r = reads->items;
    for (size_t i = 0; i < reads->count; i++) {
        if (!reads_check(st, &r[i], a, e))
            return false;
        struct query *q = query(st, READS_CREATE);
        query_int(q, ":tester_id", tester_id);
        query_text(q, ":quantity", r[i].quantity);
        query_text(q, ":unit", r[i].unit);
        query_text(q, ":low", r[i].low);
        query_text(q, ":high", r[i].high);
        query_text(q, ":resolution", r[i].resolution);
        query_text(q, ":repeatability", r[i].repeatability);
        query_int(q, ":relative", r[i].relative);
        if (!query_run(q, e))
            return e->code == ERR_CONFLICT
                       ? err_field(e, "reads", ERR_CONFLICT, "%s is listed twice", r[i].quantity)
                       : false;
    }
    return true;
}

bool tester_create(int64_t *id, struct store *st, const struct tester *t, struct arena *a,
                   struct err *e)
{
    store_assert_writing(st);
    recall_forget(st);
    struct query *q = query(st, TESTER_CREATE);
    query_text(q, ":code", t->code);
    query_text(q, ":title", t->title);
    query_text(q, ":note", t->note);
    if (!query_run(q, e)) {
        if (store_was_unique(e, "tester.code"))
            err_field(e, "code", ERR_CONFLICT, "there is a tester %s already", t->code);
        return false;
    }
    *id = store_last_id(st);
    return reads_create(st, *id, &t->reads, a, e) &&
           journal_append(st, "create", "tester", *id, NULL,
                          journal_image(st, TESTER_IMAGE, *id, a), e);
}

static const char TERMS[] = "SELECT unit, resolution, repeatability, relative FROM tester_quantity "
                            "WHERE tester_id = :tester_id AND quantity = :quantity";

struct terms {
    struct standing_tester figures;
    const char *unit;
    bool relative;
};

static void terms_load(struct terms *out, struct store *st, int64_t tester_id,
                       const struct quantity *qu, struct arena *a)
{
    const struct unit *scale, *own;
    const char *resolution = NULL, *repeatability = NULL;
    int shift = 0;
    *out = (struct terms){0};
    struct query *q = query(st, TERMS);
    query_int(q, ":tester_id", tester_id);
    query_text(q, ":quantity", qu->code);
    if (query_row(q)) {
        out->unit = query_col_text(q, 0, a);
        resolution = query_col_text(q, 1, a);
        repeatability = query_col_text(q, 2, a);
        out->relative = query_col_int(q, 3) == 1;
    }
    query_end(q);
    if (out->unit && unit_find(&scale, out->unit, NULL) && unit_find(&own, qu->unit, NULL) &&
        !unit_shift(&shift, scale, own, NULL))
        shift = 0; /* a relative scale: figures stay in its own unit */
    out->figures.resolution = figure(resolution, shift);
    size_t n = repeatability ? strlen(repeatability) : 0;
    if (n && repeatability[n - 1] == '%')
        out->figures.repeatability_share = figure(arena_bytes(a, repeatability, n - 1), -2);
    else
        out->figures.repeatability = figure(repeatability, shift);
}

void tester_terms(struct standing_tester *out, const char **unit, bool *relative, struct store *st,
                  int64_t tester_id, const struct quantity *qu, struct arena *a)
{
    const struct terms *t = recall(st, TERMS, tester_id, qu->code);
    if (!t) {
        struct arena *keep = recall_arena(st);
        struct terms *fresh = arena_alloc(keep ? keep : a, sizeof *fresh);
        terms_load(fresh, st, tester_id, qu, keep ? keep : a);
        recall_keep(st, TERMS, tester_id, qu->code, fresh);
        t = fresh;
    }
    if (out)
        *out = t->figures;
    if (unit)
        *unit = t->unit;
    if (relative)
        *relative = t->relative;
}

static const char CALIBRATION_AT[] =
    "SELECT id, slope, intercept, u_slope, u_intercept, covariance, low, high FROM calibration "
    "WHERE tester_id = :tester_id AND quantity = :quantity AND from_ms <= :at_ms "
    "AND (to_ms IS NULL OR to_ms > :at_ms) ORDER BY from_ms DESC, id DESC LIMIT 1";

void tester_calibration(struct calibration *out, int64_t *id, struct store *st, int64_t tester_id,
                        const char *quantity, int64_t at_ms)
{
    *id = NONE;
    struct query *q = query(st, CALIBRATION_AT);
    query_int(q, ":tester_id", tester_id);
    query_text(q, ":quantity", quantity);
    query_int(q, ":at_ms", at_ms);
    if (query_row(q)) {
        *id = query_col_int(q, 0);
        *out = (struct calibration){.slope = query_col_real(q, 1),
                                    .intercept = query_col_real(q, 2),
                                    .u_slope = query_col_real(q, 3),
                                    .u_intercept = query_col_real(q, 4),
                                    .covariance = query_col_real(q, 5),
                                    .low = query_col_real(q, 6),
                                    .high = query_col_real(q, 7)};
    }
    query_end(q);
}

/* ---- sittings ----------------------------------------------------------------------------- */

static const char SITTING_LAST[] =
    "SELECT s.id, coalesce((SELECT taken_ms FROM reading WHERE sitting_id = s.id "
    "ORDER BY id DESC LIMIT 1), "
    "s.began_ms) FROM sitting s WHERE s.user_id = :user_id AND s.tester_id = :tester_id "
    "AND s.ended_ms IS NULL AND s.label IS NULL ORDER BY s.id DESC LIMIT 1";
static const char SITTING_CREATE[] = "INSERT INTO sitting (tester_id, user_id, began_ms, label) "
                                     "VALUES (:tester_id, :user_id, :began_ms, :label)";
static const char SITTING_LABELLED[] =
    "SELECT id FROM sitting WHERE tester_id = :tester_id AND label = :label";

static bool sitting_create(int64_t *id, struct store *st, int64_t tester_id, const char *label,
                           int64_t at_ms, struct err *e)
{
    store_assert_writing(st);
    struct query *q = query(st, SITTING_CREATE);
    query_int(q, ":tester_id", tester_id);
    query_int(q, ":user_id", store_user(st));
    query_int(q, ":began_ms", at_ms);
    query_text(q, ":label", label);
    if (!query_run(q, e))
        return false;
    *id = store_last_id(st);
    return true;
}

bool sitting_current(int64_t *id, struct store *st, int64_t tester_id, int64_t at_ms, struct err *e)
{
    struct query *q = query(st, SITTING_LAST);
    query_int(q, ":user_id", store_user(st));
    query_int(q, ":tester_id", tester_id);
    int64_t last = NONE, seen_ms = NONE;
    if (query_row(q)) {
        last = query_col_int(q, 0);
        seen_ms = query_col_int(q, 1);
    }
    query_end(q);
    if (last != NONE && at_ms - seen_ms <= SITTING_IDLE_MS && seen_ms - at_ms <= SITTING_IDLE_MS) {
        *id = last;
        return true;
    }
    return sitting_create(id, st, tester_id, NULL, at_ms, e);
}

bool sitting_labelled(int64_t *id, struct store *st, int64_t tester_id, const char *label,
                      int64_t at_ms, struct err *e)
{
    struct query *q = query(st, SITTING_LABELLED);
    query_int(q, ":tester_id", tester_id);
    query_text(q, ":label", label);
    *id = query_number(q);
    return *id != NONE || sitting_create(id, st, tester_id, label, at_ms, e);
}
