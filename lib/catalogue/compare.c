/* SPDX-License-Identifier: MIT
 *
 * compare: a table of figures, each with the rule that judges it, and a few rules of their own for
 * what is not a figure.
 */
#include "catalogue/compare.h"

#include "base/decimal.h"

#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *const compare_levels[COMPARE__LEVELS] = {"stop", "change", "unknown", "remark"};
const char *const compare_aspects[ASPECT__COUNT] = {
    "kind", "heater", "base", "pins", "cap", "rating", "characteristic", "envelope",
};

struct work {
    struct comparison *out;
    const struct type *old, *new;
};

static void add(struct work *w, enum compare_level level, enum compare_aspect aspect, bool memory,
                const char *fmt, ...) PRINTF_LIKE(5, 6);

static void add(struct work *w, enum compare_level level, enum compare_aspect aspect, bool memory,
                const char *fmt, ...)
{
    struct comparison *c = w->out;
    va_list ap;
    c->levels[level]++;
    if (c->count == COMPARE_DIFFERENCES)
        return;
    struct difference *d = &c->difference[c->count++];
    d->level = level;
    d->aspect = aspect;
    d->memory = memory;
    va_start(ap, fmt);
    vsnprintf(d->text, sizeof d->text, fmt, ap);
    va_end(ap);
}

/* Does the field rest on memory on either side? */
static bool remembered(const struct work *w, enum type_column c)
{
    return !type_field_found(w->old, c) || !type_field_found(w->new, c);
}

/* a and b more than `percent` of the larger magnitude apart. */
static bool apart(int64_t a, int64_t b, int percent)
{
    int64_t larger = llabs(a) > llabs(b) ? llabs(a) : llabs(b);
    return llabs(a - b) * 100 > larger * percent;
}

/* A figure in thousandths without idle zeros: 6300 -> "6.3", 250000 -> "250". */
static const char *figure(char *buf, int64_t v, int decimals)
{
    decimal_print(buf, v, decimals);
    char *end = buf + strlen(buf);
    while (strchr(buf, '.') && (end[-1] == '0' || end[-1] == '.')) {
        bool point = end[-1] == '.';
        *--end = 0;
        if (point)
            break;
    }
    return buf;
}

static void unknown(struct work *w, enum compare_aspect aspect, const char *what, bool old_known,
                    bool new_known)
{
    if (old_known && new_known)
        return;
    const char *whose = !old_known && !new_known ? "either type" : NULL;
    if (!whose)
        whose = old_known ? w->new->designation : w->old->designation;
    add(w, COMPARE_UNKNOWN, aspect, false, "%s of %s not known: check the data sheet", what, whose);
}

/* ---- kind and sections ---------------------------------------------------------------------- */

/* The words of `class` that decide what a socket expects, the longest first. */
static const char *kind_of(const struct type *t)
{
    static const char *const words[] = {
        "rectifier",    "gas regulator",  "indicator",     "triode-pentode", "diode-pentode",
        "diode-triode", "triode-heptode", "triode-hexode", "thyratron",      "pentode",
        "tetrode",      "heptode",        "triode",        "diode"};
    for (size_t i = 0; i < ARRAY_LEN(words); i++)
        if (strstr(t->class, words[i]))
            return strcmp(words[i], "tetrode") == 0 ? "pentode" : words[i];
    return t->class;
}

static void compare_kind(struct work *w)
{
    const struct type *a = w->old, *b = w->new;
    unknown(w, ASPECT_KIND, "the kind", *a->class, *b->class);
    unknown(w, ASPECT_KIND, "the number of sections", a->sections != NONE, b->sections != NONE);
    bool kinds = *a->class && *b->class;
    bool memory = remembered(w, TYPE_CLASS);
    if (kinds && strcmp(kind_of(a), kind_of(b)) != 0)
        add(w, COMPARE_STOP, ASPECT_KIND, memory, "%s is a %s, %s a %s", b->designation, b->class,
            a->designation, a->class);
    else if (kinds && strcmp(a->class, b->class) != 0)
        add(w, COMPARE_REMARK, ASPECT_KIND, memory, "%s is called a %s, %s a %s", b->designation,
            b->class, a->designation, a->class);
    if (a->sections != NONE && b->sections != NONE && a->sections != b->sections)
        add(w, COMPARE_STOP, ASPECT_KIND, remembered(w, TYPE_SECTIONS),
            "%s has %d section%s in one envelope, %s has %d", b->designation, (int)b->sections,
            b->sections == 1 ? "" : "s", a->designation, (int)a->sections);
}

/* ---- heater --------------------------------------------------------------------------------- */

static void compare_heater_volts(struct work *w)
{
    const struct type *a = w->old, *b = w->new;
    char was[DECIMAL_BYTES], is[DECIMAL_BYTES];
    bool tap_a = pinout_has(&a->pins, ELECTRODE_HCT), tap_b = pinout_has(&b->pins, ELECTRODE_HCT);
    bool memory = remembered(w, TYPE_HEATER_V);
    if (a->heating == HEATING_COLD && b->heating == HEATING_COLD)
        return;
    unknown(w, ASPECT_HEATER, "heater volts", a->heater_mv != NONE, b->heater_mv != NONE);
    if (a->heater_mv == NONE || b->heater_mv == NONE)
        return;
    figure(was, a->heater_mv, 3);
    figure(is, b->heater_mv, 3);
    if (apart(a->heater_mv, b->heater_mv, 5))
        add(w, COMPARE_STOP, ASPECT_HEATER, memory,
            "heater %s V%s in place of %s V%s: not without rewiring", is,
            tap_b ? " (tapped, in series)" : "", was, tap_a ? " (tapped, in series)" : "");
    else if (a->pins.count && b->pins.count && tap_a != tap_b)
        add(w, COMPARE_STOP, ASPECT_HEATER, memory,
            "the heater of %s is tapped, that of %s is not: the heater wiring differs",
            tap_a ? a->designation : b->designation, tap_a ? b->designation : a->designation);
}

static void compare_heater_current(struct work *w)
{
    const struct type *a = w->old, *b = w->new;
    char was[DECIMAL_BYTES], is[DECIMAL_BYTES];
    if (a->heating == HEATING_COLD && b->heating == HEATING_COLD)
        return;
    unknown(w, ASPECT_HEATER, "heater current", a->heater_ma != NONE, b->heater_ma != NONE);
    if (a->heater_ma != NONE && b->heater_ma != NONE && apart(a->heater_ma, b->heater_ma, 5))
        add(w, COMPARE_CHANGE, ASPECT_HEATER, remembered(w, TYPE_HEATER_A),
            "heater draws %s A in place of %s A: %s, and never in a series string",
            figure(is, b->heater_ma, 3), figure(was, a->heater_ma, 3),
            b->heater_ma > a->heater_ma ? "the winding must give it" : "parallel supply only");
    unknown(w, ASPECT_HEATER, "the way of heating", a->heating != HEATING_UNKNOWN,
            b->heating != HEATING_UNKNOWN);
    if (a->heating == b->heating || a->heating == HEATING_UNKNOWN || b->heating == HEATING_UNKNOWN)
        return;
    static const char *const words[] = {"indirectly heated", "directly heated", "cold"};
    bool cold = a->heating == HEATING_COLD || b->heating == HEATING_COLD;
    add(w, cold ? COMPARE_STOP : COMPARE_CHANGE, ASPECT_HEATER, remembered(w, TYPE_HEATING),
        "%s is %s, %s is %s: warm-up and the cathode's connection differ", b->designation,
        words[b->heating], a->designation, words[a->heating]);
}

/* ---- socket --------------------------------------------------------------------------------- */

static void compare_pins(struct work *w)
{
    const struct type *a = w->old, *b = w->new;
    struct pin_change change[PINOUT_PINS];
    unknown(w, ASPECT_PINS, "the pin connections", a->pins.count, b->pins.count);
    if (!a->pins.count || !b->pins.count)
        return;
    size_t n = pinout_changes(change, ARRAY_LEN(change), &a->pins, &b->pins);
    for (size_t i = 0; i < n && i < ARRAY_LEN(change); i++)
        add(w, change[i].risk == PIN_WRONG ? COMPARE_STOP : COMPARE_CHANGE, ASPECT_PINS,
            remembered(w, TYPE_PINS), "%s", change[i].text);
}

static void compare_socket(struct work *w)
{
    const struct type *a = w->old, *b = w->new;
    bool same_socket =
        a->known && b->known ? a->known->socket == b->known->socket : strcmp(a->base, b->base) == 0;
    unknown(w, ASPECT_BASE, "the base", *a->base, *b->base);
    if (*a->base && *b->base && !same_socket)
        add(w, COMPARE_STOP, ASPECT_BASE, remembered(w, TYPE_BASE),
            "base %s in place of %s: does not fit the socket", b->base, a->base);
    else
        compare_pins(w);
    unknown(w, ASPECT_CAP, "whether there is a top cap", a->top_cap >= 0, b->top_cap >= 0);
    if (a->top_cap < 0 || b->top_cap < 0 || a->top_cap == b->top_cap)
        return;
    const struct type *capped = a->top_cap ? a : b;
    const struct pin *cap = pinout_pin(&capped->pins, PIN_TOP_CAP);
    bool anode = cap && cap->on[0].electrode == ELECTRODE_A;
    add(w, COMPARE_STOP, ASPECT_CAP, remembered(w, TYPE_TOP_CAP),
        "%s has %s on a top cap, %s has no cap", capped->designation,
        anode ? "its anode"
        : cap ? "an electrode"
              : "something",
        capped == a ? b->designation : a->designation);
}

/* ---- limits --------------------------------------------------------------------------------- */

static int64_t number(const struct type *t, size_t offset)
{
    int64_t v;
    memcpy(&v, (const char *)t + offset, sizeof v);
    return v;
}

static void compare_limit(struct work *w, enum type_column column, size_t offset, size_t point,
                          const char *what, const char *unit)
{
    int64_t was = number(w->old, offset), is = number(w->new, offset);
    int64_t asked = point ? number(w->old, point) : NONE;
    char b1[DECIMAL_BYTES], b2[DECIMAL_BYTES];
    unknown(w, ASPECT_RATING, what, was != NONE, is != NONE);
    if (is == NONE)
        return;
    bool memory = remembered(w, column);
    if (asked != NONE && asked > is)
        add(w, COMPARE_STOP, ASPECT_RATING, memory,
            "%s %s %s, but %s is published at %s %s already", what, figure(b1, is, 3), unit,
            w->old->designation, figure(b2, asked, 3), unit);
    else if (was == NONE || is == was)
        return;
    else if (is > was)
        add(w, COMPARE_REMARK, ASPECT_RATING, memory, "%s %s %s in place of %s %s: higher", what,
            figure(b1, is, 3), unit, figure(b2, was, 3), unit);
    else if (is * 100 < was * 90)
        add(w, COMPARE_STOP, ASPECT_RATING, memory,
            "%s %s %s in place of %s %s: stop where the circuit goes above it", what,
            figure(b1, is, 3), unit, figure(b2, was, 3), unit);
    else
        add(w, COMPARE_REMARK, ASPECT_RATING, memory,
            "%s %s %s in place of %s %s, within a step of the rating systems: stay below it", what,
            figure(b1, is, 3), unit, figure(b2, was, 3), unit);
}

#define AT(member) offsetof(struct type, member)

static bool has_limits(const struct type *t)
{
    return strcmp(kind_of(t), "rectifier") != 0 && strcmp(kind_of(t), "gas regulator") != 0 &&
           strcmp(kind_of(t), "indicator") != 0;
}

static void compare_limits(struct work *w)
{
    bool screens = type_has_screen(w->old) && type_has_screen(w->new);
    if (!has_limits(w->old) && !has_limits(w->new)) {
        add(w, COMPARE_UNKNOWN, ASPECT_RATING, false,
            "peak inverse volts and currents are not compared figure by figure: read the notes of "
            "both types and the data sheets");
        return;
    }
    compare_limit(w, TYPE_MAX_VA_V, AT(max_va_mv), 0, "limit of anode volts", "V");
    compare_limit(w, TYPE_MAX_PA_W, AT(max_pa_mw), 0, "limit of anode dissipation", "W");
    if (screens) {
        compare_limit(w, TYPE_MAX_VG2_V, AT(max_vg2_mv), AT(vg2_mv), "limit of screen volts", "V");
        compare_limit(w, TYPE_MAX_PG2_W, AT(max_pg2_mw), 0, "limit of screen dissipation", "W");
    }
    if (w->old->heating == HEATING_INDIRECT && w->new->heating == HEATING_INDIRECT)
        compare_limit(w, TYPE_MAX_VHK_V, AT(max_vhk_mv), 0, "limit between heater and cathode",
                      "V");
}

/* ---- characteristics ------------------------------------------------------------------------ */

static void compare_figure(struct work *w, enum type_column column, size_t offset,
                           enum compare_level level, const char *what, const char *unit,
                           const char *advice)
{
    int64_t was = number(w->old, offset), is = number(w->new, offset);
    char b1[DECIMAL_BYTES], b2[DECIMAL_BYTES];
    if (was == NONE || is == NONE || !apart(was, is, 10))
        return;
    add(w, level, ASPECT_CHARACTERISTIC, remembered(w, column), "%s %s%s%s in place of %s%s%s%s",
        what, figure(b1, is, 3), *unit ? " " : "", unit, figure(b2, was, 3), *unit ? " " : "", unit,
        advice);
}

static bool same_volts(const struct type *a, const struct type *b)
{
    return a->va_mv != NONE && b->va_mv != NONE && !apart(a->va_mv, b->va_mv, 2) &&
           (a->vg2_mv == NONE || b->vg2_mv == NONE || !apart(a->vg2_mv, b->vg2_mv, 2));
}

static void compare_characteristics(struct work *w)
{
    const struct type *a = w->old, *b = w->new;
    if ((*a->class && !type_amplifies(a)) || (*b->class && !type_amplifies(b)))
        return;
    unknown(w, ASPECT_CHARACTERISTIC, "a published operating point", a->va_mv != NONE,
            b->va_mv != NONE);
    if (type_has_screen(a) && type_has_screen(b))
        compare_figure(w, TYPE_VG2_V, AT(vg2_mv), COMPARE_CHANGE, "published at screen volts", "V",
                       ": check the screen supply");
    if (a->va_mv == NONE || b->va_mv == NONE)
        return;
    if (!same_volts(a, b)) {
        add(w, COMPARE_CHANGE, ASPECT_CHARACTERISTIC, remembered(w, TYPE_VA_V),
            "published at other volts, so bias and currents cannot be set side by side: check the "
            "bias");
    } else {
        if ((a->vg1_mv == NONE || b->vg1_mv == NONE) && (a->rk_mohm == NONE || b->rk_mohm == NONE))
            add(w, COMPARE_CHANGE, ASPECT_CHARACTERISTIC, remembered(w, TYPE_VG1_V),
                "one is published with fixed bias, the other with a cathode resistor: check the "
                "bias");
        compare_figure(w, TYPE_VG1_V, AT(vg1_mv), COMPARE_CHANGE, "bias", "V", ": set it anew");
        compare_figure(w, TYPE_RK_OHM, AT(rk_mohm), COMPARE_CHANGE, "cathode resistor", "ohm",
                       ": change it");
        compare_figure(w, TYPE_IA_MA, AT(ia_ua), COMPARE_CHANGE, "plate current", "mA",
                       ": check the bias");
    }
    compare_figure(w, TYPE_GM_MA_PER_V, AT(gm_ua_per_v), COMPARE_REMARK, "transconductance", "mA/V",
                   "");
    compare_figure(w, TYPE_MU, AT(mu_milli), COMPARE_REMARK, "amplification factor", "", "");
    compare_figure(w, TYPE_RP_KOHM, AT(rp_ohm), COMPARE_REMARK, "plate resistance", "kohm", "");
    compare_figure(w, TYPE_LOAD_KOHM, AT(load_ohm), COMPARE_REMARK, "load", "kohm", "");
}

static void compare_envelope(struct work *w)
{
    if (*w->old->envelope && *w->new->envelope && strcmp(w->old->envelope, w->new->envelope) != 0)
        add(w, COMPARE_REMARK, ASPECT_ENVELOPE, remembered(w, TYPE_ENVELOPE),
            "bulb: %s in place of %s", w->new->envelope, w->old->envelope);
}

static int gravest_first(const void *pa, const void *pb)
{
    const struct difference *a = pa, *b = pb;
    if (a->level != b->level)
        return a->level < b->level ? -1 : 1;
    if (a->aspect != b->aspect)
        return a->aspect < b->aspect ? -1 : 1;
    return strcmp(a->text, b->text);
}

void compare_types(struct comparison *out, const struct type *old, const struct type *new)
{
    struct work w = {out, old, new};
    *out = (struct comparison){0};
    compare_kind(&w);
    compare_heater_volts(&w);
    compare_heater_current(&w);
    compare_socket(&w);
    compare_limits(&w);
    compare_characteristics(&w);
    compare_envelope(&w);
    qsort(out->difference, out->count, sizeof out->difference[0], gravest_first);
}
