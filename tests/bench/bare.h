/* SPDX-License-Identifier: MIT
 *
 * bare: the second yardstick: libmicrohttpd and SQLite with nothing between them.  Each POST writes
 * the next save of a replay; one writer thread commits all that wait at once.  What the program
 * loses against this is what its own work costs: people, JSON, checks, grading, the journal.
 */
#ifndef TESTS_BENCH_BARE_H
#define TESTS_BENCH_BARE_H

#include "replay.h"

struct bare;

/* Serve on a free port of loopback; the replay has been opened.  Ends the process on failure. */
struct bare *bare_start(struct replay *r, int threads);
int bare_port(const struct bare *b);
void bare_stop(struct bare *b);

#endif
