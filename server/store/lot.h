/* SPDX-License-Identifier: MIT
 *
 * lot: one purchase, and the untested pieces in it that have no number of their own yet.
 */
#ifndef QUADRILLE_STORE_LOT_H
#define QUADRILLE_STORE_LOT_H

#include "store/store.h"

struct lot {
    int64_t id;
    const char *code; /* the dealer's name for it, unique */
    const char *title;
    int64_t bought_day;   /* days; NONE unknown */
    int64_t cost_minor;   /* smallest unit of currency; NONE unknown */
    const char *currency; /* ISO 4217; NULL where there is no cost */
    const char *note;
    int64_t version;
    int64_t tubes;     /* numbered tubes that came from it (read only) */
    struct list lines; /* struct lot_line (read only) */
};

struct lot_line {
    int64_t id, lot_id;
    int64_t type_id;
    const char *type;    /* main designation (read only) */
    const char *printed; /* designation as printed on them */
    const char *maker;   /* name (read only); NULL unknown */
    int64_t maker_id;
    int64_t count, drawn; /* pieces bought; pieces that became tubes */
    const char *note;
};

/* Lots newest first, older than before_id (NONE: all), at most limit, without lines.  struct lot.
 */
void lot_list(struct list *out, struct store *st, int64_t before_id, int64_t limit,
              struct arena *a);

/* With its lines.  ERR_NOT_FOUND. */
MUST_USE bool lot_load(struct lot *out, struct store *st, const char *code, struct arena *a,
                       struct err *e);

/* ERR_NOT_FOUND naming the lot. */
MUST_USE bool lot_find(int64_t *id, struct store *st, const char *code, struct err *e);

/* Write a new lot (id ignored); *id its row.  ERR_CONFLICT when the code is taken. */
MUST_USE bool lot_create(int64_t *id, struct store *st, const struct lot *l, struct arena *a,
                         struct err *e);

/* Change title, day, cost, currency and note where they are given (not NULL, not NONE).
 * version must be the row's (ERR_CONFLICT: somebody changed it meanwhile). */
MUST_USE bool lot_change(struct store *st, const struct lot *l, struct arena *a, struct err *e);

/* Add untested pieces; type_id and lot_id must exist. */
MUST_USE bool lot_line_create(int64_t *id, struct store *st, const struct lot_line *l,
                              struct arena *a, struct err *e);

/* Take one piece of a line, because it becomes a numbered tube.  ERR_CONFLICT when none is left. */
MUST_USE bool lot_line_draw(struct lot_line *out, struct store *st, int64_t line_id,
                            struct arena *a, struct err *e);

#endif
