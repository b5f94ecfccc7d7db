/* SPDX-License-Identifier: MIT
 *
 * bin: routes of bins.
 */
#ifndef QUADRILLE_API_BIN_H
#define QUADRILLE_API_BIN_H

#include "api/route.h"

extern const struct route bin_routes[];

#endif
