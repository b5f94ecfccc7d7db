/* SPDX-License-Identifier: MIT
 *
 * quantity: the built-in rows and the reading of a typed value.
 *
 * The text is split into number and unit (base/unit), the number is read exactly (base/decimal),
 * the unit only moves the decimal point, and the single rounding is decimal_scale.  The bounds of
 * the possible are deliberately wide: they stop a slip of the finger by many orders of magnitude,
 * and leave a slip of the unit (5200 typed as mA/V) to the question that measure/plausible.h asks.
 */
#include "measure/quantity.h"

#include "base/text.h"
#include "base/unit.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

/* Rows sorted by code.  Bounds are at the row's decimals.  least and most: house rule, some ten
 * times beyond the largest and smallest tubes ever made, so that only nonsense is refused.
 * usual_*: house rule, the span of receiving and small power tubes from test-practice (units and
 * orders of magnitude: Radiotron Designer's Handbook, 4th ed., ch. 2, from memory). */
#define NUMERIC(code, name, unit, decimals, better, scope, least, most, usual_least, usual_most)  \
    {                                                                                             \
        code, name, unit, decimals, QUANTITY_##better, QUANTITY_##scope, QUANTITY_NUMERIC, false, \
            INT64_C(least), INT64_C(most), INT64_C(usual_least), INT64_C(usual_most), ""          \
    }
#define RELATIVE(code, name, unit, decimals, most)                                                \
    {                                                                                             \
        code, name, unit, decimals, QUANTITY_HIGHER, QUANTITY_SECTION, QUANTITY_NUMERIC, true, 0, \
            INT64_C(most), 0, 0, ""                                                               \
    }
#define ORDINAL(code, name, better, scope, steps)                                                  \
    {                                                                                              \
        code, name, "", 0, QUANTITY_##better, QUANTITY_##scope, QUANTITY_ORDINAL, false, 0, 63, 0, \
            0, steps                                                                               \
    }

/* clang-format off */
static const struct quantity builtin[] = {
    NUMERIC("anode", "current per anode at the stated volts", "mA", 2, HIGHER, SECTION,
            0, 100000000, 10, 200000),
    NUMERIC("closing", "grid volts at which the eye closes", "V", 2, NEARER, TUBE,
            -1000000, 1000000, 0, 0),
    ORDINAL("continuity", "heater continuity", LOWER, TUBE, "whole|open"),
    NUMERIC("cutoff", "cut-off grid volts", "V", 2, NEARER, SECTION,
            -1000000, 100000, 0, 0),
    NUMERIC("drop", "volts dropped at the stated current", "V", 2, LOWER, SECTION,
            0, 10000000, 50, 20000),
    NUMERIC("emission", "emission", "mA", 2, HIGHER, SECTION,
            0, 100000000, 10, 200000),
    ORDINAL("gas", "gas test", LOWER, TUBE, "clear|found"),
    ORDINAL("glow", "brightness of the indicator", HIGHER, TUBE, "dark|dim|fair|bright"),
    NUMERIC("gm", "transconductance", "mA/V", 3, HIGHER, SECTION,
            0, 100000000, 50, 100000),
    NUMERIC("heater", "heater current", "mA", 1, NEARER, TUBE,
            0, 100000000, 100, 100000),
    NUMERIC("hk", "heater-cathode leakage", "uA", 3, LOWER, SECTION,
            0, 10000000000, 0, 0),
    NUMERIC("ia", "plate current", "mA", 3, NEARER, SECTION,
            0, 1000000000, 5, 2000000),
    NUMERIC("ig", "grid current", "uA", 3, LOWER, SECTION,
            -1000000000, 1000000000, 0, 0),
    NUMERIC("ig2", "screen current", "mA", 3, NONE, SECTION,
            -100000000, 100000000, 0, 0),
    NUMERIC("leak", "leakage resistance between electrodes", "Mohm", 3, HIGHER, TUBE,
            0, 1000000000000, 0, 0),
    ORDINAL("leakage", "heater-cathode leakage test", LOWER, TUBE, "clear|found"),
    RELATIVE("meter", "reading on a scale of arbitrary divisions", "", 2, 100000000),
    NUMERIC("microphony", "microphony at the plate", "mV", 2, LOWER, TUBE,
            0, 100000000, 0, 0),
    ORDINAL("microphony-ear", "microphony by ear", LOWER, TUBE, "none|slight|marked|howls"),
    NUMERIC("mu", "amplification factor", "", 2, NEARER, SECTION,
            0, 10000000, 50, 1000000),
    NUMERIC("noise", "noise referred to the grid", "uV", 2, LOWER, SECTION,
            0, 1000000000, 0, 0),
    NUMERIC("noise-db", "noise level", "dB", 1, LOWER, SECTION,
            -3000, 3000, 0, 0),
    ORDINAL("noise-ear", "noise by ear", LOWER, SECTION, "silent|faint|audible|loud"),
    NUMERIC("power", "output power", "W", 3, HIGHER, TUBE,
            0, 1000000000, 0, 0),
    NUMERIC("regulating", "regulating volts", "V", 2, NEARER, TUBE,
            0, 10000000, 2000, 50000),
    NUMERIC("regulation", "change of volts over the current range", "V", 2, LOWER, TUBE,
            -100000, 1000000, 0, 0),
    NUMERIC("rp", "plate resistance", "kohm", 3, NEARER, SECTION,
            0, 1000000000, 50, 5000000),
    RELATIVE("share", "reading on a percent scale", "%", 1, 100000),
    ORDINAL("shorts", "shorts and leakage test", LOWER, TUBE, "none|flickers|found"),
    NUMERIC("strike", "striking volts", "V", 2, LOWER, TUBE,
            0, 10000000, 2000, 100000),
};
/* clang-format on */

const struct quantity *quantity_builtin(size_t *count)
{
    *count = ARRAY_LEN(builtin);
    return builtin;
}

const struct quantity *quantity_find(const char *code)
{
    for (size_t i = 0; i < ARRAY_LEN(builtin); i++)
        if (strcmp(builtin[i].code, code) == 0)
            return &builtin[i];
    return NULL;
}

/* ---- checking a row ---------------------------------------------------------------------------
 */

/* The bounds of step i in q->steps; false past the last. */
static bool step_find(const struct quantity *q, int i, const char **word, size_t *len)
{
    const char *p = q->steps;
    for (; i > 0; i--) {
        p = strchr(p, '|');
        if (p == NULL)
            return false;
        p++;
    }
    *word = p;
    *len = strcspn(p, "|");
    return true;
}

int quantity_step_count(const struct quantity *q)
{
    if (q->kind != QUANTITY_ORDINAL)
        return 0;
    int count = 0;
    const char *word;
    size_t len;
    while (step_find(q, count, &word, &len))
        count++;
    return count;
}

static bool code_check(const char *code, struct err *e)
{
    size_t n = strlen(code);
    size_t good = strspn(code, "abcdefghijklmnopqrstuvwxyz0123456789-");
    char shown[TEXT_SHOW_BYTES];
    if (n == 0 || n >= QUANTITY_CODE_BYTES || good < n || code[0] < 'a' || code[0] > 'z')
        return err_field(
            e, "code", ERR_INVALID,
            "\"%s\" is no code for a quantity: 1 to %d of a-z, 0-9 and \"-\", a letter "
            "first",
            text_show(shown, code, n), QUANTITY_CODE_BYTES - 1);
    return true;
}

static bool ordinal_check(const struct quantity *q, struct err *e)
{
    if (q->unit[0] != '\0')
        return err_field(e, "unit", ERR_INVALID,
                         "%s goes by steps and has no unit, but \"%s\" came", q->code, q->unit);
    if (q->decimals != 0)
        return err_field(e, "decimals", ERR_INVALID,
                         "%s goes by steps and has no decimals, but %d came", q->code, q->decimals);
    if (!text_check_line(q->steps, strlen(q->steps), QUANTITY_STEPS_MAX, e))
        return err_in(e, "steps");
    int count = quantity_step_count(q);
    if (count < 2 || count > 64)
        return err_field(e, "steps", ERR_INVALID,
                         "%s needs 2 to 64 steps, separated by \"|\", but has %d", q->code, count);
    for (int i = 0; i < count; i++) {
        const char *word;
        size_t len;
        if (step_find(q, i, &word, &len) && len == 0)
            return err_field(e, "steps", ERR_INVALID, "step %d of %s has no word", i, q->code);
    }
    return true;
}

bool quantity_check(const struct quantity *q, struct err *e)
{
    if (!code_check(q->code, e))
        return false;
    if (q->name[0] == '\0')
        return err_field(e, "name", ERR_INVALID, "the quantity %s needs a name", q->code);
    if (!text_check_line(q->name, strlen(q->name), QUANTITY_NAME_MAX, e))
        return err_in(e, "name");
    if (q->kind == QUANTITY_ORDINAL)
        return ordinal_check(q, e);
    if (q->decimals < 0 || q->decimals > QUANTITY_DECIMALS_MAX)
        return err_field(e, "decimals", ERR_INVALID, "%s may have 0 to %d decimals, but %d came",
                         q->code, QUANTITY_DECIMALS_MAX, q->decimals);
    const struct unit *unit;
    if (!unit_find(&unit, q->unit, e))
        return err_in(e, "unit");
    if (q->least > q->most)
        return err_field(e, "least", ERR_INVALID,
                         "the least possible %s is above the most possible", q->name);
    if (q->usual_least > q->usual_most)
        return err_field(e, "usual_least", ERR_INVALID,
                         "the least usual %s is above the most usual", q->name);
    return true;
}

/* ---- reading a value --------------------------------------------------------------------------
 */

static bool step_parse(int64_t *step, const struct quantity *q, const char *s, size_t n,
                       struct err *e)
{
    s = text_trim(s, &n);
    const char *word;
    size_t len;
    for (int i = 0; step_find(q, i, &word, &len); i++) {
        if (len == n && strncasecmp(word, s, n) == 0) {
            *step = i;
            return true;
        }
    }
    int count = quantity_step_count(q);
    if (n > 0 && n <= 2 && strspn(s, "0123456789") >= n) {
        int number = s[0] - '0';
        if (n == 2)
            number = number * 10 + (s[1] - '0');
        if (number < count) {
            *step = number;
            return true;
        }
    }
    char shown[TEXT_SHOW_BYTES];
    return err_field(e, q->code, ERR_INVALID,
                     "\"%s\" is no step of %s: write one of %s, or its number 0 to %d",
                     text_show(shown, s, n), q->name, q->steps, count - 1);
}

/* The unit that counts: the one typed, else the tester's, else the quantity's. */
static bool unit_choose(const struct unit **out, const struct quantity *q, const char *typed,
                        size_t typed_len, const char *default_unit, struct err *e)
{
    char name[64];
    if (typed_len >= sizeof name)
        return err_set(e, ERR_INVALID, "no unit is %zu bytes long: %s is read in %s", typed_len,
                       q->name, q->unit);
    if (typed_len > 0) {
        memcpy(name, typed, typed_len);
        name[typed_len] = '\0';
        return unit_find(out, name, e);
    }
    if (default_unit != NULL && default_unit[0] != '\0')
        return unit_find(out, default_unit, e);
    return unit_find(out, q->unit, e);
}

static bool bounds_check(const struct quantity *q, int64_t scaled, bool negative, const char *s,
                         size_t n, struct err *e)
{
    char shown[TEXT_SHOW_BYTES], bound[QUANTITY_PRINT_BYTES];
    s = text_trim(s, &n);
    text_show(shown, s, n);
    if (q->least == 0 && negative)
        return err_field(e, q->code, ERR_INVALID,
                         "%s cannot be below zero, but \"%s\" came: write it without the sign",
                         q->name, shown);
    if (scaled < q->least)
        return err_field(e, q->code, ERR_TOO_LARGE,
                         "no tube has a %s of \"%s\": it cannot be below %s; was the unit another?",
                         q->name, shown, quantity_value_print(bound, q, q->least));
    if (scaled > q->most)
        return err_field(e, q->code, ERR_TOO_LARGE,
                         "no tube has a %s of \"%s\": it cannot be above %s; was the unit another?",
                         q->name, shown, quantity_value_print(bound, q, q->most));
    return true;
}

static bool number_parse(struct quantity_value *out, const struct quantity *q, const char *s,
                         size_t n, const char *default_unit, struct err *e)
{
    char text[128];
    if (n >= sizeof text)
        return err_set(e, ERR_INVALID,
                       "a reading is a number with its unit, such as \"5.2\", but "
                       "%zu bytes came",
                       n);
    if (memchr(s, '\0', n) != NULL)
        return err_set(e, ERR_INVALID, "a reading holds no NUL byte");
    memcpy(text, s, n);
    text[n] = '\0';

    size_t number_len, unit_len;
    const char *unit_text;
    const struct unit *own, *given;
    int exp10;
    struct quantity_value v;
    unit_split(text, &number_len, &unit_text, &unit_len);
    if (!decimal_parse(&v.typed, text, number_len, e) || !unit_find(&own, q->unit, e) ||
        !unit_choose(&given, q, unit_text, unit_len, default_unit, e) ||
        !unit_shift(&exp10, given, own, e))
        return false;
    int decimals = v.typed.decimals - exp10;
    if (decimals < -DECIMAL_DIGITS || decimals > DECIMAL_DIGITS)
        return err_set(e, ERR_INVALID, "\"%s\" has more decimals than can be kept in %s", text,
                       q->unit);
    v.exact = decimal_shift(v.typed, exp10);
    if (!decimal_scale(&v.scaled, v.exact, q->decimals, e) ||
        !bounds_check(q, v.scaled, v.typed.mantissa < 0, text, n, e))
        return false;
    *out = v;
    return true;
}

bool quantity_value_parse(struct quantity_value *out, const struct quantity *q, const char *s,
                          size_t n, const char *default_unit, struct err *e)
{
    if (q->kind == QUANTITY_ORDINAL) {
        int64_t step = 0;
        if (!step_parse(&step, q, s, n, e))
            return false;
        *out = (struct quantity_value){.typed = {step, 0}, .exact = {step, 0}, .scaled = step};
        return true;
    }
    if (!number_parse(out, q, s, n, default_unit, e))
        return err_in(e, q->code);
    return true;
}

const char *quantity_value_print(char *buf, const struct quantity *q, int64_t scaled)
{
    char number[DECIMAL_BYTES];
    const char *word;
    size_t len;
    if (q->kind == QUANTITY_ORDINAL) {
        if (scaled >= 0 && scaled < quantity_step_count(q) &&
            step_find(q, (int)scaled, &word, &len))
            snprintf(buf, QUANTITY_PRINT_BYTES, "%.*s", (int)(len < 80 ? len : 80), word);
        else
            snprintf(buf, QUANTITY_PRINT_BYTES, "step %lld", (long long)scaled);
        return buf;
    }
    snprintf(buf, QUANTITY_PRINT_BYTES, "%s%s%s", decimal_print(number, scaled, q->decimals),
             q->unit[0] != '\0' ? " " : "", q->unit);
    return buf;
}

double quantity_value_real(const struct quantity *q, int64_t scaled)
{
    static const double power[] = {1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9};
    assert(q->decimals >= 0 && q->decimals <= QUANTITY_DECIMALS_MAX);
    return (double)scaled / power[q->decimals];
}
