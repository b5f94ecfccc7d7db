/* SPDX-License-Identifier: MIT
 *
 * pool: standing values, tall in the database (a row a value), laid out wide (a row a tube).
 */
#include "store/pool.h"

#include <string.h>

#include "store/grade.h"
#include "store/store_priv.h"

#define POOL_COLUMNS 120

/* Walks the index of the family (or of the type), so that other families cost nothing. */
#define POOL_FREE                                                                        \
    " t.unconfirmed = 0 AND (t.id IS :also_id OR (t.state IN ('tested', 'shelved')"      \
    " AND (t.grade IS NULL OR t.grade IS NOT :floor)"                                    \
    " AND NOT EXISTS (SELECT 1 FROM set_member m WHERE m.tube_id = t.id AND m.live = 1)" \
    " AND NOT EXISTS (SELECT 1 FROM hold h WHERE h.tube_id = t.id AND h.live = 1)))"

#define POOL_POINT(LEAD)                                                                \
    "SELECT s.test_point_id, count(*) FROM tube t JOIN standing s ON s.tube_id = t.id " \
    "WHERE t." LEAD " = :lead AND t.state IN ('tested', 'shelved') AND s.section > 0 "  \
    "GROUP BY 1 ORDER BY 2 DESC, 1 LIMIT 1"

#define POOL_ROWS(LEAD)                                                                          \
    "SELECT t.id, t.stock_no, t.printed, k.name, c.title, t.grade, l.code, b.code, s.quantity, " \
    "coalesce(s.anode_pin, s.section), s.value, s.u_milli, q.decimals, q.unit FROM tube t "      \
    "JOIN standing s ON s.tube_id = t.id AND s.test_point_id = :point AND s.method = 'direct' "  \
    "JOIN quantity q ON q.code = s.quantity "                                                    \
    "LEFT JOIN maker k ON k.id = t.maker_id "                                                    \
    "LEFT JOIN construction c ON c.id = t.construction_id "                                      \
    "LEFT JOIN lot l ON l.id = t.lot_id LEFT JOIN bin b ON b.id = t.bin_id "                     \
    "WHERE t." LEAD " = :lead AND " POOL_FREE " ORDER BY t.id"

static const char POINT_OF_FAMILY[] = POOL_POINT("family_id");
static const char POINT_OF_TYPE[] = POOL_POINT("type_id");
static const char ROWS_OF_FAMILY[] = POOL_ROWS("family_id");
static const char ROWS_OF_TYPE[] = POOL_ROWS("type_id");

static const char FAMILY_NAME[] = "SELECT name FROM family WHERE id = :id";
static const char TYPE_NAME[] = "SELECT designation FROM type WHERE id = :id";
static const char POINT_TITLE[] =
    "SELECT y.designation || ': ' || p.title FROM test_point p JOIN type y ON y.id = p.type_id "
    "WHERE p.id = :id";

/* A value as it lies in the database. */
struct tall {
    size_t tube;
    int column;
    int64_t value, u_milli;
};

struct laying {
    struct pool_column column[POOL_COLUMNS];
    int columns;
    struct pool_tube *tube;
    size_t tubes, tube_room;
    struct tall *tall;
    size_t talls, tall_room;
};

static int column_of(struct laying *l, struct query *q, struct arena *a)
{
    const char *quantity = query_col_text(q, 8, a);
    int64_t pin = query_col_int(q, 9);
    for (int i = 0; i < l->columns; i++)
        if (l->column[i].pin == pin && strcmp(l->column[i].quantity, quantity) == 0)
            return i;
    if (l->columns == POOL_COLUMNS)
        return -1;
    l->column[l->columns] = (struct pool_column){.quantity = quantity,
                                                 .pin = pin,
                                                 .decimals = query_col_int(q, 12),
                                                 .unit = query_col_text(q, 13, a)};
    return l->columns++;
}

static void tube_of(struct laying *l, struct query *q, struct arena *a)
{
    int64_t id = query_col_int(q, 0);
    if (l->tubes && l->tube[l->tubes - 1].id == id)
        return;
    l->tube = store_grow(a, l->tube, &l->tube_room, l->tubes, sizeof *l->tube);
    l->tube[l->tubes++] = (struct pool_tube){.id = id,
                                             .stock_no = query_col_int(q, 1),
                                             .printed = query_col_text(q, 2, a),
                                             .maker = query_col_text(q, 3, a),
                                             .construction = query_col_text(q, 4, a),
                                             .grade = query_col_text(q, 5, a),
                                             .lot = query_col_text(q, 6, a),
                                             .bin = query_col_text(q, 7, a)};
}

/* The order in which columns are shown: by quantity, then pin. */
static int place_of(const struct laying *l, int column)
{
    int place = 0;
    for (int i = 0; i < l->columns; i++) {
        int by = strcmp(l->column[i].quantity, l->column[column].quantity);
        place += by < 0 || (by == 0 && l->column[i].pin < l->column[column].pin);
    }
    return place;
}

static void lay_wide(struct stock_pool *out, const struct laying *l, struct arena *a)
{
    size_t d = (size_t)l->columns;
    int place[POOL_COLUMNS];
    struct pool_column *column = arena_array(a, d, sizeof *column);
    for (int i = 0; i < l->columns; i++) {
        place[i] = place_of(l, i);
        column[place[i]] = l->column[i];
    }
    int64_t *value = arena_array(a, l->tubes * d, sizeof *value);
    int64_t *u = arena_array(a, l->tubes * d, sizeof *u);
    for (size_t i = 0; i < l->tubes * d; i++)
        value[i] = u[i] = NONE;
    for (size_t i = 0; i < l->tubes; i++) {
        l->tube[i].value = value + i * d;
        l->tube[i].u_milli = u + i * d;
    }
    for (size_t i = 0; i < l->talls; i++) {
        size_t at = l->tall[i].tube * d + (size_t)place[l->tall[i].column];
        value[at] = l->tall[i].value;
        u[at] = l->tall[i].u_milli;
    }
    out->columns = (struct list){column, d};
    out->tubes = (struct list){l->tube, l->tubes};
}

static void rows_load(struct laying *l, struct store *st, const struct pool_ask *ask,
                      const char *floor, int64_t point, struct arena *a)
{
    bool family = ask->family_id != NONE;
    struct query *q = query(st, family ? ROWS_OF_FAMILY : ROWS_OF_TYPE);
    query_int(q, ":lead", family ? ask->family_id : ask->type_id);
    query_int(q, ":point", point);
    query_int(q, ":also_id", ask->also_id);
    query_text(q, ":floor", floor);
    while (query_row(q)) {
        int column = column_of(l, q, a);
        if (column < 0)
            continue;
        tube_of(l, q, a);
        l->tall = store_grow(a, l->tall, &l->tall_room, l->talls, sizeof *l->tall);
        l->tall[l->talls++] =
            (struct tall){l->tubes - 1, column, query_col_int(q, 10), query_col_int(q, 11)};
    }
    query_end(q);
}

static const char *named(struct store *st, const char *sql, int64_t id, struct arena *a)
{
    struct query *q = query(st, sql);
    query_int(q, ":id", id);
    const char *name = query_word(q, a);
    return name ? name : "";
}

bool pool_load(struct stock_pool *out, struct store *st, const struct pool_ask *ask,
               struct arena *a, struct err *e)
{
    bool family = ask->family_id != NONE;
    int64_t lead = family ? ask->family_id : ask->type_id, point = ask->test_point_id;
    struct laying *l = arena_alloc(a, sizeof *l);
    const char *floor;
    *out = (struct stock_pool){.family = named(st, family ? FAMILY_NAME : TYPE_NAME, lead, a)};
    if (point == NONE) {
        struct query *q = query(st, family ? POINT_OF_FAMILY : POINT_OF_TYPE);
        query_int(q, ":lead", lead);
        point = query_number(q);
    }
    if (point == NONE)
        return err_field(e, "family", ERR_NOT_FOUND,
                         "no tube of %s in stock has readings yet: read some first", out->family);
    if (!grade_floor(&floor, st, a, e))
        return false;
    rows_load(l, st, ask, floor, point, a);
    out->test_point_id = point;
    out->test_point = named(st, POINT_TITLE, point, a);
    lay_wide(out, l, a);
    return true;
}
