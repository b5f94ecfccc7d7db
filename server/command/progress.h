/* SPDX-License-Identifier: MIT
 *
 * progress: a line on the terminal while something takes longer than a second.
 */
#ifndef QUADRILLE_COMMAND_PROGRESS_H
#define QUADRILLE_COMMAND_PROGRESS_H

struct progress;

/* Begin; nothing is shown unless standard error is a terminal and a second has passed.  doing is
 * one short text ("loading tubes.csv") that lives until progress_end.  May return NULL. */
struct progress *progress_begin(const char *doing);

/* End, and wipe the line.  progress_end(NULL) is fine. */
void progress_end(struct progress *p);

#endif
