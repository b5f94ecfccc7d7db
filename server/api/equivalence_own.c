/* SPDX-License-Identifier: MIT
 *
 * equivalence_own: stating and withdrawing what one knows oneself.  lib decides whether a statement
 * makes sense and whether the figures of the two types allow it.
 */
#include <string.h>

#include "api/equivalence_priv.h"
#include "api/page.h"
#include "api/type.h"
#include "store/catalogue.h"
#include "store/equivalence.h"
#include "store/type.h"

#define AT(f) offsetof(struct statement_new, f)
static const struct field STATEMENT_NEW_FIELDS[] = {
    {"from", K_TEXT, F_REQUIRED, AT(from), 1, 60, .help = "the type that is replaced"},
    {"to", K_TEXT, F_REQUIRED, AT(to), 1, 60, .help = "the type that stands in for it"},
    {"relation", K_ENUM, F_REQUIRED, AT(relation), .names = equivalence_relations,
     .help = RELATION_HELP},
    {"conditions", K_NOTE, 0, AT(conditions), 1, 1000,
     .help = "what differs; needed from close downwards"},
    {"source", K_NOTE, F_REQUIRED, AT(source), 1, 400, .help = "publication, or your grounds"},
    {"where", K_NOTE, 0, AT(where), 1, 400, .help = "address or page"},
    {0},
};
const struct shape STATEMENT_NEW = {"statement_new", sizeof(struct statement_new),
                                    STATEMENT_NEW_FIELDS};

static const struct field STATEMENT_GO_FIELDS[] = {
    {"from", K_TEXT, F_REQUIRED, AT(from), 1, 60, .help = "the type that is replaced"},
    {"to", K_TEXT, F_REQUIRED, AT(to), 1, 60, .help = "the type that stands in for it"},
    {0},
};
const struct shape STATEMENT_GO = {"statement_ask", sizeof(struct statement_new),
                                   STATEMENT_GO_FIELDS};
#undef AT

bool statement_read(struct statement *out, struct store *st, const struct statement_new *in,
                    struct arena *a, struct err *e)
{
    struct type_row from, to;
    if (!store_type_named(&out->from_id, st, "from", in->from, a, e) ||
        !store_type_named(&out->to_id, st, "to", in->to, a, e) ||
        !type_load(&from, st, out->from_id, a, e) || !type_load(&to, st, out->to_id, a, e))
        return false;
    const char *text[EQUIVALENCE__COLUMNS] = {
        [EQUIVALENCE_FROM] = from.text[TYPE_DESIGNATION],
        [EQUIVALENCE_TO] = to.text[TYPE_DESIGNATION],
        [EQUIVALENCE_RELATION] = equivalence_relations[in->relation],
        [EQUIVALENCE_CONDITIONS] = in->conditions,
        [EQUIVALENCE_SOURCE] = in->source,
        [EQUIVALENCE_HOW] = how_words[HOW_OWN],
        [EQUIVALENCE_WHERE] = in->where,
    };
    struct sheet_row row;
    sheet_row_init(&row, equivalence_columns, text, EQUIVALENCE__COLUMNS);
    return equivalence_read(&out->said, &row.sheet, &row.record, a, e);
}

bool statement_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct statement_new *in = rq->in;
    struct statement_view *v = arena_alloc(rq->arena, sizeof *v);
    struct statement s;
    int64_t id;
    if (!statement_read(&s, rq->store, in, rq->arena, e) ||
        !equivalence_state(&id, rq->store, s.from_id, s.to_id, &s.said, rq->arena, e))
        return false;
    *v = (struct statement_view){.from = s.said.from,
                                 .to = s.said.to,
                                 .relation = equivalence_relations[in->relation],
                                 .conditions = in->conditions,
                                 .known = how_words[HOW_OWN],
                                 .source = in->source,
                                 .where = in->where,
                                 .backwards = NONE};
    out->location =
        arena_printf(rq->arena, "/api/types/%s/equivalents", page_escape(rq->arena, s.said.from));
    out->event = "type";
    out->event_id = s.from_id;
    return reply_body(out, v);
}

bool statement_delete(struct reply *out, struct req *rq, struct err *e)
{
    const struct statement_new *in = rq->in;
    int64_t from_id, to_id;
    if (!store_type_named(&from_id, rq->store, "from", in->from, rq->arena, e) ||
        !store_type_named(&to_id, rq->store, "to", in->to, rq->arena, e) ||
        !equivalence_withdraw(rq->store, from_id, to_id, rq->arena, e))
        return false;
    out->event = "type";
    out->event_id = from_id;
    return true;
}
