/* SPDX-License-Identifier: MIT
 *
 * lot: rows of lot and lot_line.
 */
#include "store/lot.h"

#include "store/journal.h"
#include "store/store_priv.h"

#define LOT_COLS  "l.id, l.code, l.title, l.bought_day, l.cost_minor, l.currency, l.note, l.version"
#define LOT_TUBES "(SELECT count(*) FROM tube t WHERE t.lot_id = l.id)"

static void lot_from_row(struct lot *l, struct query *q, struct arena *a)
{
    *l = (struct lot){.id = query_col_int(q, 0),
                      .code = query_col_text(q, 1, a),
                      .title = query_col_text(q, 2, a),
                      .bought_day = query_col_int(q, 3),
                      .cost_minor = query_col_int(q, 4),
                      .currency = query_col_text(q, 5, a),
                      .note = query_col_text(q, 6, a),
                      .version = query_col_int(q, 7),
                      .tubes = NONE};
}

static const char LOT_LIST[] = "SELECT " LOT_COLS " FROM lot l "
                               "WHERE l.id < :before ORDER BY l.id DESC LIMIT :limit";

void lot_list(struct list *out, struct store *st, int64_t before_id, int64_t limit, struct arena *a)
{
    struct lot *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, LOT_LIST);
    query_int(q, ":before", before_id == NONE ? INT64_MAX : before_id);
    query_int(q, ":limit", limit);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        lot_from_row(&rows[n++], q, a);
    }
    query_end(q);
    *out = (struct list){rows, n};
}

static const char LINE_COLS_OF_LOT[] =
    "SELECT n.id, n.lot_id, n.type_id, t.designation, n.printed, m.name, n.maker_id, n.count, "
    "n.drawn, n.note "
    "FROM lot_line n JOIN type t ON t.id = n.type_id LEFT JOIN maker m ON m.id = n.maker_id "
    "WHERE n.lot_id = :lot_id ORDER BY n.id";

static const char LINE_GET[] =
    "SELECT n.id, n.lot_id, n.type_id, t.designation, n.printed, m.name, n.maker_id, n.count, "
    "n.drawn, n.note "
    "FROM lot_line n JOIN type t ON t.id = n.type_id LEFT JOIN maker m ON m.id = n.maker_id "
    "WHERE n.id = :id";

static void line_from_row(struct lot_line *l, struct query *q, struct arena *a)
{
    *l = (struct lot_line){.id = query_col_int(q, 0),
                           .lot_id = query_col_int(q, 1),
                           .type_id = query_col_int(q, 2),
                           .type = query_col_text(q, 3, a),
                           .printed = query_col_text(q, 4, a),
                           .maker = query_col_text(q, 5, a),
                           .maker_id = query_col_int(q, 6),
                           .count = query_col_int(q, 7),
                           .drawn = query_col_int(q, 8),
                           .note = query_col_text(q, 9, a)};
}

static void lines_load(struct list *out, struct store *st, int64_t lot_id, struct arena *a)
{
    struct lot_line *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, LINE_COLS_OF_LOT);
    query_int(q, ":lot_id", lot_id);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        line_from_row(&rows[n++], q, a);
    }
    query_end(q);
    *out = (struct list){rows, n};
}

static const char LOT_GET[] = "SELECT " LOT_COLS ", " LOT_TUBES " FROM lot l WHERE l.code = :code";

static bool no_lot(const char *code, struct err *e)
{
    return err_field(e, "lot", ERR_NOT_FOUND, "there is no lot with the code %s", code);
}

static const char LOT_FIND[] = "SELECT id FROM lot WHERE code = :code";

bool lot_find(int64_t *id, struct store *st, const char *code, struct err *e)
{
    struct query *q = query(st, LOT_FIND);
    query_text(q, ":code", code);
    int64_t found = query_number(q);
    if (found == NONE)
        return no_lot(code, e);
    *id = found;
    return true;
}

bool lot_load(struct lot *out, struct store *st, const char *code, struct arena *a, struct err *e)
{
    struct query *q = query(st, LOT_GET);
    query_text(q, ":code", code);
    bool found = query_row(q);
    if (found) {
        lot_from_row(out, q, a);
        out->tubes = query_col_int(q, 8);
    }
    query_end(q);
    if (!found)
        return no_lot(code, e);
    lines_load(&out->lines, st, out->id, a);
    return true;
}

static const char LOT_IMAGE[] =
    "SELECT json_object('code', code, 'title', title, 'bought_day', bought_day, 'cost_minor', "
    "cost_minor, 'currency', currency, 'share_rule', share_rule, 'note', note) "
    "FROM lot WHERE id = :id";

static const char LOT_CREATE[] =
    "INSERT INTO lot (code, title, bought_day, cost_minor, currency, note) "
    "VALUES (:code, :title, :bought_day, :cost_minor, :currency, :note)";

bool lot_create(int64_t *id, struct store *st, const struct lot *l, struct arena *a, struct err *e)
{
    store_assert_writing(st);
    struct query *q = query(st, LOT_CREATE);
    query_text(q, ":code", l->code);
    query_text(q, ":title", l->title);
    query_int(q, ":bought_day", l->bought_day);
    query_int(q, ":cost_minor", l->cost_minor);
    query_text(q, ":currency", l->currency);
    query_text(q, ":note", l->note);
    if (!query_run(q, e)) {
        if (store_was_unique(e, "lot.code"))
            err_field(e, "code", ERR_CONFLICT, "there is a lot with the code %s already", l->code);
        return false;
    }
    *id = store_last_id(st);
    return journal_append(st, "create", "lot", *id, NULL, journal_image(st, LOT_IMAGE, *id, a), e);
}

static const char LOT_CHANGE[] =
    "UPDATE lot SET title = coalesce(:title, title), "
    "bought_day = coalesce(:bought_day, bought_day), "
    "cost_minor = coalesce(:cost_minor, cost_minor), "
    "currency = coalesce(:currency, currency), note = coalesce(:note, note), "
    "version = version + 1 "
    "WHERE id = :id AND version = :version";

bool lot_change(struct store *st, const struct lot *l, struct arena *a, struct err *e)
{
    store_assert_writing(st);
    const char *before = journal_image(st, LOT_IMAGE, l->id, a);
    struct query *q = query(st, LOT_CHANGE);
    query_int(q, ":id", l->id);
    query_int(q, ":version", l->version);
    query_text(q, ":title", l->title);
    query_int(q, ":bought_day", l->bought_day);
    query_int(q, ":cost_minor", l->cost_minor);
    query_text(q, ":currency", l->currency);
    query_text(q, ":note", l->note);
    if (!query_run(q, e))
        return false;
    if (store_changes(st) != 1)
        return err_set(e, ERR_CONFLICT,
                       "somebody changed this lot meanwhile: read it again, then change it");
    return journal_append(st, "change", "lot", l->id, before,
                          journal_image(st, LOT_IMAGE, l->id, a), e);
}

static const char LINE_IMAGE[] =
    "SELECT json_object('lot_id', lot_id, 'type_id', type_id, 'printed', printed, 'maker_id', "
    "maker_id, 'count', count, 'drawn', drawn, 'note', note) FROM lot_line WHERE id = :id";

static const char LINE_CREATE[] =
    "INSERT INTO lot_line (lot_id, type_id, printed, maker_id, count, note) "
    "VALUES (:lot_id, :type_id, :printed, :maker_id, :count, :note)";

bool lot_line_create(int64_t *id, struct store *st, const struct lot_line *l, struct arena *a,
                     struct err *e)
{
    store_assert_writing(st);
    struct query *q = query(st, LINE_CREATE);
    query_int(q, ":lot_id", l->lot_id);
    query_int(q, ":type_id", l->type_id);
    query_text(q, ":printed", l->printed);
    query_int(q, ":maker_id", l->maker_id);
    query_int(q, ":count", l->count);
    query_text(q, ":note", l->note);
    if (!query_run(q, e))
        return false;
    *id = store_last_id(st);
    return journal_append(st, "create", "lot_line", *id, NULL,
                          journal_image(st, LINE_IMAGE, *id, a), e);
}

static const char LINE_DRAW[] =
    "UPDATE lot_line SET drawn = drawn + 1, version = version + 1 WHERE id = :id AND drawn < count";

bool lot_line_draw(struct lot_line *out, struct store *st, int64_t line_id, struct arena *a,
                   struct err *e)
{
    store_assert_writing(st);
    const char *before = journal_image(st, LINE_IMAGE, line_id, a);
    if (!before)
        return err_field(e, "lot_line", ERR_NOT_FOUND, "there is no lot line %lld",
                         (long long)line_id);
    struct query *q = query(st, LINE_DRAW);
    query_int(q, ":id", line_id);
    if (!query_run(q, e))
        return false;
    if (store_changes(st) != 1)
        return err_field(e, "lot_line", ERR_CONFLICT,
                         "no piece of lot line %lld is left: all of them have numbers already",
                         (long long)line_id);
    q = query(st, LINE_GET);
    query_int(q, ":id", line_id);
    if (query_row(q))
        line_from_row(out, q, a);
    query_end(q);
    return journal_append(st, "change", "lot_line", line_id, before,
                          journal_image(st, LINE_IMAGE, line_id, a), e);
}
