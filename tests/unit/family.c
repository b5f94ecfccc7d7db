/* SPDX-License-Identifier: MIT
 *
 * Families and chains: small graphs against exhaustive search, properties over the whole bundled
 * catalogue, and facts of the trade (common practice, no source).
 */
#include "bundled_catalogue.h"

#include "catalogue/family.h"

#include <stdlib.h>

/* ---- an independent judge ------------------------------------------------------------------- */

struct cost {
    int weakest, unequal, remembered, steps;
};

static int cost_order(struct cost a, struct cost b)
{
    if (a.weakest != b.weakest)
        return a.weakest - b.weakest;
    if (a.unequal != b.unequal)
        return a.unequal - b.unequal;
    if (a.remembered != b.remembered)
        return a.remembered - b.remembered;
    return a.steps - b.steps;
}

struct judge {
    const struct link *links;
    size_t count;
    int limit;
    struct cost best[16];
    bool reached[16], on_path[16];
};

/* Walk every simple path. */
static void judge_walk(struct judge *j, int at, struct cost c, bool forward)
{
    if (c.unequal > j->limit)
        return;
    if (!j->reached[at] || cost_order(c, j->best[at]) < 0)
        j->best[at] = c;
    j->reached[at] = j->on_path[at] = true;
    for (size_t i = 0; i < j->count; i++) {
        const struct link *l = &j->links[i];
        bool same = l->relation == RELATION_SAME;
        int next[2] = {l->from == at && (same || forward) ? l->to : -1,
                       l->to == at && (same || !forward) ? l->from : -1};
        for (int k = 0; k < 2; k++) {
            if (next[k] < 0 || j->on_path[next[k]])
                continue;
            struct cost n = c;
            n.weakest = (int)l->relation > n.weakest ? (int)l->relation : n.weakest;
            n.unequal += !same;
            n.remembered += l->how == HOW_MEMORY;
            n.steps++;
            judge_walk(j, next[k], n, forward);
        }
    }
    j->on_path[at] = false;
}

static unsigned rng = 1;

static unsigned chance(unsigned below)
{
    rng = rng * 1664525u + 1013904223u; /* Numerical Recipes, 2nd ed., section 7.1, from memory */
    return (rng >> 16) % below;
}

static void chains_are_the_best_of_all_paths(void **state)
{
    (void)state;
    for (int round = 0; round < 400; round++) {
        struct arena *a = arena_new();
        struct link links[14];
        int types = 7;
        for (size_t i = 0; i < ARRAY_LEN(links); i++) {
            int from = (int)chance(7), to = (int)((unsigned)from + 1 + chance(6)) % 7;
            links[i] =
                (struct link){(int64_t)i,          from, to, (enum relation)chance(RELATION__COUNT),
                              (enum how)chance(2), "",   "", ""};
        }
        struct graph *g = graph_new(a, types, links, ARRAY_LEN(links));
        for (int limit = 0; limit <= 3; limit++)
            for (int dir = 0; dir < 2; dir++) {
                struct judge j = {.links = links, .count = ARRAY_LEN(links), .limit = limit};
                size_t n, expected = 0;
                const struct replacement *r =
                    stand_in_find(g, 0, (enum stand_in)dir,
                                  (struct stand_in_limit){RELATION_BASE_DIFFERS, limit}, &n, a);
                judge_walk(&j, 0, (struct cost){0}, dir == STAND_IN_FOR);
                for (int t = 1; t < types; t++)
                    expected += j.reached[t];
                assert_int_equal(n, expected);
                for (size_t i = 0; i < n; i++) {
                    struct cost c = {(int)r[i].weakest, r[i].unequal, r[i].remembered,
                                     (int)r[i].steps};
                    assert_int_equal(cost_order(c, j.best[r[i].type]), 0);
                    struct cost before = i ? (struct cost){(int)r[i - 1].weakest, r[i - 1].unequal,
                                                           r[i - 1].remembered, (int)r[i - 1].steps}
                                           : c;
                    assert_true(cost_order(before, c) <= 0); /* best first */
                }
            }
        arena_free(a);
    }
}

/* ---- over the whole catalogue --------------------------------------------------------------- */

struct all {
    struct catalogue *c;
    struct arena *a;
    const struct link *links;
    size_t count;
    struct graph *g;
};

static int make(void **state)
{
    struct all *all = calloc(1, sizeof *all);
    all->c = bundled_catalogue();
    all->a = arena_new();
    all->links = catalogue_links(all->c, &all->count, all->a);
    all->g = graph_new(all->a, catalogue_type_count(all->c), all->links, all->count);
    *state = all;
    return 0;
}

static int unmake(void **state)
{
    struct all *all = *state;
    arena_free(all->a);
    catalogue_free(all->c);
    free(all);
    return 0;
}

/* A chain runs from the replaced tube to the new one, its sums are the sums of its steps. */
static void check_chain(const struct all *all, int old, int new, const struct replacement *r)
{
    int at = old;
    unsigned relations = 0;
    int unequal = 0, remembered = 0;
    for (size_t i = 0; i < r->steps; i++) {
        const struct link *l = r->step[i].link;
        assert_int_equal(r->step[i].backwards ? l->to : l->from, at);
        at = r->step[i].backwards ? l->from : l->to;
        if (r->step[i].backwards) /* only `same` reads backwards: an improved type never does */
            assert_int_equal(l->relation, RELATION_SAME);
        relations |= 1u << l->relation;
        unequal += l->relation != RELATION_SAME;
        remembered += l->how == HOW_MEMORY;
        bool said = !*l->conditions;
        for (size_t k = 0; k < r->conditions; k++)
            said = said || strcmp(r->condition[k], l->conditions) == 0;
        assert_true(said); /* no step's condition is lost */
    }
    assert_int_equal(at, new);
    assert_int_equal(relations, r->relations);
    assert_int_equal(unequal, r->unequal);
    assert_int_equal(remembered, r->remembered);
    for (int rel = 0; rel < RELATION__COUNT; rel++)
        if (relations >> rel & 1)
            assert_true((int)r->weakest >= rel);
    assert_true(relations >> r->weakest & 1);
    (void)all;
}

static void every_chain_is_what_it_says(void **state)
{
    const struct all *all = *state;
    int types = catalogue_type_count(all->c);
    for (int t = 0; t < types; t++) {
        struct arena *a = arena_new();
        bool *seen = arena_array(a, (size_t)types, sizeof *seen);
        size_t n;
        const struct replacement *r = stand_in_find(all->g, t, STAND_IN_FOR, STAND_IN_ALL, &n, a);
        for (size_t i = 0; i < n; i++) {
            assert_true(r[i].type != t && !seen[r[i].type]);
            seen[r[i].type] = true;
            check_chain(all, t, r[i].type, &r[i]);
            bool family = family_of(all->g, r[i].type) == family_of(all->g, t);
            assert_int_equal(r[i].weakest == RELATION_SAME, family);
        }
        r = stand_in_find(all->g, t, STAND_IN_OF, STAND_IN_ALL, &n, a);
        for (size_t i = 0; i < n; i++)
            check_chain(all, r[i].type, t, &r[i]);
        arena_free(a);
    }
}

static void what_may_replace_a_is_what_a_may_be_replaced_by(void **state)
{
    const struct all *all = *state;
    int types = catalogue_type_count(all->c);
    for (int t = 0; t < types; t += 7) {
        struct arena *a = arena_new();
        size_t n;
        const struct replacement *r = stand_in_find(all->g, t, STAND_IN_FOR, STAND_IN_ALL, &n, a);
        for (size_t i = 0; i < n; i += 5) {
            size_t m;
            bool there = false;
            const struct replacement *back =
                stand_in_find(all->g, r[i].type, STAND_IN_OF, STAND_IN_ALL, &m, a);
            for (size_t k = 0; k < m; k++)
                there = there || (back[k].type == t && back[k].weakest == r[i].weakest &&
                                  back[k].unequal == r[i].unequal);
            assert_true(there);
        }
        arena_free(a);
    }
}

static void members_of_a_family_do_not_contradict_each_other(void **state)
{
    const struct all *all = *state;
    int types = catalogue_type_count(all->c), bad = 0;
    for (int i = 0; i < types; i++)
        for (int k = i + 1; k < types; k++) {
            char why[CONTRADICTION_BYTES];
            if (family_of(all->g, i) != family_of(all->g, k) ||
                !types_contradict(why, catalogue_type(all->c, i), catalogue_type(all->c, k)))
                continue;
            print_error("%s and %s: %s\n", catalogue_type(all->c, i)->designation,
                        catalogue_type(all->c, k)->designation, why);
            bad++;
        }
    assert_int_equal(bad, 0);
}

/* ---- facts of the trade (common practice, no source) ---------------------------------------- */

static const struct replacement *find(const struct all *all, const char *old, const char *new)
{
    size_t n;
    int o = catalogue_find(all->c, old), w = catalogue_find(all->c, new);
    if (o < 0 || w < 0)
        fail_msg("%s is not in the catalogue", o < 0 ? old : new);
    const struct replacement *r = stand_in_find(all->g, o, STAND_IN_FOR, STAND_IN_ALL, &n, all->a);
    for (size_t i = 0; i < n; i++)
        if (r[i].type == w)
            return &r[i];
    return NULL;
}

static bool one_family(const struct all *all, const char *a, const char *b)
{
    int i = catalogue_find(all->c, a), k = catalogue_find(all->c, b);
    assert_true(i >= 0 && k >= 0);
    return family_of(all->g, i) == family_of(all->g, k);
}

static void an_el34_has_members_under_us_european_and_british_names(void **state)
{
    const struct all *all = *state;
    assert_true(one_family(all, "EL34", "6CA7"));   /* US */
    assert_true(one_family(all, "EL34", "CV1741")); /* British services */
    assert_false(one_family(all, "EL34", "KT77"));
    assert_int_equal(find(all, "EL34", "KT77")->weakest, RELATION_CLOSE);
}

static void gost_counterparts_are_found_and_are_close_at_best(void **state)
{
    const struct all *all = *state;
    static const char *const pairs[][2] = {
        {"6V6GT", "6P6S"},  {"6AS7G", "6N5S"}, {"6AS7G", "6N13S"}, {"EL34", "6P27S"},
        {"6SN7GT", "6N8S"}, {"EL84", "6P14P"}, {"EF86", "6Zh32P"}, {"5U4G", "5Ts3S"},
    };
    for (size_t i = 0; i < ARRAY_LEN(pairs); i++) {
        const struct replacement *r = find(all, pairs[i][0], pairs[i][1]);
        assert_non_null(r);
        assert_int_equal(r->weakest, RELATION_CLOSE);
        assert_true(r->conditions > 0);
    }
}

static void an_improved_type_stands_in_for_the_plain_one_and_not_the_reverse(void **state)
{
    const struct all *all = *state;
    static const char *const pairs[][2] = {
        {"6SN7GT", "6SN7GTB"}, {"6L6G", "6L6GC"}, {"12AX7", "7025"},
        {"ECC83", "E83CC"},    {"6AS7G", "6080"}, {"5U4G", "5U4GB"},
    };
    for (size_t i = 0; i < ARRAY_LEN(pairs); i++) {
        assert_int_equal(find(all, pairs[i][0], pairs[i][1])->weakest, RELATION_IMPROVED);
        const struct replacement *back = find(all, pairs[i][1], pairs[i][0]);
        if (back) /* only by a weaker, conditioned chain, never as improved or same */
            assert_true(back->weakest >= RELATION_CLOSE);
    }
}

static void a_heater_difference_stays_with_the_chain(void **state)
{
    const struct all *all = *state;
    const struct replacement *r = find(all, "6SN7GT", "12SX7GT"); /* by way of 12SN7GT */
    assert_non_null(r);
    assert_true(r->relations >> RELATION_HEATER_DIFFERS & 1);
    assert_int_equal(r->weakest, RELATION_HEATER_DIFFERS);
    bool said = false;
    for (size_t i = 0; i < r->conditions; i++)
        said = said || strstr(r->condition[i], "12.6 V 0.3 A vs 6.3 V 0.6 A");
    assert_true(said);
    r = find(all, "ECC82", "5814WA"); /* same, heater-differs, improved */
    assert_true(r->relations >> RELATION_HEATER_DIFFERS & 1);
}

static void a_chain_through_close_never_comes_out_as_same(void **state)
{
    const struct all *all = *state;
    const struct replacement *r = find(all, "CV1988", "6N8P"); /* same, close, same */
    assert_non_null(r);
    assert_int_equal(r->weakest, RELATION_CLOSE);
    assert_int_equal(r->steps, 3);
    assert_int_equal(r->unequal, 1);
    assert_true(r->remembered >= 1);
}

static void the_filter_leaves_out_weaker_relations(void **state)
{
    const struct all *all = *state;
    size_t n;
    int t = catalogue_find(all->c, "6SN7GT");
    const struct replacement *r = stand_in_find(
        all->g, t, STAND_IN_FOR, (struct stand_in_limit){RELATION_IMPROVED, 3}, &n, all->a);
    assert_true(n > 0);
    for (size_t i = 0; i < n; i++)
        assert_true(r[i].weakest <= RELATION_IMPROVED);
    r = stand_in_find(all->g, t, STAND_IN_FOR, (struct stand_in_limit){RELATION_BASE_DIFFERS, 0},
                      &n, all->a);
    size_t members;
    family_members(all->g, t, &members, all->a);
    assert_int_equal(n, members - 1);
    assert_true(members >= 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(chains_are_the_best_of_all_paths),
        cmocka_unit_test(every_chain_is_what_it_says),
        cmocka_unit_test(what_may_replace_a_is_what_a_may_be_replaced_by),
        cmocka_unit_test(members_of_a_family_do_not_contradict_each_other),
        cmocka_unit_test(an_el34_has_members_under_us_european_and_british_names),
        cmocka_unit_test(gost_counterparts_are_found_and_are_close_at_best),
        cmocka_unit_test(an_improved_type_stands_in_for_the_plain_one_and_not_the_reverse),
        cmocka_unit_test(a_heater_difference_stays_with_the_chain),
        cmocka_unit_test(a_chain_through_close_never_comes_out_as_same),
        cmocka_unit_test(the_filter_leaves_out_weaker_relations),
    };
    return cmocka_run_group_tests_name("family", tests, make, unmake);
}
