/* SPDX-License-Identifier: MIT
 *
 * crypto: digests, chance, tokens and password hashes.  The only place that knows libsodium.
 *
 * It knows nothing of people, of the store or of requests.  Every function may be called from any
 * thread once crypto_init has returned.
 */
#ifndef QUADRILLE_AUTH_CRYPTO_H
#define QUADRILLE_AUTH_CRYPTO_H

#include "base/err.h"

#define CRYPTO_DIGEST_BYTES   32  /* a SHA-256 digest */
#define CRYPTO_HEX_BYTES      65  /* the same in hexadecimal, with its terminating zero */
#define CRYPTO_TOKEN_BYTES    44  /* a token's text, with its terminating zero */
#define CRYPTO_PASSWORD_BYTES 128 /* a password hash's text, with its terminating zero */

/* Once, before any other function here; calling it again is harmless.  ERR_UNAVAILABLE when the
 * system has no source of chance. */
MUST_USE bool crypto_init(struct err *e);

/* SHA-256 (FIPS 180-4) of bytes that come in pieces: start, add any number of times, end.  The
 * struct is the caller's memory and needs no freeing; after end it may be started again. */
struct crypto_sha256 {
    _Alignas(8) unsigned char opaque[128];
};
void crypto_sha256_start(struct crypto_sha256 *h);
void crypto_sha256_add(struct crypto_sha256 *h, const void *bytes, size_t n);
void crypto_sha256_end(struct crypto_sha256 *h, unsigned char digest[CRYPTO_DIGEST_BYTES]);

/* The same in one go.  bytes may be NULL when n is 0. */
void crypto_sha256(unsigned char digest[CRYPTO_DIGEST_BYTES], const void *bytes, size_t n);

/* n bytes as lower case hexadecimal at text, which needs 2 n + 1 bytes; returns text. */
char *crypto_hex(char *text, const void *bytes, size_t n);

/* True when a[0..n) and b[0..n) are equal; takes the same time wherever they differ. */
bool crypto_same(const void *a, const void *b, size_t n);

/* n unpredictable bytes. */
void crypto_random(void *bytes, size_t n);

/* A number from bytes that nobody without the key can foretell or steer (SipHash-2-4): for tables
 * that strangers fill. */
#define CRYPTO_SCATTER_BYTES 16
uint64_t crypto_scatter(const unsigned char key[CRYPTO_SCATTER_BYTES], const void *bytes, size_t n);

/* Overwrite a secret that is no longer needed. */
void crypto_wipe(void *bytes, size_t n);

/* A new token: 256 bits of chance as 43 characters of base64url (RFC 4648, section 5). */
void crypto_token(char text[CRYPTO_TOKEN_BYTES]);

/* What is kept of a token instead of itself: the SHA-256 of its text.  A token is not guessable, so
 * that no slow hash is needed. */
void crypto_token_hash(unsigned char digest[CRYPTO_DIGEST_BYTES], const char *text);

/* Password hashes: Argon2id (RFC 9106), 19 MiB and 2 passes, one lane, with a salt of its own, as
 * the customary text "$argon2id$v=19$m=19456,t=2,p=1$salt$hash".  These parameters are the first
 * choice of the OWASP Password Storage Cheat Sheet.  One hash takes tens of milliseconds and 19
 * MiB: never on a polling thread, at most two at once. password  any n bytes ERR_UNAVAILABLE when
 * the memory is not to be had. */
MUST_USE bool crypto_password_hash(char text[CRYPTO_PASSWORD_BYTES], const char *password, size_t n,
                                   struct err *e);

/* *same: whether the password is the one hashed in text.  text NULL stands for somebody who is not
 * there or has no password: the same work is done and *same is false, so that the time taken does
 * not tell who exists.  false with ERR_UNAVAILABLE only when the memory is not to be had. */
MUST_USE bool crypto_password_verify(bool *same, const char *text, const char *password, size_t n,
                                     struct err *e);

/* True when text was made with other parameters than today's and wants making anew. */
bool crypto_password_stale(const char *text);

/* How many password hashes this process has computed, verifications included. */
int64_t crypto_password_count(void);

#endif
