/* SPDX-License-Identifier: MIT
 *
 * upkeep: routes for whoever looks after the data: verify, and a copy to keep elsewhere.
 */
#ifndef QUADRILLE_API_UPKEEP_H
#define QUADRILLE_API_UPKEEP_H

#include "api/route.h"

extern const struct route upkeep_routes[];

#endif
