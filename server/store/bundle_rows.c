/* SPDX-License-Identifier: MIT
 *
 * bundle_rows: spellings, statements, hazards and known doubts of a bundle.  Each is put where it
 * is not, or not so; what was bundled before and is not among them goes.
 */
#include "store/bundle_priv.h"

/* ---- spellings ---- */

static const char SPELLING_PUT[] =
    "INSERT INTO designation (type_id, text, kind, source, found_where, how, origin) "
    "VALUES (:type_id, :text, :kind, :source, :found_where, :how, 'bundled') "
    "ON CONFLICT (text) DO UPDATE SET type_id = excluded.type_id, kind = excluded.kind, "
    "source = excluded.source, found_where = excluded.found_where, how = excluded.how "
    "WHERE origin = 'bundled' AND (type_id, kind, source, found_where, how) IS NOT "
    "(excluded.type_id, excluded.kind, excluded.source, excluded.found_where, excluded.how)";
static const char SPELLING_ID[] = "SELECT id FROM designation WHERE text = :text";
static const char SPELLINGS_GO[] = "DELETE FROM designation WHERE origin = 'bundled' "
                                   "AND id NOT IN (SELECT value FROM json_each(:kept)) "
                                   "AND text <> (SELECT designation FROM type WHERE id = type_id)";

bool bundle_spellings(struct load *l, struct err *e)
{
    kept_start(l);
    for (size_t i = 0; i < catalogue_name_count(l->c); i++) {
        const struct name *n = catalogue_name(l->c, i);
        struct query *q = query(l->st, SPELLING_PUT);
        query_int(q, ":type_id", l->type_id[n->type]);
        query_text(q, ":text", n->text);
        query_text(q, ":kind", spelling_words[n->kind]);
        query_text(q, ":source", bundle_text(n->source));
        query_text(q, ":found_where", bundle_text(n->where));
        query_text(q, ":how", how_words[n->how]);
        if (!query_run(q, e))
            return false;
        q = query(l->st, SPELLING_ID);
        query_text(q, ":text", n->text);
        kept_add(l, query_number(q));
    }
    return kept_sweep(l, SPELLINGS_GO, e);
}

/* ---- statements ---- */

static const char STATEMENT_PUT[] =
    "INSERT INTO equivalence (from_id, to_id, relation, conditions, source, found_where, how, "
    "origin) "
    "VALUES (:from_id, :to_id, :relation, :conditions, :source, :found_where, :how, 'bundled') "
    "ON CONFLICT (from_id, to_id, relation, origin) DO UPDATE SET "
    "conditions = excluded.conditions, source = excluded.source, "
    "found_where = excluded.found_where, how = excluded.how "
    "WHERE (conditions, source, found_where, how) IS NOT "
    "(excluded.conditions, excluded.source, excluded.found_where, excluded.how)";
static const char STATEMENT_ID[] =
    "SELECT id FROM equivalence WHERE from_id = :from_id AND to_id = :to_id "
    "AND relation = :relation AND origin = 'bundled'";
static const char STATEMENTS_GO[] = "DELETE FROM equivalence WHERE origin = 'bundled' "
                                    "AND id NOT IN (SELECT value FROM json_each(:kept))";

bool bundle_statements(struct load *l, struct err *e)
{
    size_t count;
    const struct edge *edge = catalogue_edges(l->c, &count);
    kept_start(l);
    for (size_t i = 0; i < count; i++) {
        const struct equivalence *s = &edge[i].said;
        struct query *q = query(l->st, STATEMENT_PUT);
        query_int(q, ":from_id", l->type_id[edge[i].from]);
        query_int(q, ":to_id", l->type_id[edge[i].to]);
        query_text(q, ":relation", relation_words[s->relation]);
        query_text(q, ":conditions", bundle_text(s->conditions));
        query_text(q, ":source", bundle_text(s->source));
        query_text(q, ":found_where", bundle_text(s->where));
        query_text(q, ":how", how_words[s->how]);
        if (!query_run(q, e))
            return false;
        q = query(l->st, STATEMENT_ID);
        query_int(q, ":from_id", l->type_id[edge[i].from]);
        query_int(q, ":to_id", l->type_id[edge[i].to]);
        query_text(q, ":relation", relation_words[s->relation]);
        kept_add(l, query_number(q));
    }
    return kept_sweep(l, STATEMENTS_GO, e);
}

/* ---- hazards and doubts ---- */

static const char HAZARD_PUT[] =
    "INSERT INTO hazard (type_id, kind, words, source, found_where, how, origin) "
    "VALUES (:type_id, :kind, :words, :source, :found_where, :how, 'bundled') "
    "ON CONFLICT (type_id, kind) DO UPDATE SET words = excluded.words, source = excluded.source, "
    "found_where = excluded.found_where, how = excluded.how WHERE origin = 'bundled'";
static const char HAZARD_ID[] = "SELECT id FROM hazard WHERE type_id = :type_id AND kind = :kind";
static const char HAZARDS_GO[] = "DELETE FROM hazard WHERE origin = 'bundled' "
                                 "AND id NOT IN (SELECT value FROM json_each(:kept))";

bool bundle_hazards(struct load *l, struct err *e)
{
    size_t count;
    const struct hazard *h = catalogue_hazards(l->c, &count);
    kept_start(l);
    for (size_t i = 0; i < count; i++) {
        int64_t id = bundle_type(l, h[i].designation);
        struct query *q = query(l->st, HAZARD_PUT);
        query_int(q, ":type_id", id);
        query_text(q, ":kind", hazard_words[h[i].kind]);
        query_text(q, ":words", h[i].words);
        query_text(q, ":source", bundle_text(h[i].source));
        query_text(q, ":found_where", bundle_text(h[i].where));
        query_text(q, ":how", how_words[h[i].how]);
        if (!query_run(q, e))
            return false;
        q = query(l->st, HAZARD_ID);
        query_int(q, ":type_id", id);
        query_text(q, ":kind", hazard_words[h[i].kind]);
        kept_add(l, query_number(q));
    }
    return kept_sweep(l, HAZARDS_GO, e);
}

static const char DOUBT_PUT[] =
    "INSERT INTO doubt (type_id, kind, why, origin) VALUES (:type_id, :kind, :why, 'bundled') "
    "ON CONFLICT (type_id, kind) DO UPDATE SET why = excluded.why WHERE origin = 'bundled'";
static const char DOUBT_ID[] = "SELECT id FROM doubt WHERE type_id = :type_id AND kind = :kind";
static const char DOUBTS_GO[] = "DELETE FROM doubt WHERE origin = 'bundled' "
                                "AND id NOT IN (SELECT value FROM json_each(:kept))";

bool bundle_doubts(struct load *l, struct err *e)
{
    size_t count;
    const struct known_doubt *d = catalogue_doubts(l->c, &count);
    kept_start(l);
    for (size_t i = 0; i < count; i++) {
        int64_t id = bundle_type(l, d[i].designation);
        struct query *q = query(l->st, DOUBT_PUT);
        query_int(q, ":type_id", id);
        query_text(q, ":kind", d[i].check);
        query_text(q, ":why", d[i].why);
        if (!query_run(q, e))
            return false;
        q = query(l->st, DOUBT_ID);
        query_int(q, ":type_id", id);
        query_text(q, ":kind", d[i].check);
        kept_add(l, query_number(q));
    }
    return kept_sweep(l, DOUBTS_GO, e);
}
