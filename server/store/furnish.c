/* SPDX-License-Identifier: MIT
 *
 * furnish: the order matters: nominal values name quantities, a scheme names quantities.
 */
#include "store/furnish.h"

#include <time.h>

#include "store/bundle.h"
#include "store/grade.h"
#include "store/people.h"
#include "store/quantity.h"

static bool put_all(struct store *st, struct err *e)
{
    struct bundle b;
    struct arena *a = arena_new();
    bundle_packed(&b);
    bool ok =
        quantity_refresh(st, e) && bundle_load(NULL, st, &b, e) && grade_scheme_refresh(st, a, e);
    arena_free(a);
    return ok;
}

bool store_furnish(struct store *st, struct err *e)
{
    struct timespec t;
    clock_gettime(CLOCK_REALTIME, &t);
    store_as(st, PEOPLE_LOCAL, (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000);
    if (!store_begin(st, e))
        return false;
    if (!store_mark(st, e)) {
        store_abort(st);
        return false;
    }
    if (!put_all(st, e)) {
        store_undo(st);
        store_abort(st);
        return false;
    }
    if (!store_keep(st, e)) {
        store_abort(st);
        return false;
    }
    return store_commit(st, e);
}
