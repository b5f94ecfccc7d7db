/* SPDX-License-Identifier: MIT
 *
 * point: lines of the tables of test points and of their values.
 */
#include "catalogue/point.h"

#include "base/text.h"

#include <string.h>

const char *const held_words[HELD__COUNT] = {"grid", "current", "cathode", "none"};

const char *const point_columns[POINT__COLUMNS] = {
    "designation", "code",   "title", "held",     "section", "va_v", "vg2_v",
    "vg1_v",       "rk_ohm", "ia_ma", "heater_v", "source",  "how",  "where",
};
const char *const point_value_columns[POINT_VALUE__COLUMNS] = {
    "designation", "code", "quantity", "unit", "nominal", "low", "high", "source", "how", "where",
};

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

static bool read_figures(struct point *p, const struct sheet *s, const struct csv_record *r,
                         struct err *e)
{
    return sheet_number(&p->va_mv, s, r, POINT_VA_V, 3, 1, INT64_C(50000000), e) &&
           sheet_number(&p->vg2_mv, s, r, POINT_VG2_V, 3, 1, INT64_C(5000000), e) &&
           sheet_number(&p->vg1_mv, s, r, POINT_VG1_V, 3, INT64_C(-1000000), 100000, e) &&
           sheet_number(&p->rk_mohm, s, r, POINT_RK_OHM, 3, 1, INT64_C(100000000), e) &&
           sheet_number(&p->ia_ua, s, r, POINT_IA_MA, 3, 1, INT64_C(100000000), e) &&
           sheet_number(&p->heater_mv, s, r, POINT_HEATER_V, 3, 1, 250000, e);
}

/* What is held needs its figure, and only its figure. */
static bool check_held(const struct point *p, const struct csv_record *r, struct err *e)
{
    const struct {
        enum point_held held;
        int64_t figure;
        enum point_column column;
    } rows[] = {{HELD_GRID, p->vg1_mv, POINT_VG1_V},
                {HELD_CURRENT, p->ia_ua, POINT_IA_MA},
                {HELD_CATHODE, p->rk_mohm, POINT_RK_OHM}};
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        bool held = p->held == rows[i].held;
        if (held == (rows[i].figure != NONE))
            continue;
        if (held)
            err_set(e, ERR_INVALID, "%s, point %s: \"%s\" is held, so %s must be given",
                    p->designation, p->code, held_words[p->held], point_columns[rows[i].column]);
        else
            err_set(
                e, ERR_INVALID,
                "%s, point %s: \"%s\" is held, so %s must stay empty; make a second point of it",
                p->designation, p->code, held_words[p->held], point_columns[rows[i].column]);
        return refuse(e, r, point_columns[rows[i].column]);
    }
    return true;
}

static bool check_code(const char *code, const struct csv_record *r, struct err *e)
{
    size_t n = strspn(code, "abcdefghijklmnopqrstuvwxyz0123456789-");
    char show[TEXT_SHOW_BYTES];
    if (n > 0 && !code[n] && n < QUANTITY_CODE_BYTES)
        return true;
    err_set(e, ERR_INVALID,
            "the code of a test point holds small letters, figures and dashes, at most %d; \"%s\" "
            "does not",
            QUANTITY_CODE_BYTES - 1, text_show(show, code, strlen(code)));
    return refuse(e, r, point_columns[POINT_CODE]);
}

bool point_read(struct point *out, const struct sheet *s, const struct csv_record *r,
                struct arena *a, struct err *e)
{
    struct point p = {0};
    int held;
    if (!sheet_check(s, r, e))
        return false;
    p.designation = sheet_text(s, r, POINT_DESIGNATION, a);
    p.code = sheet_text(s, r, POINT_CODE, a);
    p.title = sheet_text(s, r, POINT_TITLE, a);
    p.section = sheet_text(s, r, POINT_SECTION, a);
    p.source = sheet_text(s, r, POINT_SOURCE, a);
    p.where = sheet_text(s, r, POINT_WHERE, a);
    if (!check_code(p.code, r, e) ||
        !sheet_word(&held, s, r, POINT_HELD, held_words, HELD__COUNT, false, e) ||
        !read_how(&p.how, s, r, POINT_HOW, e) || !read_figures(&p, s, r, e))
        return false;
    p.held = (enum point_held)held;
    if (!check_held(&p, r, e))
        return false;
    *out = p;
    return true;
}

static bool read_value(int64_t *out, const struct quantity *q, const char *text, const char *unit,
                       const struct csv_record *r, const char *column, struct err *e)
{
    struct quantity_value v;
    *out = NONE;
    if (!*text)
        return true;
    if (!quantity_value_parse(&v, q, text, strlen(text), unit, e))
        return refuse(e, r, column);
    *out = v.scaled;
    return true;
}

static bool check_value(const struct point_value *v, const struct csv_record *r, struct err *e)
{
    if (v->nominal == NONE && v->low == NONE && v->high == NONE) {
        err_set(e, ERR_INVALID, "%s, point %s: %s needs a nominal value or a limit", v->designation,
                v->code, v->quantity);
        return refuse(e, r, "nominal");
    }
    if (v->low != NONE && v->high != NONE && v->low > v->high) {
        err_set(e, ERR_INVALID, "%s, point %s: the low limit of %s lies above the high one",
                v->designation, v->code, v->quantity);
        return refuse(e, r, "low");
    }
    return true;
}

bool point_value_read(struct point_value *out, const struct sheet *s, const struct csv_record *r,
                      struct arena *a, struct err *e)
{
    struct point_value v = {0};
    if (!sheet_check(s, r, e))
        return false;
    v.designation = sheet_text(s, r, POINT_VALUE_DESIGNATION, a);
    v.code = sheet_text(s, r, POINT_VALUE_CODE, a);
    v.quantity = sheet_text(s, r, POINT_VALUE_QUANTITY, a);
    v.source = sheet_text(s, r, POINT_VALUE_SOURCE, a);
    v.where = sheet_text(s, r, POINT_VALUE_WHERE, a);
    const struct quantity *q = quantity_find(v.quantity);
    const char *unit = sheet_text(s, r, POINT_VALUE_UNIT, a);
    if (!q) {
        err_set(e, ERR_INVALID,
                "quantity \"%.40s\" is not known; known are ia, gm, mu, rp, ig2 ...", v.quantity);
        return refuse(e, r, "quantity");
    }
    if (!read_how(&v.how, s, r, POINT_VALUE_HOW, e) ||
        !read_value(&v.nominal, q, sheet_text(s, r, POINT_VALUE_NOMINAL, a), unit, r, "nominal",
                    e) ||
        !read_value(&v.low, q, sheet_text(s, r, POINT_VALUE_LOW, a), unit, r, "low", e) ||
        !read_value(&v.high, q, sheet_text(s, r, POINT_VALUE_HIGH, a), unit, r, "high", e) ||
        !check_value(&v, r, e))
        return false;
    *out = v;
    return true;
}

bool point_agrees(const struct point *p, const struct type *t, struct err *e)
{
    if (strcmp(p->section, "t") == 0 && *t->section2)
        return true; /* the second system's figures are kept as text */
    if (p->va_mv != t->va_mv || p->vg2_mv != t->vg2_mv || p->heater_mv != t->heater_mv ||
        (p->held == HELD_GRID && p->vg1_mv != t->vg1_mv) ||
        (p->held == HELD_CATHODE && p->rk_mohm != t->rk_mohm))
        return err_set(e, ERR_CONFLICT,
                       "%s, point %s: the volts or the bias are not those of the type's own "
                       "published point",
                       p->designation, p->code);
    return true;
}
