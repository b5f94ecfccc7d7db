/* SPDX-License-Identifier: MIT
 *
 * token: the routes for API tokens.
 */
#ifndef QUADRILLE_API_TOKEN_H
#define QUADRILLE_API_TOKEN_H

#include "api/route.h"

extern const struct route token_routes[];

#endif
