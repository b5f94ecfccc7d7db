/* SPDX-License-Identifier: MIT
 *
 * family: which types are the same tube, and what may stand in for what.
 *
 * Statements are directed links, "`to` may stand in for `from`".  Only `same` reads both ways and
 * closes into families.  Everything else is a chain of links: it collects the conditions of every
 * step, is known no better than its least known step, and is never stronger than its weakest link.
 *
 * A type is a number 0..types-1; the caller decides what the numbers mean.  The graph keeps
 * pointers into the caller's links: they must outlive it.
 */
#ifndef QUADRILLE_CATALOGUE_FAMILY_H
#define QUADRILLE_CATALOGUE_FAMILY_H

#include "base/arena.h"
#include "catalogue/equivalence.h"

struct link {
    int64_t id;   /* the caller's, carried along */
    int from, to; /* 0..types-1, different */
    enum relation relation;
    enum how how;
    const char *conditions, *source, *where; /* "" for none */
};

struct graph; /* in the arena */

/* types >= 0; every link's ends below it (asserted).  Cost: types + links. */
struct graph *graph_new(struct arena *a, int types, const struct link *links, size_t count);

/* The family a type belongs to, named by its lowest member's number. */
int family_of(const struct graph *g, int type);

/* Members in rising order, the type itself among them; in the arena, *count of them. */
const int *family_members(const struct graph *g, int type, size_t *count, struct arena *a);

enum stand_in {
    STAND_IN_FOR, /* what may be put where the type was */
    STAND_IN_OF   /* where the type may be put: what it may replace */
};

/* How far to go. */
struct stand_in_limit {
    enum relation weakest; /* the weakest relation a chain may hold; RELATION_BASE_DIFFERS: all */
    int unequal;           /* the most links that are not `same`; 0: the family only */
};
#define STAND_IN_ALL ((struct stand_in_limit){RELATION_BASE_DIFFERS, 3})

struct step {
    const struct link *link;
    bool backwards; /* a `same` read from `to` to `from` */
};

struct replacement {
    int type;
    enum relation weakest;
    unsigned
        relations;  /* bits 1 << enum relation of every step: the heater bit stays on for good */
    int unequal;    /* steps that are not `same` */
    int remembered; /* steps that rest on memory alone */
    size_t steps;   /* >= 1 */
    const struct step *step; /* in the order in which tubes are exchanged, old to new */
    size_t conditions;
    const char *const *condition; /* of the steps in order, none twice */
};

/* Everything within the limit, best first: weakest link, then unequal steps, then remembered steps,
 * then steps, then type number.  Never the type itself, nothing twice.  Of several chains to one
 * type the best by the same order is given.  In the arena. */
const struct replacement *stand_in_find(const struct graph *g, int type, enum stand_in direction,
                                        struct stand_in_limit limit, size_t *count,
                                        struct arena *a);

#endif
