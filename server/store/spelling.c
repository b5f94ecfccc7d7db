/* SPDX-License-Identifier: MIT
 *
 * spelling: rows of designation and designation_key.
 */
#include "store/spelling.h"

#include <string.h>

#include "designation/fold.h"
#include "store/journal.h"
#include "store/store_priv.h"

static const char OF_TYPE[] =
    "SELECT d.text, d.kind, d.source, d.found_where, d.how FROM designation d "
    "JOIN type t ON t.id = d.type_id WHERE d.type_id = :type_id "
    "ORDER BY d.text <> t.designation, d.id";

void spelling_list(struct list *out, struct store *st, int64_t type_id, struct arena *a)
{
    struct alias *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, OF_TYPE);
    query_int(q, ":type_id", type_id);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct alias){.type_id = type_id,
                                   .text = query_col_text(q, 0, a),
                                   .kind = query_col_text(q, 1, a),
                                   .source = query_col_text(q, 2, a),
                                   .where = query_col_text(q, 3, a),
                                   .how = query_col_text(q, 4, a)};
    }
    query_end(q);
    *out = (struct list){rows, n};
}

/* ---- beginnings --------------------------------------------------------------------------- */

static const char BEGINNINGS[] =
    "SELECT d.type_id, d.text, t.designation FROM designation_key k "
    "JOIN designation d ON d.id = k.designation_id JOIN type t ON t.id = d.type_id "
    "WHERE k.key >= :low AND k.key < :high ORDER BY k.key, k.designation_id LIMIT :limit";

#define NAMES_A_TYPE 4 /* spellings with one key that a type has at most, about */

static bool has_type(const struct beginning *rows, size_t n, int64_t type_id)
{
    for (size_t i = 0; i < n; i++)
        if (rows[i].type_id == type_id)
            return true;
    return false;
}

bool spelling_begins(struct list *out, struct store *st, const char *text, int64_t limit,
                     struct arena *a, struct err *e)
{
    struct fold f;
    if (!fold_read(&f, text, e))
        return false;
    struct beginning *rows = arena_array(a, (size_t)limit, sizeof *rows);
    size_t n = 0;
    for (size_t i = 0; i < f.count && n < (size_t)limit; i++) {
        if (f.key[i].why & FOLD_WEAK)
            continue;
        struct query *q = query(st, BEGINNINGS);
        query_text(q, ":low", f.key[i].text);
        query_text(q, ":high", arena_printf(a, "%s~", f.key[i].text)); /* above all of a key */
        query_int(q, ":limit", limit * NAMES_A_TYPE);
        while (n < (size_t)limit && query_row(q)) {
            int64_t type_id = query_col_int(q, 0);
            if (!has_type(rows, n, type_id))
                rows[n++] =
                    (struct beginning){type_id, query_col_text(q, 1, a), query_col_text(q, 2, a)};
        }
        query_end(q);
    }
    *out = (struct list){rows, n};
    return true;
}

/* ---- keys --------------------------------------------------------------------------------- */

static const char KEYS_GO[] = "DELETE FROM designation_key WHERE designation_id = :id";
static const char KEY_PUT[] =
    "INSERT INTO designation_key (key, designation_id) VALUES (:key, :id)";

static bool key_write(struct store *st, int64_t id, const char *key, struct err *e)
{
    struct query *q = query(st, KEYS_GO);
    query_int(q, ":id", id);
    if (!query_run(q, e))
        return false;
    q = query(st, KEY_PUT);
    query_int(q, ":id", id);
    query_text(q, ":key", key);
    return query_run(q, e);
}

static const char KEYS[] =
    "SELECT d.id, d.text, (SELECT group_concat(k.key) FROM designation_key k "
    "WHERE k.designation_id = d.id) FROM designation d WHERE d.id > :after ORDER BY d.id LIMIT 1";

bool spelling_keys_derive(bool *changed, struct store *st, struct err *e)
{
    store_assert_writing(st);
    struct arena *a = arena_new();
    bool ok = true, any = false;
    for (int64_t id = 0; ok;) {
        char key[FOLD_BYTES];
        struct query *q = query(st, KEYS);
        query_int(q, ":after", id);
        bool found = query_row(q);
        const char *text = found ? query_col_text(q, 1, a) : NULL;
        const char *have = found ? query_col_text(q, 2, a) : NULL;
        id = found ? query_col_int(q, 0) : id;
        query_end(q);
        if (!found)
            break;
        if (fold_key(key, text, NULL) && !(have && strcmp(have, key) == 0)) {
            any = true;
            ok = key_write(st, id, key, e);
        }
        arena_reset(a);
    }
    arena_free(a);
    if (changed)
        *changed = any;
    return ok;
}

/* ---- one's own ---------------------------------------------------------------------------- */

static const char SPELLING_PUT[] =
    "INSERT INTO designation (type_id, text, kind, source, found_where, how, origin) "
    "VALUES (:type_id, :text, :kind, :source, :found_where, :how, 'own')";
static const char SPELLING_IMAGE[] =
    "SELECT json_object('type_id', type_id, 'text', text, 'kind', kind, 'source', source, "
    "'found_where', found_where, 'how', how, 'origin', origin) FROM designation WHERE id = :id";
static const char WHOSE[] = "SELECT t.designation FROM designation d "
                            "JOIN type t ON t.id = d.type_id WHERE d.text = :text";

bool spelling_create(int64_t *id, struct store *st, const struct alias *s, struct arena *a,
                     struct err *e)
{
    store_assert_writing(st);
    char key[FOLD_BYTES];
    if (!fold_key(key, s->text, e))
        return err_in(e, "designation");
    struct query *q = query(st, SPELLING_PUT);
    query_int(q, ":type_id", s->type_id);
    query_text(q, ":text", s->text);
    query_text(q, ":kind", s->kind ? s->kind : "printed");
    query_text(q, ":source", s->source);
    query_text(q, ":found_where", s->where);
    query_text(q, ":how", s->how ? s->how : "own");
    if (!query_run(q, e)) {
        if (store_was_unique(e, "designation.text")) {
            q = query(st, WHOSE);
            query_text(q, ":text", s->text);
            err_field(e, "designation", ERR_CONFLICT, "%s is a spelling of %s already", s->text,
                      query_word(q, a));
        }
        return false;
    }
    *id = store_last_id(st);
    return key_write(st, *id, key, e) &&
           journal_append(st, "create", "designation", *id, NULL,
                          journal_image(st, SPELLING_IMAGE, *id, a), e);
}
