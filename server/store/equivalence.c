/* SPDX-License-Identifier: MIT
 *
 * equivalence: own rows of equivalence.
 */
#include "store/equivalence.h"

#include <string.h>

#include "store/catalogue.h"
#include "store/journal.h"
#include "store/store_priv.h"

static const char OWN_ID[] = "SELECT id FROM equivalence WHERE from_id = :from_id "
                             "AND to_id = :to_id AND origin = 'own'";
static const char GO[] = "DELETE FROM equivalence WHERE id = :id";
static const char STATE[] =
    "INSERT INTO equivalence (from_id, to_id, relation, conditions, source, found_where, how, "
    "origin) VALUES (:from_id, :to_id, :relation, :conditions, :source, :found_where, 'own', "
    "'own')";
static const char IMAGE[] =
    "SELECT json_object('from_id', from_id, 'to_id', to_id, 'relation', relation, 'conditions', "
    "conditions, 'source', source, 'found_where', found_where) FROM equivalence WHERE id = :id";

/* The own statement of a pair goes; *id NONE when there is none. */
static bool remove_own(int64_t *id, struct store *st, int64_t from_id, int64_t to_id,
                       struct arena *a, struct err *e)
{
    struct query *q = query(st, OWN_ID);
    query_int(q, ":from_id", from_id);
    query_int(q, ":to_id", to_id);
    *id = query_number(q);
    if (*id == NONE)
        return true;
    const char *before = journal_image(st, IMAGE, *id, a);
    q = query(st, GO);
    query_int(q, ":id", *id);
    return query_run(q, e) && journal_append(st, "withdraw", "equivalence", *id, before, NULL, e);
}

static const char OWN[] = "SELECT relation, conditions, source, found_where FROM equivalence "
                          "WHERE from_id = :from_id AND to_id = :to_id AND origin = 'own'";

static const char *or_empty(const char *s)
{
    return s ? s : "";
}

bool equivalence_own(struct equivalence *out, struct store *st, int64_t from_id, int64_t to_id,
                     struct arena *a)
{
    struct query *q = query(st, OWN);
    query_int(q, ":from_id", from_id);
    query_int(q, ":to_id", to_id);
    bool found = query_row(q);
    if (found) {
        const char *word = query_col_text(q, 0, a);
        int relation = 0;
        while (relation < RELATION__COUNT - 1 && strcmp(relation_words[relation], word) != 0)
            relation++;
        *out = (struct equivalence){.relation = (enum relation)relation,
                                    .conditions = or_empty(query_col_text(q, 1, a)),
                                    .source = or_empty(query_col_text(q, 2, a)),
                                    .where = or_empty(query_col_text(q, 3, a)),
                                    .how = HOW_OWN};
    }
    query_end(q);
    return found;
}

static const char *some(const char *s)
{
    return s && *s ? s : NULL;
}

bool equivalence_state(int64_t *id, struct store *st, int64_t from_id, int64_t to_id,
                       const struct equivalence *said, struct arena *a, struct err *e)
{
    store_assert_writing(st);
    int64_t old;
    if (!remove_own(&old, st, from_id, to_id, a, e) || !catalogue_accepts(st, said, e))
        return false;
    struct query *q = query(st, STATE);
    query_int(q, ":from_id", from_id);
    query_int(q, ":to_id", to_id);
    query_text(q, ":relation", relation_words[said->relation]);
    query_text(q, ":conditions", some(said->conditions));
    query_text(q, ":source", some(said->source));
    query_text(q, ":found_where", some(said->where));
    if (!query_run(q, e))
        return false;
    *id = store_last_id(st);
    return journal_append(st, "create", "equivalence", *id, NULL, journal_image(st, IMAGE, *id, a),
                          e) &&
           catalogue_families_derive(st, e);
}

bool equivalence_withdraw(struct store *st, int64_t from_id, int64_t to_id, struct arena *a,
                          struct err *e)
{
    store_assert_writing(st);
    int64_t id;
    if (!remove_own(&id, st, from_id, to_id, a, e))
        return false;
    if (id == NONE)
        return err_set(e, ERR_NOT_FOUND,
                       "no statement of your own joins these two types; a bundled one is not "
                       "withdrawn, only overridden");
    return catalogue_families_derive(st, e);
}
