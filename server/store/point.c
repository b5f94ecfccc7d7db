/* SPDX-License-Identifier: MIT
 *
 * point: rows of test_point and test_point_quantity.
 */
#include "store/point.h"

#include <string.h>

#include "base/decimal.h"
#include "store/journal.h"
#include "store/recall.h"
#include "store/store_priv.h"

const char *test_point_text(struct arena *a, int64_t milli)
{
    char buf[DECIMAL_BYTES];
    if (milli == NONE)
        return NULL;
    decimal_print(buf, milli, 3);
    size_t n = strlen(buf);
    while (buf[n - 1] == '0')
        n--;
    if (buf[n - 1] == '.')
        n--;
    return arena_bytes(a, buf, n);
}

/* Same conditions: the same text of every figure and the same thing held, within the family. */
#define SHARED                                                                               \
    "(SELECT min(o.id) FROM test_point o JOIN type oy ON oy.id = o.type_id "                 \
    "WHERE (o.type_id = p.type_id OR oy.family_id = y.family_id) AND o.held = p.held "       \
    "AND o.section IS p.section AND o.va_v IS p.va_v AND o.vg2_v IS p.vg2_v AND o.vg1_v IS " \
    "p.vg1_v "                                                                               \
    "AND o.rk_ohm IS p.rk_ohm AND o.ia_ma IS p.ia_ma AND o.retired_ms IS NULL)"

#define POINT_COLS                                                                               \
    "p.id, " SHARED ", p.type_id, p.code, p.title, p.held, p.va_v, p.vg2_v, p.vg1_v, p.rk_ohm, " \
    "p.ia_ma, p.heater_v, p.warm_s, p.source, p.how, p.origin, p.section, p.found_where"

static const char POINTS[] =
    "SELECT " POINT_COLS " FROM test_point p JOIN type y ON y.id = p.type_id "
    "WHERE p.type_id = :type_id AND p.retired_ms IS NULL ORDER BY p.code";

static const char FIGURES[] =
    "SELECT quantity, nominal, low, high, source, how, found_where FROM test_point_quantity "
    "WHERE test_point_id = :id ORDER BY quantity";

static void figures_load(struct list *out, struct store *st, int64_t id, struct arena *a)
{
    struct point_figure *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, FIGURES);
    query_int(q, ":id", id);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct point_figure){.quantity = query_col_text(q, 0, a),
                                          .nominal = query_col_int(q, 1),
                                          .low = query_col_int(q, 2),
                                          .high = query_col_int(q, 3),
                                          .source = query_col_text(q, 4, a),
                                          .how = query_col_text(q, 5, a),
                                          .where = query_col_text(q, 6, a)};
    }
    query_end(q);
    *out = (struct list){rows, n};
}

static void point_from_row(struct test_point *p, struct query *q, struct arena *a)
{
    *p = (struct test_point){.id = query_col_int(q, 0),
                             .shared_id = query_col_int(q, 1),
                             .type_id = query_col_int(q, 2),
                             .code = query_col_text(q, 3, a),
                             .title = query_col_text(q, 4, a),
                             .held = query_col_text(q, 5, a),
                             .va_v = query_col_text(q, 6, a),
                             .vg2_v = query_col_text(q, 7, a),
                             .vg1_v = query_col_text(q, 8, a),
                             .rk_ohm = query_col_text(q, 9, a),
                             .ia_ma = query_col_text(q, 10, a),
                             .heater_v = query_col_text(q, 11, a),
                             .warm_s = query_col_int(q, 12),
                             .source = query_col_text(q, 13, a),
                             .how = query_col_text(q, 14, a),
                             .origin = query_col_text(q, 15, a),
                             .section = query_col_text(q, 16, a),
                             .where = query_col_text(q, 17, a)};
}

static void points_read(struct list *out, struct store *st, int64_t type_id, struct arena *a)
{
    struct test_point *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, POINTS);
    query_int(q, ":type_id", type_id);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        point_from_row(&rows[n++], q, a);
    }
    query_end(q);
    for (size_t i = 0; i < n; i++)
        figures_load(&rows[i].figures, st, rows[i].id, a);
    *out = (struct list){rows, n};
}

void test_point_list(struct list *out, struct store *st, int64_t type_id, struct arena *a)
{
    struct arena *keep = recall_arena(st);
    if (!keep) {
        points_read(out, st, type_id, a);
        return;
    }
    const struct list *known = recall(st, POINTS, type_id, NULL);
    if (!known) {
        struct list *all = arena_alloc(keep, sizeof *all);
        points_read(all, st, type_id, keep);
        recall_keep(st, POINTS, type_id, NULL, all);
        known = all;
    }
    out->count = known->count; /* the rows are the caller's to change */
    out->items = arena_array(a, known->count, sizeof(struct test_point));
    if (known->count)
        memcpy(out->items, known->items, known->count * sizeof(struct test_point));
}

static const char TYPE_NAME[] = "SELECT designation FROM type WHERE id = :id";

static bool no_point(struct store *st, int64_t type_id, const struct list *have, const char *code,
                     struct arena *a, struct err *e)
{
    struct query *q = query(st, TYPE_NAME);
    query_int(q, ":id", type_id);
    const char *name = query_word(q, a), *codes = "";
    for (size_t i = 0; i < have->count; i++)
        codes = arena_printf(a, "%s%s%s", codes, i ? ", " : "",
                             ((const struct test_point *)have->items)[i].code);
    if (!have->count)
        return err_field(e, "test_point", ERR_NOT_FOUND,
                         "%s has no test point: the owner has to enter the voltages at which it is "
                         "measured first",
                         name ? name : "this type");
    if (!code)
        return err_field(e, "test_point", ERR_INVALID,
                         "%s has several test points: say which of %s", name, codes);
    return err_field(e, "test_point", ERR_NOT_FOUND, "%s has no test point %s; it has %s", name,
                     code, codes);
}

bool test_point_load(struct test_point *out, struct store *st, int64_t type_id, const char *code,
                     struct arena *a, struct err *e)
{
    struct list have;
    test_point_list(&have, st, type_id, a);
    const struct test_point *p = have.items;
    for (size_t i = 0; i < have.count; i++) {
        const char *wanted = code ? code : have.count == 1 ? p[i].code : "grid";
        if (strcmp(p[i].code, wanted) == 0) {
            *out = p[i];
            return true;
        }
    }
    return no_point(st, type_id, &have, code, a, e);
}

static const char POINT_GET[] = "SELECT " POINT_COLS " FROM test_point p "
                                "JOIN type y ON y.id = p.type_id WHERE p.id = :id";

bool test_point_by_id(struct test_point *out, struct store *st, int64_t id, int64_t type_id,
                      struct arena *a, struct err *e)
{
    struct list own;
    test_point_list(&own, st, type_id, a);
    const struct test_point *p = own.items;
    for (size_t i = 0; i < own.count; i++) {
        if (p[i].id == id || p[i].shared_id == id) {
            *out = p[i];
            return true;
        }
    }
    struct query *q = query(st, POINT_GET);
    query_int(q, ":id", id);
    bool found = query_row(q);
    if (found)
        point_from_row(out, q, a);
    query_end(q);
    if (!found)
        return err_field(e, "test_point", ERR_NOT_FOUND, "there is no test point %lld",
                         (long long)id);
    figures_load(&out->figures, st, out->id, a);
    return true;
}

static const char POINT_IMAGE[] =
    "SELECT json_object('type_id', type_id, 'code', code, 'title', title, 'held', held, 'va_v', "
    "va_v, 'vg2_v', vg2_v, 'vg1_v', vg1_v, 'rk_ohm', rk_ohm, 'ia_ma', ia_ma, 'heater_v', heater_v, "
    "'warm_s', warm_s, 'figures', (SELECT json_group_array(json_array(quantity, nominal, low, "
    "high)) FROM test_point_quantity WHERE test_point_id = id)) FROM test_point WHERE id = :id";
static const char POINT_CREATE[] = "INSERT INTO test_point (type_id, code, title, held, section, "
                                   "va_v, vg2_v, vg1_v, rk_ohm, ia_ma, "
                                   "heater_v, warm_s, source, how, origin) "
                                   "VALUES (:type_id, :code, :title, :held, :section, :va_v, "
                                   ":vg2_v, :vg1_v, :rk_ohm, :ia_ma, :heater_v, "
                                   ":warm_s, :source, 'own', 'own')";
static const char FIGURE_CREATE[] =
    "INSERT INTO test_point_quantity (test_point_id, quantity, nominal, low, high, source, how) "
    "VALUES (:test_point_id, :quantity, :nominal, :low, :high, :source, 'own')";

bool test_point_create(int64_t *id, struct store *st, const struct test_point *p, struct arena *a,
                       struct err *e)
{
    store_assert_writing(st);
    recall_forget(st);
    struct query *q = query(st, POINT_CREATE);
    query_int(q, ":type_id", p->type_id);
    query_text(q, ":code", p->code);
    query_text(q, ":title", p->title);
    query_text(q, ":held", p->held);
    query_text(q, ":section", p->section);
    query_text(q, ":va_v", p->va_v);
    query_text(q, ":vg2_v", p->vg2_v);
    query_text(q, ":vg1_v", p->vg1_v);
    query_text(q, ":rk_ohm", p->rk_ohm);
    query_text(q, ":ia_ma", p->ia_ma);
    query_text(q, ":heater_v", p->heater_v);
    query_int(q, ":warm_s", p->warm_s);
    query_text(q, ":source", p->source);
    if (!query_run(q, e)) {
        if (store_was_unique(e, "test_point.type_id, test_point.code"))
            err_field(e, "code", ERR_CONFLICT, "this type has a test point %s already", p->code);
        return false;
    }
    *id = store_last_id(st);
    const struct point_figure *f = p->figures.items;
    for (size_t i = 0; i < p->figures.count; i++) {
        q = query(st, FIGURE_CREATE);
        query_int(q, ":test_point_id", *id);
        query_text(q, ":quantity", f[i].quantity);
        query_int(q, ":nominal", f[i].nominal);
        query_int(q, ":low", f[i].low);
        query_int(q, ":high", f[i].high);
        query_text(q, ":source", f[i].source);
        if (!query_run(q, e))
            return err_in(e, "figures");
    }
    return journal_append(st, "create", "test_point", *id, NULL,
                          journal_image(st, POINT_IMAGE, *id, a), e);
}
