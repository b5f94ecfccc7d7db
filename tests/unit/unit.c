/* SPDX-License-Identifier: MIT
 *
 * Factors: SI Brochure, 9th edition, table 7 (prefixes); NIST SP 811 (2008), appendix B (mho = S).
 * Spellings: common practice of data sheets and tester scales; Cyrillic ones GOST 8.417 (from
 * memory).
 */
#include "base/decimal.h"
#include "base/unit.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

static void unknown_units_are_refused_with_what_is_known(void **state)
{
    (void)state;
    static const struct {
        const char *name, *says;
    } rows[] = {
        {"furlong", "\"furlong\" is not known; known are V, uV, mV, kV, A, mA, uA, mA/V,"},
        {"MA", "m is milli and M is mega; \"mA\" would be known"},
        {"MV", "\"mV\" would be known"},
        {"MMHO", "\"mmho\" would be known"},
        {"mohm", "\"Mohm\" would be known"},
        {"m\xCE\xA9", "\"Mohm\" would be known"},
        {"MS", "\"mS\" would be known"},
        {"m", "is not known"},
        {"A/", "is not known"},
        {"V A", "is not known"},
        {"uAA", "is not known"},
        {"\xC2\xB5", "is not known"},
        {"\xFF\n", "\"\\xFF\\x0A\" is not known"},
        {"a name far too long to be the name of any unit there is", "..."},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct err e = ERR_INIT;
        const struct unit *u = NULL;
        if (unit_find(&u, rows[i].name, &e))
            fail_msg("'%s' was taken for '%s'", rows[i].name, u->name);
        assert_null(u);
        assert_int_equal(e.code, ERR_INVALID);
        if (!strstr(e.text, rows[i].says))
            fail_msg("'%s' ought to say '%s' but says: %s", rows[i].name, rows[i].says, e.text);
    }
}

static void units_are_found_by_their_customary_spellings(void **state)
{
    (void)state;
    static const struct {
        const char *spellings[12], *name;
        enum dimension dimension;
        int exp10;
    } rows[] = {
        {{"", " "}, "", DIM_NONE, 0},
        {{"V", "v", "volt", "Volts", "В"}, "V", DIM_VOLT, 0},
        {{"uV", "µV", "μV", "microvolts", "мкВ"}, "uV", DIM_VOLT, -6},
        {{"mV", "mv", "millivolts", "мВ"}, "mV", DIM_VOLT, -3},
        {{"kV", "KV", "kv", "kilovolt", "кВ"}, "kV", DIM_VOLT, 3},
        {{"A", "a", "amp", "Amperes", "А"}, "A", DIM_AMPERE, 0},
        {{"mA", "ma", "milliamps", "Milliamperes", "MILLIAMPS", "мА", " mA "},
         "mA",
         DIM_AMPERE,
         -3},
        {{"uA", "UA",
          "\xC2\xB5"
          "A",
          "\xCE\xBC"
          "A",
          "microamps", "мкА"},
         "uA",
         DIM_AMPERE,
         -6},
        {{"mA/V", "ma/v", "mA / V", "mA/\xC2\xA0V", "мА/В"}, "mA/V", DIM_SIEMENS, -3},
        {{"A/V", "a/v", "А/В"}, "A/V", DIM_SIEMENS, 0},
        {{"uA/V",
          "\xC2\xB5"
          "A/V",
          "\xCE\xBC"
          "A/V"},
         "uA/V",
         DIM_SIEMENS,
         -6},
        {{"S", "siemens"}, "S", DIM_SIEMENS, 0},
        {{"mS", "millisiemens"}, "mS", DIM_SIEMENS, -3},
        {{"uS", "\xC2\xB5S", "\xCE\xBCS", "microsiemens"}, "uS", DIM_SIEMENS, -6},
        {{"micromho", "micromhos", "MICROMHOS", "umho", "\xC2\xB5mho", "\xCE\xBCmho",
          "\xC2\xB5mhos", "umhos", "micro mhos", "\xC2\xB5\xE2\x84\xA7"},
         "micromho",
         DIM_SIEMENS,
         -6},
        {{"mmho", "mmhos", "millimho", "m\xE2\x84\xA7"}, "mmho", DIM_SIEMENS, -3},
        {{"mho", "mhos", "MHO", "Mho", "\xE2\x84\xA7"}, "mho", DIM_SIEMENS, 0},
        {{"ohm", "Ohm", "OHMS", "\xE2\x84\xA6", "\xCE\xA9", "Ом"}, "ohm", DIM_OHM, 0},
        {{"kohm", "kOhm", "KOHM", "k\xE2\x84\xA6", "k\xCE\xA9", "k ohm", "kilohms", "кОм"},
         "kohm",
         DIM_OHM,
         3},
        {{"Mohm", "MOhm", "MOHM", "M\xE2\x84\xA6", "M\xCE\xA9", "megohm", "Megohms", "МОм"},
         "Mohm",
         DIM_OHM,
         6},
        {{"W", "w", "watts", "Вт"}, "W", DIM_WATT, 0},
        {{"mW", "mw", "milliwatts", "мВт"}, "mW", DIM_WATT, -3},
        {{"%", "percent", "per cent"}, "%", DIM_PERCENT, 0},
        {{"dB", "db", "DB", "decibels", "дБ"}, "dB", DIM_DECIBEL, 0},
        {{"step", "steps"}, "step", DIM_STEP, 0},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++)
        for (size_t k = 0; k < 12 && rows[i].spellings[k]; k++) {
            struct err e = ERR_INIT;
            const struct unit *u = NULL, *again = NULL;
            if (!unit_find(&u, rows[i].spellings[k], &e))
                fail_msg("%s", e.text);
            if (strcmp(u->name, rows[i].name))
                fail_msg("'%s' was taken for '%s'", rows[i].spellings[k], u->name);
            assert_int_equal(u->dimension, rows[i].dimension);
            assert_int_equal(u->exp10, rows[i].exp10);
            assert_true(unit_find(&again, u->name, &e)); /* a canonical name finds itself */
            assert_ptr_equal(u, again);
        }
    const struct unit *none;
    assert_true(unit_find(&none, NULL, NULL));
    assert_string_equal(none->name, "");
}

static const struct unit *the(const char *name)
{
    const struct unit *u;
    struct err e = ERR_INIT;
    if (!unit_find(&u, name, &e))
        fail_msg("%s", e.text);
    return u;
}

static void units_of_two_dimensions_do_not_convert(void **state)
{
    (void)state;
    static const struct {
        const char *from, *to, *says;
    } rows[] = {
        {"mA", "mA/V", "mA is a current, but a transconductance is wanted: give it in mA/V, A/V"},
        {"", "V",
         "A number without a unit is a pure number, but a voltage is wanted: give it in V,"},
        {"V", "", "V is a voltage, but a pure number is wanted: give it without a unit"},
        {"W", "%", "W is a power, but a percentage is wanted: give it in %."},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct err e = ERR_INIT;
        int x = 42;
        assert_false(unit_shift(&x, the(rows[i].from), the(rows[i].to), &e));
        assert_int_equal(e.code, ERR_INVALID);
        assert_int_equal(x, 42);
        if (!strstr(e.text, rows[i].says))
            fail_msg("ought to say '%s' but says: %s", rows[i].says, e.text);
    }
}

static void units_of_one_dimension_differ_by_a_power_of_ten(void **state)
{
    (void)state;
    static const struct {
        const char *from, *to;
        int exp10;
    } rows[] = {
        {"micromho", "mA/V", -3}, {"mA/V", "micromho", 3}, {"mA/V", "mS", 0},    {"umho", "uS", 0},
        {"mho", "A/V", 0},        {"Mohm", "ohm", 6},      {"kohm", "Mohm", -3}, {"uA", "A", -6},
        {"kV", "mV", 6},          {"dB", "dB", 0},         {"", "", 0},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        int x = 99;
        assert_true(unit_shift(&x, the(rows[i].from), the(rows[i].to), NULL));
        assert_int_equal(x, rows[i].exp10);
    }
    /* 5200 micromho and 5.2 mA/V are one number */
    int x;
    int64_t v;
    struct decimal d = {5200, 0};
    assert_true(unit_shift(&x, the("micromho"), the("mA/V"), NULL));
    assert_true(decimal_scale(&v, decimal_shift(d, x), 3, NULL));
    assert_int_equal(v, 5200);
}

static void a_number_is_split_from_its_unit(void **state)
{
    (void)state;
    static const struct {
        const char *text, *number, *unit;
    } rows[] = {
        {"5200 micromho", "5200", "micromho"},
        {"5.2mA/V", "5.2", "mA/V"},
        {" 5,2  mA / V \r\n", " 5,2", "mA / V"},
        {"5200\xC2\xB5mho", "5200", "\xC2\xB5mho"},
        {"47k\xCE\xA9", "47", "k\xCE\xA9"},
        {"10\xC2\xA0\xE2\x84\xA6", "10", "\xE2\x84\xA6"},
        {"10\xE2\x80\xAFV", "10", "V"}, /* U+202F, the typesetter's space */
        {"12 мА/В", "12", "мА/В"},
        {"\xE2\x88\x92"
         "8.5 V",
         "\xE2\x88\x92"
         "8.5",
         "V"},
        {"-8.5V", "-8.5", "V"},
        {"3%", "3", "%"},
        {"5.20", "5.20", ""},
        {"5.20 ", "5.20", ""},
        {"", "", ""},
        {"  ", "", ""},
        {"1 234 V", "1 234", "V"},
        {"1e3", "1e3", ""}, /* left whole, for decimal_parse to refuse */
        {"1E-3 V", "1E-3", "V"},
        {"1 e", "1", "e"},
        {"NaN", "NaN", ""},
        {"mA", "mA", ""},
        {"-\xC2\xB5"
         "A",
         "-\xC2\xB5"
         "A",
         ""},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        size_t number_len = 99, unit_len = 99;
        const char *unit = NULL;
        unit_split(rows[i].text, &number_len, &unit, &unit_len);
        char number[40] = "", name[40] = "";
        memcpy(number, rows[i].text, number_len);
        memcpy(name, unit, unit_len);
        assert_string_equal(strspn(number, " ") == number_len ? "" : number, rows[i].number);
        assert_string_equal(name, rows[i].unit);
        assert_true(unit >= rows[i].text + number_len);
        assert_true(unit + unit_len <= rows[i].text + strlen(rows[i].text));
    }
}

static void every_dimension_has_a_name(void **state)
{
    (void)state;
    for (int d = 0; d < DIM__COUNT; d++)
        assert_non_null(dimension_name((enum dimension)d));
    assert_string_equal(dimension_name(DIM_SIEMENS), "a transconductance");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(unknown_units_are_refused_with_what_is_known),
        cmocka_unit_test(units_are_found_by_their_customary_spellings),
        cmocka_unit_test(units_of_two_dimensions_do_not_convert),
        cmocka_unit_test(units_of_one_dimension_differ_by_a_power_of_ten),
        cmocka_unit_test(a_number_is_split_from_its_unit),
        cmocka_unit_test(every_dimension_has_a_name),
    };
    return cmocka_run_group_tests_name("unit", tests, NULL, NULL);
}
