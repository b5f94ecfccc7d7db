/* SPDX-License-Identifier: MIT
 *
 * reading: what a tester showed, kept for ever; and the standing values that follow from it.
 *
 * A reading is never changed: a wrong one is voided with a reason and stays visible.  Writing or
 * voiding one re-derives the standing values it touches in the same savepoint.
 */
#ifndef QUADRILLE_STORE_READING_H
#define QUADRILLE_STORE_READING_H

#include "measure/quantity.h"
#include "store/store.h"

struct reading_value {
    const char *quantity; /* code */
    const char *typed;    /* the decimal as given, without its unit */
    const char *unit;     /* as given; NULL: the tester's scale, else the quantity's own */
};

struct reading {
    int64_t id;
    int64_t tube_id;
    int64_t section; /* 1.. as the type's own handbook numbers them; 0 the whole tube */
    int64_t tester_id;
    const char *tester; /* code (read only) */
    int64_t test_point_id;
    const char *test_point; /* code (read only) */
    const char *method;     /* NULL: "direct" */
    int64_t taken_ms;
    int64_t repeat_no; /* NONE: 1 */
    int64_t sitting_id;
    const char *user;        /* shown name (read only) */
    int64_t warm_s;          /* time on heat; NONE not known */
    const char *questions;   /* rules it was kept against, joined by ','; NULL none */
    int64_t recorded_ms;     /* (read only) */
    int64_t voided_ms;       /* NONE: it stands (read only) */
    const char *void_reason; /* (read only) */
    struct list values;      /* struct reading_value */
};

struct standing_row {
    int64_t section, anode_pin; /* pin NONE where the type's pins are not known */
    const char *quantity;       /* code */
    const char *unit;
    int64_t decimals;
    int64_t test_point_id;
    const char *method;
    int64_t value;   /* at decimals */
    int64_t u_milli; /* own standard uncertainty, thousandths of a last place */
    int64_t u_cal_milli;
    int64_t calibration_id;
    int64_t repeats, questioned, taken_ms;
    const char *value_text; /* value printed at its decimals */
};

/* Write a reading by store_user.  *same: the very same reading is there already (same tube,
 * section, point, moment, tester, method and repeat, with the same values): nothing was written,
 * *id is its row.  ERR_CONFLICT when one is there with other values.  Values must have been parsed
 * before (reading_check). */
MUST_USE bool reading_create(int64_t *id, bool *same, struct store *st, const struct reading *r,
                             struct arena *a, struct err *e);

/* Is the very same reading there?  *id is its row, NONE when there is none.  ERR_CONFLICT when one
 * is there with other values. */
MUST_USE bool reading_find(int64_t *id, bool *same, struct store *st, const struct reading *r,
                           struct arena *a, struct err *e);

/* Are the values fit for this tube and tester: known quantities of the right scope, section within
 * the type, units and numbers that read?  e->field names the quantity or section. */
MUST_USE bool reading_check(struct store *st, const struct reading *r, int64_t type_id,
                            struct arena *a, struct err *e);

/* Void it.  ERR_CONFLICT when it is voided already, ERR_NOT_FOUND. */
MUST_USE bool reading_void(struct store *st, int64_t id, const char *reason, struct arena *a,
                           struct err *e);

/* All readings of a tube with their values, newest first, voided ones too.  struct reading. */
void reading_list(struct list *out, struct store *st, int64_t tube_id, int64_t limit,
                  struct arena *a);

/* ERR_NOT_FOUND. */
MUST_USE bool reading_load(struct reading *out, struct store *st, int64_t id, struct arena *a,
                           struct err *e);

/* Standing values of a tube by section, quantity.  struct standing_row. */
void standing_list(struct list *out, struct store *st, int64_t tube_id, struct arena *a);

/* One standing value; NONE when there is none. */
int64_t standing_value(struct store *st, int64_t tube_id, int64_t section, const char *quantity,
                       int64_t test_point_id, const char *method);

/* The values of a quantity that stand for the latest tubes of a type at a test point, at most room,
 * for robust limits: lot_id NONE for any lot.  Returns how many. */
size_t standing_sample(int64_t *out, size_t room, struct store *st, int64_t type_id, int64_t lot_id,
                       int64_t section, const char *quantity, int64_t test_point_id);

/* What was read of this quantity just before on the same tester, at the same section and test
 * point, of another tube, at the quantity's decimals; NONE when nothing was.  r names all but the
 * quantity. */
int64_t reading_previous(struct store *st, const struct reading *r, const char *quantity);

/* Derive all standing values of a tube anew from its readings (verify, recalibration). */
MUST_USE bool standing_derive(struct store *st, int64_t tube_id, struct arena *a, struct err *e);

#endif
