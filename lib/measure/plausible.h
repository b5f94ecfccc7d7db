/* SPDX-License-Identifier: MIT
 *
 * plausible: questions put to the bench hand before a reading is kept.
 *
 * Every rule is a row of a table; each looks at what was just read of one tube and at what is known
 * beside it, and asks in a sentence with the numbers.  A question does not refuse: the reading is
 * kept when the bench hand confirms it, and carries the rule's code for ever.  Only what cannot be
 * is refused.  Pure: what is known is handed in.
 */
#ifndef QUADRILLE_MEASURE_PLAUSIBLE_H
#define QUADRILLE_MEASURE_PLAUSIBLE_H

#include "base/arena.h"
#include "base/value.h"
#include "measure/quantity.h"
#include "measure/statistics.h"

#define PLAUSIBLE_TUBE (-1) /* the section of a quantity that belongs to the whole tube */
#define PLAUSIBLE_HEAT_S                                                         \
    60 /* time on heat asked for where the test point says nothing: readings are \
          stable enough after 1 to 2 minutes (test practice, common practice) */

/* One value just read (of repeats: the last), with what is known about it.  Numbers are at the
 * quantity's decimals; NONE (base/value.h) where nothing is known. */
struct plausible_entry {
    const struct quantity *quantity;
    int section;              /* 0.. in the order of the type's sections, or PLAUSIBLE_TUBE */
    const char *section_name; /* "1", "pin 6"; "" for the tube */
    struct quantity_value value;
    int64_t nominal; /* the test point's nominal value and limits */
    int64_t low;
    int64_t high;
    struct robust family; /* standing values of the same family, test point and method; count 0 */
    struct robust lot;    /* the same within this tube's lot; count 0 */
    int64_t previous;     /* the tube read just before on this tester, same section and quantity */
    int64_t earlier;      /* this tube's own standing value before this sitting */
};

struct plausible_case {
    const struct plausible_entry *entry;
    size_t count;
    int64_t heated_s;      /* seconds on heat when read; NONE: not known */
    int64_t heat_needed_s; /* of the test point; NONE: PLAUSIBLE_HEAT_S */
    bool cold_cathode;     /* regulators and the like: no heater, so nothing about heat is asked */
    bool shorted;          /* a short or a leak was found, which ends a test */
};

enum plausible_severity {
    PLAUSIBLE_ASK,    /* kept when confirmed, flagged for ever */
    PLAUSIBLE_REFUSE, /* cannot be */
    PLAUSIBLE_SEVERITY__COUNT
};

struct plausible_question {
    const char *rule; /* code of the row, "unit-slip"; static */
    enum plausible_severity severity;
    const struct quantity *quantity; /* NULL where the whole sitting is meant */
    int section;                     /* PLAUSIBLE_TUBE where no section is meant */
    int64_t suggest;      /* the value probably meant, at the quantity's decimals, or NONE */
    const char *sentence; /* in the arena */
};

struct plausible_questions {
    struct plausible_question *item; /* in the arena; by rule, then as the entries came */
    size_t count;
};

/* A row as the pages and the documentation list it. */
struct plausible_rule {
    const char *code;
    const char *says; /* one line */
};

/* All rules in the order in which they ask; *count of them.  Static. */
const struct plausible_rule *plausible_rules(size_t *count);

/* Ask everything there is to ask.  Ordinal quantities are never asked about.  An empty answer means
 * that nothing speaks against keeping the readings. */
struct plausible_questions plausible_check(const struct plausible_case *c, struct arena *a);

#endif
