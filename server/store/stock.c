/* SPDX-License-Identifier: MIT
 *
 * stock: counting with a bound, so that no type makes a request walk the whole stock.
 */
#include "store/stock.h"

#include "store/store_priv.h"

static const char COUNT[] =
    "SELECT t.grade, count(*), "
    "sum(s.set_id IS NULL AND h.id IS NULL AND t.state NOT IN ('shipped', 'scrapped', "
    "'check-tube')) "
    "FROM (SELECT id, grade, state FROM tube WHERE type_id = :type_id ORDER BY id DESC "
    "LIMIT :visit) t "
    "LEFT JOIN set_member s ON s.tube_id = t.id AND s.live = 1 "
    "LEFT JOIN hold h ON h.tube_id = t.id AND h.live = 1 GROUP BY t.grade ORDER BY t.grade";

void stock_count(struct stock *out, struct store *st, int64_t type_id, int64_t visit,
                 struct arena *a)
{
    struct stock_grade *rows = NULL;
    size_t room = 0, n = 0;
    *out = (struct stock){0};
    struct query *q = query(st, COUNT);
    query_int(q, ":type_id", type_id);
    query_int(q, ":visit", visit);
    while (query_row(q)) {
        int64_t count = query_col_int(q, 2);
        out->visited += query_col_int(q, 1);
        out->free += count;
        if (!count)
            continue;
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct stock_grade){query_col_text(q, 0, a), count};
    }
    query_end(q);
    out->least = out->visited == visit;
    out->by_grade = (struct list){rows, n};
}
