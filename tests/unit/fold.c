/* SPDX-License-Identifier: MIT
 *
 * Every way a designation is typed meets the stored spelling, and no two types meet by accident.
 * Sources are named beside each group: R = the reference page on designation systems (its own
 * sources are cited there), E = the equivalence list, C = common practice, no source.
 */
#include "designation/fold.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>
#include <cmocka.h>

static bool meets(const char *stored, const char *typed, unsigned *why)
{
    char key[FOLD_BYTES];
    struct fold f;
    struct err e = ERR_INIT;
    assert_true(fold_key(key, stored, &e));
    assert_true(fold_read(&f, typed, &e));
    assert_in_range(f.count, 1, FOLD_KEYS);
    for (size_t i = 0; i < f.count; i++)
        if (strcmp(f.key[i].text, key) == 0) {
            if (why)
                *why = f.key[i].why;
            return true;
        }
    return false;
}

static const struct {
    const char *stored, *typed;
} met[] = {
    /* R: look-alike traps, each by itself and inside one word */
    {"6П6С", "6П6C"},
    {"6П6С", "6P6S"},
    {"6П6С", "6P6C"},
    {"6П6С", "6n6C"},
    {"6П6С", "6п6с"},
    {"6P6S", "6П6С"},
    {"6P6S", "6П6C"},
    {"6N8S", "6Н8С"},
    {"6N8S", "6H8C"},
    {"6N8S", "6N8C"},
    {"6N8S", "6H8S"},
    {"6N8S", "6Н8C"},
    {"6N8S", "6H8С"},
    {"6Н8С", "6h8c"},
    {"6N23P", "6H23n"},
    {"6N23P", "6Н23П"},
    {"6N30P", "6H30Pi"},
    {"6N30P", "6Н30П"},
    {"6N30P", "6H30n"},
    {"6S33S", "6C33C"},
    {"6S33S-V", "6C33C-B"},
    {"6S33S-V", "6С33С-В"},
    {"6С33С-В", "6C33CB"},
    {"6S4P", "6С4П"},
    {"6S4P", "6C4P"},
    {"6R3S", "6Р3С"},
    {"6R3S", "6P3C"},
    /* R: transliterations of the trade */
    {"6Zh1P", "6Ж1П"},
    {"6Zh1P", "6J1P"},
    {"6Zh32P", "6J32n"},
    {"6Zh8", "6Ж8"},
    {"6Zh8", "6J8"},
    {"5Ts3S", "5Ц3С"},
    {"5Ts3S", "5C3S"},
    {"5Ts3S", "5Z3S"},
    {"5Ts3S", "5C3C"},
    {"6Ts4P", "6C4P"},
    {"6Ts4P", "6Z4P"},
    {"6Kh2P", "6Х2П"},
    {"6Kh2P", "6H2P"},
    {"6Kh2P", "6X2P"},
    {"6F3P", "6Ф3П"},
    {"6E5P", "6Э5П"},
    {"6E5S", "6Е5С"},
    {"6E5S", "6Ye5S"},
    {"6I1P", "6И1П"},
    /* R: groups in front */
    {"SG1P", "СГ1П"},
    {"SG1P", "CG1P"},
    {"SG1P", "CГ1П"},
    {"G-807", "Г-807"},
    {"GU-50", "ГУ50"},
    {"GU-50", "GY-50"},
    /* R: quality letters */
    {"6P14P-EV", "6П14П-ЕВ"},
    {"6P14P-EV", "6P14P-EB"},
    {"6P14P-EV", "6n14n-EB"},
    {"6N30P-DR", "6Н30П-ДР"},
    {"6N30P-DR", "6H30Pi-DR"},
    {"6P3S-E", "6П3С-Е"},
    {"6P3S-E", "6P3CE"},
    /* C: Latin designations struck with Cyrillic letters drawn alike */
    {"ECC83", "ЕСС83"},
    {"ECC83", "EСС83"},
    {"12AX7", "12АХ7"},
    {"KT88", "КТ88"},
    {"6AC7", "6АС7"},
    {"6CA7", "6СА7"},
    {"6SN7GT", "6SN7GТ"},
    {"6BX6", "6ВХ6"},
    /* case, spaces, dashes, O and I: what was asked of the program */
    {"12AX7", "12ax7"},
    {"12AX7", " 12 AX 7 "},
    {"12AX7", "12-AX-7"},
    {"6R-A8", "6RA8"},
    {"6R-A8", "6R\xE2\x80\x93"
              "A8"},
    {"VT-231", "VT231"},
    {"VR150-30", "VR 150/30"},
    {"0A2", "OA2"},
    {"0D3", "OD3"},
    {"300B", "3OOB"},
    {"12AX7", "I2AX7"},
    {"0A2", "ОА2"},
    {"6L6GC", "6L6\xC2\xA0GC"},
    {"EL34", "\xEF\xBC\xA5\xEF\xBC\xAC\xEF\xBC\x93\xEF\xBC\x94"},
    {"EL34", "\xCE\x95L34"},
    /* R: JAN and its maker's code are no part of the name */
    {"12AU7", "JAN-CXX-12AU7"},
    {"12AU7", "JAN 12AU7"},
    {"6SN7GT", "JANCRC6SN7GT"},
    {"6SN7GT", "jan crc 6sn7gt"},
    {"VT-231", "JAN-CRC-VT-231"},
    {"CV4004", "JAN CV4004"},
    /* C: two names printed on one tube */
    {"ECC83", "12AX7/ECC83"},
    {"12AX7", "ECC83 (12AX7)"},
    {"6J5GT", "6J5GT/G"},
};

static void every_way_of_typing_meets_the_stored_spelling(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(met); i++)
        if (!meets(met[i].stored, met[i].typed, NULL))
            fail_msg("%s does not find %s", met[i].typed, met[i].stored);
}

static const struct {
    const char *stored, *typed;
} apart[] = {
    /* R: 6Ц4П written 6C4P is not the US 6C4; 6С4П is not 6Ц4П */
    {"6C4", "6C4P"},
    {"6C4", "6С4П"},
    {"6Ts4P", "6С4П"},
    {"6S4P", "6Ц4П"},
    {"6C4P", "6С4П"},
    /* two Latin designations never meet: what is typed is expanded, what is stored is not */
    {"6C4", "6S4"},
    {"6CN7", "6SN7"},
    {"6SN7GT", "6SN7"},
    {"6L6GC", "6L6"},
    {"6CG7", "6SG7"},
    {"ECC83", "ECC82"},
    {"E83CC", "ECC83"},
    {"6BX6", "6BKH6"},
    {"12AX7", "12AKH7"},
    /* a dash or suffix is not lost on the way */
    {"83", "83-V"},
    {"6P14P", "6P14P-EV"},
    {"6N30P", "6Н30П-ДР"},
    /* small n for П is read one way throughout, and not where П is written P */
    {"6N14P", "6n14n"},
    {"6P14P", "6n14p"},
    /* letters that mean something else in the other alphabet */
    {"6P3S", "6Р3С"},
    {"6V6", "6Б6"},
    {"6N2P", "6Х2П"},
    {"6Kh2P", "6H2n"},
};

static void two_types_that_differ_never_meet(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(apart); i++)
        if (meets(apart[i].stored, apart[i].typed, NULL))
            fail_msg("%s must not find %s", apart[i].typed, apart[i].stored);
}

static void a_sound_latin_number_only_suggests_its_cyrillic_reading(void **state)
{
    (void)state;
    static const struct {
        const char *stored, *typed;
    } weak[] = {{"6N6", "6H6"}, {"6S5", "6C5"},    {"6Zh8", "6J8"},
                {"6S4", "6C4"}, {"6Zh6A", "6J6A"}, {"6C4", "6С4"}};
    for (size_t i = 0; i < ARRAY_LEN(weak); i++) {
        unsigned why = 0;
        assert_true(meets(weak[i].stored, weak[i].typed, &why));
        assert_true(why & FOLD_WEAK);
    }
    unsigned why = FOLD_WEAK;
    assert_true(meets("6N8S", "6H8C", &why));
    assert_int_equal(why, FOLD_CYRILLIC_MEANT);
    assert_true(meets("6H6", "6H6", &why));
    assert_int_equal(why, FOLD_PLAIN);
}

static void the_reading_a_spelling_is_stored_under_is_the_one_it_means(void **state)
{
    (void)state;
    static const struct {
        const char *text, *key;
    } cases[] = {
        {"6П6С", "6P6S"},       {"6П6C", "6P6S"},    {"6Н8С", "6N8S"},  {"6С4П", "6S4P"},
        {"5Ц3С", "5TS3S"},      {"6Ж32П", "6ZH32P"}, {"6Х6", "6KH6"},   {"ЕСС83", "ECC83"},
        {"6С33С-В", "6S33SV"},  {"12AX7", "12AX7"},  {"OA2", "0A2"},    {"VT-4-C", "VT4C"},
        {"6C33C-B", "6C33CB"},  {"6И1П", "611P"},    {"СГ1П", "SG1P"},  {"КТ88", "KT88"},
        {"JAN-6SN7W", "6SN7W"}, {"CCa", "CCA"},      {"Г-807", "G807"}, {"6SN7GT/G", "6SN7GT"},
    };
    char key[FOLD_BYTES], again[FOLD_BYTES];
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        assert_true(fold_key(key, cases[i].text, NULL));
        assert_string_equal(key, cases[i].key);
        assert_true(fold_key(again, key, NULL));
        assert_string_equal(again, key); /* a key folds to itself */
    }
}

static void a_suffix_is_cut_only_where_the_rest_is_a_name(void **state)
{
    (void)state;
    static const struct {
        const char *key, *stem, *suffix;
    } cases[] = {
        {"6SN7GTB", "6SN7", "GTB"}, {"6L6GC", "6L6", "GC"},     {"6L6", "6L6", ""},
        {"6SN7W", "6SN7", "W"},     {"5R4WGB", "5R4", "WGB"},   {"12AX7WA", "12AX7", "WA"},
        {"6P3SE", "6P3S", "E"},     {"6P14PEV", "6P14P", "EV"}, {"6S33SV", "6S33S", "V"},
        {"6N30PDR", "6N30P", "DR"}, {"6ZH1PEV", "6ZH1P", "EV"}, {"6N8S", "6N8S", ""},
        {"6P6P", "6P6P", ""},       {"6ZH1P", "6ZH1P", ""},     {"5814A", "5814", "A"},
        {"5814WA", "5814", "WA"},   {"VT107A", "VT107", "A"},   {"EF37A", "EF37", "A"},
        {"ECC83", "ECC83", ""},     {"E88CC", "E88CC", ""},     {"83V", "83V", ""},
        {"45", "45", ""},           {"807", "807", ""},         {"0A2WA", "0A2", "WA"},
        {"ECC801S", "ECC801", "S"}, {"CCA", "CCA", ""},         {"5TS3S", "5TS3S", ""},
    };
    char stem[FOLD_BYTES], suffix[FOLD_BYTES];
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        fold_stem(stem, suffix, cases[i].key);
        assert_string_equal(stem, cases[i].stem);
        assert_string_equal(suffix, cases[i].suffix);
    }
}

static void likeness_keeps_alphabets_apart(void **state)
{
    (void)state;
    assert_int_equal(fold_compare("6П6С", "6П6С"), FOLD_VERBATIM);
    assert_int_equal(fold_compare("6п6с", "6П6С"), FOLD_SAME);
    assert_int_equal(fold_compare("6П6C", "6П6С"), FOLD_OTHER);
    assert_int_equal(fold_compare("vt 231", "VT-231"), FOLD_SAME);
    assert_int_equal(fold_compare("6SN7GT", "6SN7GTB"), FOLD_OTHER);
    assert_int_equal(fold_compare("12AX7", "ECC83"), FOLD_OTHER);
}

static void what_cannot_be_a_designation_is_refused_with_its_place(void **state)
{
    (void)state;
    char long_text[200];
    memset(long_text, 'A', sizeof long_text - 1);
    long_text[sizeof long_text - 1] = 0;
    struct {
        const char *text;
        enum err_code code;
        int64_t at;
        const char *part;
    } cases[] = {
        {"", ERR_INVALID, 0, "at least one letter or figure"},
        {" - ", ERR_INVALID, 0, "at least one letter or figure"},
        {"12AX7;DROP", ERR_INVALID, 5, "\";\""},
        {"12AX7\n", ERR_INVALID, 5, "is none of these"},
        {"6П6\xD0", ERR_INVALID, 4, ""},
        {"\xF0\x9F\x92\xA1", ERR_INVALID, 0, "is none of these"},
        {"ABCDEFGHJKLMNPQRSTUVWXYZABCDEFGHJ", ERR_TOO_LARGE, 32, "at most 32"},
        {long_text, ERR_TOO_LARGE, DESIGNATION_BYTES, "at most 32"},
        {"1A1/2A2/3A3/4A4", ERR_TOO_LARGE, 12, "at most 3 names"},
    };
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        struct err e = ERR_INIT;
        struct fold f = {.count = 7};
        assert_false(fold_read(&f, cases[i].text, &e));
        assert_int_equal(f.count, 7);
        assert_int_equal(e.code, cases[i].code);
        assert_int_equal(e.at, cases[i].at);
        assert_non_null(strstr(e.text, cases[i].part));
    }
    struct err e = ERR_INIT;
    assert_false(designation_check("12AX7/ECC83", &e));
    assert_non_null(strstr(e.text, "one by one"));
    assert_true(designation_check("6Н2П-ЕВ", &e));
}

static void reasons_are_said_in_words(void **state)
{
    (void)state;
    char buf[FOLD_WHY_BYTES];
    assert_string_equal(fold_why_print(buf, FOLD_PLAIN), "");
    assert_string_equal(fold_why_print(buf, FOLD_TRADE | FOLD_MARK),
                        "a transliteration of the trade; the JAN mark left out");
    assert_true(strlen(fold_why_print(buf, 0xFFFF)) < FOLD_WHY_BYTES - 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_way_of_typing_meets_the_stored_spelling),
        cmocka_unit_test(two_types_that_differ_never_meet),
        cmocka_unit_test(a_sound_latin_number_only_suggests_its_cyrillic_reading),
        cmocka_unit_test(the_reading_a_spelling_is_stored_under_is_the_one_it_means),
        cmocka_unit_test(a_suffix_is_cut_only_where_the_rest_is_a_name),
        cmocka_unit_test(likeness_keeps_alphabets_apart),
        cmocka_unit_test(what_cannot_be_a_designation_is_refused_with_its_place),
        cmocka_unit_test(reasons_are_said_in_words),
    };
    return cmocka_run_group_tests_name("fold", tests, NULL, NULL);
}
