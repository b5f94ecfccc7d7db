/* SPDX-License-Identifier: MIT
 *
 * idempotency: the same change asked twice is made once and answered twice.
 *
 * A row is written in the savepoint of the change it answers, and forgotten after 30 days.
 */
#ifndef QUADRILLE_STORE_IDEMPOTENCY_H
#define QUADRILLE_STORE_IDEMPOTENCY_H

#include "store/store.h"

#define IDEMPOTENCY_KEY_BYTES 200
#define IDEMPOTENCY_KEPT_MS   (INT64_C(30) * 24 * 3600 * 1000)

struct idempotency {
    int64_t user_id;
    const char *route, *key;
    unsigned char body_hash[32]; /* SHA-256 of path, query and body */
    int64_t status;
    const char *reply, *location, *etag;
};

/* Is there an answer to this user, route and key already?  *found.  When there is, *it is completed
 * from the row; ERR_INVALID when the row's body hash is another: the key was used for something
 * else.  An expired row counts as none. */
MUST_USE bool idempotency_find(bool *found, struct idempotency *it, struct store *st,
                               int64_t now_ms, struct arena *a, struct err *e);

/* Keep an answer, and forget a few expired ones.  Inside the change's savepoint. */
MUST_USE bool idempotency_keep(struct store *st, const struct idempotency *it, struct err *e);

#endif
