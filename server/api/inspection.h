/* SPDX-License-Identifier: MIT
 *
 * inspection: routes of what the eye sees.
 */
#ifndef QUADRILLE_API_INSPECTION_H
#define QUADRILLE_API_INSPECTION_H

#include "api/route.h"

extern const struct route inspection_routes[];

#endif
