/* SPDX-License-Identifier: MIT */
#include "match_case.h"

#include "match/blossom.h"

#include <stdlib.h>

/* ---- published small graphs --------------------------------------------------------------------
 * Test vectors of J. van Rantwijk's matching code, as distributed in networkx
 * (networkx/algorithms/tests/test_matching.py, commit 01182e4b1cbeee345ddf931910f26a3bac0e27de);
 * every optimum was confirmed by exhaustive search before it was written down here.  Each is the
 * only one. */
#define PUBLISHED_EDGES 13

struct published {
    const char *name;
    int edges;
    int edge[PUBLISHED_EDGES][3]; /* from, to, weight */
    int pairs;
    bool most_pairs_first;
    int weight;
};

static const struct published published[] = {
    /* clang-format off */
    {"two_path", 2, {{1, 2, 10}, {2, 3, 11}}, 1, false, 11},
    {"path", 3, {{1, 2, 5}, {2, 3, 11}, {3, 4, 5}}, 1, false, 11},
    {"path_maxcard", 3, {{1, 2, 5}, {2, 3, 11}, {3, 4, 5}}, 2, true, 10},
    {"square", 4, {{1, 4, 2}, {2, 3, 2}, {1, 2, 1}, {3, 4, 4}}, 2, false, 5},
    {"negative", 5, {{1, 2, 2}, {1, 3, -2}, {2, 3, 1}, {2, 4, -1}, {3, 4, -6}}, 1, false, 2},
    {"negative_maxcard", 5, {{1, 2, 2}, {1, 3, -2}, {2, 3, 1}, {2, 4, -1}, {3, 4, -6}}, 2, true, -3},
    {"s_blossom_a", 4, {{1, 2, 8}, {1, 3, 9}, {2, 3, 10}, {3, 4, 7}}, 2, false, 15},
    {"s_blossom_b", 6, {{1, 2, 8}, {1, 3, 9}, {2, 3, 10}, {3, 4, 7}, {1, 6, 5}, {4, 5, 6}}, 3, false, 21},
    {"s_t_blossom_a", 6, {{1, 2, 9}, {1, 3, 8}, {2, 3, 10}, {1, 4, 5}, {4, 5, 4}, {1, 6, 3}}, 3, false, 17},
    {"s_t_blossom_c", 6, {{1, 2, 9}, {1, 3, 8}, {2, 3, 10}, {1, 4, 5}, {4, 5, 3}, {3, 6, 4}}, 3, false, 16},
    {"nested_s", 7, {{1, 2, 9}, {1, 3, 9}, {2, 3, 10}, {2, 4, 8}, {3, 5, 8}, {4, 5, 10}, {5, 6, 6}}, 3, false, 23},
    {"nested_s_relabel", 9, {{1, 2, 10}, {1, 7, 10}, {2, 3, 12}, {3, 4, 20}, {3, 5, 20}, {4, 5, 25}, {5, 6, 10}, {6, 7, 10}, {7, 8, 8}}, 4, false, 48},
    {"nested_s_expand", 10, {{1, 2, 8}, {1, 3, 8}, {2, 3, 10}, {2, 4, 12}, {3, 5, 12}, {4, 5, 14}, {4, 6, 12}, {5, 7, 12}, {6, 7, 14}, {7, 8, 12}}, 4, false, 44},
    {"s_relabel_expand", 8, {{1, 2, 23}, {1, 5, 22}, {1, 6, 15}, {2, 3, 25}, {3, 4, 22}, {4, 5, 25}, {4, 8, 14}, {5, 7, 13}}, 4, false, 67},
    {"nested_relabel_expand", 9, {{1, 2, 19}, {1, 3, 20}, {1, 8, 8}, {2, 3, 25}, {2, 4, 18}, {3, 5, 18}, {4, 5, 13}, {4, 7, 7}, {5, 6, 7}}, 4, false, 47},
    {"nasty1", 10, {{1, 2, 45}, {1, 5, 45}, {2, 3, 50}, {3, 4, 45}, {4, 5, 50}, {1, 6, 30}, {3, 9, 35}, {4, 8, 35}, {5, 7, 26}, {9, 10, 5}}, 5, false, 146},
    {"nasty2", 10, {{1, 2, 45}, {1, 5, 45}, {2, 3, 50}, {3, 4, 45}, {4, 5, 50}, {1, 6, 30}, {3, 9, 35}, {4, 8, 26}, {5, 7, 40}, {9, 10, 5}}, 5, false, 151},
    {"nasty_least_slack", 10, {{1, 2, 45}, {1, 5, 45}, {2, 3, 50}, {3, 4, 45}, {4, 5, 50}, {1, 6, 30}, {3, 9, 35}, {4, 8, 28}, {5, 7, 26}, {9, 10, 5}}, 5, false, 139},
    {"nasty_augmenting", 13, {{1, 2, 45}, {1, 7, 45}, {2, 3, 50}, {3, 4, 45}, {4, 5, 95}, {4, 6, 94}, {5, 6, 94}, {6, 7, 50}, {1, 8, 30}, {3, 11, 35}, {5, 9, 36}, {7, 10, 26}, {11, 12, 5}}, 6, false, 241},
    {"nasty_expand_recursive", 11, {{1, 2, 40}, {1, 3, 40}, {2, 3, 60}, {2, 4, 55}, {3, 5, 55}, {4, 5, 50}, {1, 8, 15}, {5, 7, 30}, {7, 6, 10}, {8, 10, 10}, {4, 9, 30}}, 5, false, 145},
    /* clang-format on */
};

#define VERTICES 13

/* Neighbour lists for the solver; negative edges can only be wanted where most pairs go first. */
static int solve_published(const struct published *t, int64_t *weight)
{
    const int64_t lift = t->most_pairs_first ? 1000 : 0;
    int start[VERTICES + 1] = {0};
    int to[2 * PUBLISHED_EDGES];
    int64_t doubled[2 * PUBLISHED_EDGES];
    int64_t of[VERTICES][VERTICES] = {{0}};
    int at = 0;
    for (int v = 0; v < VERTICES; v++) {
        for (int e = 0; e < t->edges; e++) {
            const int *edge = t->edge[e];
            if ((edge[0] != v && edge[1] != v) || edge[2] + lift <= 0)
                continue;
            to[at] = edge[0] == v ? edge[1] : edge[0];
            of[v][to[at]] = edge[2];
            doubled[at++] = 2 * (edge[2] + lift);
        }
        start[v + 1] = at;
    }
    const struct blossom_graph g = {start, to, doubled};
    struct blossom *b = blossom_new(VERTICES);
    blossom_start(b, &g);
    assert_true(blossom_solve(b, &g, NULL, NULL));
    int pairs = 0;
    *weight = 0;
    for (int v = 0; v < VERTICES; v++) {
        int mate = blossom_mate(b, v);
        if (mate < 0)
            continue;
        assert_int_equal(blossom_mate(b, mate), v);
        pairs += v < mate;
        *weight += v < mate ? of[v][mate] : 0;
    }
    blossom_free(b);
    return pairs;
}

static void published_graphs_have_their_published_optimum(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(published); i++) {
        int64_t weight;
        int pairs = solve_published(&published[i], &weight);
        if (weight != published[i].weight || pairs != published[i].pairs)
            fail_msg("%s: %d pairs of weight %lld, published %d of %d", published[i].name, pairs,
                     (long long)weight, published[i].pairs, published[i].weight);
    }
}

/* ---- random problems ------------------------------------------------------------------------- */

static void solve(const struct match_problem *p, struct arena *a, struct match_answer *out)
{
    const struct match_options o = {.seed = 1};
    struct err e = ERR_INIT;
    if (!match_solve(p, &o, a, out, &e))
        fail_msg("not solved: %s", e.text);
    if (!match_check(p, out, &e))
        fail_msg("the judge says: %s", e.text);
    if (!match_check_certificate(p, out, &e))
        fail_msg("the judge says: %s", e.text);
    assert_true(out->count_proven && out->cost_proven);
}

static const struct match_line pairs_line[] = {{2, MATCH_ANY}};

/* tests/reference/match/pairs.csv: 500 problems with the optimum that networkx found for them. */
static void random_problems_have_the_optimum_that_networkx_finds(void **state)
{
    (void)state;
    FILE *f = fopen("tests/reference/match/pairs.csv", "r");
    char line[256];
    int problems = 0;
    if (f == NULL)
        fail_msg("tests/reference/match/pairs.csv is missing: run from the top of the tree");
    assert_non_null(fgets(line, sizeof line, f));
    while (fgets(line, sizeof line, f) != NULL) {
        unsigned long long seed;
        struct case_shape s = {.demand = pairs_line, .lines = 1};
        long long low, high, num, den, count, cost;
        char kind[16];
        assert_int_equal(sscanf(line, "%llu,%d,%d,%d,%lld,%lld,%15[a-z],%lld,%lld,%lld,%lld", &seed,
                                &s.tubes, &s.coordinates, &s.classes, &low, &high, kind, &num, &den,
                                &count, &cost),
                         11);
        s.low = low;
        s.high = high;
        s.band = (struct match_band){kind[0] == 'a' ? MATCH_ABSOLUTE : MATCH_RELATIVE, num, den};
        struct arena *a = arena_new();
        struct match_problem p = case_make(&s, seed, a);
        struct match_answer out;
        solve(&p, a, &out);
        if (out.found[0] != count || out.cost != cost)
            fail_msg("problem %llu: %lld pairs at %lld, networkx %lld at %lld", seed,
                     (long long)out.found[0], (long long)out.cost, count, cost);
        arena_free(a);
        problems++;
    }
    (void)fclose(f);
    assert_int_equal(problems, 500);
}

static void small_problems_have_the_optimum_of_exhaustive_search(void **state)
{
    (void)state;
    static const struct case_shape shapes[] = {
        {14, 1, 1, 100, 130, {MATCH_RELATIVE, 3, 100}, pairs_line, 1},
        {14, 2, 1, 100, 112, {MATCH_RELATIVE, 6, 100}, pairs_line, 1},
        {13, 3, 2, 1, 4, {MATCH_RELATIVE, 1, 1}, pairs_line, 1},
        {14, 2, 1, -3, 3, {MATCH_ABSOLUTE, 2, 1}, pairs_line, 1},
        {13, 1, 1, -40, 40, {MATCH_ABSOLUTE, 13, 1}, pairs_line, 1},
    };
    for (size_t s = 0; s < ARRAY_LEN(shapes); s++) {
        for (uint64_t seed = 0; seed < 40; seed++) {
            struct arena *a = arena_new();
            struct match_problem p = case_make(&shapes[s], seed + 1000 * s, a);
            struct match_answer out;
            solve(&p, a, &out);
            assert_int_equal(case_value(&p, &out), case_exhaustive(&p, a));
            arena_free(a);
        }
    }
}

/* ---- worst cases ----------------------------------------------------------------------------- */

static void equal_tubes_are_paired_for_nothing(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    const struct case_shape shape = {801, 2, 1, 7, 7, {MATCH_RELATIVE, 0, 1}, pairs_line, 1};
    struct match_problem p = case_make(&shape, 1, a);
    struct match_answer out;
    solve(&p, a, &out);
    assert_int_equal(out.found[0], 400);
    assert_int_equal(out.cost, 0);
    arena_free(a);
}

/* Tubes a band apart less one step in turn: the nearest-first answer pairs the inner two of every
 * four and loses the outer ones; all can be paired. */
static void a_chain_loses_nothing(void **state)
{
    (void)state;
    enum { TUBES = 2000 };
    struct arena *a = arena_new();
    const struct case_shape shape = {TUBES, 1, 1, 0, 0, {MATCH_ABSOLUTE, 10, 1}, pairs_line, 1};
    struct match_problem p = case_make(&shape, 1, a);
    int64_t *value = arena_array(a, TUBES, sizeof *value);
    for (int i = 1; i < TUBES; i++)
        value[i] = value[i - 1] + (i % 2 == 1 ? 10 : 9);
    p.value = value;
    struct match_answer out;
    solve(&p, a, &out);
    assert_int_equal(out.found[0], TUBES / 2);
    assert_int_equal(out.cost, TUBES / 2 * MATCH_COST_UNIT);
    arena_free(a);
}

/* Two tight clusters with an odd number of tubes each, and one tube between that holds with both.
 */
static void two_clusters_joined_by_one_tube_leave_one_over(void **state)
{
    (void)state;
    enum { EACH = 501, TUBES = 2 * EACH + 1 };
    struct arena *a = arena_new();
    const struct case_shape shape = {TUBES, 1, 1, 0, 0, {MATCH_ABSOLUTE, 10, 1}, pairs_line, 1};
    struct match_problem p = case_make(&shape, 1, a);
    int64_t *value = arena_array(a, TUBES, sizeof *value);
    for (int i = 0; i < TUBES; i++)
        value[i] = i < EACH ? 0 : i < 2 * EACH ? 20 : 10;
    p.value = value;
    struct match_answer out;
    solve(&p, a, &out);
    assert_int_equal(out.found[0], EACH);
    assert_int_equal(out.cost, MATCH_COST_UNIT); /* the one between goes with one of them */
    arena_free(a);
}

/* ---- the certificate ------------------------------------------------------------------------- */

static void the_judge_refuses_a_certificate_that_does_not_cover_a_pair(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    const struct case_shape shape = {9, 2, 1, 100, 105, {MATCH_RELATIVE, 1, 10}, pairs_line, 1};
    struct match_problem p = case_make(&shape, 4, a);
    struct match_answer out;
    solve(&p, a, &out);
    struct err e = ERR_INIT;
    struct match_certificate bent = *out.certificate;
    int64_t *price = arena_array(a, 9, sizeof *price);
    memcpy(price, bent.price, 9 * sizeof *price);
    price[out.set[0].member[0]] -= 1;
    bent.price = price;
    out.certificate = &bent;
    assert_false(match_check_certificate(&p, &out, &e));
    price[out.set[0].member[0]] += 2;
    assert_false(match_check_certificate(&p, &out, &e));
    assert_string_equal(e.text, "the certificate allows more than the answer reaches");
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_graphs_have_their_published_optimum),
        cmocka_unit_test(random_problems_have_the_optimum_that_networkx_finds),
        cmocka_unit_test(small_problems_have_the_optimum_of_exhaustive_search),
        cmocka_unit_test(equal_tubes_are_paired_for_nothing),
        cmocka_unit_test(a_chain_loses_nothing),
        cmocka_unit_test(two_clusters_joined_by_one_tube_leave_one_over),
        cmocka_unit_test(the_judge_refuses_a_certificate_that_does_not_cover_a_pair),
    };
    return cmocka_run_group_tests_name("match_pairs", tests, NULL, NULL);
}
