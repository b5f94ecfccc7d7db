/* SPDX-License-Identifier: MIT
 *
 * bundle_point: test points of a bundle with their values.
 *
 * Readings are compared only at the same conditions, so a point never changes its conditions: where
 * the bundle states others, the old point is retired under another code, with all that was read at
 * it, and a new one takes the code.
 */
#include <string.h>

#include "store/bundle_priv.h"
#include "store/point.h"

static const char POINT_FIND[] =
    "SELECT id, origin = 'own', held = :held AND section IS :section AND va_v IS :va_v "
    "AND vg2_v IS :vg2_v AND vg1_v IS :vg1_v AND rk_ohm IS :rk_ohm AND ia_ma IS :ia_ma "
    "AND heater_v IS :heater_v FROM test_point WHERE type_id = :type_id AND code = :code";
static const char POINT_PUT[] =
    "INSERT INTO test_point (type_id, code, title, held, section, va_v, vg2_v, vg1_v, rk_ohm, "
    "ia_ma, heater_v, source, found_where, how, origin) "
    "VALUES (:type_id, :code, :title, :held, :section, :va_v, :vg2_v, :vg1_v, :rk_ohm, :ia_ma, "
    ":heater_v, :source, :found_where, :how, 'bundled')";
static const char POINT_SET[] =
    "UPDATE test_point SET title = :title, source = :source, found_where = :found_where, "
    "how = :how, retired_ms = NULL WHERE id = :id "
    "AND (title, source, found_where, how, retired_ms) IS NOT "
    "(:title, :source, :found_where, :how, NULL)";
static const char POINT_RETIRE[] =
    "UPDATE test_point SET code = code || '-' || id, retired_ms = :now WHERE id = :id";
static const char POINTS_RETIRE[] = "UPDATE test_point SET retired_ms = :now "
                                    "WHERE origin = 'bundled' AND retired_ms IS NULL "
                                    "AND id NOT IN (SELECT value FROM json_each(:kept))";

static void bind_conditions(struct query *q, const struct point *p, int64_t type_id,
                            struct arena *a)
{
    query_int(q, ":type_id", type_id);
    query_text(q, ":code", p->code);
    query_text(q, ":held", held_words[p->held]);
    query_text(q, ":section", bundle_text(p->section));
    query_text(q, ":va_v", test_point_text(a, p->va_mv));
    query_text(q, ":vg2_v", test_point_text(a, p->vg2_mv));
    query_text(q, ":vg1_v", test_point_text(a, p->vg1_mv));
    query_text(q, ":rk_ohm", test_point_text(a, p->rk_mohm));
    query_text(q, ":ia_ma", test_point_text(a, p->ia_ua));
    query_text(q, ":heater_v", test_point_text(a, p->heater_mv));
}

static void bind_source(struct query *q, const struct point *p)
{
    query_text(q, ":title", p->title);
    query_text(q, ":source", bundle_text(p->source));
    query_text(q, ":found_where", bundle_text(p->where));
    query_text(q, ":how", how_words[p->how]);
}

static bool point_new(int64_t *id, struct load *l, const struct point *p, int64_t type_id,
                      struct err *e)
{
    struct query *q = query(l->st, POINT_PUT);
    bind_conditions(q, p, type_id, l->arena);
    bind_source(q, p);
    if (!query_run(q, e))
        return false;
    *id = store_last_id(l->st);
    return true;
}

static bool point_set(struct load *l, const struct point *p, int64_t id, struct err *e)
{
    struct query *q = query(l->st, POINT_SET);
    query_int(q, ":id", id);
    bind_source(q, p);
    return query_run(q, e);
}

static bool point_retire(struct load *l, int64_t id, struct err *e)
{
    struct query *q = query(l->st, POINT_RETIRE);
    query_int(q, ":id", id);
    query_int(q, ":now", store_now(l->st));
    return query_run(q, e);
}

/* *id: its row; NONE when the code belongs to a point of one's own. */
static bool put_point(int64_t *id, struct load *l, const struct point *p, struct err *e)
{
    int64_t type_id = bundle_type(l, p->designation);
    struct query *q = query(l->st, POINT_FIND);
    bind_conditions(q, p, type_id, l->arena);
    bool there = query_row(q);
    int64_t row = there ? query_col_int(q, 0) : NONE;
    bool own = there && query_col_int(q, 1) == 1, same = there && query_col_int(q, 2) == 1;
    query_end(q);
    *id = own ? NONE : row;
    if (own)
        return true;
    if (same)
        return point_set(l, p, row, e);
    return (!there || point_retire(l, row, e)) && point_new(id, l, p, type_id, e);
}

static const char VALUE_PUT[] =
    "INSERT INTO test_point_quantity (test_point_id, quantity, nominal, low, high, source, "
    "found_where, how) "
    "VALUES (:test_point_id, :quantity, :nominal, :low, :high, :source, :found_where, :how) "
    "ON CONFLICT (test_point_id, quantity) DO UPDATE SET nominal = excluded.nominal, "
    "low = excluded.low, high = excluded.high, source = excluded.source, "
    "found_where = excluded.found_where, how = excluded.how WHERE how <> 'own'";
static const char VALUES_GO[] =
    "DELETE FROM test_point_quantity WHERE test_point_id = :test_point_id AND how <> 'own' "
    "AND quantity NOT IN (SELECT value FROM json_each(:codes))";

static bool put_value(struct load *l, int64_t point_id, const struct point_value *v, struct err *e)
{
    struct query *q = query(l->st, VALUE_PUT);
    query_int(q, ":test_point_id", point_id);
    query_text(q, ":quantity", v->quantity);
    query_int(q, ":nominal", v->nominal);
    query_int(q, ":low", v->low);
    query_int(q, ":high", v->high);
    query_text(q, ":source", bundle_text(v->source));
    query_text(q, ":found_where", bundle_text(v->where));
    query_text(q, ":how", how_words[v->how]);
    return query_run(q, e);
}

static bool put_values(struct load *l, const struct point *p, int64_t point_id, struct err *e)
{
    size_t count;
    const struct point_value *v = catalogue_values(l->c, &count);
    const char *codes = "";
    for (size_t i = 0; i < count; i++) {
        if (strcmp(v[i].designation, p->designation) != 0 || strcmp(v[i].code, p->code) != 0)
            continue;
        codes = arena_printf(l->arena, "%s%s\"%s\"", codes, *codes ? "," : "", v[i].quantity);
        if (!put_value(l, point_id, &v[i], e))
            return false;
    }
    struct query *q = query(l->st, VALUES_GO);
    query_int(q, ":test_point_id", point_id);
    query_text(q, ":codes", arena_printf(l->arena, "[%s]", codes));
    return query_run(q, e);
}

bool bundle_points(struct load *l, struct err *e)
{
    size_t count;
    const struct point *p = catalogue_points(l->c, &count);
    kept_start(l);
    for (size_t i = 0; i < count; i++) {
        int64_t id;
        if (!put_point(&id, l, &p[i], e) || (id != NONE && !put_values(l, &p[i], id, e)))
            return false;
        if (id != NONE)
            kept_add(l, id);
    }
    struct query *q = query(l->st, POINTS_RETIRE);
    query_text(q, ":kept", kept_list(l));
    query_int(q, ":now", store_now(l->st));
    return query_run(q, e);
}
