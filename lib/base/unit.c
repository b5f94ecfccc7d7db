/* SPDX-License-Identifier: MIT
 *
 * unit: one table.  A spelling is folded first (both micro signs to u, both ohm signs to ohm, the
 * turned ohm sign to mho, spaces dropped) and then looked up without regard to case, except that
 * the first letter of a symbol tells m (milli) from M (mega).
 */
#include "base/unit.h"
#include "base/text.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

#define FOLDED_BYTES 40

/* symbols: an m or M in front counts as typed; words: case never counts.  Each list is separated
 * and enclosed by spaces.  1 mho = 1 S: NIST SP 811 (2008), appendix B.  The Cyrillic symbols are
 * those of GOST 8.417. */
static const struct row {
    struct unit unit;
    const char *symbols, *words;
} rows[] = {
    {{"", DIM_NONE, 0}, "", ""},
    {{"V", DIM_VOLT, 0}, " V В ", " volt volts "},
    {{"uV", DIM_VOLT, -6}, " uV мкВ ", " microvolt microvolts "},
    {{"mV", DIM_VOLT, -3}, " mV мВ ", " millivolt millivolts "},
    {{"kV", DIM_VOLT, 3}, " kV кВ ", " kilovolt kilovolts "},
    {{"A", DIM_AMPERE, 0}, " A А ", " amp amps ampere amperes "},
    {{"mA", DIM_AMPERE, -3}, " mA мА ", " milliamp milliamps milliampere milliamperes "},
    {{"uA", DIM_AMPERE, -6}, " uA мкА ", " microamp microamps microampere microamperes "},
    {{"mA/V", DIM_SIEMENS, -3}, " mA/V мА/В ", ""},
    {{"A/V", DIM_SIEMENS, 0}, " A/V А/В ", ""},
    {{"uA/V", DIM_SIEMENS, -6}, " uA/V мкА/В ", ""},
    {{"S", DIM_SIEMENS, 0}, " S См ", " siemens "},
    {{"mS", DIM_SIEMENS, -3}, " mS мСм ", " millisiemens "},
    {{"uS", DIM_SIEMENS, -6}, " uS мкСм ", " microsiemens "},
    {{"micromho", DIM_SIEMENS, -6}, " umho umhos ", " micromho micromhos "},
    {{"mmho", DIM_SIEMENS, -3}, " mmho mmhos ", " millimho millimhos "},
    {{"mho", DIM_SIEMENS, 0}, "", " mho mhos "},
    {{"ohm", DIM_OHM, 0}, " Ом ", " ohm ohms "},
    {{"kohm", DIM_OHM, 3}, " kohm kohms кОм ", " kilohm kilohms kiloohm kiloohms "},
    {{"Mohm", DIM_OHM, 6}, " Mohm Mohms МОм ", " megohm megohms megaohm megaohms "},
    {{"W", DIM_WATT, 0}, " W Вт ", " watt watts "},
    {{"mW", DIM_WATT, -3}, " mW мВт ", " milliwatt milliwatts "},
    {{"%", DIM_PERCENT, 0}, " % ", " percent "},
    {{"dB", DIM_DECIBEL, 0}, " dB дБ ", " decibel decibels "},
    {{"step", DIM_STEP, 0}, "", " step steps "},
};

static const struct {
    const char *from, *to;
} folds[] = {
    {"\xC2\xB5", "u"},       /* U+00B5 micro sign */
    {"\xCE\xBC", "u"},       /* U+03BC Greek small mu */
    {"\xE2\x84\xA6", "ohm"}, /* U+2126 ohm sign */
    {"\xCE\xA9", "ohm"},     /* U+03A9 Greek capital omega */
    {"\xE2\x84\xA7", "mho"}, /* U+2127 turned ohm sign */
    {" ", ""},
    {"\t", ""},
    {"\r", ""},
    {"\n", ""},
    {"\xC2\xA0", ""},     /* U+00A0 no-break space */
    {"\xE2\x80\x89", ""}, /* U+2009 thin space */
    {"\xE2\x80\xAF", ""}, /* U+202F narrow no-break space */
};

/* name folded, at most FOLDED_BYTES - 1 bytes of it: no spelling is that long. */
static void fold(char *out, const char *name)
{
    size_t at = 0;
    while (*name && at + 4 < FOLDED_BYTES) {
        const char *to = NULL;
        for (size_t i = 0; i < ARRAY_LEN(folds) && !to; i++)
            if (!strncmp(name, folds[i].from, strlen(folds[i].from))) {
                to = folds[i].to;
                name += strlen(folds[i].from);
            }
        if (!to)
            out[at++] = *name++;
        else
            at += (size_t)(stpcpy(out + at, to) - (out + at));
    }
    out[at] = '\0';
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool is_same(const char *a, const char *b, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (lower(a[i]) != lower(b[i]))
            return false;
    return true;
}

/* Whether the folded name stands in the list; m_counts: an m or M in front must be as listed. */
static bool is_listed(const char *list, const char *name, bool m_counts)
{
    size_t n = strlen(name);
    for (const char *p = list; *p && p[1]; p += strcspn(p + 1, " ") + 1) {
        bool same = strcspn(p + 1, " ") == n && is_same(p + 1, name, n);
        bool m = name[0] == 'm' || name[0] == 'M';
        if (same && (!m_counts || !m || p[1] == name[0]))
            return true;
    }
    return false;
}

/* The canonical names of dimension d, or of all where d is DIM__COUNT, as "mA/V, A/V". */
static const char *names(char *buf, size_t n, enum dimension d)
{
    size_t at = 0;
    buf[0] = '\0';
    for (size_t i = 1; i < ARRAY_LEN(rows) && at < n; i++)
        if (d == DIM__COUNT || rows[i].unit.dimension == d)
            at += (size_t)snprintf(buf + at, n - at, "%s%s", at ? ", " : "", rows[i].unit.name);
    return buf;
}

bool unit_find(const struct unit **out, const char *name, struct err *e)
{
    char folded[FOLDED_BYTES], shown[TEXT_SHOW_BYTES], known[200];
    fold(folded, name ? name : "");
    const struct unit *other_case = NULL;
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        if (!folded[0] || is_listed(rows[i].words, folded, false) ||
            is_listed(rows[i].symbols, folded, true)) {
            *out = &rows[i].unit; /* without a name the first row, no unit */
            return true;
        }
        if (is_listed(rows[i].symbols, folded, false))
            other_case = &rows[i].unit;
    }
    text_show(shown, name, strlen(name));
    if (other_case)
        return err_at(e, ERR_INVALID, 0,
                      "The unit \"%s\" is not known: m is milli and M is mega; \"%s\" would be "
                      "known.",
                      shown, other_case->name);
    return err_at(e, ERR_INVALID, 0, "The unit \"%s\" is not known; known are %s.", shown,
                  names(known, sizeof known, DIM__COUNT));
}

bool unit_shift(int *exp10, const struct unit *from, const struct unit *to, struct err *e)
{
    char known[200];
    if (from->dimension == to->dimension) {
        *exp10 = from->exp10 - to->exp10;
        return true;
    }
    if (to->dimension == DIM_NONE)
        return err_set(e, ERR_INVALID,
                       "%s is %s, but a pure number is wanted: give it without a "
                       "unit.",
                       from->name, dimension_name(from->dimension));
    return err_set(e, ERR_INVALID, "%s is %s, but %s is wanted: give it in %s.",
                   from->name[0] ? from->name : "A number without a unit",
                   dimension_name(from->dimension), dimension_name(to->dimension),
                   names(known, sizeof known, to->dimension));
}

/* Bytes of the character at p where it may stand in a number or beside it, 0 where a unit starts.
 */
static size_t number_char(const char *p)
{
    static const char *const wide[] = {"\xC2\xA0", "\xE2\x88\x92", "\xE2\x80\x89", "\xE2\x80\x99",
                                       "\xE2\x80\xAF"};
    for (size_t i = 0; i < ARRAY_LEN(wide); i++)
        if (!strncmp(p, wide[i], strlen(wide[i])))
            return strlen(wide[i]);
    bool letter = (*p >= 'a' && *p <= 'z') || (*p >= 'A' && *p <= 'Z');
    return letter || *p == '%' || (unsigned char)*p >= 0x80 ? 0 : 1;
}

/* The e of 1e3, which belongs to the number so that the number is refused, not the unit. */
static bool is_exponent(const char *p)
{
    size_t sign = p[0] && (p[1] == '+' || p[1] == '-');
    return (*p == 'e' || *p == 'E') && p[1 + sign] >= '0' && p[1 + sign] <= '9';
}

/* U+2009 or U+202F, which typesetters put between number and unit. */
static bool is_thin_space(const char *p)
{
    return !strncmp(p, "\xE2\x80\x89", 3) || !strncmp(p, "\xE2\x80\xAF", 3);
}

void unit_split(const char *s, size_t *number_len, const char **unit, size_t *unit_len)
{
    size_t at = 0;
    bool figure = false; /* a unit follows a figure: "NaN" and "mA" alone are bad numbers */
    for (size_t step; s[at]; at += step) {
        step = number_char(s + at);
        if (!step && figure && !is_exponent(s + at))
            break;
        step = step ? step : 1;
        figure = figure || (s[at] >= '0' && s[at] <= '9');
    }
    *unit_len = strlen(s + at);
    *unit = text_trim(s + at, unit_len);
    while (at >= 3 && is_thin_space(s + at - 3))
        at -= 3;
    size_t bare = at;
    const char *number = text_trim(s, &bare);
    *number_len = (size_t)(number - s) + bare; /* white space in front stays */
}

const char *dimension_name(enum dimension d)
{
    static const char *const dimension_names[] = {
        [DIM_NONE] = "a pure number",
        [DIM_VOLT] = "a voltage",
        [DIM_AMPERE] = "a current",
        [DIM_SIEMENS] = "a transconductance",
        [DIM_OHM] = "a resistance",
        [DIM_WATT] = "a power",
        [DIM_PERCENT] = "a percentage",
        [DIM_DECIBEL] = "a level in decibels",
        [DIM_STEP] = "a step of an ordered list",
    };
    _Static_assert(ARRAY_LEN(dimension_names) == DIM__COUNT, "every dimension has a name");
    assert(d < DIM__COUNT);
    return dimension_names[d];
}
