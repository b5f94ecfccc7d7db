/* SPDX-License-Identifier: MIT
 *
 * throttle and setup: what their headers promise, at moments given by the test.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "auth/setup.h"
#include "auth/throttle.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>

#define NOW    INT64_C(1700000000000)
#define MINUTE INT64_C(60000)

/* tries and steps: auth/throttle.h */
static const struct {
    enum throttle_kind kind;
    int tries;
    int64_t step_ms;
} rules[] = {
    {THROTTLE_ADDRESS, 20, MINUTE},
    {THROTTLE_ACCOUNT, 10, 5 * MINUTE},
    {THROTTLE_BROWSER, 10, MINUTE},
};

static void tries_run_out_and_come_back_with_time(void **state)
{
    (void)state;
    for (size_t i = 0; i < ARRAY_LEN(rules); i++) {
        throttle_reset();
        for (int k = 0; k < rules[i].tries; k++)
            assert_int_equal(throttle_take(rules[i].kind, "key", NOW), 0);
        assert_int_equal(throttle_take(rules[i].kind, "key", NOW), rules[i].step_ms);
        /* being refused takes nothing */
        assert_int_equal(throttle_take(rules[i].kind, "key", NOW), rules[i].step_ms);
        assert_int_equal(throttle_take(rules[i].kind, "key", NOW + rules[i].step_ms - 1), 1);
        assert_int_equal(throttle_take(rules[i].kind, "key", NOW + rules[i].step_ms), 0);
        assert_int_equal(throttle_take(rules[i].kind, "key", NOW + rules[i].step_ms),
                         rules[i].step_ms);
        /* after long rest the store is full, and no fuller */
        int64_t later = NOW + 1000 * rules[i].step_ms;
        for (int k = 0; k < rules[i].tries; k++)
            assert_int_equal(throttle_take(rules[i].kind, "key", later), 0);
        assert_int_equal(throttle_take(rules[i].kind, "key", later), rules[i].step_ms);
    }
}

static void what_is_given_back_can_be_taken_again(void **state)
{
    (void)state;
    throttle_reset();
    for (int k = 0; k < 1000; k++) {
        assert_int_equal(throttle_take(THROTTLE_ACCOUNT, "key", NOW), 0);
        throttle_give(THROTTLE_ACCOUNT, "key");
    }
}

static void kinds_are_counted_apart(void **state)
{
    (void)state;
    throttle_reset();
    while (throttle_take(THROTTLE_ACCOUNT, "key", NOW) == 0)
        ;
    assert_int_equal(throttle_take(THROTTLE_BROWSER, "key", NOW), 0);
    assert_int_equal(throttle_take(THROTTLE_ADDRESS, "key", NOW), 0);
}

static void other_keys_hardly_ever_share(void **state)
{
    (void)state;
    throttle_reset();
    while (throttle_take(THROTTLE_ACCOUNT, "owner", NOW) == 0)
        ;
    /* 100 others among 4096 buckets: more than 5 of them meeting one given bucket has a chance
     * below 1e-12 */
    int shared = 0;
    for (int k = 0; k < 100; k++) {
        char name[16];
        snprintf(name, sizeof name, "other%d", k);
        shared += throttle_take(THROTTLE_ACCOUNT, name, NOW) != 0;
    }
    assert_true(shared <= 5);
}

static void addresses_of_one_subscriber_are_one(void **state)
{
    (void)state;
    throttle_reset();
    /* 2001:db8::/32 and 192.0.2.0/24: RFC 3849 and RFC 5737, kept for examples */
    while (throttle_take(THROTTLE_ADDRESS, "2001:db8:1:2::1", NOW) == 0)
        ;
    assert_int_not_equal(throttle_take(THROTTLE_ADDRESS, "2001:db8:1:2:aaaa:bbbb:cccc:dddd", NOW),
                         0);
    int free_elsewhere = 0; /* two keys may meet by chance, eight may not */
    for (int k = 0; k < 8; k++) {
        char address[32];
        snprintf(address, sizeof address, "2001:db8:1:%d::1", 10 + k);
        free_elsewhere += throttle_take(THROTTLE_ADDRESS, address, NOW) == 0;
        snprintf(address, sizeof address, "::ffff:192.0.2.%d", 10 + k);
        free_elsewhere += throttle_take(THROTTLE_ADDRESS, address, NOW) == 0;
    }
    assert_true(free_elsewhere >= 8);
}

static void *take_fifty(void *taken)
{
    for (int k = 0; k < 50; k++)
        if (throttle_take(THROTTLE_ACCOUNT, "key", NOW) == 0)
            atomic_fetch_add((atomic_int *)taken, 1);
    return NULL;
}

static void threads_together_get_no_more_than_one(void **state)
{
    (void)state;
    pthread_t t[8];
    atomic_int taken = 0;
    throttle_reset();
    for (size_t i = 0; i < ARRAY_LEN(t); i++)
        assert_int_equal(pthread_create(&t[i], NULL, take_fifty, &taken), 0);
    for (size_t i = 0; i < ARRAY_LEN(t); i++)
        assert_int_equal(pthread_join(t[i], NULL), 0);
    assert_int_equal(taken, 10);
}

static void clock_that_goes_back_locks_nobody_out(void **state)
{
    (void)state;
    throttle_reset();
    while (throttle_take(THROTTLE_ACCOUNT, "key", NOW) == 0)
        ;
    int64_t wait = throttle_take(THROTTLE_ACCOUNT, "key", NOW - 1000 * 24 * 60 * MINUTE);
    assert_true(wait > 0 && wait <= 5 * MINUTE);
}

static void setup_token_is_none_until_made_and_only_itself(void **state)
{
    (void)state;
    assert_false(setup_token_check(""));
    char first[CRYPTO_TOKEN_BYTES], second[CRYPTO_TOKEN_BYTES];
    setup_token_new(first);
    assert_true(setup_token_check(first));
    assert_false(setup_token_check(""));
    first[42] ^= 1;
    assert_false(setup_token_check(first));
    first[42] ^= 1;
    setup_token_new(second);
    assert_false(setup_token_check(first));
    assert_true(setup_token_check(second));
}

static int init(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    return crypto_init(&e) ? 0 : -1;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tries_run_out_and_come_back_with_time),
        cmocka_unit_test(what_is_given_back_can_be_taken_again),
        cmocka_unit_test(kinds_are_counted_apart),
        cmocka_unit_test(other_keys_hardly_ever_share),
        cmocka_unit_test(addresses_of_one_subscriber_are_one),
        cmocka_unit_test(threads_together_get_no_more_than_one),
        cmocka_unit_test(clock_that_goes_back_locks_nobody_out),
        cmocka_unit_test(setup_token_is_none_until_made_and_only_itself),
    };
    return cmocka_run_group_tests_name("throttle", tests, init, NULL);
}
