/* SPDX-License-Identifier: MIT
 *
 * grade_words: the sentence that a judgement becomes: what was found, with numbers and units, and
 * what the grade asks for.  A share of nominal is printed rounded away from the better grade (down,
 * and for an alarm up), so that 89.96 % never reads as the 90 % that was missed.
 */
#include "grade/judge.h"

#include "base/decimal.h"

#include <stdio.h>
#include <string.h>

const char *judge_name(struct arena *a, const struct quantity *q, const struct grade_input *in,
                       int section)
{
    if (q->scope == QUANTITY_TUBE || in->sections == 1 || section == 0)
        return q->name;
    return arena_printf(a, "%s of section %d", q->name, section);
}

const char *judge_subject(struct arena *a, const struct scheme_requirement *r,
                          const struct grade_input *in, const struct judgement *j)
{
    if (!j->quantity)
        return r->subject;
    if (j->section == 0 || in->sections == 1 || j->quantity->scope == QUANTITY_TUBE)
        return j->quantity->code;
    return arena_printf(a, "%s.%d", j->quantity->code, j->section);
}

/* "1.439 mA/V (u 0.05)" */
static const char *value_words(struct arena *a, const struct quantity *q,
                               const struct grade_value *v)
{
    char value[QUANTITY_PRINT_BYTES], u[DECIMAL_BYTES];
    quantity_value_print(value, q, v->value);
    int64_t own = judge_u(v);
    if (own == 0)
        return arena_text(a, value);
    decimal_print(u, own, q->decimals + GRADE_U_DECIMALS);
    size_t n = strlen(u);
    while (u[n - 1] == '0')
        u[--n] = '\0';
    if (u[n - 1] == '.')
        u[n - 1] = '\0';
    return arena_printf(a, "%s (u %s)", value, u);
}

/* Tenths of a percent that value is of nominal > 0, rounded down, or up. */
static int64_t share(int64_t value, int64_t nominal, bool up)
{
    int64_t tenths = value * 1000 / nominal;
    return tenths + (up && value * 1000 % nominal > 0);
}

static const char *nominal_words(struct arena *a, const struct quantity *q,
                                 const struct grade_value *v, bool alarm)
{
    char nominal[QUANTITY_PRINT_BYTES], percent[DECIMAL_BYTES];
    quantity_value_print(nominal, q, v->nominal);
    if (v->nominal <= 0)
        return arena_printf(a, "nominal is %s", nominal);
    return arena_printf(a, "%s %% of the nominal %s",
                        decimal_print(percent, share(v->value, v->nominal, alarm), 1), nominal);
}

static const char *limits_words(struct arena *a, const struct quantity *q,
                                const struct grade_value *v)
{
    char low[QUANTITY_PRINT_BYTES], high[QUANTITY_PRINT_BYTES];
    if (v->low == NONE)
        return arena_printf(a, "at most %s", quantity_value_print(high, q, v->high));
    if (v->high == NONE)
        return arena_printf(a, "at least %s", quantity_value_print(low, q, v->low));
    return arena_printf(a, "%s to %s", quantity_value_print(low, q, v->low),
                        quantity_value_print(high, q, v->high));
}

static const char *balance_words(struct arena *a, const struct judgement *j)
{
    char low[QUANTITY_PRINT_BYTES], high[QUANTITY_PRINT_BYTES], percent[DECIMAL_BYTES];
    quantity_value_print(low, j->quantity, j->value->value);
    quantity_value_print(high, j->quantity, j->other->value);
    if (j->value->value <= 0)
        return arena_printf(a, "%s of the sections runs from %s to %s", j->quantity->name, low,
                            high);
    int64_t apart =
        share(j->other->value - j->value->value, j->value->value, j->verdict == VERDICT_MISSED);
    return arena_printf(a, "%s of the sections runs from %s to %s, %s %% apart", j->quantity->name,
                        low, high, decimal_print(percent, apart, 1));
}

/* What was found of a quantity that was tested. */
static const char *found_words(struct arena *a, const struct scheme_requirement *r,
                               const struct grade_input *in, const struct judgement *j)
{
    char before[QUANTITY_PRINT_BYTES];
    const struct quantity *q = j->quantity;
    const char *name = judge_name(a, q, in, j->section), *value = value_words(a, q, j->value);
    switch (r->op) {
    case SCHEME_TESTED:
        return arena_printf(a, "%s was tested", q->name);
    case SCHEME_OF_NOMINAL:
        if (j->why == WHY_NO_NOMINAL)
            return arena_printf(a, "%s is %s, but no nominal value is known for it", name, value);
        return arena_printf(a, "%s is %s, %s", name, value,
                            nominal_words(a, q, j->value, j->verdict == VERDICT_ALARM));
    case SCHEME_NEAR_NOMINAL:
        if (j->why == WHY_NO_NOMINAL)
            return arena_printf(a, "%s is %s, but no nominal value is known for it", name, value);
        return arena_printf(a, "%s is %s, %s", name, value, nominal_words(a, q, j->value, false));
    case SCHEME_LIMITS:
        return arena_printf(a, "%s is %s, the limits are %s", name, value,
                            limits_words(a, q, j->value));
    case SCHEME_BALANCE:
        return balance_words(a, j);
    case SCHEME_DRIFT:
        if (j->why == WHY_NO_BURN_IN)
            return arena_printf(a, "%s has no value from before a burn-in", name);
        quantity_value_print(before, q, j->value->before);
        return arena_printf(a, "%s went from %s to %s in %lld min of burn-in", name, before, value,
                            (long long)in->burn_in_min);
    case SCHEME_RANGE:
    case SCHEME_AT_LEAST:
    case SCHEME_NOT_IN:
    case SCHEME_CLEAR:
    case SCHEME_HOURS:
    case SCHEME_UNQUESTIONED:
    case SCHEME_OP__COUNT:
        break;
    }
    return arena_printf(a, "%s is %s", name, value);
}

static const char *test_words(struct arena *a, const struct scheme_requirement *r,
                              const struct grade_input *in, const struct judgement *j)
{
    const char *words = scheme_test_words(r->test);
    if (j->verdict == VERDICT_UNTESTED)
        return arena_printf(a, "not tested for %s", words);
    if (j->verdict == VERDICT_MISSED)
        return arena_printf(a, "the test for %s found something", words);
    if (in->tests[r->test] == TEST_NOT_DONE)
        return arena_printf(a, "tested for %s by its measured value", words);
    return arena_printf(a, "tested for %s, nothing found", words);
}

static const char *subject_words(struct arena *a, const struct scheme_requirement *r,
                                 const struct grade_input *in, const struct judgement *j)
{
    switch (r->op) {
    case SCHEME_AT_LEAST:
    case SCHEME_NOT_IN:
        return arena_printf(a, "%s: %s", inspection_aspect(r->aspect)->words,
                            inspection_words(a, &in->look, r->aspect));
    case SCHEME_CLEAR:
        return test_words(a, r, in, j);
    case SCHEME_HOURS:
        return arena_printf(a, "burned in for %lld min", (long long)in->burn_in_min);
    case SCHEME_UNQUESTIONED:
        if (!j->value)
            return "no reading had to be confirmed";
        return arena_printf(a, "the reading of %s was questioned on entry and then confirmed",
                            j->value->quantity);
    default:
        if (!j->value)
            return arena_printf(a, "%s was not tested", judge_name(a, j->quantity, in, j->section));
        return found_words(a, r, in, j);
    }
}

static bool guarded(enum scheme_op op)
{
    return op == SCHEME_OF_NOMINAL || op == SCHEME_NEAR_NOMINAL || op == SCHEME_LIMITS ||
           op == SCHEME_RANGE;
}

const char *judge_words(struct arena *a, const struct scheme *s, const struct scheme_requirement *r,
                        const struct grade_input *in, const struct judgement *j)
{
    char percent[DECIMAL_BYTES];
    const char *found = subject_words(a, r, in, j);
    if (j->verdict == VERDICT_ALARM)
        return arena_printf(a,
                            "%s: above the alarm of %s %%; check type, settings and tester before "
                            "it is graded",
                            found, scheme_percent(percent, r->high));
    const char *text =
        arena_printf(a, "%s; %s asks for %s", found, s->grade[r->grade].code, scheme_demand(a, r));
    if (j->verdict == VERDICT_MISSED && j->ppm != NONE && j->ppm >= 500000 && s->guard > 0)
        text = arena_printf(a, "%s, with a guard band of %s U in hand", text,
                            scheme_percent(percent, s->guard));
    if (s->guard > 0 && guarded(r->op) && j->value && judge_u(j->value) == 0)
        text = arena_printf(a, "%s; its uncertainty is not known, so no guard band was kept", text);
    if (!j->borderline)
        return text;
    return arena_printf(a, "%s; borderline: met with a probability of %s %%", text,
                        decimal_print(percent, (j->ppm + 500) / 1000, 1));
}
