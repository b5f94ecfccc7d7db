/* SPDX-License-Identifier: MIT
 *
 * bin: rows of bin.
 */
#include "store/bin.h"

#include "store/journal.h"
#include "store/store_priv.h"

static const char BIN_LIST[] =
    "SELECT id, code, note FROM bin WHERE code > :after ORDER BY code LIMIT :limit";

void bin_list(struct list *out, struct store *st, const char *after, int64_t limit, struct arena *a)
{
    struct bin *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, BIN_LIST);
    query_text(q, ":after", after ? after : "");
    query_int(q, ":limit", limit);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct bin){.id = query_col_int(q, 0),
                                 .code = query_col_text(q, 1, a),
                                 .note = query_col_text(q, 2, a)};
    }
    query_end(q);
    *out = (struct list){rows, n};
}

static const char BIN_FIND[] = "SELECT id FROM bin WHERE code = :code";

bool bin_find(int64_t *id, struct store *st, const char *code, struct err *e)
{
    struct query *q = query(st, BIN_FIND);
    query_text(q, ":code", code);
    int64_t found = query_number(q);
    if (found == NONE)
        return err_field(e, "bin", ERR_NOT_FOUND,
                         "there is no bin %s: add it to the bins first, or leave the bin out",
                         code);
    *id = found;
    return true;
}

static const char BIN_IMAGE[] =
    "SELECT json_object('code', code, 'note', note) FROM bin WHERE id = :id";

static const char BIN_CREATE[] = "INSERT INTO bin (code, note) VALUES (:code, :note)";

bool bin_create(int64_t *id, struct store *st, const struct bin *b, struct arena *a, struct err *e)
{
    store_assert_writing(st);
    struct query *q = query(st, BIN_CREATE);
    query_text(q, ":code", b->code);
    query_text(q, ":note", b->note);
    if (!query_run(q, e)) {
        if (store_was_unique(e, "bin.code"))
            err_field(e, "code", ERR_CONFLICT, "there is a bin %s already", b->code);
        return false;
    }
    *id = store_last_id(st);
    return journal_append(st, "create", "bin", *id, NULL, journal_image(st, BIN_IMAGE, *id, a), e);
}
