/* SPDX-License-Identifier: MIT
 *
 * throttle: how often a password may be guessed.
 *
 * Three kinds of key are counted apart.  Somebody unknown is held by his address and by the account
 * he tries; a browser that has been signed in to that account before is held by neither but by a
 * count of its own (the idea of "device cookies", OWASP).  So a stranger who hammers the owner's
 * name makes new browsers wait, but never the one the owner works at.
 *
 * Only failures count.  A key has a store of free tries that fills up again with time; nothing is
 * ever locked.  Any thread.
 */
#ifndef QUADRILLE_AUTH_THROTTLE_H
#define QUADRILLE_AUTH_THROTTLE_H

#include "base/err.h"

enum throttle_kind {
    THROTTLE_ADDRESS, /* 20 tries, then one a minute */
    THROTTLE_ACCOUNT, /* 10 tries, then one in five minutes */
    THROTTLE_BROWSER, /* 10 tries, then one a minute */
    THROTTLE__COUNT
};

/* Take one try of a key.  Returns 0, or how many milliseconds to wait when there is none left (and
 * takes nothing).
 *   key     address as text (of IPv6 the first 64 bits count), folded name, or session id as text
 *   now_ms  milliseconds since 1970; may jump */
int64_t throttle_take(enum throttle_kind kind, const char *key, int64_t now_ms);

/* Give the try back: it was not a failure. */
void throttle_give(enum throttle_kind kind, const char *key);

/* Forget everything, with a new secret; for the start and for tests. */
void throttle_reset(void);

#endif
