/* SPDX-License-Identifier: MIT
 *
 * point: the voltages at which a type is measured, what is held there, and the nominal values.
 *
 * Only a published operating point is a test point: with every voltage (the screen's where there is
 * one), a bias, and the plate current it gives.  Values compare only at the same test point.
 */
#ifndef QUADRILLE_CATALOGUE_POINT_H
#define QUADRILLE_CATALOGUE_POINT_H

#include "base/arena.h"
#include "catalogue/sheet.h"
#include "catalogue/type.h"
#include "measure/quantity.h"

enum point_held {
    HELD_GRID,    /* fixed grid volts: the plate current is read */
    HELD_CURRENT, /* the grid is set for the stated plate current: its volts are read */
    HELD_CATHODE, /* the bias comes from the stated cathode resistor */
    HELD_NONE,    /* no grid */
    HELD__COUNT
};
extern const char *const held_words[HELD__COUNT];

struct point {
    const char *designation; /* of the type */
    const char *code;        /* unique within the type: a-z, 0-9, '-' */
    const char *title;
    enum point_held held;
    const char *section;           /* "" any section; "t" "p" the triode or pentode of one bulb */
    int64_t va_mv, vg2_mv, vg1_mv; /* mV; NONE not applicable */
    int64_t rk_mohm;               /* thousandths of an ohm */
    int64_t ia_ua;                 /* the current set, for HELD_CURRENT */
    int64_t heater_mv;
    const char *source;
    enum how how;
    const char *where;
};

enum point_column {
    POINT_DESIGNATION,
    POINT_CODE,
    POINT_TITLE,
    POINT_HELD,
    POINT_SECTION,
    POINT_VA_V,
    POINT_VG2_V,
    POINT_VG1_V,
    POINT_RK_OHM,
    POINT_IA_MA,
    POINT_HEATER_V,
    POINT_SOURCE,
    POINT_HOW,
    POINT_WHERE,
    POINT__COLUMNS
};
extern const char *const point_columns[POINT__COLUMNS];
#define POINT_REQUIRED 4

/* Texts in the arena.  ERR_INVALID with e->line, e->field: what is held lacks its figure (grid:
 * vg1_v, current: ia_ma, cathode: rk_ohm), or a figure stands that contradicts it. */
MUST_USE bool point_read(struct point *out, const struct sheet *s, const struct csv_record *r,
                         struct arena *a, struct err *e);

struct point_value {
    const char *designation, *code; /* of the point */
    const char *quantity;           /* a code of measure/quantity */
    int64_t nominal, low, high;     /* at the quantity's decimals, NONE not stated */
    const char *source;
    enum how how;
    const char *where;
};

enum point_value_column {
    POINT_VALUE_DESIGNATION,
    POINT_VALUE_CODE,
    POINT_VALUE_QUANTITY,
    POINT_VALUE_UNIT,
    POINT_VALUE_NOMINAL,
    POINT_VALUE_LOW,
    POINT_VALUE_HIGH,
    POINT_VALUE_SOURCE,
    POINT_VALUE_HOW,
    POINT_VALUE_WHERE,
    POINT_VALUE__COLUMNS
};
extern const char *const point_value_columns[POINT_VALUE__COLUMNS];
#define POINT_VALUE_REQUIRED 3

/* Texts in the arena.  Figures in the unit of the line, "" the quantity's own.  ERR_INVALID with
 * e->line, e->field: unknown quantity, no figure at all, low above high. */
MUST_USE bool point_value_read(struct point_value *out, const struct sheet *s,
                               const struct csv_record *r, struct arena *a, struct err *e);

/* Does the point say what the type's own published point says (volts, bias, section)?  For the
 * check of a catalogue; false names the difference in *e. */
MUST_USE bool point_agrees(const struct point *p, const struct type *t, struct err *e);

#endif
