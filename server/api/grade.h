/* SPDX-License-Identifier: MIT
 *
 * grade: routes of gradings, and of the vocabulary of inspections that they rest on.
 */
#ifndef QUADRILLE_API_GRADE_H
#define QUADRILLE_API_GRADE_H

#include "api/route.h"

extern const struct route grade_routes[];

#endif
