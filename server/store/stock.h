/* SPDX-License-Identifier: MIT
 *
 * stock: how many of a type can be had: neither in a set nor held, nor gone.
 */
#ifndef QUADRILLE_STORE_STOCK_H
#define QUADRILLE_STORE_STOCK_H

#include "store/store.h"

struct stock_grade {
    const char *grade; /* of the latest grading; NULL: not graded */
    int64_t count;
};

struct stock {
    int64_t free;         /* how many */
    int64_t visited;      /* numbered tubes looked at */
    bool least;           /* there are older ones that were not looked at: at least so many */
    struct list by_grade; /* struct stock_grade, by grade */
};

/* Count the free tubes among the newest `visit` of a type (at least 1). */
void stock_count(struct stock *out, struct store *st, int64_t type_id, int64_t visit,
                 struct arena *a);

#endif
