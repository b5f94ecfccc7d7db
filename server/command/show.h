/* SPDX-License-Identifier: MIT
 *
 * show: replies for people, from the same shapes that wire packs them by: one thing as lines of
 * "name: value", many as a table with a head.
 */
#ifndef QUADRILLE_COMMAND_SHOW_H
#define QUADRILLE_COMMAND_SHOW_H

#include "api/wire.h"
#include "command/client.h"

#include <stdio.h>

/* One struct: its own fields line by line, then its lists as tables.  A struct that is one list
 * and nothing else is that table.  Absent fields are left out; so is a column that is empty in
 * every row.  An empty table is the line "none". */
void show_reply(FILE *to, const struct shape *s, const void *from, struct arena *a);

/* What was refused: the sentence, and the field or line where it does not name them itself; then
 * whatever lists of the route's reply the answer holds, such as questions.  reply may be NULL. */
void show_problem(FILE *to, const struct told *told, const struct shape *reply, struct arena *a);

#endif
