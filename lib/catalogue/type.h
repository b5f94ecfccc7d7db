/* SPDX-License-Identifier: MIT
 *
 * type: one catalogue entry, what a tube with this designation is.
 *
 * Figures are whole numbers at a fixed decimal, so that they compare exactly.  A figure that is not
 * known is NONE, a text ""; blank never means zero.  Each field knows whether it was read at the
 * stated address or rests on memory of the source alone.
 */
#ifndef QUADRILLE_CATALOGUE_TYPE_H
#define QUADRILLE_CATALOGUE_TYPE_H

#include "base/arena.h"
#include "base/value.h"
#include "catalogue/pins.h"
#include "catalogue/sheet.h"

/* The columns of the table of types, in the order of the bundled file.  The first is required. */
enum type_column {
    TYPE_DESIGNATION,
    TYPE_SYSTEM,
    TYPE_CLASS,
    TYPE_SECTIONS,
    TYPE_HEATER_V,
    TYPE_HEATER_A,
    TYPE_HEATING,
    TYPE_BASE,
    TYPE_PINS,
    TYPE_TOP_CAP,
    TYPE_ENVELOPE,
    TYPE_MAX_VA_V,
    TYPE_MAX_PA_W,
    TYPE_MAX_VG2_V,
    TYPE_MAX_PG2_W,
    TYPE_MAX_VHK_V,
    TYPE_VA_V,
    TYPE_VG2_V,
    TYPE_VG1_V,
    TYPE_RK_OHM,
    TYPE_IA_MA,
    TYPE_IG2_MA,
    TYPE_GM_MA_PER_V,
    TYPE_MU,
    TYPE_RP_KOHM,
    TYPE_LOAD_KOHM,
    TYPE_PO_W,
    TYPE_SECTION2_DATA,
    TYPE_CYRILLIC,
    TYPE_SOURCE,
    TYPE_HOW,
    TYPE_FOUND_FIELDS,
    TYPE_WHERE,
    TYPE_NOTES,
    TYPE__COLUMNS
};

extern const char *const type_columns[TYPE__COLUMNS];

enum type_heating { HEATING_UNKNOWN = -1, HEATING_INDIRECT, HEATING_DIRECT, HEATING_COLD };

struct type {
    const char *designation; /* the main spelling */
    const char *system;      /* "RETMA", "European", "GOST" ..., "" unknown */
    const char *class;       /* "twin triode" ..., "" unknown */
    int64_t sections;        /* 1..4 separately testable systems */
    int64_t heater_mv;       /* mV; of a tapped heater in series */
    int64_t heater_ma;       /* mA; in series */
    enum type_heating heating;
    const char *base;         /* as written; "" unknown */
    const struct base *known; /* its row, NULL for an unknown base */
    struct pinout pins;       /* count 0: not known */
    int top_cap;              /* 1 yes, 0 no, -1 not known */
    const char *envelope;
    int64_t max_va_mv;             /* limit of anode volts, mV */
    int64_t max_pa_mw;             /* limit of anode dissipation a section, mW */
    int64_t max_vg2_mv;            /* limit of screen volts, mV */
    int64_t max_pg2_mw;            /* limit of screen dissipation, mW */
    int64_t max_vhk_mv;            /* limit between heater and cathode, mV */
    int64_t va_mv, vg2_mv, vg1_mv; /* published operating point, mV */
    int64_t rk_mohm;               /* cathode resistor of the point, thousandths of an ohm */
    int64_t ia_ua, ig2_ua;         /* currents of a section at the point, uA */
    int64_t gm_ua_per_v;           /* transconductance, uA/V */
    int64_t mu_milli;              /* amplification factor, thousandths */
    int64_t rp_ohm;                /* anode resistance, ohm */
    int64_t load_ohm;              /* load, ohm */
    int64_t po_mw;                 /* output power, mW */
    const char *section2;          /* data of a dissimilar second section, as written */
    const char *cyrillic;
    const char *notes;
    const char *source; /* publication */
    enum how how;
    const char *found_fields; /* as written */
    const char *where;        /* address read, "" none */
    uint64_t found;           /* bit 1 << enum type_column: read at `where` */
};

/* Was the field read, rather than remembered?  Own entries count as read. */
bool type_field_found(const struct type *t, enum type_column c);

/* Make a type from a data line.  Texts in the arena.  ERR_INVALID with e->line and e->field: not a
 * designation, a figure that is none or out of range, an unknown word, pins that do not parse or
 * lie beyond the base. */
MUST_USE bool type_read(struct type *out, const struct sheet *s, const struct csv_record *r,
                        struct arena *a, struct err *e);

/* A type of which nothing but its name is known. */
struct type type_bare(const char *designation);

/* Has the type a screen grid: by its pins, else by its class; false when neither is known. */
bool type_has_screen(const struct type *t);

/* Does the name or the class say triode, pentode or tetrode (something with gm to measure)? */
bool type_amplifies(const struct type *t);

/* One thing about a row that contradicts itself. */
struct type_doubt {
    const char *check; /* "mu", "dissipation", "pins" ... */
    char text[240];    /* what, with both figures */
};

/* Look for contradictions inside one type; at most `room` are written, the count is returned.
 *   mu           mu against gm * rp, more than 10 percent apart
 *   dissipation  va * ia above the limit by more than 2 percent (with rk, the drop is taken off)
 *   screen       vg2 * ig2 above its limit
 *   limit        operating volts above the limit
 *   heater       the designation's own figure or letter against heater volts or amps, by the rule
 * of the stated system, unless decode.h knows the name as an exception pins         a class that
 * needs an electrode which no pin carries; a cap stated and not listed Formulas: mu = gm * rp
 * (Radiotron Designer's Handbook, 4th ed., ch. 2, from memory). */
size_t type_doubts(struct type_doubt *out, size_t room, const struct type *t);

#endif
