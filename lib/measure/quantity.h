/* SPDX-License-Identifier: MIT
 *
 * quantity: what a tester can read, and how a typed reading becomes a number.
 *
 * A quantity is a row of data: the owner may add his own.  The rows that every dealer needs are
 * built in (quantity_builtin) and are what a new data folder starts with.
 *
 * A reading is kept as typed.  quantity_value_parse turns the text into the exact decimal in the
 * quantity's unit and into the int64 at its decimals, rounded once, half to even; it refuses only
 * what cannot be.  What is merely unlikely is asked about, in measure/plausible.h.
 */
#ifndef QUADRILLE_MEASURE_QUANTITY_H
#define QUADRILLE_MEASURE_QUANTITY_H

#include "base/decimal.h"
#include "base/err.h"

enum quantity_better {
    QUANTITY_HIGHER, /* transconductance, emission */
    QUANTITY_LOWER,  /* leakage, gas, noise */
    QUANTITY_NEARER, /* nearer to the nominal value: plate current, heater current */
    QUANTITY_NONE,   /* neither */
    QUANTITY_BETTER__COUNT
};

enum quantity_scope {
    QUANTITY_SECTION, /* one value per section */
    QUANTITY_TUBE,    /* one value per tube */
    QUANTITY_SCOPE__COUNT
};

enum quantity_kind {
    QUANTITY_NUMERIC,
    QUANTITY_ORDINAL, /* a place in an ordered list of words: noise by ear */
    QUANTITY_KIND__COUNT
};

#define QUANTITY_CODE_BYTES   24  /* the longest code, with its terminating zero */
#define QUANTITY_NAME_MAX     80  /* bytes of a name, */
#define QUANTITY_STEPS_MAX    160 /* and of all steps together: they are quoted in messages */
#define QUANTITY_DECIMALS_MAX 9

struct quantity {
    const char *code; /* "gm": a-z, 0-9 and '-', a letter first */
    const char *name; /* "transconductance" */
    const char *unit; /* as unit_find takes it, "mA/V"; "" for a pure number and for ordinals */
    int decimals;     /* of the values compared, 0..QUANTITY_DECIMALS_MAX; 0 for ordinals */
    enum quantity_better better;
    enum quantity_scope scope;
    enum quantity_kind kind;
    bool relative;       /* of a scale without a unit of its own: percent, or an arbitrary meter */
    int64_t least;       /* at decimals: below is impossible and refused; 0 for what has no sign */
    int64_t most;        /* at decimals: above is impossible and refused */
    int64_t usual_least; /* at decimals: what receiving and small power tubes read; for the unit */
    int64_t usual_most;  /* slip of a type about which nothing is known; both 0: not stated */
    const char *steps; /* ordinals: the words from the first step to the last, "none|slight|bad" */
};

/* The built-in rows, sorted by code; *count of them.  Static. */
const struct quantity *quantity_builtin(size_t *count);

/* The built-in row of that code, or NULL. */
const struct quantity *quantity_find(const char *code);

/* Is the row fit for use?  ERR_INVALID, e->field naming the member, for: a code that is empty, long
 * or holds other characters; a name that is empty, long or ill-formed; an unknown unit; decimals
 * out of range; least above most; usual_least above usual_most; an ordinal with a unit, with
 * decimals or with fewer than two steps, an empty step, or steps too long. */
MUST_USE bool quantity_check(const struct quantity *q, struct err *e);

/* Number of steps of an ordinal; 0 for a numeric quantity. */
int quantity_step_count(const struct quantity *q);

struct quantity_value {
    struct decimal typed; /* as typed, in the unit typed (ordinals: the step) */
    struct decimal exact; /* the same number in the quantity's unit; only the point has moved */
    int64_t scaled;       /* at q->decimals, half to even; ordinals: the step, from 0 */
};

/* Read what the bench hand typed or a script sent.
 *   s, n          "5200 micromho", "5.2 mA/V", "5,2"; ordinals: a step's word or its number
 *   default_unit  the unit of a number without one: the tester's scale; NULL or "" means q->unit
 * ERR_INVALID with e->field = q->code: no number; a unit of another dimension; below zero where the
 * quantity has no sign; a word that is no step; more digits than are taken.  ERR_TOO_LARGE: a
 * magnitude that no tube has.  Each sentence names what came and what would be right. */
MUST_USE bool quantity_value_parse(struct quantity_value *out, const struct quantity *q,
                                   const char *s, size_t n, const char *default_unit,
                                   struct err *e);

/* Print a value at q->decimals with its unit ("5.200 mA/V"), or the step's word.  buf needs
 * QUANTITY_PRINT_BYTES; returns buf. */
#define QUANTITY_PRINT_BYTES 96
const char *quantity_value_print(char *buf, const struct quantity *q, int64_t scaled);

/* A scaled value as a double in the quantity's unit, for the mathematics of this folder and of
 * lib/model only. */
double quantity_value_real(const struct quantity *q, int64_t scaled);

#endif
