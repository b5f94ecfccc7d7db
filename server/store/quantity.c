/* SPDX-License-Identifier: MIT
 *
 * quantity: rows of quantity.
 */
#include "store/quantity.h"

#include <string.h>

#include "store/recall.h"
#include "store/store_priv.h"

static const char *const BETTER[] = {"higher", "lower", "nearer", "none"};
static const char *const SCOPE[] = {"section", "tube"};
static const char *const KIND[] = {"numeric", "ordinal"};
_Static_assert(ARRAY_LEN(BETTER) == QUANTITY_BETTER__COUNT, "a word for each");
_Static_assert(ARRAY_LEN(SCOPE) == QUANTITY_SCOPE__COUNT, "a word for each");
_Static_assert(ARRAY_LEN(KIND) == QUANTITY_KIND__COUNT, "a word for each");

#define QUANTITY_COLS                                                                       \
    "code, name, unit, decimals, better, scope, kind, relative, least, most, usual_least, " \
    "usual_most, steps"

/* The CHECKs of the table allow no other word. */
static int place(const char *const *words, int count, const char *word)
{
    for (int i = 0; i < count; i++)
        if (word && strcmp(words[i], word) == 0)
            return i;
    return count - 1;
}

static void quantity_from_row(struct quantity *out, struct query *q, struct arena *a)
{
    *out = (struct quantity){
        .code = query_col_text(q, 0, a),
        .name = query_col_text(q, 1, a),
        .unit = query_col_text(q, 2, a),
        .decimals = (int)query_col_int(q, 3),
        .better = (enum quantity_better)place(BETTER, ARRAY_LEN(BETTER), query_col_text(q, 4, a)),
        .scope = (enum quantity_scope)place(SCOPE, ARRAY_LEN(SCOPE), query_col_text(q, 5, a)),
        .kind = (enum quantity_kind)place(KIND, ARRAY_LEN(KIND), query_col_text(q, 6, a)),
        .relative = query_col_int(q, 7) == 1,
        .least = query_col_int(q, 8),
        .most = query_col_int(q, 9),
        .usual_least = query_col_int(q, 10),
        .usual_most = query_col_int(q, 11),
        .steps = query_col_text(q, 12, a),
    };
}

static const char QUANTITY_LIST[] = "SELECT " QUANTITY_COLS " FROM quantity ORDER BY code";

void quantity_list(struct list *out, struct store *st, struct arena *a)
{
    struct quantity *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, QUANTITY_LIST);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        quantity_from_row(&rows[n++], q, a);
    }
    query_end(q);
    *out = (struct list){rows, n};
}

static bool unknown(struct store *st, const char *code, struct arena *a, struct err *e)
{
    struct list all;
    const char *codes = "";
    quantity_list(&all, st, a);
    for (size_t i = 0; i < all.count; i++)
        codes = arena_printf(a, "%s%s%s", codes, i ? ", " : "",
                             ((const struct quantity *)all.items)[i].code);
    return err_field(e, "quantity", ERR_INVALID, "there is no quantity %s; there are %s", code,
                     codes);
}

static const char QUANTITY_GET[] = "SELECT " QUANTITY_COLS " FROM quantity WHERE code = :code";

bool quantity_load(struct quantity *out, struct store *st, const char *code, struct arena *a,
                   struct err *e)
{
    const struct quantity *known = recall(st, QUANTITY_GET, 0, code);
    if (known) {
        *out = *known;
        return true;
    }
    struct arena *keep = recall_arena(st);
    struct quantity *row = arena_alloc(keep ? keep : a, sizeof *row);
    struct query *q = query(st, QUANTITY_GET);
    query_text(q, ":code", code);
    bool found = query_row(q);
    if (found)
        quantity_from_row(row, q, keep ? keep : a);
    query_end(q);
    if (!found)
        return unknown(st, code, a, e);
    recall_keep(st, QUANTITY_GET, 0, code, row);
    *out = *row;
    return true;
}

static const char QUANTITY_PUT[] =
    "INSERT INTO quantity (" QUANTITY_COLS ", origin) "
    "VALUES (:code, :name, :unit, :decimals, :better, :scope, :kind, :relative, :least, :most, "
    ":usual_least, :usual_most, :steps, 'bundled') "
    "ON CONFLICT (code) DO UPDATE SET name = excluded.name, better = excluded.better, "
    "least = excluded.least, most = excluded.most, usual_least = excluded.usual_least, "
    "usual_most = excluded.usual_most WHERE origin = 'bundled'";

bool quantity_refresh(struct store *st, struct err *e)
{
    store_assert_writing(st);
    recall_forget(st);
    size_t count;
    const struct quantity *rows = quantity_builtin(&count);
    for (size_t i = 0; i < count; i++) {
        struct query *q = query(st, QUANTITY_PUT);
        query_text(q, ":code", rows[i].code);
        query_text(q, ":name", rows[i].name);
        query_text(q, ":unit", rows[i].unit);
        query_int(q, ":decimals", rows[i].decimals);
        query_text(q, ":better", BETTER[rows[i].better]);
        query_text(q, ":scope", SCOPE[rows[i].scope]);
        query_text(q, ":kind", KIND[rows[i].kind]);
        query_int(q, ":relative", rows[i].relative);
        query_int(q, ":least", rows[i].least);
        query_int(q, ":most", rows[i].most);
        query_int(q, ":usual_least", rows[i].usual_least);
        query_int(q, ":usual_most", rows[i].usual_most);
        query_text(q, ":steps", rows[i].steps);
        if (!query_run(q, e))
            return false;
    }
    return true;
}
