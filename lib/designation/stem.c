/* SPDX-License-Identifier: MIT
 *
 * stem: a key without its quality or bulb suffix.
 *
 * Works on keys (capital Latin letters, O as 0, I as 1).  A suffix is cut only where the rest is
 * the shape of a name by itself, so 5U4GB loses GB but 83V keeps its V and ECC83 nothing.
 */
#include "designation/fold.h"

#include <string.h>

/* US bulb and quality suffixes: http://www.tubecollector.org/documents/numbers-15.htm (found), the
 * combinations as they occur in the catalogue. */
static const char *const us_suffixes[] = {
    "A",   "B",   "C",   "D",   "E",   "F",    "G",    "GA", "GB", "GC", "GT", "GTA", "GTB", "GTX",
    "GYB", "GTY", "GTG", "GX",  "GY",  "L",    "LM",   "M",  "MG", "ML", "S",  "W",   "WA",  "WB",
    "WC",  "WGA", "WGB", "WGC", "WGT", "WGTA", "WGTB", "WX", "WY", "X",  "Y",  "GAY", "WGY",
};

/* GOST quality letters, И written 1 in a key: seed-data/catalogue/designations.md section 5 (from
 * memory of the handbook). */
static const char *const gost_suffixes[] = {"V", "E", "1", "R", "D", "K", "DR", "EV", "ER", "EVR"};

static bool listed(const char *const *rows, size_t n, const char *s)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(rows[i], s) == 0)
            return true;
    return false;
}

static bool is_figure(char c)
{
    return c >= '0' && c <= '9';
}

static size_t figures(const char *s)
{
    size_t n = 0;
    while (is_figure(s[n]))
        n++;
    return n;
}

static size_t letters(const char *s)
{
    size_t n = 0;
    while (s[n] && !is_figure(s[n]))
        n++;
    return n;
}

/* Where the suffix of a GOST key starts, 0 for none: heater figures, one letter (or ZH, TS, KH),
 * serial, envelope letter, quality. */
static size_t gost_cut(const char *key)
{
    size_t heater = figures(key);
    size_t kind = letters(key + heater);
    size_t serial = figures(key + heater + kind);
    size_t at = heater + kind + serial;
    bool pair =
        kind == 2 && (strncmp(key + heater, "ZH", 2) == 0 || strncmp(key + heater, "TS", 2) == 0 ||
                      strncmp(key + heater, "KH", 2) == 0);
    if (heater < 1 || heater > 2 || !(kind == 1 || pair) || serial < 1 || !key[at])
        return 0;
    if (!strchr("PSBAGNKD", key[at]))
        return 0;
    return listed(gost_suffixes, ARRAY_LEN(gost_suffixes), key + at + 1) ? at + 1 : 0;
}

/* A GOST name complete with its envelope letter (6N8S, 6P3P): nothing to cut, though S is a US
 * suffix. */
static bool is_gost_whole(const char *key)
{
    size_t n = strlen(key);
    size_t heater = figures(key), kind = letters(key + heater);
    return n >= 4 && heater >= 1 && heater <= 2 && kind >= 1 && kind <= 2 &&
           heater + kind + figures(key + heater + kind) == n - 1 &&
           (key[n - 1] == 'S' || key[n - 1] == 'P') &&
           (kind == 1 || key[heater + 1] == 'H' || key[heater + 1] == 'S');
}

/* Where a US or European suffix starts, 0 for none. */
static size_t us_cut(const char *key)
{
    size_t at = strlen(key);
    while (at > 0 && !is_figure(key[at - 1]))
        at--;
    if (at == 0 || !key[at] || !listed(us_suffixes, ARRAY_LEN(us_suffixes), key + at))
        return 0;
    bool receiving = is_figure(key[0]) && letters(key + figures(key)) > 0 && figures(key) < at;
    bool serial = figures(key) == at && at >= 3;             /* 5814A, 300B, not 83V */
    bool lettered = !is_figure(key[0]) && letters(key) <= 4; /* EF37A, VT107A, KT88S */
    return receiving || serial || lettered ? at : 0;
}

void fold_stem(char stem[FOLD_BYTES], char suffix[FOLD_BYTES], const char *key)
{
    size_t cut = gost_cut(key);
    if (!cut && !is_gost_whole(key))
        cut = us_cut(key);
    size_t n = strlen(key);
    if (!cut)
        cut = n;
    if (suffix)
        memmove(suffix, key + cut, n - cut + 1);
    memmove(stem, key, cut);
    stem[cut] = 0;
}
