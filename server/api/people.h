/* SPDX-License-Identifier: MIT
 *
 * people: the routes for who may do what here.
 */
#ifndef QUADRILLE_API_PEOPLE_H
#define QUADRILLE_API_PEOPLE_H

#include "api/route.h"
#include "store/people.h"

extern const struct route people_routes[];
extern const struct shape person_shape; /* of struct person, without the password's hash */

/* Refuse an API token where it could make itself a way in that outlives it: people, passwords and
 * other tokens are for somebody who signed in, and for the local command. */
MUST_USE bool people_in_person(const struct req *rq, struct err *e);

#endif
