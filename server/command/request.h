/* SPDX-License-Identifier: MIT
 *
 * request: commands that are one request each, built from the route's own table of fields.
 */
#ifndef QUADRILLE_COMMAND_REQUEST_H
#define QUADRILLE_COMMAND_REQUEST_H

#include "command/answer.h"
#include "command/command.h"

/* Run a row of the table whose run is NULL; words behind its name.  Prints the reply on standard
 * output, a refusal on standard error.  Returns the exit status. */
int request_run(const struct command *c, int argc, char **argv);

/* The route of a method and a path of the table; NULL when there is none. */
const struct route *route_find(enum method method, const char *path);

#endif
