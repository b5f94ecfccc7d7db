/* SPDX-License-Identifier: MIT
 *
 * wire_schema: each kind of field as JSON Schema.
 *
 * What JSON Schema can say is said in its own words; what it cannot (bytes instead of characters, a
 * check digit) stands in the description, which ends with the same words that wire refuses with.
 */
#include "api/wire_schema.h"
#include "api/wire_priv.h"

#include <assert.h>
#include <string.h>

void shape_set_add(struct shape_set *set, const struct shape *s, bool request, struct arena *a)
{
    for (size_t i = 0; i < set->count; i++) {
        const struct shape_use *u = &set->use[i];
        if (u->shape == s && u->request == request)
            return;
        assert(u->shape == s || u->request != request || strcmp(u->shape->name, s->name));
    }
    if (set->count == set->room) {
        size_t room = set->room ? set->room * 2 : 64;
        struct shape_use *use = arena_array(a, room, sizeof *use);
        if (set->count)
            memcpy(use, set->use, set->count * sizeof *use);
        set->use = use;
        set->room = room;
    }
    set->use[set->count++] = (struct shape_use){s, request};
    for (const struct field *f = s->field; f->name; f++)
        if (f->sub)
            shape_set_add(set, f->sub, request, a);
}

static void put_ref(struct pen *p, const struct shape *s, bool request)
{
    pen_printf(p, "\"$ref\":\"#/components/schemas/%s%s\"", s->name, request ? "-in" : "");
}

void wire_schema_ref(struct pen *p, const struct shape *s, bool request)
{
    pen_char(p, '{');
    put_ref(p, s, request);
    pen_char(p, '}');
}

static void put_limits(struct pen *p, const char *least, const char *most, const struct field *f)
{
    if (wire_min(f) > 0 || (f->kind == K_INT && wire_min(f) != -WIRE_INT_MOST)) {
        pen_printf(p, ",\"%s\":", least);
        pen_int(p, wire_min(f));
    }
    if (wire_max(f) != WIRE_INT_MOST) {
        pen_printf(p, ",\"%s\":", most);
        pen_int(p, wire_max(f));
    }
}

static void put_type(struct pen *p, const char *type, bool nullable)
{
    pen_printf(p, nullable ? "\"type\":[\"%s\",\"null\"]" : "\"type\":\"%s\"", type);
}

static void put_enum(struct pen *p, const struct field *f, bool nullable)
{
    pen_text(p, ",\"enum\":[");
    for (const char *const *name = f->names; *name; name++) {
        if (name != f->names)
            pen_char(p, ',');
        pen_quote(p, *name);
    }
    pen_text(p, nullable ? ",null]" : "]");
}

static void put_kind(struct pen *p, const struct field *f, bool request)
{
    const bool nullable = !request && f->flags & F_NULL;
    switch (f->kind) {
    case K_TEXT:
    case K_NOTE:
        put_type(p, "string", nullable);
        put_limits(p, "minLength", "maxLength", f);
        if (f->flags & F_SECRET)
            pen_text(p, ",\"format\":\"password\"");
        break;
    case K_INT:
        put_type(p, "integer", nullable);
        pen_text(p, ",\"format\":\"int64\"");
        put_limits(p, "minimum", "maximum", f);
        break;
    case K_BOOL:
        put_type(p, "boolean", nullable);
        break;
    case K_DECIMAL:
        put_type(p, "string", nullable);
        pen_text(p, ",\"format\":\"decimal\"");
        break;
    case K_STOCKNO:
        put_type(p, "string", nullable);
        if (!request)
            pen_text(p, ",\"pattern\":\"^[1-9][0-9]{6,11}$\"");
        break;
    case K_MOMENT:
        put_type(p, "string", nullable);
        pen_text(p, ",\"format\":\"date-time\"");
        break;
    case K_DATE:
        put_type(p, "string", nullable);
        pen_text(p, ",\"format\":\"date\"");
        break;
    case K_ENUM:
        put_type(p, "string", nullable);
        put_enum(p, f, nullable);
        break;
    case K_TEXTS:
        put_type(p, "array", nullable);
        pen_printf(p, ",\"maxItems\":%d,\"items\":{\"type\":\"string\"", (int)WIRE_ITEMS);
        put_limits(p, "minLength", "maxLength", f);
        pen_char(p, '}');
        break;
    case K_OBJECT:
        pen_text(p, nullable ? "\"anyOf\":[{" : "");
        put_ref(p, f->sub, request);
        pen_text(p, nullable ? "},{\"type\":\"null\"}]" : "");
        break;
    case K_LIST:
        put_type(p, "array", nullable);
        if (request)
            put_limits(p, "minItems", "maxItems", f);
        pen_text(p, ",\"items\":");
        wire_schema_ref(p, f->sub, request);
        break;
    case K_RAW: /* any JSON: no constraint, but something must stand before the comma */
        pen_text(p, "\"readOnly\":true");
        break;
    }
}

/* The example as JSON: written in the table as on the wire, quotes of a text left out. */
static void put_example(struct pen *p, const struct field *f)
{
    bool quoted = wire_is_text(f->kind) && f->example[0] != '"';
    bool listed = f->kind == K_TEXTS && f->example[0] != '[';
    pen_text(p, listed ? ",\"examples\":[[" : ",\"examples\":[");
    if (quoted || listed)
        pen_quote(p, f->example);
    else
        pen_text(p, f->example);
    pen_text(p, listed ? "]]" : "]");
}

void wire_schema_field(struct pen *p, const struct field *f, bool request)
{
    char wants[WIRE_WANTS_BYTES];
    pen_char(p, '{');
    put_kind(p, f, request);
    pen_text(p, ",\"description\":");
    const char *help = f->help ? f->help : f->name;
    bool more = request && f->kind != K_ENUM && f->kind != K_OBJECT && f->kind != K_BOOL;
    struct pen words;
    pen_init(&words, p->arena, 0);
    pen_text(&words, help);
    if (more)
        pen_printf(&words, ": %s", wire_wants(wants, f));
    pen_quote(p, pen_done(&words, NULL));
    if (f->example)
        put_example(p, f);
    pen_char(p, '}');
}

static bool is_shown(const struct field *f, bool request)
{
    return !request || !(f->flags & F_PATH || f->kind == K_RAW);
}

static void put_shape(struct pen *p, const struct shape *s, bool request)
{
    const char *before = "";
    pen_text(p, "{\"type\":\"object\",\"properties\":{");
    for (const struct field *f = s->field; f->name; f++) {
        if (!is_shown(f, request))
            continue;
        pen_text(p, before);
        pen_quote(p, f->name);
        pen_char(p, ':');
        wire_schema_field(p, f, request);
        before = ",";
    }
    pen_char(p, '}');
    before = ",\"required\":[";
    for (const struct field *f = s->field; f->name; f++) {
        if (!is_shown(f, request) || !(f->flags & F_REQUIRED || (!request && f->flags & F_NULL)))
            continue;
        pen_text(p, before);
        pen_quote(p, f->name);
        before = ",";
    }
    if (*before == ',' && !before[1])
        pen_char(p, ']');
    if (request)
        pen_text(p, ",\"additionalProperties\":false");
    pen_char(p, '}');
}

void wire_schema_set(struct pen *p, const struct shape_set *set)
{
    for (size_t i = 0; i < set->count; i++) {
        const struct shape_use *u = &set->use[i];
        pen_printf(p, "%s\"%s%s\":", i ? "," : "", u->shape->name, u->request ? "-in" : "");
        put_shape(p, u->shape, u->request);
    }
}

const char *wire_schema(const struct shape *s, bool request, struct arena *a)
{
    struct shape_set set = {0};
    struct pen p;
    shape_set_add(&set, s, request, a);
    pen_init(&p, a, 0);
    pen_char(&p, '{');
    wire_schema_set(&p, &set);
    pen_char(&p, '}');
    return pen_done(&p, NULL);
}
