/* SPDX-License-Identifier: MIT
 *
 * lookup: what a typed designation finds among the stored spellings, and how sure that is.
 *
 * The spellings themselves are asked for through a function, so that the answer is the same whether
 * they lie in memory or in a database.
 */
#ifndef QUADRILLE_DESIGNATION_LOOKUP_H
#define QUADRILLE_DESIGNATION_LOOKUP_H

#include "designation/fold.h"

/* How a hit was come by, from the surest. */
enum lookup_reason {
    LOOKUP_EXACT,   /* the same letters as a printed spelling, but for case, spaces and dashes */
    LOOKUP_READING, /* a reading of the text is the key of the spelling */
    LOOKUP_WEAK,    /* only a reading that would misread a sound designation */
    LOOKUP_SUFFIX   /* the same stem: another quality or bulb suffix */
};

/* A stored spelling. */
struct lookup_hit {
    int64_t type; /* the caller's numbers */
    int64_t family;
    const char *spelling;
    bool printed; /* as printed on tubes; false: only a way the trade writes it */
    /* filled by lookup_text: */
    enum lookup_reason reason;
    unsigned why; /* bits of enum fold_why */
    int cost;
    char suffix[FOLD_BYTES]; /* of the stored key, for LOOKUP_SUFFIX; "" for none */
};

/* Fill hits with the spellings stored under a key (or, when stem is set, with that stem): type,
 * family, spelling, printed.  At most `room`; return how many were written, in any order.  The
 * texts must live as long as the caller needs the answer. */
typedef size_t lookup_find_fn(void *ctx, const char *key, bool stem, struct lookup_hit *hits,
                              size_t room);

enum lookup_verdict {
    LOOKUP_IS,         /* hit[0] is it: one type, or several names of one family in the text */
    LOOKUP_AMBIGUOUS,  /* several types could be meant, or one only by a weak reading */
    LOOKUP_CANDIDATES, /* nothing but types of the same stem */
    LOOKUP_UNKNOWN     /* nothing: decode it, offer near spellings */
};

#define LOOKUP_HITS 48

/* One hit a type, the surest first; those with reason LOOKUP_SUFFIX come last, after an answer too,
 * so that 6L6 shows 6L6GC beside it. */
struct lookup {
    enum lookup_verdict verdict;
    size_t meant; /* hits that are not LOOKUP_SUFFIX */
    size_t count;
    struct lookup_hit hit[LOOKUP_HITS];
};

/* Errors as fold_read. */
MUST_USE bool lookup_text(struct lookup *out, const char *text, lookup_find_fn *find, void *ctx,
                          struct err *e);

/* Why a hit is there, as a phrase for a person.  buf needs LOOKUP_WHY_BYTES; returns buf. */
#define LOOKUP_WHY_BYTES (FOLD_WHY_BYTES + 120)
const char *lookup_why_print(char *buf, const struct lookup_hit *h);

#endif
