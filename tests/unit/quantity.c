/* SPDX-License-Identifier: MIT */
#include "measure/quantity.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

static void typed_values_become_exact_and_scaled(void **state)
{
    (void)state;
    /* 1 mA/V = 1 mS = 1000 micromho (test-practice, units; Radiotron Designer's Handbook 4th ed.)
     */
    static const struct {
        const char *code, *text, *default_unit;
        int64_t mantissa;
        int decimals;
        int64_t scaled;
    } row[] = {
        {"gm", "5200 micromho", NULL, 5200, 3, 5200},
        {"gm", "5.2 mA/V", NULL, 52, 1, 5200},
        {"gm", "5,2", NULL, 52, 1, 5200},
        {"gm", "5.2", "", 52, 1, 5200},
        {"gm", " 5.20mA/V ", "micromho", 520, 2, 5200},
        {"gm", "5200", "micromho", 5200, 3, 5200},
        {"gm", "5.2 mS", NULL, 52, 1, 5200},
        {"gm", "0", NULL, 0, 0, 0},
        {"gm", "5200", NULL, 5200, 0, 5200000}, /* a slip of the unit is asked about, not refused */
        {"gm", "1.2345", NULL, 12345, 4, 1234}, /* half to even */
        {"gm", "1.2355", NULL, 12355, 4, 1236},
        {"ia", "0.0105 A", NULL, 105, 1, 10500},
        {"ia", "950 uA", NULL, 950, 3, 950},
        {"heater", "0.3 A", NULL, 3, -2, 3000},
        {"heater", "150", NULL, 150, 0, 1500},
        {"rp", "62500 ohm", NULL, 62500, 3, 62500},
        {"rp", "0.0627 Mohm", NULL, 627, 1, 62700},
        {"mu", "100", NULL, 100, 0, 10000},
        {"ig", "-0.4", NULL, -4, 1, -400},
        {"noise-db", "-73.5 dB", NULL, -735, 1, -735},
        {"noise-ear", "Faint", NULL, 1, 0, 1},
        {"noise-ear", " 3 ", NULL, 3, 0, 3},
        {"share", "92 %", NULL, 92, 0, 920},
        {"meter", "6.5", NULL, 65, 1, 650},
    };
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        struct quantity_value v;
        struct err e = ERR_INIT;
        const struct quantity *q = quantity_find(row[i].code);
        assert_non_null(q);
        if (!quantity_value_parse(&v, q, row[i].text, strlen(row[i].text), row[i].default_unit, &e))
            fail_msg("%s \"%s\": %s", row[i].code, row[i].text, e.text);
        assert_int_equal(v.scaled, row[i].scaled);
        assert_int_equal(v.exact.mantissa, row[i].mantissa);
        assert_int_equal(v.exact.decimals, row[i].decimals);
    }
}

static void refusals_name_the_quantity_and_say_what_would_be_right(void **state)
{
    (void)state;
    static const struct {
        const char *code, *text;
        enum err_code err;
        const char *says;
    } row[] = {
        {"gm", "", ERR_INVALID, ""},
        {"gm", "strong", ERR_INVALID, ""},
        {"gm", "5.2 mA", ERR_INVALID, "mA"},
        {"gm", "5.2 furlong", ERR_INVALID, "furlong"},
        {"gm", "-5.2", ERR_INVALID, "cannot be below zero, but \"-5.2\" came"},
        {"gm", "-0.00001", ERR_INVALID, "cannot be below zero"},
        {"heater", "-0.3 A", ERR_INVALID, "heater current cannot be below zero"},
        {"gm", "5200 A/V", ERR_TOO_LARGE, "no tube has a transconductance"},
        {"ia", "50000 A", ERR_TOO_LARGE, "cannot be above 1000000.000 mA"},
        {"noise-db", "-2000", ERR_TOO_LARGE, "cannot be below -300.0 dB"},
        {"gm", "0.000000000000005 micromho", ERR_INVALID, "decimals"},
        {"noise-ear", "rustling", ERR_INVALID, "silent|faint|audible|loud"},
        {"noise-ear", "4", ERR_INVALID, "0 to 3"},
        {"noise-ear", "", ERR_INVALID, "no step"},
    };
    for (size_t i = 0; i < ARRAY_LEN(row); i++) {
        struct quantity_value v = {.scaled = 77};
        struct err e = ERR_INIT;
        if (quantity_value_parse(&v, quantity_find(row[i].code), row[i].text, strlen(row[i].text),
                                 NULL, &e))
            fail_msg("%s \"%s\" was taken", row[i].code, row[i].text);
        assert_string_equal(e.field, row[i].code);
        if (e.code != row[i].err || strstr(e.text, row[i].says) == NULL)
            fail_msg("%s \"%s\": code %d: %s", row[i].code, row[i].text, (int)e.code, e.text);
        assert_int_equal(v.scaled, 77);
    }
    char longest[300];
    memset(longest, '5', sizeof longest);
    struct quantity_value v;
    struct err e = ERR_INIT;
    assert_false(quantity_value_parse(&v, quantity_find("gm"), longest, sizeof longest, NULL, &e));
    assert_non_null(strstr(e.text, "300 bytes"));
    assert_false(quantity_value_parse(&v, quantity_find("gm"), "5\0002", 3, NULL, &e));
    assert_non_null(strstr(e.text, "NUL"));
}

static void built_in_rows_are_sorted_sound_and_found(void **state)
{
    (void)state;
    size_t count;
    const struct quantity *q = quantity_builtin(&count);
    assert_true(count > 20);
    for (size_t i = 0; i < count; i++) {
        struct err e = ERR_INIT;
        if (!quantity_check(&q[i], &e))
            fail_msg("%s: %s: %s", q[i].code, e.field, e.text);
        if (i > 0)
            assert_true(strcmp(q[i - 1].code, q[i].code) < 0);
        assert_ptr_equal(quantity_find(q[i].code), &q[i]);
    }
    assert_null(quantity_find("wattage"));
}

static void check_refuses_rows_that_make_no_sense(void **state)
{
    (void)state;
    const struct quantity good = *quantity_find("gm");
    const struct quantity word = *quantity_find("noise-ear");
    struct quantity bad[13];
    const char *field[] = {"code", "code",     "name",  "unit", "decimals", "least", "usual_least",
                           "unit", "decimals", "steps", "name", "name",     "steps"};
    for (size_t i = 0; i < ARRAY_LEN(bad); i++)
        bad[i] = i < 7 ? good : word;
    bad[0].code = "Gm!";
    bad[1].code = "a-code-of-far-too-many-letters";
    bad[2].name = "";
    bad[3].unit = "furlong";
    bad[4].decimals = 10;
    bad[5].least = bad[5].most + 1;
    bad[6].usual_least = bad[6].usual_most + 1;
    bad[7].unit = "mA";
    bad[8].decimals = 1;
    bad[9].steps = "good||bad";
    char longest[200];
    memset(longest, 'n', sizeof longest);
    longest[81] = '\0';
    bad[10] = bad[11] = good;
    bad[10].name = longest;
    bad[11].name = "noise\n";
    char steps[200];
    memset(steps, 's', sizeof steps);
    steps[80] = '|';
    steps[161] = '\0';
    bad[12].steps = steps;
    for (size_t i = 0; i < ARRAY_LEN(bad); i++) {
        struct err e = ERR_INIT;
        assert_false(quantity_check(&bad[i], &e));
        assert_string_equal(e.field, field[i]);
    }
}

static void values_print_with_their_unit_or_word(void **state)
{
    (void)state;
    char buf[QUANTITY_PRINT_BYTES];
    assert_string_equal(quantity_value_print(buf, quantity_find("gm"), 5200), "5.200 mA/V");
    assert_string_equal(quantity_value_print(buf, quantity_find("mu"), 1685), "16.85");
    assert_string_equal(quantity_value_print(buf, quantity_find("noise-ear"), 2), "audible");
    assert_string_equal(quantity_value_print(buf, quantity_find("noise-ear"), 9), "step 9");
    assert_true(quantity_value_real(quantity_find("gm"), 5200) == 5.2);
    assert_int_equal(quantity_step_count(quantity_find("noise-ear")), 4);
    assert_int_equal(quantity_step_count(quantity_find("gm")), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(typed_values_become_exact_and_scaled),
        cmocka_unit_test(refusals_name_the_quantity_and_say_what_would_be_right),
        cmocka_unit_test(built_in_rows_are_sorted_sound_and_found),
        cmocka_unit_test(check_refuses_rows_that_make_no_sense),
        cmocka_unit_test(values_print_with_their_unit_or_word),
    };
    return cmocka_run_group_tests_name("quantity", tests, NULL, NULL);
}
