/* SPDX-License-Identifier: MIT
 *
 * standing: deriving the current value of a tube's section from its readings.  Used by the store's
 * own files; what others read of it is in reading.h.
 */
#ifndef QUADRILLE_STORE_STANDING_H
#define QUADRILLE_STORE_STANDING_H

#include "store/reading.h"

/* One value as measure/quantity reads it, at the tester's scale.  On a relative scale the number
 * stays in the scale's own unit. */
MUST_USE bool standing_parse(struct quantity_value *out, struct store *st, int64_t tester_id,
                             const struct quantity *q, const struct reading_value *v,
                             struct arena *a, struct err *e);

/* Derive one standing value anew: from the latest sitting that holds readings that stand, its
 * repeats averaged.  Removes the row when none stands, or when the scale is relative and was not
 * calibrated. */
MUST_USE bool standing_refresh(struct store *st, int64_t tube_id, int64_t section,
                               const char *quantity, int64_t test_point_id, const char *method,
                               struct arena *a, struct err *e);

#endif
