/* SPDX-License-Identifier: MIT */
#include "measure/study.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

#include "../reference/measure/gauge_studies.h"

static void assert_near(double got, double expected, double tolerance)
{
    if (!(fabs(got - expected) <= tolerance))
        fail_msg("%.15g came where %.15g was expected", got, expected);
}

static struct study crossed(const double *value, int tubes, int people, int repeats, double alpha)
{
    struct study s;
    struct err e = ERR_INIT;
    if (!study_crossed(&s, value, tubes, people, repeats, 0.0, alpha, &e))
        fail_msg("%s", e.text);
    return s;
}

static void aiag_example_comes_out_as_published(void **state)
{
    (void)state;
    struct study s = crossed(gauge_aiag, 10, 3, 3, STUDY_POOL_ALPHA);
    /* AIAG MSA 4th ed., appendix A, as stated in a public test file (found) */
    assert_near(s.ss[STUDY_TUBE], 88.3619, 5e-5);
    assert_near(s.ss[STUDY_PERSON], 3.1673, 5e-5);
    assert_near(s.ss[STUDY_INTERACTION], 0.3590, 5e-5);
    assert_near(s.ss[STUDY_REPEAT], 2.7589, 5e-5);
    assert_int_equal(s.df[STUDY_TUBE], 9);
    assert_int_equal(s.df[STUDY_PERSON], 2);
    assert_int_equal(s.df[STUDY_INTERACTION], 18);
    assert_int_equal(s.df[STUDY_REPEAT], 60);
    assert_near(s.ms[STUDY_TUBE], 9.81799, 5e-6);
    assert_near(s.ms[STUDY_PERSON], 1.58363, 5e-6);
    assert_near(s.ms[STUDY_INTERACTION], 0.01994, 5e-6);
    assert_near(s.ms[STUDY_REPEAT], 0.04598, 5e-6);
    assert_near(s.f_interaction, 0.434, 5e-4);
    assert_near(s.p_interaction, 0.974, 5e-4);
    assert_true(s.pooled);
    assert_near(s.var[STUDY_REPEAT], 0.03997, 5e-6);
    assert_near(s.var[STUDY_PERSON], 0.05146, 5e-6);
    assert_near(s.var[STUDY_TUBE], 1.08645, 5e-6);
    assert_near(s.var_reading, 0.09143, 5e-6);
    assert_near(s.var_total, 1.17788, 5e-6);
    assert_near(sqrt(s.var_reading), 0.30237, 5e-6);
    assert_near(s.distinct, 4.861, 0.015); /* printed with 1.41 for sqrt(2) */
    /* R 4.2.2 anova(lm()) */
    assert_near(s.ss[STUDY_TUBE], 88.361934, 5e-7);
    assert_near(s.ss[STUDY_REPEAT], 2.758933, 5e-7);
    assert_near(s.var[STUDY_REPEAT], 0.03997327635, 5e-12);
    assert_near(s.var[STUDY_PERSON], 0.05145526116, 5e-12);
    assert_near(s.var[STUDY_TUBE], 1.086446604, 5e-10);
    assert_int_equal(s.repeatability_df, 78);
    /* never pooled: the interaction's component is below 0 and cut */
    s = crossed(gauge_aiag, 10, 3, 3, 1.0);
    assert_false(s.pooled);
    assert_near(s.var[STUDY_REPEAT], 0.04598222222, 5e-12);
    assert_near(s.var[STUDY_PERSON], 0.05212292181, 5e-12);
    assert_near(s.var[STUDY_INTERACTION], 0.0, 0.0);
    assert_near(s.var[STUDY_TUBE], 1.08867214, 5e-9);
    /* F of tubes and people against the interaction, AIAG */
    assert_near(s.f_tube, 492.291, 5e-4);
    assert_near(s.f_person, 79.406, 5e-4);
}

static void helicopter_example_comes_out_as_published(void **state)
{
    (void)state;
    /* cran/SixSigma tests/testthat/test-ss-rr.R (found) */
    struct study s = crossed(gauge_helicopter, 3, 3, 3, 1.0);
    assert_near(s.ss[STUDY_TUBE], 1.2007, 5e-5);
    assert_near(s.ss[STUDY_PERSON], 0.0529, 5e-5);
    assert_near(s.ss[STUDY_INTERACTION], 0.0834, 5e-5);
    assert_near(s.ss[STUDY_REPEAT], 0.3854, 5e-5);
    assert_near(s.f_tube, 28.797, 5e-4);
    assert_near(s.p_tube, 0.00422, 5e-6);
    assert_near(s.f_person, 1.27, 5e-3);
    assert_near(s.p_person, 0.37415, 5e-6);
    assert_near(s.f_interaction, 0.974, 5e-4);
    assert_near(s.p_interaction, 0.44619, 5e-6);
    s = crossed(gauge_helicopter, 3, 3, 3, STUDY_POOL_ALPHA);
    assert_true(s.pooled);
    assert_near(s.f_tube, 28.17, 5e-3);
    assert_near(s.f_person, 1.24, 5e-3);
    assert_near(s.var_reading, 0.0219, 5e-5);
    assert_near(s.var[STUDY_REPEAT], 0.02130875421, 5e-12); /* R 4.2.2 from here on */
    assert_near(s.var[STUDY_PERSON], 0.0005735129068, 5e-14);
    assert_near(s.var[STUDY_TUBE], 0.06433894501, 5e-12);
    assert_near(s.distinct, 2.42496686, 5e-9);
}

static void vignette_example_agrees_with_an_independent_library(void **state)
{
    (void)state;
    /* R 4.2.2; the vignette of qualityTools says 35 % repeatability, 13 % reproducibility, 51.7 %
     * parts */
    struct study s = crossed(gauge_vignette, 10, 3, 2, 1.0);
    assert_near(s.ss[STUDY_TUBE], 107.066666667, 5e-9);
    assert_near(s.ss[STUDY_PERSON], 20.6333333333, 5e-10);
    assert_near(s.ss[STUDY_INTERACTION], 22.0333333333, 5e-10);
    assert_near(s.ss[STUDY_REPEAT], 36.0, 5e-10);
    assert_near(s.p_interaction, 0.467324, 5e-7);
    assert_near(s.var[STUDY_REPEAT], 1.2, 1e-12);
    assert_near(s.var[STUDY_PERSON], 0.4546296296, 5e-11);
    assert_near(s.var[STUDY_INTERACTION], 0.01203703704, 5e-12);
    assert_near(s.var[STUDY_TUBE], 1.778703704, 5e-10);
    assert_near(s.var[STUDY_TUBE] / s.var_total, 0.517, 1e-3);
    s = crossed(gauge_vignette, 10, 3, 2, STUDY_POOL_ALPHA);
    assert_near(s.var[STUDY_REPEAT], 1.209027778, 5e-10);
    assert_near(s.var[STUDY_PERSON], 0.4553819444, 5e-11);
    assert_near(s.var[STUDY_TUBE], 1.78121142, 5e-9);
}

static void component_below_nothing_is_cut_to_nothing(void **state)
{
    (void)state;
    /* Vardeman and VanValkenburg, Technometrics 41 (1999): interaction -2.361e-6 before the cut; R
     * 4.2.2 */
    struct study s = crossed(gauge_paper, 2, 5, 3, 1.0);
    assert_near(s.ss[STUDY_TUBE], 0.37185333, 5e-9);
    assert_near(s.ss[STUDY_PERSON], 0.00050167, 5e-9);
    assert_near(s.ss[STUDY_INTERACTION], 0.00017633, 5e-9);
    assert_near(s.ss[STUDY_REPEAT], 0.00102333, 5e-9);
    assert_near(s.p_interaction, 0.503775, 5e-7);
    assert_near(s.var[STUDY_REPEAT], 5.116666667e-05, 5e-15);
    assert_near(s.var[STUDY_PERSON], 1.355555556e-05, 5e-15);
    assert_near(s.var[STUDY_INTERACTION], 0.0, 0.0);
    assert_near((s.ms[STUDY_INTERACTION] - s.ms[STUDY_REPEAT]) / 3.0, -2.361111111e-06, 5e-15);
    assert_near(s.var[STUDY_TUBE], 0.02478728333, 5e-12);
}

static void real_interaction_is_not_pooled(void **state)
{
    (void)state;
    struct study s = crossed(gauge_strong, 8, 3, 2, STUDY_POOL_ALPHA); /* R 4.2.2 */
    assert_false(s.pooled);
    assert_near(s.ss[STUDY_TUBE], 87.42559166667, 5e-11);
    assert_near(s.ss[STUDY_PERSON], 1.9061375, 5e-11);
    assert_near(s.ss[STUDY_INTERACTION], 3.40279583333, 5e-11);
    assert_near(s.ss[STUDY_REPEAT], 0.438, 5e-11);
    assert_near(s.p_interaction / 4.61333453e-08, 1.0, 1e-8);
    assert_near(s.var[STUDY_REPEAT], 0.01825, 1e-13);
    assert_near(s.var[STUDY_PERSON], 0.0443757440476, 5e-14);
    assert_near(s.var[STUDY_INTERACTION], 0.112403422619, 5e-13);
    assert_near(s.var[STUDY_TUBE], 2.04105223214, 5e-12);
    assert_near(s.var_reading, 0.175029166667, 5e-13);
    assert_near(s.var_total, 2.21608139881, 5e-12);
    assert_near(100.0 * sqrt(s.var_reading / s.var_total), 28.1036260682, 5e-10);
    assert_near(s.distinct, 4.82932957602, 5e-11);
    assert_int_equal(s.repeatability_df, 24);
}

static void one_person_alone_can_study_a_tester(void **state)
{
    (void)state;
    /* by hand: cells {1,3} and {5,5}: repeats s^2 = (2+0)/2 = 1, tubes: means 2, 5, MS 9 */
    const double value[] = {1, 3, 5, 5};
    struct study s = crossed(value, 2, 1, 2, STUDY_POOL_ALPHA);
    assert_near(s.var[STUDY_REPEAT], 1.0, 1e-15);
    assert_near(s.ms[STUDY_TUBE], 9.0, 1e-15);
    assert_near(s.var[STUDY_TUBE], 4.0, 1e-15);
    assert_near(s.var[STUDY_PERSON], 0.0, 0.0);
    assert_int_equal(s.repeatability_df, 2);
}

static void coarse_scale_is_said_to_be_coarse(void **state)
{
    (void)state;
    const double value[] = {5.2, 5.2, 4.8, 4.8, 6.0, 6.0, 5.2, 5.2, 4.8, 4.8, 6.0, 6.2};
    struct study s;
    assert_true(study_crossed(&s, value, 3, 2, 2, 0.2, STUDY_POOL_ALPHA, NULL));
    assert_true(s.coarse);
    assert_true(study_crossed(&s, value, 3, 2, 2, 0.01, STUDY_POOL_ALPHA, NULL));
    assert_false(s.coarse);
    const double flat[] = {1, 1, 2, 2}; /* no spread at all */
    s = crossed(flat, 2, 1, 2, STUDY_POOL_ALPHA);
    assert_true(isinf(s.distinct) && isinf(s.f_tube));
}

static void refuses_what_is_no_study(void **state)
{
    (void)state;
    struct study s;
    struct err e = ERR_INIT;
    const double value[] = {1, 2, 3, (double)NAN};
    assert_false(study_crossed(&s, value, 1, 1, 2, 0, 0.05, &e));
    assert_non_null(strstr(e.text, "2 tubes, 1 person and 2 repeats at least, but 1, 1 and 2"));
    assert_false(study_crossed(&s, value, 2, 1, 1, 0, 0.05, &e));
    assert_false(study_crossed(&s, value, 2, 1, 2, 0, 0.05, &e));
    assert_non_null(strstr(e.text, "reading 4 of the study is not a number"));
    assert_false(study_crossed(&s, value, 2, 1, 2, 0, 1.5, &e));
    assert_false(study_crossed(&s, value, 100000, 100000, 100000, 0, 0.05, &e));
    assert_non_null(strstr(e.text, "at most 100000 readings"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(aiag_example_comes_out_as_published),
        cmocka_unit_test(helicopter_example_comes_out_as_published),
        cmocka_unit_test(vignette_example_agrees_with_an_independent_library),
        cmocka_unit_test(component_below_nothing_is_cut_to_nothing),
        cmocka_unit_test(real_interaction_is_not_pooled),
        cmocka_unit_test(one_person_alone_can_study_a_tester),
        cmocka_unit_test(coarse_scale_is_said_to_be_coarse),
        cmocka_unit_test(refuses_what_is_no_study),
    };
    return cmocka_run_group_tests_name("study", tests, NULL, NULL);
}
