/* SPDX-License-Identifier: MIT
 *
 * lookup: routes that find a type by whatever was typed, printed or misread.
 */
#ifndef QUADRILLE_API_LOOKUP_H
#define QUADRILLE_API_LOOKUP_H

#include "api/route.h"

extern const struct route lookup_routes[];

#endif
