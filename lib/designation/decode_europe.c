/* SPDX-License-Identifier: MIT
 *
 * decode_europe: the European receiving code of 1934 and its special-quality order, CV and M8000
 * numbers, prefixes of the British trade.
 *
 * Sources: seed-data/catalogue/designations.md sections 4, 6 and 7 and the pages named there
 * (www.tubedata.info/tubnum.html, the quadvalvecode and europeanvalves pages,
 * www.bvws.org.uk valvenos2).
 */
#include "designation/decode_priv.h"

#include <string.h>

/* First letter: volts in parallel, or milliamperes in series. */
static const struct {
    char letter;
    int64_t mv, ma;
    const char *text;
    const char *remark;
} heaters[] = {
    {'A', 4000, NONE, "4 V", ""},
    {'B', NONE, 180, "180 mA", ""},
    {'C', NONE, 200, "200 mA", ""},
    {'D', 1400, NONE, "1.4 V", "battery types, up to 1.4 V"},
    {'E', 6300, NONE, "6.3 V", ""},
    {'F', 12600, NONE, "12.6 V", ""},
    {'G', 5000, NONE, "5 V", "sources disagree about G; 5 V holds for GZ types"},
    {'H', NONE, 150, "150 mA", "early types 4 V"},
    {'I', 20000, NONE, "20 V", "rare"},
    {'K', 2000, NONE, "2 V", ""},
    {'L', NONE, 450, "450 mA", ""},
    {'M', NONE, NONE, "", "1.9 V, or 2.4 to 2.8 V"},
    {'O', NONE, NONE, "none", "cold cathode; one list gives 150 mA"},
    {'P', NONE, 300, "300 mA", ""},
    {'T', NONE, NONE, "", "7.4 V and others, rare"},
    {'U', NONE, 100, "100 mA", ""},
    {'V', NONE, 50, "50 mA", ""},
    {'X', NONE, 600, "600 mA", ""},
    {'Y', NONE, 450, "450 mA", ""},
};

/* One letter a section. */
static const struct {
    char letter;
    const char *kind;
} sections[] = {
    {'A', "diode"},
    {'B', "double diode"},
    {'C', "triode"},
    {'D', "power triode"},
    {'E', "tetrode"},
    {'F', "signal pentode"},
    {'H', "hexode or heptode"},
    {'K', "octode or heptode"},
    {'L', "power pentode or beam tetrode"},
    {'M', "tuning indicator"},
    {'N', "thyratron"},
    {'P', "secondary-emission tube"},
    {'Q', "nonode"},
    {'W', "gas-filled rectifier"},
    {'X', "double gas-filled rectifier"},
    {'Y', "vacuum rectifier"},
    {'Z', "double vacuum rectifier"},
};

/* Leading figure of two: the base. */
static const char *const bases[] = {
    NULL,
    "Y8A",
    "loctal W8A or B8B",
    "octal",
    "Rimlock B8A",
    "B9G, B9D or special",
    "subminiature",
    "subminiature",
    "noval B9A",
    "miniature 7-pin B7G",
};

static const struct {
    const char *letters; /* up to and with the figures */
    const char *base, *remark;
} exceptions[] = {
    {"ECC99", "noval B9A", "a 9-series number, but the base is noval"},
};

static bool heater_letter(struct decoded *d, char letter)
{
    for (size_t i = 0; i < ARRAY_LEN(heaters); i++)
        if (heaters[i].letter == letter) {
            decode_volts(d, heaters[i].mv, heaters[i].text);
            d->heater_ma = heaters[i].ma;
            decode_remark(d, heaters[i].remark);
            return true;
        }
    return false;
}

static bool section_letters(struct decoded *d, const char *s, size_t n)
{
    size_t at = 0;
    for (size_t i = 0; i < n; i++) {
        const char *kind = NULL;
        for (size_t k = 0; k < ARRAY_LEN(sections); k++)
            if (sections[k].letter == s[i])
                kind = sections[k].kind;
        if (!kind || (i && s[i] < s[i - 1])) /* one a section, in alphabetical order */
            return false;
        if (i) {
            decode_copy(d->kind + at, sizeof d->kind - at, " + ", 3);
            at += strlen(d->kind + at);
        }
        decode_copy(d->kind + at, sizeof d->kind - at, kind, strlen(kind));
        at += strlen(d->kind + at);
    }
    return true;
}

/* Two figures: the first names the base.  Three: 18x 19x 8xx 9xx as 8x and 9x, 2xx decal, 5xx
 * magnoval.  One: side-contact and others.  Four: look it up. */
static void base_of_figures(struct decoded *d, const char *figures, size_t n)
{
    const char *base = "";
    bool extra = false;
    if (n == 1)
        base = "side-contact P8 or other early base";
    else if (n == 2 && figures[0] != '0')
        base = bases[figures[0] - '0'];
    else if (n == 3 && figures[0] == '1' && (figures[1] == '8' || figures[1] == '9'))
        base = bases[figures[1] - '0'];
    else if (n == 3 && (figures[0] == '8' || figures[0] == '9')) {
        base = bases[figures[0] - '0'];
        extra = true;
    } else if (n == 3 && figures[0] == '2')
        base = "decal B10B";
    else if (n == 3 && figures[0] == '5')
        base = "magnoval B9D";
    decode_copy(d->base, sizeof d->base, base, strlen(base));
    if (extra) {
        d->exception = true;
        decode_remark(d,
                      "extra figures: a later or special-quality number of the makers' own; read "
                      "the data, not the rule");
    }
    if (n == 4) {
        d->exception = true;
        decode_remark(d, "four figures: a professional type; read the data, not the rule");
    }
}

static void pentode_cut_off(struct decoded *d, const char *section, size_t n, char last)
{
    if (n == 1 && section[0] == 'F')
        decode_remark(d, (last - '0') % 2 ? "an odd last figure tends to mean remote cut-off"
                                          : "an even last figure tends to mean sharp cut-off");
}

/* E88CC: figures moved behind the heater letter. */
static bool special_quality(struct decoded *d, const char *w)
{
    size_t n = figures_at(w + 1), letters = letters_at(w + 1 + n);
    if (n < 2 || n > 3 || letters < 1 || letters > 3 || w[1 + n + letters] ||
        !heater_letter(d, w[0]) || !section_letters(d, w + 1 + n, letters))
        return false;
    base_of_figures(d, w + 1, n);
    decode_copy(d->serial, sizeof d->serial, w + 1, n);
    decode_copy(d->quality, sizeof d->quality, "special quality", 15);
    d->exception = true;
    decode_remark(d, "figures in the middle mark special quality: better specified than the plain "
                     "number, not another spelling of it");
    return true;
}

bool decode_european(struct decoded *d, const struct letters *l)
{
    const char *w = l->word;
    size_t letters = letters_at(w), n = figures_at(w + letters);
    const char *tail = w + letters + n;
    if (letters == 1)
        return special_quality(d, w);
    if (letters < 2 || letters > 5 || n < 1 || n > 4 || strlen(tail) > 1 ||
        !heater_letter(d, w[0]) || !section_letters(d, w + 1, letters - 1))
        return false;
    base_of_figures(d, w + letters, n);
    pentode_cut_off(d, w + 1, letters - 1, tail[-1]);
    decode_copy(d->serial, sizeof d->serial, w + letters, n);
    if (*tail == 'S')
        decode_copy(d->quality, sizeof d->quality, "special or selected version", 27);
    else if (*tail)
        decode_copy(d->quality, sizeof d->quality, "later version", 13);
    for (size_t i = 0; i < ARRAY_LEN(exceptions); i++)
        if (strncmp(w, exceptions[i].letters, letters + n) == 0 &&
            strlen(exceptions[i].letters) == letters + n) {
            d->exception = true;
            decode_copy(d->base, sizeof d->base, exceptions[i].base, strlen(exceptions[i].base));
            decode_remark(d, exceptions[i].remark);
        }
    return true;
}

/* ---- British -------------------------------------------------------------------------------- */

bool decode_cv(struct decoded *d, const struct letters *l)
{
    const char *w = l->word;
    size_t n = strncmp(w, "CV", 2) == 0 ? figures_at(w + 2) : 0;
    if (n < 1 || n > 5 || w[2 + n])
        return false;
    decode_copy(d->serial, sizeof d->serial, w + 2, n);
    decode_remark(d, "common valve of the British services: the number encodes nothing");
    if (strcmp(w, "CV181") == 0) {
        d->exception = true;
        decode_amps(d, 950, "0.95 A");
        decode_remark(d, "often sold as if it were CV1988, but its heater draws 0.95 A");
    }
    return true;
}

bool decode_m8000(struct decoded *d, const struct letters *l)
{
    if (l->word[0] != 'M' || l->word[1] != '8' || figures_at(l->word + 1) != 4 || l->word[5])
        return false;
    decode_copy(d->serial, sizeof d->serial, l->word + 1, 4);
    decode_copy(d->quality, sizeof d->quality, "special quality", 15);
    decode_remark(d, "related to an entry of the CV4000 series; the number encodes nothing");
    return true;
}

static const struct {
    const char *prefix, *kind, *remark;
} british[] = {
    {"KT", "beam tetrode", "KT: kinkless tetrode"},
    {"PX", "large directly heated triode", "from memory"},
    {"B", "twin triode", "small triode and twin-triode families"},
    {"L", "small triode", "from memory"},
    {"H", "small triode", "from memory"},
    {"Z", "signal pentode", "from memory"},
    {"U", "rectifier", "from memory"},
    {"N", "output pentode", "from memory"},
};

bool decode_british(struct decoded *d, const struct letters *l)
{
    const char *w = l->word;
    size_t letters = letters_at(w), n = figures_at(w + letters);
    if (n < 1 || n > 3 || strlen(w + letters + n) > 1)
        return false;
    for (size_t i = 0; i < ARRAY_LEN(british); i++) {
        if (strlen(british[i].prefix) != letters || strncmp(w, british[i].prefix, letters) != 0)
            continue;
        decode_copy(d->kind, sizeof d->kind, british[i].kind, strlen(british[i].kind));
        decode_copy(d->serial, sizeof d->serial, w + letters, n);
        decode_remark(d, british[i].remark);
        if (letters == 2 && w[0] == 'K') {
            int number = number_at(w + letters);
            d->exception = number == 77 || number > 88;
            if (number == 77)
                decode_remark(d, "usually fitted where a power pentode was");
            if (number > 88)
                decode_remark(d, "no published standard: read the heater current from the maker's "
                                 "sheet");
        }
        return true;
    }
    return false;
}
