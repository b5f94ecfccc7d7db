/* SPDX-License-Identifier: MIT
 *
 * maker: rows of maker.
 */
#include "store/maker.h"

#include "store/journal.h"
#include "store/store_priv.h"

static const char MAKER_LIST[] = "SELECT id, name, country, note, version FROM maker "
                                 "WHERE name > :after ORDER BY name LIMIT :limit";

void maker_list(struct list *out, struct store *st, const char *after, int64_t limit,
                struct arena *a)
{
    struct maker *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, MAKER_LIST);
    query_text(q, ":after", after ? after : "");
    query_int(q, ":limit", limit);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct maker){.id = query_col_int(q, 0),
                                   .name = query_col_text(q, 1, a),
                                   .country = query_col_text(q, 2, a),
                                   .note = query_col_text(q, 3, a),
                                   .version = query_col_int(q, 4)};
    }
    query_end(q);
    *out = (struct list){rows, n};
}

static const char MAKER_FIND[] = "SELECT id FROM maker WHERE name = :name";

bool maker_find(int64_t *id, struct store *st, const char *name, struct err *e)
{
    struct query *q = query(st, MAKER_FIND);
    query_text(q, ":name", name);
    int64_t found = query_number(q);
    if (found == NONE)
        return err_field(
            e, "maker", ERR_NOT_FOUND,
            "no maker is called %s: add it to the makers first, or leave the maker out", name);
    *id = found;
    return true;
}

static const char MAKER_IMAGE[] =
    "SELECT json_object('name', name, 'country', country, 'note', note) FROM maker WHERE id = :id";

static const char MAKER_CREATE[] =
    "INSERT INTO maker (name, country, note) VALUES (:name, :country, :note)";

bool maker_create(int64_t *id, struct store *st, const struct maker *m, struct arena *a,
                  struct err *e)
{
    store_assert_writing(st);
    struct query *q = query(st, MAKER_CREATE);
    query_text(q, ":name", m->name);
    query_text(q, ":country", m->country);
    query_text(q, ":note", m->note);
    if (!query_run(q, e)) {
        if (store_was_unique(e, "maker.name"))
            err_field(e, "name", ERR_CONFLICT, "there is a maker called %s already", m->name);
        return false;
    }
    *id = store_last_id(st);
    return journal_append(st, "create", "maker", *id, NULL, journal_image(st, MAKER_IMAGE, *id, a),
                          e);
}
