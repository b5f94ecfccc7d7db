/* SPDX-License-Identifier: MIT
 *
 * type: routes of types: what is known of a designation, and how; test points; one's own types.
 */
#ifndef QUADRILLE_API_TYPE_H
#define QUADRILLE_API_TYPE_H

#include "api/route.h"
#include "catalogue/type.h"

/* How a figure of a type is known: "found" was read at the stated address, "memory" was recalled
 * and must be checked before anybody acts on it, "own" was entered here. */
const char *type_known(const struct type *t, enum type_column c);

/* For the help of every field of this kind. */
#define KNOWN_HELP                                                                              \
    "found: read at the stated address; memory: recalled, check a data sheet before acting on " \
    "it; own: entered here"

extern const struct route type_routes[];

#endif
