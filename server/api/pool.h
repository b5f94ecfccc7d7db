/* SPDX-License-Identifier: MIT
 *
 * pool: from the stock of a family to a problem that the engine solves.
 */
#ifndef QUADRILLE_API_POOL_H
#define QUADRILLE_API_POOL_H

#include "match/answer.h"
#include "store/pool.h"

/* What must be equal within a set, by default (design: family, designation as printed, maker,
 * construction; the family is the pool's own). */
#define POOL_SAME "printed,maker,construction"

struct pool_problem {
    struct match_problem problem;
    const int *tube;           /* [problem.tubes] index into the pool's tubes */
    const char *const *column; /* [problem.coordinates] "ia.6" */
    int left_out;              /* tubes that lack one of the coordinates */
};

/* bands: as match/band reads them, "5%" for the usual quantities (plate current, transconductance,
 * emission, anode current: those the pool has) or "ia=5%,gm=5%" by name.  same: columns of
 * POOL_SAME, grade, lot, joined by ',', or "none"; what is not known equals nothing.  Tubes that
 * lack a coordinate are left out.  Everything in the arena.  Errors as match/band and match/sheet.
 */
MUST_USE bool pool_problem(struct pool_problem *out, const struct stock_pool *pool,
                           const char *bands, const char *same, const struct match_line *demand,
                           int lines, struct arena *a, struct err *e);

/* The values of a tube as JSON, for the snapshot: {"ia.6":"1.200","gm.6":"1.600"}. */
const char *pool_snapshot(const struct stock_pool *pool, const struct pool_tube *t,
                          struct arena *a);

/* The spread of a set in each coordinate as JSON: {"ia.6":"2.31%","vg1":"0.12"}; *worst (may be
 * NULL) the largest share of its band, in permille. */
const char *pool_spread(const struct pool_problem *p, const int *member, int size, int64_t *worst,
                        struct arena *a);

#endif
