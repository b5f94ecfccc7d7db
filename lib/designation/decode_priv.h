/* SPDX-License-Identifier: MIT
 *
 * decode_priv: shared by decode*.c only.
 */
#ifndef QUADRILLE_DESIGNATION_DECODE_PRIV_H
#define QUADRILLE_DESIGNATION_DECODE_PRIV_H

#include "designation/decode.h"

/* A word in capital Latin letters and figures, O and I as typed. */
struct letters {
    const char *word;
    bool latin;  /* it was typed in Latin letters throughout */
    bool hyphen; /* a separator stood behind the first letter after the first figures: 6R-A8 */
};

/* Each fills *d (already holding word and system, everything else "not known") and says whether the
 * word has the shape of that system. */
typedef bool decode_fn(struct decoded *d, const struct letters *l);

decode_fn decode_us_receiving, decode_us_power, decode_us_industrial, decode_us_vt, decode_serial,
    decode_european, decode_gost, decode_gost_group, decode_chinese, decode_japanese, decode_cv,
    decode_m8000, decode_british;

/* The parts of a word: leading figures, letters, figures, letters ... */
size_t figures_at(const char *s);
size_t letters_at(const char *s);

/* The number that s begins with; 0 where it begins with none, some very large one where it does not
 * fit. */
int number_at(const char *s);

/* Volts as a heater: decode_volts(d, 6300, "6.3 V"). */
void decode_volts(struct decoded *d, int64_t mv, const char *text);
void decode_amps(struct decoded *d, int64_t ma, const char *text);

/* Copy or append text, cut to the room there is; decode_remark joins with "; ". */
void decode_copy(char *out, size_t room, const char *s, size_t n);
void decode_remark(struct decoded *d, const char *text);

#endif
