/* SPDX-License-Identifier: MIT
 *
 * fold: one key for the many ways a designation is printed, typed and misread.
 *
 * The rule, in two halves:
 *
 *   stored      Every spelling in the catalogue is stored under ONE key, fold_key(spelling): the
 * word as it most plausibly means, in Latin letters without case, spaces and dashes, Cyrillic
 *               letters by their meaning (6П6С is 6P6S), letter O written as figure 0 and I as 1.
 *               Beside it stands fold_stem(key), the key without its quality or bulb suffix.
 *   looked up   What a person typed is read in every plausible way, fold_read(text), at most
 * FOLD_KEYS of them: 6П6C with a Latin C is 6P6S or 6P6C, 6H8C is 6H8C, 6N8S or 6N8C.  Every stored
 *               spelling whose key is among them is a hit.
 *
 * Only one side is expanded, so a stored 6C4 is never found by 6S4 merely because a Cyrillic S
 * looks like a C.  Hits are ranked by lookup.h: the very spelling wins, then the same letters, then
 * the readings; hits on different types are never merged but listed, each with why.
 *
 * A suffix that was lost or added (GT, G, GC, W, WA, -В, -ЕВ) makes another key with the same stem.
 * Same stem means "candidate", never "found".  The JAN mark in front is no part of the name
 * (MIL-E-1) and is dropped by both halves.
 *
 * Allocates nothing.  Letters and sources: seed-data/catalogue/designations.md, repeated beside
 * the tables in fold.c and word.c.
 */
#ifndef QUADRILLE_DESIGNATION_FOLD_H
#define QUADRILLE_DESIGNATION_FOLD_H

#include "base/err.h"

#define DESIGNATION_CHARS 32  /* the longest designation taken, in characters */
#define DESIGNATION_BYTES 128 /* and in bytes */
#define FOLD_BYTES        72  /* a key with its terminating zero: A-Z without I and O, 0-9 */
#define FOLD_KEYS         16  /* the most readings of one text */

/* Why a key is not simply the letters typed.  Bits. */
enum fold_why {
    FOLD_PLAIN = 0,
    FOLD_CYRILLIC_MEANT = 1, /* a Latin letter read as the Cyrillic one drawn alike (C as С, S) */
    FOLD_LATIN_MEANT = 2,    /* a Cyrillic letter read as the Latin one drawn alike (С as C) */
    FOLD_TRADE = 4, /* a transliteration of the trade (J for Ж, C or Z for Ц, H for Х) */
    FOLD_MARK = 8,  /* JAN mark left out */
    FOLD_PART = 16, /* one of several names in the text (12AX7/ECC83) */
    FOLD_WEAK = 32  /* possible, but the word is a sound designation as it stands (6H6, 6С4):
                       a hit through such a key is a suggestion, never an answer */
};

struct fold_key {
    char text[FOLD_BYTES];
    char word[FOLD_BYTES]; /* the same reading with O and I as they were typed, for decode.h */
    unsigned why;          /* bits of enum fold_why */
    int cost;              /* letters that had to be read otherwise; 0 is the plainest */
};

/* All readings of a text, the cheapest first; key[0] is what fold_key gives for the first name. */
struct fold {
    size_t count; /* 1..FOLD_KEYS */
    struct fold_key key[FOLD_KEYS];
};

/* Check that text could be a designation: 1..DESIGNATION_CHARS characters, Latin, Cyrillic or Greek
 * letters, figures, spaces, dashes, points; at least one letter or figure; well-formed UTF-8.
 * A slash, "=", or a bracket (two names in one) is refused here: enter them one by one.
 * ERR_INVALID or ERR_TOO_LARGE, e->at = byte offset of the first thing not understood. */
MUST_USE bool designation_check(const char *text, struct err *e);

/* Every plausible reading of what was typed.  As designation_check, but two or three names joined
 * by
 * "/", "=" or brackets are read each for itself.  Errors as there. */
MUST_USE bool fold_read(struct fold *out, const char *text, struct err *e);

/* The key a spelling is stored under.  Errors as fold_read. */
MUST_USE bool fold_key(char key[FOLD_BYTES], const char *text, struct err *e);

/* The key without suffix: 6SN7GTB -> 6SN7, 6P3SE -> 6P3S, EF37A -> EF37, VT107A -> VT107.  A key
 * without a known suffix is its own stem.  suffix (may be NULL) gets what was cut, "" for nothing.
 */
void fold_stem(char stem[FOLD_BYTES], char suffix[FOLD_BYTES], const char *key);

/* How near two spellings are as written. */
enum fold_likeness {
    FOLD_OTHER,   /* different letters */
    FOLD_SAME,    /* the same letters of the same alphabets, but for case, spaces and dashes */
    FOLD_VERBATIM /* the same bytes */
};
enum fold_likeness fold_compare(const char *a, const char *b);

/* The reasons as a phrase for a person, such as "Latin C or H read as the Cyrillic letter drawn
 * alike; JAN mark left out"; "" for FOLD_PLAIN.  buf needs FOLD_WHY_BYTES; returns buf. */
#define FOLD_WHY_BYTES 400
const char *fold_why_print(char *buf, unsigned why);

#endif
