/* SPDX-License-Identifier: MIT
 *
 * decode: what the rules of the designation systems say of a name.
 *
 * Every system is a convention with exceptions.  A decoding suggests; it never overrules a
 * catalogue row.  What a system does not say is left empty ("" or NONE): not known, never guessed.
 * One name can be read in several systems (6N8P: GOST or Chinese), so all readings are given, the
 * likeliest first.
 *
 * Allocates nothing.  Rules and their sources: seed-data/catalogue/designations.md, sections named
 * beside the tables of decode_*.c.
 */
#ifndef QUADRILLE_DESIGNATION_DECODE_H
#define QUADRILLE_DESIGNATION_DECODE_H

#include "base/value.h"
#include "designation/fold.h"

enum designation_system {
    SYSTEM_US_RECEIVING,  /* 12AX7, 6SN7GTB */
    SYSTEM_US_POWER,      /* 2C51: figure, letter, serial from 21 */
    SYSTEM_US_INDUSTRIAL, /* 5751: four figures */
    SYSTEM_US_VT,         /* VT-231 */
    SYSTEM_EUROPEAN,      /* ECC83, E88CC */
    SYSTEM_GOST,          /* 6Н8С */
    SYSTEM_GOST_GROUP,    /* СГ1П, Г-807 */
    SYSTEM_CV,            /* CV4004 */
    SYSTEM_M8000,         /* M8137 */
    SYSTEM_BRITISH,       /* KT66, PX4: prefixes of the British trade */
    SYSTEM_CHINESE,       /* 6N8P */
    SYSTEM_JAPANESE,      /* 6R-A8 */
    SYSTEM_SERIAL,        /* 45, 807, 300B: a bare number */
    SYSTEM__COUNT
};
extern const char *const system_names[SYSTEM__COUNT]; /* "us-receiving" ... */

struct decoded {
    enum designation_system system;
    char word[FOLD_BYTES]; /* the name as read, in Latin letters: 6N8S */
    char heater[40];       /* "6.3 V", "300 mA", "none"; "" not known */
    int64_t heater_mv;     /* mV, or NONE */
    int64_t heater_ma;     /* mA, or NONE */
    char kind[120];        /* "triode + triode"; "" not known */
    char base[80];         /* base or envelope; "" not known */
    char serial[12];
    int elements;      /* US: useful elements brought out; 0 not known */
    char quality[100]; /* what the suffix says; "" none */
    char remark[300];  /* cautions, doubts and what breaks the rule */
    bool exception;    /* a rule is broken, or read in an unusual way: see the remark */
};

#define DECODE_READINGS 6

struct decoding {
    size_t count; /* 0: no system has such a name */
    struct decoded reading[DECODE_READINGS];
};

/* Read a text in every system.  Errors as fold_read; a text that no system knows is no error. */
MUST_USE bool decode_text(struct decoding *out, const char *text, struct err *e);

/* The first reading in that system, NULL for none. */
const struct decoded *decoding_in(const struct decoding *d, enum designation_system s);

#endif
