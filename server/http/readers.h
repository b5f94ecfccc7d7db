/* SPDX-License-Identifier: MIT
 *
 * readers: a read-only connection to the database for every thread that asks for one.
 */
#ifndef QUADRILLE_HTTP_READERS_H
#define QUADRILLE_HTTP_READERS_H

#include "store/store.h"

struct readers;

/* path: the database file; kept. */
struct readers *readers_new(const char *path);

/* The calling thread's connection, opened when it asks for the first time; owned by r.  Errors are
 * those of store_open. */
MUST_USE bool readers_mine(struct readers *r, struct store **out, struct err *e);

/* Close all.  The threads that asked have ended, or will not ask again. */
void readers_free(struct readers *r);

#endif
