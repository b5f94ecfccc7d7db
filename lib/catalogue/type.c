/* SPDX-License-Identifier: MIT
 *
 * type: from a line of the table to a struct, by a table of fields.
 */
#include "catalogue/type.h"

#include "base/decimal.h"
#include "designation/decode.h"

#include <stddef.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *const type_columns[TYPE__COLUMNS] = {
    "designation", "system",       "class",     "sections",      "heater_v",    "heater_a",
    "heating",     "base",         "pins",      "top_cap",       "envelope",    "max_va_v",
    "max_pa_w",    "max_vg2_v",    "max_pg2_w", "max_vhk_v",     "va_v",        "vg2_v",
    "vg1_v",       "rk_ohm",       "ia_ma",     "ig2_ma",        "gm_ma_per_v", "mu",
    "rp_kohm",     "load_kohm",    "po_w",      "section2_data", "cyrillic",    "source",
    "how",         "found_fields", "where",     "notes",
};

/* Texts kept as written. */
static const struct {
    enum type_column column;
    size_t offset;
} text_fields[] = {
    {TYPE_DESIGNATION, offsetof(struct type, designation)},
    {TYPE_SYSTEM, offsetof(struct type, system)},
    {TYPE_CLASS, offsetof(struct type, class)},
    {TYPE_BASE, offsetof(struct type, base)},
    {TYPE_ENVELOPE, offsetof(struct type, envelope)},
    {TYPE_SECTION2_DATA, offsetof(struct type, section2)},
    {TYPE_CYRILLIC, offsetof(struct type, cyrillic)},
    {TYPE_NOTES, offsetof(struct type, notes)},
    {TYPE_SOURCE, offsetof(struct type, source)},
    {TYPE_FOUND_FIELDS, offsetof(struct type, found_fields)},
    {TYPE_WHERE, offsetof(struct type, where)},
};

/* Figures: decimals kept, and the span outside which a figure is a slip.  Spans are a house rule,
 * wider than any receiving, audio or small transmitting tube. */
#define NUMBER(column, member, decimals, least, most)                                  \
    {                                                                                  \
        column, offsetof(struct type, member), decimals, INT64_C(least), INT64_C(most) \
    }

static const struct {
    enum type_column column;
    size_t offset;
    int decimals;
    int64_t least, most; /* at the decimals */
} number_fields[] = {
    NUMBER(TYPE_SECTIONS, sections, 0, 1, 4),
    NUMBER(TYPE_HEATER_V, heater_mv, 3, 100, 250000),
    NUMBER(TYPE_HEATER_A, heater_ma, 3, 5, 100000),
    NUMBER(TYPE_MAX_VA_V, max_va_mv, 3, 1000, 50000000),
    NUMBER(TYPE_MAX_PA_W, max_pa_mw, 3, 1, 10000000),
    NUMBER(TYPE_MAX_VG2_V, max_vg2_mv, 3, 1000, 5000000),
    NUMBER(TYPE_MAX_PG2_W, max_pg2_mw, 3, 1, 1000000),
    NUMBER(TYPE_MAX_VHK_V, max_vhk_mv, 3, 1000, 2000000),
    NUMBER(TYPE_VA_V, va_mv, 3, 1000, 50000000),
    NUMBER(TYPE_VG2_V, vg2_mv, 3, 1000, 5000000),
    NUMBER(TYPE_VG1_V, vg1_mv, 3, -1000000, 100000),
    NUMBER(TYPE_RK_OHM, rk_mohm, 3, 1000, 100000000),
    NUMBER(TYPE_IA_MA, ia_ua, 3, 1, 100000000),
    NUMBER(TYPE_IG2_MA, ig2_ua, 3, 1, 10000000),
    NUMBER(TYPE_GM_MA_PER_V, gm_ua_per_v, 3, 1, 1000000),
    NUMBER(TYPE_MU, mu_milli, 3, 100, 10000000),
    NUMBER(TYPE_RP_KOHM, rp_ohm, 3, 1, 100000000),
    NUMBER(TYPE_LOAD_KOHM, load_ohm, 3, 1, 1000000),
    NUMBER(TYPE_PO_W, po_mw, 3, 1, 10000000),
};

static void text_set(struct type *t, size_t offset, const char *text)
{
    memcpy((char *)t + offset, &text, sizeof text);
}

static void number_set(struct type *t, size_t offset, int64_t v)
{
    memcpy((char *)t + offset, &v, sizeof v);
}

struct type type_bare(const char *designation)
{
    struct type t = {.heating = HEATING_UNKNOWN, .top_cap = -1, .how = HOW_MEMORY};
    for (size_t i = 0; i < ARRAY_LEN(text_fields); i++)
        text_set(&t, text_fields[i].offset, "");
    for (size_t i = 0; i < ARRAY_LEN(number_fields); i++)
        number_set(&t, number_fields[i].offset, NONE);
    t.designation = designation;
    return t;
}

bool type_field_found(const struct type *t, enum type_column c)
{
    return t->how == HOW_OWN || (t->found >> c & 1);
}

/* found_fields is a list of column names joined by ";".  A name with a remark behind it
 * ("max_pa_w (original form)", "section2_data:mu") was read in part only and does not count. */
static uint64_t found_bits(const char *list)
{
    uint64_t bits = 0;
    while (*list) {
        size_t n = strcspn(list, ";");
        for (int c = 0; c < TYPE__COLUMNS; c++)
            if (strlen(type_columns[c]) == n && strncmp(type_columns[c], list, n) == 0)
                bits |= UINT64_C(1) << c;
        list += n + (list[n] == ';');
        list += strspn(list, " ");
    }
    return bits;
}

static bool read_numbers(struct type *t, const struct sheet *s, const struct csv_record *r,
                         struct err *e)
{
    for (size_t i = 0; i < ARRAY_LEN(number_fields); i++) {
        int64_t v;
        if (!sheet_number(&v, s, r, (int)number_fields[i].column, number_fields[i].decimals,
                          number_fields[i].least, number_fields[i].most, e))
            return false;
        number_set(t, number_fields[i].offset, v);
    }
    return true;
}

static bool read_words(struct type *t, const struct sheet *s, const struct csv_record *r,
                       struct err *e)
{
    static const char *const heating[] = {"indirect", "direct", "cold"};
    static const char *const no_yes[] = {"no", "yes"};
    int at_heating, how;
    if (!sheet_word(&at_heating, s, r, TYPE_HEATING, heating, ARRAY_LEN(heating), true, e) ||
        !sheet_word(&t->top_cap, s, r, TYPE_TOP_CAP, no_yes, ARRAY_LEN(no_yes), true, e) ||
        !sheet_word(&how, s, r, TYPE_HOW, how_words, HOW__COUNT, true, e))
        return false;
    t->heating = (enum type_heating)at_heating;
    t->how = how < 0 ? HOW_OWN : (enum how)how;
    return true;
}

static bool read_pins(struct type *t, const struct sheet *s, const struct csv_record *r,
                      struct arena *a, struct err *e)
{
    t->known = base_find(t->base);
    if (pinout_parse(&t->pins, sheet_text(s, r, TYPE_PINS, a), t->known, e))
        return true;
    if (e)
        e->line = r->line;
    return err_in(e, type_columns[TYPE_PINS]);
}

static bool check_name(const struct type *t, const struct csv_record *r, struct err *e)
{
    if (designation_check(t->designation, e))
        return true;
    if (e)
        e->line = r->line;
    return err_in(e, type_columns[TYPE_DESIGNATION]);
}

static bool check_whole(const struct type *t, const struct csv_record *r, struct err *e)
{
    bool heater = t->heater_mv != NONE || t->heater_ma != NONE;
    bool listed = t->pins.count && pinout_pin(&t->pins, PIN_TOP_CAP);
    if (e)
        e->line = r->line;
    if (t->heating == HEATING_COLD && heater)
        return err_field(e, "heating", ERR_INVALID,
                         "%s is \"cold\" but has heater volts or amps; one of the two is wrong",
                         t->designation);
    if (listed && t->top_cap == 0)
        return err_field(e, "top_cap", ERR_INVALID,
                         "%s lists an electrode on the top cap (tc), but top_cap is \"no\"",
                         t->designation);
    return true;
}

bool type_read(struct type *out, const struct sheet *s, const struct csv_record *r, struct arena *a,
               struct err *e)
{
    struct type t = type_bare("");
    if (!sheet_check(s, r, e))
        return false;
    for (size_t i = 0; i < ARRAY_LEN(text_fields); i++)
        text_set(&t, text_fields[i].offset, sheet_text(s, r, (int)text_fields[i].column, a));
    if (!check_name(&t, r, e) || !read_words(&t, s, r, e) || !read_numbers(&t, s, r, e) ||
        !read_pins(&t, s, r, a, e) || !check_whole(&t, r, e))
        return false;
    t.found = found_bits(t.found_fields);
    *out = t;
    return true;
}

bool type_has_screen(const struct type *t)
{
    if (t->pins.count)
        return pinout_has(&t->pins, ELECTRODE_G2);
    return strstr(t->class, "pentode") || strstr(t->class, "tetrode");
}

bool type_amplifies(const struct type *t)
{
    if (pinout_has(&t->pins, ELECTRODE_T)) /* an indicator's triode is not measured for gm */
        return false;
    return strstr(t->class, "triode") || strstr(t->class, "pentode") || strstr(t->class, "tetrode");
}

/* ---- contradictions ------------------------------------------------------------------------- */

struct doubts {
    struct type_doubt *out;
    size_t room, count;
};

static void doubt(struct doubts *d, const char *check, const char *fmt, ...) PRINTF_LIKE(3, 4);

static void doubt(struct doubts *d, const char *check, const char *fmt, ...)
{
    if (d->count < d->room) {
        struct type_doubt *out = &d->out[d->count];
        va_list ap;
        va_start(ap, fmt);
        vsnprintf(out->text, sizeof out->text, fmt, ap);
        va_end(ap);
        out->check = check;
    }
    d->count++;
}

/* mu and gm * rp within 10 percent: published figures are rounded to two places. */
static void doubt_mu(struct doubts *d, const struct type *t)
{
    if (t->mu_milli == NONE || t->gm_ua_per_v == NONE || t->rp_ohm == NONE)
        return;
    int64_t product = t->gm_ua_per_v * t->rp_ohm / 1000; /* uA/V * ohm = 1e-6; in thousandths */
    int64_t apart = llabs(product - t->mu_milli);
    if (apart * 10 > t->mu_milli)
        doubt(d, "mu", "mu is %lld.%03lld, gm times rp gives %lld.%03lld",
              (long long)(t->mu_milli / 1000), (long long)(t->mu_milli % 1000),
              (long long)(product / 1000), (long long)(product % 1000));
}

/* Anode volts less the drop in the cathode resistor, where the bias comes from one. */
static int64_t anode_to_cathode_mv(const struct type *t)
{
    int64_t va = t->va_mv;
    if (t->rk_mohm != NONE && t->vg1_mv == NONE) {
        int64_t ik_ua = t->ia_ua + (t->ig2_ua == NONE ? 0 : t->ig2_ua);
        va -= t->rk_mohm / 1000 * ik_ua / 1000;
    }
    return va;
}

static void doubt_power(struct doubts *d, const struct type *t)
{
    if (t->va_mv != NONE && t->ia_ua != NONE && t->max_pa_mw != NONE) {
        int64_t pa_mw = anode_to_cathode_mv(t) * t->ia_ua / 1000000;
        if (pa_mw * 100 > t->max_pa_mw * 102)
            doubt(d, "dissipation", "%lld mW at the operating point against a limit of %lld mW",
                  (long long)pa_mw, (long long)t->max_pa_mw);
    }
    if (t->vg2_mv != NONE && t->ig2_ua != NONE && t->max_pg2_mw != NONE) {
        int64_t pg2_mw = t->vg2_mv * t->ig2_ua / 1000000;
        if (pg2_mw * 100 > t->max_pg2_mw * 102)
            doubt(d, "screen", "%lld mW on the screen at the operating point against %lld mW",
                  (long long)pg2_mw, (long long)t->max_pg2_mw);
    }
}

static void doubt_volts(struct doubts *d, const struct type *t)
{
    if (t->va_mv != NONE && t->max_va_mv != NONE && anode_to_cathode_mv(t) > t->max_va_mv)
        doubt(d, "limit", "works at %lld V, the limit is %lld V", (long long)(t->va_mv / 1000),
              (long long)(t->max_va_mv / 1000));
    if (t->vg2_mv != NONE && t->max_vg2_mv != NONE && t->vg2_mv > t->max_vg2_mv)
        doubt(d, "limit", "screen at %lld V, the limit is %lld V", (long long)(t->vg2_mv / 1000),
              (long long)(t->max_vg2_mv / 1000));
}

static void need_electrode(struct doubts *d, const struct type *t, bool needed, enum electrode el)
{
    if (needed && !pinout_has(&t->pins, el))
        doubt(d, "pins", "a %s has %s, but no pin carries it", t->class, electrode_name(el));
}

static void doubt_pins(struct doubts *d, const struct type *t)
{
    if (!t->pins.count)
        return;
    bool triode = strstr(t->class, "triode") != NULL;
    bool screen = strstr(t->class, "pentode") || strstr(t->class, "tetrode");
    need_electrode(d, t, triode || screen, ELECTRODE_A);
    need_electrode(d, t, triode || screen, ELECTRODE_G1);
    need_electrode(d, t, screen, ELECTRODE_G2);
    need_electrode(d, t, t->heating == HEATING_INDIRECT, ELECTRODE_H);
    need_electrode(d, t, t->heating == HEATING_INDIRECT, ELECTRODE_K);
    need_electrode(d, t, t->heating == HEATING_DIRECT, ELECTRODE_F);
    if (t->top_cap == 1 && !pinout_pin(&t->pins, PIN_TOP_CAP))
        doubt(d, "pins", "has a top cap, but no electrode is listed on it (tc)");
}

/* What the name says of the heater.  Figures are rounded to a whole volt, so half a volt and a
 * little is allowed; series currents are exact to 5 percent. */
static void doubt_heater(struct doubts *d, const struct type *t)
{
    static const struct {
        const char *word;
        enum designation_system system;
    } systems[] = {{"RETMA", SYSTEM_US_RECEIVING},
                   {"European", SYSTEM_EUROPEAN},
                   {"GOST", SYSTEM_GOST},
                   {"Chinese", SYSTEM_CHINESE}};
    struct decoding all;
    char says[DECIMAL_BYTES];
    const struct decoded *name = NULL;
    if (!decode_text(&all, t->designation, NULL))
        return;
    for (size_t i = 0; i < ARRAY_LEN(systems); i++)
        if (strcmp(systems[i].word, t->system) == 0)
            name = decoding_in(&all, systems[i].system);
    if (!name)
        return;
    /* of a tapped heater the European letter names one half, the US figure both in series */
    bool half = name->system == SYSTEM_EUROPEAN && pinout_has(&t->pins, ELECTRODE_HCT);
    int64_t row_mv = half ? t->heater_mv / 2 : t->heater_mv;
    if (name->heater_mv != NONE && t->heater_mv != NONE && llabs(name->heater_mv - row_mv) > 700)
        doubt(d, "heater", "the name says %s, the row %s V", name->heater,
              decimal_print(says, t->heater_mv, 3));
    if (name->heater_ma != NONE && t->heater_ma != NONE &&
        llabs(name->heater_ma - t->heater_ma) * 20 > name->heater_ma)
        doubt(d, "heater", "the name says %s, the row %s A", name->heater,
              decimal_print(says, t->heater_ma, 3));
    if (strcmp(name->heater, "none") == 0 && t->heater_mv != NONE)
        doubt(d, "heater", "the name says no heater, the row %s V",
              decimal_print(says, t->heater_mv, 3));
}

size_t type_doubts(struct type_doubt *out, size_t room, const struct type *t)
{
    struct doubts d = {out, room, 0};
    doubt_heater(&d, t);
    doubt_mu(&d, t);
    doubt_power(&d, t);
    doubt_volts(&d, t);
    doubt_pins(&d, t);
    return d.count;
}
