/* SPDX-License-Identifier: MIT
 *
 * Pins: the notation (seed-data/catalogue/README.md says it), and what happens when one tube sits
 * in another's socket.  Base orders named 9A, 9AJ, 8BD ... are those of the receiving tube
 * handbooks, as in types.csv.
 */
#include "catalogue/pins.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>
#include <cmocka.h>

static struct pinout read_pins(const char *text, const char *base)
{
    struct pinout p;
    struct err e = ERR_INIT;
    if (!pinout_parse(&p, text, base ? base_find(base) : NULL, &e))
        fail_msg("%s", e.text);
    return p;
}

static void the_notation_is_read_pin_by_pin(void **state)
{
    (void)state;
    struct pinout p = read_pins("2=h;3=k,bp;5=g1;7=h;8=g2.p;tc=a", "octal");
    char buf[PINS_PRINT_BYTES];
    assert_int_equal(p.count, 6);
    assert_int_equal(pinout_pin(&p, 3)->count, 2);
    assert_int_equal(pinout_pin(&p, 3)->on[1].electrode, ELECTRODE_BP);
    assert_int_equal(pinout_pin(&p, 8)->on[0].section, 'p');
    assert_int_equal(pinout_pin(&p, PIN_TOP_CAP)->on[0].electrode, ELECTRODE_A);
    assert_null(pinout_pin(&p, 1)); /* not stated is not the same as not connected */
    assert_true(pinout_has(&p, ELECTRODE_G2));
    assert_false(pinout_has(&p, ELECTRODE_G3));
    assert_string_equal(pins_print(buf, &p, ELECTRODE_H), "2, 7");
    assert_string_equal(pins_print(buf, &p, ELECTRODE_A), "cap");
    assert_string_equal(pins_print(buf, &p, ELECTRODE_NC), "none");
    assert_int_equal(read_pins("", NULL).count, 0);
}

static void a_wrong_notation_is_refused_at_its_place(void **state)
{
    (void)state;
    static const struct {
        const char *text, *base;
        int64_t at;
        const char *says;
    } cases[] = {
        {"x", NULL, 0, "\"=\""},           {"1=", NULL, 2, "electrode"},
        {"1=a;", NULL, 3, "the end"},      {"1=a;;2=k", NULL, 4, "\"=\""},
        {"1=a.9", NULL, 3, "section"},     {"1=a,g1,g2,g3,k", NULL, 13, "more electrodes"},
        {"1=a;1=k", NULL, 4, "twice"},     {"9=a", "octal", 0, "octal"},
        {"0=a", NULL, 0, "1 to 16"},       {"1=A", NULL, 2, "electrode"},
        {"1=a 2=k", NULL, 2, "electrode"},
    };
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        struct pinout p = {.count = 7};
        struct err e = ERR_INIT;
        assert_false(
            pinout_parse(&p, cases[i].text, cases[i].base ? base_find(cases[i].base) : NULL, &e));
        assert_int_equal(p.count, 7);
        if (e.at != cases[i].at || !strstr(e.text, cases[i].says))
            fail_msg("\"%s\": at %d: %s", cases[i].text, (int)e.at, e.text);
    }
}

/* The gravest risk of one pinout in the place of another, and what is said of `pin`. */
static enum pin_risk gravest(const char *old, const char *new, int pin, const char *says)
{
    struct pinout a = read_pins(old, NULL), b = read_pins(new, NULL);
    struct pin_change change[PINOUT_PINS];
    enum pin_risk worst = PIN_HARMLESS;
    bool said = !says;
    size_t n = pinout_changes(change, ARRAY_LEN(change), &a, &b);
    for (size_t i = 0; i < n; i++) {
        worst = change[i].risk > worst ? change[i].risk : worst;
        said = said || (change[i].number == pin && strstr(change[i].text, says));
    }
    assert_true(said);
    return worst;
}

static const char us_9a[] = "1=a.2;2=g1.2;3=k.2;4=h;5=h;6=a.1;7=g1.1;8=k.1;9=hct";
static const char us_9aj[] = "1=a.2;2=g1.2;3=k.2;4=h;5=h;6=a.1;7=g1.1;8=k.1;9=s";
static const char gost_9aj[] = "1=a.1;2=g1.1;3=k.1;4=h;5=h;6=a.2;7=g1.2;8=k.2;9=s";

static void only_which_pins_belong_together_counts_not_the_section_number(void **state)
{
    (void)state;
    assert_int_equal(gravest(us_9aj, gost_9aj, 0, NULL), PIN_HARMLESS);
    assert_int_equal(
        gravest(us_9aj, "1=a.2;2=g1.1;3=k.2;4=h;5=h;6=a.1;7=g1.2;8=k.1;9=s", 2, "other section"),
        PIN_WRONG);
}

static void an_electrode_that_meets_another_circuit_is_wrong(void **state)
{
    (void)state;
    assert_int_equal(gravest(us_9a, us_9aj, 9, "hct becomes s"), PIN_WRONG);
    assert_int_equal(gravest("1=a;2=k", "1=k;2=a", 1, "a becomes k"), PIN_WRONG);
    assert_int_equal(gravest("1=a;2=k;3=s", "1=a;2=k;3=h", 3, "s becomes h"), PIN_WRONG);
    assert_int_equal(gravest("1=a;2=g1;3=k", "1=a;2=nc;3=k", 2, "g1 becomes nc"), PIN_WRONG);
}

static void what_needs_only_a_look_or_a_wire_is_work(void **state)
{
    (void)state;
    /* g3 newly brought out on a free pin, or no longer brought out */
    assert_int_equal(gravest("1=nc;8=k,bp", "1=g3;8=k", 1, "nc becomes g3"), PIN_WORK);
    assert_int_equal(gravest("1=g3;8=k", "1=nc;8=k,bp", 1, "g3 becomes nc"), PIN_WORK);
    /* one of two anode pins not used any more */
    assert_int_equal(gravest("1=a;5=a;7=k", "1=nc;5=a;7=k", 1, "a becomes nc"), PIN_WORK);
    /* a filament end taken as cathode, and an indirectly heated tube in its place */
    assert_int_equal(gravest("2=f;4=a;8=f", "2=h;4=a;8=h,k", 2, "f becomes h"), PIN_WORK);
}

static void shells_and_screens_alone_are_harmless(void **state)
{
    (void)state;
    assert_int_equal(gravest("1=nc;3=a;8=k", "1=sh;3=a;8=k", 0, NULL), PIN_HARMLESS);
    assert_int_equal(gravest("1=bs;3=a;8=k,bp", "1=nc;3=a;8=k", 0, NULL), PIN_HARMLESS);
    assert_int_equal(gravest("3=a;8=k,g3", "3=a;8=k,g3,s", 0, NULL), PIN_HARMLESS);
}

static void a_cap_counts_as_a_pin(void **state)
{
    (void)state;
    assert_int_equal(gravest("3=a;5=g1;8=k", "5=g1;8=k;tc=a", 3, "a becomes not stated"),
                     PIN_WRONG);
}

static void bases_that_share_a_socket_say_so(void **state)
{
    (void)state;
    assert_int_equal(base_find("UX4")->socket, base_find("UX4 (bayonet pin)")->socket);
    assert_int_not_equal(base_find("octal")->socket, base_find("loctal B8B")->socket);
    assert_int_equal(base_find("noval B9A")->pins, 9);
    assert_null(base_find("Octal"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_notation_is_read_pin_by_pin),
        cmocka_unit_test(a_wrong_notation_is_refused_at_its_place),
        cmocka_unit_test(only_which_pins_belong_together_counts_not_the_section_number),
        cmocka_unit_test(an_electrode_that_meets_another_circuit_is_wrong),
        cmocka_unit_test(what_needs_only_a_look_or_a_wire_is_work),
        cmocka_unit_test(shells_and_screens_alone_are_harmless),
        cmocka_unit_test(a_cap_counts_as_a_pin),
        cmocka_unit_test(bases_that_share_a_socket_say_so),
    };
    return cmocka_run_group_tests_name("pins", tests, NULL, NULL);
}
