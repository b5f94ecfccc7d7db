/* SPDX-License-Identifier: MIT
 *
 * match: routes of matching: partners of a tube, proposals of sets, and the sets they become.
 */
#ifndef QUADRILLE_API_MATCH_H
#define QUADRILLE_API_MATCH_H

#include "api/route.h"

extern const struct route match_routes[];
extern const struct route set_routes[];

#endif
