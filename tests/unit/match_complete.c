/* SPDX-License-Identifier: MIT */
#include "match_case.h"

#include "match/complete.h"

#include <stdlib.h>

static const struct match_line quads[] = {{4, MATCH_ANY}};
static const struct match_band five_percent = {MATCH_RELATIVE, 1, 20};

/* Worked by hand: three of 20.0, 20.5 and 20.2 are there; 20.3 widens nothing, 19.8 and 20.8 by a
 * little, 21.0 to the limit, 21.01 is too far, and the last is of another class. */
static void a_broken_quad_is_completed_by_the_nearest_first(void **state)
{
    (void)state;
    static const char *const id[] = {"a", "b", "c", "d", "e", "f"};
    static const int32_t class_of[] = {7, 7, 7, 7, 7, 8};
    static const int64_t value[] = {2100, 2101, 1980, 2030, 2080, 2030};
    static const int64_t there[] = {2000, 2050, 2020};
    static const char *const column[] = {"gm"};
    const struct match_problem p = {.tubes = 6,
                                    .coordinates = 1,
                                    .lines = 1,
                                    .id = id,
                                    .class_of = class_of,
                                    .value = value,
                                    .band = &five_percent,
                                    .demand = quads,
                                    .column = column};
    const struct complete_ask ask = {
        .value = there, .members = 3, .class_of = 7, .missing = 1, .most = 10};
    struct arena *a = arena_new();
    struct completion *best;
    int count;
    struct err e = ERR_INIT;
    assert_true(complete_rank(&p, &ask, a, &best, &count, &e));
    assert_int_equal(count, 4);
    assert_string_equal(id[best[0].tube[0]], "d");
    assert_int_equal(best[0].cost, 500000000); /* 0.5 / 20 of 5 % */
    assert_string_equal(id[best[1].tube[0]], "c");
    assert_int_equal(best[1].cost, 707070707); /* 0.7 / 19.8 of 5 % */
    assert_string_equal(id[best[2].tube[0]], "e");
    assert_int_equal(best[2].cost, 800000000);
    assert_string_equal(id[best[3].tube[0]], "a");
    assert_int_equal(best[3].cost, MATCH_COST_UNIT);
    int64_t cost;
    assert_true(complete_holds(&p, &ask, value, &cost));
    assert_int_equal(cost, MATCH_COST_UNIT);
    assert_false(complete_holds(&p, &ask, value + 1, NULL));
    arena_free(a);
}

static void what_does_not_hold_by_itself_is_refused(void **state)
{
    (void)state;
    static const int64_t there[] = {2000, 2200};
    struct arena *a = arena_new();
    const struct case_shape shape = {5, 1, 1, 2000, 2100, {MATCH_RELATIVE, 1, 20}, quads, 1};
    struct match_problem p = case_make(&shape, 1, a);
    struct complete_ask ask = {.value = there, .members = 2, .missing = 2, .most = 5};
    struct completion *best;
    int count;
    struct err e = ERR_INIT;
    assert_false(complete_rank(&p, &ask, a, &best, &count, &e));
    assert_int_equal(e.code, ERR_CONFLICT);
    assert_string_equal(e.field, "ia");
    ask.missing = 0;
    assert_false(complete_rank(&p, &ask, a, &best, &count, &e));
    ask.missing = COMPLETE_MISSING + 1;
    assert_false(complete_rank(&p, &ask, a, &best, &count, &e));
    ask.missing = 1;
    ask.most = 0;
    assert_false(complete_rank(&p, &ask, a, &best, &count, &e));
    arena_free(a);
}

/* Against all pairs of tubes, judged by match_set_holds with the members as further tubes. */
static void two_missing_members_are_the_best_of_all_pairs(void **state)
{
    (void)state;
    const struct case_shape shape = {30, 2, 2, 1000, 1080, {MATCH_RELATIVE, 1, 20}, quads, 1};
    for (uint64_t seed = 1; seed <= 30; seed++) {
        struct arena *a = arena_new();
        struct match_problem p = case_make(&shape, seed, a);
        struct complete_ask ask = {.value = p.value, .members = 1, .missing = 2, .most = 200};
        struct completion *best;
        int count;
        struct err e = ERR_INIT;
        ask.class_of = p.class_of[0];
        assert_true(complete_rank(&p, &ask, a, &best, &count, &e));
        int ways = 0;
        int64_t least = INT64_MAX;
        for (int i = 0; i < p.tubes; i++) {
            for (int j = i + 1; j < p.tubes; j++) {
                const int set[] = {0, i, j};
                int64_t cost;
                if (!match_set_holds(&p, set, 3, &cost))
                    continue;
                ways++;
                least = cost < least ? cost : least;
            }
        }
        assert_int_equal(count, ways < 200 ? ways : 200);
        if (count > 0)
            assert_int_equal(best[0].cost, least);
        for (int c = 0; c < count; c++) {
            const int set[] = {0, best[c].tube[0], best[c].tube[1]};
            int64_t cost;
            assert_true(match_set_holds(&p, set, 3, &cost));
            assert_int_equal(cost, best[c].cost);
            assert_true(c == 0 || best[c - 1].cost <= cost);
        }
        arena_free(a);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_broken_quad_is_completed_by_the_nearest_first),
        cmocka_unit_test(what_does_not_hold_by_itself_is_refused),
        cmocka_unit_test(two_missing_members_are_the_best_of_all_pairs),
    };
    return cmocka_run_group_tests_name("match_complete", tests, NULL, NULL);
}
