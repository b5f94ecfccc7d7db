/* SPDX-License-Identifier: MIT
 *
 * catalogue: the copy in memory, read from type, designation and equivalence with lib's own row
 * readers, and the families that follow from it.
 *
 * A copy belongs to one connection and is marked with the revision it was read at.  Within the
 * writer's transaction a change drops it (catalogue_changed), so that a savepoint that is undone
 * cannot leave a copy behind whose revision comes again with other rows.
 */
#include "store/catalogue.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "store/catalogue_priv.h"
#include "store/setting.h"
#include "store/recall.h"
#include "store/store_priv.h"

#define REVISION "catalogue.revision"

const char *const type_parameters[TYPE__COLUMNS] = {
    ":designation", ":system",       ":class",       ":sections",  ":heater_v",    ":heater_a",
    ":heating",     ":base",         ":pins",        ":top_cap",   ":envelope",    ":max_va_v",
    ":max_pa_w",    ":max_vg2_v",    ":max_pg2_w",   ":max_vhk_v", ":va_v",        ":vg2_v",
    ":vg1_v",       ":rk_ohm",       ":ia_ma",       ":ig2_ma",    ":gm_ma_per_v", ":mu",
    ":rp_kohm",     ":load_kohm",    ":po_w",        ":section2",  ":cyrillic",    ":source",
    ":how",         ":found_fields", ":found_where", ":notes",
};

void type_bind(struct query *q, const char *const text[TYPE__COLUMNS])
{
    for (int c = 0; c < TYPE__COLUMNS; c++) {
        const char *t = text[c] && *text[c] ? text[c] : c == TYPE_FOUND_FIELDS ? "" : NULL;
        query_text(q, type_parameters[c], t);
    }
}

/* ---- the copy ----------------------------------------------------------------------------- */

struct copy {
    struct catalogue_view view;
    struct catalogue *catalogue;
    size_t types;
    struct set_aside *aside;
    size_t aside_room;
};

static const char TYPES[] = "SELECT id, designation" TYPE_FACTS(TYPE_NAME) " FROM type ORDER BY id";

/* A row that lib would not take any more (its rules may have become stricter) stays in the copy by
 * its name alone: nothing is concluded from its figures. */
static bool take_type(struct catalogue *c, const char *const text[TYPE__COLUMNS])
{
    struct sheet_row row;
    struct type t;
    sheet_row_init(&row, type_columns, text, TYPE__COLUMNS);
    if (!type_read(&t, &row.sheet, &row.record, catalogue_arena(c), NULL))
        t = type_bare(arena_text(catalogue_arena(c), text[TYPE_DESIGNATION]));
    t.cyrillic = ""; /* the rows of designation say which spelling is whose */
    return catalogue_add_type(c, &t, NULL);
}

static void load_types(struct copy *v, struct store *st, struct arena *a)
{
    int64_t *id = NULL;
    size_t room = 0;
    struct query *q = query(st, TYPES);
    while (query_row(q)) {
        const char *text[TYPE__COLUMNS];
        for (int c = 0; c < TYPE__COLUMNS; c++)
            text[c] = query_col_text(q, c + 1, a);
        if (v->types == room) {
            room = room ? room * 2 : 512;
            id = xrealloc(id, room * sizeof *id);
        }
        if (take_type(v->catalogue, text))
            id[v->types++] = query_col_int(q, 0);
    }
    query_end(q);
    v->view.type_id = id;
}

/* The word's place; the last one for a word that the CHECK of the table does not allow anyway. */
static int place(const char *const *words, int count, const char *word)
{
    int i = 0;
    while (i < count - 1 && strcmp(words[i], word) != 0)
        i++;
    return i;
}

static const char *or_empty(const char *s)
{
    return s ? s : "";
}

/* The main spelling comes with its type. */
static const char SPELLINGS[] =
    "SELECT t.designation, d.text, d.kind, d.source, d.how, d.found_where "
    "FROM designation d JOIN type t ON t.id = d.type_id WHERE d.text <> t.designation "
    "ORDER BY d.id";

static void load_spellings(struct copy *v, struct store *st)
{
    struct arena *a = catalogue_arena(v->catalogue);
    struct query *q = query(st, SPELLINGS);
    while (query_row(q)) {
        const struct spelling s = {
            .designation = query_col_text(q, 0, a),
            .text = query_col_text(q, 1, a),
            .kind =
                (enum spelling_kind)place(spelling_words, SPELLING__COUNT, query_col_text(q, 2, a)),
            .why = "",
            .source = or_empty(query_col_text(q, 3, a)),
            .how = (enum how)place(how_words, HOW__COUNT, query_col_text(q, 4, a)),
            .where = or_empty(query_col_text(q, 5, a)),
        };
        bool added = catalogue_add_spelling(v->catalogue, &s, NULL);
        (void)added; /* texts are unique and were folded before: only a stricter fold refuses */
    }
    query_end(q);
}

/* Own statements come first: what they contradict is then refused by lib and left out. */
static const char STATEMENTS[] =
    "SELECT f.designation, t.designation, s.relation, s.conditions, s.source, s.how, s.found_where "
    "FROM equivalence s JOIN type f ON f.id = s.from_id JOIN type t ON t.id = s.to_id "
    "ORDER BY s.origin = 'bundled', s.id";

static void set_aside(struct copy *v, const struct equivalence *s, const char *why)
{
    struct arena *a = catalogue_arena(v->catalogue);
    v->aside = store_grow(a, v->aside, &v->aside_room, v->view.aside_count, sizeof *v->aside);
    v->aside[v->view.aside_count++] = (struct set_aside){*s, arena_text(a, why)};
}

static void load_statements(struct copy *v, struct store *st)
{
    struct arena *a = catalogue_arena(v->catalogue);
    struct query *q = query(st, STATEMENTS);
    while (query_row(q)) {
        const struct equivalence s = {
            .from = query_col_text(q, 0, a),
            .to = query_col_text(q, 1, a),
            .relation =
                (enum relation)place(relation_words, RELATION__COUNT, query_col_text(q, 2, a)),
            .conditions = or_empty(query_col_text(q, 3, a)),
            .source = or_empty(query_col_text(q, 4, a)),
            .how = (enum how)place(how_words, HOW__COUNT, query_col_text(q, 5, a)),
            .where = or_empty(query_col_text(q, 6, a)),
        };
        struct err e = ERR_INIT;
        if (!catalogue_add_equivalence(v->catalogue, &s, &e))
            set_aside(v, &s, e.text);
    }
    query_end(q);
    v->view.aside = v->aside;
}

static void copy_free(void *p)
{
    struct copy *v = p;
    if (!v)
        return;
    free((void *)(uintptr_t)v->view.type_id);
    catalogue_free(v->catalogue);
    free(v);
}

/* Types and spellings; then the statements, after `first` where that is given. */
static struct copy *copy_new(struct store *st, const struct equivalence *first, struct err *e)
{
    struct copy *v = xcalloc(1, sizeof *v);
    struct arena *scratch = arena_new();
    v->catalogue = catalogue_new();
    v->view.catalogue = v->catalogue;
    v->view.revision = setting_number(st, REVISION);
    load_types(v, st, scratch);
    arena_free(scratch);
    load_spellings(v, st);
    if (first && !catalogue_add_equivalence(v->catalogue, first, e)) {
        copy_free(v);
        return NULL;
    }
    load_statements(v, st);
    assert(v->types == (size_t)catalogue_type_count(v->catalogue));
    return v;
}

static void copy_link(struct copy *v)
{
    struct arena *a = catalogue_arena(v->catalogue);
    size_t count;
    const struct link *links = catalogue_links(v->catalogue, &count, a);
    v->view.graph = graph_new(a, catalogue_type_count(v->catalogue), links, count);
}

/* Several statements read one state: outside a transaction they need one of their own. */
static struct copy *copy_read(struct store *st)
{
    sqlite3 *db = store_handle(st);
    bool alone = sqlite3_get_autocommit(db);
    if (alone)
        sqlite3_exec(db, "BEGIN", NULL, NULL, NULL);
    struct copy *v = copy_new(st, NULL, NULL);
    if (alone)
        sqlite3_exec(db, "COMMIT", NULL, NULL, NULL);
    return v;
}

const struct catalogue_view *catalogue_view(struct store *st)
{
    const struct copy *kept = store_kept(st, STORE_KEEPS_CATALOGUE);
    if (kept && kept->view.revision == setting_number(st, REVISION))
        return &kept->view;
    struct copy *v = copy_read(st);
    copy_link(v);
    store_keep_for_itself(st, STORE_KEEPS_CATALOGUE, v, copy_free);
    return &v->view;
}

int catalogue_view_number(const struct catalogue_view *v, int64_t type_id)
{
    int low = 0, high = catalogue_type_count(v->catalogue);
    while (low < high) {
        int mid = low + (high - low) / 2;
        if (v->type_id[mid] < type_id)
            low = mid + 1;
        else
            high = mid;
    }
    return low < catalogue_type_count(v->catalogue) && v->type_id[low] == type_id ? low : -1;
}

bool catalogue_changed(struct store *st, struct err *e)
{
    char next[24];
    snprintf(next, sizeof next, "%lld", (long long)(setting_number(st, REVISION) + 1));
    store_keep_for_itself(st, STORE_KEEPS_CATALOGUE, NULL, NULL);
    return setting_put(st, REVISION, next, e);
}

bool catalogue_accepts(struct store *st, const struct equivalence *q, struct err *e)
{
    struct copy *v = copy_new(st, q, e);
    bool taken = v != NULL;
    copy_free(v);
    return taken;
}

/* ---- families ----------------------------------------------------------------------------- */

static const char FAMILY_PUT[] =
    "INSERT INTO family (name) VALUES (:name) ON CONFLICT (name) DO NOTHING";
static const char FAMILY_ID[] = "SELECT id FROM family WHERE name = :name";
static const char TYPE_JOINS[] = "UPDATE type SET family_id = :family_id WHERE id = :id";
static const char TYPES_FAMILY[] = "SELECT id, family_id FROM type ORDER BY id";

static bool family_need(int64_t *id, struct store *st, const char *name, struct err *e)
{
    struct query *q = query(st, FAMILY_PUT);
    query_text(q, ":name", name);
    if (!query_run(q, e))
        return false;
    q = query(st, FAMILY_ID);
    query_text(q, ":name", name);
    *id = query_number(q);
    return true;
}

static bool type_join(struct store *st, int64_t type_id, int64_t family_id, struct err *e)
{
    struct query *q = query(st, TYPE_JOINS);
    query_int(q, ":id", type_id);
    query_int(q, ":family_id", family_id);
    return query_run(q, e);
}

/* The families that are written, by type number. */
static int64_t *families_written(struct store *st, const struct catalogue_view *v, struct arena *a)
{
    int types = catalogue_type_count(v->catalogue), t = 0;
    int64_t *have = arena_array(a, (size_t)types, sizeof *have);
    struct query *q = query(st, TYPES_FAMILY);
    while (query_row(q)) {
        while (t < types && v->type_id[t] < query_col_int(q, 0))
            t++;
        if (t < types && v->type_id[t] == query_col_int(q, 0))
            have[t] = query_col_int(q, 1);
    }
    query_end(q);
    return have;
}

bool catalogue_families_derive(struct store *st, struct err *e)
{
    store_assert_writing(st);
    recall_forget(st);
    if (!catalogue_changed(st, e))
        return false;
    const struct catalogue_view *v = catalogue_view(st);
    struct arena *a = arena_new();
    int types = catalogue_type_count(v->catalogue);
    const int64_t *have = families_written(st, v, a);
    int64_t *family = arena_array(a, (size_t)types, sizeof *family); /* by its lowest member */
    int *members = arena_array(a, (size_t)types, sizeof *members);   /* likewise */
    bool ok = true;
    for (int t = 0; t < types; t++)
        members[family_of(v->graph, t)]++;
    for (int t = 0; ok && t < types; t++) {
        int lowest = family_of(v->graph, t);
        if (lowest == t)
            family[t] = NONE;
        if (lowest == t && members[t] > 1)
            ok = family_need(&family[t], st, catalogue_type(v->catalogue, t)->designation, e);
        if (ok && have[t] != family[lowest])
            ok = type_join(st, v->type_id[t], family[lowest], e);
    }
    arena_free(a);
    return ok;
}

/* ---- by designation ----------------------------------------------------------------------- */

static const char *names_of(const struct lookup *l, const struct catalogue_view *v, size_t from,
                            size_t to, struct arena *a)
{
    const char *names = "";
    for (size_t i = from; i < to; i++)
        names = arena_printf(a, "%s%s%s", names, *names ? ", " : "",
                             catalogue_type(v->catalogue, (int)l->hit[i].type)->designation);
    return names;
}

static bool refuse(const struct lookup *l, const struct catalogue_view *v, const char *field,
                   const char *text, struct arena *a, struct err *e)
{
    if (l->verdict == LOOKUP_AMBIGUOUS && l->meant > 1)
        return err_field(e, field, ERR_CONFLICT,
                         "%s can be read as several types: %s; write the one that is meant", text,
                         names_of(l, v, 0, l->meant, a));
    if (l->verdict == LOOKUP_AMBIGUOUS)
        return err_field(e, field, ERR_NOT_FOUND,
                         "no type is known as %s; if %s is meant, write that", text,
                         names_of(l, v, 0, l->meant, a));
    if (l->verdict == LOOKUP_CANDIDATES)
        return err_field(e, field, ERR_NOT_FOUND,
                         "no type is known as %s; with another suffix there are %s: write the one "
                         "that is meant, or add %s to the catalogue",
                         text, names_of(l, v, 0, l->count, a), text);
    return err_field(e, field, ERR_NOT_FOUND,
                     "no type is known as %s: look it up, or add it to the catalogue", text);
}

static const char BY_TEXT[] = "SELECT type_id FROM designation WHERE text = :text";

bool store_type_named(int64_t *type_id, struct store *st, const char *field, const char *text,
                      struct arena *a, struct err *e)
{
    struct lookup l;
    struct query *q = query(st, BY_TEXT);
    query_text(q, ":text", text);
    int64_t found = query_number(q);
    if (found != NONE) {
        *type_id = found;
        return true;
    }
    const struct catalogue_view *v = catalogue_view(st);
    if (!catalogue_lookup(&l, v->catalogue, v->graph, text, e))
        return err_in(e, field);
    if (l.verdict != LOOKUP_IS)
        return refuse(&l, v, field, text, a, e);
    *type_id = v->type_id[l.hit[0].type];
    return true;
}

bool store_type_resolve(int64_t *type_id, struct store *st, const char *text, struct arena *a,
                        struct err *e)
{
    return store_type_named(type_id, st, "printed", text, a, e);
}

static const char FAMILY_OF[] = "SELECT family_id FROM type WHERE id = :id";

int64_t store_type_family(struct store *st, int64_t type_id)
{
    struct query *q = query(st, FAMILY_OF);
    query_int(q, ":id", type_id);
    return query_number(q);
}
