/* SPDX-License-Identifier: MIT
 *
 * crypto: digests against FIPS 180-4's examples, password hashes against the reference program.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "auth/crypto.h"
#include "base/arena.h"

#include <stdlib.h>
#include <string.h>

/* "abc" and the two-block message: NIST's examples to FIPS 180-4 (SHA256.pdf); the million letters
 * are the long example of FIPS 180-2, appendix B.3.  The empty message: sha256sum (coreutils). */
static const struct {
    const char *text;
    size_t times;
    const char *hex;
} digests[] = {
    {"abc", 1, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
    {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 1,
     "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
    {"a", 1000000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"},
    {"", 1, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
};

static void digest_in_one_go_is_that_of_the_standard(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(digests); i++) {
        size_t n = strlen(digests[i].text);
        char *whole = xmalloc(n * digests[i].times);
        for (size_t k = 0; k < digests[i].times; k++)
            memcpy(whole + k * n, digests[i].text, n);
        unsigned char digest[CRYPTO_DIGEST_BYTES];
        char hex[CRYPTO_HEX_BYTES];
        crypto_sha256(digest, whole, n * digests[i].times);
        assert_string_equal(crypto_hex(hex, digest, sizeof digest), digests[i].hex);
        free(whole);
    }
}

static void digest_in_pieces_is_the_same(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(digests); i++) {
        struct crypto_sha256 h;
        crypto_sha256_start(&h);
        for (size_t k = 0; k < digests[i].times; k++)
            for (const char *p = digests[i].text; *p; p++)
                crypto_sha256_add(&h, p, 1);
        crypto_sha256_add(&h, NULL, 0);
        unsigned char digest[CRYPTO_DIGEST_BYTES];
        char hex[CRYPTO_HEX_BYTES];
        crypto_sha256_end(&h, digest);
        assert_string_equal(crypto_hex(hex, digest, sizeof digest), digests[i].hex);
    }
}

static void empty_message_may_be_a_null_pointer(void **state)
{
    (void)state;
    unsigned char digest[CRYPTO_DIGEST_BYTES];
    char hex[CRYPTO_HEX_BYTES];
    crypto_sha256(digest, NULL, 0);
    assert_string_equal(crypto_hex(hex, digest, sizeof digest), digests[3].hex);
}

static void comparing_sees_a_difference_anywhere(void **state)
{
    (void)state;
    unsigned char a[32] = {0}, b[32] = {0};
    assert_true(crypto_same(a, b, sizeof a));
    for (size_t i = 0; i < sizeof a; i++) {
        b[i] = 1;
        assert_false(crypto_same(a, b, sizeof a));
        b[i] = 0;
    }
}

static void tokens_are_43_characters_of_the_url_alphabet_and_differ(void **state)
{
    (void)state;
    /* RFC 4648, table 2 */
    static const char alphabet[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    char seen[64][CRYPTO_TOKEN_BYTES];
    for (size_t i = 0; i < ARRAY_LEN(seen); i++) {
        crypto_token(seen[i]);
        assert_int_equal(strlen(seen[i]), 43);
        assert_int_equal(strspn(seen[i], alphabet), 43);
        for (size_t k = 0; k < i; k++)
            assert_string_not_equal(seen[i], seen[k]);
    }
}

static void token_is_kept_as_the_digest_of_its_text(void **state)
{
    (void)state;
    unsigned char digest[CRYPTO_DIGEST_BYTES];
    char hex[CRYPTO_HEX_BYTES];
    crypto_token_hash(digest, "abc");
    assert_string_equal(crypto_hex(hex, digest, sizeof digest), digests[0].hex);
}

static void scattering_is_that_of_the_paper(void **state)
{
    (void)state;
    /* Aumasson and Bernstein, "SipHash: a fast short-input PRF" (2012), appendix A: key 00..0f,
     * message 00..0e, result a129ca6149be45e5 */
    unsigned char key[CRYPTO_SCATTER_BYTES], message[15];
    for (unsigned char i = 0; i < 16; i++)
        key[i] = i;
    for (unsigned char i = 0; i < 15; i++)
        message[i] = i;
    assert_true(crypto_scatter(key, message, sizeof message) == 0xa129ca6149be45e5u);
}

/* printf %s 'correct horse battery staple' | argon2 saltsaltsaltsalt -id -t 2 -k 19456 -p 1 -l 32
 * with the reference implementation's own program, version 20171227 */
static const char reference[] = "$argon2id$v=19$m=19456,t=2,p=1$c2FsdHNhbHRzYWx0c2FsdA$"
                                "QKHrg5tayLGcN+Y0HVPNaBqykOVLUxlMkZycXE1uWRM";

static bool verified(const char *text, const char *password)
{
    struct err e = ERR_INIT;
    bool same = true;
    assert_true(crypto_password_verify(&same, text, password, strlen(password), &e));
    return same;
}

static void password_hash_of_the_reference_program_verifies(void **state)
{
    (void)state;
    assert_true(verified(reference, "correct horse battery staple"));
    assert_false(verified(reference, "correct horse battery stapler"));
    assert_false(verified(reference, ""));
    assert_false(crypto_password_stale(reference));
}

static void password_is_hashed_with_the_stated_parameters_and_a_salt_of_its_own(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    char one[CRYPTO_PASSWORD_BYTES], two[CRYPTO_PASSWORD_BYTES];
    assert_true(crypto_password_hash(one, "a long enough word", 18, &e));
    assert_true(crypto_password_hash(two, "a long enough word", 18, &e));
    static const char head[] = "$argon2id$v=19$m=19456,t=2,p=1$";
    assert_memory_equal(one, head, strlen(head));
    assert_string_not_equal(one, two);
    assert_true(verified(one, "a long enough word"));
    assert_true(verified(two, "a long enough word"));
    assert_false(verified(one, "a long enough wore"));
}

static void somebody_who_is_not_there_costs_one_hash_and_never_verifies(void **state)
{
    (void)state;
    int64_t before = crypto_password_count();
    assert_false(verified(NULL, "whatever it may be"));
    assert_int_equal(crypto_password_count() - before, 1);
    assert_false(verified(reference, "whatever it may be"));
    assert_int_equal(crypto_password_count() - before, 2);
}

static void weaker_or_broken_hashes_are_stale(void **state)
{
    (void)state;
    assert_true(crypto_password_stale("$argon2id$v=19$m=8192,t=2,p=1$c2FsdHNhbHRzYWx0c2FsdA$"
                                      "QKHrg5tayLGcN+Y0HVPNaBqykOVLUxlMkZycXE1uWRM"));
    assert_true(crypto_password_stale("nonsense"));
    assert_false(verified("nonsense", "nonsense"));
}

static int init(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    return crypto_init(&e) && crypto_init(&e) ? 0 : -1;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(digest_in_one_go_is_that_of_the_standard),
        cmocka_unit_test(digest_in_pieces_is_the_same),
        cmocka_unit_test(empty_message_may_be_a_null_pointer),
        cmocka_unit_test(comparing_sees_a_difference_anywhere),
        cmocka_unit_test(tokens_are_43_characters_of_the_url_alphabet_and_differ),
        cmocka_unit_test(token_is_kept_as_the_digest_of_its_text),
        cmocka_unit_test(scattering_is_that_of_the_paper),
        cmocka_unit_test(password_hash_of_the_reference_program_verifies),
        cmocka_unit_test(password_is_hashed_with_the_stated_parameters_and_a_salt_of_its_own),
        cmocka_unit_test(somebody_who_is_not_there_costs_one_hash_and_never_verifies),
        cmocka_unit_test(weaker_or_broken_hashes_are_stale),
    };
    return cmocka_run_group_tests_name("crypto", tests, init, NULL);
}
