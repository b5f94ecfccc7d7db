/* SPDX-License-Identifier: MIT
 *
 * equivalence: one's own statements that one type may stand in for another.
 */
#ifndef QUADRILLE_STORE_EQUIVALENCE_H
#define QUADRILLE_STORE_EQUIVALENCE_H

#include "catalogue/equivalence.h"
#include "store/store.h"

/* State `said` between two types (its designations are theirs).  One's own earlier statement of the
 * same pair is replaced; a bundled one is overridden.  Families follow.  ERR_CONFLICT as
 * catalogue_add_equivalence: the figures of the two contradict it. */
MUST_USE bool equivalence_state(int64_t *id, struct store *st, int64_t from_id, int64_t to_id,
                                const struct equivalence *said, struct arena *a, struct err *e);

/* One's own statement of that pair, its designations left out; false when there is none. */
bool equivalence_own(struct equivalence *out, struct store *st, int64_t from_id, int64_t to_id,
                     struct arena *a);

/* Take one's own statement of that pair back; a bundled one then holds again.  ERR_NOT_FOUND. */
MUST_USE bool equivalence_withdraw(struct store *st, int64_t from_id, int64_t to_id,
                                   struct arena *a, struct err *e);

#endif
