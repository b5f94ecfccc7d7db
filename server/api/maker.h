/* SPDX-License-Identifier: MIT
 *
 * maker: routes of makers.
 */
#ifndef QUADRILLE_API_MAKER_H
#define QUADRILLE_API_MAKER_H

#include "api/route.h"

extern const struct route maker_routes[];

#endif
