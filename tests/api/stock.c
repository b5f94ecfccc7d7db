/* SPDX-License-Identifier: MIT
 *
 * stock: lots, tubes, inspections and readings through whole calls: the bench hand's day.
 */
#include "ask.h"

#include "base/stockno.h"

#include "store/grade.h"
#include "store/journal.h"
#include "store/quantity.h"

/* A few types and points, so that nothing here depends on what the bundled catalogue says.  The
 * figures are those of seed-data/catalogue/types.csv for the same designations. */
static const char GROUND[] =
    "INSERT INTO family (id, name) VALUES (1, '12AX7'), (2, '6V6GT');"
    "INSERT INTO type (id, designation, family_id, system, class, sections, heating, base, pins, "
    "how, origin) VALUES "
    "(1, '12AX7', 1, 'RETMA', 'twin triode', 2, 'indirect', 'noval B9A', "
    " '1=a.2;2=g1.2;3=k.2;4=h;5=h;6=a.1;7=g1.1;8=k.1;9=hct', 'memory', 'own'),"
    "(2, 'ECC83', 1, 'European', 'twin triode', 2, 'indirect', 'noval B9A', "
    " '1=a.2;2=g1.2;3=k.2;4=h;5=h;6=a.1;7=g1.1;8=k.1;9=hct', 'memory', 'own'),"
    "(3, '6V6GT', 2, 'RETMA', 'beam tetrode', 1, 'indirect', 'octal', "
    " '2=h;3=a;4=g2;5=g1;7=h;8=k,bp', 'memory', 'own'),"
    "(4, '6N99S', NULL, 'GOST', 'twin triode', 2, 'indirect', 'octal', NULL, 'memory', 'own');"
    "INSERT INTO designation (id, type_id, text, how, origin) VALUES "
    "(1, 1, '12AX7', 'memory', 'own'), (2, 2, 'ECC83', 'memory', 'own'), "
    "(3, 3, '6V6GT', 'memory', 'own'), (4, 4, '6N99S', 'memory', 'own');"
    "INSERT INTO test_point (id, type_id, code, title, held, va_v, vg1_v, how, origin) VALUES "
    "(1, 1, 'grid', 'plate 250 V, grid -2 V', 'grid', '250', '-2', 'memory', 'own'),"
    "(2, 2, 'grid', 'plate 250 V, grid -2 V', 'grid', '250', '-2', 'memory', 'own');"
    "INSERT INTO test_point (id, type_id, code, title, held, va_v, vg2_v, vg1_v, how, origin) "
    "VALUES (3, 3, 'grid', 'plate 250 V, screen 250 V, grid -12.5 V', 'grid', '250', '250', "
    "'-12.5', 'memory', 'own');";

static const char FIGURES[] =
    "INSERT INTO test_point_quantity (test_point_id, quantity, nominal, how) VALUES "
    "(1, 'ia', 1200, 'memory'), (1, 'gm', 1600, 'memory'), (2, 'ia', 1200, 'memory'), "
    "(2, 'gm', 1600, 'memory'), (3, 'ia', 45000, 'memory'), (3, 'gm', 4100, 'memory');";

static char number[24]; /* of the last tube made */
static char path[200];

static const char *at(const char *what)
{
    snprintf(path, sizeof path, "/api/tubes/%s%s", number, what);
    return path;
}

static void furnish(struct store *st)
{
    struct err e = ERR_INIT;
    struct arena *a = arena_new();
    store_as(st, 1, ASK_NOW);
    if (!store_begin(st, &e) || !store_mark(st, &e) || !quantity_refresh(st, &e) ||
        !grade_scheme_refresh(st, a, &e) || !store_keep(st, &e) || !store_commit(st, &e))
        fail_msg("%s", e.text);
    arena_free(a);
}

static int fresh(void **state)
{
    ask_open(state);
    ask_sql(GROUND);
    furnish(ask_store);
    ask_sql(FIGURES);
    ask_ok(POST, "/api/makers", "{\"name\":\"Halvorsen Rør\",\"country\":\"NO\"}");
    ask_ok(POST, "/api/bins", "{\"code\":\"A1\"}");
    ask_ok(POST, "/api/lots",
           "{\"code\":\"L1\",\"title\":\"a cellar\",\"bought\":\"2023-05-01\",\"cost_minor\":12000,"
           "\"currency\":\"EUR\"}");
    ask_ok(POST, "/api/testers",
           "{\"code\":\"T1\",\"title\":\"the bench\",\"reads\":["
           "{\"quantity\":\"ia\",\"unit\":\"mA\",\"resolution\":\"0.01\",\"repeatability\":\"1%\"},"
           "{\"quantity\":\"gm\",\"unit\":\"mA/V\",\"resolution\":\"0.01\"}]}");
    return 0;
}

static void make_tube(const char *body)
{
    ask_ok(POST, "/api/tubes", body);
    snprintf(number, sizeof number, "%s", ask_text("stock_no"));
}

#define TWIN(ia1, gm1, ia2, gm2)                                                          \
    "{\"tester\":\"T1\",\"taken\":\"2023-11-14T20:00:00Z\",\"warm_s\":120,\"sections\":[" \
    "{\"section\":1,\"values\":[{\"quantity\":\"ia\",\"typed\":\"" ia1 "\"},"             \
    "{\"quantity\":\"gm\",\"typed\":\"" gm1 "\"}]},"                                      \
    "{\"section\":2,\"values\":[{\"quantity\":\"ia\",\"typed\":\"" ia2 "\"},"             \
    "{\"quantity\":\"gm\",\"typed\":\"" gm2 "\"}]}]}"

/* ---- lots and tubes ----------------------------------------------------------------------- */

static void a_tube_gets_the_next_number_with_its_check_digit(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\"}");
    assert_int_equal(ask_call->status, 201);
    assert_int_equal(strtoll(number, NULL, 10), stockno_make(STOCKNO_FIRST));
    assert_string_equal(ask_text("state"), "received");
    assert_string_equal(ask_text("family"), "12AX7");
    make_tube("{\"printed\":\"ECC83\"}");
    assert_int_equal(strtoll(number, NULL, 10), stockno_make(STOCKNO_FIRST + 1));
}

static void a_mistyped_number_is_refused_before_it_is_looked_for(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\"}");
    number[strlen(number) - 1] = number[strlen(number) - 1] == '9' ? '0' : '9';
    ask_refused(GET, at(""), NULL, 422, "stock_no", "mistyped");
}

static void what_is_not_known_is_refused_by_name(void **state)
{
    (void)state;
    ask_refused(POST, "/api/tubes", "{\"printed\":\"12QX9\"}", 404, "printed", "12QX9");
    ask_refused(POST, "/api/tubes", "{\"printed\":\"12AX7\",\"maker\":\"Nobody\"}", 404, "maker",
                "Nobody");
    ask_refused(POST, "/api/tubes", "{\"printed\":\"12AX7\",\"bin\":\"Z9\"}", 404, "bin", "Z9");
    ask_refused(POST, "/api/tubes", "{\"printed\":\"12AX7\",\"lot\":\"L9\"}", 404, "lot", "L9");
    ask_refused(POST, "/api/tubes", "{\"printed\":\"12AX7\",\"colour\":\"grey\"}", 422, "colour",
                "colour");
    assert_int_equal(ask_number("SELECT count(*) FROM tube"), 0);
}

static void a_date_code_that_reads_as_a_window_gives_it(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\",\"date\":\"1958..1962\"}");
    assert_string_equal(ask_text("made_first"), "1958-01-01");
    assert_string_equal(ask_text("made_last"), "1962-12-31");
    make_tube("{\"printed\":\"12AX7\",\"date\":\"delta 4L3\"}");
    assert_string_equal(ask_text("date"), "delta 4L3");
    assert_null(ask_at("made_first"));
}

static void pieces_are_drawn_from_a_lot_line_until_none_is_left(void **state)
{
    (void)state;
    ask_ok(POST, "/api/lots/L1/lines",
           "{\"printed\":\"ECC83\",\"count\":2,\"maker\":\"Halvorsen Rør\"}");
    make_tube("{\"lot_line\":1}");
    assert_string_equal(ask_text("printed"), "ECC83");
    assert_string_equal(ask_text("maker"), "Halvorsen Rør");
    assert_string_equal(ask_text("lot"), "L1");
    make_tube("{\"lot_line\":1,\"mark\":\"K7\"}");
    ask_refused(POST, "/api/tubes", "{\"lot_line\":1}", 409, "lot_line", "no piece");
    ask_ok(GET, "/api/lots/L1", NULL);
    assert_int_equal(ask_int("lines[0].drawn"), 2);
    assert_int_equal(ask_int("tubes"), 2);
}

static void a_mark_names_one_tube_alone_and_is_found_by_scanning(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\",\"mark\":\"K-17\"}");
    ask_refused(POST, "/api/tubes", "{\"printed\":\"12AX7\",\"mark\":\"K-17\"}", 409, "mark",
                "K-17");
    ask_ok(GET, "/api/scan?text=K-17", NULL);
    assert_string_equal(ask_text("stock_no"), number);
    snprintf(path, sizeof path, "/api/scan?text=%s", number);
    ask_ok(GET, path, NULL);
    assert_string_equal(ask_text("mark"), "K-17");
    ask_refused(GET, "/api/scan?text=rubbish", NULL, 422, "text",
                "no tube has the mark \"rubbish\"");
}

static void two_people_cannot_overwrite_each_other(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\"}");
    ask_refused(PATCH, at(""), "{\"bin\":\"A1\"}", 422, "If-Match", "read it");
    assert_int_equal(ask_with(PATCH, at(""), "{\"bin\":\"A1\"}", NULL, "\"v1\""), 200);
    assert_string_equal(ask_text("bin"), "A1");
    assert_int_equal(ask_with(PATCH, at(""), "{\"note\":\"late\"}", NULL, "\"v1\""), 409);
    ask_ok(GET, at(""), NULL);
    assert_null(ask_at("note"));
}

static void illegal_moves_name_what_is_legal(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\"}");
    ask_refused(POST, at("/moves"), "{\"state\":\"shipped\"}", 409, "state", "inspected");
    ask_ok(POST, at("/moves"), "{\"state\":\"shelved\"}");
    assert_string_equal(ask_text("state"), "shelved");
}

static void the_same_key_makes_one_tube_and_another_body_is_refused(void **state)
{
    (void)state;
    assert_int_equal(ask_with(POST, "/api/tubes", "{\"printed\":\"12AX7\"}", "k1", NULL), 201);
    snprintf(number, sizeof number, "%s", ask_text("stock_no"));
    assert_int_equal(ask_with(POST, "/api/tubes", "{\"printed\":\"12AX7\"}", "k1", NULL), 201);
    assert_string_equal(ask_text("stock_no"), number);
    assert_int_equal(ask_number("SELECT count(*) FROM tube"), 1);
    assert_int_equal(ask_with(POST, "/api/tubes", "{\"printed\":\"ECC83\"}", "k1", NULL), 422);
    ask_now += INT64_C(31) * 24 * 3600 * 1000; /* forgotten after 30 days */
    assert_int_equal(ask_with(POST, "/api/tubes", "{\"printed\":\"ECC83\"}", "k1", NULL), 201);
    assert_int_equal(ask_number("SELECT count(*) FROM tube"), 2);
}

static void lists_filter_and_go_on_where_they_ended(void **state)
{
    (void)state;
    char body[100];
    for (int i = 0; i < 7; i++) {
        snprintf(body, sizeof body, "{\"printed\":\"%s\",\"bin\":\"A1\"}",
                 i % 2 ? "ECC83" : "6V6GT");
        make_tube(body);
    }
    ask_ok(GET, "/api/tubes?family=12AX7&limit=2", NULL);
    assert_int_equal(ask_count("items"), 2);
    assert_string_equal(ask_text("items[0].printed"), "ECC83");
    assert_non_null(ask_call->link);
    char next[200];
    snprintf(next, sizeof next, "%.*s", (int)strcspn(ask_call->link + 1, ">"), ask_call->link + 1);
    ask_ok(GET, next, NULL);
    assert_int_equal(ask_count("items"), 1);
    assert_null(ask_call->link);
    ask_ok(GET, "/api/tubes?bin=A1", NULL);
    assert_int_equal(ask_count("items"), 7);
    ask_ok(GET, "/api/tubes?state=shipped", NULL);
    assert_int_equal(ask_count("items"), 0);
    ask_refused(GET, "/api/tubes?state=lost", NULL, 422, "state", "received");
    ask_refused(GET, "/api/tubes?colour=grey", NULL, 422, "colour", "no such parameter");
}

static void reserved_numbers_are_not_given_to_others(void **state)
{
    (void)state;
    ask_ok(POST, "/api/number-blocks", "{\"bench\":\"attic\",\"count\":5}");
    assert_int_equal(strtoll(ask_text("first"), NULL, 10), stockno_make(STOCKNO_FIRST));
    assert_int_equal(strtoll(ask_text("last"), NULL, 10), stockno_make(STOCKNO_FIRST + 4));
    make_tube("{\"printed\":\"12AX7\"}");
    assert_int_equal(strtoll(number, NULL, 10), stockno_make(STOCKNO_FIRST + 5));
    char body[100];
    snprintf(body, sizeof body, "{\"printed\":\"12AX7\",\"stock_no\":\"%lld\"}",
             (long long)stockno_make(STOCKNO_FIRST + 2));
    make_tube(body);
    assert_int_equal(ask_with(POST, "/api/tubes", body, NULL, NULL), 409);
}

/* ---- looking ------------------------------------------------------------------------------ */

static void a_look_is_kept_in_the_vocabulary_and_moves_the_tube_on(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\"}");
    ask_refused(POST, at("/inspections"),
                "{\"findings\":[{\"aspect\":\"pins\",\"finding\":\"golden\"}]}", 422, NULL,
                "bright");
    ask_refused(POST, at("/inspections"),
                "{\"findings\":[{\"aspect\":\"pins\",\"finding\":\"bright\"},"
                "{\"aspect\":\"pins\",\"finding\":\"dull\"}]}",
                422, "pins", "");
    ask_ok(POST, at("/inspections"),
           "{\"findings\":[{\"aspect\":\"pins\",\"finding\":\"dull\"},"
           "{\"aspect\":\"getter\",\"finding\":\"full\"}],\"note\":\"from the cellar\"}");
    ask_ok(GET, at("/inspections"), NULL);
    assert_int_equal(ask_count("items"), 1);
    assert_int_equal(ask_count("items[0].findings"), 2);
    assert_string_equal(ask_text("items[0].findings[0].words"), "dulled by air");
    ask_ok(GET, at(""), NULL);
    assert_string_equal(ask_text("state"), "inspected");
}

/* ---- reading ------------------------------------------------------------------------------ */

static void two_units_of_one_number_stand_as_one_value(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\"}");
    ask_ok(
        POST, at("/readings"),
        "{\"tester\":\"T1\",\"warm_s\":120,\"sections\":[{\"section\":1,\"values\":["
        "{\"quantity\":\"gm\",\"typed\":\"1600\",\"unit\":\"micromho\"}]},"
        "{\"section\":2,\"values\":[{\"quantity\":\"gm\",\"typed\":\"1,6\",\"unit\":\"mA/V\"}]}]}");
    assert_string_equal(ask_text("standing[0].value"), "1.600");
    assert_string_equal(ask_text("standing[1].value"), "1.600");
    assert_string_equal(ask_text("readings[0].values[0].typed"), "1600");
    /* RETMA 9A: the plate of section 1 comes out on pin 6, of section 2 on pin 1 */
    assert_int_equal(ask_int("standing[0].anode_pin"), 6);
    assert_int_equal(ask_int("standing[1].anode_pin"), 1);
    ask_ok(GET, at(""), NULL);
    assert_string_equal(ask_text("state"), "tested");
}

static void bad_readings_are_refused_each_with_its_sentence(void **state)
{
    (void)state;
    static const struct {
        const char *body;
        int status;
        const char *field, *words;
    } bad[] = {
        {"{\"tester\":\"T1\",\"sections\":[{\"section\":3,\"values\":[{\"quantity\":\"ia\","
         "\"typed\":\"1.2\"}]}]}",
         422, "section", "has 2 sections"},
        {"{\"tester\":\"T1\",\"sections\":[{\"section\":1,\"values\":[{\"quantity\":\"ia\","
         "\"typed\":1.2}]}]}",
         422, "sections[0].values[0].typed", "decimal text"},
        {"{\"tester\":\"T1\",\"sections\":[{\"section\":1,\"values\":[{\"quantity\":\"gm\","
         "\"typed\":\"1.6\",\"unit\":\"mA\"}]}]}",
         422, "gm", "mA"},
        {"{\"tester\":\"T1\",\"sections\":[{\"values\":[{\"quantity\":\"heater\","
         "\"typed\":\"-300\"}]}]}",
         422, "heater", ""},
        {"{\"tester\":\"T1\",\"sections\":[{\"section\":1,\"values\":[{\"quantity\":\"slope\","
         "\"typed\":\"1.2\"}]}]}",
         422, "quantity", "slope"},
        {"{\"tester\":\"T1\",\"sections\":[{\"values\":[{\"quantity\":\"ia\","
         "\"typed\":\"1.2\"}]}]}",
         422, "section", "section by section"},
        {"{\"tester\":\"T9\",\"sections\":[{\"section\":1,\"values\":[{\"quantity\":\"ia\","
         "\"typed\":\"1.2\"}]}]}",
         404, "tester", "T9"},
        {"{\"tester\":\"T1\",\"test_point\":\"hot\",\"sections\":[{\"section\":1,\"values\":["
         "{\"quantity\":\"ia\",\"typed\":\"1.2\"}]}]}",
         404, "test_point", "grid"},
        {"{\"tester\":\"T1\",\"taken\":\"2030-01-01T00:00:00Z\",\"sections\":[{\"section\":1,"
         "\"values\":[{\"quantity\":\"ia\",\"typed\":\"1.2\"}]}]}",
         422, "taken", "future"},
        {"{\"tester\":\"T1\",\"taken\":\"2190-01-01T00:00:00Z\",\"sections\":[{\"section\":1,"
         "\"values\":[{\"quantity\":\"ia\",\"typed\":\"1.2\"}]}]}",
         422, "taken", "2190"},
        {"{\"tester\":\"T1\",\"sections\":[{\"section\":1,\"values\":[{\"quantity\":\"ia\","
         "\"typed\":\"1e3\"}]}]}",
         422, "sections[0].values[0].typed", ""},
    };
    make_tube("{\"printed\":\"12AX7\"}");
    for (size_t i = 0; i < ARRAY_LEN(bad); i++)
        ask_refused(POST, at("/readings"), bad[i].body, bad[i].status, bad[i].field, bad[i].words);
    assert_int_equal(ask_number("SELECT count(*) FROM reading"), 0);
    assert_int_equal(ask_number("SELECT count(*) FROM sitting"), 0);
}

static void a_type_without_a_point_is_not_measured(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"6N99S\"}");
    ask_refused(POST, at("/readings"), TWIN("1.2", "1.6", "1.2", "1.6"), 404, "test_point",
                "6N99S has no test point");
}

static void a_questioned_reading_is_kept_only_when_confirmed_and_flagged_for_ever(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\"}");
    /* 1600 typed on a scale of mA/V: micromho were meant */
    const char *slip = "{\"tester\":\"T1\",\"warm_s\":120,\"sections\":[{\"section\":1,\"values\":["
                       "{\"quantity\":\"gm\",\"typed\":\"1600\"}]}]}";
    int status = ask_with(POST, at("/readings"), slip, NULL, NULL);
    assert_int_equal(status, 409);
    assert_string_equal(ask_text("questions[0].rule"), "unit-slip");
    assert_string_equal(ask_text("questions[0].suggest"), "1.600");
    assert_int_equal(ask_number("SELECT count(*) FROM reading"), 0);
    ask_ok(POST, at("/readings"),
           "{\"tester\":\"T1\",\"warm_s\":20,\"confirm\":[\"short-heat\",\"warm-up\",\"heat\"],"
           "\"sections\":[{\"section\":1,\"values\":[{\"quantity\":\"gm\",\"typed\":\"1.6\"}]}]}");
    assert_int_equal(ask_number("SELECT count(*) FROM reading WHERE questions IS NOT NULL"), 1);
    assert_int_equal(ask_int("standing[0].questioned"), 1);
}

static void a_question_marks_only_the_section_that_it_was_asked_about(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\"}");
    assert_int_equal(ask_with(POST, at("/readings"),
                              "{\"tester\":\"T1\",\"warm_s\":120,\"sections\":["
                              "{\"section\":1,\"values\":[{\"quantity\":\"gm\",\"typed\":\"16\"}]},"
                              "{\"section\":2,\"values\":[{\"quantity\":\"gm\",\"typed\":"
                              "\"1.6\"}]}]}",
                              NULL, NULL),
                     409);
    char confirm[400] = "";
    for (size_t i = 0; i < ask_count("questions"); i++) {
        char where[64];
        snprintf(where, sizeof where, "questions[%zu].rule", i);
        size_t n = strlen(confirm);
        snprintf(confirm + n, sizeof confirm - n, "%s\"%s\"", i ? "," : "", ask_text(where));
    }
    char body[900];
    snprintf(body, sizeof body,
             "{\"tester\":\"T1\",\"warm_s\":120,\"confirm\":[%s],\"sections\":["
             "{\"section\":1,\"values\":[{\"quantity\":\"gm\",\"typed\":\"16\"}]},"
             "{\"section\":2,\"values\":[{\"quantity\":\"gm\",\"typed\":\"1.6\"}]}]}",
             confirm);
    ask_ok(POST, at("/readings"), body);
    assert_int_equal(ask_number("SELECT count(*) FROM reading WHERE section = 1 AND questions IS "
                                "NOT NULL"),
                     1);
    assert_int_equal(ask_number("SELECT count(*) FROM reading WHERE section = 2 AND questions IS "
                                "NOT NULL"),
                     0);
}

static void repeats_of_a_sitting_are_averaged_and_rounded_once(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\"}");
#define ONE                                                                         \
    "{\"tester\":\"T1\",\"warm_s\":120,\"sections\":[{\"section\":1,\"repeat\":%d," \
    "\"values\":[{\"quantity\":\"ia\",\"typed\":\"%s\"}]}]}"
    const char *typed[] = {"1.20", "1.21", "1.23"};
    char body[400];
    for (int i = 0; i < 3; i++) {
        ask_now += 1000;
        snprintf(body, sizeof body, ONE, i + 1, typed[i]);
        ask_ok(POST, at("/readings"), body);
    }
    /* (1.20 + 1.21 + 1.23) / 3 = 1.21333... */
    assert_string_equal(ask_text("standing[0].value"), "1.213");
    assert_int_equal(ask_int("standing[0].repeats"), 3);
    /* a day later is another sitting: it alone counts */
    ask_now += INT64_C(24) * 3600 * 1000;
    snprintf(body, sizeof body, ONE, 1, "1.30");
    ask_ok(POST, at("/readings"), body);
    assert_string_equal(ask_text("standing[0].value"), "1.300");
    assert_int_equal(ask_int("standing[0].repeats"), 1);
    /* voiding it brings the earlier sitting back */
    snprintf(path, sizeof path, "/api/readings/%lld/void", (long long)ask_int("readings[0].id"));
    ask_refused(POST, path, "{}", 422, "reason", "reason");
    ask_ok(POST, path, "{\"reason\":\"wrong tube in the socket\"}");
    ask_refused(POST, path, "{\"reason\":\"again\"}", 409, NULL, "voided before");
    ask_ok(GET, at("/readings"), NULL);
    assert_string_equal(ask_text("standing[0].value"), "1.213");
    assert_int_equal(ask_count("readings"), 4);
    assert_string_equal(ask_text("readings[0].void_reason"), "wrong tube in the socket");
}

static void the_same_reading_again_changes_nothing(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\"}");
    ask_ok(POST, at("/readings"), TWIN("1.20", "1.60", "1.18", "1.55"));
    int64_t rows = ask_number("SELECT count(*) FROM reading");
    int64_t journal = ask_number("SELECT count(*) FROM journal");
    ask_ok(POST, at("/readings"), TWIN("1.20", "1.60", "1.18", "1.55"));
    assert_int_equal(ask_number("SELECT count(*) FROM reading"), rows);
    assert_int_equal(ask_number("SELECT count(*) FROM journal"), journal);
    ask_refused(POST, at("/readings"), TWIN("1.21", "1.60", "1.18", "1.55"), 409, NULL,
                "void it first");
}

static void all_sections_of_a_save_are_kept_or_none(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\"}");
    ask_refused(POST, at("/readings"),
                "{\"tester\":\"T1\",\"warm_s\":120,\"sections\":[{\"section\":1,\"values\":["
                "{\"quantity\":\"ia\",\"typed\":\"1.2\"}]},{\"section\":2,\"values\":["
                "{\"quantity\":\"ia\",\"typed\":\"1.2\",\"unit\":\"furlong\"}]}]}",
                422, "ia", "furlong");
    assert_int_equal(ask_number("SELECT count(*) FROM reading"), 0);
}

/* ---- grade -------------------------------------------------------------------------------- */

static void a_grade_comes_with_its_reasons_and_what_was_not_tested(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\"}");
    ask_ok(POST, at("/readings"), TWIN("1.20", "1.60", "1.18", "1.55"));
    ask_ok(GET, at("/gradings"), NULL);
    assert_int_equal(ask_count("items"), 1);
    /* nothing was said of shorts: no grade can be given, and "not tested" is never "passed" */
    assert_string_equal(ask_text("items[0].grade"), "");
    assert_true(ask_count("items[0].reasons.untested") > 0);
    ask_now += 60000;
    ask_ok(POST, at("/readings"),
           "{\"tester\":\"T1\",\"warm_s\":120,\"sections\":[{\"values\":["
           "{\"quantity\":\"shorts\",\"typed\":\"0\"},{\"quantity\":\"gas\",\"typed\":\"0\"},"
           "{\"quantity\":\"leakage\",\"typed\":\"0\"}]}]}");
    assert_string_equal(ask_text("grade"), "good"); /* pins, getter and glass were not looked at */
    ask_ok(POST, at("/inspections"),
           "{\"findings\":[{\"aspect\":\"pins\",\"finding\":\"dull\"},"
           "{\"aspect\":\"getter\",\"finding\":\"full\"},"
           "{\"aspect\":\"glass\",\"finding\":\"sound\"}]}");
    ask_ok(GET, at("/gradings"), NULL); /* looking at it grades it anew */
    assert_string_equal(ask_text("items[0].grade"), "prime");
    size_t gradings = ask_count("items");
    ask_ok(POST, at("/gradings"), NULL); /* nothing has changed since */
    assert_int_equal(ask_count("items"), gradings);
    ask_ok(GET, at(""), NULL);
    assert_string_equal(ask_text("grade"), "prime");
}

static void the_journal_tells_what_was_done_and_holds_together(void **state)
{
    (void)state;
    make_tube("{\"printed\":\"12AX7\"}");
    ask_ok(POST, at("/moves"), "{\"state\":\"shelved\"}");
    ask_ok(GET, at("/journal"), NULL);
    assert_int_equal(ask_count("items"), 2);
    assert_string_equal(ask_text("items[0].act"), "move");
    assert_string_equal(ask_text("items[0].after.state"), "shelved");
    struct err e = ERR_INIT;
    if (!journal_verify(ask_store, &e))
        fail_msg("%s", e.text);
    ask_sql("DROP TRIGGER journal_no_update; UPDATE journal SET act = 'crate' WHERE seq = 2");
    assert_false(journal_verify(ask_store, &e));
    assert_non_null(strstr(e.text, "row 2"));
}

/* ---- sets --------------------------------------------------------------------------------- */

/* Eight ECC83 and 12AX7 of one maker: two clear quads by plate current. */
static void fill_shelf(void)
{
    static const char *const ia[8] = {"1.00", "1.01", "1.02", "1.03",
                                      "1.30", "1.31", "1.32", "1.33"};
    char body[700];
    for (int i = 0; i < 8; i++) {
        make_tube("{\"printed\":\"12AX7\",\"maker\":\"Halvorsen Rør\",\"bin\":\"A1\"}");
        ask_now += 1000;
        snprintf(body, sizeof body,
                 "{\"tester\":\"T1\",\"warm_s\":120,\"confirm\":[\"same-as-before\",\"outlier\","
                 "\"sections-swapped\",\"lot-outlier\"],\"sections\":["
                 "{\"section\":1,\"values\":[{\"quantity\":\"ia\",\"typed\":\"%s\"}]},"
                 "{\"section\":2,\"values\":[{\"quantity\":\"ia\",\"typed\":\"%s\"}]}]}",
                 ia[i], ia[7 - i]);
        ask_ok(POST, at("/readings"), body);
    }
}

static void partners_are_listed_nearest_first(void **state)
{
    (void)state;
    fill_shelf();
    ask_ok(GET, at("/partners?band=5%25&same=none"), NULL);
    assert_int_equal(ask_int("pool"), 8);
    assert_int_equal(ask_count("items"), 7);
    assert_int_equal(ask_int("items[0].holds"), 1);
    /* 1.33 with 1.32 on one section, 1.00 with 1.01 on the other: 0.76 % and 1.00 % */
    json_t *spread = ask_at("items[0].spread");
    assert_string_equal(json_string_value(json_object_get(spread, "ia.6")), "0.76%");
    assert_string_equal(json_string_value(json_object_get(spread, "ia.1")), "1.00%");
    assert_int_equal(ask_int("items[6].holds"), 0);
}

static void a_proposal_becomes_sets_once_and_never_with_a_tube_that_was_taken(void **state)
{
    (void)state;
    fill_shelf();
    const char *quads = "{\"family\":\"ECC83\",\"demand\":\"4\",\"band\":\"ia=5%\","
                        "\"same\":\"printed,maker\",\"seconds\":1}";
    ask_ok(POST, "/api/matches", quads);
    assert_int_equal(ask_int("pool"), 8);
    assert_int_equal(ask_int("lines[0].found"), 2);
    assert_true(ask_int("lines[0].bound") >= 2);
    assert_int_equal(ask_count("sets[0].members"), 4);
    int64_t first = ask_int("proposal");
    ask_ok(POST, "/api/matches", quads);
    int64_t second = ask_int("proposal");
    assert_true(second != first);
    snprintf(path, sizeof path, "/api/proposals/%lld/accept", (long long)first);
    ask_ok(POST, path, NULL);
    assert_int_equal(ask_count("items"), 2);
    assert_int_equal(ask_number("SELECT count(*) FROM set_member WHERE live = 1"), 8);
    ask_refused(POST, path, NULL, 409, NULL, "accepted already");
    snprintf(path, sizeof path, "/api/proposals/%lld/accept", (long long)second);
    ask_refused(POST, path, NULL, 409, NULL, number);
    assert_int_equal(ask_number("SELECT count(*) FROM matched_set"), 2);
    assert_int_equal(ask_number("SELECT count(*) FROM proposal WHERE state = 'open'"), 1);
    ask_ok(GET, "/api/sets?family=12AX7&size=4", NULL);
    assert_int_equal(ask_count("items"), 2);
    ask_ok(POST, "/api/sets/1/dissolve", NULL);
    assert_int_equal(ask_number("SELECT count(*) FROM set_member WHERE live = 1"), 4);
    ask_refused(POST, "/api/sets/1/dissolve", NULL, 409, NULL, "dissolved already");
    ask_ok(POST, "/api/matches", quads);
    assert_int_equal(ask_int("lines[0].found"), 1);
}

static void an_unknown_maker_never_matches(void **state)
{
    (void)state;
    for (int i = 0; i < 2; i++) {
        make_tube("{\"printed\":\"12AX7\"}");
        ask_now += 1000;
        ask_ok(POST, at("/readings"),
               "{\"tester\":\"T1\",\"warm_s\":120,\"confirm\":[\"same-as-before\"],\"sections\":["
               "{\"section\":1,\"values\":[{\"quantity\":\"ia\",\"typed\":\"1.2\"}]}]}");
    }
    ask_ok(POST, "/api/matches", "{\"family\":\"12AX7\",\"demand\":\"2\",\"band\":\"ia=5%\"}");
    assert_int_equal(ask_int("lines[0].found"), 0);
    ask_ok(POST, "/api/matches",
           "{\"family\":\"12AX7\",\"demand\":\"2\",\"band\":\"ia=5%\",\"same\":\"printed\"}");
    assert_int_equal(ask_int("lines[0].found"), 1);
}

static void what_is_not_for_sale_is_never_offered(void **state)
{
    (void)state;
    fill_shelf();
    ask_now += 1000;
    ask_ok(POST, at("/readings"),
           "{\"tester\":\"T1\",\"warm_s\":120,\"sections\":[{\"values\":["
           "{\"quantity\":\"shorts\",\"typed\":\"2\"}]}]}");
    assert_string_equal(ask_text("grade"), "reject");
    ask_ok(POST, "/api/matches",
           "{\"family\":\"12AX7\",\"demand\":\"2\",\"band\":\"ia=5%\",\"same\":\"printed\"}");
    assert_int_equal(ask_int("pool"), 7);
}

static void a_match_that_makes_no_sense_is_refused(void **state)
{
    (void)state;
    fill_shelf();
    ask_refused(POST, "/api/matches", "{\"family\":\"12AX7\",\"demand\":\"2\",\"band\":\"5\"}", 422,
                NULL, "5%");
    ask_refused(POST, "/api/matches", "{\"family\":\"12AX7\",\"demand\":\"1\",\"band\":\"5%\"}",
                422, "demand", "");
    ask_refused(POST, "/api/matches", "{\"demand\":\"2\",\"band\":\"5%\"}", 422, "family", "");
    ask_refused(POST, "/api/matches", "{\"family\":\"6V6GT\",\"demand\":\"2\",\"band\":\"ia=5%\"}",
                404, "family", "6V6GT");
    ask_refused(POST, "/api/matches",
                "{\"family\":\"12AX7\",\"demand\":\"2\",\"band\":\"ia=5%,gm=5%\"}", 404, NULL,
                "gm");
    assert_int_equal(ask_number("SELECT count(*) FROM proposal"), 0);
}

static void no_request_walks_a_large_table(void **state)
{
    (void)state;
    static const char *const lists[] = {
        "/api/tubes",
        "/api/tubes?lot=L1",
        "/api/tubes?bin=A1",
        "/api/tubes?type=12AX7",
        "/api/tubes?family=12AX7&state=tested",
        "/api/tubes?grade=good",
        "/api/tubes?maker=Halvorsen%20R%C3%B8r",
        "/api/tubes?state=tested",
        "/api/tubes?free=true",
        "/api/sets",
        "/api/sets?family=12AX7",
        "/api/lots",
        "/api/lots/L1",
        "/api/makers",
        "/api/bins",
        "/api/testers",
        "/api/quantities",
        "/api/constructions",
        "/api/inspection-vocabulary",
    };
    static const char *const of_tube[] = {"",          "/readings", "/inspections",
                                          "/gradings", "/journal",  "/partners"};
    fill_shelf();
    ask_ok(POST, "/api/matches",
           "{\"family\":\"12AX7\",\"demand\":\"4\",\"band\":\"ia=5%\","
           "\"same\":\"printed\",\"seconds\":1}");
    ask_ok(POST, "/api/proposals/1/accept", NULL);
    ask_ok(POST, "/api/sets/1/dissolve", NULL);
    for (size_t i = 0; i < ARRAY_LEN(lists); i++)
        ask_ok(GET, lists[i], NULL);
    for (size_t i = 0; i < ARRAY_LEN(of_tube); i++)
        ask_ok(GET, at(of_tube[i]), NULL);
    ask_no_scan();
}

int main(void)
{
#define T(f) cmocka_unit_test_setup_teardown(f, fresh, ask_close)
    const struct CMUnitTest tests[] = {
        T(a_tube_gets_the_next_number_with_its_check_digit),
        T(a_mistyped_number_is_refused_before_it_is_looked_for),
        T(what_is_not_known_is_refused_by_name),
        T(a_date_code_that_reads_as_a_window_gives_it),
        T(pieces_are_drawn_from_a_lot_line_until_none_is_left),
        T(a_mark_names_one_tube_alone_and_is_found_by_scanning),
        T(two_people_cannot_overwrite_each_other),
        T(illegal_moves_name_what_is_legal),
        T(the_same_key_makes_one_tube_and_another_body_is_refused),
        T(lists_filter_and_go_on_where_they_ended),
        T(reserved_numbers_are_not_given_to_others),
        T(a_look_is_kept_in_the_vocabulary_and_moves_the_tube_on),
        T(two_units_of_one_number_stand_as_one_value),
        T(bad_readings_are_refused_each_with_its_sentence),
        T(a_type_without_a_point_is_not_measured),
        T(a_questioned_reading_is_kept_only_when_confirmed_and_flagged_for_ever),
        T(a_question_marks_only_the_section_that_it_was_asked_about),
        T(repeats_of_a_sitting_are_averaged_and_rounded_once),
        T(the_same_reading_again_changes_nothing),
        T(all_sections_of_a_save_are_kept_or_none),
        T(a_grade_comes_with_its_reasons_and_what_was_not_tested),
        T(the_journal_tells_what_was_done_and_holds_together),
        T(partners_are_listed_nearest_first),
        T(a_proposal_becomes_sets_once_and_never_with_a_tube_that_was_taken),
        T(an_unknown_maker_never_matches),
        T(what_is_not_for_sale_is_never_offered),
        T(a_match_that_makes_no_sense_is_refused),
        T(no_request_walks_a_large_table),
    };
    return cmocka_run_group_tests_name("stock", tests, NULL, NULL);
}
