/* SPDX-License-Identifier: MIT */
#include "match/confidence.h"

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DECIMALS 10

static struct match_band absolute(double width)
{
    return (struct match_band){MATCH_ABSOLUTE, (int64_t)llround(width * 1e10), 1};
}

static void near_to(double got, double want, double tolerance, const char *what)
{
    if (!(fabs(got - want) <= tolerance))
        fail_msg("%s: %.15f, should be %.15f", what, got, want);
}

static FILE *reference(const char *name)
{
    char line[1024];
    FILE *f = fopen(name, "r");
    if (f == NULL)
        fail_msg("%s is missing: run from the top of the tree", name);
    assert_non_null(fgets(line, sizeof line, f)); /* the heading */
    return f;
}

/* tests/reference/match/d1: R's ptukey and mpmath; the quantiles are R's qtukey, which stops early.
 */
static void equal_values_give_the_studentized_range(void **state)
{
    (void)state;
    static const double value[CONFIDENCE_MOST];
    double u[CONFIDENCE_MOST];
    char line[1024];
    int rows = 0;
    FILE *f = reference("tests/reference/match/d1_range_equal_means.csv");
    for (int i = 0; i < CONFIDENCE_MOST; i++)
        u[i] = 1;
    while (fgets(line, sizeof line, f) != NULL) {
        char kind[16];
        int k;
        double q, p;
        assert_int_equal(sscanf(line, "%15[a-z],%d,%lf,%lf", kind, &k, &q, &p), 4);
        struct match_band band = absolute(q);
        near_to(confidence_in_band(value, u, k, &band, DECIMALS), p, kind[0] == 'c' ? 2e-12 : 1e-7,
                line);
        rows++;
    }
    (void)fclose(f);
    assert_int_equal(rows, 80);
}

static int numbers(char *text, double *out)
{
    int n = 0;
    for (char *part = strtok(text, " "); part != NULL; part = strtok(NULL, " "))
        out[n++] = strtod(part, NULL);
    return n;
}

/* tests/reference/match/d2: mpmath to 30 digits. */
static void unequal_values_and_uncertainties_agree_with_thirty_digits(void **state)
{
    (void)state;
    char line[1024];
    int rows = 0;
    FILE *f = reference("tests/reference/match/d2_range_unequal_means.csv");
    while (fgets(line, sizeof line, f) != NULL) {
        double value[CONFIDENCE_MOST], u[CONFIDENCE_MOST], width, p;
        char means[256], sigmas[256];
        int k;
        assert_int_equal(
            sscanf(line, "%*d,%d,%255[^,],%255[^,],%lf,%lf", &k, means, sigmas, &width, &p), 5);
        assert_int_equal(numbers(means, value), k);
        assert_int_equal(numbers(sigmas, u), k);
        struct match_band band = absolute(width);
        near_to(confidence_in_band(value, u, k, &band, DECIMALS), p, 1e-12, line);
        rows++;
    }
    (void)fclose(f);
    assert_int_equal(rows, 12);
}

/* ---- another quadrature ------------------------------------------------------------------------
 */

static double below(double x, double mean, double u)
{
    return 0.5 * erfc((mean - x) / (u * sqrt(2.0)));
}

/* Simpson's rule with very many steps, all members uncertain. */
static double simpson(const double *value, const double *u, int n, double factor, double offset)
{
    enum { STEPS = 200000 };
    double sum = 0;
    for (int i = 0; i < n; i++) {
        double step = 20 * u[i] / STEPS;
        for (int s = 0; s <= STEPS; s++) {
            double x = value[i] - 10 * u[i] + s * step;
            double z = (x - value[i]) / u[i];
            double f = exp(-z * z / 2) / (u[i] * sqrt(2 * acos(-1.0)));
            for (int j = 0; j < n; j++)
                f *= j == i ? 1
                            : below(factor * x + offset, value[j], u[j]) - below(x, value[j], u[j]);
            sum += f * step / 3 * (s == 0 || s == STEPS ? 1 : s % 2 == 1 ? 4 : 2);
        }
    }
    return sum;
}

static void a_relative_band_agrees_with_another_quadrature(void **state)
{
    (void)state;
    static const double value[] = {20.0, 20.4, 20.9, 20.2};
    static const double u[] = {0.1, 0.02, 0.3, 0.15};
    const struct match_band band = {MATCH_RELATIVE, 1, 20};
    near_to(confidence_in_band(value, u, 4, &band, 0), simpson(value, u, 4, 1.05, 0), 1e-9, "four");
    near_to(confidence_in_band(value + 1, u + 1, 2, &band, 0),
            simpson(value + 1, u + 1, 2, 1.05, 0), 1e-9, "two");
}

/* One member known exactly at m and another normal: Phi((m + w - x) / u) - Phi((m - w - x) / u). */
static void a_member_without_uncertainty_is_a_step(void **state)
{
    (void)state;
    static const double value[] = {10.0, 10.7};
    static const double u[] = {0.0, 0.4};
    const struct match_band band = {MATCH_ABSOLUTE, 1, 1};
    near_to(confidence_in_band(value, u, 2, &band, 0),
            below(11.0, 10.7, 0.4) - below(9.0, 10.7, 0.4), 1e-12, "one exact");
    static const double exact[] = {0, 0, 0};
    static const double same[] = {5, 5, 5};
    static const double apart[] = {5, 7, 5};
    near_to(confidence_in_band(same, exact, 3, &band, 0), 1, 0, "all equal");
    near_to(confidence_in_band(apart, exact, 3, &band, 0), 0, 0, "apart");
    static const double three[] = {5, 5, 5.2};
    static const double last[] = {0, 0, 0.1};
    near_to(confidence_in_band(three, last, 3, &band, 0), below(6, 5.2, 0.1) - below(4, 5.2, 0.1),
            1e-12, "two exact");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(equal_values_give_the_studentized_range),
        cmocka_unit_test(unequal_values_and_uncertainties_agree_with_thirty_digits),
        cmocka_unit_test(a_relative_band_agrees_with_another_quadrature),
        cmocka_unit_test(a_member_without_uncertainty_is_a_step),
    };
    return cmocka_run_group_tests_name("match_confidence", tests, NULL, NULL);
}
