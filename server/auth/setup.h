/* SPDX-License-Identifier: MIT
 *
 * setup: the token that makes the first owner.
 *
 * It lives in this process alone: made at start while there is nobody who could sign in, printed by
 * the caller, and gone with the process.  It works once, because making the owner and finding that
 * there is none happen in one savepoint of the one writer: whoever comes second finds an owner.
 */
#ifndef QUADRILLE_AUTH_SETUP_H
#define QUADRILLE_AUTH_SETUP_H

#include "auth/crypto.h"

/* Make the token; an earlier one no longer works.  At start, before there are other threads. */
void setup_token_new(char text[CRYPTO_TOKEN_BYTES]);

/* Whether text is the token; false when none was made.  Takes the same time wherever it differs.
 * Any thread. */
bool setup_token_check(const char *text);

#endif
