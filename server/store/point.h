/* SPDX-License-Identifier: MIT
 *
 * point: test points as kept: the voltages at which a type is measured, and its nominal values.
 *
 * Members of one family are often published with the same conditions.  Readings are compared only
 * at the same test point, so a reading is recorded at the family's first point of the same
 * conditions, while nominal values and limits come from the type's own.
 */
#ifndef QUADRILLE_STORE_POINT_H
#define QUADRILLE_STORE_POINT_H

#include "store/store.h"

struct point_figure {
    const char *quantity;       /* code */
    int64_t nominal, low, high; /* at the quantity's decimals; NONE not stated */
    const char *source, *where, *how;
};

struct test_point {
    int64_t id;
    int64_t shared_id; /* the family's first point of the same conditions */
    int64_t type_id;
    const char *code, *title, *held; /* held: 'grid', 'current', 'cathode', 'none' */
    const char *section;             /* "t", "p" of a triode-pentode; NULL: any section */
    const char *va_v, *vg2_v, *vg1_v, *rk_ohm, *ia_ma, *heater_v; /* decimal text */
    int64_t warm_s;
    const char *source, *where, *how, *origin; /* where: address of the page read */
    struct list figures;                       /* struct point_figure */
};

/* A figure in thousandths as the text of a condition: "250", "-8.5"; NULL for NONE.  Conditions are
 * compared as texts, so they are all written this way. */
const char *test_point_text(struct arena *a, int64_t milli);

/* Points of a type with their figures, by code.  struct test_point. */
void test_point_list(struct list *out, struct store *st, int64_t type_id, struct arena *a);

/* The point of that code of a type; code NULL: its only one, or 'grid' when it has several.
 * ERR_NOT_FOUND ("6N9S has no test point yet: its owner enters one"), or ERR_INVALID naming the
 * points there are. */
MUST_USE bool test_point_load(struct test_point *out, struct store *st, int64_t type_id,
                              const char *code, struct arena *a, struct err *e);

/* The point of a type that shares the conditions of point id, with the type's own figures; the
 * point itself when the type has none such. */
MUST_USE bool test_point_by_id(struct test_point *out, struct store *st, int64_t id,
                               int64_t type_id, struct arena *a, struct err *e);

/* Write a point of one's own.  ERR_CONFLICT when the type has one of that code. */
MUST_USE bool test_point_create(int64_t *id, struct store *st, const struct test_point *p,
                                struct arena *a, struct err *e);

#endif
