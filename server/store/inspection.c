/* SPDX-License-Identifier: MIT
 *
 * inspection: rows of inspection and inspection_finding.
 */
#include "store/inspection.h"

#include <string.h>

#include "store/journal.h"
#include "store/store_priv.h"
#include "store/tube.h"

static const char FINDINGS[] =
    "SELECT aspect, finding FROM inspection_finding WHERE inspection_id = :id";

static void findings_load(struct inspection *out, struct store *st, int64_t id, struct arena *a)
{
    struct query *q = query(st, FINDINGS);
    query_int(q, ":id", id);
    while (query_row(q)) {
        const char *aspect = query_col_text(q, 0, a), *finding = query_col_text(q, 1, a);
        enum aspect as;
        enum finding f;
        /* A code that a later edition of the vocabulary dropped is left out, not guessed. */
        if (inspection_aspect_find(&as, aspect, strlen(aspect), NULL) &&
            inspection_finding_find(&f, as, finding, strlen(finding), NULL))
            out->seen[f] = true;
    }
    query_end(q);
}

static const char LOOKS[] = "SELECT i.id, i.tube_id, i.at_ms, u.shown, i.note FROM inspection i "
                            "LEFT JOIN user u ON u.id = i.user_id "
                            "WHERE i.tube_id = :tube_id ORDER BY i.id DESC LIMIT :limit";

void look_list(struct list *out, struct store *st, int64_t tube_id, int64_t limit, struct arena *a)
{
    struct look *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, LOOKS);
    query_int(q, ":tube_id", tube_id);
    query_int(q, ":limit", limit);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct look){.id = query_col_int(q, 0),
                                  .tube_id = query_col_int(q, 1),
                                  .at_ms = query_col_int(q, 2),
                                  .user = query_col_text(q, 3, a),
                                  .note = query_col_text(q, 4, a)};
    }
    query_end(q);
    for (size_t i = 0; i < n; i++)
        findings_load(&rows[i].seen, st, rows[i].id, a);
    *out = (struct list){rows, n};
}

bool look_latest(struct look *out, struct store *st, int64_t tube_id, struct arena *a)
{
    struct list one;
    look_list(&one, st, tube_id, 1, a);
    if (!one.count)
        return false;
    *out = *(struct look *)one.items;
    return true;
}

static const char LOOK_CREATE[] = "INSERT INTO inspection (tube_id, at_ms, user_id, note) "
                                  "VALUES (:tube_id, :at_ms, :user_id, :note)";
static const char FINDING_CREATE[] =
    "INSERT INTO inspection_finding (inspection_id, aspect, finding) "
    "VALUES (:id, :aspect, :finding)";

static bool findings_create(struct store *st, int64_t id, const struct inspection *seen,
                            struct err *e)
{
    for (int f = 0; f < FINDING__COUNT; f++) {
        if (!seen->seen[f])
            continue;
        const struct inspection_finding *row = inspection_finding((enum finding)f);
        struct query *q = query(st, FINDING_CREATE);
        query_int(q, ":id", id);
        query_text(q, ":aspect", inspection_aspect(row->aspect)->code);
        query_text(q, ":finding", row->code);
        if (!query_run(q, e))
            return false;
    }
    return true;
}

bool look_create(int64_t *id, struct store *st, const struct look *l, struct arena *a,
                 struct err *e)
{
    store_assert_writing(st);
    if (!inspection_check(&l->seen, e))
        return false;
    struct query *q = query(st, LOOK_CREATE);
    query_int(q, ":tube_id", l->tube_id);
    query_int(q, ":at_ms", l->at_ms == NONE ? store_now(st) : l->at_ms);
    query_int(q, ":user_id", store_user(st));
    query_text(q, ":note", l->note);
    if (!query_run(q, e))
        return false;
    *id = store_last_id(st);
    const char *codes = inspection_print_all(a, &l->seen);
    return findings_create(st, *id, &l->seen, e) &&
           journal_append(st, "create", "inspection", *id, NULL,
                          arena_printf(a, "{\"tube_id\":%lld,\"findings\":\"%s\"}",
                                       (long long)l->tube_id, codes),
                          e) &&
           tube_advance(st, l->tube_id, TUBE_INSPECTED, a, e);
}
