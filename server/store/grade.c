/* SPDX-License-Identifier: MIT
 *
 * grade: rows of grade_scheme and grading.
 *
 * The current scheme is parsed once per connection and edition: parsing takes a millisecond, a save
 * at the bench should not pay for it each time.
 */
#include "store/grade.h"

#include <stdlib.h>
#include <string.h>

#include "base/pen.h"
#include "store/inspection.h"
#include "store/journal.h"
#include "store/point.h"
#include "store/quantity.h"
#include "store/reading.h"
#include "store/store_priv.h"
#include "work/packed.h"

/* ---- the scheme --------------------------------------------------------------------------- */

#define DEFAULT_SCHEME "seed-data/grade/default.csv"

static const char SCHEME_ANY[] = "SELECT count(*) FROM grade_scheme";
static const char SCHEME_CREATE[] =
    "INSERT INTO grade_scheme (code, edition, title, state, rows, origin, created_ms, user_id) "
    "VALUES ('default', 1, 'the house''s first scheme', 'current', :rows, 'bundled', :now_ms, "
    ":user_id)";

bool grade_scheme_refresh(struct store *st, struct arena *a, struct err *e)
{
    store_assert_writing(st);
    struct packed f;
    if (query_number(query(st, SCHEME_ANY)) > 0)
        return true;
    if (!packed_find(&f, DEFAULT_SCHEME))
        return err_set(e, ERR_INTERNAL, "the program was built without " DEFAULT_SCHEME);
    struct query *q = query(st, SCHEME_CREATE);
    query_text(q, ":rows", arena_bytes(a, f.bytes, f.n));
    query_int(q, ":now_ms", store_now(st));
    query_int(q, ":user_id", store_user(st));
    if (!query_run(q, e))
        return false;
    return journal_append(st, "create", "grade_scheme", store_last_id(st), NULL,
                          "{\"code\":\"default\",\"edition\":1}", e);
}

/* The parsed current scheme of a connection. */
struct scheme_cache {
    struct arena *arena;
    struct scheme *scheme;
    int64_t id;
};

static void cache_free(void *p)
{
    struct scheme_cache *c = p;
    arena_free(c->arena);
    free(c);
}

static const char SCHEME_ID[] = "SELECT id FROM grade_scheme WHERE state = 'current'";
static const char SCHEME_ROWS[] = "SELECT rows FROM grade_scheme WHERE id = :id";

/* NULL in *out when there is no current scheme. */
static bool scheme_current(const struct scheme **out, int64_t *id, struct store *st, struct err *e)
{
    struct scheme_cache *c = store_kept(st, STORE_KEEPS_SCHEME);
    *out = NULL;
    *id = query_number(query(st, SCHEME_ID));
    if (*id == NONE)
        return true;
    if (!c || c->id != *id) {
        c = xcalloc(1, sizeof *c);
        c->arena = arena_new();
        c->id = *id;
        struct list quantities;
        quantity_list(&quantities, st, c->arena);
        struct query *q = query(st, SCHEME_ROWS);
        query_int(q, ":id", *id);
        const char *rows = query_word(q, c->arena);
        if (!scheme_parse(&c->scheme, c->arena, rows, strlen(rows), quantities.items,
                          quantities.count, e)) {
            cache_free(c);
            return false;
        }
        store_keep_for_itself(st, STORE_KEEPS_SCHEME, c, cache_free);
    }
    *out = c->scheme;
    return true;
}

bool grade_floor(const char **out, struct store *st, struct arena *a, struct err *e)
{
    const struct scheme *s;
    int64_t id;
    *out = NULL;
    if (!scheme_current(&s, &id, st, e))
        return false;
    const struct scheme_grade *last = s ? &s->grade[s->grade_count - 1] : NULL;
    if (last && last->count == 0)
        *out = arena_text(a, last->code);
    return true;
}

/* ---- what is known of a tube ------------------------------------------------------------- */

struct facts {
    int64_t type_id, sections;
    const char *heating, *class;
};

static const char FACTS[] =
    "SELECT t.type_id, coalesce(y.sections, 1), y.heating, y.class FROM tube t "
    "JOIN type y ON y.id = t.type_id WHERE t.id = :id";

static void facts_load(struct facts *f, struct store *st, int64_t tube_id, struct arena *a)
{
    *f = (struct facts){.sections = 1};
    struct query *q = query(st, FACTS);
    query_int(q, ":id", tube_id);
    if (query_row(q)) {
        f->type_id = query_col_int(q, 0);
        f->sections = query_col_int(q, 1);
        f->heating = query_col_text(q, 2, a);
        f->class = query_col_text(q, 3, a);
    }
    query_end(q);
}

static struct grade_value *find_value(struct grade_value *v, size_t n, const char *quantity,
                                      int section)
{
    for (size_t i = 0; i < n; i++)
        if (v[i].section == section && strcmp(v[i].quantity, quantity) == 0)
            return &v[i];
    return NULL;
}

/* Where a quantity stands at several test points, the latest reading counts. */
static size_t values_from(struct grade_value *out, int64_t *point, const struct list *standing)
{
    const struct standing_row *s = standing->items;
    int64_t taken[GRADE_VALUES];
    size_t n = 0;
    for (size_t i = 0; i < standing->count && n < GRADE_VALUES; i++) {
        struct grade_value *v = find_value(out, n, s[i].quantity, (int)s[i].section);
        if (v && taken[v - out] >= s[i].taken_ms)
            continue;
        if (!v)
            v = &out[n++];
        taken[v - out] = s[i].taken_ms;
        point[v - out] = s[i].test_point_id;
        *v = (struct grade_value){.quantity = s[i].quantity,
                                  .section = (int)s[i].section,
                                  .tested = true,
                                  .decimals = (int)s[i].decimals,
                                  .value = s[i].value,
                                  .own_u = s[i].u_milli,
                                  .calibration_u = s[i].u_cal_milli,
                                  .nominal = NONE,
                                  .low = NONE,
                                  .high = NONE,
                                  .before = NONE,
                                  .before_u = NONE,
                                  .questioned = s[i].questioned == 1};
    }
    return n;
}

/* Nominal values and limits come from the type's own point of the conditions that were read. */
static void limits_from(struct grade_value *v, const int64_t *point, size_t n, struct store *st,
                        int64_t type_id, struct arena *a)
{
    struct test_point p = {.id = NONE};
    int64_t at = NONE;
    for (size_t i = 0; i < n; i++) {
        if (point[i] != at) {
            at = point[i];
            if (!test_point_by_id(&p, st, at, type_id, a, NULL))
                p.figures = (struct list){0};
        }
        const struct point_figure *f = p.figures.items;
        for (size_t j = 0; j < p.figures.count; j++) {
            if (strcmp(f[j].quantity, v[i].quantity) == 0) {
                v[i].nominal = f[j].nominal;
                v[i].low = f[j].low;
                v[i].high = f[j].high;
            }
        }
    }
}

/* A test that is answered by yes or no: the first step of its quantity is clear. */
static enum test_result result_of(struct grade_value *v, size_t n, const char *quantity)
{
    const struct grade_value *t = find_value(v, n, quantity, 0);
    return !t ? TEST_NOT_DONE : t->value == 0 ? TEST_CLEAR : TEST_FOUND;
}

static void tests_from(struct grade_input *in, struct grade_value *v, size_t n,
                       const struct facts *f)
{
    bool gas_filled = f->class && (strstr(f->class, "gas") || strstr(f->class, "mercury"));
    bool indirect = f->heating && strcmp(f->heating, "indirect") == 0;
    in->tests[SCHEME_SHORTS] = result_of(v, n, "shorts");
    in->tests[SCHEME_GAS] = gas_filled ? TEST_NOT_APPLICABLE : result_of(v, n, "gas");
    in->tests[SCHEME_LEAKAGE] =
        f->heating && !indirect ? TEST_NOT_APPLICABLE : result_of(v, n, "leakage");
}

static void input_from(struct grade_input *in, struct store *st, int64_t tube_id, struct arena *a)
{
    struct facts f;
    struct look look;
    struct list standing;
    *in = (struct grade_input){0};
    facts_load(&f, st, tube_id, a);
    if (look_latest(&look, st, tube_id, a))
        in->look = look.seen;
    standing_list(&standing, st, tube_id, a);
    struct grade_value *v = arena_array(a, standing.count, sizeof *v);
    int64_t *point = arena_array(a, standing.count, sizeof *point);
    size_t n = values_from(v, point, &standing);
    limits_from(v, point, n, st, f.type_id, a);
    in->sections = (int)f.sections;
    in->values = v;
    in->value_count = n;
    tests_from(in, v, n, &f);
}

/* ---- gradings ----------------------------------------------------------------------------- */

static const char *report_json(const struct scheme *s, const struct grade_report *r,
                               struct arena *a)
{
    struct pen p;
    pen_init(&p, a, 1000);
    pen_text(&p, "{\"reasons\":[");
    for (size_t i = 0; i < r->reason_count; i++) {
        const struct grade_reason *w = &r->reasons[i];
        pen_text(&p, i ? ",{\"grade\":" : "{\"grade\":");
        pen_quote(&p, s->grade[w->grade].code);
        pen_text(&p, ",\"verdict\":");
        pen_quote(&p, verdict_code(w->verdict));
        pen_text(&p, ",\"subject\":");
        pen_quote(&p, w->subject);
        if (w->ppm != NONE) {
            pen_text(&p, ",\"ppm\":");
            pen_int(&p, w->ppm);
        }
        pen_text(&p, w->borderline ? ",\"borderline\":true,\"text\":" : ",\"text\":");
        pen_quote(&p, w->text);
        pen_text(&p, "}");
    }
    pen_text(&p, "],\"untested\":[");
    for (size_t i = 0; i < r->untested_count; i++) {
        pen_text(&p, i ? "," : "");
        pen_quote(&p, r->untested[i].text);
    }
    pen_text(&p, "]}");
    return pen_done(&p, NULL);
}

static const char GRADING_LAST[] =
    "SELECT g.scheme_id, g.grade, g.reasons FROM tube t JOIN grading g ON g.id = t.grading_id "
    "WHERE t.id = :id";
static const char GRADING_CREATE[] =
    "INSERT INTO grading (tube_id, scheme_id, grade, reasons, borderline, at_ms, user_id) "
    "VALUES (:tube_id, :scheme_id, :grade, :reasons, :borderline, :at_ms, :user_id)";
static const char TUBE_GRADE[] =
    "UPDATE tube SET grade = nullif(:grade, ''), grading_id = :grading_id WHERE id = :id";

static bool unchanged(struct store *st, int64_t tube_id, int64_t scheme_id, const char *grade,
                      const char *reasons, struct arena *a)
{
    struct query *q = query(st, GRADING_LAST);
    query_int(q, ":id", tube_id);
    bool same = query_row(q) && query_col_int(q, 0) == scheme_id &&
                strcmp(query_col_text(q, 1, a), grade) == 0 &&
                strcmp(query_col_text(q, 2, a), reasons) == 0;
    query_end(q);
    return same;
}

static bool grading_create(struct store *st, int64_t tube_id, int64_t scheme_id, const char *grade,
                           const char *reasons, bool borderline, struct arena *a, struct err *e)
{
    struct query *q = query(st, GRADING_CREATE);
    query_int(q, ":tube_id", tube_id);
    query_int(q, ":scheme_id", scheme_id);
    query_text(q, ":grade", grade);
    query_text(q, ":reasons", reasons);
    query_int(q, ":borderline", borderline);
    query_int(q, ":at_ms", store_now(st));
    query_int(q, ":user_id", store_user(st));
    if (!query_run(q, e))
        return false;
    int64_t id = store_last_id(st);
    q = query(st, TUBE_GRADE);
    query_int(q, ":id", tube_id);
    query_text(q, ":grade", grade);
    query_int(q, ":grading_id", id);
    return query_run(q, e) && journal_append(st, "create", "grading", id, NULL,
                                             arena_printf(a, "{\"tube_id\":%lld,\"grade\":\"%s\"}",
                                                          (long long)tube_id, grade),
                                             e);
}

bool grade_refresh(const char **grade, struct store *st, int64_t tube_id, struct arena *a,
                   struct err *e)
{
    store_assert_writing(st);
    const struct scheme *s;
    int64_t scheme_id;
    struct grade_input in;
    *grade = NULL;
    if (!scheme_current(&s, &scheme_id, st, e))
        return false;
    if (!s)
        return true;
    input_from(&in, st, tube_id, a);
    if (!grade_check(s, &in, e))
        return false;
    struct grade_report r = grade_explain(s, &in, a);
    const char *code = r.decision.grade == GRADE_NONE ? "" : s->grade[r.decision.grade].code;
    const char *reasons = report_json(s, &r, a);
    *grade = *code ? arena_text(a, code) : NULL;
    if (unchanged(st, tube_id, scheme_id, code, reasons, a))
        return true;
    return grading_create(st, tube_id, scheme_id, code, reasons, r.decision.borderline, a, e);
}

static const char GRADINGS[] =
    "SELECT g.id, g.tube_id, s.code || ' ' || s.edition, g.grade, g.reasons, g.borderline, "
    "g.at_ms, u.shown FROM grading g JOIN grade_scheme s ON s.id = g.scheme_id "
    "LEFT JOIN user u ON u.id = g.user_id "
    "WHERE g.tube_id = :tube_id ORDER BY g.id DESC LIMIT :limit";

void grading_list(struct list *out, struct store *st, int64_t tube_id, int64_t limit,
                  struct arena *a)
{
    struct grading *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, GRADINGS);
    query_int(q, ":tube_id", tube_id);
    query_int(q, ":limit", limit);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        rows[n++] = (struct grading){.id = query_col_int(q, 0),
                                     .tube_id = query_col_int(q, 1),
                                     .scheme = query_col_text(q, 2, a),
                                     .grade = query_col_text(q, 3, a),
                                     .reasons = query_col_text(q, 4, a),
                                     .borderline = query_col_int(q, 5),
                                     .at_ms = query_col_int(q, 6),
                                     .user = query_col_text(q, 7, a)};
    }
    query_end(q);
    *out = (struct list){rows, n};
}
