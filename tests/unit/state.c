/* SPDX-License-Identifier: MIT
 *
 * The life of a tube.  What is expected here is the list of states of the design (section 4) and
 * the house rules of its heading comment; the trigger itself is run by the tests of the schema.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "order/state.h"

static void every_state_of_the_design_is_known_by_its_code(void **state)
{
    (void)state;
    /* design, section 4, "A tube's state is its life only" */
    static const char *const all[] = {"received", "inspected", "tested",   "shelved",
                                      "shipped",  "returned",  "scrapped", "check-tube"};
    assert_int_equal(ARRAY_LEN(all), TUBE_STATE__COUNT);
    for (size_t i = 0; i < ARRAY_LEN(all); i++) {
        enum tube_state s;
        struct err e = ERR_INIT;
        assert_true(tube_state_find(&s, all[i], strlen(all[i]), &e));
        assert_string_equal(tube_state_code(s), all[i]);
    }
}

static void an_unknown_state_is_refused_with_the_states_there_are(void **state)
{
    (void)state;
    enum tube_state s = TUBE_SHELVED;
    struct err e = ERR_INIT;
    assert_false(tube_state_find(&s, "sold", 4, &e));
    assert_int_equal(e.code, ERR_INVALID);
    assert_string_equal(e.text,
                        "\"sold\" is no state of a tube: there are received, inspected, tested, "
                        "shelved, shipped, returned, scrapped, check-tube");
    assert_int_equal(s, TUBE_SHELVED);
    assert_false(tube_state_find(&s, "Tested", 6, &e));
    assert_false(tube_state_find(&s, "", 0, &e));
}

static void moves_of_the_bench_and_the_counter_are_legal(void **state)
{
    (void)state;
    static const enum tube_state way[] = {
        TUBE_RECEIVED, TUBE_INSPECTED,  TUBE_TESTED, TUBE_SHELVED, TUBE_SHIPPED, TUBE_RETURNED,
        TUBE_TESTED,   TUBE_CHECK_TUBE, TUBE_TESTED, TUBE_SHELVED, TUBE_SCRAPPED};
    struct err e = ERR_INIT;
    for (size_t i = 1; i < ARRAY_LEN(way); i++)
        assert_true(tube_move_check(way[i - 1], way[i], &e));
}

static void what_must_never_happen_is_not_legal(void **state)
{
    (void)state;
    /* house rules: nothing is sold that is scrapped, returned or kept as a check tube; nothing that
     * came back goes on the shelf unseen; nobody has a tube back that was not shipped */
    static const struct {
        enum tube_state from, to;
    } never[] = {
        {TUBE_SCRAPPED, TUBE_SHIPPED},   {TUBE_SCRAPPED, TUBE_SHELVED},
        {TUBE_RETURNED, TUBE_SHIPPED},   {TUBE_RETURNED, TUBE_SHELVED},
        {TUBE_CHECK_TUBE, TUBE_SHIPPED}, {TUBE_CHECK_TUBE, TUBE_SHELVED},
        {TUBE_RECEIVED, TUBE_SHIPPED},   {TUBE_RECEIVED, TUBE_RETURNED},
        {TUBE_SHELVED, TUBE_RETURNED},   {TUBE_SHELVED, TUBE_RECEIVED},
        {TUBE_SHIPPED, TUBE_SCRAPPED},   {TUBE_SHIPPED, TUBE_TESTED},
    };
    for (size_t i = 0; i < ARRAY_LEN(never); i++)
        assert_false(tube_move_legal(never[i].from, never[i].to));
}

static void an_illegal_move_says_what_would_be_legal(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    assert_false(tube_move_check(TUBE_RETURNED, TUBE_SHELVED, &e));
    assert_int_equal(e.code, ERR_CONFLICT);
    assert_string_equal(e.text,
                        "a returned tube cannot become shelved: it may become inspected, tested "
                        "or scrapped");
    assert_false(tube_move_check(TUBE_INSPECTED, TUBE_SHIPPED, &e));
    assert_string_equal(e.text,
                        "an inspected tube cannot become shipped: it may become tested, shelved "
                        "or scrapped");
    assert_false(tube_move_check(TUBE_CHECK_TUBE, TUBE_SHIPPED, &e));
    assert_string_equal(e.text,
                        "a check-tube cannot become shipped: it may become tested or scrapped");
    assert_false(tube_move_check(TUBE_SCRAPPED, TUBE_SHELVED, &e));
    assert_string_equal(e.text, "a scrapped tube cannot become shelved: it may become received");
}

static void the_table_is_ordered_and_no_state_is_a_dead_end_or_out_of_reach(void **state)
{
    (void)state;
    size_t count;
    const struct tube_move *m = tube_moves(&count);
    bool left[TUBE_STATE__COUNT] = {0}, reached[TUBE_STATE__COUNT] = {[TUBE_RECEIVED] = true};
    for (size_t i = 0; i < count; i++) {
        assert_int_not_equal(m[i].from, m[i].to);
        assert_true(strlen(m[i].why) > 0);
        assert_true(tube_move_find(m[i].from, m[i].to) == &m[i]);
        if (i)
            assert_true(m[i - 1].from < m[i].from ||
                        (m[i - 1].from == m[i].from && m[i - 1].to < m[i].to));
        left[m[i].from] = reached[m[i].to] = true;
    }
    for (int s = 0; s < TUBE_STATE__COUNT; s++)
        assert_true(left[s] && reached[s]);
}

static void the_trigger_names_every_state_and_never_overruns_its_buffer(void **state)
{
    (void)state;
    char sql[TUBE_MOVES_SQL_BYTES];
    size_t need = tube_moves_sql(sql, sizeof sql);
    assert_true(need < sizeof sql);
    assert_int_equal(strlen(sql), need);
    assert_non_null(strstr(sql, "CREATE TRIGGER tube_move BEFORE UPDATE OF state ON tube\n"));
    assert_non_null(strstr(sql,
                           "RAISE(ABORT, 'a returned tube may only become inspected, tested or "
                           "scrapped')\n    WHERE OLD.state = 'returned' AND NEW.state NOT IN "
                           "('inspected', 'tested', 'scrapped');\n"));
    assert_string_equal(sql + need - 5, "END;\n");
    char small[20];
    memset(small, 'x', sizeof small);
    assert_int_equal(tube_moves_sql(small, 10), need);
    assert_int_equal(small[9], '\0');
    assert_int_equal(small[10], 'x');
    assert_int_equal(tube_moves_sql(NULL, 0), need);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_state_of_the_design_is_known_by_its_code),
        cmocka_unit_test(an_unknown_state_is_refused_with_the_states_there_are),
        cmocka_unit_test(moves_of_the_bench_and_the_counter_are_legal),
        cmocka_unit_test(what_must_never_happen_is_not_legal),
        cmocka_unit_test(an_illegal_move_says_what_would_be_legal),
        cmocka_unit_test(the_table_is_ordered_and_no_state_is_a_dead_end_or_out_of_reach),
        cmocka_unit_test(the_trigger_names_every_state_and_never_overruns_its_buffer),
    };
    return cmocka_run_group_tests_name("state", tests, NULL, NULL);
}
