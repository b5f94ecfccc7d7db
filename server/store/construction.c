/* SPDX-License-Identifier: MIT
 *
 * construction: rows of construction.
 */
#include "store/construction.h"

#include "store/journal.h"
#include "store/store_priv.h"

static const char CONSTRUCTION_LIST[] =
    "SELECT c.id, c.title, c.maker_id, m.name, c.plate, c.getter, c.base, c.envelope, c.note "
    "FROM construction c LEFT JOIN maker m ON m.id = c.maker_id "
    "WHERE c.title > :after ORDER BY c.title LIMIT :limit";

void construction_list(struct list *out, struct store *st, const char *after, int64_t limit,
                       struct arena *a)
{
    struct construction *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, CONSTRUCTION_LIST);
    query_text(q, ":after", after ? after : "");
    query_int(q, ":limit", limit);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct construction){.id = query_col_int(q, 0),
                                          .title = query_col_text(q, 1, a),
                                          .maker_id = query_col_int(q, 2),
                                          .maker = query_col_text(q, 3, a),
                                          .plate = query_col_text(q, 4, a),
                                          .getter = query_col_text(q, 5, a),
                                          .base = query_col_text(q, 6, a),
                                          .envelope = query_col_text(q, 7, a),
                                          .note = query_col_text(q, 8, a)};
    }
    query_end(q);
    *out = (struct list){rows, n};
}

static const char CONSTRUCTION_FIND[] = "SELECT id FROM construction WHERE title = :title";

bool construction_find(int64_t *id, struct store *st, const char *title, struct err *e)
{
    struct query *q = query(st, CONSTRUCTION_FIND);
    query_text(q, ":title", title);
    int64_t found = query_number(q);
    if (found == NONE)
        return err_field(e, "construction", ERR_NOT_FOUND,
                         "no construction is called %s: add it first, or leave it out", title);
    *id = found;
    return true;
}

static const char CONSTRUCTION_IMAGE[] =
    "SELECT json_object('title', title, 'maker_id', maker_id, 'plate', plate, 'getter', getter, "
    "'base', base, 'envelope', envelope, 'note', note) FROM construction WHERE id = :id";

static const char CONSTRUCTION_CREATE[] =
    "INSERT INTO construction (title, maker_id, plate, getter, base, envelope, note) "
    "VALUES (:title, :maker_id, :plate, :getter, :base, :envelope, :note)";

bool construction_create(int64_t *id, struct store *st, const struct construction *c,
                         struct arena *a, struct err *e)
{
    store_assert_writing(st);
    struct query *q = query(st, CONSTRUCTION_CREATE);
    query_text(q, ":title", c->title);
    query_int(q, ":maker_id", c->maker_id);
    query_text(q, ":plate", c->plate);
    query_text(q, ":getter", c->getter);
    query_text(q, ":base", c->base);
    query_text(q, ":envelope", c->envelope);
    query_text(q, ":note", c->note);
    if (!query_run(q, e)) {
        if (store_was_unique(e, "construction.title"))
            err_field(e, "title", ERR_CONFLICT, "there is a construction called %s already",
                      c->title);
        return false;
    }
    *id = store_last_id(st);
    return journal_append(st, "create", "construction", *id, NULL,
                          journal_image(st, CONSTRUCTION_IMAGE, *id, a), e);
}
