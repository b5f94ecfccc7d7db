/* SPDX-License-Identifier: MIT
 *
 * One type in the place of another.  The facts are common practice (no source) or the rows of the
 * bundled catalogue themselves; made-up types test what the catalogue has no example of.
 */
#include "bundled_catalogue.h"

#include "catalogue/compare.h"

static int make(void **state)
{
    *state = bundled_catalogue();
    return 0;
}

static int unmake(void **state)
{
    catalogue_free(*state);
    return 0;
}

static const struct type *named(const struct catalogue *c, const char *designation)
{
    int i = catalogue_find(c, designation);
    if (i < 0)
        fail_msg("%s is not in the catalogue", designation);
    return catalogue_type(c, i);
}

static int count_at(const struct comparison *x, enum compare_level level,
                    enum compare_aspect aspect)
{
    int n = 0;
    for (size_t i = 0; i < x->count; i++)
        n += x->difference[i].level == level && x->difference[i].aspect == aspect;
    return n;
}

static bool says(const struct comparison *x, enum compare_level level, const char *text)
{
    for (size_t i = 0; i < x->count; i++)
        if (x->difference[i].level == level && strstr(x->difference[i].text, text))
            return true;
    return false;
}

static struct comparison compare(void **state, const char *old, const char *new)
{
    struct comparison x;
    compare_types(&x, named(*state, old), named(*state, new));
    return x;
}

static void a_tube_in_its_own_place_differs_in_nothing(void **state)
{
    const struct catalogue *c = *state;
    for (int i = 0; i < catalogue_type_count(c); i++) {
        struct comparison x;
        compare_types(&x, catalogue_type(c, i), catalogue_type(c, i));
        assert_int_equal(x.levels[COMPARE_STOP], 0);
        assert_int_equal(x.levels[COMPARE_CHANGE], 0);
        assert_int_equal(x.levels[COMPARE_REMARK], 0);
    }
}

static void a_beam_tube_with_its_anode_on_the_cap_is_no_drop_in(void **state)
{
    struct comparison x = compare(state, "6L6G", "6P7S");
    assert_int_equal(count_at(&x, COMPARE_STOP, ASPECT_CAP), 1);
    assert_true(says(&x, COMPARE_STOP, "its anode on a top cap"));
    assert_true(count_at(&x, COMPARE_STOP, ASPECT_PINS) >= 2);
    x = compare(state, "6P7S", "6L6G");
    assert_int_equal(count_at(&x, COMPARE_STOP, ASPECT_CAP), 1);
}

static void a_twelve_volt_6sn7gt_differs_in_the_heater_alone(void **state)
{
    struct comparison x = compare(state, "6SN7GT", "12SN7GT");
    assert_int_equal(x.levels[COMPARE_STOP], 1);
    assert_int_equal(count_at(&x, COMPARE_STOP, ASPECT_HEATER), 1);
    assert_true(says(&x, COMPARE_STOP, "12.6 V in place of 6.3 V"));
    assert_true(says(&x, COMPARE_CHANGE, "0.3 A in place of 0.6 A"));
    assert_int_equal(x.levels[COMPARE_CHANGE], 1);
    assert_int_equal(x.levels[COMPARE_REMARK], 0);
    assert_int_equal(x.levels[COMPARE_UNKNOWN], 0);
}

static void a_single_triode_is_not_half_of_a_twin(void **state)
{
    struct comparison x = compare(state, "6SN7GT", "6J5GT");
    assert_true(says(&x, COMPARE_STOP, "1 section in one envelope, 6SN7GT has 2"));
    assert_true(count_at(&x, COMPARE_STOP, ASPECT_PINS) > 0);
}

static void the_stronger_type_stands_in_and_the_weaker_one_is_stopped(void **state)
{
    struct comparison x = compare(state, "6L6G", "6L6GC");
    assert_int_equal(x.levels[COMPARE_STOP], 0);
    x = compare(state, "6L6GC", "6L6G");
    assert_true(count_at(&x, COMPARE_STOP, ASPECT_RATING) >= 2);
    assert_true(says(&x, COMPARE_STOP, "360 V in place of 500 V"));
    assert_true(says(&x, COMPARE_STOP, "19 W in place of 30 W"));
    x = compare(state, "6SN7GTB", "6SN7GT");
    assert_true(says(&x, COMPARE_STOP, "300 V in place of 450 V"));
}

static void types_of_one_stem_show_how_their_ratings_differ(void **state)
{
    struct comparison x = compare(state, "6SN7GT", "6SN7GTB");
    assert_int_equal(x.levels[COMPARE_STOP], 0);
    assert_true(says(&x, COMPARE_REMARK, "limit of anode volts 450 V in place of 300 V: higher"));
    assert_true(
        says(&x, COMPARE_REMARK, "limit of anode dissipation 5 W in place of 2.5 W: higher"));
    x = compare(state, "6L6", "6L6GC");
    assert_true(says(&x, COMPARE_REMARK, "limit of anode volts 500 V in place of 360 V: higher"));
    x = compare(state, "6L6GC", "6L6");
    assert_true(says(&x, COMPARE_STOP, "limit of anode volts 360 V in place of 500 V"));
}

static void same_pins_under_other_section_numbers_are_the_same(void **state)
{
    /* US and GOST noval rows number the sections the other way round */
    struct comparison x = compare(state, "6DJ8", "6N23P");
    assert_int_equal(count_at(&x, COMPARE_STOP, ASPECT_PINS), 0);
    assert_int_equal(count_at(&x, COMPARE_CHANGE, ASPECT_PINS), 0);
}

static void a_tapped_heater_and_a_plain_one_do_not_interchange(void **state)
{
    struct comparison x = compare(state, "12AX7", "6N2P");
    assert_true(count_at(&x, COMPARE_STOP, ASPECT_HEATER) >= 1);
    assert_true(says(&x, COMPARE_STOP, "pin 9: hct becomes s"));
    x = compare(state, "12AU7", "5687"); /* the tap is on another pin */
    assert_true(says(&x, COMPARE_STOP, "pin 8"));
    assert_true(says(&x, COMPARE_STOP, "pin 9"));
}

static void a_suppressor_on_its_own_pin_asks_for_a_wire(void **state)
{
    struct comparison x = compare(state, "KT66", "EL34");
    assert_int_equal(count_at(&x, COMPARE_STOP, ASPECT_PINS), 0);
    assert_true(says(&x, COMPARE_CHANGE, "pin 1: nc becomes g3"));
}

static void another_base_is_a_stop_and_another_pin_order_in_the_same_base_too(void **state)
{
    struct comparison x = compare(state, "6V6GT", "6AQ5");
    assert_int_equal(count_at(&x, COMPARE_STOP, ASPECT_BASE), 1);
    x = compare(state, "6V6GT", "7591");
    assert_int_equal(count_at(&x, COMPARE_STOP, ASPECT_BASE), 0);
    assert_true(count_at(&x, COMPARE_STOP, ASPECT_PINS) >= 1);
}

static void bias_and_screen_volts_are_changes(void **state)
{
    struct comparison x = compare(state, "6V6GT", "6K6GT");
    assert_true(says(&x, COMPARE_CHANGE, "bias -18 V in place of -12.5 V"));
    assert_true(says(&x, COMPARE_CHANGE, "plate current 32 mA in place of 45 mA"));
    assert_true(says(&x, COMPARE_CHANGE, "0.4 A in place of 0.45 A"));
    assert_true(says(&x, COMPARE_STOP, "8.5 W in place of 12 W"));
    x = compare(state, "EL84", "6P15P");
    assert_true(says(&x, COMPARE_CHANGE, "screen volts 150 V in place of 250 V"));
}

static void a_direct_heated_rectifier_and_an_indirect_one_differ_by_their_warm_up(void **state)
{
    struct comparison x = compare(state, "5U4G", "5AR4");
    assert_true(says(&x, COMPARE_CHANGE, "warm-up"));
    assert_int_equal(count_at(&x, COMPARE_STOP, ASPECT_PINS), 0);
    assert_true(says(&x, COMPARE_UNKNOWN, "peak inverse volts"));
    x = compare(state, "5U4G", "6X4");
    assert_true(says(&x, COMPARE_STOP, "6.3 V in place of 5 V"));
}

static void another_kind_of_tube_is_a_stop(void **state)
{
    struct comparison x = compare(state, "6AU6", "6C4");
    assert_true(count_at(&x, COMPARE_STOP, ASPECT_KIND) >= 1);
    x = compare(state, "6AQ5", "0A2");
    assert_true(count_at(&x, COMPARE_STOP, ASPECT_KIND) >= 1);
    assert_true(count_at(&x, COMPARE_STOP, ASPECT_HEATER) >= 1);
}

static void what_is_not_known_is_said_for_every_point(void **state)
{
    struct type nothing = type_bare("9X99");
    struct comparison x;
    compare_types(&x, named(*state, "6V6GT"), &nothing);
    assert_int_equal(x.levels[COMPARE_STOP], 0);
    static const enum compare_aspect aspects[] = {
        ASPECT_KIND, ASPECT_HEATER, ASPECT_BASE,          ASPECT_PINS,
        ASPECT_CAP,  ASPECT_RATING, ASPECT_CHARACTERISTIC};
    for (size_t i = 0; i < ARRAY_LEN(aspects); i++)
        assert_true(count_at(&x, COMPARE_UNKNOWN, aspects[i]) >= 1);
    assert_true(says(&x, COMPARE_UNKNOWN, "9X99"));
    assert_true(says(&x, COMPARE_UNKNOWN, "check the data sheet"));
}

static void a_remembered_figure_carries_its_mark(void **state)
{
    struct comparison x = compare(state, "6SN7GT", "12SN7GT"); /* the second row is from memory */
    for (size_t i = 0; i < x.count; i++)
        assert_true(x.difference[i].memory);
    struct type a = *named(*state, "300B"), b = a; /* its heater was read */
    b.heater_mv = 6300;
    compare_types(&x, &a, &b);
    assert_int_equal(x.levels[COMPARE_STOP], 1);
    assert_false(x.difference[0].memory);
}

static void swapped_pins_between_the_sections_are_found(void **state)
{
    struct type a = *named(*state, "6SN7GT"), b = a;
    struct comparison x;
    /* grid 1 of the one section beside the anode of the other: every electrode is still on its pin
     */
    assert_true(
        pinout_parse(&b.pins, "1=g1.1;2=a.2;3=k.2;4=g1.2;5=a.1;6=k.1;7=h;8=h", b.known, NULL));
    compare_types(&x, &a, &b);
    assert_true(says(&x, COMPARE_STOP, "of the other section"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_tube_in_its_own_place_differs_in_nothing),
        cmocka_unit_test(a_beam_tube_with_its_anode_on_the_cap_is_no_drop_in),
        cmocka_unit_test(a_twelve_volt_6sn7gt_differs_in_the_heater_alone),
        cmocka_unit_test(a_single_triode_is_not_half_of_a_twin),
        cmocka_unit_test(the_stronger_type_stands_in_and_the_weaker_one_is_stopped),
        cmocka_unit_test(types_of_one_stem_show_how_their_ratings_differ),
        cmocka_unit_test(same_pins_under_other_section_numbers_are_the_same),
        cmocka_unit_test(a_tapped_heater_and_a_plain_one_do_not_interchange),
        cmocka_unit_test(a_suppressor_on_its_own_pin_asks_for_a_wire),
        cmocka_unit_test(another_base_is_a_stop_and_another_pin_order_in_the_same_base_too),
        cmocka_unit_test(bias_and_screen_volts_are_changes),
        cmocka_unit_test(a_direct_heated_rectifier_and_an_indirect_one_differ_by_their_warm_up),
        cmocka_unit_test(another_kind_of_tube_is_a_stop),
        cmocka_unit_test(what_is_not_known_is_said_for_every_point),
        cmocka_unit_test(a_remembered_figure_carries_its_mark),
        cmocka_unit_test(swapped_pins_between_the_sections_are_found),
    };
    return cmocka_run_group_tests_name("compare", tests, make, unmake);
}
