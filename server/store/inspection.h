/* SPDX-License-Identifier: MIT
 *
 * inspection: what the eye saw of a tube, each look a row that is never changed.
 */
#ifndef QUADRILLE_STORE_INSPECTION_H
#define QUADRILLE_STORE_INSPECTION_H

#include "grade/inspection.h"
#include "store/store.h"

struct look {
    int64_t id;
    int64_t tube_id;
    int64_t at_ms;
    const char *user; /* shown name of who looked (read only) */
    const char *note;
    struct inspection seen;
};

/* Looks at one tube, newest first, at most limit.  struct look. */
void look_list(struct list *out, struct store *st, int64_t tube_id, int64_t limit, struct arena *a);

/* The latest look; false when nobody has looked yet. */
bool look_latest(struct look *out, struct store *st, int64_t tube_id, struct arena *a);

/* Record a look by store_user, and advance the tube to inspected.  at_ms NONE: now. */
MUST_USE bool look_create(int64_t *id, struct store *st, const struct look *l, struct arena *a,
                          struct err *e);

#endif
