/* SPDX-License-Identifier: MIT
 *
 * tube: routes of tubes: list, scan, one tube, moves in life, number blocks.
 */
#ifndef QUADRILLE_API_TUBE_H
#define QUADRILLE_API_TUBE_H

#include "api/route.h"

extern const struct route tube_routes[];

/* The shape of a tube in replies, for other nouns that show tubes. */
extern const struct shape TUBE;

/* A path's stock number, alone: struct tube_ask. */
struct tube_ask {
    int64_t stock_no;
};
extern const struct shape TUBE_ASK;

/* A new tube in the caller's words; shared by POST and by bulk loads. */
struct tube_new {
    int64_t stock_no; /* NONE: the next */
    const char *printed, *maker, *construction, *date, *lot, *bin, *history_word, *mark, *note;
    int64_t lot_line; /* id; NONE */
    int64_t history;  /* enum tube_history; NONE: unknown */
};
extern const struct shape TUBE_NEW;

struct tube;

/* Resolve the words of a new tube to rows.  Each failure names its field. */
MUST_USE bool tube_from_words(struct tube *out, struct store *st, const struct tube_new *in,
                              struct arena *a, struct err *e);

#endif
