/* SPDX-License-Identifier: MIT
 *
 * house: the whole daemon: opens everything in order, waits to be told to stop, closes everything
 * in the opposite order.
 */
#ifndef QUADRILLE_HTTP_HOUSE_H
#define QUADRILLE_HTTP_HOUSE_H

#include "work/conf.h"

/* Serve until SIGTERM, SIGINT or SIGHUP.  Must be called before there are other threads: it blocks
 * those signals in all that are started.  While there is no user, prints the one-time set-up token
 * on standard error.  false when something could not be opened: *e says what and why, and all is
 * closed again. */
MUST_USE bool house_run(const struct conf *c, struct err *e);

#endif
