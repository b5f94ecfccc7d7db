/* SPDX-License-Identifier: MIT
 *
 * equivalence: routes of what may stand in for what, of comparing, and of one's own statements.
 */
#ifndef QUADRILLE_API_EQUIVALENCE_H
#define QUADRILLE_API_EQUIVALENCE_H

#include "api/route.h"

extern const struct route equivalence_routes[];

#endif
