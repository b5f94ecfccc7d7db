/* SPDX-License-Identifier: MIT
 *
 * setup: only the token's digest is kept, written before there are threads and only read after.
 */
#include "auth/setup.h"

#include <string.h>

static unsigned char kept[CRYPTO_DIGEST_BYTES];
static bool made;

void setup_token_new(char text[CRYPTO_TOKEN_BYTES])
{
    crypto_token(text);
    crypto_token_hash(kept, text);
    made = true;
}

bool setup_token_check(const char *text)
{
    unsigned char digest[CRYPTO_DIGEST_BYTES];
    crypto_token_hash(digest, text);
    return made && crypto_same(digest, kept, sizeof kept);
}
