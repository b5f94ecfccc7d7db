/* SPDX-License-Identifier: MIT
 *
 * scheme_priv: between the files that make up scheme.
 */
#ifndef QUADRILLE_GRADE_SCHEME_PRIV_H
#define QUADRILLE_GRADE_SCHEME_PRIV_H

#include "base/decimal.h"
#include "grade/scheme.h"

struct reader {
    struct scheme *s;
    struct arena *arena;
    const struct quantity *quantity;
    size_t quantity_count;
    int64_t line;
    bool header; /* the line that names the columns has been read */
};

/* Read the value of r, whose op and subject are known.  ERR_INVALID, e->field "value". */
typedef bool scheme_value_fn(struct scheme_requirement *r, const char *value, struct err *e);
scheme_value_fn scheme_value_least, scheme_value_named, scheme_value_none, scheme_value_of_nominal,
    scheme_value_percent, scheme_value_range, scheme_value_drift, scheme_value_hours;

/* d at the given decimals; refused where digits would be lost.  what: "the guard band". */
MUST_USE bool scheme_exact(int64_t *out, struct decimal d, int decimals, const char *what,
                           struct err *e);

/* A number above 0 and at most `most`, at the given decimals. */
MUST_USE bool scheme_number(int64_t *out, const char *s, size_t n, int decimals, int64_t most,
                            const char *what, struct err *e);

/* The checks that need the whole scheme: see scheme_parse. */
MUST_USE bool scheme_check(const struct scheme *s, struct err *e);

#endif
