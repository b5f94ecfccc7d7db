/* SPDX-License-Identifier: MIT
 *
 * type_priv: what the routes of types and those of their test points share.
 */
#ifndef QUADRILLE_API_TYPE_PRIV_H
#define QUADRILLE_API_TYPE_PRIV_H

#include "api/route.h"
#include "catalogue/type.h"

struct type_ask {
    const char *designation;
};
extern const struct shape TYPE_ASK;

/* What is entered of a type: texts by enum type_column, the sections as a number. */
struct type_form {
    const char *text[TYPE__COLUMNS];
    int64_t sections;
};
extern const struct shape TYPE_NEW;

/* Complete the texts and check them as a line of the bundled table is checked.  ERR_INVALID naming
 * the field. */
MUST_USE bool type_form_read(struct type_form *form, struct arena *a, struct err *e);

/* Another type that answers to the very letters would make both unfindable: ERR_CONFLICT.  The type
 * of this very designation is none other. */
MUST_USE bool type_name_is_free(struct store *st, const char *designation, struct err *e);

extern const struct shape POINT_VIEW, POINTS, POINT_NEW;

/* The test points of a type as they go out: structs of POINT_VIEW. */
MUST_USE bool type_points(struct list *out, struct store *st, int64_t type_id, struct arena *a,
                          struct err *e);

handler_fn points_get, point_post;

#endif
