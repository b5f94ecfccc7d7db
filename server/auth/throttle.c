/* SPDX-License-Identifier: MIT
 *
 * throttle: leaky buckets in tables of fixed size.
 *
 * A bucket is one number: the moment at which it will be empty again.  A try pushes it one step
 * into the future and is refused when it would be more than `tries` steps ahead (the virtual
 * scheduling form of the generic cell rate algorithm, ITU-T I.371, annex A).
 *
 * The tables hold no keys: a key goes to the bucket its keyed hash names.  So strangers cannot make
 * them grow, cannot push anybody's bucket out, and cannot aim at a bucket; when two keys meet by
 * chance both wait a little longer.  This is the one piece of memory threads share besides the two
 * queues: a guess must not cost a write to the disk, and must be counted all the same.
 */
#include "auth/throttle.h"
#include "auth/crypto.h"

#include <arpa/inet.h>
#include <assert.h>
#include <pthread.h>
#include <string.h>

#define BUCKETS 4096 /* a power of two */

/* House rule: enough for a hand that mistypes, and at most 288 guesses a day at one account. */
static const struct {
    int64_t tries;
    int64_t step_ms; /* after which one more is free */
} rules[] = {
    [THROTTLE_ADDRESS] = {20, 60 * 1000},
    [THROTTLE_ACCOUNT] = {10, 5 * 60 * 1000},
    [THROTTLE_BROWSER] = {10, 60 * 1000},
};
_Static_assert(ARRAY_LEN(rules) == THROTTLE__COUNT, "a rule for every kind");

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static int64_t empty_ms[THROTTLE__COUNT][BUCKETS];
static unsigned char secret[CRYPTO_SCATTER_BYTES];
static bool seeded;

void throttle_reset(void)
{
    pthread_mutex_lock(&lock);
    memset(empty_ms, 0, sizeof empty_ms);
    crypto_random(secret, sizeof secret);
    seeded = true;
    pthread_mutex_unlock(&lock);
}

/* One subscriber's IPv6 addresses share their first 64 bits. */
static int64_t *bucket(enum throttle_kind kind, const char *key)
{
    if (!seeded) {
        crypto_random(secret, sizeof secret);
        seeded = true;
    }
    struct in6_addr six;
    uint64_t h;
    if (kind == THROTTLE_ADDRESS && inet_pton(AF_INET6, key, &six) == 1 &&
        !IN6_IS_ADDR_V4MAPPED(&six))
        h = crypto_scatter(secret, &six, 8);
    else
        h = crypto_scatter(secret, key, strlen(key));
    return &empty_ms[kind][h % BUCKETS];
}

int64_t throttle_take(enum throttle_kind kind, const char *key, int64_t now_ms)
{
    assert(kind < THROTTLE__COUNT);
    int64_t step = rules[kind].step_ms, room = rules[kind].tries * step, wait = 0;
    pthread_mutex_lock(&lock);
    int64_t *b = bucket(kind, key);
    if (*b < now_ms)
        *b = now_ms;
    if (*b > now_ms + room) /* the clock went back: nobody waits for more than a full bucket */
        *b = now_ms + room;
    if (*b + step > now_ms + room)
        wait = *b + step - (now_ms + room);
    else
        *b += step;
    pthread_mutex_unlock(&lock);
    return wait;
}

void throttle_give(enum throttle_kind kind, const char *key)
{
    assert(kind < THROTTLE__COUNT);
    pthread_mutex_lock(&lock);
    *bucket(kind, key) -= rules[kind].step_ms;
    pthread_mutex_unlock(&lock);
}
