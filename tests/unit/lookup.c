/* SPDX-License-Identifier: MIT
 *
 * tests/cases/designation.tsv against the bundled catalogue: each spelling finds what its line
 * says, all of it and nothing else.
 */
#include "bundled_catalogue.h"

#include <stdlib.h>

struct all {
    struct catalogue *c;
    struct arena *a;
    struct graph *g;
};

static int make(void **state)
{
    struct all *all = calloc(1, sizeof *all);
    size_t n;
    all->c = bundled_catalogue();
    all->a = arena_new();
    const struct link *links = catalogue_links(all->c, &n, all->a);
    all->g = graph_new(all->a, catalogue_type_count(all->c), links, n);
    *state = all;
    return 0;
}

static int unmake(void **state)
{
    struct all *all = *state;
    catalogue_free(all->c);
    arena_free(all->a);
    free(all);
    return 0;
}

static const char *const verdicts[] = {"is", "ambiguous", "candidates", "unknown"};

/* Is `name` one of the ';'-joined names? */
static bool is_listed(const char *list, const char *name)
{
    size_t n = strlen(name);
    for (const char *s = list; *s; s += strcspn(s, ";") + (s[strcspn(s, ";")] == ';'))
        if (strcspn(s, ";") == n && strncmp(s, name, n) == 0)
            return true;
    return false;
}

static size_t count_listed(const char *list)
{
    size_t n = strcmp(list, "-") == 0 ? 0 : 1;
    for (; *list; list++)
        n += *list == ';';
    return n;
}

static bool as_expected(const struct all *all, const struct lookup *l, const char *verdict,
                        const char *expected)
{
    size_t n = l->verdict == LOOKUP_CANDIDATES ? l->count : l->meant;
    if (strcmp(verdicts[l->verdict], verdict) != 0)
        return false;
    if (l->verdict == LOOKUP_IS)
        return strcmp(catalogue_type(all->c, (int)l->hit[0].type)->designation, expected) == 0;
    for (size_t i = 0; i < n; i++)
        if (!is_listed(expected, catalogue_type(all->c, (int)l->hit[i].type)->designation))
            return false;
    return n == count_listed(expected);
}

static void complain(const struct all *all, const char *typed, const char *verdict,
                     const char *expected, const struct lookup *l)
{
    print_error("%s: expected %s %s, came %s", typed, verdict, expected, verdicts[l->verdict]);
    for (size_t i = 0; i < l->count; i++)
        print_error(" %s%s", catalogue_type(all->c, (int)l->hit[i].type)->designation,
                    l->hit[i].reason == LOOKUP_SUFFIX ? "(suffix)" : "");
    print_error("\n");
}

static void every_spelling_finds_what_its_line_says(void **state)
{
    const struct all *all = *state;
    FILE *in = fopen("tests/cases/designation.tsv", "r");
    char line[400];
    int lines = 0, cyrillic = 0, unresolved = 0, wrong = 0;
    assert_non_null(in);
    while (fgets(line, sizeof line, in)) {
        if (line[0] == '#')
            continue;
        char *rest = line, *field[4];
        line[strcspn(line, "\n")] = 0;
        for (int i = 0; i < 4; i++)
            field[i] = strsep(&rest, "\t");
        assert_non_null(field[3]);
        struct lookup l;
        struct err e = ERR_INIT;
        if (!catalogue_lookup(&l, all->c, all->g, field[0], &e))
            fail_msg("%s: %s", field[0], e.text);
        lines++;
        cyrillic += strchr(field[0], '\xD0') || strchr(field[0], '\xD1');
        unresolved += strcmp(field[1], "is") != 0;
        if (!as_expected(all, &l, field[1], field[2])) {
            complain(all, field[0], field[1], field[2], &l);
            wrong++;
        }
    }
    fclose(in);
    assert_true(lines >= 400 && cyrillic >= 100 && unresolved >= 50);
    assert_int_equal(wrong, 0);
}

static void every_stored_name_finds_its_own_type(void **state)
{
    const struct all *all = *state;
    for (size_t i = 0; i < catalogue_name_count(all->c); i++) {
        const struct name *n = catalogue_name(all->c, i);
        struct lookup l;
        assert_true(catalogue_lookup(&l, all->c, all->g, n->text, NULL));
        bool there = false;
        for (size_t k = 0; k < l.meant; k++)
            there = there || l.hit[k].type == n->type;
        if (!there || (n->kind == SPELLING_PRINTED && l.hit[0].type != n->type))
            fail_msg("%s does not find its own type", n->text);
        if (n->kind == SPELLING_PRINTED)
            assert_int_equal(l.verdict, LOOKUP_IS);
    }
}

static void an_answer_still_shows_its_relatives_by_suffix(void **state)
{
    const struct all *all = *state;
    struct lookup l;
    char why[LOOKUP_WHY_BYTES];
    assert_true(catalogue_lookup(&l, all->c, all->g, "6L6", NULL));
    assert_int_equal(l.verdict, LOOKUP_IS);
    assert_int_equal(l.meant, 1);
    bool gc = false;
    for (size_t i = 1; i < l.count; i++)
        if (strcmp(l.hit[i].spelling, "6L6GC") == 0) {
            gc = true;
            assert_string_equal(lookup_why_print(why, &l.hit[i]), "the same but for the suffix GC");
        }
    assert_true(gc);
}

static void a_spelling_that_is_nearly_right_is_offered(void **state)
{
    const struct all *all = *state;
    int near[8];
    size_t n = catalogue_near(all->c, "ECC38", 1, near, ARRAY_LEN(near)); /* figures swapped */
    bool there = false;
    for (size_t i = 0; i < n; i++)
        there = there || strcmp(catalogue_type(all->c, near[i])->designation, "ECC83") == 0;
    assert_true(there);
    assert_int_equal(catalogue_near(all->c, "QQQQQQQQ", 2, near, ARRAY_LEN(near)), 0);
}

/* ---- a catalogue of our own for what the bundled one has no example of ---------------------- */

static struct catalogue *of_names(const char *const *names, size_t n)
{
    struct catalogue *c = catalogue_new();
    for (size_t i = 0; i < n; i++) {
        struct type t = type_bare(names[i]);
        t.class = "triode";
        assert_true(catalogue_add_type(c, &t, NULL));
    }
    return c;
}

static void two_types_that_one_text_can_mean_are_both_listed(void **state)
{
    (void)state;
    /* R5: H stands for Н by look and for Х by sound; C for С and for Ц; P for П and for Р */
    static const struct {
        const char *typed, *a, *b;
    } cases[] = {
        {"6H2P", "6N2P", "6Kh2P"}, {"6C4P", "6S4P", "6Ts4P"}, {"6P3C", "6P3S", "6R3S"},
        {"5C3S", "5S3S", "5Ts3S"}, {"6n8C", "6N8S", "6P8S"},
    };
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        const char *const names[] = {cases[i].a, cases[i].b, "12AX7"};
        struct catalogue *c = of_names(names, ARRAY_LEN(names));
        struct lookup l;
        assert_true(catalogue_lookup(&l, c, NULL, cases[i].typed, NULL));
        assert_int_equal(l.verdict, LOOKUP_AMBIGUOUS);
        assert_int_equal(l.meant, 2);
        for (size_t k = 0; k < 2; k++) {
            char why[LOOKUP_WHY_BYTES];
            assert_true(*lookup_why_print(why, &l.hit[k]));
        }
        catalogue_free(c);
    }
}

static void the_cyrillic_word_itself_is_never_in_doubt(void **state)
{
    (void)state;
    static const char *const names[] = {"6N2P", "6Kh2P", "6S4P", "6Ts4P", "6P3S", "6R3S", "6C4"};
    static const char *const typed[] = {"6Н2П", "6Х2П", "6С4П", "6Ц4П", "6П3С", "6Р3С"};
    struct catalogue *c = of_names(names, ARRAY_LEN(names));
    for (size_t i = 0; i < ARRAY_LEN(typed); i++) {
        struct lookup l;
        assert_true(catalogue_lookup(&l, c, NULL, typed[i], NULL));
        assert_int_equal(l.verdict, LOOKUP_IS);
        assert_string_equal(l.hit[0].spelling, names[i]);
    }
    catalogue_free(c);
}

static void a_spelling_of_the_trade_may_belong_to_two_types(void **state)
{
    (void)state;
    static const char *const names[] = {"6S4P", "6Ts4P"};
    struct catalogue *c = of_names(names, ARRAY_LEN(names));
    struct spelling s = {"6Ts4P", "6C4P", SPELLING_TRADE, "Ts written C", "", HOW_OWN, ""};
    struct lookup l;
    assert_true(catalogue_add_spelling(c, &s, NULL));
    assert_true(catalogue_lookup(&l, c, NULL, "6C4P", NULL));
    assert_int_equal(l.verdict, LOOKUP_AMBIGUOUS);
    assert_int_equal(l.meant, 2);
    assert_true(catalogue_lookup(&l, c, NULL, "6С4П", NULL)); /* not by way of the trade spelling */
    assert_int_equal(l.verdict, LOOKUP_IS);
    assert_string_equal(l.hit[0].spelling, "6S4P");
    catalogue_free(c);
}

static void one_found_name_of_two_is_no_answer(void **state)
{
    (void)state;
    static const char *const names[] = {"12AX7"};
    struct catalogue *c = of_names(names, 1);
    struct lookup l;
    assert_true(catalogue_lookup(&l, c, NULL, "12AX7/ECC83", NULL));
    assert_int_equal(l.verdict, LOOKUP_AMBIGUOUS);
    assert_int_equal(l.meant, 1);
    catalogue_free(c);
}

static void what_cannot_be_a_designation_is_refused(void **state)
{
    (void)state;
    struct catalogue *c = catalogue_new();
    struct lookup l;
    struct err e = ERR_INIT;
    assert_false(catalogue_lookup(&l, c, NULL, "6L6; drop", &e));
    assert_int_equal(e.code, ERR_INVALID);
    assert_int_equal(e.at, 3);
    assert_true(catalogue_lookup(&l, c, NULL, "6L6", &e));
    assert_int_equal(l.verdict, LOOKUP_UNKNOWN);
    catalogue_free(c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_spelling_finds_what_its_line_says),
        cmocka_unit_test(every_stored_name_finds_its_own_type),
        cmocka_unit_test(an_answer_still_shows_its_relatives_by_suffix),
        cmocka_unit_test(a_spelling_that_is_nearly_right_is_offered),
        cmocka_unit_test(two_types_that_one_text_can_mean_are_both_listed),
        cmocka_unit_test(the_cyrillic_word_itself_is_never_in_doubt),
        cmocka_unit_test(a_spelling_of_the_trade_may_belong_to_two_types),
        cmocka_unit_test(one_found_name_of_two_is_no_answer),
        cmocka_unit_test(what_cannot_be_a_designation_is_refused),
    };
    return cmocka_run_group_tests_name("lookup", tests, make, unmake);
}
