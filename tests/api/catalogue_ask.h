/* SPDX-License-Identifier: MIT
 *
 * catalogue_ask: whole calls over the bundled catalogue in memory, and looking into the answers.
 */
#ifndef QUADRILLE_TESTS_API_CATALOGUE_ASK_H
#define QUADRILLE_TESTS_API_CATALOGUE_ASK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/page.h"
#include "auth/crypto.h"
#include "base/stockno.h"
#include "http/call.h"
#include "store/furnish.h"
#include "store/store_priv.h"

static struct store *st;
static struct arena *a;
static json_t *roots[200];
static size_t root_count;

static inline int fresh(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    if (!crypto_init(&e) || !store_open(&st, NULL, STORE_MEMORY, &e) || !store_furnish(st, &e))
        fail_msg("%s", e.text);
    a = arena_new();
    return 0;
}

static inline int gone(void **state)
{
    (void)state;
    while (root_count)
        json_decref(roots[--root_count]);
    arena_free(a);
    store_close(st);
    return 0;
}

/* ---- asking --------------------------------------------------------------------------------- */

struct asked {
    int status;
    const char *text, *etag;
    json_t *json; /* NULL without a body */
};

static inline struct asked ask_matching(enum method m, const char *path, const char *body,
                                        const char *if_match)
{
    struct call *c = call_new();
    const char *mark = strchr(path, '?');
    c->method = m;
    c->path = mark ? arena_bytes(c->arena, path, (size_t)(mark - path)) : path;
    c->query = mark ? mark + 1 : "";
    c->body = body;
    c->body_n = body ? strlen(body) : 0;
    c->content_type = body ? "application/json" : NULL;
    c->if_match = if_match;
    c->peer = "local";
    c->trusted = true;
    c->now_ms = 1700000000000;
    call_serve(c, st);
    struct asked out = {c->status, c->answer ? arena_bytes(a, c->answer, c->answer_n) : "",
                        arena_text(a, c->etag), NULL};
    call_free(c);
    if (*out.text) {
        json_error_t bad;
        out.json = json_loads(out.text, 0, &bad);
        if (!out.json)
            fail_msg("%s: %s: %s", path, bad.text, out.text);
        assert_true(root_count < ARRAY_LEN(roots));
        roots[root_count++] = out.json;
    }
    return out;
}

static inline struct asked ask(enum method m, const char *path, const char *body)
{
    return ask_matching(m, path, body, NULL);
}

static inline json_t *get(const char *path)
{
    struct asked r = ask(GET, path, NULL);
    if (r.status != 200)
        fail_msg("%s: %d %s", path, r.status, r.text);
    return r.json;
}

static inline const char *url(const char *fmt, const char *one, const char *other)
{
    return arena_printf(a, "/api/%s%s%s%s", fmt, page_escape(a, one), other ? "&b=" : "",
                        other ? page_escape(a, other) : "");
}

static inline json_t *lookup(const char *text)
{
    return get(url("lookup?text=", text, NULL));
}

static inline json_t *type(const char *designation)
{
    return get(url("types/", designation, NULL));
}

static inline json_t *equivalents(const char *designation, const char *query)
{
    return get(arena_printf(a, "/api/types/%s/equivalents%s", page_escape(a, designation), query));
}

static inline json_t *compare(const char *old, const char *new)
{
    return get(url("compare?a=", old, new));
}

static inline void refused(struct asked r, int status, const char *field, const char *words)
{
    const char *in = r.json ? json_string_value(json_object_get(r.json, "field")) : NULL;
    if (r.status != status || !strstr(r.text, words) || (field && (!in || strcmp(in, field) != 0)))
        fail_msg("wanted %d in %s with \"%s\", got %d: %s", status, field ? field : "(none)", words,
                 r.status, r.text);
}

static inline const char *word(json_t *o, const char *name)
{
    const char *s = json_string_value(json_object_get(o, name));
    return s ? s : "";
}

static inline int64_t number(json_t *o, const char *name)
{
    json_t *v = json_object_get(o, name);
    return json_is_boolean(v) ? json_is_true(v) : json_integer_value(v);
}

/* The object of a list whose member `name` is `value`; NULL for none. */
static inline json_t *among(json_t *o, const char *list, const char *name, const char *value)
{
    json_t *items = json_object_get(o, list), *item;
    size_t i;
    assert_true(json_is_array(items));
    json_array_foreach(items, i, item) if (strcmp(word(item, name), value) == 0) return item;
    return NULL;
}

static inline bool lists(json_t *o, const char *list, const char *value)
{
    json_t *item;
    size_t i;
    json_array_foreach(json_object_get(o, list), i,
                       item) if (strcmp(json_string_value(item), value) == 0) return true;
    return false;
}

static inline json_t *first(json_t *o, const char *list)
{
    return json_array_get(json_object_get(o, list), 0);
}

static inline void put_tube(int64_t id, const char *printed, const char *grade)
{
    const char *sql =
        arena_printf(a,
                     "INSERT INTO tube (id, stock_no, type_id, printed, grade, created_ms) "
                     "SELECT %lld, %lld, id, designation, %s, 0 FROM type WHERE designation = '%s'",
                     (long long)id, (long long)stockno_make(id), grade, printed);
    char *said = NULL;
    if (sqlite3_exec(store_handle(st), sql, NULL, NULL, &said) != SQLITE_OK)
        fail_msg("%s", said);
}

#endif
