/* SPDX-License-Identifier: MIT
 *
 * scheme_value: reading the value of a requirement, one function for each form it takes.  Numbers
 * are exact: digits that could not be kept are refused, never rounded.
 */
#include "grade/scheme_priv.h"

#include "base/text.h"

#include <string.h>

/* Refuse a value: what came, and what is wrong with it. */
static bool refuse(struct err *e, const char *value, const char *why)
{
    char shown[TEXT_SHOW_BYTES];
    return err_field(e, "value", ERR_INVALID, "\"%s\" %s", text_show(shown, value, strlen(value)),
                     why);
}

/* Exactly d at the given decimals; refused where digits would be lost. */
bool scheme_exact(int64_t *out, struct decimal d, int decimals, const char *what, struct err *e)
{
    while (d.decimals > decimals) {
        if (d.mantissa % 10 != 0)
            return err_field(e, "value", ERR_INVALID, "%s takes at most %d decimals", what,
                             decimals);
        d.mantissa /= 10;
        d.decimals--;
    }
    return decimal_scale(out, d, decimals, e) || err_in(e, "value");
}

/* A number of percent, hours, ... : more than 0, at most `most`. */
bool scheme_number(int64_t *out, const char *s, size_t n, int decimals, int64_t most,
                   const char *what, struct err *e)
{
    char shown[TEXT_SHOW_BYTES];
    struct decimal d;
    int64_t v, unit = 1;
    for (int i = 0; i < decimals; i++)
        unit *= 10;
    if (!decimal_parse(&d, s, n, e))
        return err_in(e, "value");
    if (!scheme_exact(&v, d, decimals, what, e))
        return false;
    if (v <= 0 || v > most * unit)
        return err_field(e, "value", ERR_INVALID,
                         "%s is \"%s\": it must be above 0 and at most %lld", what,
                         text_show(shown, s, n), (long long)most);
    *out = v;
    return true;
}

bool scheme_value_none(struct scheme_requirement *r, const char *value, struct err *e)
{
    char shown[TEXT_SHOW_BYTES];
    if (value[0])
        return err_field(e, "value", ERR_INVALID, "%s takes no value, but \"%s\" came",
                         scheme_op_code(r->op), text_show(shown, value, strlen(value)));
    return true;
}

/* A grade must not depend on what varies between new tubes (flags of the vocabulary). */
static bool may_name(enum finding f, struct err *e)
{
    const struct inspection_finding *row = inspection_finding(f);
    if (row->flags & FINDING_NEVER_LOWERS)
        return err_field(e, "value", ERR_INVALID, "no grade may depend on %s \"%s\": %s",
                         inspection_aspect(row->aspect)->words, row->code,
                         row->aspect == ASPECT_GETTER
                             ? "new tubes vary in it; of the getter only white counts"
                         : row->aspect == ASPECT_BOX ? "the box tells of history, and may be false"
                                                     : "it means nothing");
    return true;
}

bool scheme_value_least(struct scheme_requirement *r, const char *value, struct err *e)
{
    if (!inspection_finding_find(&r->least, r->aspect, value, strlen(value), e))
        return err_in(e, "value");
    return may_name(r->least, e);
}

bool scheme_value_named(struct scheme_requirement *r, const char *value, struct err *e)
{
    const char *p = value;
    for (;;) {
        size_t n = strcspn(p, "+");
        enum finding f;
        if (!inspection_finding_find(&f, r->aspect, p, n, e))
            return err_in(e, "value");
        if (!may_name(f, e))
            return false;
        if (r->named[f])
            return err_field(e, "value", ERR_INVALID, "\"%s\" stands twice",
                             inspection_finding(f)->code);
        r->named[f] = true;
        if (!p[n])
            return true;
        p += n + 1;
    }
}

bool scheme_value_percent(struct scheme_requirement *r, const char *value, struct err *e)
{
    return scheme_number(&r->high, value, strlen(value), 2, 1000, "the percentage", e);
}

bool scheme_value_drift(struct scheme_requirement *r, const char *value, struct err *e)
{
    return scheme_number(&r->high, value, strlen(value), 4, 100, "the percentage an hour", e);
}

bool scheme_value_hours(struct scheme_requirement *r, const char *value, struct err *e)
{
    int64_t hundredths;
    if (!scheme_number(&hundredths, value, strlen(value), 2, 10000, "the number of hours", e))
        return false;
    if (hundredths * 60 % 100 != 0)
        return refuse(e, value, "h is no whole number of minutes");
    r->low = hundredths * 60 / 100;
    return true;
}

bool scheme_value_of_nominal(struct scheme_requirement *r, const char *value, struct err *e)
{
    const char *dots = strstr(value, "..");
    size_t n = dots ? (size_t)(dots - value) : strlen(value);
    if (!scheme_number(&r->low, value, n, 2, 1000, "the percentage of nominal", e))
        return false;
    if (!dots)
        return true;
    if (!scheme_number(&r->high, dots + 2, strlen(dots + 2), 2, 1000, "the alarm", e))
        return false;
    if (r->high <= r->low)
        return refuse(e, value,
                      "ends in an alarm that must be above the percentage that is asked for");
    return true;
}

/* One end of a range; NONE where nothing stands. */
static bool range_end(int64_t *out, const struct quantity *q, const char *s, size_t n,
                      const char *unit, struct err *e)
{
    s = text_trim(s, &n);
    *out = NONE;
    if (!n)
        return true;
    struct quantity_value v;
    if (!quantity_value_parse(&v, q, s, n, unit, e))
        return err_in(e, "value");
    if (v.scaled > SCHEME_VALUE_MOST || v.scaled < -SCHEME_VALUE_MOST)
        return err_field(e, "value", ERR_TOO_LARGE, "a limit has at most 13 digits");
    return scheme_exact(out, v.exact, q->kind == QUANTITY_ORDINAL ? 0 : q->decimals, q->name, e);
}

/* "low..high unit": the unit stands once, behind the dots, for both ends. */
bool scheme_value_range(struct scheme_requirement *r, const char *value, struct err *e)
{
    const struct quantity *q = r->quantity[0];
    char shown[TEXT_SHOW_BYTES];
    const char *dots = strstr(value, "..");
    if (!dots)
        return refuse(e, value,
                      "is no range: write both ends or one, such as \"1..2\", \"..2\" or "
                      "\"1..\", and the unit behind");
    const char *high = dots + 2, *unit = high + strlen(high);
    if (q->kind != QUANTITY_ORDINAL) {
        unit = high + strspn(high, " +-0123456789.,");
        if (!*unit && q->unit[0])
            return err_field(e, "value", ERR_INVALID, "\"%s\" has no unit: add %s",
                             text_show(shown, value, strlen(value)), q->unit);
    }
    if (!range_end(&r->low, q, value, (size_t)(dots - value), unit, e) ||
        !range_end(&r->high, q, high, (size_t)(unit - high), unit, e))
        return false;
    if (r->low == NONE && r->high == NONE)
        return refuse(e, value, "has neither a lower nor an upper end");
    if (r->low != NONE && r->high != NONE && r->low > r->high)
        return refuse(e, value, "ends below where it begins");
    return true;
}
