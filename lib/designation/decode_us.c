/* SPDX-License-Identifier: MIT
 *
 * decode_us: receiving numbers (figure, letters, figure, suffix), the 1A21 style, bare serials and
 * VT numbers.
 *
 * Sources: seed-data/catalogue/designations.md sections 1 to 3 and the pages named there
 * (Radiotron Designer's Handbook, 4th ed., text at www.rru.com/~meo/Guitar/Tubes/usa-des.html;
 * www.tubecollector.org/documents/numbers-15.htm and numbers-6.htm; r-type.org add027, add091).
 */
#include "designation/decode_priv.h"

#include <stdio.h>
#include <string.h>

/* First figure group and heater volts. */
static const struct {
    int figure;
    int64_t mv;
    const char *text;
    const char *remark;
} heaters[] = {
    {0, NONE, "none", "cold cathode"},
    {1, 1400, "1.4 V", "2.0 V battery types also start with 1"},
    {2, 2500, "2.5 V", ""},
    {3, NONE, "about 3 V", "battery types run at 2.8 V, later series-string types at 3.15 V"},
    {5, 5000, "5 V", ""},
    {6, 6300, "6.3 V", ""},
    {12, 12600, "12.6 V", ""},
    {25, 25000, "25 V", ""},
    {35, 35000, "35 V", ""},
    {50, 50000, "50 V", ""},
    {117, 117000, "117 V", ""},
};

/* Bulb and base, quality: the suffix's letters, longest first. */
static const struct {
    const char *suffix;
    const char *base;
    const char *quality;
} suffixes[] = {
    {"GTB", "octal, straight T-9 glass", "later, improved version"},
    {"GTA", "octal, straight T-9 glass", "later, improved version"},
    {"GTY", "octal, straight T-9 glass", "low-loss mica-filled base"},
    {"GTX", "octal, straight T-9 glass", "low-loss ceramic base"},
    {"GTG", "octal, straight T-9 glass", "serves for GT or G"},
    {"GT", "octal, straight T-9 glass", ""},
    {"GC", "octal, compact glass", "later, improved version"},
    {"GB", "octal, glass", "later, improved version"},
    {"GA", "octal, glass", "later, improved version"},
    {"GYB", "octal, shouldered glass", "low-loss mica-filled base, later version"},
    {"GY", "octal, shouldered glass", "low-loss mica-filled base"},
    {"GX", "octal, shouldered glass", "low-loss ceramic base"},
    {"G", "octal, shouldered glass", ""},
    {"WGTA", "octal, straight T-9 glass", "ruggedised or military, improved"},
    {"WGTB", "octal, straight T-9 glass", "ruggedised or military, improved"},
    {"WGT", "octal, straight T-9 glass", "ruggedised or military"},
    {"WGA", "octal, glass", "ruggedised or military, improved"},
    {"WGB", "octal, glass", "ruggedised or military, improved"},
    {"WGC", "octal, glass", "ruggedised or military, improved"},
    {"WA", "", "ruggedised or military, later revision"},
    {"WB", "", "ruggedised or military, later revision"},
    {"WC", "", "ruggedised or military, later revision"},
    {"W", "", "ruggedised or military"},
    {"MG", "", "metal-glass"},
    {"ML", "", "metal loctal"},
    {"LM", "", "metal loctal"},
    {"M", "", "metal shell"},
    {"L", "loctal", ""},
    {"S", "", "sprayed metal shield"},
    {"X", "", "low-loss ceramic base"},
    {"Y", "", "low-loss mica-filled base"},
    {"E", "", "export"},
    {"A", "", "improved, stands in for the plain type"},
    {"B", "", "improved, stands in for the plain type"},
    {"C", "", "improved, stands in for the plain type"},
    {"D", "", "improved, stands in for the plain type"},
};

/* Names that break their rule.  Sources: the exceptions of designations.md sections 1 and 2. */
static const struct {
    const char *word; /* without suffix */
    enum designation_system system;
    int64_t heater_mv;
    const char *heater, *remark;
} exceptions[] = {
    {"1A6", SYSTEM_US_RECEIVING, 2000, "2.0 V", "starts with 1 but the filament takes 2.0 V"},
    {"14GW8", SYSTEM_US_RECEIVING, 14000, "14 V",
     "a later series-string number for a true 14 V heater, not a lock-in type"},
    {"2D21", SYSTEM_US_POWER, 6300, "6.3 V",
     "has the shape of a receiving number but is of the 1A21 style: a gas tetrode with a 6.3 V "
     "heater (from memory)"},
    {"5692", SYSTEM_US_INDUSTRIAL, 6300, "6.3 V",
     "the leading 5 is not 5 V: a 6.3 V relation of 6SN7 (from memory)"},
    {"6550", SYSTEM_US_INDUSTRIAL, NONE, "",
     "four figures, yet first used in consumer audio (from memory)"},
};

static void apply_exception(struct decoded *d, const char *stem)
{
    for (size_t i = 0; i < ARRAY_LEN(exceptions); i++) {
        if (exceptions[i].system != d->system || strcmp(exceptions[i].word, stem) != 0)
            continue;
        d->exception = true;
        if (*exceptions[i].heater)
            decode_volts(d, exceptions[i].heater_mv, exceptions[i].heater);
        d->remark[0] = 0;
        decode_remark(d, exceptions[i].remark);
    }
}

static bool apply_suffix(struct decoded *d, const char *suffix)
{
    if (!*suffix)
        return true;
    for (size_t i = 0; i < ARRAY_LEN(suffixes); i++)
        if (strcmp(suffixes[i].suffix, suffix) == 0) {
            decode_copy(d->base, sizeof d->base, suffixes[i].base, strlen(suffixes[i].base));
            decode_copy(d->quality, sizeof d->quality, suffixes[i].quality,
                        strlen(suffixes[i].quality));
            return true;
        }
    return false;
}

/* 7 and 14: lock-in types, or in later years the volts themselves. */
static void lock_in_heater(struct decoded *d, int figure, size_t letters)
{
    bool seven = figure == 7;
    if (letters == 1) {
        decode_volts(d, seven ? 6300 : 12600, seven ? "6.3 V" : "12.6 V");
        decode_copy(d->base, sizeof d->base, "loctal B8B", 10);
        d->exception = true;
        decode_remark(d, seven ? "7 marks a lock-in type: the heater takes 6.3 V"
                               : "14 marks a lock-in type: the heater takes 12.6 V");
        return;
    }
    decode_remark(d, seven ? "a lock-in type (6.3 V) or a series-string type (about 7 V): the name "
                             "does not say which"
                           : "a lock-in type (12.6 V) or a series-string type (about 14 V): the "
                             "name does not say which");
}

static void receiving_heater(struct decoded *d, int figure, size_t letters)
{
    char text[24];
    if (figure == 7 || figure == 14) {
        lock_in_heater(d, figure, letters);
        return;
    }
    for (size_t i = 0; i < ARRAY_LEN(heaters); i++)
        if (heaters[i].figure == figure) {
            decode_volts(d, heaters[i].mv, heaters[i].text);
            decode_remark(d, heaters[i].remark);
            return;
        }
    snprintf(text, sizeof text, "%d V", figure);
    decode_volts(d, (int64_t)figure * 1000, text);
    decode_remark(d, "series-string volts, rounded to a whole figure");
}

bool decode_us_receiving(struct decoded *d, const struct letters *l)
{
    const char *w = l->word;
    size_t first = figures_at(w), letters = letters_at(w + first);
    size_t last = figures_at(w + first + letters);
    const char *suffix = w + first + letters + last;
    char stem[FOLD_BYTES];
    if (first < 1 || first > 3 || letters < 1 || letters > 2 || last < 1 || last > 2)
        return false;
    for (size_t i = 0; i < letters; i++) /* I and O are not used */
        if (w[first + i] == 'I' || w[first + i] == 'O')
            return false;
    if (!apply_suffix(d, suffix))
        return false;
    if (letters == 1 && last == 2 && number_at(w + first + letters) >= 21)
        return false; /* the 1A21 style */
    decode_copy(d->serial, sizeof d->serial, w + first, letters);
    d->elements = number_at(w + first + letters);
    receiving_heater(d, number_at(w), letters);
    if (letters == 2 && w[first] == 'S')
        decode_remark(d, "S: single-ended version of an earlier top-cap type");
    if (letters == 2 && w[first + 1] == 'P')
        decode_remark(d, "P as second letter: may be a cathode-ray tube");
    if (letters == 1 && w[first] >= 'U')
        decode_remark(d, "letters from the end of the alphabet are often rectifiers");
    decode_copy(stem, sizeof stem, w, (size_t)(suffix - w));
    apply_exception(d, stem);
    return true;
}

/* First figure of the 1A21 style: heater power. */
static const char *const power_bands[] = {
    NULL,          "none",         "up to 10 W",   "10 to 20 W",    "20 to 50 W",
    "50 to 100 W", "100 to 200 W", "200 to 500 W", "500 to 1000 W", "above 1000 W",
};

static const struct {
    char letter;
    const char *kind;
} power_kinds[] = {
    {'A', "single element"},
    {'B', "diode or spark gap"},
    {'C', "triode"},
    {'D', "tetrode"},
    {'E', "pentode"},
    {'F', "hexode"},
    {'G', "heptode"},
    {'H', "octode"},
    {'J', "magnetron"},
    {'K', "klystron"},
    {'L', "vacuum capacitor"},
    {'N', "solid-state rectifier"},
    {'P', "photo tube"},
    {'Q', "cavity"},
    {'R', "ignitron"},
    {'S', "vacuum switch"},
    {'T', "storage or special"},
    {'V', "flash tube"},
    {'W', "travelling-wave tube"},
    {'X', "X-ray tube"},
    {'Y', "thermionic converter"},
};

bool decode_us_power(struct decoded *d, const struct letters *l)
{
    const char *w = l->word;
    size_t serial = w[0] && w[1] ? figures_at(w + 2) : 0;
    char stem[FOLD_BYTES];
    if (w[0] < '1' || w[0] > '9' || serial < 2 || serial > 3 || number_at(w + 2) < 21)
        return false;
    const char *kind = NULL;
    for (size_t i = 0; i < ARRAY_LEN(power_kinds); i++)
        if (power_kinds[i].letter == w[1])
            kind = power_kinds[i].kind;
    if (!kind || !apply_suffix(d, w + 2 + serial))
        return false;
    snprintf(d->heater, sizeof d->heater, "%s", power_bands[w[0] - '0']);
    decode_copy(d->kind, sizeof d->kind, kind, strlen(kind));
    decode_copy(d->serial, sizeof d->serial, w + 2, serial);
    decode_remark(d, "the first figure is a band of heater power, not volts");
    decode_copy(stem, sizeof stem, w, 2 + serial);
    apply_exception(d, stem);
    return true;
}

bool decode_us_industrial(struct decoded *d, const struct letters *l)
{
    size_t n = figures_at(l->word);
    char stem[FOLD_BYTES];
    if (n != 4 || !apply_suffix(d, l->word + n))
        return false;
    decode_copy(d->serial, sizeof d->serial, l->word, n);
    decode_remark(d, "a serial registration: no figure says heater or function");
    decode_copy(stem, sizeof stem, l->word, n);
    apply_exception(d, stem);
    return true;
}

bool decode_us_vt(struct decoded *d, const struct letters *l)
{
    const char *w = l->word;
    size_t n = strncmp(w, "VT", 2) == 0 ? figures_at(w + 2) : 0;
    if (n < 1 || n > 3 || strlen(w + 2 + n) > 1)
        return false;
    decode_copy(d->serial, sizeof d->serial, w + 2, n);
    d->exception = true;
    decode_remark(d, "three unrelated VT series exist (British Post Office, RAF, US services): the "
                     "same number is another tube in each");
    if (w[2 + n])
        decode_remark(d, "in the US series the letter marks a variant of the bulb (from memory)");
    return true;
}

bool decode_serial(struct decoded *d, const struct letters *l)
{
    size_t n = figures_at(l->word);
    if (n < 2 || n > 3 || strlen(l->word + n) > 1)
        return false;
    decode_copy(d->serial, sizeof d->serial, l->word, n);
    decode_remark(d, "a bare serial: nothing in it says heater, base or function");
    return true;
}
