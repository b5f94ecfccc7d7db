/* SPDX-License-Identifier: MIT
 *
 * pins: the notation, read strictly, because a wrong pin destroys an amplifier.
 */
#include "catalogue/pins.h"

#include "base/text.h"

#include <stdio.h>
#include <string.h>

/* Positions of the usual bases: the drawings of the receiving tube handbooks (from memory).  One
 * socket number, one socket. */
static const struct base bases[] = {
    {"octal", 8, 1},
    {"noval B9A", 9, 2},
    {"miniature 7-pin B7G", 7, 3},
    {"UX4", 4, 4},
    {"UX4 (bayonet pin)", 4, 4},
    {"UY5", 5, 5},
    {"UX6", 6, 6},
    {"UX7 small", 7, 7},
    {"UX7 medium", 7, 8},
    {"loctal B8B", 8, 9},
    {"Rimlock B8A", 8, 10},
    {"magnoval B9D", 9, 11},
    {"novar", 9, 12},
    {"compactron", 12, 13},
    {"decal B10B", 10, 14},
    {"B9G", 9, 15},
    {"side-contact P8", 8, 16},
    {"jumbo 4-pin bayonet", 4, 17},
    {"large 7-pin glass button base", 7, 18},
    {"Y8A", 8, 19},
    {"nuvistor", 12, 20},
    {"giant 5-pin", 5, 21},
    {"giant 7-pin", 7, 22},
    {"British 5-pin B5", 5, 23},
    {"British 7-pin B7", 7, 24},
    {"Mazda octal", 8, 25},
    {"subminiature leads", 0, 26},
    {"septar", 7, 27},
};

static const char *const electrode_names[ELECTRODE__COUNT] = {
    "a",  "g1", "g2", "g3", "g4", "g5", "g6", "k",  "h",      "f",  "hct", "fct",
    "bp", "s",  "sh", "bs", "d",  "t",  "dp", "st", "jumper", "nc", "ic",
};

const struct base *base_find(const char *name)
{
    for (size_t i = 0; i < ARRAY_LEN(bases); i++)
        if (strcmp(bases[i].name, name) == 0)
            return &bases[i];
    return NULL;
}

const char *electrode_name(enum electrode e)
{
    return electrode_names[e];
}

const struct pin *pinout_pin(const struct pinout *p, int number)
{
    for (size_t i = 0; i < p->count; i++)
        if (p->pin[i].number == number)
            return &p->pin[i];
    return NULL;
}

static bool pin_carries(const struct pin *pin, enum electrode e)
{
    for (size_t i = 0; i < pin->count; i++)
        if (pin->on[i].electrode == e)
            return true;
    return false;
}

bool pinout_has(const struct pinout *p, enum electrode e)
{
    for (size_t i = 0; i < p->count; i++)
        if (pin_carries(&p->pin[i], e))
            return true;
    return false;
}

const char *pins_print(char *buf, const struct pinout *p, enum electrode e)
{
    size_t n = 0;
    snprintf(buf, PINS_PRINT_BYTES, "none");
    for (size_t i = 0; i < p->count && n + 8 < PINS_PRINT_BYTES; i++) {
        if (!pin_carries(&p->pin[i], e))
            continue;
        const char *join = n ? ", " : "";
        int wrote = p->pin[i].number == PIN_TOP_CAP
                        ? snprintf(buf + n, PINS_PRINT_BYTES - n, "%scap", join)
                        : snprintf(buf + n, PINS_PRINT_BYTES - n, "%s%d", join, p->pin[i].number);
        n += (size_t)wrote;
    }
    return buf;
}

/* ---- reading the notation ------------------------------------------------------------------- */

struct reader {
    const char *text, *s; /* s is the next byte */
    const struct base *base;
    struct err *e;
};

static bool stop(struct reader *r, const char *what)
{
    return err_at(r->e, ERR_INVALID, r->s - r->text,
                  "pins: %s at byte %d of \"%.80s\"; write pin=electrode, such as 1=a.2;2=g1.2;4=h",
                  what, (int)(r->s - r->text), r->text);
}

static bool read_number(struct reader *r, int *number)
{
    if (strncmp(r->s, "tc=", 3) == 0) {
        *number = PIN_TOP_CAP;
        r->s += 3;
        return true;
    }
    int v = 0, digits = 0;
    while (r->s[digits] >= '0' && r->s[digits] <= '9' && digits < 3)
        v = v * 10 + (r->s[digits++] - '0');
    if (digits == 0 || r->s[digits] != '=')
        return stop(r, "a pin number and \"=\" should stand");
    int most = r->base && r->base->pins ? r->base->pins : PINOUT_PINS;
    if (v < 1 || v > most)
        return err_at(r->e, ERR_INVALID, r->s - r->text,
                      "pins: pin %d at byte %d is beyond the base%s%s, which has pins 1 to %d", v,
                      (int)(r->s - r->text), r->base ? " " : "", r->base ? r->base->name : "",
                      most);
    *number = v;
    r->s += digits + 1;
    return true;
}

static bool read_electrode(struct reader *r, struct pin *pin)
{
    size_t n = strcspn(r->s, ".,;");
    enum electrode found = ELECTRODE__COUNT;
    for (int i = 0; i < ELECTRODE__COUNT; i++)
        if (strlen(electrode_names[i]) == n && strncmp(electrode_names[i], r->s, n) == 0)
            found = (enum electrode)i;
    if (found == ELECTRODE__COUNT)
        return stop(r, "an electrode (a, g1, g2, g3, k, h, f, hct, bp, s, d, nc ...) should stand");
    if (pin->count == PIN_ELECTRODES)
        return stop(r, "more electrodes than one pin can carry stand");
    r->s += n;
    char section = 0;
    if (*r->s == '.') {
        section = r->s[1];
        if (!section || !strchr("123tp", section))
            return stop(r, "a section (.1 .2 .3 .t .p) should stand");
        r->s += 2;
    }
    pin->on[pin->count].electrode = found;
    pin->on[pin->count++].section = section;
    return true;
}

static bool read_pin(struct reader *r, struct pinout *p)
{
    struct pin pin = {0};
    const char *start = r->s;
    if (!read_number(r, &pin.number))
        return false;
    if (pinout_pin(p, pin.number) || p->count == PINOUT_PINS) {
        r->s = start;
        return stop(r, "a pin stands twice");
    }
    for (;;) {
        if (!read_electrode(r, &pin))
            return false;
        if (*r->s != ',')
            break;
        r->s++;
    }
    p->pin[p->count++] = pin;
    return true;
}

bool pinout_parse(struct pinout *out, const char *text, const struct base *base, struct err *e)
{
    struct reader r = {text, text, base, e};
    struct pinout p = {0};
    while (*r.s) {
        if (!read_pin(&r, &p))
            return false;
        if (*r.s == ';' && r.s[1])
            r.s++;
        else if (*r.s)
            return stop(&r, "\";\" or the end should stand");
    }
    *out = p;
    return true;
}

/* ---- one pinout in the place of another ----------------------------------------------------- */

#define BIT(e) (1u << (e))
#define SOFT_BITS                                                                        \
    (BIT(ELECTRODE_BP) | BIT(ELECTRODE_SH) | BIT(ELECTRODE_BS) | BIT(ELECTRODE_JUMPER) | \
     BIT(ELECTRODE_NC) | BIT(ELECTRODE_IC) | BIT(ELECTRODE_S))
#define GROUNDED  (BIT(ELECTRODE_S) | BIT(ELECTRODE_SH) | BIT(ELECTRODE_BS))
#define PIN_SLOTS (PINOUT_PINS + 1)

/* Electrodes by pin: bit sets, a filament end taken as heater and cathode. */
struct wiring {
    unsigned hard[PIN_SLOTS]; /* electrodes that carry a circuit */
    unsigned soft[PIN_SLOTS];
    char section[PIN_SLOTS];
    bool listed[PIN_SLOTS];
};

static struct wiring wiring_of(const struct pinout *p)
{
    struct wiring w = {0};
    for (size_t i = 0; i < p->count; i++) {
        const struct pin *pin = &p->pin[i];
        w.listed[pin->number] = true;
        for (size_t k = 0; k < pin->count; k++) {
            unsigned bit = BIT(pin->on[k].electrode);
            if (bit == BIT(ELECTRODE_F))
                bit = BIT(ELECTRODE_H) | BIT(ELECTRODE_K);
            if (bit & SOFT_BITS)
                w.soft[pin->number] |= bit;
            else
                w.hard[pin->number] |= bit;
            if (pin->on[k].section)
                w.section[pin->number] = pin->on[k].section;
        }
    }
    return w;
}

/* Is the electrode on another pin in both, in the same section of each? */
static bool kept_elsewhere(const struct wiring *a, const struct wiring *b, int at, unsigned bit)
{
    for (int q = 0; q < PIN_SLOTS; q++)
        if (q != at && (a->hard[q] & bit) && (b->hard[q] & bit) &&
            (!a->section[at] || a->section[q] == a->section[at]))
            return true;
    return false;
}

static enum pin_risk risk_at(const struct wiring *a, const struct wiring *b, int at)
{
    unsigned lost = a->hard[at] & ~b->hard[at], gained = b->hard[at] & ~a->hard[at];
    unsigned g3 = BIT(ELECTRODE_G3);
    enum pin_risk risk = PIN_HARMLESS;
    for (int e = 0; e < ELECTRODE__COUNT; e++) {
        unsigned bit = BIT(e);
        if (lost & bit)
            risk = bit == g3 || kept_elsewhere(a, b, at, bit) ? PIN_WORK : PIN_WRONG;
        if (risk == PIN_WRONG)
            return risk;
        if (!(gained & bit))
            continue;
        bool wired = a->hard[at] || (a->soft[at] & GROUNDED);
        bool beside_k = bit == g3 && (a->hard[at] & BIT(ELECTRODE_K));
        if (wired && !beside_k && !(bit == BIT(ELECTRODE_K) && kept_elsewhere(a, b, at, bit)))
            return PIN_WRONG;
        if (!beside_k)
            risk = PIN_WORK;
    }
    return risk;
}

static void set_print(char *buf, size_t n, const struct pinout *p, int at)
{
    const struct pin *pin = pinout_pin(p, at);
    size_t used = 0;
    snprintf(buf, n, "not stated");
    for (size_t i = 0; pin && i < pin->count && used < n; i++)
        used += (size_t)snprintf(buf + used, n - used, "%s%s", i ? "+" : "",
                                 electrode_names[pin->on[i].electrode]);
}

/* Sections must map one to one: pins that belong together stay together. */
static bool sections_cross(const struct wiring *a, const struct wiring *b, int at)
{
    for (int q = 0; q < at; q++) {
        if (!a->section[at] || !b->section[at] || !a->section[q] || !b->section[q])
            continue;
        if ((a->section[q] == a->section[at]) != (b->section[q] == b->section[at]))
            return true;
    }
    return false;
}

size_t pinout_changes(struct pin_change *out, size_t room, const struct pinout *a,
                      const struct pinout *b)
{
    struct wiring wa = wiring_of(a), wb = wiring_of(b);
    size_t count = 0;
    for (int at = 0; at < PIN_SLOTS; at++) {
        if (!wa.listed[at] && !wb.listed[at])
            continue;
        bool cross = sections_cross(&wa, &wb, at);
        enum pin_risk risk = cross ? PIN_WRONG : risk_at(&wa, &wb, at);
        if (risk == PIN_HARMLESS)
            continue;
        if (count < room) {
            char was[40], is[40], pin[8] = "cap";
            set_print(was, sizeof was, a, at);
            set_print(is, sizeof is, b, at);
            if (at)
                snprintf(pin, sizeof pin, "pin %d", at);
            out[count].number = at;
            out[count].risk = risk;
            snprintf(out[count].text, sizeof out[count].text, "%s: %s becomes %s%s", pin, was, is,
                     cross ? ", of the other section" : "");
        }
        count++;
    }
    return count;
}
