/* SPDX-License-Identifier: MIT
 *
 * crypto: a thin door to libsodium.
 *
 * What is decided here is only which of its functions we use and with which parameters.  SHA-256
 * serves the journal's chain, tokens and file hashes alike.
 */
#include "auth/crypto.h"

#include <assert.h>
#include <errno.h>
#include <sodium.h>
#include <stdatomic.h>
#include <string.h>

/* OWASP Password Storage Cheat Sheet, Argon2id: m = 19456 KiB, t = 2, p = 1. */
#define PASSWORD_MEMORY ((size_t)19456 * 1024) /* bytes */
#define PASSWORD_PASSES 2

/* A well-formed hash of nothing anybody knows: its hash part is 32 bytes of chance rather than the
 * outcome of any password.  Verifying against it costs what any verification costs. */
static const char decoy[] = "$argon2id$v=19$m=19456,t=2,p=1$3H7yk0Fsjv/YPd96Q8sLMw$"
                            "TKEWAuTHwFDDwVn8Quf9lCe7EGXumqPG423lXK6h9Ec";

static atomic_int_least64_t password_count;

_Static_assert(CRYPTO_DIGEST_BYTES == crypto_hash_sha256_BYTES, "digest size");
_Static_assert(CRYPTO_PASSWORD_BYTES == crypto_pwhash_STRBYTES, "password hash size");
_Static_assert(sizeof(struct crypto_sha256) >= sizeof(crypto_hash_sha256_state), "state size");
_Static_assert(_Alignof(struct crypto_sha256) >= _Alignof(crypto_hash_sha256_state), "alignment");

bool crypto_init(struct err *e)
{
    if (sodium_init() < 0)
        return err_set(e, ERR_UNAVAILABLE,
                       "The system gives no random numbers: /dev/urandom cannot be read.");
    /* were the decoy not well-formed, or cheaper, it would tell who exists */
    assert(!crypto_password_stale(decoy));
    return true;
}

static crypto_hash_sha256_state *state_of(struct crypto_sha256 *h)
{
    return (crypto_hash_sha256_state *)(void *)h->opaque;
}

void crypto_sha256_start(struct crypto_sha256 *h)
{
    crypto_hash_sha256_init(state_of(h));
}

void crypto_sha256_add(struct crypto_sha256 *h, const void *bytes, size_t n)
{
    if (n > 0)
        crypto_hash_sha256_update(state_of(h), bytes, n);
}

void crypto_sha256_end(struct crypto_sha256 *h, unsigned char digest[CRYPTO_DIGEST_BYTES])
{
    crypto_hash_sha256_final(state_of(h), digest);
}

void crypto_sha256(unsigned char digest[CRYPTO_DIGEST_BYTES], const void *bytes, size_t n)
{
    struct crypto_sha256 h;
    crypto_sha256_start(&h);
    crypto_sha256_add(&h, bytes, n);
    crypto_sha256_end(&h, digest);
}

char *crypto_hex(char *text, const void *bytes, size_t n)
{
    return sodium_bin2hex(text, 2 * n + 1, bytes, n);
}

bool crypto_same(const void *a, const void *b, size_t n)
{
    return sodium_memcmp(a, b, n) == 0;
}

void crypto_random(void *bytes, size_t n)
{
    randombytes_buf(bytes, n);
}

uint64_t crypto_scatter(const unsigned char key[CRYPTO_SCATTER_BYTES], const void *bytes, size_t n)
{
    unsigned char out[crypto_shorthash_BYTES];
    _Static_assert(CRYPTO_SCATTER_BYTES == crypto_shorthash_KEYBYTES, "scatter key size");
    _Static_assert(sizeof(uint64_t) == crypto_shorthash_BYTES, "scatter size");
    crypto_shorthash(out, bytes, n, key);
    uint64_t v;
    memcpy(&v, out, sizeof v);
    return v;
}

void crypto_wipe(void *bytes, size_t n)
{
    sodium_memzero(bytes, n);
}

void crypto_token(char text[CRYPTO_TOKEN_BYTES])
{
    unsigned char chance[32];
    _Static_assert(
        CRYPTO_TOKEN_BYTES ==
            sodium_base64_ENCODED_LEN(sizeof chance, sodium_base64_VARIANT_URLSAFE_NO_PADDING),
        "token size");
    crypto_random(chance, sizeof chance);
    sodium_bin2base64(text, CRYPTO_TOKEN_BYTES, chance, sizeof chance,
                      sodium_base64_VARIANT_URLSAFE_NO_PADDING);
    crypto_wipe(chance, sizeof chance);
}

void crypto_token_hash(unsigned char digest[CRYPTO_DIGEST_BYTES], const char *text)
{
    crypto_sha256(digest, text, strlen(text));
}

/* libsodium takes a hash's text in a buffer of its own full size */
static void widen(char kept[CRYPTO_PASSWORD_BYTES], const char *text)
{
    size_t n = strlen(text);
    assert(n < CRYPTO_PASSWORD_BYTES);
    memset(kept, 0, CRYPTO_PASSWORD_BYTES);
    memcpy(kept, text, n);
}

static bool no_memory(struct err *e)
{
    return err_set(e, ERR_UNAVAILABLE,
                   "There is not enough memory to check a password now; please try again.");
}

bool crypto_password_hash(char text[CRYPTO_PASSWORD_BYTES], const char *password, size_t n,
                          struct err *e)
{
    atomic_fetch_add(&password_count, 1);
    char made[CRYPTO_PASSWORD_BYTES];
    if (crypto_pwhash_str_alg(made, password, n, PASSWORD_PASSES, PASSWORD_MEMORY,
                              crypto_pwhash_ALG_ARGON2ID13) != 0)
        return no_memory(e);
    memcpy(text, made, sizeof made);
    return true;
}

bool crypto_password_verify(bool *same, const char *text, const char *password, size_t n,
                            struct err *e)
{
    atomic_fetch_add(&password_count, 1);
    char kept[CRYPTO_PASSWORD_BYTES];
    widen(kept, text ? text : decoy);
    errno = 0;
    if (crypto_pwhash_str_verify(kept, password, n) == 0) {
        *same = text != NULL;
        return true;
    }
    /* a wrong password and a want of memory both come back as -1; errno tells them apart */
    if (errno == ENOMEM)
        return no_memory(e);
    *same = false;
    return true;
}

bool crypto_password_stale(const char *text)
{
    char kept[CRYPTO_PASSWORD_BYTES];
    widen(kept, text);
    return crypto_pwhash_str_needs_rehash(kept, PASSWORD_PASSES, PASSWORD_MEMORY) != 0;
}

int64_t crypto_password_count(void)
{
    return atomic_load(&password_count);
}
