/* SPDX-License-Identifier: MIT */
#include "measure/york.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

static void assert_near(double got, double expected, double tolerance)
{
    if (!(fabs(got - expected) <= tolerance))
        fail_msg("%.15g came where %.15g was expected", got, expected);
}

/* K. Pearson, Phil. Mag. (6) 2 (1901) 559-572; found in a public test file citing Lybanon 1984. */
static const double pearson_x[] = {0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4};
static const double pearson_y[] = {5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5};
/* D. York, Can. J. Phys. 44 (1966) 1079: weights 1/variance of each coordinate. */
static const double york_wx[] = {1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1};
static const double york_wy[] = {1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500};

static void deming_gives_pearsons_line_and_those_of_an_independent_library(void **state)
{
    (void)state;
    static const double x6[] = {1, 2, 3, 4, 5, 6}, y6[] = {2.3, 1.3, 4.1, 3.5, 6.3, 3};
    static const double x10[] = {1, 2, 3, 4, 5, 6, 7, 8, 9, 10};
    static const double y10[] = {2.3, 4.1, 7.9, 7.7, 13.5, 11.3, 19.1, 14.9, 24.7, 20.5};
    /* computed with R 4.2.2, closed form; the last two data sets: R package deming, vignette and
     * tests/dtest.R */
    static const struct {
        const double *x, *y;
        size_t n;
        double delta, intercept, slope;
    } row[] = {
        {pearson_x, pearson_y, 10, 1.0, 5.78404377453, -0.545561197521},
        {pearson_x, pearson_y, 10, 0.25, 5.81591540317, -0.553904555803},
        {pearson_x, pearson_y, 10, 4.0, 5.76802567454, -0.541367977628},
        {pearson_x, pearson_y, 10, 1e14, 5.76118519044, -0.539577274984},  /* y on x */
        {pearson_x, pearson_y, 10, 1e-14, 5.86169569504, -0.565888925403}, /* x on y */
        {x6, y6, 6, 1.0, 0.423519272355, 0.855184969803},
        {x10, y10, 10, 1.0, -1.32859170952, 2.53247121991},
    };
    double a, b;
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        assert_true(york_deming(&a, &b, row[i].x, row[i].y, row[i].n, row[i].delta, NULL));
        assert_near(a, row[i].intercept, 1e-10);
        assert_near(b, row[i].slope, 1e-11);
    }
    /* Pearson 1901 prints y = -0.546 x + 5.784 (from memory) */
    assert_true(york_deming(&a, &b, pearson_x, pearson_y, 10, 1.0, NULL));
    assert_near(a, 5.784, 0.0005);
    assert_near(b, -0.546, 0.0005);
}

static void swapping_the_axes_inverts_the_line(void **state)
{
    (void)state;
    for (double delta = 0.01; delta < 200.0; delta *= 3.0) {
        double a, b, c, d;
        assert_true(york_deming(&a, &b, pearson_x, pearson_y, 10, delta, NULL));
        assert_true(york_deming(&c, &d, pearson_y, pearson_x, 10, 1.0 / delta, NULL));
        assert_near(d, 1.0 / b, 1e-13 / fabs(b));
        assert_near(c, -a / b, 1e-12 * fabs(a / b));
    }
    struct york_point point[10], turned[10];
    for (size_t i = 0; i < 10; i++) {
        double ux = 1.0 / sqrt(york_wx[i]), uy = 1.0 / sqrt(york_wy[i]);
        point[i] = (struct york_point){pearson_x[i], pearson_y[i], ux, uy, 0.3};
        turned[i] = (struct york_point){pearson_y[i], pearson_x[i], uy, ux, 0.3};
    }
    struct york f, g;
    assert_true(york_fit(&f, point, 10, NULL) && york_fit(&g, turned, 10, NULL));
    assert_near(g.slope, 1.0 / f.slope, 1e-11);
    assert_near(g.intercept, -f.intercept / f.slope, 1e-10);
    assert_near(g.s, f.s, 1e-9);
}

static void yorks_weighted_line_comes_out_as_published(void **state)
{
    (void)state;
    struct york_point point[10];
    for (size_t i = 0; i < 10; i++)
        point[i] = (struct york_point){pearson_x[i], pearson_y[i], 1.0 / sqrt(york_wx[i]),
                                       1.0 / sqrt(york_wy[i]), 0.0};
    struct york f;
    assert_true(york_fit(&f, point, 10, NULL));
    /* Julia package LinearFitXYerrors, test file, citing York 1966 and Cantrell 2008 (found) */
    assert_near(f.intercept, 5.47991022403286, 1e-12);
    assert_near(f.slope, -0.4805334074462, 1e-13);
    assert_near(sqrt(f.s / f.df), 1.217905640539398, 1e-13);
    assert_near(f.u_intercept * sqrt(f.s / f.df), 0.359246522551112, 1e-12);
    assert_near(f.u_slope * sqrt(f.s / f.df), 0.070620269528771, 1e-13);
    /* York et al. 2004, table (from memory) */
    assert_near(f.u_intercept, 0.2949707, 5e-8);
    assert_near(f.u_slope, 0.057985, 5e-7);
    /* R 4.2.2 optimize on the profile */
    assert_near(f.s, 11.8663531941, 1e-9);
}

static void arsenate_of_ripley_and_thompson_comes_out_as_published(void **state)
{
    (void)state;
    /* B.D. Ripley, M. Thompson, Analyst 112 (1987) 377-383; R package deming, data/arsenate:
     * x, u(x), y, u(y) */
    static const double row[][4] = {
        {8.71, 1.92, 7.35, 2.07}, {7.01, 1.56, 7.92, 2.23}, {3.28, 0.76, 3.4, 0.96},
        {5.6, 1.26, 5.44, 1.53},  {1.55, 0.39, 2.07, 0.59}, {1.75, 0.43, 2.29, 0.65},
        {0.73, 0.22, 0.66, 0.19}, {3.66, 0.84, 3.43, 0.97}, {0.9, 0.25, 1.25, 0.36},
        {9.39, 2.07, 6.58, 1.85}, {4.39, 1.0, 3.31, 0.93},  {3.69, 0.84, 2.72, 0.77},
        {0.34, 0.13, 2.32, 0.66}, {1.94, 0.47, 1.5, 0.43},  {2.07, 0.5, 3.5, 0.99},
        {1.38, 0.36, 1.17, 0.33}, {1.81, 0.45, 2.31, 0.66}, {1.27, 0.33, 1.88, 0.54},
        {0.82, 0.23, 0.44, 0.13}, {1.88, 0.46, 1.37, 0.4},  {5.66, 1.27, 7.04, 1.98},
        {0.0, 0.06, 0.0, 0.01},   {0.0, 0.06, 0.49, 0.15},  {0.4, 0.15, 1.29, 0.37},
        {0.0, 0.06, 0.37, 0.12},  {1.98, 0.48, 2.16, 0.62}, {10.21, 2.24, 12.53, 3.51},
        {4.64, 1.05, 3.9, 1.1},   {5.66, 1.27, 4.66, 1.31}, {19.25, 4.18, 15.86, 4.45}};
    struct york_point point[ARRAY_LEN(row)];
    double x[ARRAY_LEN(row)], y[ARRAY_LEN(row)], a, b;
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        point[i] = (struct york_point){row[i][0], row[i][2], row[i][1], row[i][3], 0.0};
        x[i] = row[i][0];
        y[i] = row[i][2];
    }
    struct york f;
    assert_true(york_fit(&f, point, ARRAY_LEN(row), NULL));
    /* published: 0.106448, 0.973, mean squared scaled residual 1.27 over n = 30 */
    assert_near(f.intercept, 0.106448, 5e-7);
    assert_near(f.slope, 0.973, 0.0005);
    assert_near(f.s / 30.0, 1.27, 0.005);
    /* R 4.2.2 optimize, which stops at 1e-7 or so in the arguments */
    assert_near(f.intercept, 0.106448274551, 1e-7);
    assert_near(f.slope, 0.972987803947, 1e-7);
    assert_near(f.s, 38.0346026199, 1e-8);
    assert_true(york_deming(&a, &b, x, y, ARRAY_LEN(row), 1.0, NULL));
    assert_near(a, 0.429399427024, 1e-11);
    assert_near(b, 0.875948142123, 1e-11);
}

static void equal_uncertainties_give_demings_line(void **state)
{
    (void)state;
    struct york_point point[10];
    for (size_t i = 0; i < 10; i++)
        point[i] = (struct york_point){pearson_x[i], pearson_y[i], 0.2, 0.4, 0.0};
    struct york f;
    assert_true(york_fit(&f, point, 10, NULL));
    assert_near(f.slope, -0.541367977628, 1e-11); /* delta = 4, R 4.2.2 */
    for (size_t i = 0; i < 10; i++)
        point[i].u_x = 0.0; /* exact in x: ordinary least squares */
    assert_true(york_fit(&f, point, 10, NULL));
    assert_near(f.slope, -0.539577274984, 1e-11);
}

static void refuses_what_makes_no_line(void **state)
{
    (void)state;
    struct york f;
    double a, b;
    struct york_point p[3] = {{1, 1, 0.1, 0.1, 0}, {2, 2, 0.1, 0.1, 0}, {3, 3, 0.1, 0.1, 0}};
    struct err e = ERR_INIT;
    assert_true(york_fit(&f, p, 2, &e)); /* two points make a line, without a test of it */
    assert_true(f.p == 1.0 && f.df == 0);
    assert_false(york_fit(&f, p, 1, &e));
    assert_non_null(strstr(e.text, "2 to 10000 points, but 1 came"));
    p[1].u_x = p[1].u_y = 0.0;
    assert_false(york_fit(&f, p, 3, &e));
    assert_non_null(strstr(e.text, "point 2 needs uncertainties"));
    p[1].u_x = -0.1;
    assert_false(york_fit(&f, p, 3, &e));
    p[1] = (struct york_point){2, 2, 0.1, 0.1, 1.0};
    assert_false(york_fit(&f, p, 3, &e));
    assert_non_null(strstr(e.text, "between -1 and 1, but 1 came"));
    p[1] = (struct york_point){2, (double)NAN, 0.1, 0.1, 0.0};
    assert_false(york_fit(&f, p, 3, &e));
    assert_non_null(strstr(e.text, "point 2 is not a number"));
    for (size_t i = 0; i < 3; i++)
        p[i] = (struct york_point){5.2, (double)i, 0.1, 0.1, 0.0};
    assert_false(york_fit(&f, p, 3, &e));
    assert_non_null(strstr(e.text, "all points lie at 5.2"));
    const double flat[] = {1, 1, 1}, x[] = {1, 2, 3};
    assert_false(york_deming(&a, &b, x, flat, 3, 1.0, &e));
    assert_non_null(strstr(e.text, "no line"));
    assert_false(york_deming(&a, &b, x, x, 3, 0.0, &e));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(deming_gives_pearsons_line_and_those_of_an_independent_library),
        cmocka_unit_test(swapping_the_axes_inverts_the_line),
        cmocka_unit_test(yorks_weighted_line_comes_out_as_published),
        cmocka_unit_test(arsenate_of_ripley_and_thompson_comes_out_as_published),
        cmocka_unit_test(equal_uncertainties_give_demings_line),
        cmocka_unit_test(refuses_what_makes_no_line),
    };
    return cmocka_run_group_tests_name("york", tests, NULL, NULL);
}
