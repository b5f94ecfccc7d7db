/* SPDX-License-Identifier: MIT
 *
 * catalogue_own: types, statements and test points of one's own, beside the bundled ones: what is
 * refused and how, what overrides what, one by one and in bulk.  Rows cited are those of
 * seed-data/catalogue.
 */
#include "catalogue_ask.h"

#include <unistd.h>

/* ---- one's own --------------------------------------------------------------------------------
 */

#define OWN_TYPE                                                                           \
    "{\"designation\":\"1Q2W\",\"source\":\"measured on the bench\",\"class\":\"triode\"," \
    "\"heater_v\":\"6,3\",\"heater_a\":\"0.3\",\"base\":\"octal\",\"cyrillic\":\"1Э2В\"}"

static void an_own_type_is_found_by_its_spellings(void **state)
{
    (void)state;
    struct asked r = ask(POST, "/api/types", OWN_TYPE);
    assert_int_equal(r.status, 201);
    assert_string_equal(word(among(r.json, "facts", "field", "heater_v"), "known"), "own");
    assert_string_equal(word(r.json, "origin"), "own");
    assert_int_equal(number(r.json, "memory"), 0);
    assert_string_equal(word(first(lookup("1q2w"), "hits"), "type"), "1Q2W");
    assert_string_equal(word(first(lookup("1Э2В"), "hits"), "type"), "1Q2W");
    refused(ask(POST, "/api/types", OWN_TYPE), 409, "designation", "already");
}

static void a_wrong_own_type_is_refused_by_field(void **state)
{
    (void)state;
    static const struct {
        const char *fields, *field, *words;
    } rows[] = {
        {"\"designation\":\"1Q?W\",\"source\":\"x\"", "designation", "?"},
        {"\"designation\":\"1Q2W\"", "source", "source"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"heater_v\":6.3", "heater_v", "text"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"heater_v\":\"-6.3\"", "heater_v", "0"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"heater_v\":\"6300\"", "heater_v", "250"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"sections\":5", "sections", "4"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"pins\":\"1=q\"", "pins", "q"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"heating\":\"gas\"", "heating", "indirect"},
        {"\"designation\":\"12ax7\",\"source\":\"x\"", "designation", "12AX7"},
        {"\"designation\":\"12AX7\",\"source\":\"x\"", "designation", "change it"},
        {"\"designation\":\"6П6С\",\"source\":\"x\"", "designation", "6P6S"},
        {"\"designation\":\"1Q2W\",\"source\":\"x\",\"how\":\"found\"", "how", "how"},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct asked r = ask(POST, "/api/types", arena_printf(a, "{%s}", rows[i].fields));
        refused(r, r.status == 409 ? 409 : 422, rows[i].field, rows[i].words);
    }
}

/* equivalents.csv names 12SX7GT; types.csv has no row of it. */
static void a_type_known_by_its_name_alone_takes_own_figures(void **state)
{
    (void)state;
    assert_int_equal(json_array_size(json_object_get(type("12SX7GT"), "facts")), 0);
    struct asked r = ask(POST, "/api/types",
                         "{\"designation\":\"12SX7GT\",\"source\":\"own sheet\","
                         "\"heater_v\":\"12.6\",\"class\":\"twin triode\",\"sections\":2}");
    assert_int_equal(r.status, 201);
    assert_string_equal(word(among(r.json, "facts", "field", "sections"), "value"), "2");
    assert_string_equal(word(r.json, "origin"), "own");
}

static void own_figures_take_the_place_of_bundled_ones_and_survive(void **state)
{
    (void)state;
    static const char *const body = "{\"source\":\"own sheet\",\"class\":\"twin triode\","
                                    "\"heater_v\":\"12.6\",\"max_pa_w\":\"1.2\"}";
    refused(ask(PUT, "/api/types/12AX7", body), 422, NULL, "If-Match");
    struct asked was = ask(GET, "/api/types/12AX7", NULL);
    struct asked r =
        ask_matching(PUT, "/api/types/12AX7", body, arena_printf(a, "\"%s\"", was.etag));
    assert_int_equal(r.status, 200);
    assert_string_equal(word(among(r.json, "facts", "field", "max_pa_w"), "value"), "1.2");
    assert_string_equal(word(among(r.json, "facts", "field", "max_pa_w"), "known"), "own");
    refused(ask_matching(PUT, "/api/types/12AX7", body, arena_printf(a, "\"%s\"", was.etag)), 409,
            "If-Match", "read it again");
    struct err e = ERR_INIT;
    sqlite3_exec(store_handle(st), "DELETE FROM setting WHERE key = 'catalogue.bundle'", NULL, NULL,
                 NULL);
    assert_true(store_furnish(st, &e));
    assert_string_equal(word(among(type("12AX7"), "facts", "field", "max_pa_w"), "value"), "1.2");
    assert_non_null(among(equivalents("12AX7", ""), "same", "type", "ECC83"));
}

/* Heater 12.6 V against 6.3 V in types.csv. */
static void a_statement_that_the_figures_contradict_is_refused(void **state)
{
    (void)state;
    refused(ask(POST, "/api/equivalences",
                "{\"from\":\"6SN7GT\",\"to\":\"12SN7GT\",\"relation\":\"same\",\"source\":\"x\"}"),
            409, "relation", "heater");
    assert_null(among(equivalents("6SN7GT", ""), "same", "type", "12SN7GT"));
    refused(ask(POST, "/api/equivalences",
                "{\"from\":\"6SN7GT\",\"to\":\"6P6S\",\"relation\":\"close\",\"source\":\"x\"}"),
            422, "conditions", "what differs");
    refused(ask(POST, "/api/equivalences",
                "{\"from\":\"6SN7GT\",\"to\":\"6sn7gt\",\"relation\":\"same\",\"source\":\"x\"}"),
            422, "to", "itself");
    refused(ask(POST, "/api/equivalences",
                "{\"from\":\"QQ99XY\",\"to\":\"6P6S\",\"relation\":\"same\",\"source\":\"x\"}"),
            404, "from", "QQ99XY");
}

static void an_own_statement_joins_families_until_it_is_withdrawn(void **state)
{
    (void)state;
    assert_int_equal(ask(POST, "/api/types", OWN_TYPE).status, 201);
    put_tube(100001, "1Q2W", "NULL");
    assert_int_equal(ask(POST, "/api/types",
                         "{\"designation\":\"VZ77\",\"source\":\"own sheet\",\"heater_v\":\"6.3\"}")
                         .status,
                     201);
    struct asked r = ask(POST, "/api/equivalences",
                         "{\"from\":\"VZ77\",\"to\":\"1q2w\",\"relation\":\"same\",\"source\":"
                         "\"both opened and compared\"}");
    assert_int_equal(r.status, 201);
    assert_string_equal(word(r.json, "to"), "1Q2W");
    json_t *same = among(equivalents("VZ77", ""), "same", "type", "1Q2W");
    assert_string_equal(word(first(same, "steps"), "known"), "own");
    assert_string_equal(word(type("VZ77"), "family"), "1Q2W"); /* the lower row names it */
    json_t *tube = get(arena_printf(a, "/api/tubes/%lld", (long long)stockno_make(100001)));
    assert_string_equal(word(tube, "family"), "1Q2W");
    r = ask(DELETE, "/api/equivalences?from=VZ77&to=1Q2W", NULL);
    assert_int_equal(r.status, 204);
    assert_string_equal(word(type("VZ77"), "family"), "");
    refused(ask(DELETE, "/api/equivalences?from=VZ77&to=1Q2W", NULL), 404, NULL, "bundled");
}

static void an_own_statement_overrides_the_bundled_one_and_says_so(void **state)
{
    (void)state;
    struct asked r = ask(POST, "/api/equivalences",
                         "{\"from\":\"12AX7\",\"to\":\"ECC83\",\"relation\":\"close\","
                         "\"conditions\":\"hum differs in our amplifier\",\"source\":\"tried\"}");
    assert_int_equal(r.status, 201);
    json_t *t = type("ECC83");
    json_t *aside = among(t, "set_aside", "relation", "same");
    assert_non_null(aside);
    assert_string_equal(word(aside, "from"), "12AX7");
    assert_int_equal(ask(DELETE, "/api/equivalences?from=12AX7&to=ECC83", NULL).status, 204);
    assert_int_equal(json_array_size(json_object_get(type("ECC83"), "set_aside")), 0);
    assert_string_equal(word(type("ECC83"), "family"), "12AX7");
}

#define OWN_POINT                                                                                 \
    "{\"code\":\"low\",\"title\":\"Plate 100 V, grid -1 V\",\"held\":\"grid\",\"va\":\"0.1 kV\"," \
    "\"vg1\":\"-1000 mV\",\"source\":\"house rule\",\"figures\":[{\"quantity\":\"gm\","           \
    "\"nominal\":\"1250 micromho\",\"low\":\"0.9 mA/V\"}]}"

static void an_own_test_point_is_kept_in_its_quantitys_unit(void **state)
{
    (void)state;
    struct asked r = ask(POST, "/api/types/12AX7/test-points", OWN_POINT);
    assert_int_equal(r.status, 201);
    assert_string_equal(word(r.json, "va"), "100 V");
    assert_string_equal(word(r.json, "vg1"), "-1 V");
    assert_string_equal(word(r.json, "known"), "own");
    json_t *gm = among(r.json, "figures", "quantity", "gm");
    assert_string_equal(word(gm, "nominal"), "1.250 mA/V");
    assert_string_equal(word(gm, "low"), "0.900 mA/V");
    assert_non_null(among(get("/api/types/12AX7/test-points"), "items", "code", "low"));
    assert_non_null(among(get("/api/types/12AX7/test-points"), "items", "code", "grid"));
    refused(ask(POST, "/api/types/12AX7/test-points", OWN_POINT), 409, "code", "low");
}

static void a_wrong_test_point_is_refused_by_field(void **state)
{
    (void)state;
    static const struct {
        const char *fields, *field, *words;
    } rows[] = {
        {"\"held\":\"grid\",\"va\":\"250\",\"vg1\":\"-2 V\"", "va", "no unit"},
        {"\"held\":\"grid\",\"va\":\"250 mA\",\"vg1\":\"-2 V\"", "va", "mA"},
        {"\"held\":\"grid\",\"va\":250,\"vg1\":\"-2 V\"", "va", "text"},
        {"\"held\":\"grid\",\"va\":\"250 V\"", "vg1", "must be given"},
        {"\"held\":\"cathode\",\"va\":\"250 V\",\"vg1\":\"-2 V\",\"rk\":\"470 ohm\"", "vg1",
         "must stay empty"},
        {"\"held\":\"magnet\",\"va\":\"250 V\"", "held", "cathode"},
        {"\"held\":\"grid\",\"va\":\"250 V\",\"vg1\":\"-2 V\",\"section\":\"x\"", "section", "t"},
        {"\"held\":\"grid\",\"va\":\"250 V\",\"vg1\":\"-2 V\",\"figures\":[{\"quantity\":\"gm\","
         "\"nominal\":\"1.6\"}]",
         "figures[0]", "no unit"},
        {"\"held\":\"grid\",\"va\":\"250 V\",\"vg1\":\"-2 V\",\"figures\":[{\"quantity\":\"zz\","
         "\"nominal\":\"1.6 mA\"}]",
         "figures[0]", "there are"},
        {"\"held\":\"grid\",\"va\":\"250 V\",\"vg1\":\"-2 V\",\"figures\":[{\"quantity\":\"gm\","
         "\"low\":\"2 mA/V\",\"high\":\"1 mA/V\"}]",
         "figures[0]", "above"},
        {"\"held\":\"grid\",\"va\":\"250 V\",\"vg1\":\"-2 V\",\"figures\":[{\"quantity\":\"gm\"}]",
         "figures[0]", "nominal"},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++)
        refused(ask(POST, "/api/types/12AX7/test-points",
                    arena_printf(a, "{\"code\":\"x\",\"title\":\"x\",\"source\":\"x\",%s}",
                                 rows[i].fields)),
                422, rows[i].field, rows[i].words);
    refused(ask(POST, "/api/types/12AX7/test-points",
                "{\"code\":\"A B\",\"title\":\"x\",\"source\":\"x\",\"held\":\"none\"}"),
            422, "code", "small letters");
}

/* ---- one's own, in bulk -----------------------------------------------------------------------
 */

static json_t *load(const char *path, const char *csv, int status)
{
    char file[] = "/tmp/quadrille-test-XXXXXX";
    int fd = mkstemp(file);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, csv, strlen(csv)), (ssize_t)strlen(csv));
    close(fd);
    struct call *c = call_new();
    c->method = POST;
    c->path = path;
    c->query = "";
    c->content_type = "text/csv";
    c->upload = file;
    c->peer = "local";
    c->trusted = true;
    c->now_ms = 1700000000000;
    call_serve(c, st);
    unlink(file);
    const char *text = arena_bytes(a, c->answer, c->answer_n);
    if (c->status != status)
        fail_msg("%s: %d %s", path, c->status, text);
    call_free(c);
    return roots[root_count++] = json_loads(text, 0, NULL);
}

static void counts(json_t *r, int64_t accepted, int64_t unchanged, int64_t refused_lines)
{
    if (number(r, "accepted") != accepted || number(r, "unchanged") != unchanged ||
        number(r, "refused") != refused_lines)
        fail_msg("wanted %d, %d, %d: %s", (int)accepted, (int)unchanged, (int)refused_lines,
                 json_dumps(r, 0));
}

static void types_are_loaded_in_bulk_and_again_change_nothing(void **state)
{
    (void)state;
    static const char csv[] = "designation,source,class,heater_v,sections,pins\n"
                              "1Q2W,own sheet,triode,6.3,1,\n"
                              "1Q3W,own sheet,triode,6300,1,\n"
                              "12ax7,own sheet,triode,6.3,1,\n"
                              "1Q4W,,triode,6.3,1,\n"
                              "1Q5W,own sheet,triode,6.3,1,9=q\n"
                              "12SX7GT,own sheet,twin triode,12.6,2,\n";
    json_t *r = load("/api/load/types", csv, 200);
    counts(r, 2, 0, 4);
    json_t *p = json_object_get(r, "problems");
    static const struct {
        int line;
        const char *field, *came;
    } wanted[] = {{3, "heater_v", "6300"},
                  {4, "designation", "12ax7"},
                  {5, "source", ""},
                  {6, "pins", "9=q"}};
    for (size_t i = 0; i < ARRAY_LEN(wanted); i++) {
        json_t *one = json_array_get(p, i);
        assert_int_equal(number(one, "line"), wanted[i].line);
        assert_string_equal(word(one, "field"), wanted[i].field);
        assert_string_equal(word(one, "came"), wanted[i].came);
    }
    counts(load("/api/load/types", csv, 200), 0, 2, 4);
    assert_string_equal(word(type("12SX7GT"), "origin"), "own");
    counts(load("/api/load/types", "designation,source,class,heater_v\n1Q2W,own sheet,triode,6.2\n",
                200),
           1, 0, 0);
    assert_string_equal(word(among(type("1Q2W"), "facts", "field", "heater_v"), "value"), "6.2");
}

static void statements_are_loaded_in_bulk_and_contradictions_named(void **state)
{
    (void)state;
    static const char csv[] = "from,to,relation,conditions,source\n"
                              "6SN7GT,12SN7GT,same,,tried\n"
                              "6SN7GT,6P6S,close,,tried\n"
                              "QQ99XY,6P6S,same,,tried\n"
                              "6SN7GT,6P6S,twin,,tried\n"
                              "6P6S,6П7С,cap-differs,anode on a top cap,tried\n";
    json_t *r = load("/api/load/equivalences", csv, 200), *p = json_object_get(r, "problems");
    counts(r, 1, 0, 4);
    static const char *const fields[] = {"relation", "conditions", "from", "relation"};
    for (size_t i = 0; i < ARRAY_LEN(fields); i++) {
        assert_int_equal(number(json_array_get(p, i), "line"), (int)i + 2);
        assert_string_equal(word(json_array_get(p, i), "field"), fields[i]);
    }
    assert_non_null(strstr(word(json_array_get(p, 0), "sentence"), "heater"));
    json_t *s = among(equivalents("6P6S", "?steps=1"), "instead", "type", "6P7S");
    assert_string_equal(word(first(s, "steps"), "known"), "own");
    counts(load("/api/load/equivalences", csv, 200), 0, 1, 4);
}

int main(void)
{
#define FRESH(t) cmocka_unit_test_setup_teardown(t, fresh, gone)
    const struct CMUnitTest tests[] = {
        FRESH(an_own_type_is_found_by_its_spellings),
        FRESH(a_wrong_own_type_is_refused_by_field),
        FRESH(a_type_known_by_its_name_alone_takes_own_figures),
        FRESH(own_figures_take_the_place_of_bundled_ones_and_survive),
        FRESH(a_statement_that_the_figures_contradict_is_refused),
        FRESH(an_own_statement_joins_families_until_it_is_withdrawn),
        FRESH(an_own_statement_overrides_the_bundled_one_and_says_so),
        FRESH(an_own_test_point_is_kept_in_its_quantitys_unit),
        FRESH(a_wrong_test_point_is_refused_by_field),
        FRESH(types_are_loaded_in_bulk_and_again_change_nothing),
        FRESH(statements_are_loaded_in_bulk_and_contradictions_named),
    };
    return cmocka_run_group_tests_name("one's own catalogue", tests, NULL, NULL);
}
