/* SPDX-License-Identifier: MIT
 *
 * History and features.  The facts of the trade are common practice, no source; each test names the
 * one it holds.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "grade/feature.h"
#include "grade/history.h"

static struct arena *arena;

static int set_up(void **state)
{
    (void)state;
    arena = arena_new();
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    arena_free(arena);
    return 0;
}

static struct history weigh(const char *look, enum history_claim claim, const char *word)
{
    struct inspection in;
    struct err e = ERR_INIT;
    if (!inspection_parse(&in, look, strlen(look), &e))
        fail_msg("%s: %s", look, e.text);
    return history_weigh(arena, &in, claim, word, false);
}

static const char *evidence(const char *look)
{
    return history_evidence_code(weigh(look, HISTORY_UNUSED, NULL).evidence);
}

#define THREE "pins=dull; getter=full; getter_edge=sharp; base=sound; label=clear"

static void an_unused_tube_is_told_by_three_things_together(void **state)
{
    (void)state;
    assert_string_equal(evidence(THREE), "fits-unused");
    assert_string_equal(evidence("getter=full; getter_edge=sharp; base=sound; label=clear"),
                        "undecided");
    assert_string_equal(evidence("pins=dull; getter=full; base=sound; label=clear"), "undecided");
    assert_string_equal(evidence("pins=dull; getter_edge=sharp; base=sound; label=clear"),
                        "undecided");
    assert_string_equal(evidence("pins=dull; getter=most; getter_edge=sharp; base=sound; "
                                 "label=clear"),
                        "undecided");
    assert_string_equal(evidence("pins=dull; getter=full; getter_edge=sharp; label=clear"),
                        "undecided");
    assert_string_equal(evidence("pins=dull; getter=full; getter_edge=sharp; base=sound"),
                        "undecided");
    assert_string_equal(evidence(""), "undecided");
}

static void dull_pins_a_single_test_and_a_faded_print_do_not_speak_against_it(void **state)
{
    (void)state;
    assert_string_equal(evidence("pins=dull+single-test; getter=full; getter_edge=sharp; "
                                 "base=sound; label=faded"),
                        "fits-unused");
    assert_string_equal(evidence("pins=bright; getter=full+tinted; getter_edge=patchy; base=none; "
                                 "label=clear; glass=sound+moulding"),
                        "fits-unused");
}

static void a_pale_line_at_the_getter_or_worn_pins_tell_of_use_whatever_else_fits(void **state)
{
    (void)state;
    assert_string_equal(evidence("pins=bright; getter=full; getter_edge=receding; base=sound; "
                                 "label=clear; box=original"),
                        "tells-of-use");
    assert_string_equal(evidence("pins=worn; getter=full; getter_edge=sharp; base=sound; "
                                 "label=clear; box=original"),
                        "tells-of-use");
    assert_string_equal(evidence(THREE "; plate=brown"), "tells-of-use");
}

static void a_box_never_decides_alone(void **state)
{
    (void)state;
    assert_string_equal(evidence("box=original"), "undecided");
    assert_string_equal(evidence("pins=cleaned; getter=half; base=sound; box=original"),
                        "undecided");
    static const char *const boxes[] = {"original", "other", "none", "suspected"};
    for (size_t i = 0; i < ARRAY_LEN(boxes); i++) {
        assert_string_equal(evidence(arena_printf(arena, THREE "; box=%s", boxes[i])),
                            "fits-unused");
        assert_string_equal(evidence(arena_printf(arena, "pins=worn; box=%s", boxes[i])),
                            "tells-of-use");
    }
}

static void every_finding_on_pins_getter_base_or_label_is_weighed_the_same_way(void **state)
{
    (void)state;
    /* whatever is seen beside the three things can only leave or worsen what they say, and worsens
     * it to use exactly where its row says so */
    struct inspection three;
    struct err e = ERR_INIT;
    assert_true(inspection_parse(&three, THREE, strlen(THREE), &e));
    for (int f = 0; f < FINDING__COUNT; f++) {
        struct inspection in = three;
        in.seen[f] = true;
        struct history h = history_weigh(arena, &in, HISTORY_UNUSED, NULL, false);
        bool used = inspection_finding((enum finding)f)->bearing == BEARING_USED;
        assert_int_equal(h.evidence == HISTORY_TELLS_OF_USE, used);
    }
}

static void a_claim_stands_beside_its_evidence_on_somebodys_word(void **state)
{
    (void)state;
    struct history h = weigh(THREE, HISTORY_UNUSED, "the seller");
    assert_int_equal(h.standing, HISTORY_SUPPORTED);
    assert_string_equal(h.text, "said to be unused, on the word of: the seller; pins, getter and "
                                "base with label together fit an unused tube");
    h = weigh("pins=worn", HISTORY_UNUSED, NULL);
    assert_int_equal(h.standing, HISTORY_CONTRADICTED);
    assert_string_equal(h.text, "said to be unused; the look tells of use");
    h = weigh("pins=worn", HISTORY_USED, "us");
    assert_int_equal(h.standing, HISTORY_SUPPORTED);
    h = weigh(THREE, HISTORY_USED, "us"); /* a used tube may look new */
    assert_int_equal(h.standing, HISTORY_OPEN);
    h = weigh(THREE, HISTORY_UNKNOWN, NULL);
    assert_int_equal(h.standing, HISTORY_UNCLAIMED);
    assert_string_equal(h.text, "nothing is claimed; pins, getter and base with label together fit "
                                "an unused tube");
}

static void evidence_is_listed_for_against_of_doubt_and_what_was_not_looked_at(void **state)
{
    (void)state;
    struct history h =
        weigh("pins=dull; label=faded+relabelled; plate=slight; box=suspected", HISTORY_UNUSED, "");
    static const struct {
        enum bearing bearing;
        const char *text;
    } items[] = {{BEARING_UNUSED, "pins: dulled by air"},
                 {BEARING_USED, "heat marks: slight"},
                 {BEARING_DOUBT, "label: signs of relabelling"},
                 {BEARING_DOUBT, "box: suspected to be false"},
                 {BEARING_NEUTRAL, "label: faded"},
                 {BEARING_NEUTRAL, "getter flash: not looked at"},
                 {BEARING_NEUTRAL, "getter edge: not looked at"},
                 {BEARING_NEUTRAL, "base: not looked at"}};
    assert_int_equal(h.count, ARRAY_LEN(items));
    for (size_t i = 0; i < h.count; i++) {
        assert_int_equal(h.items[i].bearing, items[i].bearing);
        assert_string_equal(h.items[i].text, items[i].text);
    }
}

static void an_unknown_claim_is_refused(void **state)
{
    (void)state;
    enum history_claim c = HISTORY_USED;
    struct err e = ERR_INIT;
    assert_false(history_claim_find(&c, "new", 3, &e));
    assert_string_equal(e.text, "\"new\" is no claim about history: say unused, used or unknown");
    assert_int_equal(c, HISTORY_USED);
    for (int i = 0; i < HISTORY_CLAIM__COUNT; i++) {
        const char *code = history_claim_code((enum history_claim)i);
        assert_true(history_claim_find(&c, code, strlen(code), &e));
        assert_int_equal(c, i);
    }
}

/* ---- features -----------------------------------------------------------------------------------
 */
static const struct feature claimed[] = {{"getter-holder", "D"},
                                         {"getter-holder", "square"},
                                         {"plates", "long, grey"},
                                         {"seams", "three"}};

static void features_are_compared_kind_by_kind_and_differences_come_first(void **state)
{
    (void)state;
    static const struct feature seen[] = {
        {"etch", "K8"}, {"Getter-Holder", "Square"}, {"plates", "short, black"}};
    struct feature_result r;
    struct err e = ERR_INIT;
    assert_true(feature_compare(&r, arena, claimed, 4, seen, 3, &e));
    assert_true(r.mismatch);
    static const struct {
        const char *kind, *verdict, *text;
    } rows[] = {
        {"plates", "differs", "plates is short, black, but long, grey is claimed"},
        {"getter-holder", "agrees", "getter-holder is Square, as claimed"},
        {"seams", "unseen", "seams was not looked at; three is claimed"},
        {"etch", "unclaimed", "etch is K8; nothing is claimed of it"},
    };
    assert_int_equal(r.count, ARRAY_LEN(rows));
    for (size_t i = 0; i < r.count; i++) {
        assert_string_equal(r.rows[i].kind, rows[i].kind);
        assert_string_equal(feature_verdict_code(r.rows[i].verdict), rows[i].verdict);
        assert_string_equal(r.rows[i].text, rows[i].text);
    }
}

static void what_one_side_does_not_tell_is_no_mismatch(void **state)
{
    (void)state;
    struct feature_result r;
    struct err e = ERR_INIT;
    assert_true(feature_compare(&r, arena, claimed, 4, NULL, 0, &e));
    assert_false(r.mismatch);
    assert_int_equal(r.count, 3);
    assert_true(feature_compare(&r, arena, NULL, 0, claimed + 2, 2, &e));
    assert_false(r.mismatch);
    assert_true(feature_compare(&r, arena, NULL, 0, NULL, 0, &e));
    assert_int_equal(r.count, 0);
}

static void features_that_make_no_sense_are_refused(void **state)
{
    (void)state;
    struct feature_result r = {.count = 77};
    struct err e = ERR_INIT;
    assert_false(feature_compare(&r, arena, claimed, 4, claimed, 2, &e));
    assert_string_equal(e.text, "two values are noted, \"D\" and \"square\": note one of them");
    assert_string_equal(e.field, "getter-holder");
    static const struct feature empty[] = {{"plates", ""}}, nameless[] = {{"", "grey"}};
    assert_false(feature_compare(&r, arena, claimed, 4, empty, 1, &e));
    assert_string_equal(e.text, "plates is observed, but not what it is");
    assert_false(feature_compare(&r, arena, nameless, 1, NULL, 0, &e));
    assert_string_equal(e.text, "feature 1 that is claimed has no name");
    assert_false(feature_compare(&r, arena, claimed, FEATURE_MAX + 1, NULL, 0, &e));
    assert_int_equal(e.code, ERR_TOO_LARGE);
    assert_int_equal(r.count, 77);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_unused_tube_is_told_by_three_things_together),
        cmocka_unit_test(dull_pins_a_single_test_and_a_faded_print_do_not_speak_against_it),
        cmocka_unit_test(a_pale_line_at_the_getter_or_worn_pins_tell_of_use_whatever_else_fits),
        cmocka_unit_test(a_box_never_decides_alone),
        cmocka_unit_test(every_finding_on_pins_getter_base_or_label_is_weighed_the_same_way),
        cmocka_unit_test(a_claim_stands_beside_its_evidence_on_somebodys_word),
        cmocka_unit_test(evidence_is_listed_for_against_of_doubt_and_what_was_not_looked_at),
        cmocka_unit_test(an_unknown_claim_is_refused),
        cmocka_unit_test(features_are_compared_kind_by_kind_and_differences_come_first),
        cmocka_unit_test(what_one_side_does_not_tell_is_no_mismatch),
        cmocka_unit_test(features_that_make_no_sense_are_refused),
    };
    return cmocka_run_group_tests_name("history", tests, set_up, tear_down);
}
