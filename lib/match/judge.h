/* SPDX-License-Identifier: MIT
 *
 * judge: is this answer what it says it is?
 *
 * Re-derives everything from the problem by code of its own: it calls nothing of problem.c, pool.c
 * or any solver, so that a mistake there cannot excuse itself here.
 */
#ifndef QUADRILLE_MATCH_JUDGE_H
#define QUADRILLE_MATCH_JUDGE_H

#include "match/answer.h"

/* Every set has the size of its line, one class, and holds in every coordinate; no tube serves
 * twice; no line has more than its limit; costs, counts and the total are right; found never
 * exceeds bound, and where the count is called proven they are equal.  ERR_INTERNAL naming the set
 * otherwise. */
MUST_USE bool match_check(const struct match_problem *p, const struct match_answer *a,
                          struct err *e);

/* The certificate holds against every pair of tubes, listed or not, and the answer weighs what it
 * says.  Looks at all pairs of a class: quadratic.  ERR_INTERNAL naming the first pair that breaks
 * it. */
MUST_USE bool match_check_certificate(const struct match_problem *p, const struct match_answer *a,
                                      struct err *e);

#endif
