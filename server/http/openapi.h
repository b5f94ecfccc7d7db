/* SPDX-License-Identifier: MIT
 *
 * openapi: the description of the whole API (OpenAPI 3.1.0), written from the route tables and the
 * field tables that the server itself runs on, so that it cannot be out of date.
 */
#ifndef QUADRILLE_HTTP_OPENAPI_H
#define QUADRILLE_HTTP_OPENAPI_H

#include "api/route.h"

/* The document for route_tables, JSON text in the arena; *n its length.  Some 100 KB for a hundred
 * routes: make it once and keep it. */
const char *openapi_document(struct arena *a, size_t *n);

/* The same for any tables; the last is NULL, a table's last row has no path. */
const char *openapi_describe(const struct route *const *tables, struct arena *a, size_t *n);

extern const struct route openapi_routes[]; /* GET /api/openapi.json */

#endif
