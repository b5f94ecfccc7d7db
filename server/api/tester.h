/* SPDX-License-Identifier: MIT
 *
 * tester: routes of testers and of the quantities they read.
 */
#ifndef QUADRILLE_API_TESTER_H
#define QUADRILLE_API_TESTER_H

#include "api/route.h"

extern const struct route tester_routes[];

#endif
