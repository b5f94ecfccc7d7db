/* SPDX-License-Identifier: MIT
 *
 * wire_schema: JSON Schema (2020-12) out of the field tables, piece by piece, for http/openapi.
 *
 * A shape has one schema for what is taken ("tube-in": names not known are refused, fields of the
 * path are left out) and one for what is given ("tube").
 */
#ifndef QUADRILLE_API_WIRE_SCHEMA_H
#define QUADRILLE_API_WIRE_SCHEMA_H

#include "base/pen.h"
#include "api/wire.h"

/* Shapes met so far, each once for each direction, in the order met.  In an arena. */
struct shape_set {
    struct shape_use {
        const struct shape *shape;
        bool request;
    } * use;
    size_t count, room;
};

/* Add s and, through its fields, every shape below it.  Two different shapes of one name are a
 * wrong program: asserted. */
void shape_set_add(struct shape_set *set, const struct shape *s, bool request, struct arena *a);

/* "name":{...} of every shape in the set, with commas between. */
void wire_schema_set(struct pen *p, const struct shape_set *set);

/* {"$ref":"#/components/schemas/tube-in"} */
void wire_schema_ref(struct pen *p, const struct shape *s, bool request);

/* The schema of one field, with its help and its example. */
void wire_schema_field(struct pen *p, const struct field *f, bool request);

#endif
