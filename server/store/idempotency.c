/* SPDX-License-Identifier: MIT
 *
 * idempotency: see the header.  Expired rows go a few at a time with each new one, so that no
 * single change pays for all of them.
 */
#include "store/idempotency.h"

#include <string.h>

#include "store/store_priv.h"

static const char FIND[] = "SELECT body_hash, status, reply, location, etag FROM idempotency "
                           "WHERE user_id = :user_id AND route = :route AND key = :key "
                           "AND expires_ms > :now_ms";

bool idempotency_find(bool *found, struct idempotency *it, struct store *st, int64_t now_ms,
                      struct arena *a, struct err *e)
{
    struct query *q = query(st, FIND);
    query_int(q, ":user_id", it->user_id);
    query_text(q, ":route", it->route);
    query_text(q, ":key", it->key);
    query_int(q, ":now_ms", now_ms);
    bool same = true;
    *found = query_row(q);
    if (*found) {
        const void *hash = query_col_blob(q, 0, 32);
        same = hash && memcmp(hash, it->body_hash, 32) == 0;
        it->status = query_col_int(q, 1);
        it->reply = query_col_text(q, 2, a);
        it->location = query_col_text(q, 3, a);
        it->etag = query_col_text(q, 4, a);
    }
    query_end(q);
    if (!same)
        return err_field(
            e, "Idempotency-Key", ERR_INVALID,
            "this Idempotency-Key was used before with another request: take a new key "
            "for a new change");
    return true;
}

static const char FORGET[] =
    "DELETE FROM idempotency WHERE (user_id, route, key) IN "
    "(SELECT user_id, route, key FROM idempotency WHERE expires_ms <= :now_ms LIMIT 4)";

static const char KEEP[] =
    "INSERT INTO idempotency (user_id, route, key, body_hash, status, reply, "
    "location, etag, created_ms, expires_ms) "
    "VALUES (:user_id, :route, :key, :body_hash, :status, :reply, "
    ":location, :etag, :created_ms, :expires_ms)";

bool idempotency_keep(struct store *st, const struct idempotency *it, struct err *e)
{
    store_assert_writing(st);
    struct query *q = query(st, FORGET);
    query_int(q, ":now_ms", store_now(st));
    if (!query_run(q, e))
        return false;
    q = query(st, KEEP);
    query_int(q, ":user_id", it->user_id);
    query_text(q, ":route", it->route);
    query_text(q, ":key", it->key);
    query_blob(q, ":body_hash", it->body_hash, 32);
    query_int(q, ":status", it->status);
    query_text(q, ":reply", it->reply);
    query_text(q, ":location", it->location);
    query_text(q, ":etag", it->etag);
    query_int(q, ":created_ms", store_now(st));
    query_int(q, ":expires_ms", store_now(st) + IDEMPOTENCY_KEPT_MS);
    return query_run(q, e);
}
