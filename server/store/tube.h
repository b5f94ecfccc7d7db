/* SPDX-License-Identifier: MIT
 *
 * tube: one envelope with one stock number.
 */
#ifndef QUADRILLE_STORE_TUBE_H
#define QUADRILLE_STORE_TUBE_H

#include "order/state.h"
#include "store/store.h"

enum tube_history { HISTORY_UNUSED, HISTORY_USED, HISTORY_UNKNOWN, HISTORY__COUNT };
extern const char *const tube_history_names[HISTORY__COUNT + 1]; /* NULL-terminated */
extern const char *const tube_state_names[TUBE_STATE__COUNT + 1];

struct tube {
    int64_t id; /* payload of the stock number */
    int64_t stock_no;
    int64_t type_id;
    const char *type;   /* main designation */
    const char *family; /* designation its family is listed under; NULL without */
    int64_t family_id;
    const char *printed; /* designation as printed on it */
    int64_t maker_id;
    const char *maker; /* name; NULL unknown */
    int64_t construction_id;
    const char *construction; /* title */
    const char *date_text;    /* date code as printed */
    int64_t made_first_day, made_last_day;
    int64_t lot_id;
    const char *lot; /* code */
    int64_t lot_line_id;
    int64_t share_minor; /* its share of the lot's cost; NONE unknown */
    int64_t bin_id;
    const char *bin;          /* code */
    int64_t history;          /* enum tube_history */
    const char *history_word; /* on whose word */
    const char *mark;         /* outside mark */
    const char *note;
    int64_t state;         /* enum tube_state */
    const char *grade;     /* of the latest grading; NULL: not graded */
    int64_t unconfirmed;   /* 0, 1 */
    int64_t set_id;        /* the live set it is in; NONE */
    int64_t held_until_ms; /* of its live hold; NONE */
    int64_t created_ms;
    int64_t version;
};

/* Which tubes a list wants.  Absent: NONE or NULL.  One of the fields leads (the first given, in
 * this order), the others filter what it brings. */
struct tube_filter {
    int64_t lot_id, bin_id, type_id, family_id;
    const char *grade;
    int64_t maker_id;
    int64_t state; /* enum tube_state */
    int64_t free;  /* 1: neither in a set nor held, nor shipped, nor scrapped */
};

/* Tubes by number after after_id (NONE: from the first), at most limit.  At most TUBE_VISITED rows
 * are looked at: *more tells that the list was cut for that or for the limit, and *last_id is then
 * the number to go on after.  struct tube. */
#define TUBE_VISITED 5000
void tube_list(struct list *out, int64_t *last_id, bool *more, struct store *st,
               const struct tube_filter *f, int64_t after_id, int64_t limit, struct arena *a);

/* By stock number.  ERR_NOT_FOUND. */
MUST_USE bool tube_load(struct tube *out, struct store *st, int64_t stock_no, struct arena *a,
                        struct err *e);

/* By outside mark; false when there is none. */
bool tube_find_mark(struct tube *out, struct store *st, const char *mark, struct arena *a);

/* Write a new tube in state received.  Read: stock_no (NONE: the next number is given), type_id,
 * printed, maker_id, construction_id, date_text, made_*_day, lot_id, lot_line_id, share_minor,
 * bin_id, history, history_word, mark, note.  *id: its payload.  ERR_CONFLICT when the stock number
 * or the mark is taken. */
MUST_USE bool tube_create(int64_t *id, struct store *st, const struct tube *t, struct arena *a,
                          struct err *e);

/* Change what is given (not NULL, not NONE) of: type_id, printed, maker_id, construction_id,
 * date_text, made_*_day, lot_id, bin_id, history, history_word, mark, note.  t->id and t->version
 * name the row; ERR_CONFLICT when it was changed meanwhile. */
MUST_USE bool tube_change(struct store *st, const struct tube *t, struct arena *a, struct err *e);

/* Move in life.  ERR_CONFLICT naming the legal moves.  Moving where it is already is fine. */
MUST_USE bool tube_move(struct store *st, int64_t id, enum tube_state to, struct arena *a,
                        struct err *e);

/* Move there if that is legal, else leave it: what an inspection or a reading does by itself. */
MUST_USE bool tube_advance(struct store *st, int64_t id, enum tube_state to, struct arena *a,
                           struct err *e);

/* A run of count numbers for a bench that works alone; first and last payloads. */
MUST_USE bool tube_reserve(int64_t *first, int64_t *last, struct store *st, const char *bench,
                           int64_t count, struct arena *a, struct err *e);

#endif
