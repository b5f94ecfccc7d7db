/* SPDX-License-Identifier: MIT
 *
 * band: a per cent becomes a ratio in lowest terms, exactly as typed; an absolute band stays a
 * decimal until the decimals of its column are known.
 */
#include "match/band.h"

#include "base/text.h"

#include <string.h>

#define PERCENT_DECIMALS 6

static int64_t common_divisor(int64_t a, int64_t b)
{
    while (b != 0) {
        int64_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

static bool ratio_parse(struct band *out, const char *s, size_t n, struct err *e)
{
    char shown[TEXT_SHOW_BYTES];
    struct decimal d;
    struct err inner = ERR_INIT;
    if (!decimal_parse(&d, s, n, &inner))
        return err_set(e, ERR_INVALID, "the band \"%s%%\" is not understood: %s",
                       text_show(shown, s, n), inner.text);
    if (d.decimals > PERCENT_DECIMALS)
        return err_set(e, ERR_INVALID, "the band %s%% has more than %d decimals",
                       text_show(shown, s, n), PERCENT_DECIMALS);
    int64_t den = 100;
    for (int i = 0; i < d.decimals; i++)
        den *= 10;
    if (d.mantissa < 0 || d.mantissa / den > 10 || (d.mantissa / den == 10 && d.mantissa % den > 0))
        return err_set(e, ERR_INVALID, "the band %s%% is out of range: 0%% to 1000%% are taken",
                       text_show(shown, s, n));
    int64_t divisor = common_divisor(d.mantissa, den);
    out->kind = MATCH_RELATIVE;
    out->ratio = (struct match_band){MATCH_RELATIVE, d.mantissa / divisor, den / divisor};
    return true;
}

static bool width_parse(struct band *out, const char *s, size_t n, const char *whole, struct err *e)
{
    struct err inner = ERR_INIT;
    if (!decimal_parse(&out->width, s, n, &inner))
        return err_set(e, ERR_INVALID, "the band \"%.60s\" is not understood: %s", whole,
                       inner.text);
    if (out->width.mantissa < 0)
        return err_set(e, ERR_INVALID, "the band \"%.60s\" is below zero", whole);
    out->kind = MATCH_ABSOLUTE;
    return true;
}

static bool one_parse(struct band *out, const char *s, struct err *e)
{
    size_t n = strlen(s);
    if (n > 0 && s[n - 1] == '%')
        return ratio_parse(out, s, n - 1, e);
    if (strncmp(s, "abs:", 4) == 0)
        return width_parse(out, s + 4, n - 4, s, e);
    size_t number;
    size_t unit_n;
    const char *unit;
    unit_split(s, &number, &unit, &unit_n);
    if (number > 0 && unit_n == 0)
        return err_set(
            e, ERR_INVALID,
            "the band \"%.60s\" is a bare number: give %.60s%% of the lowest, abs:%.60s in "
            "the column's own unit, or a unit",
            s, s, s);
    return width_parse(out, s, number, s, e) && unit_find(&out->unit, unit, e);
}

bool band_list_parse(struct band_list *out, const char *text, struct arena *a, struct err *e)
{
    struct band_list list = {0};
    list.band = arena_array(a, MATCH_COORDINATES, sizeof *list.band);
    char *rest = arena_text(a, text);
    for (char *part = rest; part != NULL; part = rest) {
        rest = strchr(part, ',');
        if (rest != NULL)
            *rest++ = '\0';
        size_t n = strlen(part);
        const char *trimmed = text_trim(part, &n);
        char *one = arena_bytes(a, trimmed, n);
        char *equals = strchr(one, '=');
        struct band *b = &list.band[list.count];
        if (list.count == MATCH_COORDINATES)
            return err_set(e, ERR_INVALID, "more than %d bands", MATCH_COORDINATES);
        if (n == 0)
            return err_set(e, ERR_INVALID, "an empty band: give for example 5%% or ia=5%%,gm=10%%");
        if (equals != NULL)
            *equals = '\0';
        b->column = equals != NULL ? one : "";
        for (int i = 0; i < list.count; i++) {
            if (strcmp(list.band[i].column, b->column) == 0 || b->column[0] == '\0' ||
                list.band[i].column[0] == '\0')
                return err_set(
                    e, ERR_INVALID,
                    "give one band for all quantities, or one for each named column once: "
                    "ia=5%%,gm=10%%");
        }
        if (!one_parse(b, equals != NULL ? equals + 1 : one, e))
            return false;
        list.count++;
    }
    *out = list;
    return true;
}

bool band_width(struct decimal *out, const struct band *b, const char *column,
                const struct unit *unit, int *decimals, struct err *e)
{
    struct decimal width = b->width;
    if (b->unit != NULL) {
        int shift;
        if (unit == NULL)
            return err_field(e, column, ERR_INVALID,
                             "the band of %s has a unit, but that of the column is not known: give "
                             "the band as abs: in the column's own unit",
                             column);
        if (!unit_shift(&shift, b->unit, unit, e))
            return err_in(e, column);
        width = decimal_shift(width, shift);
    }
    while (width.decimals > 0 && width.mantissa % 10 == 0) {
        width.mantissa /= 10;
        width.decimals--;
    }
    if (width.decimals > DECIMAL_DECIMALS)
        return err_field(e, column, ERR_INVALID, "the band of %s has more than %d decimals", column,
                         DECIMAL_DECIMALS);
    if (width.decimals > *decimals)
        *decimals = width.decimals;
    *out = width;
    return true;
}
