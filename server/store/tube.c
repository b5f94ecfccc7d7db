/* SPDX-License-Identifier: MIT
 *
 * tube: rows of tube.
 *
 * Lists: each filter that may lead has a constant statement of its own that walks its index by
 * number; the remaining filters are tested in the same statement.  Where there are any, a look
 * along the index first tells how far the walk may go, so that no filter can make a request visit
 * the whole stock.
 */
#include "store/tube.h"

#include <string.h>

#include "base/stockno.h"
#include "store/journal.h"
#include "store/store_priv.h"

const char *const tube_history_names[] = {"unused", "used", "unknown", NULL};
const char *const tube_state_names[] = {"received", "inspected", "tested",     "shelved", "shipped",
                                        "returned", "scrapped",  "check-tube", NULL};

#define TUBE_COLS                                                                              \
    "t.id, t.stock_no, t.type_id, y.designation, f.name, t.family_id, t.printed, t.maker_id, " \
    "m.name, t.construction_id, c.title, t.date_text, t.made_first_day, t.made_last_day, "     \
    "t.lot_id, l.code, t.lot_line_id, t.share_minor, t.bin_id, b.code, t.history, "            \
    "t.history_word, t.outside_mark, t.note, t.state, t.grade, t.unconfirmed, s.set_id, "      \
    "h.until_ms, t.created_ms, t.version"

#define TUBE_JOINS                                               \
    " JOIN type y ON y.id = t.type_id"                           \
    " LEFT JOIN family f ON f.id = t.family_id"                  \
    " LEFT JOIN maker m ON m.id = t.maker_id"                    \
    " LEFT JOIN construction c ON c.id = t.construction_id"      \
    " LEFT JOIN lot l ON l.id = t.lot_id"                        \
    " LEFT JOIN bin b ON b.id = t.bin_id"                        \
    " LEFT JOIN set_member s ON s.tube_id = t.id AND s.live = 1" \
    " LEFT JOIN hold h ON h.tube_id = t.id AND h.live = 1"

static int64_t name_index(const char *const *names, const char *text)
{
    for (int64_t i = 0; text && names[i]; i++)
        if (strcmp(names[i], text) == 0)
            return i;
    return NONE;
}

static void tube_from_row(struct tube *t, struct query *q, struct arena *a)
{
    *t = (struct tube){.id = query_col_int(q, 0),
                       .stock_no = query_col_int(q, 1),
                       .type_id = query_col_int(q, 2),
                       .type = query_col_text(q, 3, a),
                       .family = query_col_text(q, 4, a),
                       .family_id = query_col_int(q, 5),
                       .printed = query_col_text(q, 6, a),
                       .maker_id = query_col_int(q, 7),
                       .maker = query_col_text(q, 8, a),
                       .construction_id = query_col_int(q, 9),
                       .construction = query_col_text(q, 10, a),
                       .date_text = query_col_text(q, 11, a),
                       .made_first_day = query_col_int(q, 12),
                       .made_last_day = query_col_int(q, 13),
                       .lot_id = query_col_int(q, 14),
                       .lot = query_col_text(q, 15, a),
                       .lot_line_id = query_col_int(q, 16),
                       .share_minor = query_col_int(q, 17),
                       .bin_id = query_col_int(q, 18),
                       .bin = query_col_text(q, 19, a),
                       .history = name_index(tube_history_names, query_col_text(q, 20, a)),
                       .history_word = query_col_text(q, 21, a),
                       .mark = query_col_text(q, 22, a),
                       .note = query_col_text(q, 23, a),
                       .state = name_index(tube_state_names, query_col_text(q, 24, a)),
                       .grade = query_col_text(q, 25, a),
                       .unconfirmed = query_col_int(q, 26),
                       .set_id = query_col_int(q, 27),
                       .held_until_ms = query_col_int(q, 28),
                       .created_ms = query_col_int(q, 29),
                       .version = query_col_int(q, 30)};
}

/* ---- lists -------------------------------------------------------------------------------- */

#define TUBE_LIST(LEAD)                                                       \
    "SELECT " TUBE_COLS " FROM tube t" TUBE_JOINS " WHERE " LEAD              \
    "t.id > :after AND t.id <= :until"                                        \
    " AND (:lot_id IS NULL OR t.lot_id = :lot_id)"                            \
    " AND (:bin_id IS NULL OR t.bin_id = :bin_id)"                            \
    " AND (:type_id IS NULL OR t.type_id = :type_id)"                         \
    " AND (:family_id IS NULL OR t.family_id = :family_id)"                   \
    " AND (:grade IS NULL OR t.grade = :grade)"                               \
    " AND (:maker_id IS NULL OR t.maker_id = :maker_id)"                      \
    " AND (:state IS NULL OR t.state = :state)"                               \
    " AND (:free IS NULL OR :free = (s.set_id IS NULL AND h.until_ms IS NULL" \
    " AND t.state NOT IN ('shipped', 'scrapped', 'check-tube')))"             \
    " ORDER BY t.id LIMIT :limit"

/* How many rows there are up to the most that may be visited, and the last of them. */
#define TUBE_REACH(LEAD)                                                                  \
    "SELECT count(*), max(id) FROM (SELECT t.id FROM tube t WHERE " LEAD "t.id > :after " \
    "ORDER BY t.id LIMIT :visited)"

/* What may lead a list: each has an index (lead, id). */
#define TUBE_LEAD(COLUMN)                                                                     \
    {                                                                                         \
        TUBE_LIST("t." COLUMN " = :" COLUMN " AND "), TUBE_REACH("t." COLUMN " = :lead AND ") \
    }
static const struct lead {
    const char *list, *reach;
} LEAD[] = {
    TUBE_LEAD("lot_id"),  TUBE_LEAD("bin_id"),
    TUBE_LEAD("type_id"), TUBE_LEAD("family_id"),
    TUBE_LEAD("grade"),   TUBE_LEAD("maker_id"),
    TUBE_LEAD("state"),   {TUBE_LIST(""), TUBE_REACH("")},
};
enum { BY_LOT, BY_BIN, BY_TYPE, BY_FAMILY, BY_GRADE, BY_MAKER, BY_STATE, BY_NUMBER };

static int lead_of(const struct tube_filter *f)
{
    return f->lot_id != NONE      ? BY_LOT
           : f->bin_id != NONE    ? BY_BIN
           : f->type_id != NONE   ? BY_TYPE
           : f->family_id != NONE ? BY_FAMILY
           : f->grade             ? BY_GRADE
           : f->maker_id != NONE  ? BY_MAKER
           : f->state != NONE     ? BY_STATE
                                  : BY_NUMBER;
}

static void filter_bind(struct query *q, const struct tube_filter *f)
{
    query_int(q, ":lot_id", f->lot_id);
    query_int(q, ":bin_id", f->bin_id);
    query_int(q, ":type_id", f->type_id);
    query_int(q, ":family_id", f->family_id);
    query_text(q, ":grade", f->grade);
    query_int(q, ":maker_id", f->maker_id);
    query_text(q, ":state", f->state == NONE ? NULL : tube_state_names[f->state]);
    query_int(q, ":free", f->free);
}

static void lead_bind(struct query *q, int lead, const struct tube_filter *f)
{
    switch (lead) {
    case BY_LOT:
        query_int(q, ":lead", f->lot_id);
        break;
    case BY_BIN:
        query_int(q, ":lead", f->bin_id);
        break;
    case BY_TYPE:
        query_int(q, ":lead", f->type_id);
        break;
    case BY_FAMILY:
        query_int(q, ":lead", f->family_id);
        break;
    case BY_GRADE:
        query_text(q, ":lead", f->grade);
        break;
    case BY_MAKER:
        query_int(q, ":lead", f->maker_id);
        break;
    case BY_STATE:
        query_text(q, ":lead", tube_state_names[f->state]);
        break;
    default:
        break;
    }
}

/* Filters that are given: the first leads, any further one tests what it brings. */
static int filter_count(const struct tube_filter *f)
{
    return (f->lot_id != NONE) + (f->bin_id != NONE) + (f->type_id != NONE) +
           (f->family_id != NONE) + (f->grade != NULL) + (f->maker_id != NONE) +
           (f->state != NONE) + (f->free != NONE);
}

/* The number up to which the lead may be followed; *cut: there is more of it behind that. */
static int64_t reach(bool *cut, struct store *st, int lead, const struct tube_filter *f,
                     int64_t after)
{
    int64_t until = after;
    *cut = false;
    struct query *q = query(st, LEAD[lead].reach);
    lead_bind(q, lead, f);
    query_int(q, ":after", after);
    query_int(q, ":visited", TUBE_VISITED);
    if (query_row(q) && query_col_int(q, 0) > 0) {
        *cut = query_col_int(q, 0) == TUBE_VISITED;
        until = query_col_int(q, 1);
    }
    query_end(q);
    return until;
}

void tube_list(struct list *out, int64_t *last_id, bool *more, struct store *st,
               const struct tube_filter *f, int64_t after_id, int64_t limit, struct arena *a)
{
    struct tube *rows = NULL;
    size_t room = 0, n = 0;
    int lead = lead_of(f);
    int64_t after = after_id == NONE ? 0 : after_id, until = INT64_MAX;
    bool cut = false;
    if (filter_count(f) > (lead != BY_NUMBER))
        until = reach(&cut, st, lead, f, after);
    struct query *q = query(st, LEAD[lead].list);
    filter_bind(q, f);
    query_int(q, ":after", after);
    query_int(q, ":until", until);
    query_int(q, ":limit", limit + 1);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        tube_from_row(&rows[n++], q, a);
    }
    query_end(q);
    *more = cut || n > (size_t)limit;
    if (n > (size_t)limit)
        *last_id = rows[--n - 1].id;
    else if (cut)
        *last_id = until;
    *out = (struct list){rows, n};
}

/* ---- one tube ----------------------------------------------------------------------------- */

static const char TUBE_BY_NUMBER[] =
    "SELECT " TUBE_COLS " FROM tube t" TUBE_JOINS " WHERE t.stock_no = :stock_no";

bool tube_load(struct tube *out, struct store *st, int64_t stock_no, struct arena *a, struct err *e)
{
    struct query *q = query(st, TUBE_BY_NUMBER);
    query_int(q, ":stock_no", stock_no);
    bool found = query_row(q);
    if (found)
        tube_from_row(out, q, a);
    query_end(q);
    if (!found)
        return err_field(e, "stock_no", ERR_NOT_FOUND,
                         "no tube has the stock number %lld, though it is a well-formed one",
                         (long long)stock_no);
    return true;
}

static const char TUBE_BY_MARK[] =
    "SELECT " TUBE_COLS " FROM tube t" TUBE_JOINS " WHERE t.outside_mark = :mark";

bool tube_find_mark(struct tube *out, struct store *st, const char *mark, struct arena *a)
{
    struct query *q = query(st, TUBE_BY_MARK);
    query_text(q, ":mark", mark);
    bool found = query_row(q);
    if (found)
        tube_from_row(out, q, a);
    query_end(q);
    return found;
}

static const char TUBE_IMAGE[] =
    "SELECT json_object('stock_no', stock_no, 'type_id', type_id, 'printed', printed, 'maker_id', "
    "maker_id, 'construction_id', construction_id, 'date_text', date_text, 'made_first_day', "
    "made_first_day, 'made_last_day', made_last_day, 'lot_id', lot_id, 'lot_line_id', "
    "lot_line_id, 'share_minor', share_minor, 'bin_id', bin_id, 'history', history, "
    "'history_word', history_word, 'outside_mark', outside_mark, 'note', note, 'state', state, "
    "'unconfirmed', unconfirmed) FROM tube WHERE id = :id";

static const char NEXT_NUMBER[] =
    "SELECT max((SELECT coalesce(max(id), 0) FROM tube), "
    "(SELECT coalesce(max(last), 0) FROM number_block), :before_first) + 1";

static int64_t next_number(struct store *st)
{
    struct query *q = query(st, NEXT_NUMBER);
    query_int(q, ":before_first", STOCKNO_FIRST - 1);
    return query_number(q);
}

static const char TUBE_CREATE[] =
    "INSERT INTO tube (id, stock_no, type_id, printed, maker_id, construction_id, date_text, "
    "made_first_day, made_last_day, lot_id, lot_line_id, share_minor, bin_id, history, "
    "history_word, outside_mark, note, created_ms) "
    "VALUES (:id, :stock_no, :type_id, :printed, :maker_id, :construction_id, :date_text, "
    ":made_first_day, :made_last_day, :lot_id, :lot_line_id, :share_minor, :bin_id, "
    "coalesce(:history, 'unknown'), :history_word, :outside_mark, :note, :created_ms)";

/* The columns that creating and changing share. */
static void tube_bind(struct query *q, const struct tube *t)
{
    query_int(q, ":type_id", t->type_id);
    query_text(q, ":printed", t->printed);
    query_int(q, ":maker_id", t->maker_id);
    query_int(q, ":construction_id", t->construction_id);
    query_text(q, ":date_text", t->date_text);
    query_int(q, ":made_first_day", t->made_first_day);
    query_int(q, ":made_last_day", t->made_last_day);
    query_int(q, ":lot_id", t->lot_id);
    query_int(q, ":bin_id", t->bin_id);
    query_text(q, ":history", t->history == NONE ? NULL : tube_history_names[t->history]);
    query_text(q, ":history_word", t->history_word);
    query_text(q, ":outside_mark", t->mark);
    query_text(q, ":note", t->note);
}

/* Unique columns in the words of the field that was given. */
static bool taken(const struct tube *t, struct err *e)
{
    if (store_was_unique(e, "tube.outside_mark"))
        return err_field(e, "mark", ERR_CONFLICT, "another tube bears the mark %s already",
                         t->mark);
    if (store_was_unique(e, "tube.id") || store_was_unique(e, "tube.stock_no"))
        return err_field(e, "stock_no", ERR_CONFLICT, "there is a tube with this number already");
    return false;
}

bool tube_create(int64_t *id, struct store *st, const struct tube *t, struct arena *a,
                 struct err *e)
{
    store_assert_writing(st);
    int64_t payload = t->stock_no == NONE ? next_number(st) : stockno_payload(t->stock_no);
    if (payload > STOCKNO_LAST)
        return err_set(e, ERR_FULL, "all stock numbers are used up");
    struct query *q = query(st, TUBE_CREATE);
    tube_bind(q, t);
    query_int(q, ":id", payload);
    query_int(q, ":stock_no", stockno_make(payload));
    query_int(q, ":lot_line_id", t->lot_line_id);
    query_int(q, ":share_minor", t->share_minor);
    query_int(q, ":created_ms", store_now(st));
    if (!query_run(q, e))
        return taken(t, e);
    *id = payload;
    return journal_append(st, "create", "tube", payload, NULL,
                          journal_image(st, TUBE_IMAGE, payload, a), e);
}

static const char TUBE_CHANGE[] =
    "UPDATE tube SET type_id = coalesce(:type_id, type_id), printed = coalesce(:printed, printed), "
    "maker_id = coalesce(:maker_id, maker_id), "
    "construction_id = coalesce(:construction_id, construction_id), "
    "date_text = coalesce(:date_text, date_text), "
    "made_first_day = coalesce(:made_first_day, made_first_day), "
    "made_last_day = coalesce(:made_last_day, made_last_day), "
    "lot_id = coalesce(:lot_id, lot_id), bin_id = coalesce(:bin_id, bin_id), "
    "history = coalesce(:history, history), history_word = coalesce(:history_word, history_word), "
    "outside_mark = coalesce(:outside_mark, outside_mark), note = coalesce(:note, note), "
    "version = version + 1 WHERE id = :id AND version = :version";

bool tube_change(struct store *st, const struct tube *t, struct arena *a, struct err *e)
{
    store_assert_writing(st);
    const char *before = journal_image(st, TUBE_IMAGE, t->id, a);
    struct query *q = query(st, TUBE_CHANGE);
    tube_bind(q, t);
    query_int(q, ":id", t->id);
    query_int(q, ":version", t->version);
    if (!query_run(q, e))
        return taken(t, e);
    if (store_changes(st) != 1)
        return err_set(e, ERR_CONFLICT,
                       "somebody changed this tube meanwhile: read it again, then change it");
    return journal_append(st, "change", "tube", t->id, before,
                          journal_image(st, TUBE_IMAGE, t->id, a), e);
}

static const char TUBE_STATE[] = "SELECT state FROM tube WHERE id = :id";
static const char TUBE_MOVE[] =
    "UPDATE tube SET state = :state, version = version + 1 WHERE id = :id";

static bool state_of(enum tube_state *out, struct store *st, int64_t id, struct arena *a,
                     struct err *e)
{
    struct query *q = query(st, TUBE_STATE);
    query_int(q, ":id", id);
    int64_t s = name_index(tube_state_names, query_word(q, a));
    if (s == NONE)
        return err_set(e, ERR_NOT_FOUND, "there is no tube %lld", (long long)stockno_make(id));
    *out = (enum tube_state)s;
    return true;
}

bool tube_move(struct store *st, int64_t id, enum tube_state to, struct arena *a, struct err *e)
{
    store_assert_writing(st);
    enum tube_state from;
    if (!state_of(&from, st, id, a, e))
        return false;
    if (from == to)
        return true;
    if (!tube_move_check(from, to, e))
        return err_in(e, "state");
    struct query *q = query(st, TUBE_MOVE);
    query_int(q, ":id", id);
    query_text(q, ":state", tube_state_names[to]);
    if (!query_run(q, e))
        return false;
    return journal_append(st, "move", "tube", id,
                          arena_printf(a, "{\"state\":\"%s\"}", tube_state_names[from]),
                          arena_printf(a, "{\"state\":\"%s\"}", tube_state_names[to]), e);
}

bool tube_advance(struct store *st, int64_t id, enum tube_state to, struct arena *a, struct err *e)
{
    enum tube_state from;
    if (!state_of(&from, st, id, a, e))
        return false;
    /* A tube on its shelf that is read again stays on its shelf. */
    if (from == TUBE_SHELVED || from == TUBE_CHECK_TUBE || !tube_move_legal(from, to))
        return true;
    return tube_move(st, id, to, a, e);
}

static const char RESERVE[] = "INSERT INTO number_block (first, last, bench, user_id, given_ms) "
                              "VALUES (:first, :last, :bench, :user_id, :given_ms)";

bool tube_reserve(int64_t *first, int64_t *last, struct store *st, const char *bench, int64_t count,
                  struct arena *a, struct err *e)
{
    store_assert_writing(st);
    int64_t from = next_number(st);
    struct query *q = query(st, RESERVE);
    query_int(q, ":first", from);
    query_int(q, ":last", from + count - 1);
    query_text(q, ":bench", bench);
    query_int(q, ":user_id", store_user(st));
    query_int(q, ":given_ms", store_now(st));
    if (!query_run(q, e))
        return false;
    *first = from;
    *last = from + count - 1;
    return journal_append(
        st, "create", "number_block", store_last_id(st), NULL,
        arena_printf(a, "{\"first\":%lld,\"last\":%lld}", (long long)*first, (long long)*last), e);
}
