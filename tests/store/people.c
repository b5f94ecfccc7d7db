/* SPDX-License-Identifier: MIT
 *
 * people: users, sessions and tokens in the store, and who they identify as.  What is expected is
 * what store/people.h and auth/identify.h promise.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <string.h>

#include "auth/crypto.h"
#include "auth/identify.h"
#include "store/journal.h"
#include "store/people.h"

#define NOW INT64_C(1700000000000)
#define DAY INT64_C(86400000)

static struct store *st;
static struct arena *a;
static struct err e;

static int fresh(void **state)
{
    (void)state;
    e = (struct err)ERR_INIT;
    a = arena_new();
    if (!crypto_init(&e) || !store_open(&st, NULL, STORE_MEMORY, &e) || !store_begin(st, &e) ||
        !store_mark(st, &e))
        fail_msg("%s", e.text);
    store_as(st, PEOPLE_LOCAL, NOW);
    return 0;
}

static int gone(void **state)
{
    (void)state;
    store_undo(st);
    store_abort(st);
    store_close(st);
    arena_free(a);
    return 0;
}

static int64_t add(const char *name, int64_t role)
{
    struct person p = {.name = name, .shown = name, .role = role, .password_hash = "$argon2id$x"};
    int64_t id = NONE;
    if (!people_add(&id, st, &p, &e))
        fail_msg("%s", e.text);
    return id;
}

static struct person load(int64_t id)
{
    struct person p;
    if (!people_load(&p, st, id, a, &e))
        fail_msg("%s", e.text);
    p.password_hash = NULL; /* as people_change takes it: leave the password alone */
    return p;
}

static struct principal seen_as(const char *cookie, const char *bearer, int64_t now)
{
    struct principal who;
    if (!auth_identify(&who, st, a, cookie, bearer, now, &e))
        fail_msg("%s", e.text);
    return who;
}

static bool token_works(const char *bearer, int64_t now)
{
    struct principal who = {.user_id = 77};
    e = (struct err)ERR_INIT;
    bool good = auth_identify(&who, st, a, NULL, bearer, now, &e);
    if (!good) {
        assert_int_equal(e.code, ERR_DENIED);
        assert_int_equal(who.user_id, 77); /* as it was */
    }
    return good;
}

static int64_t sign_in(int64_t user_id, const char *secret, int64_t now)
{
    unsigned char hash[PEOPLE_HASH_BYTES];
    int64_t id = NONE;
    crypto_token_hash(hash, secret);
    store_as(st, PEOPLE_LOCAL, now);
    if (!people_sign_in(&id, st, user_id, hash, now + 7 * DAY, &e))
        fail_msg("%s", e.text);
    return id;
}

static int64_t token_add(int64_t user_id, int64_t role, const char *secret, int64_t expires_ms)
{
    unsigned char hash[PEOPLE_HASH_BYTES];
    int64_t id = NONE;
    struct api_token t = {
        .user_id = user_id, .title = "test bench script", .role = role, .expires_ms = expires_ms};
    crypto_token_hash(hash, secret);
    if (!people_token_add(&id, st, &t, hash, &e))
        fail_msg("%s", e.text);
    return id;
}

/* ---- names and roles ---------------------------------------------------------------------- */

static void names_fold_to_small_letters(void **state)
{
    (void)state;
    static const struct {
        const char *typed, *folded; /* folded NULL: refused, at the byte */
        int at;
    } rows[] = {
        {"vera", "vera", 0},         {"  Vera.L \t", "vera.l", 0},
        {"9-to-5_x", "9-to-5_x", 0}, {"", NULL, -1},
        {"   ", NULL, -1},           {".vera", NULL, 0},
        {" -vera", NULL, 1},         {"ve ra", NULL, 2},
        {"ver\xd0\xb0", NULL, 3}, /* Cyrillic a, which looks like the Latin one */
        {"vera@home", NULL, 4},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        char out[PEOPLE_NAME_BYTES] = "as before";
        e = (struct err)ERR_INIT;
        bool good = people_fold(out, rows[i].typed, &e);
        assert_int_equal(good, rows[i].folded != NULL);
        assert_string_equal(out, rows[i].folded ? rows[i].folded : "as before");
        if (!good) {
            assert_int_equal(e.code, ERR_INVALID);
            assert_int_equal(e.at, rows[i].at);
        }
    }
    char out[PEOPLE_NAME_BYTES], longest[66];
    memset(longest, 'a', 65);
    longest[65] = 0;
    assert_false(people_fold(out, longest, &e));
    longest[64] = 0;
    assert_true(people_fold(out, longest, &e));
}

static void roles_cover_themselves_and_the_viewer_and_an_owner_covers_all(void **state)
{
    (void)state;
    static const char *const covers[ROLE__COUNT] = {
        /* given:        viewer, counter, bench, owner */
        [ROLE_VIEWER] = "1000",
        [ROLE_COUNTER] = "1100",
        [ROLE_BENCH] = "1010",
        [ROLE_OWNER] = "1111",
    };
    for (int giver = 0; giver < ROLE__COUNT; giver++)
        for (int given = 0; given < ROLE__COUNT; given++)
            assert_int_equal(role_covers(giver, given), covers[giver][given] == '1');
}

/* ---- users -------------------------------------------------------------------------------- */

static void fresh_database_has_nobody_but_the_local_command(void **state)
{
    (void)state;
    struct person p;
    assert_true(auth_needs_setup(st));
    assert_int_equal(people_list(st, a).count, 0);
    assert_false(people_find(&p, st, "command-line", a));
    assert_false(people_load(&p, st, PEOPLE_LOCAL, a, &e));
    assert_int_equal(e.code, ERR_NOT_FOUND);
    p = (struct person){.id = PEOPLE_LOCAL, .shown = "x", .version = NONE, .disabled_ms = NONE};
    assert_false(people_change(st, &p, NONE, &e));
    add("anton", ROLE_BENCH);
    assert_true(auth_needs_setup(st));
    add("vera", ROLE_OWNER);
    assert_false(auth_needs_setup(st));
}

static void added_person_is_found_by_name_and_number(void **state)
{
    (void)state;
    struct person in = {.name = "vera",
                        .shown = "Вера Л.",
                        .role = ROLE_BENCH,
                        .password_hash = "$argon2id$y"},
                  out;
    int64_t id;
    assert_true(people_add(&id, st, &in, &e));
    assert_true(people_find(&out, st, "vera", a));
    assert_int_equal(out.id, id);
    assert_string_equal(out.shown, "Вера Л.");
    assert_int_equal(out.role, ROLE_BENCH);
    assert_string_equal(out.password_hash, "$argon2id$y");
    assert_true(out.created_ms == NOW);
    assert_true(out.disabled_ms == NONE);
    assert_int_equal(out.version, 1);
    add("anton", ROLE_VIEWER);
    struct list all = people_list(st, a);
    assert_int_equal(all.count, 2);
    assert_string_equal(((struct person *)all.items)[0].name, "anton");
    assert_string_equal(((struct person *)all.items)[1].name, "vera");
}

static void taken_name_is_refused_by_name(void **state)
{
    (void)state;
    add("vera", ROLE_OWNER);
    struct person p = {.name = "vera", .shown = "Another", .role = ROLE_VIEWER};
    int64_t id = 5;
    assert_false(people_add(&id, st, &p, &e));
    assert_int_equal(id, 5);
    assert_int_equal(e.code, ERR_CONFLICT);
    assert_string_equal(e.field, "name");
    assert_non_null(strstr(e.text, "'vera'"));
    p.name = "command-line";
    assert_false(people_add(&id, st, &p, &e));
    assert_int_equal(e.code, ERR_CONFLICT);
}

static void last_owner_can_be_neither_demoted_nor_disabled(void **state)
{
    (void)state;
    int64_t vera = add("vera", ROLE_OWNER);
    struct person p = load(vera);
    p.role = ROLE_BENCH;
    assert_false(people_change(st, &p, NONE, &e));
    assert_int_equal(e.code, ERR_CONFLICT);
    p = load(vera);
    p.disabled_ms = NOW;
    assert_false(people_change(st, &p, NONE, &e));
    assert_int_equal(load(vera).role, ROLE_OWNER);
    /* a disabled second owner does not count, an enabled one does */
    int64_t anton = add("anton", ROLE_OWNER);
    struct person q = load(anton);
    q.disabled_ms = NOW;
    assert_true(people_change(st, &q, NONE, &e));
    p = load(vera);
    p.role = ROLE_BENCH;
    assert_false(people_change(st, &p, NONE, &e));
    q = load(anton);
    q.disabled_ms = NONE;
    assert_true(people_change(st, &q, NONE, &e));
    assert_true(people_change(st, &p, NONE, &e));
    assert_int_equal(load(vera).role, ROLE_BENCH);
}

static void change_for_an_older_version_is_refused(void **state)
{
    (void)state;
    int64_t vera = add("vera", ROLE_OWNER);
    struct person first = load(vera), second = load(vera);
    first.shown = "Vera the First";
    second.shown = "Vera the Second";
    assert_true(people_change(st, &first, NONE, &e));
    assert_false(people_change(st, &second, NONE, &e));
    assert_int_equal(e.code, ERR_CONFLICT);
    assert_string_equal(load(vera).shown, "Vera the First");
    assert_int_equal(load(vera).version, 2);
    second.version = NONE;
    assert_true(people_change(st, &second, NONE, &e));
    assert_int_equal(load(vera).version, 3);
    struct person same = load(vera);
    assert_true(people_change(st, &same, NONE, &e));
    assert_int_equal(load(vera).version, 3);
}

static void journal_tells_what_changed_but_no_name_and_no_secret(void **state)
{
    (void)state;
    int64_t vera = add("vera-the-owner", ROLE_OWNER);
    struct person p = load(vera);
    p.shown = "Vera Lampova";
    p.password_hash = "$argon2id$other";
    assert_true(people_change(st, &p, NONE, &e));
    add("anton", ROLE_OWNER);
    p = load(vera);
    p.role = ROLE_VIEWER;
    assert_true(people_change(st, &p, NONE, &e));
    struct list rows;
    journal_of(&rows, st, "user", vera, NONE, 10, a);
    assert_int_equal(rows.count, 3);
    const struct journal_row *r = rows.items;
    assert_string_equal(r[2].act, "create");
    assert_null(r[2].before);
    assert_string_equal(r[1].act, "change");
    assert_non_null(strstr(r[1].after, "\"personal\":[\"shown\",\"password_hash\"]"));
    assert_non_null(strstr(r[0].before, "\"role\":\"owner\""));
    assert_non_null(strstr(r[0].after, "\"role\":\"viewer\""));
    for (size_t i = 0; i < rows.count; i++) {
        assert_int_equal(r[i].user_id, PEOPLE_LOCAL);
        assert_null(strstr(r[i].after, "vera-the-owner"));
        assert_null(strstr(r[i].after, "Lampova"));
        assert_null(strstr(r[i].after, "argon2id"));
    }
    assert_true(journal_verify(st, &e));
}

/* ---- sessions ----------------------------------------------------------------------------- */

static void session_identifies_until_it_ends(void **state)
{
    (void)state;
    int64_t vera = add("vera", ROLE_BENCH), session = sign_in(vera, "cookie", NOW);
    struct principal who = seen_as("cookie", NULL, NOW + 1);
    assert_int_equal(who.user_id, vera);
    assert_int_equal(who.role, R_BENCH);
    assert_int_equal(who.session_id, session);
    assert_true(who.token_id == NONE);
    assert_true(seen_as("another", NULL, NOW).user_id == NONE);
    assert_true(seen_as("", NULL, NOW).user_id == NONE);
    assert_int_equal(seen_as("another", NULL, NOW).role, 0);
    assert_true(people_sign_out(st, session, &e));
    assert_true(seen_as("cookie", NULL, NOW + 1).user_id == NONE);
    assert_true(people_sign_out(st, session, &e));
    assert_true(people_sign_out(st, 4711, &e));
}

static void session_idles_away_after_a_day_and_ends_after_a_week(void **state)
{
    (void)state;
    int64_t vera = add("vera", ROLE_BENCH), session = sign_in(vera, "cookie", NOW);
    assert_int_equal(seen_as("cookie", NULL, NOW + DAY - 1).user_id, vera);
    assert_true(seen_as("cookie", NULL, NOW + DAY).user_id == NONE);
    for (int64_t t = NOW; t < NOW + 7 * DAY; t += DAY / 2) {
        struct principal who = {.session_id = session, .token_id = NONE};
        store_as(st, vera, t);
        assert_true(auth_seen(st, &who, &e));
    }
    assert_int_equal(seen_as("cookie", NULL, NOW + 7 * DAY - 1).user_id, vera);
    assert_true(seen_as("cookie", NULL, NOW + 7 * DAY).user_id == NONE);
}

static void disabling_or_a_new_password_signs_out_everywhere_but_here(void **state)
{
    (void)state;
    add("owner", ROLE_OWNER);
    int64_t vera = add("vera", ROLE_BENCH), here = sign_in(vera, "here", NOW);
    sign_in(vera, "there", NOW);
    int64_t anton = add("anton", ROLE_BENCH);
    sign_in(anton, "other", NOW);
    struct person p = load(vera);
    p.password_hash = "$argon2id$new";
    assert_true(people_change(st, &p, here, &e));
    assert_int_equal(seen_as("here", NULL, NOW).user_id, vera);
    assert_true(seen_as("there", NULL, NOW).user_id == NONE);
    assert_int_equal(seen_as("other", NULL, NOW).user_id, anton);
    p = load(vera);
    p.disabled_ms = NOW;
    assert_true(people_change(st, &p, NONE, &e));
    assert_true(seen_as("here", NULL, NOW).user_id == NONE);
}

static void change_of_role_holds_at_once(void **state)
{
    (void)state;
    int64_t vera = add("vera", ROLE_BENCH);
    sign_in(vera, "cookie", NOW);
    struct person p = load(vera);
    p.role = ROLE_VIEWER;
    assert_true(people_change(st, &p, NONE, &e));
    assert_int_equal(seen_as("cookie", NULL, NOW).role, R_VIEWER);
}

static void sessions_ended_long_ago_are_forgotten(void **state)
{
    (void)state;
    unsigned char hash[PEOPLE_HASH_BYTES];
    struct session s;
    int64_t vera = add("vera", ROLE_BENCH);
    sign_in(vera, "old", NOW);
    crypto_token_hash(hash, "old");
    sign_in(vera, "next", NOW + PEOPLE_KNOWN_MS);
    assert_true(people_session(&s, st, hash));
    sign_in(vera, "last", NOW + PEOPLE_KNOWN_MS + 1);
    assert_false(people_session(&s, st, hash));
}

/* ---- API tokens --------------------------------------------------------------------------- */

static void token_identifies_with_its_own_role_until_expiry_or_withdrawal(void **state)
{
    (void)state;
    int64_t vera = add("vera", ROLE_OWNER);
    int64_t id = token_add(vera, ROLE_COUNTER, "secret", NOW + DAY);
    struct principal who = seen_as(NULL, "secret", NOW);
    assert_int_equal(who.user_id, vera);
    assert_int_equal(who.role, R_COUNTER);
    assert_int_equal(who.token_id, id);
    assert_true(who.session_id == NONE);
    assert_true(token_works("secret", NOW + DAY - 1));
    assert_false(token_works("secret", NOW + DAY));
    assert_false(token_works("Secret", NOW));
    assert_false(token_works("", NOW));
    assert_true(people_token_revoke(st, id, &e));
    assert_false(token_works("secret", NOW));
    assert_true(people_token_revoke(st, id, &e));
    assert_false(people_token_revoke(st, 4711, &e));
    assert_int_equal(e.code, ERR_NOT_FOUND);
    struct list rows;
    journal_of(&rows, st, "api_token", id, NONE, 10, a);
    assert_int_equal(rows.count, 2); /* made, withdrawn once */
}

static void bad_token_is_refused_even_beside_a_good_cookie(void **state)
{
    (void)state;
    int64_t vera = add("vera", ROLE_OWNER);
    struct principal who;
    sign_in(vera, "cookie", NOW);
    assert_false(auth_identify(&who, st, a, "cookie", "bad", NOW, &e));
    assert_int_equal(e.code, ERR_DENIED);
}

static void cookie_is_no_token_and_token_no_cookie(void **state)
{
    (void)state;
    int64_t vera = add("vera", ROLE_OWNER);
    sign_in(vera, "cookie", NOW);
    token_add(vera, ROLE_OWNER, "secret", NONE);
    assert_false(token_works("cookie", NOW));
    assert_true(seen_as("secret", NULL, NOW).user_id == NONE);
}

static void token_falls_with_its_maker(void **state)
{
    (void)state;
    add("owner", ROLE_OWNER);
    int64_t vera = add("vera", ROLE_OWNER);
    token_add(vera, ROLE_BENCH, "bench", NONE);
    token_add(vera, ROLE_VIEWER, "viewer", NONE);
    struct person p = load(vera);
    p.role = ROLE_COUNTER;
    assert_true(people_change(st, &p, NONE, &e));
    assert_false(token_works("bench", NOW));
    assert_true(token_works("viewer", NOW));
    p = load(vera);
    p.disabled_ms = NOW;
    assert_true(people_change(st, &p, NONE, &e));
    assert_false(token_works("viewer", NOW));
}

static void use_of_a_token_is_noted_to_the_day(void **state)
{
    (void)state;
    int64_t vera = add("vera", ROLE_OWNER), id = token_add(vera, ROLE_BENCH, "secret", NONE);
    struct api_token t;
    struct principal who = {.session_id = NONE, .token_id = id};
    assert_true(people_token_load(&t, st, id, a, &e));
    assert_true(t.seen_ms == NONE);
    assert_true(auth_seen(st, &who, &e));
    assert_true(people_token_load(&t, st, id, a, &e));
    assert_true(t.seen_ms == NOW - NOW % DAY);
}

static void tokens_are_listed_newest_first_by_person_or_all(void **state)
{
    (void)state;
    int64_t vera = add("vera", ROLE_OWNER), anton = add("anton", ROLE_BENCH);
    token_add(vera, ROLE_OWNER, "one", NONE);
    token_add(anton, ROLE_BENCH, "two", NOW);
    token_add(vera, ROLE_BENCH, "three", NONE);
    struct list all = people_tokens(st, NONE, a), hers = people_tokens(st, vera, a);
    const struct api_token *t = all.items;
    assert_int_equal(all.count, 3);
    assert_true(t[0].id > t[1].id && t[1].id > t[2].id);
    assert_string_equal(t[1].user, "anton");
    assert_true(t[1].expires_ms == NOW);
    assert_int_equal(hers.count, 2);
}

int main(void)
{
#define T(f) cmocka_unit_test_setup_teardown(f, fresh, gone)
    const struct CMUnitTest tests[] = {
        T(names_fold_to_small_letters),
        T(roles_cover_themselves_and_the_viewer_and_an_owner_covers_all),
        T(fresh_database_has_nobody_but_the_local_command),
        T(added_person_is_found_by_name_and_number),
        T(taken_name_is_refused_by_name),
        T(last_owner_can_be_neither_demoted_nor_disabled),
        T(change_for_an_older_version_is_refused),
        T(journal_tells_what_changed_but_no_name_and_no_secret),
        T(session_identifies_until_it_ends),
        T(session_idles_away_after_a_day_and_ends_after_a_week),
        T(disabling_or_a_new_password_signs_out_everywhere_but_here),
        T(change_of_role_holds_at_once),
        T(sessions_ended_long_ago_are_forgotten),
        T(token_identifies_with_its_own_role_until_expiry_or_withdrawal),
        T(bad_token_is_refused_even_beside_a_good_cookie),
        T(cookie_is_no_token_and_token_no_cookie),
        T(token_falls_with_its_maker),
        T(use_of_a_token_is_noted_to_the_day),
        T(tokens_are_listed_newest_first_by_person_or_all),
    };
    return cmocka_run_group_tests_name("people", tests, NULL, NULL);
}
