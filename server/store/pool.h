/* SPDX-License-Identifier: MIT
 *
 * pool: the tubes of a family that may become members of sets, with their standing values.
 *
 * In the pool: tested or shelved, confirmed, not of the scheme's last grade where that stands for
 * what is not for sale, in no live set, not held, with a standing value at the test point. Sections
 * are named by their anode pin, so that handbooks which number them differently agree.
 */
#ifndef QUADRILLE_STORE_POOL_H
#define QUADRILLE_STORE_POOL_H

#include "store/store.h"

/* A coordinate: one quantity of one section at the test point. */
struct pool_column {
    const char *quantity; /* code */
    int64_t pin;          /* anode pin; 0 for the whole tube or where pins are not known */
    int64_t decimals;
    const char *unit;
};

struct pool_tube {
    int64_t id, stock_no;
    const char *printed, *maker, *construction, *grade, *lot, *bin; /* NULL: not known */
    int64_t *value;   /* one for each column, NONE where it does not stand */
    int64_t *u_milli; /* own standard uncertainty, thousandths of a last place; NONE */
};

struct stock_pool {
    const char *family; /* the designation it is listed under */
    int64_t test_point_id;
    const char *test_point; /* its title */
    struct list columns;    /* struct pool_column, by quantity, then pin */
    struct list tubes;      /* struct pool_tube, by number */
};

struct pool_ask {
    int64_t family_id;     /* NONE: type_id alone */
    int64_t type_id;       /* used when family_id is NONE */
    int64_t test_point_id; /* NONE: the one at which most of them were read */
    int64_t also_id;       /* a tube that is in the pool whatever holds it or not; NONE */
};

/* ERR_NOT_FOUND when no tube of the family has a standing value. */
MUST_USE bool pool_load(struct stock_pool *out, struct store *st, const struct pool_ask *ask,
                        struct arena *a, struct err *e);

#endif
