/* SPDX-License-Identifier: MIT
 *
 * equivalence_priv: differences and statements as they go out, and the routes of one's own
 * statements.
 */
#ifndef QUADRILLE_API_EQUIVALENCE_PRIV_H
#define QUADRILLE_API_EQUIVALENCE_PRIV_H

#include "api/route.h"
#include "catalogue/compare.h"
#include "catalogue/equivalence.h"

extern const struct shape DIFFERENCE;

/* The gravest differences, at most `most`: structs of DIFFERENCE. */
struct list differences_view(const struct comparison *c, size_t most, struct arena *a);

extern const char *const equivalence_relations[RELATION__COUNT + 1]; /* NULL last */
#define RELATION_HELP                                                                              \
    "same; improved: never the reverse; close: read the conditions; heater-differs, cap-differs, " \
    "base-differs: not without work"

struct statement_view {
    const char *from, *to, *relation, *conditions, *known, *source, *where;
    int64_t backwards;
};
extern const struct shape STATEMENT, STATEMENT_NEW, STATEMENT_GO;

/* What is entered of a statement: shape STATEMENT_NEW. */
struct statement_new {
    const char *from, *to, *conditions, *source, *where;
    int64_t relation; /* enum relation */
};

/* The same, read: the rows of its types, and what lib made of it. */
struct statement {
    int64_t from_id, to_id;
    struct equivalence said;
};
MUST_USE bool statement_read(struct statement *out, struct store *st,
                             const struct statement_new *in, struct arena *a, struct err *e);

handler_fn statement_post, statement_delete;

#endif
