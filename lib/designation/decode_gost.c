/* SPDX-License-Identifier: MIT
 *
 * decode_gost: GOST 5461-59 and 13393-76, the letter groups in front, the Chinese numbers that
 * reuse the pattern, and the Japanese civil code.
 *
 * Sources: seed-data/catalogue/designations.md sections 5 and 8 and the pages named there
 * (www.rutubes.com symbols, digilander.iol.it/paeng, etoysbox.jp, tuberix.de jis,
 * pokkeyamada.blog79.fc2.com).
 */
#include "designation/decode_priv.h"

#include <stdio.h>
#include <string.h>

static const struct {
    const char *letter; /* in Latin: ZH, TS, KH */
    const char *kind;
} kinds[] = {
    {"A", "frequency converter with two control grids"},
    {"B", "diode-pentode"},
    {"V", "secondary-emission tube"},
    {"G", "diode-triode"},
    {"D", "diode"},
    {"E", "indicator, or tetrode (Э)"},
    {"ZH", "sharp cut-off signal pentode"},
    {"I", "triode-hexode, triode-heptode or octode"},
    {"K", "remote cut-off signal pentode"},
    {"L", "focused-beam tube"},
    {"N", "twin triode"},
    {"P", "output pentode or beam tetrode"},
    {"R", "twin tetrode or twin pentode"},
    {"S", "triode"},
    {"F", "triode-pentode"},
    {"KH", "twin diode"},
    {"TS", "rectifier"},
};

static const struct {
    char letter; /* 0: none */
    const char *envelope;
} envelopes[] = {
    {'P', "glass miniature, 7-pin or noval"},
    {'S', "large glass, mostly octal"},
    {'B', "subminiature, 8 to 10 mm"},
    {'A', "subminiature, 5 to 8 mm"},
    {'G', "subminiature, above 10 mm"},
    {'N', "small ceramic-metal"},
    {'K', "ceramic"},
    {'D', "disc-seal metal-glass"},
    {0, "metal shell, octal"},
};

static const struct {
    const char *letters, *quality;
} qualities[] = {
    {"V", "rugged"},
    {"E", "long life"},
    {"I", "pulse service"},
    {"R", "higher reliability"},
    {"D", "extra long life"},
    {"K", "vibration-resistant"},
    {"EV", "long life and rugged"},
    {"DR", "extra long life"},
    {"ER", "long life and higher reliability"},
    {"EVR", "long life, rugged and higher reliability"},
};

/* Heater figures of GOST and of the Chinese pattern: volts rounded to a whole number. */
static void gost_heater(struct decoded *d, int figure)
{
    char text[24];
    if (figure == 6) {
        decode_volts(d, 6300, "6.3 V");
    } else if (figure == 12) {
        decode_volts(d, 12600, "12.6 V");
    } else if (figure == 1) {
        decode_volts(d, 1200, "1.2 V");
        decode_remark(d, "volts rounded to a whole number; 1 stands for 1.0 to 1.4 V");
    } else {
        snprintf(text, sizeof text, "%d V", figure);
        decode_volts(d, (int64_t)figure * 1000, text);
        if (figure != 5)
            decode_remark(d, "volts rounded to a whole number");
    }
}

static const char *kind_find(const char *s, size_t n)
{
    for (size_t i = 0; i < ARRAY_LEN(kinds); i++)
        if (strlen(kinds[i].letter) == n && strncmp(kinds[i].letter, s, n) == 0)
            return kinds[i].kind;
    return NULL;
}

static const char *envelope_find(char letter)
{
    for (size_t i = 0; i < ARRAY_LEN(envelopes); i++)
        if (envelopes[i].letter == letter)
            return envelopes[i].envelope;
    return NULL;
}

static bool gost_quality(struct decoded *d, const char *tail)
{
    if (!*tail)
        return true;
    for (size_t i = 0; i < ARRAY_LEN(qualities); i++)
        if (strcmp(qualities[i].letters, tail) == 0) {
            decode_copy(d->quality, sizeof d->quality, qualities[i].quality,
                        strlen(qualities[i].quality));
            decode_remark(d, "a quality suffix; limits may differ from the plain type's, so never "
                             "copy those");
            return true;
        }
    return false;
}

static void copy_text(char *out, size_t room, const char *text)
{
    decode_copy(out, room, text, strlen(text));
}

bool decode_gost(struct decoded *d, const struct letters *l)
{
    const char *w = l->word;
    size_t heater = figures_at(w), letters = letters_at(w + heater);
    size_t serial = figures_at(w + heater + letters);
    const char *tail = w + heater + letters + serial;
    const char *kind = kind_find(w + heater, letters);
    if (heater < 1 || heater > 2 || serial < 1 || serial > 3 || !kind)
        return false;
    if (l->latin && !*tail && letters == 1)
        return false; /* a US or Chinese number: 6C4, 6N1 */
    const char *envelope = envelope_find(*tail);
    if (!envelope || !gost_quality(d, *tail ? tail + 1 : tail))
        return false;
    gost_heater(d, number_at(w));
    copy_text(d->kind, sizeof d->kind, kind);
    copy_text(d->base, sizeof d->base, envelope);
    decode_copy(d->serial, sizeof d->serial, w + heater + letters, serial);
    if (strncmp(w, "6S33S", 5) == 0) {
        d->exception = true;
        copy_text(d->base, sizeof d->base, "large glass, button stem without base");
        decode_remark(d, "traded as 6C33C: the C is the Cyrillic letter for S, a triode");
    }
    return true;
}

/* Letters in front of the number.  Only the first two are found, the rest from memory. */
static const struct {
    const char *prefix, *kind;
    bool cold;
} groups[] = {
    {"SG", "gas regulator", true},
    {"G", "transmitting tube", false},
    {"GU", "transmitting tube", false},
    {"GM", "modulator tube", false},
    {"GK", "transmitting tube for short waves", false},
    {"GI", "pulse transmitting tube", false},
    {"TG", "thyratron", false},
    {"TGI", "pulse thyratron", false},
};

bool decode_gost_group(struct decoded *d, const struct letters *l)
{
    const char *w = l->word;
    size_t letters = letters_at(w), serial = figures_at(w + letters);
    const char *tail = w + letters + serial;
    if (serial < 1 || serial > 4 || strlen(tail) > 2)
        return false;
    for (size_t i = 0; i < ARRAY_LEN(groups); i++) {
        if (strlen(groups[i].prefix) != letters || strncmp(groups[i].prefix, w, letters) != 0)
            continue;
        copy_text(d->kind, sizeof d->kind, groups[i].kind);
        decode_copy(d->serial, sizeof d->serial, w + letters, serial);
        if (groups[i].cold)
            copy_text(d->heater, sizeof d->heater, "none");
        if (*tail && envelope_find(*tail))
            copy_text(d->base, sizeof d->base, envelope_find(*tail));
        d->exception = true;
        decode_remark(d, "starts with letters of a group, not with a heater figure");
        return true;
    }
    return false;
}

/* ---- Chinese -------------------------------------------------------------------------------- */

static const struct {
    char letter;
    const char *kind;
} chinese_kinds[] = {
    {'N', "twin triode"},
    {'P', "output pentode or beam tetrode"},
    {'J', "sharp cut-off signal pentode"},
    {'K', "remote cut-off signal pentode"},
    {'Z', "rectifier"},
    {'C', "triode"},
    {'E', "indicator"},
    {'F', "triode-pentode"},
};

bool decode_chinese(struct decoded *d, const struct letters *l)
{
    const char *w = l->word;
    size_t heater = figures_at(w), serial = w[heater] ? figures_at(w + heater + 1) : 0;
    const char *tail = w + heater + 1 + serial;
    if (!l->latin || heater < 1 || heater > 2 || !w[heater] || serial < 1 || serial > 2 ||
        !(*tail == 0 || strcmp(tail, "P") == 0))
        return false;
    for (size_t i = 0; i < ARRAY_LEN(chinese_kinds); i++) {
        if (chinese_kinds[i].letter != w[heater])
            continue;
        gost_heater(d, number_at(w));
        copy_text(d->kind, sizeof d->kind, chinese_kinds[i].kind);
        decode_copy(d->serial, sizeof d->serial, w + heater + 1, serial);
        decode_remark(d, "from memory of the numbering pattern; check the sample");
        if (*tail) {
            d->exception = true;
            copy_text(d->base, sizeof d->base, "octal, glass");
            decode_remark(d, "here the last P means octal glass, not pentode and not miniature");
        }
        if (strcmp(w, "6N1") == 0) {
            d->exception = true;
            decode_remark(d, "not a US 6N1 or 6N7");
        }
        return true;
    }
    return false;
}

/* ---- Japanese ------------------------------------------------------------------------------- */

static const struct {
    char letter;
    const char *base;
} japanese_bases[] = {
    {'G', "octal"},
    {'L', "loctal"},
    {'M', "miniature 7-pin"},
    {'R', "noval, 9-pin miniature"},
    {'N', "nuvistor"},
    {'X', "4-pin"},
    {'Y', "5-pin"},
    {'Z', "6-pin"},
    {'W', "7-pin"},
    {'T', "large 7-pin"},
    {'D', "subminiature"},
    {'H', "magnoval or novar"},
    {'C', "12-pin compactron"},
    {'B', "other; early magnoval types"},
};

static const struct {
    char letter;
    const char *kind;
} japanese_kinds[] = {
    {'A', "power triode"},
    {'B', "beam power tetrode"},
    {'D', "detector diode"},
    {'E', "indicator"},
    {'G', "gas rectifier"},
    {'H', "signal triode, mu 30 and above"},
    {'K', "high-vacuum rectifier"},
    {'L', "signal triode, mu below 30"},
    {'P', "power pentode"},
    {'R', "sharp cut-off tetrode or pentode"},
    {'V', "remote cut-off tetrode or pentode"},
};

bool decode_japanese(struct decoded *d, const struct letters *l)
{
    const char *w = l->word;
    size_t heater = figures_at(w);
    const char *base = NULL, *kind = NULL;
    if (heater < 1 || heater > 2 || letters_at(w + heater) != 2)
        return false;
    size_t serial = figures_at(w + heater + 2);
    if (serial < 1 || serial > 2 || strlen(w + heater + 2 + serial) > 1)
        return false;
    for (size_t i = 0; i < ARRAY_LEN(japanese_bases); i++)
        if (japanese_bases[i].letter == w[heater])
            base = japanese_bases[i].base;
    for (size_t i = 0; i < ARRAY_LEN(japanese_kinds); i++)
        if (japanese_kinds[i].letter == w[heater + 1])
            kind = japanese_kinds[i].kind;
    if (!base || !kind)
        return false;
    gost_heater(d, number_at(w));
    d->remark[0] = 0; /* figure n covers volts above n - 0.4 up to n + 0.6 */
    copy_text(d->base, sizeof d->base, base);
    copy_text(d->kind, sizeof d->kind, kind);
    decode_copy(d->serial, sizeof d->serial, w + heater + 2, serial);
    if (w[heater + 1] == 'K' || w[heater + 1] == 'G')
        decode_remark(d, number_at(w + heater + 2) % 2 ? "odd serial: half wave"
                                                       : "even serial: full wave");
    if (w[heater] == 'B') {
        d->exception = true;
        copy_text(d->base, sizeof d->base, "other base; early magnoval types");
        decode_remark(d, "B stands for other bases; early magnoval types use it too");
    }
    if (!l->hyphen)
        decode_remark(d, "written with a hyphen, as in 6R-A8");
    return true;
}
