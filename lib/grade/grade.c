/* SPDX-License-Identifier: MIT
 *
 * grade: the walk over the grades of a scheme.
 *
 * Each grade comes out as held, missed (something is proven not to hold) or open (nothing is proven
 * against it, but something was not tested or is not believed).  The first that holds is given.  A
 * last grade that asks for nothing holds only where the grade above it is missed: what was only not
 * tested must not end as the worst.
 */
#include "grade/grade.h"

#include "base/decimal.h"
#include "grade/judge.h"
#include "measure/conformity.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

const char *verdict_code(enum verdict v)
{
    static const char *const codes[] = {[VERDICT_MET] = "met",
                                        [VERDICT_IDLE] = "idle",
                                        [VERDICT_MISSED] = "missed",
                                        [VERDICT_UNTESTED] = "untested",
                                        [VERDICT_ALARM] = "alarm"};
    return codes[v];
}

/* ---- checking the input -------------------------------------------------------------------------
 */
static const struct quantity *named_by(const struct scheme *s, const char *code)
{
    for (int i = 0; i < s->requirement_count; i++)
        for (int k = 0; k < s->requirement[i].quantity_count; k++)
            if (strcmp(s->requirement[i].quantity[k]->code, code) == 0)
                return s->requirement[i].quantity[k];
    return NULL;
}

static bool number_check(int64_t v, int64_t most, const char *what, const char *code, struct err *e)
{
    if (v == NONE || (v >= -most && v <= most))
        return true;
    return err_field(e, code, ERR_TOO_LARGE, "%s of %s has more than 13 digits", what, code);
}

static bool numbers_check(const struct grade_value *v, struct err *e)
{
    const char *code = v->quantity;
    const int64_t most = SCHEME_VALUE_MOST;
    if (!number_check(v->value, most, "the value", code, e) ||
        !number_check(v->nominal, most, "the nominal value", code, e) ||
        !number_check(v->low, most, "the lower limit", code, e) ||
        !number_check(v->high, most, "the upper limit", code, e) ||
        !number_check(v->before, most, "the value before burn-in", code, e) ||
        !number_check(v->own_u, most * 1000, "the uncertainty", code, e) ||
        !number_check(v->calibration_u, most * 1000, "the uncertainty", code, e) ||
        !number_check(v->before_u, most * 1000, "the uncertainty", code, e))
        return false;
    if (v->tested && v->value == NONE)
        return err_field(e, code, ERR_INVALID, "%s is said to be tested but has no value", code);
    if (v->low != NONE && v->high != NONE && v->low > v->high)
        return err_field(e, code, ERR_INVALID, "the lower limit of %s is above its upper limit",
                         code);
    if ((v->own_u != NONE && v->own_u < 0) || (v->calibration_u != NONE && v->calibration_u < 0) ||
        (v->before_u != NONE && v->before_u < 0))
        return err_field(e, code, ERR_INVALID, "an uncertainty of %s is below zero", code);
    return true;
}

static bool value_check(const struct scheme *s, const struct grade_input *in, size_t i,
                        struct err *e)
{
    const struct grade_value *v = &in->values[i];
    const struct quantity *q = named_by(s, v->quantity);
    if (v->section < 0 || v->section > in->sections)
        return err_field(e, v->quantity, ERR_INVALID,
                         "%s is told of section %d, but the tube has %d section%s", v->quantity,
                         v->section, in->sections, in->sections == 1 ? "" : "s");
    for (size_t k = 0; k < i; k++)
        if (judge_value(&(struct grade_input){.sections = in->sections,
                                              .values = &in->values[k],
                                              .value_count = 1},
                        v->quantity, v->section))
            return err_field(e, v->quantity, ERR_INVALID, "%s of section %d stands twice",
                             v->quantity, v->section);
    if (!numbers_check(v, e))
        return false;
    if (!q)
        return true;
    if (v->decimals != q->decimals)
        return err_field(e, v->quantity, ERR_INVALID, "%s has %d decimals, not %d", v->quantity,
                         q->decimals, v->decimals);
    if (q->scope == QUANTITY_SECTION && v->section == 0 && in->sections > 1)
        return err_field(e, v->quantity, ERR_INVALID,
                         "%s is told section by section, not for the whole tube", v->quantity);
    return true;
}

bool grade_check(const struct scheme *s, const struct grade_input *in, struct err *e)
{
    if (in->sections < 1 || in->sections > GRADE_SECTIONS)
        return err_field(e, "sections", ERR_INVALID, "a tube has 1 to %d sections, not %d",
                         GRADE_SECTIONS, in->sections);
    if (in->value_count > GRADE_VALUES)
        return err_field(e, "values", ERR_TOO_LARGE, "a tube has at most %d values, not %zu",
                         GRADE_VALUES, in->value_count);
    if (in->burn_in_min < 0 || in->burn_in_min > 600000)
        return err_field(e, "burn-in", ERR_INVALID, "a burn-in lasts 0 to 600000 minutes, not %lld",
                         (long long)in->burn_in_min);
    for (size_t i = 0; i < in->value_count; i++)
        if (!value_check(s, in, i, e))
            return false;
    return inspection_check(&in->look, e);
}

/* ---- the rules of every scheme ------------------------------------------------------------------
 */
enum own_rule { RULE_ENDS, RULE_SHORT, RULE_FEATURES, RULE__COUNT };

static bool rule_breaks(enum own_rule rule, const struct scheme *s, int grade,
                        const struct grade_input *in)
{
    if (s->grade[grade].count == 0)
        return false;
    switch (rule) {
    case RULE_ENDS:
        return inspection_ends(&in->look, NULL);
    case RULE_SHORT:
        return in->tests[SCHEME_SHORTS] == TEST_FOUND;
    case RULE_FEATURES:
        return in->mismatch && grade == 0;
    case RULE__COUNT:
        break;
    }
    return false;
}

/* The tube is finished: what else it lacks is of no interest. */
static bool finished(const struct grade_input *in)
{
    return inspection_ends(&in->look, NULL) || in->tests[SCHEME_SHORTS] == TEST_FOUND;
}

static struct grade_reason rule_reason(struct arena *a, enum own_rule rule, int grade,
                                       const struct grade_input *in)
{
    struct grade_reason r = {
        .grade = grade, .requirement = -1, .verdict = VERDICT_MISSED, .ppm = NONE};
    enum finding f = FINDING__COUNT;
    switch (rule) {
    case RULE_ENDS:
        inspection_ends(&in->look, &f);
        r.subject = inspection_aspect(inspection_finding(f)->aspect)->code;
        r.text = arena_printf(a, "%s %s: the tube is finished",
                              inspection_aspect(inspection_finding(f)->aspect)->words,
                              inspection_finding(f)->words);
        break;
    case RULE_SHORT:
        r.subject = scheme_test_code(SCHEME_SHORTS);
        r.text = "a short was found: the test ended there";
        break;
    case RULE_FEATURES:
        r.subject = "features";
        r.text = "its features differ from those of the construction it is said to be: the best "
                 "grade waits until the owner has cleared it";
        break;
    case RULE__COUNT:
        break;
    }
    return r;
}

/* ---- the walk -----------------------------------------------------------------------------------
 */
enum standing { HELD, OPEN, MISSED };

struct outcome {
    enum standing standing;
    int64_t
        ppm; /* of the borderline requirement nearest to an even chance, NONE if there is none */
};

static int64_t nearer_even(int64_t a, int64_t b)
{
    const int64_t even = CONFORMITY_SURE / 2;
    if (a == NONE || b == NONE)
        return a == NONE ? b : a;
    int64_t da = a > even ? a - even : even - a, db = b > even ? b - even : even - b;
    return da <= db ? a : b;
}

static struct outcome outcome_of(const struct scheme *s, int grade, const struct grade_input *in,
                                 enum standing above)
{
    const struct scheme_grade *g = &s->grade[grade];
    struct outcome o = {HELD, NONE};
    if (g->count == 0) { /* the last: takes what is proven to be too bad for the grade above */
        o.standing = above == MISSED ? HELD : OPEN;
        return o;
    }
    for (int rule = 0; rule < RULE__COUNT; rule++)
        if (rule_breaks((enum own_rule)rule, s, grade, in))
            o.standing = MISSED;
    if (o.standing == MISSED && finished(in))
        return o;
    bool firm = o.standing == MISSED; /* missed by something that is not borderline */
    int64_t met = NONE, missed = NONE;
    for (int i = g->first; i < g->first + g->count; i++) {
        struct judgement j = judge_requirement(s, &s->requirement[i], in);
        if (j.verdict == VERDICT_MISSED) {
            o.standing = MISSED;
            firm = firm || !j.borderline;
            missed = j.borderline ? nearer_even(missed, j.ppm) : missed;
        } else if (j.verdict == VERDICT_MET) {
            met = j.borderline ? nearer_even(met, j.ppm) : met;
        } else if (j.verdict != VERDICT_IDLE && o.standing == HELD) {
            o.standing = OPEN;
        }
    }
    o.ppm = o.standing == HELD ? met : o.standing == MISSED && !firm ? missed : NONE;
    return o;
}

struct grade_decision grade_decide(const struct scheme *s, const struct grade_input *in)
{
    struct grade_decision d = {.grade = GRADE_NONE, .ppm = NONE};
    struct outcome o = {OPEN, NONE}, above = {OPEN, NONE};
    int g = 0;
    for (; g < s->grade_count; g++) {
        o = outcome_of(s, g, in, above.standing);
        if (o.standing == HELD)
            break;
        above = o;
    }
    if (g < s->grade_count)
        d.grade = g;
    /* what is close to its limit in the grade given, or kept the tube from the next better one */
    d.ppm = g < s->grade_count ? nearer_even(o.ppm, above.ppm) : above.ppm;
    d.borderline = d.ppm != NONE;
    return d;
}

/* ---- the report ---------------------------------------------------------------------------------
 */
static void reasons_of(struct grade_report *out, const struct scheme *s, int grade,
                       const struct grade_input *in, struct arena *a)
{
    const struct scheme_grade *g = &s->grade[grade];
    bool given = grade == out->decision.grade;
    if (g->count == 0) {
        out->reasons[out->reason_count++] =
            (struct grade_reason){.grade = grade,
                                  .requirement = -1,
                                  .verdict = VERDICT_MET,
                                  .subject = g->code,
                                  .ppm = NONE,
                                  .text = arena_printf(a, "too bad for %s", g[-1].code)};
        return;
    }
    for (int rule = 0; rule < RULE__COUNT; rule++)
        if (rule_breaks((enum own_rule)rule, s, grade, in))
            out->reasons[out->reason_count++] = rule_reason(a, (enum own_rule)rule, grade, in);
    if (finished(in))
        return;
    for (int i = g->first; i < g->first + g->count; i++) {
        const struct scheme_requirement *r = &s->requirement[i];
        struct judgement j = judge_requirement(s, r, in);
        if (j.verdict == VERDICT_IDLE || (j.verdict == VERDICT_MET && !given))
            continue;
        out->reasons[out->reason_count++] =
            (struct grade_reason){.grade = grade,
                                  .requirement = i,
                                  .verdict = j.verdict,
                                  .subject = judge_subject(a, r, in, &j),
                                  .borderline = j.borderline,
                                  .ppm = j.ppm,
                                  .text = judge_words(a, s, r, in, &j)};
    }
}

static void untested_add(struct grade_report *out, const char *subject, const char *text)
{
    for (size_t i = 0; i < out->untested_count; i++)
        if (strcmp(out->untested[i].subject, subject) == 0)
            return;
    out->untested[out->untested_count++] = (struct grade_untested){subject, text};
}

/* Every section of a quantity that the test point asks for, or that was tested in another section.
 */
static void untested_sections(struct grade_report *out, const struct quantity *q,
                              const struct grade_input *in, struct arena *a)
{
    bool known = false;
    for (size_t i = 0; i < in->value_count; i++)
        known = known || strcmp(in->values[i].quantity, q->code) == 0;
    int first = q->scope == QUANTITY_SECTION ? 1 : 0;
    int last = q->scope == QUANTITY_SECTION ? in->sections : 0;
    for (int n = first; known && n <= last; n++) {
        const struct grade_value *v = judge_value(in, q->code, n);
        if (v && v->tested)
            continue;
        const char *subject =
            n == 0 || in->sections == 1 ? q->code : arena_printf(a, "%s.%d", q->code, n);
        untested_add(out, subject, arena_printf(a, "%s was not tested", judge_name(a, q, in, n)));
    }
}

static void untested_of(struct grade_report *out, const struct scheme *s,
                        const struct grade_input *in, struct arena *a)
{
    size_t most = SCHEME_TEST__COUNT + ASPECT__COUNT;
    for (int i = 0; i < s->requirement_count; i++)
        most += (size_t)s->requirement[i].quantity_count * (size_t)in->sections;
    out->untested = arena_array(a, most, sizeof *out->untested);
    for (int t = 0; t < SCHEME_TEST__COUNT; t++)
        if (!judge_test_done(in, (enum scheme_test)t))
            untested_add(
                out, scheme_test_code((enum scheme_test)t),
                arena_printf(a, "not tested for %s", scheme_test_words((enum scheme_test)t)));
    for (int i = 0; i < s->requirement_count; i++) {
        const struct scheme_requirement *r = &s->requirement[i];
        if ((r->op == SCHEME_AT_LEAST || r->op == SCHEME_NOT_IN) &&
            !inspection_looked(&in->look, r->aspect))
            untested_add(out, r->subject,
                         arena_printf(a, "%s: not looked at", inspection_aspect(r->aspect)->words));
        for (int k = 0; k < r->quantity_count; k++)
            untested_sections(out, r->quantity[k], in, a);
    }
}

struct grade_report grade_explain(const struct scheme *s, const struct grade_input *in,
                                  struct arena *a)
{
    struct grade_report out = {.decision = grade_decide(s, in)};
    out.reasons =
        arena_array(a, (size_t)s->requirement_count + (size_t)s->grade_count * (RULE__COUNT + 1),
                    sizeof *out.reasons);
    int g = out.decision.grade == GRADE_NONE ? s->grade_count - 1 : out.decision.grade;
    if (out.decision.grade == GRADE_NONE && s->grade[g].count == 0)
        g--;
    for (; g >= 0; g--)
        reasons_of(&out, s, g, in, a);
    untested_of(&out, s, in, a);
    return out;
}
