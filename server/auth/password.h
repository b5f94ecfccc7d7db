/* SPDX-License-Identifier: MIT
 *
 * password: the one rule, and making a hash of what keeps it.
 */
#ifndef QUADRILLE_AUTH_PASSWORD_H
#define QUADRILLE_AUTH_PASSWORD_H

#include "auth/crypto.h"
#include "base/arena.h"

/* NIST SP 800-63B, 5.1.1.2: length is what counts, and no rule about kinds of characters.  It asks
 * for at least 8; 12 is ours.  The upper end only keeps requests small. */
#define PASSWORD_MIN 12  /* bytes */
#define PASSWORD_MAX 256 /* bytes */

/* Check text and hash it (tens of milliseconds; see crypto_password_hash).
 *   hash   in the arena
 *   field  the input field, for the message
 * ERR_INVALID when it is too short or too long; ERR_UNAVAILABLE when there is no memory. */
MUST_USE bool password_make(const char **hash, const char *text, const char *field, struct arena *a,
                            struct err *e);

#endif
