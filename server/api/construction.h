/* SPDX-License-Identifier: MIT
 *
 * construction: routes of how tubes are built.
 */
#ifndef QUADRILLE_API_CONSTRUCTION_H
#define QUADRILLE_API_CONSTRUCTION_H

#include "api/route.h"

extern const struct route construction_routes[];

#endif
