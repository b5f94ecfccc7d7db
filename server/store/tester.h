/* SPDX-License-Identifier: MIT
 *
 * tester: an instrument, what it reads and how well; and the sittings at it.
 */
#ifndef QUADRILLE_STORE_TESTER_H
#define QUADRILLE_STORE_TESTER_H

#include "measure/calibration.h"
#include "measure/quantity.h"
#include "measure/standing.h"
#include "store/store.h"

struct tester_quantity {
    const char *quantity;      /* code */
    const char *unit;          /* what its scale shows */
    const char *low, *high;    /* range in that unit, decimal text; NULL not stated */
    const char *resolution;    /* smallest step in that unit; NULL not stated */
    const char *repeatability; /* standard deviation: "0.05" in that unit, or "2%"; NULL unknown */
    int64_t relative;          /* 1: an arbitrary scale, nothing until calibrated */
};

struct tester {
    int64_t id;
    const char *code; /* the dealer's name for it, unique */
    const char *title;
    const char *note;
    int64_t suspect_ms; /* its readings are in doubt since; NONE */
    int64_t version;
    struct list reads; /* struct tester_quantity */
};

void tester_list(struct list *out, struct store *st, struct arena *a); /* struct tester, by code */

/* ERR_NOT_FOUND naming the tester. */
MUST_USE bool tester_load(struct tester *out, struct store *st, const char *code, struct arena *a,
                          struct err *e);

/* Units are checked against their quantities, figures as decimals.  ERR_CONFLICT: code taken. */
MUST_USE bool tester_create(int64_t *id, struct store *st, const struct tester *t, struct arena *a,
                            struct err *e);

/* What a tester states of a quantity, in the terms of measure/standing (in the quantity's unit).
 * *unit: its scale's unit, NULL when it states nothing of the quantity; *relative: the scale is
 * arbitrary.  Each of the three may be NULL. */
void tester_terms(struct standing_tester *out, const char **unit, bool *relative, struct store *st,
                  int64_t tester_id, const struct quantity *q, struct arena *a);

/* The calibration of a tester's quantity for a moment; *id NONE when there is none. */
void tester_calibration(struct calibration *out, int64_t *id, struct store *st, int64_t tester_id,
                        const char *quantity, int64_t at_ms);

/* ---- sittings ---- */

#define SITTING_IDLE_MS                                                       \
    (INT64_C(4) * 3600 * 1000) /* house rule: after four idle hours a new one \
                                */

/* The open sitting of store_user at a tester for a reading at at_ms, begun when there is none or
 * the last one has been idle too long. */
MUST_USE bool sitting_current(int64_t *id, struct store *st, int64_t tester_id, int64_t at_ms,
                              struct err *e);

/* The sitting of that label at a tester, begun when there is none: for loads. */
MUST_USE bool sitting_labelled(int64_t *id, struct store *st, int64_t tester_id, const char *label,
                               int64_t at_ms, struct err *e);

#endif
