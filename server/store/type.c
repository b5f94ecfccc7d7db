/* SPDX-License-Identifier: MIT
 *
 * type: rows of type, hazard and doubt.
 */
#include "store/type.h"

#include <string.h>

#include "store/catalogue.h"
#include "store/catalogue_priv.h"
#include "store/journal.h"
#include "store/recall.h"
#include "store/spelling.h"

#define OF_TYPE(c) ", t." #c

static const char TYPE_GET[] = "SELECT t.id, t.designation" TYPE_FACTS(
    OF_TYPE) ", f.name, t.family_id, t.origin, t.version "
             "FROM type t LEFT JOIN family f ON f.id = t.family_id WHERE t.id = :id";

bool type_load(struct type_row *out, struct store *st, int64_t id, struct arena *a, struct err *e)
{
    struct query *q = query(st, TYPE_GET);
    query_int(q, ":id", id);
    bool found = query_row(q);
    if (found) {
        out->id = query_col_int(q, 0);
        for (int c = 0; c < TYPE__COLUMNS; c++)
            out->text[c] = query_col_text(q, c + 1, a);
        out->family = query_col_text(q, TYPE__COLUMNS + 1, a);
        out->family_id = query_col_int(q, TYPE__COLUMNS + 2);
        out->origin = query_col_text(q, TYPE__COLUMNS + 3, a);
        out->version = query_col_int(q, TYPE__COLUMNS + 4);
    }
    query_end(q);
    return found || err_set(e, ERR_NOT_FOUND, "there is no type %lld", (long long)id);
}

static const char TYPE_FIND[] = "SELECT id FROM type WHERE designation = :designation";

int64_t type_find(struct store *st, const char *designation)
{
    struct query *q = query(st, TYPE_FIND);
    query_text(q, ":designation", designation);
    return query_number(q);
}

/* ---- one's own ---------------------------------------------------------------------------- */

static const char BARE_ID[] = "SELECT id FROM type WHERE designation = :designation "
                              "AND origin = 'bundled' AND source IS NULL";
static const char TYPE_CREATE[] = "INSERT INTO type (designation" TYPE_FACTS(
    TYPE_NAME) ", origin) "
               "VALUES (:designation" TYPE_FACTS(TYPE_PARAM) ", 'own')";
#define TYPE_TAKE(c) #c " = :" #c ", "
static const char TYPE_OWN[] = "UPDATE type SET " TYPE_FACTS(
    TYPE_TAKE) "origin = 'own', version = version + 1 "
               "WHERE designation = :designation AND version = :version";
static const char TYPE_IMAGE[] =
    "SELECT json_object('designation', designation, 'class', class, 'sections', sections, "
    "'heater_v', heater_v, 'heater_a', heater_a, 'base', base, 'pins', pins, 'top_cap', top_cap, "
    "'limits', json_array(max_va_v, max_pa_w, max_vg2_v, max_pg2_w, max_vhk_v), "
    "'point', json_array(va_v, vg2_v, vg1_v, rk_ohm, ia_ma, ig2_ma, gm_ma_per_v, mu, rp_kohm, "
    "load_kohm, po_w), 'source', source, 'how', how, 'origin', origin) FROM type WHERE id = :id";

static void bind_own(struct query *q, const char *const text[TYPE__COLUMNS])
{
    const char *own[TYPE__COLUMNS];
    memcpy(own, text, sizeof own);
    own[TYPE_HOW] = how_words[HOW_OWN];
    own[TYPE_FOUND_FIELDS] = NULL;
    type_bind(q, own);
}

static bool type_fill(struct store *st, int64_t id, int64_t version,
                      const char *const text[TYPE__COLUMNS], struct arena *a, struct err *e)
{
    const char *before = journal_image(st, TYPE_IMAGE, id, a);
    struct query *q = query(st, TYPE_OWN);
    bind_own(q, text);
    query_int(q, ":version", version);
    if (!query_run(q, e))
        return false;
    if (store_changes(st) != 1)
        return err_set(e, ERR_CONFLICT,
                       "somebody changed this type meanwhile: read it again, then change it");
    return journal_append(st, "change", "type", id, before, journal_image(st, TYPE_IMAGE, id, a),
                          e);
}

static bool type_new(int64_t *id, struct store *st, const char *const text[TYPE__COLUMNS],
                     struct arena *a, struct err *e)
{
    struct query *q = query(st, TYPE_CREATE);
    bind_own(q, text);
    if (!query_run(q, e)) {
        if (store_was_unique(e, "type.designation"))
            err_field(e, "designation", ERR_CONFLICT,
                      "%s is in the catalogue already: to put your own figures in the place of its "
                      "own, change it",
                      text[TYPE_DESIGNATION]);
        return false;
    }
    *id = store_last_id(st);
    /* Nothing is stated of it yet, so it is of no family. */
    const struct alias main = {
        .type_id = *id, .text = text[TYPE_DESIGNATION], .source = text[TYPE_SOURCE]};
    int64_t spelling;
    return spelling_create(&spelling, st, &main, a, e) &&
           journal_append(st, "create", "type", *id, NULL, journal_image(st, TYPE_IMAGE, *id, a),
                          e);
}

/* The Cyrillic original is a spelling too, unless it is there. */
static bool add_cyrillic(struct store *st, int64_t id, const char *const text[TYPE__COLUMNS],
                         struct arena *a, struct err *e)
{
    struct list have;
    const char *cyrillic = text[TYPE_CYRILLIC];
    if (!cyrillic || !*cyrillic)
        return true;
    spelling_list(&have, st, id, a);
    for (size_t i = 0; i < have.count; i++)
        if (strcmp(((const struct alias *)have.items)[i].text, cyrillic) == 0)
            return true;
    const struct alias s = {.type_id = id, .text = cyrillic, .source = text[TYPE_SOURCE]};
    int64_t spelling;
    return spelling_create(&spelling, st, &s, a, e);
}

bool type_create(int64_t *id, struct store *st, const char *const text[TYPE__COLUMNS],
                 struct arena *a, struct err *e)
{
    store_assert_writing(st);
    recall_forget(st);
    struct query *q = query(st, BARE_ID);
    query_text(q, ":designation", text[TYPE_DESIGNATION]);
    int64_t bare = query_number(q);
    struct type_row there;
    if (bare == NONE)
        return type_new(id, st, text, a, e) && add_cyrillic(st, *id, text, a, e) &&
               catalogue_changed(st, e);
    *id = bare;
    return type_load(&there, st, bare, a, e) && type_fill(st, bare, there.version, text, a, e) &&
           add_cyrillic(st, bare, text, a, e) && catalogue_families_derive(st, e);
}

bool type_replace(struct store *st, const struct type_row *t, struct arena *a, struct err *e)
{
    store_assert_writing(st);
    recall_forget(st);
    return type_fill(st, t->id, t->version, t->text, a, e) &&
           add_cyrillic(st, t->id, t->text, a, e) && catalogue_families_derive(st, e);
}

/* ---- hazards and doubts ------------------------------------------------------------------- */

static const char HAZARDS[] = "SELECT kind, words, source, found_where, how, origin FROM hazard "
                              "WHERE type_id = :type_id ORDER BY kind";

void type_hazards(struct list *out, struct store *st, int64_t type_id, struct arena *a)
{
    struct type_hazard *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, HAZARDS);
    query_int(q, ":type_id", type_id);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct type_hazard){.kind = query_col_text(q, 0, a),
                                         .words = query_col_text(q, 1, a),
                                         .source = query_col_text(q, 2, a),
                                         .where = query_col_text(q, 3, a),
                                         .how = query_col_text(q, 4, a),
                                         .origin = query_col_text(q, 5, a)};
    }
    query_end(q);
    *out = (struct list){rows, n};
}

void type_hazard_kinds(struct texts *out, struct store *st, int64_t type_id, struct arena *a)
{
    struct list all;
    type_hazards(&all, st, type_id, a);
    const struct type_hazard *h = all.items;
    *out = (struct texts){arena_array(a, all.count, sizeof *out->items), all.count};
    for (size_t i = 0; i < all.count; i++)
        out->items[i] = h[i].kind;
}

static const char DOUBTS[] = "SELECT kind, why FROM doubt WHERE type_id = :type_id ORDER BY kind";

void type_known_doubts(struct list *out, struct store *st, int64_t type_id, struct arena *a)
{
    struct type_known_doubt *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, DOUBTS);
    query_int(q, ":type_id", type_id);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct type_known_doubt){query_col_text(q, 0, a), query_col_text(q, 1, a)};
    }
    query_end(q);
    *out = (struct list){rows, n};
}
