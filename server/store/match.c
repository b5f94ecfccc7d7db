/* SPDX-License-Identifier: MIT
 *
 * match: rows of proposal, proposal_set, proposal_member, matched_set and set_member.
 *
 * That no tube is in two live sets is kept by a unique index; accepting looks first only to be able
 * to name the tubes.
 */
#include "store/match.h"

#include "store/journal.h"
#include "store/store_priv.h"

/* ---- proposals ---------------------------------------------------------------------------- */

#define PROPOSAL_COLS "id, asked, summary, state, created_ms, settled_ms, version"

static void proposal_from_row(struct proposal *p, struct query *q, struct arena *a)
{
    *p = (struct proposal){.id = query_col_int(q, 0),
                           .asked = query_col_text(q, 1, a),
                           .summary = query_col_text(q, 2, a),
                           .state = query_col_text(q, 3, a),
                           .created_ms = query_col_int(q, 4),
                           .settled_ms = query_col_int(q, 5),
                           .version = query_col_int(q, 6)};
}

static const char PROPOSAL_GET[] = "SELECT " PROPOSAL_COLS " FROM proposal WHERE id = :id";

bool proposal_load(struct proposal *out, struct store *st, int64_t id, struct arena *a,
                   struct err *e)
{
    struct query *q = query(st, PROPOSAL_GET);
    query_int(q, ":id", id);
    bool found = query_row(q);
    if (found)
        proposal_from_row(out, q, a);
    query_end(q);
    if (!found)
        return err_field(e, "proposal", ERR_NOT_FOUND, "there is no proposal %lld", (long long)id);
    return true;
}

static const char PROPOSALS[] = "SELECT " PROPOSAL_COLS " FROM proposal WHERE id < :before "
                                "ORDER BY id DESC LIMIT :limit";

void proposal_list(struct list *out, struct store *st, int64_t before_id, int64_t limit,
                   struct arena *a)
{
    struct proposal *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, PROPOSALS);
    query_int(q, ":before", before_id == NONE ? INT64_MAX : before_id);
    query_int(q, ":limit", limit);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        proposal_from_row(&rows[n++], q, a);
    }
    query_end(q);
    *out = (struct list){rows, n};
}

static const char PROPOSAL_CREATE[] =
    "INSERT INTO proposal (asked, summary, state, created_ms, user_id) "
    "VALUES (:asked, :summary, 'open', :created_ms, :user_id)";
static const char PROPOSAL_SET_CREATE[] =
    "INSERT INTO proposal_set (proposal_id, set_no, size, family_id, band, spread, cost) "
    "VALUES (:proposal_id, :set_no, :size, :family_id, :band, :spread, :cost)";
static const char PROPOSAL_MEMBER_CREATE[] =
    "INSERT INTO proposal_member (proposal_id, set_no, tube_id, position, snapshot) "
    "VALUES (:proposal_id, :set_no, :tube_id, :position, :snapshot)";

static bool proposal_set_create(struct store *st, int64_t id, const struct matched_set *s,
                                struct err *e)
{
    struct query *q = query(st, PROPOSAL_SET_CREATE);
    query_int(q, ":proposal_id", id);
    query_int(q, ":set_no", s->set_no);
    query_int(q, ":size", s->size);
    query_int(q, ":family_id", s->family_id);
    query_text(q, ":band", s->band);
    query_text(q, ":spread", s->spread);
    query_int(q, ":cost", s->cost);
    if (!query_run(q, e))
        return false;
    const struct set_member *m = s->members.items;
    for (size_t i = 0; i < s->members.count; i++) {
        q = query(st, PROPOSAL_MEMBER_CREATE);
        query_int(q, ":proposal_id", id);
        query_int(q, ":set_no", s->set_no);
        query_int(q, ":tube_id", m[i].tube_id);
        query_int(q, ":position", m[i].position);
        query_text(q, ":snapshot", m[i].snapshot);
        if (!query_run(q, e))
            return false;
    }
    return true;
}

bool proposal_create(int64_t *id, struct store *st, const char *asked, const char *summary,
                     const struct list *sets, struct arena *a, struct err *e)
{
    store_assert_writing(st);
    struct query *q = query(st, PROPOSAL_CREATE);
    query_text(q, ":asked", asked);
    query_text(q, ":summary", summary);
    query_int(q, ":created_ms", store_now(st));
    query_int(q, ":user_id", store_user(st));
    if (!query_run(q, e))
        return false;
    *id = store_last_id(st);
    const struct matched_set *s = sets->items;
    for (size_t i = 0; i < sets->count; i++)
        if (!proposal_set_create(st, *id, &s[i], e))
            return false;
    return journal_append(st, "create", "proposal", *id, NULL,
                          arena_printf(a, "{\"asked\":%s,\"sets\":%zu}", asked, sets->count), e);
}

static const char PROPOSAL_SETTLE[] =
    "UPDATE proposal SET state = :state, settled_ms = :now_ms, version = version + 1 "
    "WHERE id = :id AND state = 'open'";

static bool settle(struct store *st, int64_t id, const char *state, struct arena *a, struct err *e)
{
    struct proposal p;
    if (!proposal_load(&p, st, id, a, e))
        return false;
    struct query *q = query(st, PROPOSAL_SETTLE);
    query_int(q, ":id", id);
    query_text(q, ":state", state);
    query_int(q, ":now_ms", store_now(st));
    if (!query_run(q, e))
        return false;
    if (store_changes(st) != 1)
        return err_set(e, ERR_CONFLICT, "proposal %lld is %s already: match again", (long long)id,
                       p.state);
    return journal_append(st, "settle", "proposal", id, "{\"state\":\"open\"}",
                          arena_printf(a, "{\"state\":\"%s\"}", state), e);
}

bool proposal_drop(struct store *st, int64_t id, struct arena *a, struct err *e)
{
    store_assert_writing(st);
    return settle(st, id, "dropped", a, e);
}

static const char TAKEN[] =
    "SELECT group_concat(stock_no, ', ') FROM (SELECT t.stock_no FROM proposal_member p "
    "JOIN tube t ON t.id = p.tube_id WHERE p.proposal_id = :id AND "
    "(t.state NOT IN ('tested', 'shelved') "
    " OR EXISTS (SELECT 1 FROM set_member m WHERE m.tube_id = t.id AND m.live = 1) "
    " OR EXISTS (SELECT 1 FROM hold h WHERE h.tube_id = t.id AND h.live = 1)) "
    "ORDER BY t.stock_no LIMIT 40)";

static bool free_check(struct store *st, int64_t id, struct arena *a, struct err *e)
{
    struct query *q = query(st, TAKEN);
    query_int(q, ":id", id);
    const char *taken = query_word(q, a);
    if (taken)
        return err_set(e, ERR_CONFLICT,
                       "taken meanwhile, so that nothing was made: %s; match again", taken);
    return true;
}

static const char PROPOSED_SETS[] =
    "SELECT set_no FROM proposal_set WHERE proposal_id = :id ORDER BY set_no";
static const char SET_FROM_PROPOSAL[] =
    "INSERT INTO matched_set (size, family_id, band, spread, cost, proposal_id, made_ms, user_id) "
    "SELECT size, family_id, band, spread, cost, proposal_id, :now_ms, :user_id "
    "FROM proposal_set WHERE proposal_id = :id AND set_no = :set_no";
static const char MEMBERS_FROM_PROPOSAL[] =
    "INSERT INTO set_member (set_id, tube_id, position, snapshot) "
    "SELECT :set_id, tube_id, position, snapshot FROM proposal_member "
    "WHERE proposal_id = :id AND set_no = :set_no";
static const char SET_IMAGE[] =
    "SELECT json_object('size', size, 'family_id', family_id, 'band', band, 'cost', cost, "
    "'proposal_id', proposal_id, 'dissolved_ms', dissolved_ms, 'tubes', "
    "(SELECT json_group_array(tube_id) FROM set_member WHERE set_id = id AND left_ms IS NULL)) "
    "FROM matched_set WHERE id = :id";

static bool set_make(int64_t *set_id, struct store *st, int64_t proposal_id, int64_t set_no,
                     struct arena *a, struct err *e)
{
    struct query *q = query(st, SET_FROM_PROPOSAL);
    query_int(q, ":id", proposal_id);
    query_int(q, ":set_no", set_no);
    query_int(q, ":now_ms", store_now(st));
    query_int(q, ":user_id", store_user(st));
    if (!query_run(q, e))
        return false;
    *set_id = store_last_id(st);
    q = query(st, MEMBERS_FROM_PROPOSAL);
    query_int(q, ":set_id", *set_id);
    query_int(q, ":id", proposal_id);
    query_int(q, ":set_no", set_no);
    return query_run(q, e) && journal_append(st, "create", "matched_set", *set_id, NULL,
                                             journal_image(st, SET_IMAGE, *set_id, a), e);
}

bool proposal_accept(struct list *sets, struct store *st, int64_t id, struct arena *a,
                     struct err *e)
{
    store_assert_writing(st);
    int64_t *no = NULL;
    size_t room = 0, n = 0;
    if (!settle(st, id, "accepted", a, e) || !free_check(st, id, a, e))
        return false;
    struct query *q = query(st, PROPOSED_SETS);
    query_int(q, ":id", id);
    while (query_row(q)) {
        no = store_grow(a, no, &room, n, sizeof *no);
        no[n++] = query_col_int(q, 0);
    }
    query_end(q);
    int64_t *made = arena_array(a, n, sizeof *made);
    for (size_t i = 0; i < n; i++)
        if (!set_make(&made[i], st, id, no[i], a, e))
            return false;
    *sets = (struct list){made, n};
    return true;
}

/* ---- sets --------------------------------------------------------------------------------- */

#define SET_COLS                                                                              \
    "s.id, s.size, s.family_id, f.name, s.band, s.spread, s.cost, s.proposal_id, s.made_ms, " \
    "s.dissolved_ms"

static void set_from_row(struct matched_set *s, struct query *q, struct arena *a)
{
    *s = (struct matched_set){.id = query_col_int(q, 0),
                              .size = query_col_int(q, 1),
                              .family_id = query_col_int(q, 2),
                              .family = query_col_text(q, 3, a),
                              .band = query_col_text(q, 4, a),
                              .spread = query_col_text(q, 5, a),
                              .cost = query_col_int(q, 6),
                              .proposal_id = query_col_int(q, 7),
                              .made_ms = query_col_int(q, 8),
                              .dissolved_ms = query_col_int(q, 9)};
}

static const char MEMBERS[] =
    "SELECT m.tube_id, t.stock_no, m.position, m.snapshot, m.left_ms, b.code, t.grade "
    "FROM set_member m JOIN tube t ON t.id = m.tube_id LEFT JOIN bin b ON b.id = t.bin_id "
    "WHERE m.set_id = :id ORDER BY m.position";

static void members_load(struct matched_set *s, struct store *st, struct arena *a)
{
    struct set_member *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, MEMBERS);
    query_int(q, ":id", s->id);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct set_member){.tube_id = query_col_int(q, 0),
                                        .stock_no = query_col_int(q, 1),
                                        .position = query_col_int(q, 2),
                                        .snapshot = query_col_text(q, 3, a),
                                        .left_ms = query_col_int(q, 4),
                                        .bin = query_col_text(q, 5, a),
                                        .grade = query_col_text(q, 6, a)};
    }
    query_end(q);
    s->members = (struct list){rows, n};
}

static const char SETS_OF_FAMILY[] =
    "SELECT " SET_COLS " FROM matched_set s LEFT JOIN family f ON f.id = s.family_id "
    "WHERE s.family_id = :family_id AND s.id < :before AND (:size IS NULL OR s.size = :size) "
    "AND (:live = 0 OR s.dissolved_ms IS NULL) ORDER BY s.id DESC LIMIT :limit";
static const char SETS_ALL[] =
    "SELECT " SET_COLS " FROM matched_set s LEFT JOIN family f ON f.id = s.family_id "
    "WHERE s.id < :before AND (:size IS NULL OR s.size = :size) "
    "AND (:live = 0 OR s.dissolved_ms IS NULL) ORDER BY s.id DESC LIMIT :limit";

void set_list(struct list *out, struct store *st, int64_t family_id, int64_t size, bool live,
              int64_t before_id, int64_t limit, struct arena *a)
{
    struct matched_set *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, family_id == NONE ? SETS_ALL : SETS_OF_FAMILY);
    if (family_id != NONE)
        query_int(q, ":family_id", family_id);
    query_int(q, ":before", before_id == NONE ? INT64_MAX : before_id);
    query_int(q, ":size", size);
    query_int(q, ":live", live);
    query_int(q, ":limit", limit);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        set_from_row(&rows[n++], q, a);
    }
    query_end(q);
    for (size_t i = 0; i < n; i++)
        members_load(&rows[i], st, a);
    *out = (struct list){rows, n};
}

static const char SET_GET[] = "SELECT " SET_COLS " FROM matched_set s "
                              "LEFT JOIN family f ON f.id = s.family_id WHERE s.id = :id";

bool set_load(struct matched_set *out, struct store *st, int64_t id, struct arena *a, struct err *e)
{
    struct query *q = query(st, SET_GET);
    query_int(q, ":id", id);
    bool found = query_row(q);
    if (found)
        set_from_row(out, q, a);
    query_end(q);
    if (!found)
        return err_field(e, "set", ERR_NOT_FOUND, "there is no set %lld", (long long)id);
    members_load(out, st, a);
    return true;
}

static const char SET_DISSOLVE[] =
    "UPDATE matched_set SET dissolved_ms = :now_ms, version = version + 1 "
    "WHERE id = :id AND dissolved_ms IS NULL";

bool set_dissolve(struct store *st, int64_t id, struct arena *a, struct err *e)
{
    store_assert_writing(st);
    const char *before = journal_image(st, SET_IMAGE, id, a);
    if (!before)
        return err_field(e, "set", ERR_NOT_FOUND, "there is no set %lld", (long long)id);
    struct query *q = query(st, SET_DISSOLVE);
    query_int(q, ":id", id);
    query_int(q, ":now_ms", store_now(st));
    if (!query_run(q, e))
        return false;
    if (store_changes(st) != 1)
        return err_set(e, ERR_CONFLICT, "set %lld is dissolved already", (long long)id);
    return journal_append(st, "change", "matched_set", id, before,
                          journal_image(st, SET_IMAGE, id, a), e);
}
