/* SPDX-License-Identifier: MIT
 *
 * equivalence: lines of the small tables.
 */
#include "catalogue/equivalence.h"

#include "designation/fold.h"

#include <string.h>

const char *const relation_words[RELATION__COUNT] = {
    "same", "improved", "close", "heater-differs", "cap-differs", "base-differs",
};
const char *const spelling_words[SPELLING__COUNT] = {"printed", "trade"};
const char *const hazard_words[HAZARD__COUNT] = {
    "radioactive", "mercury", "beryllia", "high-voltage", "hot",
};

const char *const equivalence_columns[EQUIVALENCE__COLUMNS] = {
    "from", "to", "relation", "conditions", "source", "how", "where",
};
const char *const spelling_columns[SPELLING__COLUMNS] = {
    "designation", "spelling", "kind", "why", "source", "how", "where",
};
const char *const hazard_columns[HAZARD__COLUMNS] = {
    "designation", "hazard", "words", "source", "how", "where",
};

enum how equivalence_known(const struct equivalence *q)
{
    static const char *const doubts[] = {"memory", "ours", "not seen"};
    const char *remark = strrchr(q->where, '(');
    size_t n = strlen(q->where);
    if (q->how != HOW_FOUND || !remark || q->where[n - 1] != ')')
        return q->how;
    for (size_t i = 0; i < ARRAY_LEN(doubts); i++)
        if (strstr(remark, doubts[i]))
            return HOW_MEMORY;
    return HOW_FOUND;
}

static bool read_name(const char **out, const struct sheet *s, const struct csv_record *r,
                      int column, struct arena *a, struct err *e)
{
    *out = sheet_text(s, r, column, a);
    if (designation_check(*out, e))
        return true;
    if (e)
        e->line = r->line;
    return err_in(e, s->name[column]);
}

static bool refuse(struct err *e, const struct csv_record *r, const char *column)
{
    if (e)
        e->line = r->line;
    return err_in(e, column);
}

static bool read_how(enum how *out, const struct sheet *s, const struct csv_record *r, int column,
                     struct err *e)
{
    int how;
    if (!sheet_word(&how, s, r, column, how_words, HOW__COUNT, true, e))
        return false;
    *out = how < 0 ? HOW_OWN : (enum how)how;
    return true;
}

/* What differs must be said: otherwise a person would believe that nothing else does. */
static bool check_statement(const struct equivalence *q, const struct csv_record *r, struct err *e)
{
    if (strcmp(q->from, q->to) == 0) {
        err_set(e, ERR_INVALID, "%s cannot stand in for itself", q->from);
        return refuse(e, r, "to");
    }
    if (q->relation >= RELATION_CLOSE && !*q->conditions) {
        err_set(e, ERR_INVALID,
                "%s for %s is \"%s\"; conditions must say what differs, such as \"heater 12.6 V "
                "0.3 A vs 6.3 V 0.6 A\"",
                q->to, q->from, relation_words[q->relation]);
        return refuse(e, r, "conditions");
    }
    return true;
}

bool equivalence_read(struct equivalence *out, const struct sheet *s, const struct csv_record *r,
                      struct arena *a, struct err *e)
{
    struct equivalence q = {0};
    int relation;
    if (!sheet_check(s, r, e) || !read_name(&q.from, s, r, EQUIVALENCE_FROM, a, e) ||
        !read_name(&q.to, s, r, EQUIVALENCE_TO, a, e) ||
        !sheet_word(&relation, s, r, EQUIVALENCE_RELATION, relation_words, RELATION__COUNT, false,
                    e) ||
        !read_how(&q.how, s, r, EQUIVALENCE_HOW, e))
        return false;
    q.relation = (enum relation)relation;
    q.conditions = sheet_text(s, r, EQUIVALENCE_CONDITIONS, a);
    q.source = sheet_text(s, r, EQUIVALENCE_SOURCE, a);
    q.where = sheet_text(s, r, EQUIVALENCE_WHERE, a);
    if (!check_statement(&q, r, e))
        return false;
    *out = q;
    return true;
}

bool spelling_read(struct spelling *out, const struct sheet *s, const struct csv_record *r,
                   struct arena *a, struct err *e)
{
    struct spelling q = {0};
    int kind;
    if (!sheet_check(s, r, e) || !read_name(&q.designation, s, r, SPELLING_DESIGNATION, a, e) ||
        !read_name(&q.text, s, r, SPELLING_TEXT, a, e) ||
        !sheet_word(&kind, s, r, SPELLING_KIND, spelling_words, SPELLING__COUNT, true, e) ||
        !read_how(&q.how, s, r, SPELLING_HOW, e))
        return false;
    q.kind = kind < 0 ? SPELLING_PRINTED : (enum spelling_kind)kind;
    q.why = sheet_text(s, r, SPELLING_WHY, a);
    q.source = sheet_text(s, r, SPELLING_SOURCE, a);
    q.where = sheet_text(s, r, SPELLING_WHERE, a);
    *out = q;
    return true;
}

bool hazard_read(struct hazard *out, const struct sheet *s, const struct csv_record *r,
                 struct arena *a, struct err *e)
{
    struct hazard q = {0};
    int kind;
    if (!sheet_check(s, r, e) || !read_name(&q.designation, s, r, HAZARD_DESIGNATION, a, e) ||
        !sheet_word(&kind, s, r, HAZARD_HAZARD, hazard_words, HAZARD__COUNT, false, e) ||
        !read_how(&q.how, s, r, HAZARD_HOW, e))
        return false;
    q.kind = (enum hazard_kind)kind;
    q.words = sheet_text(s, r, HAZARD_WORDS, a);
    q.source = sheet_text(s, r, HAZARD_SOURCE, a);
    q.where = sheet_text(s, r, HAZARD_WHERE, a);
    if (!*q.words) {
        err_set(e, ERR_INVALID, "a hazard needs words that say what to do");
        return refuse(e, r, hazard_columns[HAZARD_WORDS]);
    }
    *out = q;
    return true;
}
