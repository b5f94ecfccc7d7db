/* SPDX-License-Identifier: MIT
 *
 * decode: every reading of the text is tried in every system; which comes first is a matter of
 * order.
 *
 * Order: plainest reading first (fold.h), and within one reading the row order of the table below,
 * but a Japanese hyphen in its place or a letter pair that the US never reached puts the Japanese
 * code before the US one.  Readings that would misread a sound designation come last.
 */
#include "designation/decode_priv.h"
#include "designation/word.h"

#include <limits.h>
#include <stdio.h>
#include <string.h>

const char *const system_names[SYSTEM__COUNT] = {
    "us-receiving", "us-power", "us-industrial", "us-vt",   "european", "gost",   "gost-group",
    "cv",           "m8000",    "british",       "chinese", "japanese", "serial",
};

static const struct {
    enum designation_system system;
    decode_fn *decode;
} systems[] = {
    {SYSTEM_GOST, decode_gost},         {SYSTEM_GOST_GROUP, decode_gost_group},
    {SYSTEM_US_POWER, decode_us_power}, {SYSTEM_US_RECEIVING, decode_us_receiving},
    {SYSTEM_CHINESE, decode_chinese},   {SYSTEM_JAPANESE, decode_japanese},
    {SYSTEM_US_VT, decode_us_vt},       {SYSTEM_CV, decode_cv},
    {SYSTEM_M8000, decode_m8000},       {SYSTEM_BRITISH, decode_british},
    {SYSTEM_EUROPEAN, decode_european}, {SYSTEM_US_INDUSTRIAL, decode_us_industrial},
    {SYSTEM_SERIAL, decode_serial},
};

size_t figures_at(const char *s)
{
    size_t n = 0;
    while (s[n] >= '0' && s[n] <= '9')
        n++;
    return n;
}

size_t letters_at(const char *s)
{
    size_t n = 0;
    while (s[n] >= 'A' && s[n] <= 'Z')
        n++;
    return n;
}

int number_at(const char *s)
{
    int v = 0;
    for (; *s >= '0' && *s <= '9'; s++)
        v = v > (INT_MAX - 9) / 10 ? INT_MAX - 9 : v * 10 + (*s - '0');
    return v;
}

void decode_copy(char *out, size_t room, const char *s, size_t n)
{
    if (n >= room)
        n = room - 1;
    memcpy(out, s, n);
    out[n] = 0;
}

void decode_volts(struct decoded *d, int64_t mv, const char *text)
{
    d->heater_mv = mv;
    d->heater_ma = NONE;
    decode_copy(d->heater, sizeof d->heater, text, strlen(text));
}

void decode_amps(struct decoded *d, int64_t ma, const char *text)
{
    d->heater_mv = NONE;
    d->heater_ma = ma;
    decode_copy(d->heater, sizeof d->heater, text, strlen(text));
}

void decode_remark(struct decoded *d, const char *text)
{
    size_t n = strlen(d->remark);
    if (*text)
        snprintf(d->remark + n, sizeof d->remark - n, "%s%s", n ? "; " : "", text);
}

const struct decoded *decoding_in(const struct decoding *d, enum designation_system s)
{
    for (size_t i = 0; i < d->count; i++)
        if (d->reading[i].system == s)
            return &d->reading[i];
    return NULL;
}

/* US letter pairs were registered up to M, and with S in front (from memory). */
static bool japanese_first(const struct letters *l)
{
    size_t n = figures_at(l->word);
    char c = l->word[n];
    return letters_at(l->word + n) == 2 && (l->hyphen || (c > 'M' && c != 'S'));
}

static bool is_listed(const struct decoding *out, const struct decoded *d)
{
    for (size_t i = 0; i < out->count; i++)
        if (out->reading[i].system == d->system && strcmp(out->reading[i].word, d->word) == 0)
            return true;
    return false;
}

/* O for 0 and I for 1, where the typed word has no reading: OA2, I2AX7. */
static void mend_figures(char *word)
{
    for (size_t i = 0; word[i]; i++) {
        if (word[i] == 'O')
            word[i] = '0';
        if (word[i] == 'I')
            word[i] = '1';
    }
}

static void try_system(struct decoding *out, size_t row, const struct letters *l)
{
    struct decoded d = {.system = systems[row].system, .heater_mv = NONE, .heater_ma = NONE};
    decode_copy(d.word, sizeof d.word, l->word, strlen(l->word));
    if (out->count < DECODE_READINGS && systems[row].decode(&d, l) && !is_listed(out, &d))
        out->reading[out->count++] = d;
}

static void try_all(struct decoding *out, const struct letters *l)
{
    if (japanese_first(l))
        for (size_t i = 0; i < ARRAY_LEN(systems); i++)
            if (systems[i].system == SYSTEM_JAPANESE)
                try_system(out, i, l);
    for (size_t i = 0; i < ARRAY_LEN(systems); i++)
        try_system(out, i, l);
}

/* What of the typed word the keys no longer show. */
static void look_at_word(struct letters *l, const struct word *w)
{
    size_t n = 0;
    l->latin = true;
    for (size_t i = 0; i < w->n; i++)
        l->latin = l->latin && !word_cyrillic(w->g[i].c);
    while (n < w->n && glyph_is_figure(&w->g[n]))
        n++;
    l->hyphen = n > 0 && n + 1 < w->n && w->g[n + 1].gap;
}

bool decode_text(struct decoding *out, const char *text, struct err *e)
{
    struct words words;
    struct fold f;
    struct letters l = {0};
    struct decoding d = {0};
    char mended[FOLD_BYTES];
    if (!word_scan(&words, text, e) || !fold_read(&f, text, e))
        return false;
    look_at_word(&l, &words.word[0]);
    for (int weak = 0; weak < 2; weak++)
        for (size_t i = 0; i < f.count; i++) {
            if (((f.key[i].why & FOLD_WEAK) != 0) != weak)
                continue;
            /* OA2 is how people type 0A2: an O in front is a figure first of all */
            decode_copy(mended, sizeof mended, f.key[i].word, strlen(f.key[i].word));
            mend_figures(mended);
            l.word = *f.key[i].word == 'O' ? mended : f.key[i].word;
            try_all(&d, &l);
            l.word = l.word == mended ? f.key[i].word : mended;
            if (d.count == 0 || *f.key[i].word == 'O')
                try_all(&d, &l);
        }
    *out = d;
    return true;
}
