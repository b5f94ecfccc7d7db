/* SPDX-License-Identifier: MIT
 *
 * scheme_check: does a scheme make sense as a whole; and its demands in words.
 *
 * Grades are ordered, so a lower grade must not ask more of a subject than a higher one does in the
 * same way (same op, same subject): otherwise a tube could be too bad for a low grade and good
 * enough for a high one.
 */
#include "grade/scheme_priv.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

static bool refuse(struct err *e, int64_t line, const char *field, enum err_code code,
                   const char *text)
{
    if (e)
        e->line = line;
    return err_field(e, field, code, "%s", text);
}

/* Does the requirement of a lower grade ask more than the same one of a higher grade? */
static bool asks_more(const struct scheme_requirement *low, const struct scheme_requirement *high)
{
    if (high->where_done && !low->where_done)
        return true;
    switch (low->op) {
    case SCHEME_AT_LEAST:
        return low->least < high->least;
    case SCHEME_NOT_IN:
        for (int f = 0; f < FINDING__COUNT; f++)
            if (low->named[f] && !high->named[f])
                return true;
        return false;
    case SCHEME_OF_NOMINAL:
    case SCHEME_HOURS:
        return low->low > high->low;
    case SCHEME_NEAR_NOMINAL:
    case SCHEME_BALANCE:
    case SCHEME_DRIFT:
        return low->high < high->high;
    case SCHEME_RANGE:
        return (low->low != NONE && (high->low == NONE || low->low > high->low)) ||
               (low->high != NONE && (high->high == NONE || low->high < high->high));
    case SCHEME_CLEAR:
    case SCHEME_TESTED:
    case SCHEME_LIMITS:
    case SCHEME_UNQUESTIONED:
    case SCHEME_OP__COUNT:
        return false;
    }
    return false;
}

static bool requirement_check(const struct scheme *s, int i, struct err *e)
{
    char text[300];
    const struct scheme_requirement *r = &s->requirement[i];
    for (int k = 0; k < i; k++) {
        const struct scheme_requirement *other = &s->requirement[k];
        if (other->op != r->op || strcmp(other->subject, r->subject) != 0)
            continue;
        if (other->grade == r->grade) {
            snprintf(text, sizeof text, "%s asks %s of %.80s twice: see line %lld",
                     s->grade[r->grade].code, scheme_op_code(r->op), r->subject,
                     (long long)other->line);
            return refuse(e, r->line, "subject", ERR_INVALID, text);
        }
        if (asks_more(r, other)) {
            snprintf(text, sizeof text,
                     "%s asks more of %.80s than %s, the better grade, on line %lld",
                     s->grade[r->grade].code, r->subject, s->grade[other->grade].code,
                     (long long)other->line);
            return refuse(e, r->line, "value", ERR_INVALID, text);
        }
    }
    return true;
}

bool scheme_check(const struct scheme *s, struct err *e)
{
    char text[200];
    if (s->grade_count == 0)
        return refuse(e, 0, "grade", ERR_INVALID,
                      "the scheme has no grade: a line like \"prime,,grade,,as good as new\" opens "
                      "one");
    if (s->requirement_count == 0)
        return refuse(e, s->grade[0].line, "grade", ERR_INVALID,
                      "the scheme asks for nothing: every tube would be the same");
    for (int g = 0; g + 1 < s->grade_count; g++)
        if (s->grade[g].count == 0) {
            snprintf(text, sizeof text, "%s asks for nothing: only the last grade may",
                     s->grade[g].code);
            return refuse(e, s->grade[g].line, "grade", ERR_INVALID, text);
        }
    for (int i = 0; i < s->requirement_count; i++)
        if (!requirement_check(s, i, e))
            return false;
    return true;
}

/* ---- in words -----------------------------------------------------------------------------------
 */
static const char *trim_zeros(char *buf)
{
    if (strchr(buf, '.')) {
        size_t n = strlen(buf);
        while (buf[n - 1] == '0')
            buf[--n] = '\0';
        if (buf[n - 1] == '.')
            buf[n - 1] = '\0';
    }
    return buf;
}

const char *scheme_percent(char *buf, int64_t hundredths)
{
    decimal_print(buf, hundredths, 2);
    return trim_zeros(buf);
}

static const char *named_words(struct arena *a, const struct scheme_requirement *r)
{
    const char *text = "";
    for (int f = 0; f < FINDING__COUNT; f++)
        if (r->named[f])
            text = arena_printf(a, "%s%s%s", text, *text ? ", " : "",
                                inspection_finding((enum finding)f)->words);
    return text;
}

static const char *range_words(struct arena *a, const struct scheme_requirement *r)
{
    char low[QUANTITY_PRINT_BYTES], high[QUANTITY_PRINT_BYTES];
    const struct quantity *q = r->quantity[0];
    if (r->low == NONE)
        return arena_printf(a, "at most %s", quantity_value_print(high, q, r->high));
    if (r->high == NONE)
        return arena_printf(a, "at least %s", quantity_value_print(low, q, r->low));
    quantity_value_print(low, q, r->low);
    quantity_value_print(high, q, r->high);
    if (r->low == r->high)
        return arena_text(a, low);
    return arena_printf(a, "%s to %s", low, high);
}

const char *scheme_demand(struct arena *a, const struct scheme_requirement *r)
{
    char buf[DECIMAL_BYTES];
    switch (r->op) {
    case SCHEME_AT_LEAST:
        return arena_printf(a, "\"%s\" or better", inspection_finding(r->least)->words);
    case SCHEME_NOT_IN:
        return arena_printf(a, "none of: %s", named_words(a, r));
    case SCHEME_CLEAR:
        return "a test that finds nothing";
    case SCHEME_TESTED:
        return "a value for every section";
    case SCHEME_OF_NOMINAL:
        return arena_printf(a, "%s %% of nominal or more", scheme_percent(buf, r->low));
    case SCHEME_NEAR_NOMINAL:
        return arena_printf(a, "a value within %s %% of nominal", scheme_percent(buf, r->high));
    case SCHEME_LIMITS:
        return "a value within the limits of the test point";
    case SCHEME_RANGE:
        return range_words(a, r);
    case SCHEME_BALANCE:
        return arena_printf(a, "sections within %s %% of the lowest", scheme_percent(buf, r->high));
    case SCHEME_DRIFT:
        decimal_print(buf, r->high, 4);
        return arena_printf(a, "a change of at most %s %% an hour", trim_zeros(buf));
    case SCHEME_HOURS:
        return arena_printf(a, "at least %lld h %lld min of burn-in", (long long)(r->low / 60),
                            (long long)(r->low % 60));
    case SCHEME_UNQUESTIONED:
        return "no reading that had to be confirmed";
    case SCHEME_OP__COUNT:
        break;
    }
    assert(false && "an op without words");
    return "";
}
