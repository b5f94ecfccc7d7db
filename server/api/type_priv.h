/* SPDX-License-Identifier: MIT
 *
 * type_priv: what the routes of types and those of their test points share.
 */
#ifndef QUADRILLE_API_TYPE_PRIV_H
#define QUADRILLE_API_TYPE_PRIV_H

#include "api/route.h"

struct type_ask {
    const char *designation;
};
extern const struct shape TYPE_ASK;

extern const struct shape POINT_VIEW, POINTS, POINT_NEW;

/* The test points of a type as they go out: structs of POINT_VIEW. */
MUST_USE bool type_points(struct list *out, struct store *st, int64_t type_id, struct arena *a,
                          struct err *e);

handler_fn points_get, point_post;

#endif
