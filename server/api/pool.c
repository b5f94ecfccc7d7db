/* SPDX-License-Identifier: MIT
 *
 * pool: the stock of a family is written out as the very table that `quadrille match` reads from a
 * file (match/sheet), so that there is one way from values to a problem.  Ids are stock numbers of
 * one width, so that their order by bytes is the order of the pool.
 */
#include "api/pool.h"

#include <stdio.h>
#include <string.h>

#include "base/pen.h"
#include "match/band.h"
#include "match/sheet.h"

#define POOL_HEAD 6 /* id and the columns that may have to be equal */

static const char *const HEAD[POOL_HEAD] = {"id",           "printed", "maker",
                                            "construction", "grade",   "lot"};

/* The quantities that a bare "5%" means, where the pool has them. */
static const char *const USUAL[] = {"anode", "emission", "gm", "ia"};

struct heading {
    const char **name; /* POOL_HEAD + columns */
    size_t *column;    /* index into the pool's columns */
    size_t columns;
};

static const char *column_name(const struct pool_column *c, struct arena *a)
{
    return c->pin ? arena_printf(a, "%s.%lld", c->quantity, (long long)c->pin) : c->quantity;
}

static size_t filled(const struct stock_pool *pool, size_t column)
{
    const struct pool_tube *t = pool->tubes.items;
    size_t n = 0;
    for (size_t i = 0; i < pool->tubes.count; i++)
        n += t[i].value[column] != NONE;
    return n;
}

/* A pin that only a few tubes were read at (pins not known, a slip of the section) is no
 * coordinate: it would leave out all the others. */
static bool is_common(const struct stock_pool *pool, size_t column)
{
    const struct pool_column *c = pool->columns.items;
    size_t most = 0;
    for (size_t i = 0; i < pool->columns.count; i++)
        if (strcmp(c[i].quantity, c[column].quantity) == 0 && filled(pool, i) > most)
            most = filled(pool, i);
    return 2 * filled(pool, column) >= most;
}

static bool is_usual(const char *quantity)
{
    for (size_t i = 0; i < ARRAY_LEN(USUAL); i++)
        if (strcmp(USUAL[i], quantity) == 0)
            return true;
    return false;
}

/* "5%" -> "gm=5%,ia=5%", by what the pool has; named bands are taken as they are. */
static bool bands_by_name(const char **out, const struct stock_pool *pool, const char *bands,
                          struct arena *a, struct err *e)
{
    struct band_list list;
    if (!band_list_parse(&list, bands, a, e))
        return err_in(e, "band");
    *out = bands;
    if (list.count != 1 || *list.band[0].column)
        return true;
    const struct pool_column *c = pool->columns.items;
    const char *named = NULL, *last = "";
    for (size_t i = 0; i < pool->columns.count; i++) {
        if (!is_usual(c[i].quantity) || strcmp(last, c[i].quantity) == 0)
            continue;
        last = c[i].quantity;
        named = named ? arena_printf(a, "%s,%s=%s", named, last, bands)
                      : arena_printf(a, "%s=%s", last, bands);
    }
    if (!named)
        return err_field(e, "band", ERR_INVALID,
                         "say which quantities: none of plate current, transconductance, emission "
                         "or anode current was read of these tubes; write for example vg1=abs:0.5");
    *out = named;
    return true;
}

static bool is_named(const struct band_list *list, const struct pool_column *c, struct arena *a)
{
    const char *name = column_name(c, a);
    for (int i = 0; i < list->count; i++)
        if (strcmp(list->band[i].column, c->quantity) == 0 ||
            strcmp(list->band[i].column, name) == 0)
            return true;
    return false;
}

static bool heading_make(struct heading *h, const struct stock_pool *pool, const char *bands,
                         struct arena *a, struct err *e)
{
    struct band_list list;
    const struct pool_column *c = pool->columns.items;
    if (!band_list_parse(&list, bands, a, e))
        return err_in(e, "band");
    h->name = arena_array(a, POOL_HEAD + pool->columns.count, sizeof *h->name);
    h->column = arena_array(a, pool->columns.count, sizeof *h->column);
    h->columns = 0;
    for (int i = 0; i < POOL_HEAD; i++)
        h->name[i] = HEAD[i];
    for (size_t i = 0; i < pool->columns.count; i++) {
        if (!is_named(&list, &c[i], a) || !is_common(pool, i))
            continue;
        h->name[POOL_HEAD + h->columns] = column_name(&c[i], a);
        h->column[h->columns++] = i;
    }
    return true;
}

static const char *known(const char *text)
{
    return text ? text : "";
}

/* One line of the table; false when the tube lacks a coordinate. */
static bool line_make(const char **field, const struct stock_pool *pool, const struct heading *h,
                      const struct pool_tube *t, struct arena *a)
{
    const struct pool_column *c = pool->columns.items;
    char text[DECIMAL_BYTES];
    field[0] = arena_printf(a, "%012lld", (long long)t->stock_no);
    field[1] = known(t->printed);
    field[2] = known(t->maker);
    field[3] = known(t->construction);
    field[4] = known(t->grade);
    field[5] = known(t->lot);
    for (size_t i = 0; i < h->columns; i++) {
        int64_t v = t->value[h->column[i]];
        if (v == NONE)
            return false;
        field[POOL_HEAD + i] = arena_text(a, decimal_print(text, v, (int)c[h->column[i]].decimals));
    }
    return true;
}

static bool lines_add(struct sheet *s, int *tube, int *left_out, const struct stock_pool *pool,
                      const struct heading *h, struct arena *a, struct err *e)
{
    const struct pool_tube *t = pool->tubes.items;
    const char **field = arena_array(a, POOL_HEAD + h->columns, sizeof *field);
    int n = 0;
    *left_out = 0;
    for (size_t i = 0; i < pool->tubes.count; i++) {
        if (!line_make(field, pool, h, &t[i], a)) {
            ++*left_out;
            continue;
        }
        if (!sheet_add(s, (int64_t)i + 1, field, POOL_HEAD + h->columns, e))
            return false;
        tube[n++] = (int)i;
    }
    return true;
}

bool pool_problem(struct pool_problem *out, const struct stock_pool *pool, const char *bands,
                  const char *same, const struct match_line *demand, int lines, struct arena *a,
                  struct err *e)
{
    struct heading h = {0};
    struct sheet *s = NULL;
    const char *named = bands;
    if (!bands_by_name(&named, pool, bands, a, e) || !heading_make(&h, pool, named, a, e) ||
        !sheet_new(&s, h.name, POOL_HEAD + h.columns, e))
        return false;
    int *tube = arena_array(a, pool->tubes.count, sizeof *tube);
    bool good = sheet_choose(s, named, strcmp(same, "none") == 0 ? "" : same, e) &&
                lines_add(s, tube, &out->left_out, pool, &h, a, e) &&
                sheet_problem(s, demand, lines, a, &out->problem, e);
    sheet_free(s);
    out->tube = tube;
    out->column = out->problem.column;
    return good;
}

const char *pool_snapshot(const struct stock_pool *pool, const struct pool_tube *t, struct arena *a)
{
    const struct pool_column *c = pool->columns.items;
    char text[DECIMAL_BYTES];
    struct pen p;
    bool first = true;
    pen_init(&p, a, 200);
    pen_char(&p, '{');
    for (size_t i = 0; i < pool->columns.count; i++) {
        if (t->value[i] == NONE)
            continue;
        pen_text(&p, first ? "" : ",");
        first = false;
        pen_quote(&p, column_name(&c[i], a));
        pen_char(&p, ':');
        pen_quote(&p, decimal_print(text, t->value[i], (int)c[i].decimals));
    }
    pen_char(&p, '}');
    return pen_done(&p, NULL);
}

/* Hundredths of a percent, rounded up, so that a spread is never shown as smaller than it is. */
static int64_t share_of(int64_t low, int64_t high)
{
    int64_t v;
    if (low <= 0 || !wide_mul_div(&v, high - low, 10000, low, NULL))
        return NONE;
    return v + (wide_compare(v, low, high - low, 10000) < 0);
}

const char *pool_spread(const struct pool_problem *pp, const int *member, int size, int64_t *worst,
                        struct arena *a)
{
    const struct match_problem *m = &pp->problem;
    char text[DECIMAL_BYTES];
    struct pen p;
    int64_t most = 0;
    pen_init(&p, a, 200);
    pen_char(&p, '{');
    for (int j = 0; j < m->coordinates; j++) {
        int64_t low = INT64_MAX, high = INT64_MIN;
        for (int i = 0; i < size; i++) {
            int64_t v = m->value[(int64_t)member[i] * m->coordinates + j];
            low = v < low ? v : low;
            high = v > high ? v : high;
        }
        int64_t cost = match_band_cost(&m->band[j], low, high) / (MATCH_COST_UNIT / 1000);
        most = cost > most ? cost : most;
        pen_text(&p, j ? "," : "");
        pen_quote(&p, m->column[j]);
        pen_char(&p, ':');
        if (m->band[j].kind == MATCH_RELATIVE && share_of(low, high) != NONE)
            pen_quote(&p, arena_printf(a, "%s%%", decimal_print(text, share_of(low, high), 2)));
        else
            pen_quote(&p, decimal_print(text, high - low, m->decimals[j]));
    }
    pen_char(&p, '}');
    if (worst)
        *worst = most;
    return pen_done(&p, NULL);
}
