/* SPDX-License-Identifier: MIT
 *
 * state: the life of a tube in the house, and the one table of moves that are legal.
 *
 * A state is the tube's life only.  That it belongs to a set or is held for somebody are rows of
 * their own: a held quad is both.  The database refuses what this table does not allow, by a
 * trigger whose text is printed from the table, so that the two can never differ.
 */
#ifndef QUADRILLE_ORDER_STATE_H
#define QUADRILLE_ORDER_STATE_H

#include "base/err.h"

enum tube_state {
    TUBE_RECEIVED,   /* it is in the house and has a number */
    TUBE_INSPECTED,  /* looked at */
    TUBE_TESTED,     /* measured, lying on the bench */
    TUBE_SHELVED,    /* in its bin */
    TUBE_SHIPPED,    /* gone to a customer */
    TUBE_RETURNED,   /* came back, not yet looked at again */
    TUBE_SCRAPPED,   /* thrown away, broken up or lost */
    TUBE_CHECK_TUBE, /* kept aside to watch a tester with */
    TUBE_STATE__COUNT
};

struct tube_move {
    enum tube_state from, to;
    const char *why; /* what the person does, for the page that offers the move */
};

/* "check-tube": in files, in the database, over the API. */
const char *tube_state_code(enum tube_state s);

/* ERR_INVALID naming what came and the states there are. */
MUST_USE bool tube_state_find(enum tube_state *out, const char *s, size_t n, struct err *e);

/* All legal moves, ordered by from, then to. */
const struct tube_move *tube_moves(size_t *count);

/* NULL when the move is not legal.  Staying where it is is no move, and not in the table. */
const struct tube_move *tube_move_find(enum tube_state from, enum tube_state to);
bool tube_move_legal(enum tube_state from, enum tube_state to);

/* ERR_CONFLICT with "a received tube cannot become shipped: it may become inspected, ..." */
MUST_USE bool tube_move_check(enum tube_state from, enum tube_state to, struct err *e);

/* The states that may follow, for messages: "inspected, tested or scrapped".  buf needs
 * TUBE_MOVES_BYTES; returns buf. */
#define TUBE_MOVES_BYTES 160
const char *tube_moves_from(char *buf, enum tube_state from);

/* The SQL text of the trigger tube_move on table tube (column state TEXT NOT NULL): BEFORE UPDATE
 * OF state, it raises ABORT naming the moves that are legal.  Ends in ";\n".  Writes at most size
 * bytes with the terminating zero; returns the bytes needed without it, as snprintf does.
 * TUBE_MOVES_SQL_BYTES are enough. */
#define TUBE_MOVES_SQL_BYTES 4096
size_t tube_moves_sql(char *buf, size_t size);

#endif
