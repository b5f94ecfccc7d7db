/* SPDX-License-Identifier: MIT
 *
 * Every row of the bundled catalogue, checked by machine; what is known to be doubtful stands in
 * doubts.csv with its reason, and nothing else may be.
 */
#include "bundled_catalogue.h"

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

static bool doubt_is_known(const struct catalogue *c, const char *designation, const char *check)
{
    size_t n;
    const struct known_doubt *d = catalogue_doubts(c, &n);
    for (size_t i = 0; i < n; i++)
        if (strcmp(d[i].designation, designation) == 0 && strcmp(d[i].check, check) == 0)
            return *d[i].why != 0;
    return false;
}

static void no_row_contradicts_itself_but_for_the_known_doubts(void **state)
{
    const struct catalogue *c = *state;
    int unknown = 0;
    for (int i = 0; i < catalogue_type_count(c); i++) {
        struct type_doubt d[8];
        const struct type *t = catalogue_type(c, i);
        size_t n = type_doubts(d, ARRAY_LEN(d), t);
        assert_true(n <= ARRAY_LEN(d));
        for (size_t k = 0; k < n; k++)
            if (!doubt_is_known(c, t->designation, d[k].check)) {
                print_error("%s, %s: %s\n", t->designation, d[k].check, d[k].text);
                unknown++;
            }
    }
    assert_int_equal(unknown, 0);
}

static void a_known_doubt_is_still_there(void **state)
{
    const struct catalogue *c = *state;
    size_t n;
    const struct known_doubt *known = catalogue_doubts(c, &n);
    for (size_t i = 0; i < n; i++) {
        struct type_doubt d[8];
        const struct type *t = catalogue_type(c, catalogue_find(c, known[i].designation));
        size_t found = type_doubts(d, ARRAY_LEN(d), t);
        bool there = false;
        for (size_t k = 0; k < found; k++)
            there = there || strcmp(d[k].check, known[i].check) == 0;
        if (!there)
            fail_msg("%s, %s: no longer in doubt, take it out", known[i].designation,
                     known[i].check);
    }
}

static void each_kind_of_contradiction_is_found(void **state)
{
    /* a sound row, spoilt in one place each */
    const struct catalogue *c = *state;
    const struct type *pentode = catalogue_type(c, catalogue_find(c, "6V6GT"));
    const struct type *triode = catalogue_type(c, catalogue_find(c, "12AX7"));
    struct {
        const char *check;
        struct type t;
    } cases[] = {{"mu", *triode},     {"dissipation", *pentode}, {"screen", *pentode},
                 {"limit", *pentode}, {"pins", *pentode},        {"heater", *triode},
                 {"pins", *pentode},  {"limit", *pentode}};
    struct type_doubt d[8];
    assert_int_equal(type_doubts(d, ARRAY_LEN(d), pentode), 0);
    assert_int_equal(type_doubts(d, ARRAY_LEN(d), triode), 0);
    cases[0].t.mu_milli = 120000;
    cases[1].t.ia_ua = 60000;
    cases[2].t.ig2_ua = 9000;
    cases[3].t.max_va_mv = 200000;
    assert_true(pinout_parse(&cases[4].t.pins, "2=h;3=a;5=g1;7=h;8=k", cases[4].t.known, NULL));
    cases[5].t.heater_mv = 6300;
    cases[6].t.top_cap = 1;
    cases[7].t.max_vg2_mv = 200000;
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        bool found = false;
        size_t n = type_doubts(d, ARRAY_LEN(d), &cases[i].t);
        for (size_t k = 0; k < n; k++)
            found = found || strcmp(d[k].check, cases[i].check) == 0;
        if (!found)
            fail_msg("case %zu: %s is not found", i, cases[i].check);
    }
}

static void every_base_is_known_and_no_pin_lies_beyond_it(void **state)
{
    const struct catalogue *c = *state;
    for (int i = 0; i < catalogue_type_count(c); i++) {
        const struct type *t = catalogue_type(c, i);
        if (*t->base && !t->known)
            fail_msg("%s: base \"%s\" is not known", t->designation, t->base);
    }
}

static void every_statement_says_where_it_comes_from(void **state)
{
    const struct catalogue *c = *state;
    size_t n;
    const struct edge *edges = catalogue_edges(c, &n);
    for (size_t i = 0; i < n; i++) {
        assert_true(*edges[i].said.source);
        assert_true(edges[i].said.how != HOW_FOUND || *edges[i].said.where);
    }
    for (int i = 0; i < catalogue_type_count(c); i++) {
        const struct type *t = catalogue_type(c, i);
        if (!*t->class)
            continue; /* a bare type */
        assert_true(*t->source);
        assert_true(t->how != HOW_FOUND || (t->found && *t->where));
        assert_true(t->how != HOW_OWN);
    }
}

static void every_test_point_is_the_published_point_of_its_type(void **state)
{
    const struct catalogue *c = *state;
    size_t n, values;
    const struct point *p = catalogue_points(c, &n);
    const struct point_value *v = catalogue_values(c, &values);
    assert_true(n >= 100);
    for (size_t i = 0; i < n; i++) {
        struct err e = ERR_INIT;
        const struct type *t = catalogue_type(c, catalogue_find(c, p[i].designation));
        bool ia = false, gm = false;
        if (!point_agrees(&p[i], t, &e))
            fail_msg("%s", e.text);
        bool amplifies = type_amplifies(t), drop = false;
        assert_true(amplifies ? p[i].va_mv != NONE : p[i].ia_ua != NONE);
        assert_true(!type_has_screen(t) || p[i].vg2_mv != NONE || strcmp(p[i].section, "t") == 0);
        for (size_t k = 0; k < values; k++) {
            if (strcmp(v[k].designation, p[i].designation) || strcmp(v[k].code, p[i].code))
                continue;
            bool main = strcmp(p[i].section, "t") != 0 || !*t->section2;
            if (strcmp(v[k].quantity, "ia") == 0) {
                ia = true;
                assert_true(!main || v[k].nominal == t->ia_ua);
            }
            drop = drop || strcmp(v[k].quantity, "drop") == 0;
            if (strcmp(v[k].quantity, "gm") == 0) {
                gm = true;
                assert_true(!main || v[k].nominal == t->gm_ua_per_v);
            }
        }
        assert_true(amplifies ? ia && gm : drop);
    }
}

/* seed-data/catalogue/types.csv, the row itself */
static void a_row_is_read_as_it_is_written(void **state)
{
    const struct catalogue *c = *state;
    const struct type *t = catalogue_type(c, catalogue_find(c, "12AX7"));
    assert_int_equal(t->heater_mv, 12600);
    assert_int_equal(t->heater_ma, 150);
    assert_int_equal(t->vg1_mv, -2000);
    assert_int_equal(t->ia_ua, 1200);
    assert_int_equal(t->gm_ua_per_v, 1600);
    assert_int_equal(t->mu_milli, 100000);
    assert_int_equal(t->rp_ohm, 62500);
    assert_true(type_field_found(t, TYPE_MU));
    assert_true(type_field_found(t, TYPE_GM_MA_PER_V));
    assert_false(type_field_found(t, TYPE_ENVELOPE));
    assert_int_equal(t->how, HOW_FOUND);
    assert_int_equal(t->pins.count, 9);
    assert_true(pinout_has(&t->pins, ELECTRODE_HCT));
    t = catalogue_type(c, catalogue_find(c, "6L6G"));
    assert_false(type_field_found(t, TYPE_MAX_PA_W)); /* read for another form only */
    t = catalogue_type(c, catalogue_find(c, "CV4004"));
    assert_int_equal(t->max_va_mv, NONE);
}

static bool has_hazard(const struct catalogue *c, const char *designation, enum hazard_kind kind)
{
    size_t n;
    const struct hazard *h = catalogue_hazards(c, &n);
    for (size_t i = 0; i < n; i++)
        if (strcmp(h[i].designation, designation) == 0 && h[i].kind == kind)
            return true;
    return false;
}

static void a_hazard_stands_beside_every_name_of_its_tube(void **state)
{
    const struct catalogue *c = *state;
    struct arena *a = arena_new();
    size_t links, n;
    const struct link *l = catalogue_links(c, &links, a);
    struct graph *g = graph_new(a, catalogue_type_count(c), l, links);
    const struct hazard *h = catalogue_hazards(c, &n);
    for (size_t i = 0; i < n; i++) {
        size_t members;
        const int *m = family_members(g, catalogue_find(c, h[i].designation), &members, a);
        for (size_t k = 0; k < members; k++)
            if (!has_hazard(c, catalogue_type(c, m[k])->designation, h[i].kind))
                fail_msg("%s is %s, but %s, the same tube, is not", h[i].designation,
                         hazard_words[h[i].kind], catalogue_type(c, m[k])->designation);
    }
    arena_free(a);
    assert_true(has_hazard(c, "83", HAZARD_MERCURY));
    assert_true(has_hazard(c, "866A", HAZARD_MERCURY));
    assert_true(has_hazard(c, "0A2", HAZARD_RADIOACTIVE));
    assert_true(has_hazard(c, "VT-100", HAZARD_HIGH_VOLTAGE)); /* an 807 by its services' name */
}

static void a_designation_known_only_from_a_statement_is_a_bare_type(void **state)
{
    const struct catalogue *c = *state;
    int i = catalogue_find(c, "12DW7");
    assert_true(i >= 0);
    assert_int_equal(catalogue_type(c, i)->heater_mv, NONE);
    assert_string_equal(catalogue_type(c, i)->class, "");
    assert_int_equal(catalogue_find(c, "6П6С"), -1); /* a spelling, not a type */
}

/* ---- refusals ------------------------------------------------------------------------------- */

struct memory_text {
    const char *s;
    size_t n;
};

static long memory_read(void *ctx, char *buf, size_t n)
{
    struct memory_text *m = ctx;
    size_t take = m->n < n ? m->n : n;
    memcpy(buf, m->s, take);
    m->s += take;
    m->n -= take;
    return (long)take;
}

static void keep_bad(void *ctx, const struct err *e)
{
    *(struct err *)ctx = *e;
}

static void a_bad_line_is_named_and_the_good_ones_stay(void **state)
{
    static const struct {
        enum catalogue_file file;
        const char *text;
        int64_t line;
        const char *field, *says;
    } cases[] = {
        {FILE_TYPES, "designation,heater_v\n6X1,six\n6X2,6.3\n", 2, "heater_v", "six"},
        {FILE_TYPES, "designation,heater_v\n6X2,6.3\n6X1,-6.3\n", 3, "heater_v", "between"},
        {FILE_TYPES, "designation,base,pins\n6X1,octal,9=a\n6X2,,\n", 2, "pins", "1 to 8"},
        {FILE_TYPES, "designation,base,pins\n6X1,octal,2=q\n6X2,,\n", 2, "pins", "electrode"},
        {FILE_TYPES, "designation,base,pins\n6X1,octal,2=a;2=k\n6X2,,\n", 2, "pins", "twice"},
        {FILE_TYPES, "designation,pins\n6X1,2a\n6X2,\n", 2, "pins", "\"=\""},
        {FILE_TYPES, "designation,how\n6X1,rumour\n6X2,\n", 2, "how", "found, memory, own"},
        {FILE_TYPES, "designation,heating,heater_v\n6X1,cold,6.3\n6X2,,\n", 2, "heating", "cold"},
        {FILE_TYPES, "designation,top_cap,pins\n6X1,no,tc=a\n6X2,,\n", 2, "top_cap", "tc"},
        {FILE_TYPES, "designation\n6?\n6X2\n", 2, "designation", "none of these"},
        {FILE_TYPES, "designation,system\n6X2,RETMA\n6X2,RETMA\n", 3, "designation", "already"},
        {FILE_TYPES, "designation,base\n6X1\n6X2,\n", 2, "", "header line has 2"},
        {FILE_EQUIVALENTS, "from,to,relation\n6X1,6X1,same\n6X1,6X2,same\n", 2, "to", "itself"},
        {FILE_EQUIVALENTS, "from,to,relation\n6X1,6X3,alike\n6X1,6X2,same\n", 2, "relation",
         "same, improved"},
        {FILE_EQUIVALENTS, "from,to,relation\n6X1,6X3,close\n6X1,6X2,same\n", 2, "conditions",
         "what differs"},
        {FILE_EQUIVALENTS, "from,to,relation\n6X1,6X2,same\n6X1,6X2,improved\n", 3, "to",
         "stated already"},
        {FILE_HAZARDS, "designation,hazard,words\n9Z9,hot,mind\n", 2, "designation",
         "not in the catalogue"},
        {FILE_TEST_POINTS, "designation,code,title,held,vg1_v\n9Z9,a,A,grid,\n", 2, "vg1_v",
         "must be given"},
        {FILE_TEST_POINTS, "designation,code,title,held,vg1_v\n9Z9,A b,A,none,\n", 2, "code",
         "small letters"},
    };
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        struct catalogue *c = catalogue_new();
        struct memory_text m = {cases[i].text, strlen(cases[i].text)};
        struct err bad = ERR_INIT, e = ERR_INIT;
        struct load_count count;
        assert_true(catalogue_load(c, cases[i].file, memory_read, &m, keep_bad, &bad, &count, &e));
        assert_int_equal(count.refused, 1);
        assert_int_equal(bad.line, cases[i].line);
        assert_string_equal(bad.field, cases[i].field);
        if (!strstr(bad.text, cases[i].says))
            fail_msg("case %zu: \"%s\" does not say \"%s\"", i, bad.text, cases[i].says);
        if (cases[i].file <= FILE_EQUIVALENTS && catalogue_find(c, "6X2") < 0)
            fail_msg("case %zu: the good line is lost", i);
        catalogue_free(c);
    }
}

static void a_header_line_that_makes_no_sense_stops_the_file(void **state)
{
    static const struct {
        const char *text, *says;
    } cases[] = {
        {"", "empty"},
        {"designation,heater_volts\n", "heater_volts"},
        {"heater_v\n6.3\n", "\"designation\" is missing"},
        {"designation,base,base\n", "twice"},
    };
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        struct catalogue *c = catalogue_new();
        struct memory_text m = {cases[i].text, strlen(cases[i].text)};
        struct err e = ERR_INIT;
        struct load_count count;
        assert_false(catalogue_load(c, FILE_TYPES, memory_read, &m, NULL, NULL, &count, &e));
        assert_non_null(strstr(e.text, cases[i].says));
        catalogue_free(c);
    }
}

static void same_is_refused_where_the_heaters_differ(void **state)
{
    (void)state;
    struct catalogue *c = catalogue_new();
    struct memory_text types = {"designation,heater_v,heater_a\n6X1,6.3,0.3\n12X1,12.6,0.15\n", 0};
    struct memory_text same = {"from,to,relation\n6X1,12X1,same\n", 0};
    struct err bad = ERR_INIT, e = ERR_INIT;
    struct load_count count;
    types.n = strlen(types.s);
    same.n = strlen(same.s);
    assert_true(catalogue_load(c, FILE_TYPES, memory_read, &types, NULL, NULL, &count, &e));
    assert_int_equal(count.taken, 2);
    assert_true(
        catalogue_load(c, FILE_EQUIVALENTS, memory_read, &same, keep_bad, &bad, &count, &e));
    assert_int_equal(count.refused, 1);
    assert_string_equal(bad.field, "relation");
    assert_non_null(strstr(bad.text, "6.300 V"));
    assert_non_null(strstr(bad.text, "12.600 V"));
    catalogue_free(c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_row_contradicts_itself_but_for_the_known_doubts),
        cmocka_unit_test(a_known_doubt_is_still_there),
        cmocka_unit_test(each_kind_of_contradiction_is_found),
        cmocka_unit_test(every_base_is_known_and_no_pin_lies_beyond_it),
        cmocka_unit_test(every_statement_says_where_it_comes_from),
        cmocka_unit_test(every_test_point_is_the_published_point_of_its_type),
        cmocka_unit_test(a_row_is_read_as_it_is_written),
        cmocka_unit_test(a_hazard_stands_beside_every_name_of_its_tube),
        cmocka_unit_test(a_designation_known_only_from_a_statement_is_a_bare_type),
        cmocka_unit_test(a_bad_line_is_named_and_the_good_ones_stay),
        cmocka_unit_test(a_header_line_that_makes_no_sense_stops_the_file),
        cmocka_unit_test(same_is_refused_where_the_heaters_differ),
    };
    return cmocka_run_group_tests_name("catalogue", tests, make, unmake);
}
