/* SPDX-License-Identifier: MIT
 *
 * feature: the marks that tell one maker's construction from another's, claimed against observed.
 *
 * A construction in the catalogue claims features ("getter-holder" is "D", "plate-finish" is
 * "grey"); whoever inspects a tube notes what he sees.  A difference is a warning on the tube, and
 * keeps it from the best grade until the owner has cleared it (grade/grade.h).  What one side does
 * not tell proves nothing.  Which features there are is the owner's own list: any words do.
 */
#ifndef QUADRILLE_GRADE_FEATURE_H
#define QUADRILLE_GRADE_FEATURE_H

#include "base/arena.h"
#include "base/err.h"

#define FEATURE_MAX 200 /* the most features of one side */

struct feature {
    const char *kind;  /* "getter-holder": what is looked at */
    const char *value; /* "D": what it is */
};

enum feature_verdict {
    FEATURE_AGREES,
    FEATURE_DIFFERS,
    FEATURE_UNSEEN,   /* claimed, but nobody noted it */
    FEATURE_UNCLAIMED /* noted, but the construction says nothing of it */
};

struct feature_row {
    const char *kind;
    enum feature_verdict verdict;
    const char *claimed;  /* values joined by " or ", NULL where unclaimed */
    const char *observed; /* NULL where unseen */
    const char *text;     /* "getter-holder is ring, but D is claimed" */
};

struct feature_result {
    bool mismatch; /* at least one differs */
    size_t count;
    struct feature_row *rows; /* those that differ first, then as claimed, then as observed */
};

/* Compare.  A construction may claim several values of one kind: any of them agrees.  Letter case
 * of A-Z does not matter.  Everything returned is in the arena.
 * ERR_INVALID, e->field the kind: an empty kind or value; one kind observed with two values.
 * ERR_TOO_LARGE: more than FEATURE_MAX on a side. */
MUST_USE bool feature_compare(struct feature_result *out, struct arena *a,
                              const struct feature *claimed, size_t claimed_count,
                              const struct feature *observed, size_t observed_count, struct err *e);

const char *feature_verdict_code(enum feature_verdict v); /* "agrees", "differs" ... */

#endif
