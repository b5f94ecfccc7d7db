/* SPDX-License-Identifier: MIT
 *
 * reading: rows of reading and reading_value.
 */
#include "store/reading.h"

#include <string.h>

#include "store/journal.h"
#include "store/quantity.h"
#include "store/standing.h"
#include "store/store_priv.h"
#include "store/tester.h"
#include "store/tube.h"

#define READING_COLS                                                                         \
    "r.id, r.tube_id, r.section, r.tester_id, e.code, r.test_point_id, p.code, r.method, "   \
    "r.taken_ms, r.repeat_no, r.sitting_id, u.shown, r.warm_s, r.questions, r.recorded_ms, " \
    "r.voided_ms, r.void_reason"
#define READING_FROM                                       \
    " FROM reading r JOIN tester e ON e.id = r.tester_id " \
    "JOIN test_point p ON p.id = r.test_point_id LEFT JOIN user u ON u.id = r.user_id "

static void reading_from_row(struct reading *r, struct query *q, struct arena *a)
{
    *r = (struct reading){.id = query_col_int(q, 0),
                          .tube_id = query_col_int(q, 1),
                          .section = query_col_int(q, 2),
                          .tester_id = query_col_int(q, 3),
                          .tester = query_col_text(q, 4, a),
                          .test_point_id = query_col_int(q, 5),
                          .test_point = query_col_text(q, 6, a),
                          .method = query_col_text(q, 7, a),
                          .taken_ms = query_col_int(q, 8),
                          .repeat_no = query_col_int(q, 9),
                          .sitting_id = query_col_int(q, 10),
                          .user = query_col_text(q, 11, a),
                          .warm_s = query_col_int(q, 12),
                          .questions = query_col_text(q, 13, a),
                          .recorded_ms = query_col_int(q, 14),
                          .voided_ms = query_col_int(q, 15),
                          .void_reason = query_col_text(q, 16, a)};
}

static const char VALUES[] =
    "SELECT quantity, typed, unit FROM reading_value WHERE reading_id = :id ORDER BY quantity";

static void values_load(struct reading *r, struct store *st, struct arena *a)
{
    struct reading_value *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, VALUES);
    query_int(q, ":id", r->id);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct reading_value){.quantity = query_col_text(q, 0, a),
                                           .typed = query_col_text(q, 1, a),
                                           .unit = query_col_text(q, 2, a)};
    }
    query_end(q);
    r->values = (struct list){rows, n};
}

static const char READINGS[] = "SELECT " READING_COLS READING_FROM
                               "WHERE r.tube_id = :tube_id ORDER BY r.id DESC LIMIT :limit";

void reading_list(struct list *out, struct store *st, int64_t tube_id, int64_t limit,
                  struct arena *a)
{
    struct reading *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, READINGS);
    query_int(q, ":tube_id", tube_id);
    query_int(q, ":limit", limit);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        reading_from_row(&rows[n++], q, a);
    }
    query_end(q);
    for (size_t i = 0; i < n; i++)
        values_load(&rows[i], st, a);
    *out = (struct list){rows, n};
}

static const char READING_GET[] = "SELECT " READING_COLS READING_FROM "WHERE r.id = :id";

bool reading_load(struct reading *out, struct store *st, int64_t id, struct arena *a, struct err *e)
{
    struct query *q = query(st, READING_GET);
    query_int(q, ":id", id);
    bool found = query_row(q);
    if (found)
        reading_from_row(out, q, a);
    query_end(q);
    if (!found)
        return err_field(e, "reading", ERR_NOT_FOUND, "there is no reading %lld", (long long)id);
    values_load(out, st, a);
    return true;
}

/* ---- checking ----------------------------------------------------------------------------- */

static const char TYPE_OF[] = "SELECT coalesce(sections, 0), designation FROM type WHERE id = :id";

static bool section_check(struct store *st, const struct reading *r, int64_t type_id,
                          struct arena *a, struct err *e)
{
    int64_t sections = 0;
    const char *name = "";
    struct query *q = query(st, TYPE_OF);
    query_int(q, ":id", type_id);
    if (query_row(q)) {
        sections = query_col_int(q, 0);
        name = query_col_text(q, 1, a);
    }
    query_end(q);
    if (r->section < 0)
        return err_field(e, "section", ERR_INVALID, "section %lld: sections count from 1",
                         (long long)r->section);
    if (sections && r->section > sections)
        return err_field(e, "section", ERR_INVALID, "section %lld: a %s has %lld section%s",
                         (long long)r->section, name, (long long)sections,
                         sections == 1 ? "" : "s");
    return true;
}

static bool scope_check(const struct quantity *q, const struct reading *r, struct err *e)
{
    if (q->scope == QUANTITY_SECTION && r->section == 0)
        return err_field(e, "section", ERR_INVALID,
                         "%s is read section by section: say which section", q->name);
    if (q->scope == QUANTITY_TUBE && r->section != 0)
        return err_field(e, "section", ERR_INVALID,
                         "%s belongs to the whole tube: leave the section out, or give 0", q->name);
    return true;
}

bool reading_check(struct store *st, const struct reading *r, int64_t type_id, struct arena *a,
                   struct err *e)
{
    const struct reading_value *v = r->values.items;
    if (!section_check(st, r, type_id, a, e))
        return false;
    if (!r->values.count)
        return err_field(e, "values", ERR_INVALID, "a reading needs at least one value");
    for (size_t i = 0; i < r->values.count; i++) {
        struct quantity q;
        struct quantity_value parsed;
        for (size_t j = 0; j < i; j++)
            if (strcmp(v[i].quantity, v[j].quantity) == 0)
                return err_field(e, v[i].quantity, ERR_INVALID, "%s is given twice", v[i].quantity);
        if (!quantity_load(&q, st, v[i].quantity, a, e) || !scope_check(&q, r, e) ||
            !standing_parse(&parsed, st, r->tester_id, &q, &v[i], a, e))
            return false;
    }
    return true;
}

/* ---- writing ------------------------------------------------------------------------------ */

static const char SAME[] =
    "SELECT id FROM reading WHERE tube_id = :tube_id AND section = :section "
    "AND test_point_id = :test_point_id AND taken_ms = :taken_ms AND tester_id = :tester_id "
    "AND method = :method AND repeat_no = :repeat_no AND voided_ms IS NULL";

static const char CREATE[] =
    "INSERT INTO reading (tube_id, section, tester_id, test_point_id, method, taken_ms, "
    "repeat_no, sitting_id, user_id, warm_s, questions, recorded_ms) "
    "VALUES (:tube_id, :section, :tester_id, :test_point_id, :method, :taken_ms, :repeat_no, "
    ":sitting_id, :user_id, :warm_s, :questions, :recorded_ms)";

static const char VALUE_CREATE[] = "INSERT INTO reading_value (reading_id, quantity, typed, unit) "
                                   "VALUES (:reading_id, :quantity, :typed, :unit)";

static void key_bind(struct query *q, const struct reading *r)
{
    query_int(q, ":tube_id", r->tube_id);
    query_int(q, ":section", r->section);
    query_int(q, ":tester_id", r->tester_id);
    query_int(q, ":test_point_id", r->test_point_id);
    query_text(q, ":method", r->method ? r->method : "direct");
    query_int(q, ":taken_ms", r->taken_ms);
    query_int(q, ":repeat_no", r->repeat_no == NONE ? 1 : r->repeat_no);
}

/* The unit that is kept: as given, else the tester's scale, else the quantity's own. */
static const char *unit_kept(struct store *st, const struct reading *r,
                             const struct reading_value *v, struct arena *a)
{
    struct quantity q;
    const char *scale;
    if (v->unit && *v->unit)
        return v->unit;
    if (!quantity_load(&q, st, v->quantity, a, NULL))
        return "";
    tester_terms(NULL, &scale, NULL, st, r->tester_id, &q, a);
    return scale ? scale : q.unit;
}

static bool same_values(struct store *st, int64_t id, const struct reading *r, struct arena *a)
{
    struct reading have;
    const struct reading_value *v = r->values.items;
    if (!reading_load(&have, st, id, a, NULL) || have.values.count != r->values.count)
        return false;
    const struct reading_value *h = have.values.items;
    for (size_t i = 0; i < r->values.count; i++) {
        bool found = false;
        for (size_t j = 0; j < have.values.count && !found; j++)
            found = strcmp(h[j].quantity, v[i].quantity) == 0 &&
                    strcmp(h[j].typed, v[i].typed) == 0 &&
                    strcmp(h[j].unit, unit_kept(st, r, &v[i], a)) == 0;
        if (!found)
            return false;
    }
    return true;
}

static const char READING_IMAGE[] =
    "SELECT json_object('tube_id', tube_id, 'section', section, 'tester_id', tester_id, "
    "'test_point_id', test_point_id, 'taken_ms', taken_ms, 'repeat_no', repeat_no, 'questions', "
    "questions, 'voided_ms', voided_ms, 'void_reason', void_reason, 'values', "
    "(SELECT json_group_array(json_array(quantity, typed, unit)) FROM reading_value "
    "WHERE reading_id = id)) FROM reading WHERE id = :id";

static bool values_create(struct store *st, int64_t id, const struct reading *r, struct arena *a,
                          struct err *e)
{
    const struct reading_value *v = r->values.items;
    for (size_t i = 0; i < r->values.count; i++) {
        struct query *q = query(st, VALUE_CREATE);
        query_int(q, ":reading_id", id);
        query_text(q, ":quantity", v[i].quantity);
        query_text(q, ":typed", v[i].typed);
        query_text(q, ":unit", unit_kept(st, r, &v[i], a));
        if (!query_run(q, e))
            return false;
    }
    return true;
}

static bool standings_refresh(struct store *st, const struct reading *r, struct arena *a,
                              struct err *e)
{
    const struct reading_value *v = r->values.items;
    for (size_t i = 0; i < r->values.count; i++)
        if (!standing_refresh(st, r->tube_id, r->section, v[i].quantity, r->test_point_id,
                              r->method ? r->method : "direct", a, e))
            return false;
    return true;
}

bool reading_find(int64_t *id, bool *same, struct store *st, const struct reading *r,
                  struct arena *a, struct err *e)
{
    struct query *q = query(st, SAME);
    key_bind(q, r);
    *id = query_number(q);
    *same = *id != NONE;
    if (*same && !same_values(st, *id, r, a))
        return err_set(e, ERR_CONFLICT,
                       "a reading of this section at that very moment is there with other values: "
                       "void it first, or number this one as a further repeat");
    return true;
}

bool reading_create(int64_t *id, bool *same, struct store *st, const struct reading *r,
                    struct arena *a, struct err *e)
{
    store_assert_writing(st);
    if (!reading_find(id, same, st, r, a, e))
        return false;
    if (*same)
        return true;
    struct query *q = query(st, CREATE);
    key_bind(q, r);
    query_int(q, ":sitting_id", r->sitting_id);
    query_int(q, ":user_id", store_user(st));
    query_int(q, ":warm_s", r->warm_s);
    query_text(q, ":questions", r->questions);
    query_int(q, ":recorded_ms", store_now(st));
    if (!query_run(q, e))
        return false;
    *id = store_last_id(st);
    return values_create(st, *id, r, a, e) && standings_refresh(st, r, a, e) &&
           tube_advance(st, r->tube_id, TUBE_TESTED, a, e) &&
           journal_append(st, "create", "reading", *id, NULL,
                          journal_image(st, READING_IMAGE, *id, a), e);
}

static const char VOID[] = "UPDATE reading SET voided_ms = :now_ms, void_user_id = :user_id, "
                           "void_reason = :reason WHERE id = :id AND voided_ms IS NULL";

bool reading_void(struct store *st, int64_t id, const char *reason, struct arena *a, struct err *e)
{
    store_assert_writing(st);
    struct reading r;
    if (!reading_load(&r, st, id, a, e))
        return false;
    const char *before = journal_image(st, READING_IMAGE, id, a);
    struct query *q = query(st, VOID);
    query_int(q, ":id", id);
    query_int(q, ":now_ms", store_now(st));
    query_int(q, ":user_id", store_user(st));
    query_text(q, ":reason", reason);
    if (!query_run(q, e))
        return false;
    if (store_changes(st) != 1)
        return err_set(e, ERR_CONFLICT, "this reading was voided before");
    return standings_refresh(st, &r, a, e) &&
           journal_append(st, "void", "reading", id, before,
                          journal_image(st, READING_IMAGE, id, a), e);
}
