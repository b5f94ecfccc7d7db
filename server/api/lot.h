/* SPDX-License-Identifier: MIT
 *
 * lot: routes of lots and their lines.
 */
#ifndef QUADRILLE_API_LOT_H
#define QUADRILLE_API_LOT_H

#include "api/route.h"

extern const struct route lot_routes[];

#endif
