/* SPDX-License-Identifier: MIT
 *
 * tests/cases/decode.tsv: the published examples of each system and its exceptions.
 */
#include "designation/decode.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

enum { TYPED, SYSTEM, HEATER, KIND, BASE, EXCEPTION, SOURCE, FIELDS };

/* "-" must be not known, anything else must be held. */
static bool holds(const char *got, const char *expected)
{
    return strcmp(expected, "-") == 0 ? !*got : strstr(got, expected) != NULL;
}

static const struct decoded *reading_in(const struct decoding *d, const char *system)
{
    for (size_t i = 0; i < d->count; i++)
        if (strcmp(system_names[d->reading[i].system], system) == 0)
            return &d->reading[i];
    return NULL;
}

static bool check_line(char *const *field)
{
    struct decoding d;
    struct err e = ERR_INIT;
    if (!decode_text(&d, field[TYPED], &e)) {
        print_error("%s: %s\n", field[TYPED], e.text);
        return false;
    }
    const struct decoded *r = reading_in(&d, field[SYSTEM]);
    if (!r) {
        print_error("%s: not read as %s\n", field[TYPED], field[SYSTEM]);
        return false;
    }
    bool heater =
        strcmp(field[HEATER], "-") == 0 ? !*r->heater : strcmp(r->heater, field[HEATER]) == 0;
    bool exception = r->exception == (strcmp(field[EXCEPTION], "yes") == 0);
    bool said = !r->exception || *r->remark;
    if (heater && holds(r->kind, field[KIND]) && holds(r->base, field[BASE]) && exception && said)
        return true;
    print_error("%s: came heater \"%s\", kind \"%s\", base \"%s\", exception %d, remark \"%s\"\n",
                field[TYPED], r->heater, r->kind, r->base, r->exception, r->remark);
    return false;
}

static void every_published_example_is_read_as_published(void **state)
{
    (void)state;
    FILE *in = fopen("tests/cases/decode.tsv", "r");
    char line[400];
    int lines = 0, wrong = 0;
    assert_non_null(in);
    while (fgets(line, sizeof line, in)) {
        char *rest = line, *field[FIELDS];
        if (line[0] == '#')
            continue;
        line[strcspn(line, "\n")] = 0;
        for (int i = 0; i < FIELDS; i++)
            field[i] = strsep(&rest, "\t");
        assert_non_null(field[SOURCE]);
        lines++;
        wrong += !check_line(field);
    }
    fclose(in);
    assert_true(lines >= 100);
    assert_int_equal(wrong, 0);
}

static void the_likeliest_reading_comes_first(void **state)
{
    (void)state;
    static const struct {
        const char *typed;
        enum designation_system system;
    } cases[] = {
        {"12AX7", SYSTEM_US_RECEIVING}, {"6L6GC", SYSTEM_US_RECEIVING},
        {"6C4", SYSTEM_US_RECEIVING},   {"2D21", SYSTEM_US_POWER},
        {"5751", SYSTEM_US_INDUSTRIAL}, {"ECC83", SYSTEM_EUROPEAN},
        {"E88CC", SYSTEM_EUROPEAN},     {"6Н8С", SYSTEM_GOST},
        {"6П14П-ЕВ", SYSTEM_GOST},      {"6N8S", SYSTEM_GOST},
        {"СГ1П", SYSTEM_GOST_GROUP},    {"CV4004", SYSTEM_CV},
        {"KT66", SYSTEM_BRITISH},       {"PX4", SYSTEM_BRITISH},
        {"6R-A8", SYSTEM_JAPANESE},     {"6RA8", SYSTEM_JAPANESE},
        {"6Z-P1", SYSTEM_JAPANESE},     {"45", SYSTEM_SERIAL},
        {"VT-231", SYSTEM_US_VT},       {"6CA7", SYSTEM_US_RECEIVING},
        {"ЕСС83", SYSTEM_EUROPEAN},     {"OA2", SYSTEM_US_RECEIVING},
    };
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        struct decoding d;
        assert_true(decode_text(&d, cases[i].typed, NULL));
        if (d.count == 0 || d.reading[0].system != cases[i].system)
            fail_msg("%s: first read as %s", cases[i].typed,
                     d.count ? system_names[d.reading[0].system] : "nothing");
    }
}

static void a_name_of_two_systems_is_read_in_both(void **state)
{
    (void)state;
    /* R8: a Chinese last P is octal glass, a GOST one a miniature: the name does not say which */
    struct decoding d;
    assert_true(decode_text(&d, "6N8P", NULL));
    const struct decoded *gost = decoding_in(&d, SYSTEM_GOST);
    const struct decoded *chinese = decoding_in(&d, SYSTEM_CHINESE);
    assert_non_null(gost);
    assert_non_null(chinese);
    assert_non_null(strstr(gost->base, "miniature"));
    assert_non_null(strstr(chinese->base, "octal"));
    assert_null(decoding_in(&d, SYSTEM_EUROPEAN));
    /* typed in Cyrillic it can only be GOST */
    assert_true(decode_text(&d, "6Н8П", NULL));
    assert_null(decoding_in(&d, SYSTEM_CHINESE));
}

static void the_parts_of_a_name_are_told_apart(void **state)
{
    (void)state;
    struct decoding d;
    assert_true(decode_text(&d, "6SN7GTB", NULL)); /* R1 worked */
    const struct decoded *r = decoding_in(&d, SYSTEM_US_RECEIVING);
    assert_string_equal(r->serial, "SN");
    assert_int_equal(r->elements, 7);
    assert_int_equal(r->heater_mv, 6300);
    assert_non_null(strstr(r->quality, "improved"));
    assert_non_null(strstr(r->remark, "single-ended"));
    assert_true(decode_text(&d, "PCL82", NULL)); /* R4 worked */
    r = decoding_in(&d, SYSTEM_EUROPEAN);
    assert_int_equal(r->heater_ma, 300);
    assert_int_equal(r->heater_mv, NONE);
    assert_string_equal(r->serial, "82");
    assert_true(decode_text(&d, "6П14П-ЕВ", NULL)); /* R5 quality letters */
    r = decoding_in(&d, SYSTEM_GOST);
    assert_string_equal(r->word, "6P14PEV");
    assert_string_equal(r->serial, "14");
    assert_string_equal(r->quality, "long life and rugged");
    assert_true(decode_text(&d, "12G-K17", NULL)); /* R8: rectifier serials, odd is half wave */
    assert_non_null(strstr(decoding_in(&d, SYSTEM_JAPANESE)->remark, "half wave"));
    assert_true(decode_text(&d, "EF86", NULL)); /* R4: a tendency */
    assert_non_null(strstr(decoding_in(&d, SYSTEM_EUROPEAN)->remark, "tends to mean sharp"));
}

static void what_no_system_has_is_left_unread(void **state)
{
    (void)state;
    static const char *const names[] = {"ABCDEFG", "12345678", "Q",     "6X6X6X",
                                        "ESS83",   "6P6T",     "12345", "EFC80"};
    for (size_t i = 0; i < ARRAY_LEN(names); i++) {
        struct decoding d;
        assert_true(decode_text(&d, names[i], NULL));
        if (d.count)
            fail_msg("%s was read as %s", names[i], system_names[d.reading[0].system]);
    }
    struct decoding d = {.count = 3};
    struct err e = ERR_INIT;
    assert_false(decode_text(&d, "6L6\x01", &e));
    assert_int_equal(e.code, ERR_INVALID);
    assert_int_equal(d.count, 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_published_example_is_read_as_published),
        cmocka_unit_test(the_likeliest_reading_comes_first),
        cmocka_unit_test(a_name_of_two_systems_is_read_in_both),
        cmocka_unit_test(the_parts_of_a_name_are_told_apart),
        cmocka_unit_test(what_no_system_has_is_left_unread),
    };
    return cmocka_run_group_tests_name("decode", tests, NULL, NULL);
}
