/* SPDX-License-Identifier: MIT
 *
 * ask: whole calls on a store in memory, as the command line makes them, and looking into the
 * answers.  Included by tests of handlers; everything is static.
 */
#ifndef QUADRILLE_TESTS_API_ASK_H
#define QUADRILLE_TESTS_API_ASK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "auth/crypto.h"
#include "http/call.h"
#include "store/store_priv.h"

#define ASK_NOW INT64_C(1700000000000) /* 2023-11-14T22:13:20Z */

static struct store *ask_store;
static struct call *ask_call; /* the last one, for headers and status */
static json_t *ask_answer;    /* its body as JSON; NULL when it has none */
static int64_t ask_now;

static inline int ask_open(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    if (!crypto_init(&e) || !store_open(&ask_store, NULL, STORE_MEMORY, &e))
        fail_msg("%s", e.text);
    ask_now = ASK_NOW;
    return 0;
}

static inline int ask_close(void **state)
{
    (void)state;
    json_decref(ask_answer);
    call_free(ask_call);
    ask_answer = NULL;
    ask_call = NULL;
    store_close(ask_store);
    return 0;
}

/* SQL that must succeed, to lay the ground. */
static inline void ask_sql(const char *sql)
{
    char *said = NULL;
    if (sqlite3_exec(store_handle(ask_store), sql, NULL, NULL, &said) != SQLITE_OK)
        fail_msg("%s: %s", said, sql);
}

static inline int64_t ask_number(const char *sql)
{
    sqlite3_stmt *s = NULL;
    if (sqlite3_prepare_v2(store_handle(ask_store), sql, -1, &s, NULL) != SQLITE_OK)
        fail_msg("%s", sqlite3_errmsg(store_handle(ask_store)));
    int64_t v = sqlite3_step(s) == SQLITE_ROW ? sqlite3_column_int64(s, 0) : -1;
    sqlite3_finalize(s);
    return v;
}

/* One call with headers; path may hold a query.  key and if_match may be NULL.  Returns the status.
 */
static inline int ask_with(enum method m, const char *path, const char *body, const char *key,
                           const char *if_match)
{
    json_decref(ask_answer);
    call_free(ask_call);
    struct call *c = ask_call = call_new();
    const char *query = strchr(path, '?');
    c->method = m;
    c->path =
        query ? arena_bytes(c->arena, path, (size_t)(query - path)) : arena_text(c->arena, path);
    c->query = query ? arena_text(c->arena, query + 1) : "";
    c->body = body;
    c->body_n = body ? strlen(body) : 0;
    c->content_type = body ? "application/json" : NULL;
    c->idempotency_key = key;
    c->if_match = if_match;
    c->peer = "local";
    c->trusted = true;
    c->now_ms = ask_now;
    call_serve(c, ask_store);
    ask_answer = c->answer ? json_loadb(c->answer, c->answer_n, JSON_DECODE_ANY, NULL) : NULL;
    return c->status;
}

static inline void ask_ok(enum method m, const char *path, const char *body)
{
    int status = ask_with(m, path, body, NULL, NULL);
    if (status < 200 || status > 299)
        fail_msg("%s answered %d: %.*s", path, status, (int)ask_call->answer_n, ask_call->answer);
}

/* The call is refused with this status, this field (NULL: any) and a sentence that holds words. */
static inline void ask_refused(enum method m, const char *path, const char *body, int status,
                               const char *field, const char *words)
{
    int got = ask_with(m, path, body, NULL, NULL);
    const char *said = json_string_value(json_object_get(ask_answer, "detail"));
    const char *at = json_string_value(json_object_get(ask_answer, "field"));
    if (got != status || !said || !strstr(said, words) ||
        (field && (!at || strcmp(at, field) != 0)))
        fail_msg("%s answered %d (%s: %s), wanted %d (%s: ...%s...)", path, got, at ? at : "-",
                 said ? said : "-", status, field ? field : "-", words);
}

/* What lies at a path such as "items[0].values[1].typed"; NULL when nothing does. */
static inline json_t *ask_at(const char *path)
{
    json_t *at = ask_answer;
    while (at && *path) {
        if (*path == '[') {
            at = json_array_get(at, (size_t)strtoul(path + 1, NULL, 10));
            path = strchr(path, ']') + 1;
        } else {
            char name[64];
            path += *path == '.';
            size_t n = strcspn(path, ".[");
            snprintf(name, sizeof name, "%.*s", (int)n, path);
            at = json_object_get(at, name);
            path += n;
        }
    }
    return at;
}

static inline const char *ask_text(const char *path)
{
    const char *s = json_string_value(ask_at(path));
    return s ? s : "(nothing)";
}

static inline int64_t ask_int(const char *path)
{
    json_t *v = ask_at(path);
    if (json_is_boolean(v))
        return json_is_true(v);
    return json_is_integer(v) ? json_integer_value(v) : NONE;
}

static inline size_t ask_count(const char *path)
{
    return json_array_size(ask_at(path));
}

/* Every statement that the calls so far have prepared: none walks a large table from end to end. */
static inline void ask_no_scan(void)
{
    static const char *const large[] = {"tube",    "reading",    "reading_value", "standing",
                                        "grading", "journal",    "inspection",    "set_member",
                                        "hold",    "matched_set"};
    sqlite3 *db = store_handle(ask_store);
    for (sqlite3_stmt *s = sqlite3_next_stmt(db, NULL); s; s = sqlite3_next_stmt(db, s)) {
        char *explain = sqlite3_mprintf("EXPLAIN QUERY PLAN %s", sqlite3_sql(s));
        sqlite3_stmt *plan = NULL;
        if (strncmp(explain + 19, "EXPLAIN", 7) == 0 ||
            sqlite3_prepare_v2(db, explain, -1, &plan, NULL) != SQLITE_OK) {
            sqlite3_free(explain);
            continue;
        }
        while (sqlite3_step(plan) == SQLITE_ROW) {
            const char *step = (const char *)sqlite3_column_text(plan, 3);
            for (size_t i = 0; i < ARRAY_LEN(large); i++) {
                size_t n = strlen(large[i]);
                if (strncmp(step, "SCAN ", 5) == 0 && strncmp(step + 5, large[i], n) == 0 &&
                    (step[5 + n] == 0 || step[5 + n] == ' '))
                    fail_msg("%s: %s", step, sqlite3_sql(s));
            }
        }
        sqlite3_finalize(plan);
        sqlite3_free(explain);
    }
}

#endif
