/* SPDX-License-Identifier: MIT
 *
 * demand: what is wanted first, and what then, as people write it.
 */
#ifndef QUADRILLE_MATCH_DEMAND_H
#define QUADRILLE_MATCH_DEMAND_H

#include "match/problem.h"

/* Read "4:10,2:*" (at most 10 quads, then as many pairs as there are) or "4" (as many as there
 * are); line has room for MATCH_LINES.  ERR_INVALID with the part at fault. */
MUST_USE bool demand_parse(struct match_line *line, int *lines, const char *text, struct err *e);

#endif
