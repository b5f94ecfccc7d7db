/* SPDX-License-Identifier: MIT
 *
 * equivalence: "`to` may stand in for `from`", directed and conditioned; spellings and hazards, the
 * other small statements about designations.  Each with its source and how it is known.
 */
#ifndef QUADRILLE_CATALOGUE_EQUIVALENCE_H
#define QUADRILLE_CATALOGUE_EQUIVALENCE_H

#include "base/arena.h"
#include "catalogue/sheet.h"

/* From the strongest to the weakest.  Only RELATION_SAME holds both ways. */
enum relation {
    RELATION_SAME,
    RELATION_IMPROVED,       /* better in every stated way; never the reverse */
    RELATION_CLOSE,          /* figures differ somewhat: read the conditions */
    RELATION_HEATER_DIFFERS, /* not without another heater supply or wiring */
    RELATION_CAP_DIFFERS,    /* an electrode comes out on a top cap */
    RELATION_BASE_DIFFERS,   /* not without another socket or rewiring */
    RELATION__COUNT
};
extern const char *const relation_words[RELATION__COUNT];

struct equivalence {
    const char *from, *to; /* designations */
    enum relation relation;
    const char *conditions; /* "" none stated */
    const char *source;
    enum how how;
    const char *where; /* address read, "" none */
};

/* How the statement as a whole is known.  Where the address carries a remark behind it, in round
 * brackets, that something is from memory, ours or was not seen (the pair was read, the relation
 * word or the conditions were not), the whole is HOW_MEMORY: it must be checked before anybody acts
 * on it.  Otherwise q->how. */
enum how equivalence_known(const struct equivalence *q);

enum equivalence_column {
    EQUIVALENCE_FROM,
    EQUIVALENCE_TO,
    EQUIVALENCE_RELATION,
    EQUIVALENCE_CONDITIONS,
    EQUIVALENCE_SOURCE,
    EQUIVALENCE_HOW,
    EQUIVALENCE_WHERE,
    EQUIVALENCE__COLUMNS
};
extern const char *const equivalence_columns[EQUIVALENCE__COLUMNS];
#define EQUIVALENCE_REQUIRED 3

/* Texts in the arena.  ERR_INVALID with e->line, e->field: a designation that is none, a type
 * standing in for itself, an unknown relation, a relation that needs conditions without any. */
MUST_USE bool equivalence_read(struct equivalence *out, const struct sheet *s,
                               const struct csv_record *r, struct arena *a, struct err *e);

enum spelling_kind {
    SPELLING_PRINTED, /* as it stands on the glass, such as the Cyrillic original */
    SPELLING_TRADE,   /* as the trade writes it: look-alike letters, transliterations */
    SPELLING__COUNT
};
extern const char *const spelling_words[SPELLING__COUNT];

struct spelling {
    const char *designation; /* the main spelling it belongs to */
    const char *text;
    enum spelling_kind kind;
    const char *why;
    const char *source;
    enum how how;
    const char *where;
};

enum spelling_column {
    SPELLING_DESIGNATION,
    SPELLING_TEXT,
    SPELLING_KIND,
    SPELLING_WHY,
    SPELLING_SOURCE,
    SPELLING_HOW,
    SPELLING_WHERE,
    SPELLING__COLUMNS
};
extern const char *const spelling_columns[SPELLING__COLUMNS];
#define SPELLING_REQUIRED 2

/* As equivalence_read.  An empty kind is "printed". */
MUST_USE bool spelling_read(struct spelling *out, const struct sheet *s, const struct csv_record *r,
                            struct arena *a, struct err *e);

enum hazard_kind {
    HAZARD_RADIOACTIVE,
    HAZARD_MERCURY,
    HAZARD_BERYLLIA,
    HAZARD_HIGH_VOLTAGE,
    HAZARD_HOT,
    HAZARD__COUNT
};
extern const char *const hazard_words[HAZARD__COUNT];

struct hazard {
    const char *designation;
    enum hazard_kind kind;
    const char *words; /* the caution, for a person */
    const char *source;
    enum how how;
    const char *where;
};

enum hazard_column {
    HAZARD_DESIGNATION,
    HAZARD_HAZARD,
    HAZARD_WORDS,
    HAZARD_SOURCE,
    HAZARD_HOW,
    HAZARD_WHERE,
    HAZARD__COLUMNS
};
extern const char *const hazard_columns[HAZARD__COLUMNS];
#define HAZARD_REQUIRED 3

/* As equivalence_read. */
MUST_USE bool hazard_read(struct hazard *out, const struct sheet *s, const struct csv_record *r,
                          struct arena *a, struct err *e);

#endif
