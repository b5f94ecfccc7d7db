/* SPDX-License-Identifier: MIT */
#include "match_case.h"

static const struct match_line pairs[] = {{2, MATCH_ANY}};
static const struct match_line threes[] = {{3, MATCH_ANY}};
static const struct match_line quads[] = {{4, MATCH_ANY}};
static const struct match_line sixes[] = {{6, MATCH_ANY}};
static const struct match_line octets[] = {{8, MATCH_ANY}};
static const struct match_line quads_then_pairs[] = {{4, MATCH_ANY}, {2, MATCH_ANY}};
static const struct match_line two_quads[] = {{4, 2}, {3, MATCH_ANY}, {2, MATCH_ANY}};

#define RELATIVE(percent)            \
    {                                \
        MATCH_RELATIVE, percent, 100 \
    }
#define ABSOLUTE(width)          \
    {                            \
        MATCH_ABSOLUTE, width, 1 \
    }

/* From nearly everything holds to hardly anything does; ties everywhere. */
static const struct case_shape shapes[] = {
    {12, 1, 1, 100, 140, RELATIVE(5), threes, 1},
    {14, 2, 1, 100, 130, RELATIVE(10), threes, 1},
    {18, 3, 2, 100, 130, RELATIVE(12), threes, 1},
    {24, 4, 1, 100, 130, RELATIVE(10), threes, 1},
    {14, 4, 1, 100, 112, RELATIVE(9), quads, 1},
    {14, 2, 1, -8, 8, ABSOLUTE(6), quads, 1},
    {16, 1, 1, 100, 160, RELATIVE(10), quads, 1},
    {20, 2, 2, 100, 140, RELATIVE(12), quads, 1},
    {14, 3, 2, 100, 110, RELATIVE(12), sixes, 1},
    {18, 2, 1, 100, 140, RELATIVE(14), sixes, 1},
    {14, 1, 1, 100, 120, RELATIVE(10), octets, 1},
    {18, 2, 1, 100, 130, RELATIVE(14), octets, 1},
    {14, 2, 1, 100, 120, RELATIVE(9), quads_then_pairs, 2},
    {16, 2, 2, -9, 9, ABSOLUTE(4), quads_then_pairs, 2},
};

static void solve(const struct match_problem *p, uint64_t seed, struct arena *a,
                  struct match_answer *out)
{
    const struct match_options o = {.seed = seed, .iterations = 30000};
    struct err e = ERR_INIT;
    if (!match_solve(p, &o, a, out, &e))
        fail_msg("not solved: %s", e.text);
    if (!match_check(p, out, &e))
        fail_msg("the judge says: %s", e.text);
}

/* Exhaustive search over all answers (match_case.h), 504 problems. */
static void small_problems_have_the_optimum_of_exhaustive_search(void **state)
{
    (void)state;
    for (size_t s = 0; s < ARRAY_LEN(shapes); s++) {
        for (uint64_t seed = 1; seed <= 36; seed++) {
            struct arena *a = arena_new();
            struct match_problem p = case_make(&shapes[s], seed + 100 * s, a);
            struct match_answer out;
            solve(&p, seed, a, &out);
            int64_t best = case_exhaustive(&p, a);
            if (!out.cost_proven || case_value(&p, &out) != best)
                fail_msg("shape %zu, seed %llu: %lld, proven %d, exhaustive search %lld", s,
                         (unsigned long long)seed, (long long)case_value(&p, &out), out.cost_proven,
                         (long long)best);
            arena_free(a);
        }
    }
}

/* The samples that fit branch and bound, with the optimum that CBC proved over all feasible sets
 * (tests/reference/match/bench/expected.json). */
static void samples_have_the_optimum_that_cbc_proved(void **state)
{
    (void)state;
    static const struct match_line four_quads[] = {{4, 4}, {2, MATCH_ANY}};
    static const struct {
        const char *file;
        struct match_band band;
        const struct match_line *demand;
        int lines;
        int64_t found[2];
        double spread; /* to six decimals */
    } sample[] = {
        {"s01.csv", RELATIVE(5), pairs, 1, {19}, 8.054046},
        {"s02.csv", RELATIVE(5), pairs, 1, {974}, 681.653696},
        {"s03.csv", RELATIVE(10), quads, 1, {6}, 13.863157},
        {"s05.csv", RELATIVE(10), octets, 1, {6}, 8.055893},
        {"s06.csv", RELATIVE(10), four_quads, 2, {4, 15}, 11.969372},
    };
    for (size_t i = 0; i < ARRAY_LEN(sample); i++) {
        struct arena *a = arena_new();
        struct match_problem p =
            case_load(sample[i].file, sample[i].band, sample[i].demand, sample[i].lines, a);
        const struct match_options o = {.seed = 1};
        struct match_answer out;
        struct err e = ERR_INIT;
        assert_true(match_solve(&p, &o, a, &out, &e));
        assert_true(match_check(&p, &out, &e));
        for (int l = 0; l < p.lines; l++)
            assert_int_equal(out.found[l], sample[i].found[l]);
        double off = (double)out.cost / (double)MATCH_COST_UNIT - sample[i].spread;
        assert_true(off < 1e-6 && off > -1e-6);
        assert_true(out.count_proven && out.cost_proven);
        arena_free(a);
    }
}

static void the_order_of_the_tubes_does_not_matter(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    const struct case_shape shape = {120, 2, 2, 1000, 1300, RELATIVE(5), quads_then_pairs, 2};
    struct match_problem p = case_make(&shape, 5, a);
    struct match_problem turned = p;
    const char **id = arena_array(a, (size_t)p.tubes, sizeof *id);
    int32_t *class_of = arena_array(a, (size_t)p.tubes, sizeof *class_of);
    int64_t *value = arena_array(a, (size_t)p.tubes * 2, sizeof *value);
    for (int i = 0; i < p.tubes; i++) {
        int from = p.tubes - 1 - i;
        id[i] = p.id[from];
        class_of[i] = p.class_of[from];
        memcpy(value + 2 * i, p.value + 2 * from, 2 * sizeof *value);
    }
    turned.id = id;
    turned.class_of = class_of;
    turned.value = value;
    struct err e = ERR_INIT;
    assert_true(match_problem_sort(&turned, a, &e));
    struct match_answer first;
    struct match_answer second;
    solve(&p, 9, a, &first);
    solve(&turned, 9, a, &second);
    assert_int_equal(first.cost, second.cost);
    assert_int_equal(first.sets, second.sets);
    for (int s = 0; s < first.sets; s++) {
        for (int m = 0; m < p.demand[first.set[s].line].size; m++)
            assert_int_equal(first.set[s].member[m], second.set[s].member[m]);
    }
    arena_free(a);
}

static void limits_are_kept_and_lines_go_by_priority(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    const struct case_shape shape = {60, 2, 1, 1000, 1030, RELATIVE(5), two_quads, 3};
    struct match_problem p = case_make(&shape, 3, a);
    struct match_answer out;
    solve(&p, 1, a, &out); /* every tube holds with every other: 2 quads, 17 threes, 1 is left */
    assert_int_equal(out.found[0], 2);
    assert_int_equal(out.found[1], 17);
    assert_int_equal(out.found[2], 0);
    assert_true(out.count_proven);
    arena_free(a);
}

static void nothing_and_next_to_nothing_are_solved(void **state)
{
    (void)state;
    for (int tubes = 0; tubes < 4; tubes++) {
        struct arena *a = arena_new();
        const struct case_shape shape = {tubes, 1, 1, 5, 5, RELATIVE(0), quads, 1};
        struct match_problem p = case_make(&shape, 1, a);
        struct match_answer out;
        solve(&p, 1, a, &out);
        assert_int_equal(out.sets, 0);
        assert_true(out.count_proven);
        arena_free(a);
    }
}

static int64_t stop_at_once(void *ctx, const struct match_progress *progress)
{
    (void)progress;
    ++*(int *)ctx;
    return MATCH_WHOLE;
}

static void a_search_that_is_stopped_at_once_still_answers(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    const struct case_shape shape = {400, 2, 1, 1000, 1300, RELATIVE(5), quads, 1};
    struct match_problem p = case_make(&shape, 3, a);
    int calls = 0;
    const struct match_options o = {.seed = 1, .pace = stop_at_once, .ctx = &calls};
    struct match_answer out;
    struct err e = ERR_INIT;
    assert_true(match_solve(&p, &o, a, &out, &e));
    assert_true(match_check(&p, &out, &e));
    assert_true(out.found[0] > 0);
    assert_in_range(calls, 1, 2); /* before the search and at its first step */
    arena_free(a);
}

static int64_t never_spent(void *ctx, const struct match_progress *progress)
{
    (void)ctx;
    (void)progress;
    return 0;
}

/* A time budget alone means any number of steps: what can be proven is, and the search ends there.
 */
static void steps_without_number_do_not_run_over(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    const struct case_shape shape = {14, 2, 1, 100, 120, RELATIVE(10), quads, 1};
    struct match_problem p = case_make(&shape, 3, a);
    const struct match_options o = {.seed = 1, .iterations = INT64_MAX, .pace = never_spent};
    struct match_answer out;
    struct err e = ERR_INIT;
    assert_true(match_solve(&p, &o, a, &out, &e));
    assert_true(match_check(&p, &out, &e));
    assert_true(out.cost_proven);
    assert_int_equal(case_value(&p, &out), case_exhaustive(&p, a));
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(small_problems_have_the_optimum_of_exhaustive_search),
        cmocka_unit_test(samples_have_the_optimum_that_cbc_proved),
        cmocka_unit_test(the_order_of_the_tubes_does_not_matter),
        cmocka_unit_test(limits_are_kept_and_lines_go_by_priority),
        cmocka_unit_test(nothing_and_next_to_nothing_are_solved),
        cmocka_unit_test(a_search_that_is_stopped_at_once_still_answers),
        cmocka_unit_test(steps_without_number_do_not_run_over),
    };
    return cmocka_run_group_tests_name("match_solve", tests, NULL, NULL);
}
