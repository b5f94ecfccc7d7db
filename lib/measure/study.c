/* SPDX-License-Identifier: MIT
 *
 * study: sums of squares about the grand mean, then the components of variance.
 *
 * Expected mean squares with p tubes, o people, n repeats (Searle, Casella, McCulloch, Variance
 * Components, 1992, ch. 4; the same in AIAG MSA appendix A):
 *     repeats      s_r^2
 *     interaction  s_r^2 + n s_i^2
 *     people       s_r^2 + n s_i^2 + p n s_o^2
 *     tubes        s_r^2 + n s_i^2 + o n s_p^2
 */
#include "measure/study.h"

#include "measure/sampling.h"
#include "measure/statistics.h"

#include <math.h>

struct table {
    const double *value;
    size_t tubes, people, repeats;
    double mean;
};

static double square(double x)
{
    return x * x;
}

static const double *cell(const struct table *t, size_t tube, size_t person)
{
    return t->value + (tube * t->people + person) * t->repeats;
}

static double cell_mean(const struct table *t, size_t tube, size_t person)
{
    return statistics_mean(cell(t, tube, person), t->repeats);
}

static double tube_mean(const struct table *t, size_t tube)
{
    return statistics_mean(cell(t, tube, 0), t->people * t->repeats);
}

static double person_mean(const struct table *t, size_t person)
{
    double sum = 0.0;
    for (size_t i = 0; i < t->tubes; i++)
        sum += cell_mean(t, i, person);
    return sum / (double)t->tubes;
}

static void squares_take(struct study *s, const struct table *t)
{
    double per_tube = (double)(t->people * t->repeats);
    double per_person = (double)(t->tubes * t->repeats);
    for (size_t i = 0; i < t->tubes; i++)
        s->ss[STUDY_TUBE] += per_tube * square(tube_mean(t, i) - t->mean);
    for (size_t j = 0; j < t->people; j++)
        s->ss[STUDY_PERSON] += per_person * square(person_mean(t, j) - t->mean);
    for (size_t i = 0; i < t->tubes; i++) {
        double of_tube = tube_mean(t, i) - t->mean;
        for (size_t j = 0; j < t->people; j++) {
            double of_cell = cell_mean(t, i, j);
            double beyond = of_cell - t->mean - of_tube - (person_mean(t, j) - t->mean);
            s->ss[STUDY_INTERACTION] += (double)t->repeats * square(beyond);
            for (size_t k = 0; k < t->repeats; k++)
                s->ss[STUDY_REPEAT] += square(cell(t, i, j)[k] - of_cell);
        }
    }
}

static double ratio(double a, double b)
{
    return b > 0.0 ? a / b : (a > 0.0 ? (double)INFINITY : 0.0);
}

static double tail(double f, int df1, int df2)
{
    return df1 > 0 && df2 > 0 ? sampling_f_above(f, df1, df2) : 1.0;
}

/* The error against which tubes and people are held, and the components of variance. */
static void components_take(struct study *s, const struct table *t)
{
    double n = (double)t->repeats, p = (double)t->tubes, o = (double)t->people;
    double repeat = s->ms[STUDY_REPEAT], error = s->ms[STUDY_INTERACTION];
    int error_df = s->df[STUDY_INTERACTION];
    s->repeatability_df = s->df[STUDY_REPEAT];
    if (s->pooled) {
        s->repeatability_df += s->df[STUDY_INTERACTION];
        repeat = (s->ss[STUDY_REPEAT] + s->ss[STUDY_INTERACTION]) / s->repeatability_df;
        error = repeat;
        error_df = s->repeatability_df;
    }
    s->f_tube = ratio(s->ms[STUDY_TUBE], error);
    s->p_tube = tail(s->f_tube, s->df[STUDY_TUBE], error_df);
    s->f_person = ratio(s->ms[STUDY_PERSON], error);
    s->p_person = tail(s->f_person, s->df[STUDY_PERSON], error_df);
    s->var[STUDY_REPEAT] = repeat;
    s->var[STUDY_INTERACTION] = s->pooled ? 0.0 : fmax((error - repeat) / n, 0.0);
    if (t->people > 1)
        s->var[STUDY_PERSON] = fmax((s->ms[STUDY_PERSON] - error) / (p * n), 0.0);
    s->var[STUDY_TUBE] = fmax((s->ms[STUDY_TUBE] - error) / (o * n), 0.0);
    s->var_reading = s->var[STUDY_REPEAT] + s->var[STUDY_INTERACTION] + s->var[STUDY_PERSON];
    s->var_total = s->var_reading + s->var[STUDY_TUBE];
    s->repeatability_sd = sqrt(repeat);
    s->distinct = sqrt(2.0 * ratio(s->var[STUDY_TUBE], s->var_reading));
}

static bool input_check(const double *value, int tubes, int people, int repeats, double pool_alpha,
                        struct err *e)
{
    if (tubes < 2 || people < 1 || repeats < 2)
        return err_set(e, ERR_INVALID,
                       "a study needs 2 tubes, 1 person and 2 repeats at least, but %d, %d and %d "
                       "came",
                       tubes, people, repeats);
    if (tubes > STUDY_CELLS || people > STUDY_CELLS || repeats > STUDY_CELLS ||
        (int64_t)tubes * people > STUDY_CELLS || (int64_t)tubes * people * repeats > STUDY_CELLS)
        return err_set(e, ERR_INVALID, "a study holds at most %d readings", STUDY_CELLS);
    if (!(pool_alpha >= 0.0 && pool_alpha <= 1.0))
        return err_set(e, ERR_INVALID, "the pooling limit lies between 0 and 1, but %g came",
                       pool_alpha);
    for (int64_t i = 0; i < (int64_t)tubes * people * repeats; i++)
        if (!isfinite(value[i]))
            return err_set(e, ERR_INVALID, "reading %lld of the study is not a number",
                           (long long)i + 1);
    return true;
}

bool study_crossed(struct study *out, const double *value, int tubes, int people, int repeats,
                   double resolution, double pool_alpha, struct err *e)
{
    if (!input_check(value, tubes, people, repeats, pool_alpha, e))
        return false;
    struct study s = {0};
    struct table t = {value, (size_t)tubes, (size_t)people, (size_t)repeats, 0.0};
    t.mean = statistics_mean(value, t.tubes * t.people * t.repeats);
    squares_take(&s, &t);
    s.df[STUDY_TUBE] = tubes - 1;
    s.df[STUDY_PERSON] = people - 1;
    s.df[STUDY_INTERACTION] = (tubes - 1) * (people - 1);
    s.df[STUDY_REPEAT] = tubes * people * (repeats - 1);
    for (int i = 0; i < STUDY_SOURCE__COUNT; i++)
        s.ms[i] = s.df[i] > 0 ? s.ss[i] / s.df[i] : 0.0;
    s.f_interaction = ratio(s.ms[STUDY_INTERACTION], s.ms[STUDY_REPEAT]);
    s.p_interaction = tail(s.f_interaction, s.df[STUDY_INTERACTION], s.df[STUDY_REPEAT]);
    s.pooled = people == 1 || s.p_interaction > pool_alpha;
    components_take(&s, &t);
    s.coarse = resolution > s.repeatability_sd;
    *out = s;
    return true;
}
