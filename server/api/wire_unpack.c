/* SPDX-License-Identifier: MIT
 *
 * wire_unpack: from a JSON body to a C struct.  The only file that knows jansson.
 *
 * First the bytes are looked at as text (UTF-8, depth), then jansson reads them, then the shape
 * walks over what jansson made.  jansson says at which byte it stopped but not in which field, so a
 * small scanner of our own (trail) follows the braces up to that byte.
 */
#include "api/wire_priv.h"
#include "base/text.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SHOW(s, n) text_show((char[TEXT_SHOW_BYTES]){0}, s, n)

_Static_assert(sizeof(json_int_t) == sizeof(int64_t), "jansson's integers have 64 bits");

/* ---- where in the text we are -------------------------------------------------------------------
 */

struct trail {
    int depth; /* levels open */
    struct level {
        bool list, key_next;
        size_t index;    /* item of a list */
        const char *key; /* of an object, as written; NULL before the first */
        size_t key_n;
    } level[WIRE_DEPTH];
};

static void trail_string(struct trail *t, const char *s, size_t n)
{
    struct level *l = t->depth ? &t->level[t->depth - 1] : NULL;
    if (l && l->key_next) {
        l->key = s;
        l->key_n = n;
        l->key_next = false;
    }
}

/* Follow json up to byte n.  Returns n, or the byte of the bracket that is deeper than WIRE_DEPTH.
 */
static size_t trail_follow(struct trail *t, const char *json, size_t n)
{
    *t = (struct trail){0};
    for (size_t i = 0; i < n; i++) {
        struct level *l = t->depth ? &t->level[t->depth - 1] : NULL;
        char c = json[i];
        if (c == '"') {
            size_t from = ++i;
            while (i < n && json[i] != '"')
                i += json[i] == '\\' ? 2 : 1;
            trail_string(t, json + from, (i < n ? i : n) - from);
        } else if (c == '{' || c == '[') {
            if (t->depth == WIRE_DEPTH)
                return i;
            t->level[t->depth++] = (struct level){.list = c == '[', .key_next = c == '{'};
        } else if ((c == '}' || c == ']') && l) {
            t->depth--;
        } else if (c == ',' && l) {
            l->index++;
            l->key_next = !l->list;
        }
    }
    return n;
}

static const char *trail_print(char *buf, const struct trail *t)
{
    char keys[WIRE_DEPTH][TEXT_SHOW_BYTES];
    struct wire_path path[WIRE_DEPTH];
    const struct wire_path *at = NULL;
    buf[0] = '\0';
    for (int i = 0; i < t->depth; i++) {
        const struct level *l = &t->level[i];
        if (!l->list && !l->key)
            break;
        path[i] =
            (struct wire_path){at, l->list ? NULL : text_show(keys[i], l->key, l->key_n), l->index};
        at = &path[i];
    }
    return at ? wire_path_print(buf, at) : buf;
}

/* ---- bodies that are no JSON --------------------------------------------------------------------
 */

/* Fail at a byte of the body: code and sentence are in e already; name the field, where there is
 * one. */
static bool refuse_at(const char *json, size_t at, struct err *e)
{
    if (!e)
        return false;
    struct trail t;
    char path[WIRE_PATH_BYTES];
    (void)trail_follow(&t, json, at);
    e->at = (int64_t)at;
    return err_in(e, trail_print(path, &t));
}

/* What stands at a byte, for the sentence; nothing of it where the shape has secrets. */
static const char *seen_at(char *buf, size_t room, const struct shape *s, const char *json,
                           size_t n, size_t at)
{
    if (at >= n)
        snprintf(buf, room, "the end of the body");
    else if (wire_has_secret(s))
        snprintf(buf, room, "something else");
    else
        snprintf(buf, room, "\"%s\"", SHOW(json + at, n - at < 12 ? n - at : 12));
    return buf;
}

static bool refuse_syntax(const struct shape *s, const char *json, size_t n,
                          const json_error_t *why, struct err *e)
{
    size_t end = why->position > 0 ? (size_t)why->position : 0, at = end < n ? end : n;
    struct trail t;
    char path[WIRE_PATH_BYTES], seen[TEXT_SHOW_BYTES + 8];
    (void)trail_follow(&t, json, at);
    trail_print(path, &t);
    switch ((int)json_error_code(why)) {
    case json_error_duplicate_key:
        err_set(e, ERR_INVALID, "%s is given twice in one object; give it once.", path);
        break;
    case json_error_numeric_overflow:
        err_set(e, ERR_INVALID,
                "%s is a number that does not fit 64 bits; whole numbers go up to %s.", path,
                "9223372036854775807");
        break;
    case json_error_null_character:
    case json_error_null_byte_in_key:
        err_set(e, ERR_INVALID, "%s holds a NUL character (\\u0000); text must not hold any.",
                *path ? path : "The body");
        break;
    case json_error_end_of_input_expected:
        err_set(e, ERR_INVALID,
                "After the JSON object, at byte %zu, comes %s; send one object and nothing after "
                "it.",
                at, seen_at(seen, sizeof seen, s, json, n, at ? at - 1 : 0));
        break;
    case json_error_premature_end_of_input:
        err_set(e, ERR_INVALID,
                "The JSON breaks off at byte %zu, with a bracket or a quotation mark still open; "
                "send the whole object.",
                n);
        break;
    default: {
        const char *near = strstr(why->text, " near ");
        err_set(
            e, ERR_INVALID,
            "The body is not JSON at byte %zu (line %d, column %d): %.*s; names and texts stand "
            "in double quotes, and no comma follows the last item.",
            at, why->line, why->column, near ? (int)(near - why->text) : 80, why->text);
    }
    }
    return refuse_at(json, at, e);
}

static bool check_bytes(const char *json, size_t n, struct err *e)
{
    size_t left = n;
    (void)text_trim(json, &left);
    if (!left)
        return err_set(e, ERR_INVALID, "There is no body; send a JSON object.");
    struct err here = ERR_INIT;
    if (!text_check(json, n, &here)) {
        err_set(e, here.code, "%s", here.text);
        return refuse_at(json, (size_t)here.at, e);
    }
    if (n >= 3 && !memcmp(json, "\xEF\xBB\xBF", 3))
        return err_at(e, ERR_INVALID, 0,
                      "The body begins with a byte order mark (EF BB BF); send JSON without one.");
    struct trail t;
    size_t deep = trail_follow(&t, json, n);
    if (deep < n) {
        err_set(e, ERR_TOO_LARGE,
                "At byte %zu the body is nested deeper than %d levels; nothing taken here is.",
                deep, WIRE_DEPTH);
        return refuse_at(json, deep, e);
    }
    return true;
}

/* ---- values -------------------------------------------------------------------------------------
 */

struct unpacking {
    struct arena *a;
    struct err *e;
    bool reply; /* from ourselves: nothing is too long, what is not known is passed over */
};

static const char *what_came(char *buf, size_t room, const json_t *v, bool secret)
{
    switch (json_typeof(v)) {
    case JSON_OBJECT:
        return "an object";
    case JSON_ARRAY:
        return "a list";
    case JSON_TRUE:
        return "true";
    case JSON_FALSE:
        return "false";
    case JSON_NULL:
        return "null";
    case JSON_STRING:
        if (secret)
            return "a text";
        snprintf(buf, room, "the text \"%s\"", SHOW(json_string_value(v), json_string_length(v)));
        return buf;
    case JSON_INTEGER:
        if (secret)
            return "a number";
        snprintf(buf, room, "the number %" JSON_INTEGER_FORMAT, json_integer_value(v));
        return buf;
    case JSON_REAL:
        break;
    }
    if (secret)
        return "a number";
    char number[32];
    snprintf(number, sizeof number, "%.15g", json_real_value(v));
    snprintf(buf, room, "the number %s%s", number, strpbrk(number, ".e") ? "" : ".0");
    return buf;
}

static bool refuse_kind(const struct field *f, const json_t *v, const struct wire_path *at,
                        struct err *e)
{
    char came[TEXT_SHOW_BYTES + 16], wants[WIRE_WANTS_BYTES];
    const char *what = what_came(came, sizeof came, v, f->flags & F_SECRET);
    if ((f->kind == K_DECIMAL || f->flags & F_MEASURE) && json_is_number(v))
        return wire_refuse(e, ERR_INVALID, at,
                           "is %s without quotes; readings travel as decimal text: write \"%s\" in "
                           "quotes.",
                           what, f->example ? f->example : "5.20");
    if (f->kind == K_STOCKNO && json_is_number(v))
        return wire_refuse(
            e, ERR_INVALID, at,
            "is %s without quotes; stock numbers travel as text: write it in quotes.", what);
    return wire_refuse(e, ERR_INVALID, at, "is %s; it must be %s.", what, wire_wants(wants, f));
}

static bool unpack_object(void *to, const struct shape *s, const json_t *from,
                          const struct wire_path *up, struct unpacking *u);

static bool unpack_texts(void *to, const struct field *f, const json_t *v,
                         const struct wire_path *up, struct unpacking *u)
{
    const struct field item = {
        .name = f->name, .kind = K_TEXT, .flags = f->flags, .at = 0, .min = f->min, .max = f->max};
    size_t count = json_array_size(v);
    if (count > (size_t)WIRE_ITEMS && !u->reply)
        return wire_refuse(u->e, ERR_TOO_LARGE, up, "has %zu texts; at most %d are taken.", count,
                           (int)WIRE_ITEMS);
    const char **items = arena_array(u->a, count, sizeof *items);
    for (size_t i = 0; i < count; i++) {
        const struct wire_path at = {up, NULL, i};
        const json_t *text = json_array_get(v, i);
        if (!json_is_string(text))
            return refuse_kind(&item, text, &at, u->e);
        if (!wire_take_text(&items[i], &item, json_string_value(text), json_string_length(text),
                            &at, u->a, u->e))
            return false;
    }
    *(struct texts *)(void *)((char *)to + f->at) = (struct texts){items, count};
    return true;
}

static bool unpack_list(void *to, const struct field *f, const json_t *v,
                        const struct wire_path *up, struct unpacking *u)
{
    size_t count = json_array_size(v);
    char wants[WIRE_WANTS_BYTES];
    if (!u->reply && (count > (size_t)wire_max(f) || count < (size_t)wire_min(f)))
        return wire_refuse(u->e, count > (size_t)wire_max(f) ? ERR_TOO_LARGE : ERR_INVALID, up,
                           "has %zu items; it must be %s.", count, wire_wants(wants, f));
    char *items = arena_array(u->a, count, f->sub->size);
    for (size_t i = 0; i < count; i++) {
        const struct wire_path at = {up, NULL, i};
        const json_t *item = json_array_get(v, i);
        const struct field one = {.kind = K_OBJECT, .flags = f->flags, .sub = f->sub};
        if (!json_is_object(item))
            return refuse_kind(&one, item, &at, u->e);
        if (!unpack_object(items + i * f->sub->size, f->sub, item, &at, u))
            return false;
    }
    *(struct list *)(void *)((char *)to + f->at) = (struct list){items, count};
    return true;
}

/* A field of a reply in its own words: as it is, without the limits that are there for requests. */
static bool unpack_reply_text(void *to, const struct field *f, const json_t *v,
                              const struct wire_path *at, struct unpacking *u)
{
    const char **slot = (const char **)(void *)((char *)to + f->at);
    if (f->kind != K_TEXT && f->kind != K_NOTE && f->kind != K_DECIMAL)
        return wire_take_text(to, f, json_string_value(v), json_string_length(v), at, u->a, u->e);
    *slot = arena_bytes(u->a, json_string_value(v), json_string_length(v));
    return true;
}

static void unpack_raw(void *to, const struct field *f, const json_t *v, struct unpacking *u)
{
    char *text = json_dumps(v, JSON_COMPACT | JSON_ENCODE_ANY);
    *(const char **)(void *)((char *)to + f->at) = arena_text(u->a, text);
    free(text);
}

static bool unpack_field(void *to, const struct field *f, const json_t *v,
                         const struct wire_path *at, struct unpacking *u)
{
    if (u->reply && f->kind == K_RAW) {
        unpack_raw(to, f, v, u);
        return true;
    }
    if (u->reply && f->kind == K_INT && json_is_integer(v)) {
        *(int64_t *)(void *)((char *)to + f->at) = json_integer_value(v);
        return true;
    }
    if (u->reply && wire_is_text(f->kind) && json_is_string(v))
        return unpack_reply_text(to, f, v, at, u);
    if (wire_is_text(f->kind) && json_is_string(v))
        return wire_take_text(to, f, json_string_value(v), json_string_length(v), at, u->a, u->e);
    if (f->kind == K_INT && json_is_integer(v))
        return wire_take_int(to, f, json_integer_value(v), at, u->e);
    if (f->kind == K_TEXTS && json_is_array(v))
        return unpack_texts(to, f, v, at, u);
    if (f->kind == K_LIST && json_is_array(v))
        return unpack_list(to, f, v, at, u);
    if (f->kind == K_BOOL && json_is_boolean(v)) {
        *(int64_t *)(void *)((char *)to + f->at) = json_is_true(v);
        return true;
    }
    if (f->kind == K_OBJECT && json_is_object(v)) {
        void *sub = arena_alloc(u->a, f->sub->size);
        *(void **)(void *)((char *)to + f->at) = sub;
        return unpack_object(sub, f->sub, v, at, u);
    }
    return refuse_kind(f, v, at, u->e);
}

static bool unpack_object(void *to, const struct shape *s, const json_t *from,
                          const struct wire_path *up, struct unpacking *u)
{
    wire_clear(to, s);
    for (void *i = json_object_iter((json_t *)(uintptr_t)from); i;
         i = json_object_iter_next((json_t *)(uintptr_t)from, i)) {
        const struct wire_path at = {up, json_object_iter_key(i), 0};
        const json_t *v = json_object_iter_value(i);
        const struct field *f = wire_find(s, at.name);
        if (u->reply && (!f || json_is_null(v)))
            continue;
        if (f && f->flags & F_PATH)
            return wire_refuse(u->e, ERR_INVALID, &at,
                               "is part of the address, not of the body; leave it out.");
        if (!f || (f->kind == K_RAW && !u->reply))
            return wire_refuse_unknown(s, &at, u->e);
        if (json_is_null(v) && !(f->flags & F_REQUIRED))
            continue;
        if (!unpack_field(to, f, v, &at, u))
            return false;
    }
    for (const struct field *f = s->field; f->name && !u->reply; f++) {
        const struct wire_path at = {up, f->name, 0};
        if (f->flags & F_REQUIRED && !(f->flags & F_PATH) && wire_is_absent(f, to))
            return wire_refuse_missing(f, &at, u->e);
    }
    return true;
}

static bool unpack(void **out, const struct shape *s, const char *json, size_t n, bool reply,
                   struct arena *a, struct err *e)
{
    if (!check_bytes(json, n, e))
        return false;
    json_error_t why;
    json_t *root = json_loadb(json, n, JSON_REJECT_DUPLICATES | JSON_DECODE_ANY, &why);
    if (!root)
        return refuse_syntax(s, json, n, &why, e);
    char came[TEXT_SHOW_BYTES + 16];
    void *to = arena_alloc(a, s->size);
    struct unpacking u = {a, e, reply};
    bool good = json_is_object(root)
                    ? unpack_object(to, s, root, NULL, &u)
                    : err_set(e, ERR_INVALID, "The body is %s; send a JSON object: {...}.",
                              what_came(came, sizeof came, root, wire_has_secret(s)));
    json_decref(root);
    if (good)
        *out = to;
    return good;
}

bool wire_unpack(void **out, const struct shape *s, const char *json, size_t n, struct arena *a,
                 struct err *e)
{
    return unpack(out, s, json, n, false, a, e);
}

bool wire_unpack_reply(void **out, const struct shape *s, const char *json, size_t n,
                       struct arena *a, struct err *e)
{
    return unpack(out, s, json, n, true, a, e);
}
