/* SPDX-License-Identifier: MIT
 *
 * openapi: one pass over the routes for the paths, which gathers the shapes they name, and one over
 * the shapes for the schemas.
 *
 * What a row of a route table says is all there is to say, so everything here follows from it:
 * roles as x-roles, CREATES as the Idempotency-Key header, UPLOAD as a body of any type, EVENTS as
 * a stream of server-sent events, no out shape as a file (GET) or as nothing (the others).
 */
#include "http/openapi.h"
#include "api/wire_schema.h"
#include "auth/identify.h"

#include <ctype.h>
#include <stdio.h>
#include <pthread.h>
#include <string.h>

struct openapi {
    struct pen pen;
    struct arena *arena;
    struct shape_set shapes;
};

static const char *const method_names[] = {
    [GET] = "get", [POST] = "post", [PUT] = "put", [PATCH] = "patch", [DELETE] = "delete",
};
_Static_assert(ARRAY_LEN(method_names) == METHOD__COUNT, "a name for each method");

static const struct {
    unsigned role;
    const char *name;
} roles[] = {
    {R_PUBLIC, "public"}, {R_VIEWER, "viewer"}, {R_COUNTER, "counter"},
    {R_BENCH, "bench"},   {R_OWNER, "owner"},
};

/* ---- paths and their names ----------------------------------------------------------------------
 */

/* The next ":name" of a path from *at on; false when there is none.  *at is moved behind it. */
static bool next_param(const char **at, const char **name, size_t *n)
{
    const char *colon = strstr(*at, "/:");
    if (!colon)
        return false;
    *name = colon + 2;
    *n = strcspn(*name, "/");
    *at = *name + *n;
    return true;
}

/* "/api/tubes/:stock_no" as "/api/tubes/{stock_no}" */
static void put_path(struct pen *p, const char *path)
{
    const char *at = path, *from = path, *name;
    size_t n;
    pen_char(p, '"');
    while (next_param(&at, &name, &n)) {
        pen_bytes(p, from, (size_t)(name - 1 - from));
        pen_printf(p, "{%.*s}", (int)n, name);
        from = at;
    }
    pen_text(p, from);
    pen_char(p, '"');
}

/* A name for programs that write clients: "get_tubes_stock_no". */
static void put_operation_id(struct pen *p, const struct route *r)
{
    const char *path = strncmp(r->path, "/api", 4) ? r->path : r->path + 4;
    pen_printf(p, "\"operationId\":\"%s", method_names[r->method]);
    for (bool gap = true; *path; path++) {
        bool plain = isalnum((unsigned char)*path) || *path == '_';
        if (plain && gap)
            pen_char(p, '_');
        gap = !plain;
        if (plain)
            pen_char(p, *path);
    }
    pen_char(p, '"');
}

/* The first part of the path behind /api: the noun, by which readers of the document group. */
static void put_tag(struct pen *p, const struct route *r)
{
    const char *noun = strncmp(r->path, "/api/", 5) ? r->path + 1 : r->path + 5;
    size_t n = strcspn(noun, "/");
    pen_text(p, "\"tags\":[");
    pen_quote_bytes(p, n ? noun : "api", n ? n : 3);
    pen_char(p, ']');
}

/* ---- one operation ------------------------------------------------------------------------------
 */

static bool in_query(const struct route *r)
{
    return r->method == GET || r->method == DELETE || r->flags & UPLOAD;
}

static void put_param(struct openapi *o, const char **before, const char *name, size_t n,
                      const struct field *f, bool path)
{
    struct pen *p = &o->pen;
    pen_text(p, *before);
    *before = ",";
    pen_text(p, "{\"name\":");
    pen_quote_bytes(p, name, n);
    pen_text(p, path ? ",\"in\":\"path\",\"required\":true" : ",\"in\":\"query\"");
    if (!path && f->flags & F_REQUIRED)
        pen_text(p, ",\"required\":true");
    if (f && f->help) {
        pen_text(p, ",\"description\":");
        pen_quote(p, f->help);
    }
    pen_text(p, ",\"schema\":");
    if (f)
        wire_schema_field(p, f, true);
    else
        pen_text(p, "{\"type\":\"string\"}");
    pen_char(p, '}');
}

static const struct field *field_named(const struct shape *s, const char *name, size_t n)
{
    for (const struct field *f = s ? s->field : NULL; f && f->name; f++)
        if (strlen(f->name) == n && !memcmp(f->name, name, n))
            return f;
    return NULL;
}

static void put_params(struct openapi *o, const struct route *r)
{
    const char *before = ",\"parameters\":[", *at = r->path, *name;
    size_t n;
    while (next_param(&at, &name, &n))
        put_param(o, &before, name, n, field_named(r->in, name, n), true);
    for (const struct field *f = r->in && in_query(r) ? r->in->field : NULL; f && f->name; f++)
        if (!(f->flags & F_PATH) && f->kind != K_OBJECT && f->kind != K_LIST && f->kind != K_RAW)
            put_param(o, &before, f->name, strlen(f->name), f, false);
    if (r->flags & CREATES) {
        pen_text(&o->pen, before);
        pen_text(&o->pen, "{\"$ref\":\"#/components/parameters/idempotency-key\"}");
        before = ",";
    }
    if (before[1] == '\0')
        pen_char(&o->pen, ']');
}

static void put_body(struct openapi *o, const struct route *r)
{
    struct pen *p = &o->pen;
    bool any = false;
    if (r->flags & UPLOAD) {
        pen_text(p, ",\"requestBody\":{\"required\":true,\"content\":{\"*/*\":{}}}");
        return;
    }
    for (const struct field *f = r->in ? r->in->field : NULL; f && f->name; f++)
        any = any || !(f->flags & F_PATH);
    if (!any || in_query(r))
        return;
    shape_set_add(&o->shapes, r->in, true, o->arena);
    pen_text(p,
             ",\"requestBody\":{\"required\":true,\"content\":{\"application/json\":{\"schema\":");
    wire_schema_ref(p, r->in, true);
    pen_text(p, "}}}");
}

static void put_replies(struct openapi *o, const struct route *r)
{
    struct pen *p = &o->pen;
    const char *status = r->flags & CREATES ? "201" : r->out || r->method == GET ? "200" : "204";
    pen_printf(p, ",\"responses\":{\"%s\":{\"description\":", status);
    pen_quote(p, r->out || r->method == GET ? r->help : "Done");
    if (r->flags & EVENTS) {
        pen_text(p, ",\"content\":{\"text/event-stream\":{}}");
    } else if (r->out) {
        shape_set_add(&o->shapes, r->out, false, o->arena);
        pen_text(p, ",\"content\":{\"application/json\":{\"schema\":");
        wire_schema_ref(p, r->out, false);
        pen_text(p, "}}");
    } else if (r->method == GET) {
        pen_text(p, ",\"content\":{\"*/*\":{}}");
    }
    pen_text(p, "},\"default\":{\"$ref\":\"#/components/responses/problem\"}}");
}

static void put_roles(struct openapi *o, const struct route *r)
{
    const char *before = ",\"x-roles\":[";
    for (size_t i = 0; i < ARRAY_LEN(roles); i++) {
        if (!(r->roles & roles[i].role))
            continue;
        pen_printf(&o->pen, "%s\"%s\"", before, roles[i].name);
        before = ",";
    }
    pen_text(&o->pen, before[1] ? ",\"x-roles\":[]" : "]");
    if (r->roles & R_PUBLIC)
        pen_text(&o->pen, ",\"security\":[]");
}

static void put_operation(struct openapi *o, const struct route *r)
{
    struct pen *p = &o->pen;
    pen_printf(p, "\"%s\":{", method_names[r->method]);
    put_operation_id(p, r);
    pen_text(p, ",\"summary\":");
    pen_quote(p, r->help);
    pen_char(p, ',');
    put_tag(p, r);
    put_roles(o, r);
    put_params(o, r);
    put_body(o, r);
    put_replies(o, r);
    pen_char(p, '}');
}

/* ---- the document -------------------------------------------------------------------------------
 */

/* All rows of all tables in one array of pointers, NULL at its end. */
static const struct route **rows_of(const struct route *const *tables, struct arena *a)
{
    size_t count = 0;
    for (const struct route *const *t = tables; *t; t++)
        for (const struct route *r = *t; r->path; r++)
            count++;
    const struct route **rows = arena_array(a, count + 1, sizeof(struct route *)), **at = rows;
    for (const struct route *const *t = tables; *t; t++)
        for (const struct route *r = *t; r->path; r++)
            *at++ = r;
    return rows;
}

/* Every path once, with all its methods, where its first row stands. */
static void put_paths(struct openapi *o, const struct route **rows)
{
    for (const struct route **r = rows; *r; r++) {
        const struct route **first = rows;
        while (strcmp((*first)->path, (*r)->path))
            first++;
        if (first != r)
            continue;
        if (r != rows)
            pen_char(&o->pen, ',');
        put_path(&o->pen, (*r)->path);
        pen_text(&o->pen, ":{");
        for (const struct route **m = r; *m; m++) {
            if (strcmp((*m)->path, (*r)->path))
                continue;
            if (m != r)
                pen_char(&o->pen, ',');
            put_operation(o, *m);
        }
        pen_char(&o->pen, '}');
    }
}

static const char head[] =
    "{\"openapi\":\"3.1.0\",\"info\":{\"title\":\"Quadrille\",\"version\":\"1\",\"description\":"
    "\"Stock, readings, grades, matched sets and orders of a dealer in vacuum tubes.  Readings and "
    "other measured values travel as decimal text, moments in RFC 3339, stock numbers as text with "
    "their check digit.  Lists come in pages: follow the Link header with rel=next.  Every refusal "
    "is a problem document (RFC 9457) that names the field and says what would be right.\","
    "\"license\":{\"name\":\"MIT\",\"identifier\":\"MIT\"}},"
    "\"servers\":[{\"url\":\"/\"}],\"security\":[{\"token\":[]},{\"session\":[]}],\"paths\":{";

static const char components[] =
    "},\"components\":{"
    "\"securitySchemes\":{\"token\":{\"type\":\"http\",\"scheme\":\"bearer\"},\"session\":{"
    "\"type\":"
    "\"apiKey\",\"in\":\"cookie\",\"name\":\"" AUTH_COOKIE "\"}},"
    "\"parameters\":{\"idempotency-key\":{\"name\":\"Idempotency-Key\",\"in\":\"header\","
    "\"description\":\"A text of your own, new for each thing to be created: sent again with the "
    "same "
    "body, the first reply comes back and nothing is created "
    "twice.\",\"schema\":{\"type\":\"string\","
    "\"minLength\":1,\"maxLength\":200}}},"
    "\"responses\":{\"problem\":{\"description\":\"Refused, or failed: the document says why.\","
    "\"content\":{\"application/problem+json\":{\"schema\":{\"$ref\":"
    "\"#/components/schemas/problem\"}}}}},"
    "\"schemas\":{\"problem\":{\"type\":\"object\",\"description\":\"RFC 9457\",\"properties\":{"
    "\"type\":{\"type\":\"string\",\"format\":\"uri-reference\"},\"title\":{\"type\":\"string\"},"
    "\"status\":{\"type\":\"integer\"},\"detail\":{\"type\":\"string\",\"description\":\"what is "
    "wrong, what came and what would be "
    "right\"},\"code\":{\"type\":\"string\"},\"field\":{\"type\":"
    "\"string\",\"description\":\"path of the field, such as values[2].typed\"},\"line\":{\"type\":"
    "\"integer\",\"description\":\"line of a file, from 1\"},\"at\":{\"type\":\"integer\","
    "\"description\":\"byte offset of the first thing not understood\"},\"request_id\":{\"type\":"
    "\"string\",\"description\":\"the same as in the server's log\"}},\"required\":[\"type\","
    "\"title\",\"status\",\"detail\",\"code\"]}";

const char *openapi_describe(const struct route *const *tables, struct arena *a, size_t *n)
{
    struct openapi o = {.arena = a};
    pen_init(&o.pen, a, (size_t)64 * 1024);
    pen_text(&o.pen, head);
    put_paths(&o, rows_of(tables, a));
    pen_text(&o.pen, components);
    if (o.shapes.count)
        pen_char(&o.pen, ',');
    wire_schema_set(&o.pen, &o.shapes);
    pen_text(&o.pen, "}}}");
    return pen_done(&o.pen, n);
}

const char *openapi_document(struct arena *a, size_t *n)
{
    return openapi_describe(route_tables, a, n);
}

/* ---- its route ---------------------------------------------------------------------------- */

static pthread_once_t made_once = PTHREAD_ONCE_INIT;
/* Lives as long as the process; "used" keeps the pointer where leak checkers look for it. */
static struct arena *made_in __attribute__((used));
static const char *made;
static size_t made_n;

static void make(void)
{
    made_in = arena_new();
    made = openapi_document(made_in, &made_n);
}

static bool openapi_get(struct reply *out, struct req *rq, struct err *e)
{
    (void)rq;
    (void)e;
    pthread_once(&made_once, make);
    out->text = made;
    out->text_n = made_n;
    out->content_type = "application/json";
    return true;
}

const struct route openapi_routes[] = {
    {GET, "/api/openapi.json", R_ANY, 0, NULL, NULL, NULL, openapi_get,
     "This interface, as an OpenAPI 3.1 document"},
    {0},
};
