/* SPDX-License-Identifier: MIT
 *
 * answer: what came back, printed, and the exit status that it means.
 */
#ifndef QUADRILLE_COMMAND_ANSWER_H
#define QUADRILLE_COMMAND_ANSWER_H

#include "command/client.h"

/* Print an answer: JSON as it is, or the route's reply for people; a refusal on standard error.
 * reply may be NULL.  Returns the exit status: also EXIT_NO when the reply counts refused lines. */
int answer_show(const char *command, const struct told *told, const struct shape *reply, bool json,
                struct arena *a);

/* Write the lists of a reply (the lines of a bulk load that were refused) to a file as CSV. */
MUST_USE bool answer_report(const char *file, const struct told *told, const struct shape *reply,
                            struct arena *a, struct err *e);

#endif
