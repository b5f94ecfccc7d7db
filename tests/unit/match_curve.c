/* SPDX-License-Identifier: MIT */
#include "match_case.h"

#include "match/curve.h"

#include <stdlib.h>

static const struct match_line pairs[] = {{2, MATCH_ANY}};
static const struct match_line quads[] = {{4, MATCH_ANY}};

/* 0.5, 1, 2, 5, 10, 15 % as ratios to a band of 5 %. */
static const struct curve_point usual[] = {
    {.num = 1, .den = 10}, {.num = 1, .den = 5}, {.num = 2, .den = 5},
    {.num = 1, .den = 1},  {.num = 2, .den = 1}, {.num = 3, .den = 1},
};

/* Against exhaustive search at every band. */
static void every_point_is_the_optimum_of_its_band(void **state)
{
    (void)state;
    static const struct case_shape shapes[] = {
        {14, 2, 1, 1000, 1200, {MATCH_RELATIVE, 1, 20}, pairs, 1},
        {14, 2, 1, 1000, 1100, {MATCH_RELATIVE, 1, 20}, quads, 1},
    };
    static const int64_t per_mille[] = {5, 10, 20, 50, 100, 150};
    for (size_t s = 0; s < ARRAY_LEN(shapes); s++) {
        struct arena *a = arena_new();
        struct match_problem p = case_make(&shapes[s], 3, a);
        const struct match_options o = {.seed = 1, .iterations = 20000};
        struct curve_point point[ARRAY_LEN(usual)];
        struct err e = ERR_INIT;
        memcpy(point, usual, sizeof usual);
        assert_true(curve_solve(&p, &o, point, ARRAY_LEN(usual), &e));
        for (size_t i = 0; i < ARRAY_LEN(usual); i++) {
            const struct match_band band[] = {{MATCH_RELATIVE, per_mille[i], 1000},
                                              {MATCH_RELATIVE, per_mille[i], 1000}};
            struct match_problem same = p;
            same.band = band;
            int64_t best = case_exhaustive(&same, a);
            assert_int_equal(point[i].found, (best + (INT64_C(1) << 55)) >> 56);
            assert_true(point[i].proven);
        }
        arena_free(a);
    }
}

static void a_curve_never_falls(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    const struct case_shape shape = {200, 3, 1, 1000, 1300, {MATCH_RELATIVE, 1, 20}, quads, 1};
    struct match_problem p = case_make(&shape, 3, a);
    const struct match_options o = {.seed = 1, .iterations = 20000};
    struct curve_point point[ARRAY_LEN(usual)];
    struct err e = ERR_INIT;
    memcpy(point, usual, sizeof usual);
    assert_true(curve_solve(&p, &o, point, ARRAY_LEN(usual), &e));
    for (size_t i = 0; i < ARRAY_LEN(usual); i++) {
        assert_true(point[i].found <= point[i].bound);
        assert_true(i == 0 || point[i].found >= point[i - 1].found);
        assert_true(i == 0 || point[i].bound >= point[i - 1].bound);
    }
    assert_true(point[5].found > point[0].found);
    arena_free(a);
}

static void points_that_make_no_sense_are_refused(void **state)
{
    (void)state;
    static const struct match_line two[] = {{4, MATCH_ANY}, {2, MATCH_ANY}};
    struct arena *a = arena_new();
    struct case_shape shape = {5, 1, 1, 1000, 1300, {MATCH_RELATIVE, 1, 20}, pairs, 1};
    struct match_problem p = case_make(&shape, 3, a);
    const struct match_options o = {.seed = 1};
    struct curve_point down[] = {{.num = 1, .den = 1}, {.num = 1, .den = 2}};
    struct curve_point zero[] = {{.num = 0, .den = 1}};
    struct curve_point wide[] = {{.num = 1000, .den = 1}};
    struct err e = ERR_INIT;
    assert_false(curve_solve(&p, &o, down, 2, &e));
    assert_string_equal(e.text, "point 2 is not wider than the one before");
    assert_false(curve_solve(&p, &o, zero, 1, &e));
    assert_false(curve_solve(&p, &o, wide, 1, &e)); /* 5000 % */
    assert_false(curve_solve(&p, &o, down, 0, &e));
    p.demand = two;
    p.lines = 2;
    assert_false(curve_solve(&p, &o, down, 1, &e));
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_point_is_the_optimum_of_its_band),
        cmocka_unit_test(a_curve_never_falls),
        cmocka_unit_test(points_that_make_no_sense_are_refused),
    };
    return cmocka_run_group_tests_name("match_curve", tests, NULL, NULL);
}
