/* SPDX-License-Identifier: MIT
 *
 * load_catalogue: one line of a file of types, or of statements between types, of one's own.
 *
 * The columns are those of the bundled files, so that a file can be made from one of them.  A line
 * is known again by its designation, or its pair of types.  Unlike a tube, a fact about a type may
 * be corrected by loading the corrected line; the journal has what stood there before.
 */
#include <string.h>

#include "api/equivalence_priv.h"
#include "api/load_priv.h"
#include "api/type_priv.h"
#include "store/catalogue.h"
#include "store/equivalence.h"
#include "store/type.h"

static void columns_of(struct load_columns *out, const struct shape *s, const char *line,
                       struct arena *a)
{
    size_t n = 0;
    while (s->field[n].name)
        n++;
    out->field = arena_array(a, n + 1, sizeof *out->field);
    memcpy(out->field, s->field, n * sizeof *out->field);
    out->count = n;
    out->column = arena_array(a, n, sizeof *out->column);
    out->quantity = arena_array(a, n, sizeof(const struct quantity *));
    for (size_t i = 0; i < n; i++)
        out->column[i].code = out->field[i].name;
    out->shape = (struct shape){line, s->size, out->field};
}

static bool same_text(const char *a, const char *b)
{
    return strcmp(a ? a : "", b ? b : "") == 0;
}

/* ---- types --------------------------------------------------------------------------------- */

static void type_columns_of(struct load_columns *out, struct store *st, struct arena *a)
{
    (void)st;
    columns_of(out, &TYPE_NEW, "type line", a);
}

static bool is_there(const struct type_row *have, const struct type_form *came)
{
    bool same = strcmp(have->origin, "own") == 0;
    for (int c = 0; c < TYPE__COLUMNS; c++)
        if (c != TYPE_HOW && c != TYPE_FOUND_FIELDS)
            same = same && same_text(have->text[c], came->text[c]);
    return same;
}

static bool type_put(enum load_outcome *out, struct load *l, struct store *st, const void *row,
                     struct arena *a, struct err *e)
{
    struct type_form form = *(const struct type_form *)row;
    struct type_row have;
    if (!type_form_read(&form, a, e) || !type_name_is_free(st, form.text[TYPE_DESIGNATION], e))
        return false;
    int64_t id = type_find(st, form.text[TYPE_DESIGNATION]);
    if (id != NONE && !type_load(&have, st, id, a, e))
        return false;
    *out = id != NONE && is_there(&have, &form) ? LOAD_UNCHANGED : LOAD_ACCEPTED;
    if (l->dry || *out == LOAD_UNCHANGED)
        return true;
    l->wrote = true;
    if (id == NONE)
        return type_create(&id, st, form.text, a, e);
    memcpy(have.text, form.text, sizeof have.text);
    return type_replace(st, &have, a, e);
}

const struct load_kind load_types = {"type", type_columns_of, type_put, NULL};

/* ---- statements ---------------------------------------------------------------------------- */

static void statement_columns_of(struct load_columns *out, struct store *st, struct arena *a)
{
    (void)st;
    columns_of(out, &STATEMENT_NEW, "equivalence line", a);
}

static bool statement_put(enum load_outcome *out, struct load *l, struct store *st, const void *row,
                          struct arena *a, struct err *e)
{
    struct statement s;
    struct equivalence have;
    int64_t id;
    if (!statement_read(&s, st, row, a, e))
        return false;
    bool there = equivalence_own(&have, st, s.from_id, s.to_id, a) &&
                 have.relation == s.said.relation &&
                 same_text(have.conditions, s.said.conditions) &&
                 same_text(have.source, s.said.source) && same_text(have.where, s.said.where);
    *out = there ? LOAD_UNCHANGED : LOAD_ACCEPTED;
    if (there)
        return true;
    if (l->dry)
        return catalogue_accepts(st, &s.said, e);
    l->wrote = true;
    return equivalence_state(&id, st, s.from_id, s.to_id, &s.said, a, e);
}

const struct load_kind load_statements = {"equivalence", statement_columns_of, statement_put, NULL};
