/* SPDX-License-Identifier: MIT
 *
 * people: the first owner, signing in, people and tokens through whole calls without a socket, and
 * the table of roles for every route times every credential.  What is expected is what design.md
 * section 7 promises and the headers of auth/ and the help texts of the routes state.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "auth/crypto.h"
#include "auth/identify.h"
#include "auth/setup.h"
#include "auth/throttle.h"
#include "http/call.h"
#include "store/people.h"

#define NOW      INT64_C(1700000000000)
#define DAY      INT64_C(86400000)
#define PASSWORD "seven quiet brown valves"

static struct store *st;
static struct arena *a;
static struct call *calls[400]; /* freed at the end of the test, so that answers can be kept */
static size_t call_count;
static int64_t now;

static int fresh(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    if (!crypto_init(&e) || !store_open(&st, NULL, STORE_MEMORY, &e))
        fail_msg("%s", e.text);
    a = arena_new();
    now = NOW;
    throttle_reset();
    return 0;
}

static int gone(void **state)
{
    (void)state;
    while (call_count)
        call_free(calls[--call_count]);
    arena_free(a);
    store_close(st);
    return 0;
}

/* ---- asking ------------------------------------------------------------------------------- */

struct ask {
    const char *cookie, *bearer, *origin, *peer, *key, *if_match;
    bool trusted;
};

static struct call *call_made(const struct ask *by, enum method m, const char *path,
                              const char *body)
{
    struct call *c = call_new();
    assert_true(call_count < ARRAY_LEN(calls));
    calls[call_count++] = c;
    c->method = m;
    c->path = path;
    c->body = body;
    c->body_n = body ? strlen(body) : 0;
    c->content_type = body ? "application/json" : NULL;
    c->cookie = by->cookie ? arena_printf(c->arena, "other=1; quadrille=%s", by->cookie) : NULL;
    c->authorization = by->bearer ? arena_printf(c->arena, "Bearer %s", by->bearer) : NULL;
    c->host = "bench.example:8080";
    c->origin = by->origin;
    c->peer = by->peer ? by->peer : "192.0.2.1"; /* RFC 5737, for examples */
    c->idempotency_key = by->key;
    c->if_match = by->if_match;
    c->trusted = by->trusted;
    c->now_ms = now;
    return c;
}

static struct call *ask(const struct ask *by, enum method m, const char *path, const char *body)
{
    struct call *c = call_made(by, m, path, body);
    call_serve(c, st);
    return c;
}

#define BY(...) (&(struct ask){__VA_ARGS__})

static void expect(struct call *c, int status, const char *words)
{
    const char *text = c->answer ? arena_bytes(a, c->answer, c->answer_n) : "";
    if (c->status != status || (words && !strstr(text, words)))
        fail_msg("%s: wanted %d with \"%s\", got %d with %s", c->path, status, words ? words : "",
                 c->status, text);
}

static bool answer_has(struct call *c, const char *words)
{
    return c->answer && strstr(arena_bytes(a, c->answer, c->answer_n), words);
}

/* The value of the session's cookie that an answer sets. */
static const char *cookie_of(struct call *c)
{
    static const char head[] = AUTH_COOKIE "=";
    assert_non_null(c->set_cookie);
    assert_memory_equal(c->set_cookie, head, strlen(head));
    const char *v = c->set_cookie + strlen(head);
    return arena_bytes(a, v, strcspn(v, ";"));
}

static struct call *sign_in(const struct ask *by, const char *name, const char *password)
{
    return ask(by, POST, "/api/session",
               arena_printf(a, "{\"name\":\"%s\",\"password\":\"%s\"}", name, password));
}

/* Make the first owner; his cookie. */
static const char *set_up(void)
{
    char token[CRYPTO_TOKEN_BYTES];
    setup_token_new(token);
    struct call *c = ask(BY(0), POST, "/api/setup",
                         arena_printf(a,
                                      "{\"token\":\"%s\",\"name\":\"Vera\",\"shown\":\"Vera L.\","
                                      "\"password\":\"" PASSWORD "\"}",
                                      token));
    expect(c, 200, "\"role\":\"owner\"");
    return cookie_of(c);
}

static struct call *add(const char *cookie, const char *name, const char *role)
{
    return ask(BY(.cookie = cookie), POST, "/api/people",
               arena_printf(a, "{\"name\":\"%s\",\"role\":\"%s\",\"password\":\"" PASSWORD " %s\"}",
                            name, role, name));
}

static const char *add_and_sign_in(const char *owner, const char *name, const char *role)
{
    expect(add(owner, name, role), 201, name);
    struct call *c = sign_in(BY(0), name, arena_printf(a, PASSWORD " %s", name));
    expect(c, 200, name);
    return cookie_of(c);
}

/* ---- the first owner ---------------------------------------------------------------------- */

static void nothing_but_the_public_is_served_before_there_is_an_owner(void **state)
{
    (void)state;
    int closed = 0;
    for (const struct route *const *t = route_tables; *t; t++) {
        for (const struct route *r = *t; r->path; r++) {
            struct call *c = call_made(BY(0), r->method, r->path, NULL);
            call_route(c, st);
            bool public = r->roles & R_PUBLIC;
            if (!public)
                expect(c, 401, "set up");
            assert_int_not_equal(public && c->status == 401, 1);
            closed += !public;
        }
    }
    assert_true(closed > 5);
    expect(ask(BY(0), GET, "/api/setup", NULL), 200, "{\"needed\":true,\"signed_in\":false}");
}

static void setup_token_makes_one_owner_and_only_one(void **state)
{
    (void)state;
    char token[CRYPTO_TOKEN_BYTES];
    setup_token_new(token);
    static const char *const form =
        "{\"token\":\"%s\",\"name\":\"%s\",\"password\":\"" PASSWORD "\"}";
    int64_t before = crypto_password_count();
    expect(ask(BY(0), POST, "/api/setup", arena_printf(a, form, "guess", "eve")), 401, "token");
    assert_int_equal(crypto_password_count(), before); /* a guess costs no hash */
    expect(ask(BY(0), POST, "/api/setup", arena_printf(a, form, token, "no name")), 422,
           "\"field\":\"name\"");
    struct call *c = ask(BY(0), POST, "/api/setup", arena_printf(a, form, token, "vera"));
    expect(c, 200, "\"name\":\"vera\"");
    expect(ask(BY(.cookie = cookie_of(c)), GET, "/api/session", NULL), 200, "\"role\":\"owner\"");
    expect(ask(BY(0), POST, "/api/setup", arena_printf(a, form, token, "eve")), 409, "set up");
    expect(ask(BY(0), GET, "/api/setup", NULL), 200, "{\"needed\":false,\"signed_in\":false}");
    expect(sign_in(BY(0), "eve", PASSWORD), 401, NULL);
}

/* Both have passed prepare when the first runs: the savepoint decides. */
static void of_two_who_hold_the_token_one_becomes_the_owner(void **state)
{
    (void)state;
    char token[CRYPTO_TOKEN_BYTES];
    setup_token_new(token);
    struct call *c[2];
    struct err e = ERR_INIT;
    for (int i = 0; i < 2; i++) {
        c[i] = call_made(BY(0), POST, "/api/setup",
                         arena_printf(a,
                                      "{\"token\":\"%s\",\"name\":\"owner%d\","
                                      "\"password\":\"" PASSWORD "\"}",
                                      token, i));
        call_route(c[i], st);
        call_prepare(c[i], st);
        assert_false(c[i]->done);
    }
    assert_true(store_begin(st, &e));
    for (int i = 0; i < 2; i++) {
        assert_true(store_mark(st, &e));
        if (call_run(c[i], st, NULL))
            assert_true(store_keep(st, &e));
        else
            store_undo(st);
    }
    assert_true(store_commit(st, &e));
    expect(c[0], 200, "owner0");
    expect(c[1], 409, "set up");
    assert_int_equal(people_list(st, a).count, 1);
}

static void passwords_are_held_to_their_length_and_nothing_else(void **state)
{
    (void)state;
    const char *owner = set_up();
    char longest[258];
    memset(longest, 'a', sizeof longest - 1);
    longest[257] = 0;
    const struct {
        const char *password;
        int status;
    } rows[] = {
        {"elevenbytes", 422}, {"twelve bytes", 201}, {"aaaaaaaaaaaa", 201},
        {"шестьб", 201}, /* 6 letters of 2 bytes each */
        {"шесть", 422},       {longest, 422},        {longest + 1, 201},
    };
    for (size_t i = 0; i < ARRAY_LEN(rows); i++) {
        struct call *c =
            ask(BY(.cookie = owner), POST, "/api/people",
                arena_printf(a, "{\"name\":\"p%zu\",\"role\":\"viewer\",\"password\":\"%s\"}", i,
                             rows[i].password));
        expect(c, rows[i].status, rows[i].status == 422 ? "12 to 256 bytes" : NULL);
        if (rows[i].status == 422) {
            expect(c, 422, "\"field\":\"password\"");
            assert_false(answer_has(c, rows[i].password));
        }
    }
}

/* ---- signing in --------------------------------------------------------------------------- */

static void signing_in_takes_the_name_in_any_case_and_gives_a_guarded_cookie(void **state)
{
    (void)state;
    set_up();
    struct call *c = sign_in(BY(0), "VERA", PASSWORD);
    expect(c, 200, "\"shown\":\"Vera L.\"");
    assert_false(answer_has(c, "argon2"));
    assert_false(answer_has(c, cookie_of(c)));
    assert_non_null(strstr(c->set_cookie, "; HttpOnly"));
    assert_non_null(strstr(c->set_cookie, "; SameSite=Strict"));
    assert_non_null(strstr(c->set_cookie, "; Path=/"));
    expect(ask(BY(.cookie = cookie_of(c)), GET, "/api/session", NULL), 200,
           "\"expires\":\"2023-11-21T22:13:20");
    expect(ask(BY(0), GET, "/api/session", NULL), 401, "sign in");
}

static void whoever_cannot_sign_in_hears_one_sentence_and_costs_one_hash(void **state)
{
    (void)state;
    const char *owner = set_up();
    expect(add(owner, "anton", "bench"), 201, NULL);
    expect(ask(BY(.cookie = owner), PATCH, "/api/people/3", "{\"disabled\":true}"), 200, NULL);
    const char *const tries[][2] = {
        {"vera", "wrong, but long enough"}, /* a wrong password */
        {"nobody", PASSWORD},               /* unknown */
        {"no such name!", PASSWORD},        /* cannot be a name */
        {"anton", PASSWORD " anton"},       /* disabled, with the right password */
        {"command-line", PASSWORD},         /* the local command has none */
    };
    for (size_t i = 0; i < ARRAY_LEN(tries); i++) {
        int64_t before = crypto_password_count();
        struct call *c = sign_in(BY(0), tries[i][0], tries[i][1]);
        expect(c, 401, "\"detail\":\"The name or the password is wrong.\"");
        assert_false(answer_has(c, "\"field\""));
        assert_int_equal(crypto_password_count() - before, 1);
        assert_null(c->set_cookie);
    }
    int64_t before = crypto_password_count();
    expect(sign_in(BY(0), "vera", PASSWORD), 200, NULL);
    assert_int_equal(crypto_password_count() - before, 1);
}

static void planted_cookie_is_never_taken_over(void **state)
{
    (void)state;
    set_up();
    struct call *c = sign_in(BY(.cookie = "planted"), "vera", PASSWORD);
    expect(c, 200, NULL);
    assert_string_not_equal(cookie_of(c), "planted");
    expect(ask(BY(.cookie = "planted"), GET, "/api/session", NULL), 401, NULL);
    /* nor is a living one: signing in again ends it and begins another */
    struct call *again = sign_in(BY(.cookie = cookie_of(c)), "vera", PASSWORD);
    expect(again, 200, NULL);
    assert_string_not_equal(cookie_of(again), cookie_of(c));
    expect(ask(BY(.cookie = cookie_of(c)), GET, "/api/session", NULL), 401, NULL);
    expect(ask(BY(.cookie = cookie_of(again)), GET, "/api/session", NULL), 200, NULL);
}

static void signing_out_ends_the_session_for_good(void **state)
{
    (void)state;
    const char *owner = set_up(), *other = cookie_of(sign_in(BY(0), "vera", PASSWORD));
    expect(ask(BY(.cookie = owner), DELETE, "/api/session", NULL), 204, NULL);
    expect(ask(BY(.cookie = owner), GET, "/api/session", NULL), 401, NULL);
    expect(ask(BY(.cookie = other), GET, "/api/session", NULL), 200, NULL);
    expect(ask(BY(.trusted = true), DELETE, "/api/session", NULL), 409, "no session");
}

static void changes_keep_a_session_from_idling_away(void **state)
{
    (void)state;
    const char *owner = set_up();
    now += DAY - 1;
    expect(ask(BY(.cookie = owner), PATCH, "/api/people/2", "{\"shown\":\"Vera\"}"), 200, NULL);
    now += DAY - 1;
    expect(ask(BY(.cookie = owner), GET, "/api/session", NULL), 200, NULL);
    now += 1;
    expect(ask(BY(.cookie = owner), GET, "/api/session", NULL), 401, NULL);
}

static void password_changed_between_check_and_writing_does_not_sign_in(void **state)
{
    (void)state;
    const char *owner = set_up();
    expect(add(owner, "anton", "bench"), 201, NULL);
    struct call *c = call_made(BY(0), POST, "/api/session",
                               "{\"name\":\"anton\",\"password\":\"" PASSWORD " anton\"}");
    call_route(c, st);
    call_prepare(c, st);
    assert_false(c->done);
    expect(ask(BY(.cookie = owner), PATCH, "/api/people/3",
               "{\"password\":\"quite another sentence\"}"),
           200, NULL);
    struct err e = ERR_INIT;
    assert_true(store_begin(st, &e) && store_mark(st, &e));
    assert_false(call_run(c, st, NULL));
    store_undo(st);
    store_abort(st);
    expect(c, 401, "wrong");
    assert_null(c->set_cookie);
}

/* ---- guessing ----------------------------------------------------------------------------- */

static void stranger_who_hammers_a_name_does_not_lock_its_owner_out(void **state)
{
    (void)state;
    const char *known = set_up();
    expect(ask(BY(.cookie = known), DELETE, "/api/session", NULL), 204, NULL);
    /* ten free tries at an account, whatever the address */
    for (int i = 0; i < 10; i++)
        expect(sign_in(BY(.peer = arena_printf(a, "198.51.100.%d", i)), "vera", "a guess at it"),
               401, NULL);
    int64_t before = crypto_password_count();
    struct call *c = sign_in(BY(.peer = "203.0.113.9"), "vera", PASSWORD);
    expect(c, 429, "300 seconds");
    assert_string_equal(c->retry_after, "300");
    assert_int_equal(crypto_password_count(), before); /* being refused costs no hash */
    /* the browser she was signed in at before, signed out since, does not wait */
    struct call *hers = sign_in(BY(.cookie = known, .peer = "203.0.113.9"), "vera", PASSWORD);
    expect(hers, 200, NULL);
    /* somebody else's cookie opens nothing */
    const char *anton = add_and_sign_in(cookie_of(hers), "anton", "viewer");
    expect(sign_in(BY(.cookie = anton, .peer = "203.0.113.9"), "vera", PASSWORD), 429, NULL);
    /* and nobody is locked out: five minutes give one more try to all */
    now += 300 * 1000;
    expect(sign_in(BY(.peer = "203.0.113.9"), "vera", PASSWORD), 200, NULL);
}

static void one_address_may_not_try_name_after_name(void **state)
{
    (void)state;
    set_up();
    for (int i = 0; i < 20; i++)
        expect(sign_in(BY(.peer = "198.51.100.7"), arena_printf(a, "name%d", i), "a guess at it"),
               401, NULL);
    expect(sign_in(BY(.peer = "198.51.100.7"), "name20", "a guess at it"), 429, "60 seconds");
    expect(sign_in(BY(.peer = "198.51.100.7"), "vera", PASSWORD), 429, NULL);
    expect(sign_in(BY(.peer = "203.0.113.9"), "vera", PASSWORD), 200, NULL);
}

static void known_browser_is_counted_too(void **state)
{
    (void)state;
    const char *known = set_up();
    expect(ask(BY(.cookie = known), DELETE, "/api/session", NULL), 204, NULL);
    for (int i = 0; i < 10; i++)
        expect(sign_in(BY(.cookie = known), "vera", "a guess at it"), 401, NULL);
    expect(sign_in(BY(.cookie = known), "vera", PASSWORD), 429, "60 seconds");
}

static void right_passwords_are_not_counted(void **state)
{
    (void)state;
    set_up();
    for (int i = 0; i < 12; i++)
        expect(sign_in(BY(0), "vera", PASSWORD), 200, NULL);
}

/* ---- people ------------------------------------------------------------------------------- */

static void owner_adds_lists_and_changes_people(void **state)
{
    (void)state;
    const char *owner = set_up();
    struct call *c = add(owner, "Anton", "bench");
    expect(c, 201, "\"name\":\"anton\"");
    assert_string_equal(c->location, "/api/people/3");
    assert_string_equal(c->etag, "\"1\"");
    expect(add(owner, "ANTON", "bench"), 409, "\"field\":\"name\"");
    c = ask(BY(.cookie = owner), GET, "/api/people", NULL);
    expect(c, 200, "\"name\":\"anton\"");
    expect(c, 200, "\"name\":\"vera\"");
    assert_false(answer_has(c, "argon2"));
    assert_false(answer_has(c, "command-line"));
    expect(ask(BY(.cookie = owner), PATCH, "/api/people/3", "{\"role\":\"counter\"}"), 200,
           "\"role\":\"counter\"");
    expect(ask(BY(.cookie = owner), GET, "/api/people/3", NULL), 200, "\"version\":2");
    expect(ask(BY(.cookie = owner), PATCH, "/api/people/3", "{}"), 422, "Nothing to change");
    expect(ask(BY(.cookie = owner), PATCH, "/api/people/3", "{\"role\":\"chief\"}"), 422,
           "\"field\":\"role\"");
    expect(ask(BY(.cookie = owner), PATCH, "/api/people/1", "{\"role\":\"viewer\"}"), 404, NULL);
    expect(ask(BY(.cookie = owner), PATCH, "/api/people/99", "{\"role\":\"viewer\"}"), 404, "99");
    expect(ask(BY(.cookie = owner), PATCH, "/api/people/2", "{\"role\":\"viewer\"}"), 409,
           "last owner");
    expect(ask(BY(.cookie = owner), PATCH, "/api/people/2", "{\"disabled\":true}"), 409,
           "last owner");
}

static void change_of_a_person_minds_if_match(void **state)
{
    (void)state;
    const char *owner = set_up();
    expect(add(owner, "anton", "bench"), 201, NULL);
    expect(ask(BY(.cookie = owner, .if_match = "\"1\""), PATCH, "/api/people/3",
               "{\"role\":\"counter\"}"),
           200, NULL);
    expect(ask(BY(.cookie = owner, .if_match = "\"1\""), PATCH, "/api/people/3",
               "{\"role\":\"viewer\"}"),
           409, "version 1 was meant, 2");
    static const char *const bad[] = {"1", "\"x\"", "\"1", "\"1\"x", ""};
    for (size_t i = 0; i < ARRAY_LEN(bad); i++)
        expect(ask(BY(.cookie = owner, .if_match = bad[i]), PATCH, "/api/people/3",
                   "{\"role\":\"viewer\"}"),
               422, "\"field\":\"If-Match\"");
    expect(
        ask(BY(.cookie = owner, .if_match = "*"), PATCH, "/api/people/3", "{\"role\":\"viewer\"}"),
        200, NULL);
}

static void disabled_person_is_out_at_once_and_in_again_when_enabled(void **state)
{
    (void)state;
    const char *owner = set_up(), *anton = add_and_sign_in(owner, "anton", "bench");
    expect(ask(BY(.cookie = anton), GET, "/api/session", NULL), 200, NULL);
    expect(ask(BY(.cookie = owner), PATCH, "/api/people/3", "{\"disabled\":true}"), 200,
           "\"disabled\":\"2023-11-14T22:13:20");
    expect(ask(BY(.cookie = anton), GET, "/api/session", NULL), 401, NULL);
    expect(ask(BY(.cookie = owner), PATCH, "/api/people/3", "{\"disabled\":false}"), 200,
           "\"disabled\":null");
    expect(ask(BY(.cookie = anton), GET, "/api/session", NULL), 401, NULL);
    expect(sign_in(BY(0), "anton", PASSWORD " anton"), 200, NULL);
}

static void adding_a_person_twice_with_one_key_adds_one(void **state)
{
    (void)state;
    const char *owner = set_up();
    static const char body[] =
        "{\"name\":\"anton\",\"role\":\"bench\",\"password\":\"" PASSWORD "\"}";
    struct call *c = ask(BY(.cookie = owner, .key = "k1"), POST, "/api/people", body);
    expect(c, 201, "anton");
    struct call *again = ask(BY(.cookie = owner, .key = "k1"), POST, "/api/people", body);
    expect(again, 201, "anton");
    assert_string_equal(again->location, c->location);
    assert_int_equal(people_list(st, a).count, 2);
    /* the password is no part of the digest that is kept: it would be quick to try */
    expect(ask(BY(.cookie = owner, .key = "k1"), POST, "/api/people",
               "{\"name\":\"anton\",\"role\":\"bench\",\"password\":\"another long one\"}"),
           201, "anton");
    expect(sign_in(BY(0), "anton", "another long one"), 401, NULL);
    expect(ask(BY(.cookie = owner, .key = "k1"), POST, "/api/people",
               "{\"name\":\"boris\",\"role\":\"bench\",\"password\":\"" PASSWORD "\"}"),
           422, "key");
}

static void own_password_needs_the_present_one_and_signs_out_elsewhere(void **state)
{
    (void)state;
    const char *here = set_up(), *there = cookie_of(sign_in(BY(0), "vera", PASSWORD));
    expect(ask(BY(.cookie = here), PUT, "/api/session/password",
               "{\"present\":\"not this one\",\"wanted\":\"quite another sentence\"}"),
           403, "\"field\":\"present\"");
    expect(ask(BY(.cookie = here), PUT, "/api/session/password",
               "{\"present\":\"" PASSWORD "\",\"wanted\":\"short\"}"),
           422, "\"field\":\"wanted\"");
    expect(ask(BY(.cookie = here), PUT, "/api/session/password",
               "{\"present\":\"" PASSWORD "\",\"wanted\":\"quite another sentence\"}"),
           204, NULL);
    expect(ask(BY(.cookie = here), GET, "/api/session", NULL), 200, NULL);
    expect(ask(BY(.cookie = there), GET, "/api/session", NULL), 401, NULL);
    expect(sign_in(BY(0), "vera", PASSWORD), 401, NULL);
    expect(sign_in(BY(0), "vera", "quite another sentence"), 200, NULL);
    expect(ask(BY(.trusted = true), PUT, "/api/session/password",
               "{\"present\":\"" PASSWORD "\",\"wanted\":\"quite another sentence\"}"),
           409, NULL);
}

static void guesses_at_the_present_password_are_counted(void **state)
{
    (void)state;
    const char *here = set_up();
    for (int i = 0; i < 10; i++)
        expect(ask(BY(.cookie = here), PUT, "/api/session/password",
                   "{\"present\":\"not this one\",\"wanted\":\"quite another sentence\"}"),
               403, NULL);
    expect(ask(BY(.cookie = here), PUT, "/api/session/password",
               "{\"present\":\"" PASSWORD "\",\"wanted\":\"quite another sentence\"}"),
           429, NULL);
}

static void local_command_adds_people_before_there_is_an_owner(void **state)
{
    (void)state;
    expect(ask(BY(.trusted = true), GET, "/api/session", NULL), 200,
           "{\"person\":null,\"role\":\"owner\",\"expires\":null}");
    expect(ask(BY(.trusted = true), POST, "/api/people",
               "{\"name\":\"anton\",\"role\":\"bench\",\"password\":\"" PASSWORD "\"}"),
           201, NULL);
    expect(ask(BY(0), GET, "/api/setup", NULL), 200, "true"); /* still nobody's house */
    expect(ask(BY(.trusted = true), POST, "/api/people",
               "{\"name\":\"vera\",\"role\":\"owner\",\"password\":\"" PASSWORD "\"}"),
           201, NULL);
    expect(ask(BY(0), GET, "/api/setup", NULL), 200, "false");
    expect(sign_in(BY(0), "vera", PASSWORD), 200, NULL);
}

/* ---- API tokens --------------------------------------------------------------------------- */

/* The text of "secret" in an answer. */
static const char *secret_of(struct call *c)
{
    static const char head[] = "\"secret\":\"";
    expect(c, 201, head);
    const char *s = strstr(arena_bytes(a, c->answer, c->answer_n), head) + strlen(head);
    return arena_bytes(a, s, strcspn(s, "\""));
}

static void token_is_told_once_and_works_until_withdrawn(void **state)
{
    (void)state;
    const char *owner = set_up();
    static const char body[] = "{\"title\":\"reader at bench 2\",\"role\":\"bench\"}";
    struct call *c = ask(BY(.cookie = owner, .key = "k1"), POST, "/api/tokens", body);
    const char *secret = secret_of(c);
    assert_int_equal(strlen(secret), 43);
    struct call *again = ask(BY(.cookie = owner, .key = "k1"), POST, "/api/tokens", body);
    expect(again, 201, "reader at bench 2");
    assert_false(answer_has(again, "secret"));
    c = ask(BY(.cookie = owner), GET, "/api/tokens", NULL);
    expect(c, 200, "reader at bench 2");
    assert_false(answer_has(c, secret));
    expect(ask(BY(.bearer = secret), GET, "/api/session", NULL), 200, "\"role\":\"bench\"");
    expect(ask(BY(.bearer = secret), GET, "/api/people", NULL), 403, NULL);
    expect(ask(BY(.cookie = owner), DELETE, "/api/tokens/1", NULL), 204, NULL);
    expect(ask(BY(.bearer = secret), GET, "/api/session", NULL), 401, "withdrawn");
    expect(ask(BY(.cookie = owner), GET, "/api/tokens", NULL), 200,
           "\"withdrawn\":\"2023-11-14T22:13:20");
    expect(ask(BY(.cookie = owner), DELETE, "/api/tokens/99", NULL), 404, "99");
}

static void token_may_do_no_more_than_its_maker_and_ends_when_said(void **state)
{
    (void)state;
    const char *owner = set_up(), *anton = add_and_sign_in(owner, "anton", "bench");
    expect(ask(BY(.cookie = anton), POST, "/api/tokens", "{\"title\":\"x\",\"role\":\"owner\"}"),
           403, "\"field\":\"role\"");
    expect(ask(BY(.cookie = anton), POST, "/api/tokens", "{\"title\":\"x\",\"role\":\"counter\"}"),
           403, "bench or viewer");
    expect(ask(BY(.cookie = anton), POST, "/api/tokens",
               "{\"title\":\"x\",\"role\":\"bench\",\"expires\":\"2023-11-14T22:13:20Z\"}"),
           422, "\"field\":\"expires\"");
    const char *secret =
        secret_of(ask(BY(.cookie = anton), POST, "/api/tokens",
                      "{\"title\":\"x\",\"role\":\"bench\",\"expires\":\"2023-11-14T22:13:21Z\"}"));
    expect(ask(BY(.bearer = secret), GET, "/api/session", NULL), 200, NULL);
    now += 1000;
    expect(ask(BY(.bearer = secret), GET, "/api/session", NULL), 401, "expired");
}

static void token_makes_no_tokens_people_or_passwords(void **state)
{
    (void)state;
    const char *owner = set_up();
    const char *secret = secret_of(
        ask(BY(.cookie = owner), POST, "/api/tokens", "{\"title\":\"all\",\"role\":\"owner\"}"));
    int64_t before = crypto_password_count();
    expect(ask(BY(.bearer = secret), POST, "/api/tokens", "{\"title\":\"x\",\"role\":\"viewer\"}"),
           403, "API token");
    expect(ask(BY(.bearer = secret), POST, "/api/people",
               "{\"name\":\"eve\",\"role\":\"owner\",\"password\":\"" PASSWORD "\"}"),
           403, "API token");
    expect(ask(BY(.bearer = secret), PATCH, "/api/people/2", "{\"password\":\"" PASSWORD "\"}"),
           403, "API token");
    expect(ask(BY(.bearer = secret), PUT, "/api/session/password",
               "{\"present\":\"" PASSWORD "\",\"wanted\":\"quite another sentence\"}"),
           409, NULL);
    expect(ask(BY(.bearer = secret), DELETE, "/api/session", NULL), 409, NULL);
    assert_int_equal(crypto_password_count(), before);
}

static void tokens_of_others_are_the_owners_business_alone(void **state)
{
    (void)state;
    const char *owner = set_up(), *anton = add_and_sign_in(owner, "anton", "bench");
    expect(ask(BY(.cookie = owner), POST, "/api/tokens", "{\"title\":\"hers\",\"role\":\"owner\"}"),
           201, NULL);
    expect(ask(BY(.cookie = anton), POST, "/api/tokens", "{\"title\":\"his\",\"role\":\"bench\"}"),
           201, NULL);
    struct call *c = ask(BY(.cookie = anton), GET, "/api/tokens", NULL);
    expect(c, 200, "his");
    assert_false(answer_has(c, "hers"));
    expect(ask(BY(.cookie = anton), DELETE, "/api/tokens/1", NULL), 404, NULL);
    c = ask(BY(.cookie = owner), GET, "/api/tokens", NULL);
    expect(c, 200, "\"his\"");
    expect(c, 200, "\"hers\"");
    expect(ask(BY(.cookie = owner), POST, "/api/tokens",
               "{\"title\":\"x\",\"role\":\"bench\",\"user\":\"anton\"}"),
           403, "\"field\":\"user\"");
    expect(ask(BY(.cookie = owner), DELETE, "/api/tokens/2", NULL), 204, NULL);
    expect(ask(BY(.trusted = true), POST, "/api/tokens", "{\"title\":\"x\",\"role\":\"bench\"}"),
           422, "\"field\":\"user\"");
    expect(ask(BY(.trusted = true), POST, "/api/tokens",
               "{\"title\":\"x\",\"role\":\"bench\",\"user\":\"anton\"}"),
           201, "\"user\":\"anton\"");
}

/* ---- every route, every credential -------------------------------------------------------- */

struct credential {
    const char *title;
    struct ask by;
    unsigned role; /* R_ bit it should have; 0: none */
    bool refused;  /* a bad API token: refused even where everybody may */
};

static void put_session(const char *secret, int64_t user_id, int64_t made, int64_t expires)
{
    unsigned char hash[PEOPLE_HASH_BYTES];
    struct err e = ERR_INIT;
    int64_t id;
    crypto_token_hash(hash, secret);
    store_as(st, PEOPLE_LOCAL, made);
    assert_true(people_sign_in(&id, st, user_id, hash, expires, &e));
}

static void put_token(const char *secret, int64_t user_id, int64_t role, int64_t expires,
                      bool revoked)
{
    unsigned char hash[PEOPLE_HASH_BYTES];
    struct err e = ERR_INIT;
    struct api_token t = {.user_id = user_id, .title = secret, .role = role, .expires_ms = expires};
    int64_t id;
    crypto_token_hash(hash, secret);
    assert_true(people_token_add(&id, st, &t, hash, &e));
    assert_true(!revoked || people_token_revoke(st, id, &e));
}

/* A person of each role, and one disabled; sessions and tokens in every state. */
static void put_credentials(void)
{
    struct err e = ERR_INIT;
    assert_true(store_begin(st, &e) && store_mark(st, &e));
    store_as(st, PEOPLE_LOCAL, NOW);
    for (int64_t r = 0; r < ROLE__COUNT; r++) {
        struct person p = {
            .name = role_names[r], .shown = role_names[r], .role = r, .password_hash = "$"};
        int64_t id;
        assert_true(people_add(&id, st, &p, &e));
        put_session(role_names[r], id, NOW, NOW + DAY);
        put_token(role_names[r], id, r, NONE, false);
    }
    struct person p = {.name = "left", .shown = "left", .role = ROLE_OWNER, .password_hash = "$"};
    int64_t owner = 1 + ROLE__COUNT, left;
    assert_true(people_add(&left, st, &p, &e));
    put_token("left", left, ROLE_OWNER, NONE, false);
    p = (struct person){
        .id = left, .shown = "left", .role = ROLE_OWNER, .disabled_ms = NOW, .version = NONE};
    assert_true(people_change(st, &p, NONE, &e));
    put_session("left", left, NOW, NOW + DAY);
    put_session("expired", owner, NOW - 7 * DAY, NOW);
    put_session("idle", owner, NOW - DAY, NOW + DAY);
    put_token("expired", owner, ROLE_OWNER, NOW, false);
    put_token("revoked", owner, ROLE_OWNER, NONE, true);
    put_token("above", 2 + ROLE_BENCH, ROLE_OWNER, NONE, false);
    assert_true(store_keep(st, &e) && store_commit(st, &e));
}

static const struct credential credentials[] = {
    {"nobody", {0}, 0, false},
    {"unknown cookie", {.cookie = "unknown"}, 0, false},
    {"empty cookie", {.cookie = ""}, 0, false},
    {"expired session", {.cookie = "expired"}, 0, false},
    {"idle session", {.cookie = "idle"}, 0, false},
    {"session of a disabled owner", {.cookie = "left"}, 0, false},
    {"viewer", {.cookie = "viewer"}, R_VIEWER, false},
    {"counter", {.cookie = "counter"}, R_COUNTER, false},
    {"bench", {.cookie = "bench"}, R_BENCH, false},
    {"owner", {.cookie = "owner"}, R_OWNER, false},
    {"viewer's token", {.bearer = "viewer"}, R_VIEWER, false},
    {"counter's token", {.bearer = "counter"}, R_COUNTER, false},
    {"bench's token", {.bearer = "bench"}, R_BENCH, false},
    {"owner's token", {.bearer = "owner"}, R_OWNER, false},
    {"unknown token", {.bearer = "unknown"}, 0, true},
    {"empty token", {.bearer = ""}, 0, true},
    {"expired token", {.bearer = "expired"}, 0, true},
    {"withdrawn token", {.bearer = "revoked"}, 0, true},
    {"token of a disabled owner", {.bearer = "left"}, 0, true},
    {"token above its maker", {.bearer = "above"}, 0, true},
    {"bad token beside an owner's cookie", {.bearer = "unknown", .cookie = "owner"}, 0, true},
    {"local command", {.trusted = true}, R_OWNER, false},
};

static void check_entry(const struct route *r, const struct credential *k)
{
    struct call *c = call_made(&k->by, r->method, r->path, NULL);
    call_route(c, st);
    bool may = !k->refused && (r->roles & R_PUBLIC || r->roles & k->role);
    int wanted = may ? 0 : k->role ? 403 : 401;
    bool shut = c->done && (c->status == 401 || c->status == 403);
    if (may ? shut : !c->done || c->status != wanted)
        fail_msg("%d %s by %s: wanted %d, got %d", r->method, r->path, k->title, wanted, c->status);
    if (may)
        assert_int_equal(c->who.role, k->role);
    call_free(calls[--call_count]);
}

static void every_route_lets_in_whom_its_row_names_and_nobody_else(void **state)
{
    (void)state;
    int checked = 0;
    put_credentials();
    for (const struct route *const *t = route_tables; *t; t++)
        for (const struct route *r = *t; r->path; r++)
            for (size_t i = 0; i < ARRAY_LEN(credentials); i++, checked++)
                check_entry(r, &credentials[i]);
    assert_true(checked >= 13 * (int)ARRAY_LEN(credentials)); /* the routes of this file alone */
}

static void no_change_is_taken_from_a_page_of_another_address(void **state)
{
    (void)state;
    static const char *const foreign[] = {"http://evil.example", "null", "http://bench.example",
                                          "http://bench.example:8080.evil.example"};
    put_credentials();
    for (const struct route *const *t = route_tables; *t; t++) {
        for (const struct route *r = *t; r->path; r++) {
            if (r->method == GET)
                continue;
            for (size_t i = 0; i < ARRAY_LEN(foreign); i++) {
                struct call *c = call_made(BY(.cookie = "owner", .origin = foreign[i]), r->method,
                                           r->path, NULL);
                call_route(c, st);
                expect(c, 403, "Origin");
                call_free(calls[--call_count]);
            }
            struct call *c = call_made(BY(.cookie = "owner", .origin = "http://bench.example:8080"),
                                       r->method, r->path, NULL);
            call_route(c, st);
            assert_false(c->done && c->status == 403);
            call_free(calls[--call_count]);
        }
    }
    /* signing in is a change too, and nobody is signed in then */
    expect(ask(BY(.origin = "http://evil.example"), POST, "/api/session",
               "{\"name\":\"vera\",\"password\":\"" PASSWORD "\"}"),
           401, "Origin");
}

int main(void)
{
#define T(f) cmocka_unit_test_setup_teardown(f, fresh, gone)
    const struct CMUnitTest tests[] = {
        T(nothing_but_the_public_is_served_before_there_is_an_owner),
        T(setup_token_makes_one_owner_and_only_one),
        T(of_two_who_hold_the_token_one_becomes_the_owner),
        T(passwords_are_held_to_their_length_and_nothing_else),
        T(signing_in_takes_the_name_in_any_case_and_gives_a_guarded_cookie),
        T(whoever_cannot_sign_in_hears_one_sentence_and_costs_one_hash),
        T(planted_cookie_is_never_taken_over),
        T(signing_out_ends_the_session_for_good),
        T(changes_keep_a_session_from_idling_away),
        T(password_changed_between_check_and_writing_does_not_sign_in),
        T(stranger_who_hammers_a_name_does_not_lock_its_owner_out),
        T(one_address_may_not_try_name_after_name),
        T(known_browser_is_counted_too),
        T(right_passwords_are_not_counted),
        T(owner_adds_lists_and_changes_people),
        T(change_of_a_person_minds_if_match),
        T(disabled_person_is_out_at_once_and_in_again_when_enabled),
        T(adding_a_person_twice_with_one_key_adds_one),
        T(own_password_needs_the_present_one_and_signs_out_elsewhere),
        T(guesses_at_the_present_password_are_counted),
        T(local_command_adds_people_before_there_is_an_owner),
        T(token_is_told_once_and_works_until_withdrawn),
        T(token_may_do_no_more_than_its_maker_and_ends_when_said),
        T(token_makes_no_tokens_people_or_passwords),
        T(tokens_of_others_are_the_owners_business_alone),
        T(every_route_lets_in_whom_its_row_names_and_nobody_else),
        T(no_change_is_taken_from_a_page_of_another_address),
    };
    return cmocka_run_group_tests_name("people routes", tests, NULL, NULL);
}
