/* SPDX-License-Identifier: MIT
 *
 * The vocabulary of the inspection.  What the findings bear on is common practice of the trade, no
 * source, except where the row's own source says otherwise.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "grade/inspection.h"

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

static struct inspection look(const char *text)
{
    struct inspection in;
    struct err e = ERR_INIT;
    if (!inspection_parse(&in, text, strlen(text), &e))
        fail_msg("%s: %s", text, e.text);
    return in;
}

static void refused(const char *text, const char *field, const char *why)
{
    struct inspection in = {.seen = {[FINDING_PINS_WORN] = true}}, before = in;
    struct err e = ERR_INIT;
    assert_false(inspection_parse(&in, text, strlen(text), &e));
    assert_int_equal(e.code, ERR_INVALID);
    assert_string_equal(e.text, why);
    assert_string_equal(e.field, field);
    assert_memory_equal(&in, &before, sizeof in);
}

static enum bearing bearing(const char *aspect, const char *code)
{
    enum aspect a;
    enum finding f;
    struct err e = ERR_INIT;
    assert_true(inspection_aspect_find(&a, aspect, strlen(aspect), &e));
    assert_true(inspection_finding_find(&f, a, code, strlen(code), &e));
    return inspection_finding(f)->bearing;
}

static void the_table_groups_the_findings_by_aspect_and_codes_are_unique(void **state)
{
    (void)state;
    int next = 0;
    for (int a = 0; a < ASPECT__COUNT; a++) {
        assert_int_equal(inspection_first((enum aspect)a), next);
        next += inspection_count((enum aspect)a);
        assert_true(inspection_count((enum aspect)a) >= 3);
    }
    assert_int_equal(next, FINDING__COUNT);
    for (int f = 0; f < FINDING__COUNT; f++) {
        const struct inspection_finding *row = inspection_finding((enum finding)f);
        enum finding found;
        struct err e = ERR_INIT;
        assert_true(inspection_finding_find(&found, row->aspect, row->code, strlen(row->code), &e));
        assert_int_equal(found, f);
        assert_true(row->words[0] && row->source[0]);
        assert_int_equal(strcspn(row->code, "+,;=: \t"), strlen(row->code));
    }
}

static void facts_of_the_trade_are_held(void **state)
{
    (void)state;
    assert_int_equal(bearing("pins", "bright"), BEARING_UNUSED);
    assert_int_equal(bearing("pins", "dull"), BEARING_UNUSED);        /* decades of air dull them */
    assert_int_equal(bearing("pins", "cleaned"), BEARING_NEUTRAL);    /* they can be brushed up */
    assert_int_equal(bearing("pins", "single-test"), BEARING_UNUSED); /* a test is no use */
    assert_int_equal(bearing("pins", "worn"), BEARING_USED);
    assert_int_equal(bearing("pins", "solder"), BEARING_USED);
    assert_int_equal(bearing("getter", "full"), BEARING_UNUSED);
    assert_int_equal(bearing("getter", "half"), BEARING_NEUTRAL); /* new tubes vary */
    assert_int_equal(bearing("getter", "tinted"), BEARING_NEUTRAL);
    assert_int_equal(bearing("getter_edge", "receding"), BEARING_USED);
    assert_int_equal(bearing("plate", "brown"), BEARING_USED);
    assert_int_equal(bearing("label", "faded"), BEARING_NEUTRAL);
    assert_int_equal(bearing("label", "relabelled"), BEARING_DOUBT);
    assert_int_equal(bearing("glass", "moulding"), BEARING_NEUTRAL);
    assert_int_equal(bearing("box", "original"), BEARING_UNUSED);
    assert_int_equal(bearing("box", "none"), BEARING_NEUTRAL);
    assert_int_equal(bearing("box", "suspected"), BEARING_DOUBT);
}

static void only_white_of_the_getter_can_lower_a_grade_and_box_and_moulding_never_can(void **state)
{
    (void)state;
    for (int f = 0; f < FINDING__COUNT; f++) {
        const struct inspection_finding *row = inspection_finding((enum finding)f);
        bool never = (row->flags & FINDING_NEVER_LOWERS) != 0;
        bool expected = (row->aspect == ASPECT_GETTER && f != FINDING_GETTER_WHITE) ||
                        row->aspect == ASPECT_BOX || f == FINDING_GLASS_MOULDING;
        assert_int_equal(never, expected);
    }
}

static void air_and_cracked_glass_end_the_tube_and_nothing_else_does(void **state)
{
    (void)state;
    enum finding f = FINDING__COUNT;
    struct inspection in = look("pins=bright; getter=white");
    assert_true(inspection_ends(&in, &f));
    assert_int_equal(f, FINDING_GETTER_WHITE);
    in = look("glass=scratched+cracked");
    assert_true(inspection_ends(&in, NULL));
    in = look(
        "pins=worn+bent+broken; getter=none; getter_edge=receding; plate=brown+sagged; "
        "base=loose+key-broken; label=none+relabelled; glass=darkened; cap=missing; loose=part");
    assert_false(inspection_ends(&in, &f));
}

static void a_look_is_read_and_printed_by_its_codes(void **state)
{
    (void)state;
    struct inspection in = look("  label: faded ;getter = full;pins=bent, dull;; base=sound ");
    assert_string_equal(inspection_print_all(arena, &in),
                        "pins=dull+bent; getter=full; base=sound; label=faded");
    assert_string_equal(inspection_words(arena, &in, ASPECT_PINS), "dulled by air, bent");
    assert_string_equal(inspection_words(arena, &in, ASPECT_BOX), "not looked at");
    assert_string_equal(inspection_print(arena, &in, ASPECT_BOX), "");
    assert_true(inspection_looked(&in, ASPECT_PINS));
    assert_false(inspection_looked(&in, ASPECT_BOX));
    struct inspection nothing = look("");
    assert_string_equal(inspection_print_all(arena, &nothing), "");
}

static void one_aspect_is_replaced_as_a_whole(void **state)
{
    (void)state;
    struct inspection in = look("pins=worn+bent; getter=full");
    struct err e = ERR_INIT;
    assert_true(inspection_read(&in, ASPECT_PINS, "single-test", 11, &e));
    assert_string_equal(inspection_print_all(arena, &in), "pins=single-test; getter=full");
    assert_true(inspection_read(&in, ASPECT_PINS, "", 0, &e));
    assert_string_equal(inspection_print_all(arena, &in), "getter=full");
}

static void what_is_not_in_the_vocabulary_is_refused_with_what_is(void **state)
{
    (void)state;
    refused(
        "pin=dull", "",
        "\"pin\" is no part of an inspection: there are pins, getter, getter_edge, plate, base, "
        "label, glass, cap, loose, box");
    refused(
        "pins=shiny", "pins",
        "\"shiny\" is not a finding on the pins: choose bright, dull, single-test, cleaned, worn, "
        "solder, bent, broken");
    refused("box=suspected false", "box",
            "\"false\" is not a finding on the box: choose original, other, none, suspected");
    refused("pins dull", "",
            "\"pins dull\" does not say what was seen: write it like \"pins=dull\"");
    refused("pins=dull; pins=bent", "pins", "pins stands twice: join its findings with +");
    refused("pins=dull; base= ", "base",
            "base has no finding: leave it out where it was not looked at");
}

static void findings_that_contradict_each_other_are_refused(void **state)
{
    (void)state;
    refused("pins=bright+dull", "pins",
            "pins cannot be both \"bright\" and \"dull\": note one of them");
    refused("getter=full+white", "getter",
            "getter flash cannot be both \"full\" and \"white\": note one of them");
    refused("base=sound+cracked", "base",
            "base cannot be both \"sound\" and \"cracked\": note one of them");
    refused("loose=none+rattle", "loose",
            "loose parts cannot be both \"none\" and \"rattle\": note one of them");
    refused("box=original+suspected", "box",
            "box cannot be both \"original\" and \"suspected\": note one of them");
    struct inspection in = {.seen = {[FINDING_CAP_NONE] = true, [FINDING_CAP_LOOSE] = true}};
    struct err e = ERR_INIT;
    assert_false(inspection_check(&in, &e));
    assert_string_equal(e.text, "top cap cannot be both \"none\" and \"loose\": note one of them");
    in = look("glass=sound+moulding; pins=bright+worn+solder+bent; label=none+relabelled; "
              "getter=half+tinted");
    assert_true(inspection_check(&in, &e));
}

static void the_longest_message_still_names_every_choice(void **state)
{
    (void)state;
    char text[400] = "pins=";
    memset(text + 5, 'q', 300);
    struct inspection in = {0};
    struct err e = ERR_INIT;
    assert_false(inspection_parse(&in, text, strlen(text), &e));
    assert_non_null(strstr(e.text, "choose bright, dull, single-test, cleaned, worn, solder, bent, "
                                   "broken"));
    for (int i = 0; i < 300; i++)
        text[5 + i] = '\x01';
    assert_false(inspection_parse(&in, text, strlen(text), &e));
    assert_non_null(strstr(e.text, "solder, bent, broken"));
    assert_false(inspection_parse(&in, text + 5, strlen(text + 5), &e));
    assert_true(strlen(e.text) < sizeof e.text - 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_table_groups_the_findings_by_aspect_and_codes_are_unique),
        cmocka_unit_test(facts_of_the_trade_are_held),
        cmocka_unit_test(only_white_of_the_getter_can_lower_a_grade_and_box_and_moulding_never_can),
        cmocka_unit_test(air_and_cracked_glass_end_the_tube_and_nothing_else_does),
        cmocka_unit_test(a_look_is_read_and_printed_by_its_codes),
        cmocka_unit_test(one_aspect_is_replaced_as_a_whole),
        cmocka_unit_test(what_is_not_in_the_vocabulary_is_refused_with_what_is),
        cmocka_unit_test(findings_that_contradict_each_other_are_refused),
        cmocka_unit_test(the_longest_message_still_names_every_choice),
    };
    return cmocka_run_group_tests_name("inspection", tests, set_up, tear_down);
}
