/* SPDX-License-Identifier: MIT
 *
 * catalogue: rows of type, designation, designation_key and equivalence.
 */
#include "store/catalogue.h"

#include "designation/fold.h"
#include "store/store_priv.h"

static const char BY_TEXT[] = "SELECT type_id FROM designation WHERE text = :text";

static const char BY_KEY[] = "SELECT d.type_id, t.designation FROM designation_key k "
                             "JOIN designation d ON d.id = k.designation_id "
                             "JOIN type t ON t.id = d.type_id WHERE k.key = :key ORDER BY d.id";

bool store_type_resolve(int64_t *type_id, struct store *st, const char *text, struct arena *a,
                        struct err *e)
{
    struct query *q = query(st, BY_TEXT);
    query_text(q, ":text", text);
    int64_t found = query_number(q);
    if (found != NONE) {
        *type_id = found;
        return true;
    }
    struct fold f;
    const char *names = NULL;
    bool several = false;
    if (!fold_read(&f, text, e))
        return err_in(e, "printed");
    for (size_t i = 0; i < f.count; i++) {
        if (f.key[i].why & FOLD_WEAK)
            continue;
        q = query(st, BY_KEY);
        query_text(q, ":key", f.key[i].text);
        while (query_row(q)) {
            int64_t id = query_col_int(q, 0);
            if (found != NONE && id == found)
                continue;
            const char *name = query_col_text(q, 1, a);
            several = several || found != NONE;
            names = names ? arena_printf(a, "%s, %s", names, name) : name;
            found = id;
        }
        query_end(q);
    }
    if (several)
        return err_field(e, "printed", ERR_CONFLICT,
                         "%s can be read as several types: %s; write the one that is meant", text,
                         names);
    if (found == NONE)
        return err_field(e, "printed", ERR_NOT_FOUND,
                         "no type is known as %s: look it up, or add it to the catalogue", text);
    *type_id = found;
    return true;
}

static const char FAMILY_OF[] = "SELECT family_id FROM type WHERE id = :id";

int64_t store_type_family(struct store *st, int64_t type_id)
{
    struct query *q = query(st, FAMILY_OF);
    query_int(q, ":id", type_id);
    return query_number(q);
}
