/* SPDX-License-Identifier: MIT
 *
 * password: length only.
 */
#include "auth/password.h"

#include <string.h>

bool password_make(const char **hash, const char *text, const char *field, struct arena *a,
                   struct err *e)
{
    size_t n = strlen(text);
    if (n < PASSWORD_MIN || n > PASSWORD_MAX)
        return err_field(e, field, ERR_INVALID,
                         "A password has %d to %d bytes; this one has %zu.  There is no other "
                         "rule: a few words in a row are easy to type and hard to guess.",
                         PASSWORD_MIN, PASSWORD_MAX, n);
    char made[CRYPTO_PASSWORD_BYTES];
    if (!crypto_password_hash(made, text, n, e))
        return false;
    *hash = arena_text(a, made);
    return true;
}
