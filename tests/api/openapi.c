/* SPDX-License-Identifier: MIT
 *
 * openapi: that the document says what the rows say.  The form is that of the OpenAPI Specification
 * 3.1.0 (4.8 Schema) and of JSON Schema 2020-12; the document is read by jansson.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>
#include <jansson.h>

#include "http/openapi.h"

static const char *const kinds[] = {"pair", "quad", NULL};

struct lamp {
    const char *name, *secret, *gm, *raw;
    int64_t id, stock_no, kind, made, at, kept, count;
    struct texts tags;
    struct lamp *inner;
    struct list lamps;
};

#define AT(f) offsetof(struct lamp, f)
static const struct shape lamp_shape;
static const struct field lamp_fields[] = {
    {"id", K_INT, F_REQUIRED | F_PATH, AT(id), .min = 1, .max = INT64_MAX, .help = "its number"},
    {"name", K_TEXT, F_REQUIRED, AT(name), .help = "its \"name\"", .example = "A 1"},
    {"secret", K_TEXT, F_SECRET, AT(secret), .min = 8, .max = 100, .help = "hidden"},
    {"gm", K_DECIMAL, F_NULL, AT(gm), .help = "mA/V", .example = "5.20"},
    {"raw", K_RAW, 0, AT(raw), .help = "whatever was kept"},
    {"stock_no", K_STOCKNO, 0, AT(stock_no), .help = "stock number"},
    {"kind", K_ENUM, F_NULL, AT(kind), .names = kinds, .help = "kind", .example = "pair"},
    {"made", K_DATE, 0, AT(made), .help = "day"},
    {"at", K_MOMENT, 0, AT(at), .help = "moment"},
    {"kept", K_BOOL, 0, AT(kept), .help = "kept", .example = "true"},
    {"count", K_INT, 0, AT(count), .min = 0, .max = 24, .help = "pieces", .example = "3"},
    {"tags", K_TEXTS, 0, AT(tags), .help = "words", .example = "warm"},
    {"inner", K_OBJECT, F_NULL, AT(inner), .sub = &lamp_shape, .help = "one inside"},
    {"lamps", K_LIST, F_REQUIRED, AT(lamps), .max = 5, .sub = &lamp_shape, .help = "more inside"},
    {0},
};
static const struct shape lamp_shape = {"lamp", sizeof(struct lamp), lamp_fields};

static bool answer(struct reply *out, struct req *rq, struct err *e)
{
    (void)e;
    return reply_body(out, rq->in);
}

static const struct route lamp_routes[] = {
    {GET, "/api/lamps", R_ANY, 0, &lamp_shape, &lamp_shape, NULL, answer, "All lamps"},
    {POST, "/api/lamps", R_STOCK, WRITE | CREATES, &lamp_shape, &lamp_shape, NULL, answer, "New"},
    {GET, "/api/lamps/:id", R_ANY, 0, &lamp_shape, &lamp_shape, NULL, answer, "One lamp"},
    {DELETE, "/api/lamps/:id", R_OWNER, WRITE, &lamp_shape, NULL, NULL, answer, "Away"},
    {POST, "/api/lamps/:id/photos/:place", R_STOCK, WRITE | WORK | UPLOAD, NULL, NULL, NULL, answer,
     "A photo"},
    {0},
};
static const struct route other_routes[] = {
    {GET, "/api/events", R_ANY, EVENTS, NULL, NULL, NULL, answer, "Events"},
    {POST, "/api/set-up", R_PUBLIC, WRITE, &lamp_shape, NULL, NULL, answer, "Set-up"},
    {0},
};
static const struct route *const tables[] = {lamp_routes, other_routes, NULL};

/* ---- reading it ---------------------------------------------------------------------------------
 */

struct fixture {
    struct arena *arena;
    json_t *doc;
};

static int document_up(void **state)
{
    static struct fixture fx;
    size_t n;
    json_error_t why;
    fx.arena = arena_new();
    const char *text = openapi_describe(tables, fx.arena, &n);
    fx.doc = json_loadb(text, n, JSON_REJECT_DUPLICATES, &why);
    if (!fx.doc)
        print_error("%s in %s\n", why.text, text);
    *state = &fx;
    return !fx.doc;
}

static int document_down(void **state)
{
    struct fixture *fx = *state;
    json_decref(fx->doc);
    arena_free(fx->arena);
    return 0;
}

/* "#/components/schemas/lamp" -> the node, or NULL (RFC 6901; our names need no escapes) */
static const json_t *resolve(const json_t *doc, const char *ref)
{
    if (strncmp(ref, "#/", 2))
        return NULL;
    char copy[200], *rest = copy, *part;
    snprintf(copy, sizeof copy, "%s", ref + 2);
    while (doc && (part = strsep(&rest, "/")))
        doc = json_object_get(doc, part);
    return doc;
}

static const json_t *at(void **state, const char *path, const char *method)
{
    const json_t *paths = json_object_get(((struct fixture *)*state)->doc, "paths");
    const json_t *op = json_object_get(json_object_get(paths, path), method);
    if (!op)
        fail_msg("no %s %s", method, path);
    return op;
}

static int check_refs(const json_t *doc, json_t *node)
{
    int refs = 0;
    const char *key;
    json_t *value;
    size_t i;
    if (json_is_array(node))
        json_array_foreach(node, i, value) refs += check_refs(doc, value);
    if (!json_is_object(node))
        return refs;
    const char *ref = json_string_value(json_object_get(node, "$ref"));
    if (ref && !resolve(doc, ref))
        fail_msg("%s leads nowhere", ref);
    json_object_foreach(node, key, value) refs += check_refs(doc, value);
    return refs + (ref != NULL);
}

static const json_t *param(const json_t *op, const char *name)
{
    size_t i;
    json_t *p;
    json_array_foreach(json_object_get(op, "parameters"), i, p)
    {
        const char *its = json_string_value(json_object_get(p, "name"));
        if (its && !strcmp(its, name))
            return p;
    }
    return NULL;
}

static const char *text_at(const json_t *node, const char *key)
{
    const char *s = json_string_value(json_object_get(node, key));
    return s ? s : "";
}

static bool holds_text(const json_t *list, const char *what)
{
    size_t i;
    json_t *v;
    json_array_foreach(list, i,
                       v) if (json_is_string(v) && !strcmp(json_string_value(v), what)) return true;
    return false;
}

/* ---- tests --------------------------------------------------------------------------------------
 */

static void every_reference_leads_somewhere(void **state)
{
    struct fixture *fx = *state;
    assert_true(check_refs(fx->doc, fx->doc) > 10);
    assert_string_equal(text_at(fx->doc, "openapi"), "3.1.0");
}

static void every_row_is_an_operation_under_its_path(void **state)
{
    const json_t *paths = json_object_get(((struct fixture *)*state)->doc, "paths");
    assert_int_equal(json_object_size(paths), 5);
    assert_int_equal(json_object_size(json_object_get(paths, "/api/lamps")), 2);
    assert_string_equal(text_at(at(state, "/api/lamps/{id}", "delete"), "summary"), "Away");
    assert_string_equal(text_at(at(state, "/api/lamps/{id}", "get"), "operationId"),
                        "get_lamps_id");
    assert_string_equal(text_at(at(state, "/api/set-up", "post"), "operationId"), "post_set_up");
    const json_t *tags = json_object_get(at(state, "/api/lamps/{id}", "get"), "tags");
    assert_true(holds_text(tags, "lamps"));
}

static void path_parameters_are_required_and_typed_by_their_field(void **state)
{
    const json_t *id = param(at(state, "/api/lamps/{id}", "get"), "id");
    assert_string_equal(text_at(id, "in"), "path");
    assert_true(json_is_true(json_object_get(id, "required")));
    assert_string_equal(text_at(json_object_get(id, "schema"), "type"), "integer");
    const json_t *photo = at(state, "/api/lamps/{id}/photos/{place}", "post");
    assert_string_equal(text_at(param(photo, "id"), "in"), "path");
    assert_string_equal(text_at(param(photo, "place"), "in"), "path");
}

static void a_get_takes_its_fields_from_the_query_and_a_post_from_the_body(void **state)
{
    const json_t *get = at(state, "/api/lamps", "get"), *post = at(state, "/api/lamps", "post");
    assert_string_equal(text_at(param(get, "name"), "in"), "query");
    assert_true(json_is_true(json_object_get(param(get, "name"), "required")));
    assert_null(json_object_get(param(get, "gm"), "required"));
    assert_null(param(get, "lamps")); /* a list of objects fits no query */
    assert_null(json_object_get(get, "requestBody"));
    assert_null(param(post, "name"));
    const json_t *content = json_object_get(json_object_get(post, "requestBody"), "content");
    const json_t *json = json_object_get(json_object_get(content, "application/json"), "schema");
    assert_string_equal(text_at(json, "$ref"), "#/components/schemas/lamp-in");
    const json_t *photo = at(state, "/api/lamps/{id}/photos/{place}", "post");
    assert_non_null(
        json_object_get(json_object_get(json_object_get(photo, "requestBody"), "content"), "*/*"));
}

static void roles_are_listed_and_public_needs_no_sign_in(void **state)
{
    const json_t *roles = json_object_get(at(state, "/api/lamps", "post"), "x-roles");
    assert_int_equal(json_array_size(roles), 3); /* R_STOCK in route.h */
    assert_true(holds_text(roles, "counter") && holds_text(roles, "bench"));
    assert_false(holds_text(roles, "viewer"));
    const json_t *public = at(state, "/api/set-up", "post");
    assert_true(holds_text(json_object_get(public, "x-roles"), "public"));
    assert_int_equal(json_array_size(json_object_get(public, "security")), 0);
    assert_true(json_is_array(json_object_get(public, "security")));
    assert_null(json_object_get(at(state, "/api/lamps", "post"), "security"));
}

static void creating_asks_for_an_idempotency_key_and_answers_201(void **state)
{
    const json_t *post = at(state, "/api/lamps", "post");
    const json_t *first = json_array_get(json_object_get(post, "parameters"), 0);
    const json_t *header = resolve(((struct fixture *)*state)->doc, text_at(first, "$ref"));
    assert_string_equal(text_at(header, "name"), "Idempotency-Key");
    assert_string_equal(text_at(header, "in"), "header");
    assert_non_null(json_object_get(json_object_get(post, "responses"), "201"));
    const json_t *away = json_object_get(at(state, "/api/lamps/{id}", "delete"), "responses");
    assert_non_null(json_object_get(away, "204"));
    assert_non_null(json_object_get(away, "default"));
}

static void a_request_schema_refuses_the_unknown_and_leaves_the_path_out(void **state)
{
    const json_t *in = resolve(((struct fixture *)*state)->doc, "#/components/schemas/lamp-in");
    const json_t *properties = json_object_get(in, "properties");
    assert_true(json_is_false(json_object_get(in, "additionalProperties")));
    assert_null(json_object_get(properties, "id"));
    assert_null(json_object_get(properties, "raw"));
    assert_true(holds_text(json_object_get(in, "required"), "name"));
    assert_int_equal(json_array_size(json_object_get(in, "required")), 2);
    const json_t *secret = json_object_get(properties, "secret");
    assert_int_equal(json_integer_value(json_object_get(secret, "minLength")), 8);
    assert_int_equal(json_integer_value(json_object_get(secret, "maxLength")), 100);
    assert_string_equal(text_at(secret, "format"), "password");
    const json_t *count = json_object_get(properties, "count");
    assert_true(json_is_integer(json_object_get(count, "minimum")));
    assert_int_equal(json_integer_value(json_object_get(count, "maximum")), 24);
    const json_t *lamps = json_object_get(properties, "lamps");
    assert_int_equal(json_integer_value(json_object_get(lamps, "maxItems")), 5);
    assert_string_equal(text_at(json_object_get(lamps, "items"), "$ref"),
                        "#/components/schemas/lamp-in");
}

static void a_reply_schema_knows_null_and_has_every_field(void **state)
{
    const json_t *out = resolve(((struct fixture *)*state)->doc, "#/components/schemas/lamp");
    const json_t *properties = json_object_get(out, "properties");
    assert_int_equal(json_object_size(properties), 14);
    assert_true(holds_text(json_object_get(json_object_get(properties, "gm"), "type"), "null"));
    const json_t *kind = json_object_get(properties, "kind");
    assert_true(holds_text(json_object_get(kind, "enum"), "quad"));
    assert_true(json_is_null(json_array_get(json_object_get(kind, "enum"), 2)));
    assert_int_equal(
        json_array_size(json_object_get(json_object_get(properties, "inner"), "anyOf")), 2);
    assert_string_equal(text_at(json_object_get(properties, "at"), "format"), "date-time");
    assert_string_equal(text_at(json_object_get(properties, "made"), "format"), "date");
}

static void examples_are_json_of_their_kind(void **state)
{
    const json_t *out = resolve(((struct fixture *)*state)->doc, "#/components/schemas/lamp");
    const json_t *p = json_object_get(out, "properties");
    const char *texts[] = {"name", "gm", "kind"};
    for (size_t i = 0; i < ARRAY_LEN(texts); i++)
        assert_true(json_is_string(
            json_array_get(json_object_get(json_object_get(p, texts[i]), "examples"), 0)));
    assert_true(
        json_is_true(json_array_get(json_object_get(json_object_get(p, "kept"), "examples"), 0)));
    assert_true(json_is_integer(
        json_array_get(json_object_get(json_object_get(p, "count"), "examples"), 0)));
    assert_true(
        json_is_array(json_array_get(json_object_get(json_object_get(p, "tags"), "examples"), 0)));
}

static void wire_schema_alone_is_an_object_of_schemas(void **state)
{
    struct fixture *fx = *state;
    const char *text = wire_schema(&lamp_shape, true, fx->arena);
    json_t *j = json_loads(text, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(j);
    assert_int_equal(json_object_size(j), 1);
    assert_non_null(json_object_get(j, "lamp-in"));
    json_decref(j);
}

static void the_servers_own_document_has_no_loose_end(void **state)
{
    struct fixture *fx = *state;
    size_t n;
    json_error_t why;
    const char *text = openapi_document(fx->arena, &n);
    json_t *doc = json_loadb(text, n, JSON_REJECT_DUPLICATES, &why);
    if (!doc)
        fail_msg("%s at byte %d: %.80s", why.text, why.position, text + why.position);
    size_t rows = 0;
    for (const struct route *const *t = route_tables; *t; t++)
        for (const struct route *r = *t; r->path; r++)
            rows++;
    assert_true(check_refs(doc, doc) > (int)rows); /* each row names the problem document */
    json_decref(doc);
}

static void no_two_operations_share_an_id(void **state)
{
    struct fixture *fx = *state;
    size_t n;
    json_t *doc = json_loads(openapi_document(fx->arena, &n), 0, NULL), *seen = json_object();
    const char *path, *method;
    json_t *ops, *op;
    json_object_foreach(json_object_get(doc, "paths"), path, ops)
    {
        json_object_foreach(ops, method, op)
        {
            const char *id = text_at(op, "operationId");
            if (json_object_get(seen, id))
                fail_msg("%s %s: %s is taken", method, path, id);
            json_object_set_new(seen, id, json_true());
        }
    }
    assert_true(json_object_size(seen) > 0);
    json_decref(seen);
    json_decref(doc);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_reference_leads_somewhere),
        cmocka_unit_test(every_row_is_an_operation_under_its_path),
        cmocka_unit_test(path_parameters_are_required_and_typed_by_their_field),
        cmocka_unit_test(a_get_takes_its_fields_from_the_query_and_a_post_from_the_body),
        cmocka_unit_test(roles_are_listed_and_public_needs_no_sign_in),
        cmocka_unit_test(creating_asks_for_an_idempotency_key_and_answers_201),
        cmocka_unit_test(a_request_schema_refuses_the_unknown_and_leaves_the_path_out),
        cmocka_unit_test(a_reply_schema_knows_null_and_has_every_field),
        cmocka_unit_test(examples_are_json_of_their_kind),
        cmocka_unit_test(wire_schema_alone_is_an_object_of_schemas),
        cmocka_unit_test(the_servers_own_document_has_no_loose_end),
        cmocka_unit_test(no_two_operations_share_an_id),
    };
    return cmocka_run_group_tests_name("openapi", tests, document_up, document_down);
}
