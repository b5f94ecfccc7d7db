/* SPDX-License-Identifier: MIT
 *
 * load: tubes and readings in bulk, from CSV or NDJSON.
 *
 * A file is read line by line in constant memory.  Each line is accepted, found to be there already
 * (unchanged), or refused with its number, its field, what came and what would be right; a bad line
 * never takes the good ones down, unless all_or_nothing asks for it.  Loading the same file again
 * changes nothing.
 */
#ifndef QUADRILLE_API_LOAD_H
#define QUADRILLE_API_LOAD_H

#include "api/route.h"

extern const struct route load_routes[];

#define LOAD_PROBLEMS 10000 /* refused lines that are told of; more are counted */

#endif
