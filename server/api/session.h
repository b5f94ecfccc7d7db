/* SPDX-License-Identifier: MIT
 *
 * session: the routes for the first owner, signing in and out, and one's own password.
 */
#ifndef QUADRILLE_API_SESSION_H
#define QUADRILLE_API_SESSION_H

#include "api/route.h"

extern const struct route session_routes[];

#endif
