/* SPDX-License-Identifier: MIT
 *
 * setting: rows of setting.
 */
#include "store/setting.h"

#include "store/store_priv.h"

static const char SETTING_GET[] = "SELECT value FROM setting WHERE key = :key";

const char *setting_get(struct store *st, const char *key, struct arena *a)
{
    struct query *q = query(st, SETTING_GET);
    query_text(q, ":key", key);
    return query_word(q, a);
}

static const char SETTING_NUMBER[] = "SELECT CAST(value AS INTEGER) FROM setting WHERE key = :key";

int64_t setting_number(struct store *st, const char *key)
{
    struct query *q = query(st, SETTING_NUMBER);
    query_text(q, ":key", key);
    int64_t v = query_number(q);
    return v == NONE ? 0 : v;
}

static const char SETTING_PUT[] = "INSERT INTO setting (key, value) VALUES (:key, :value) "
                                  "ON CONFLICT (key) DO UPDATE SET value = excluded.value";

bool setting_put(struct store *st, const char *key, const char *value, struct err *e)
{
    store_assert_writing(st);
    struct query *q = query(st, SETTING_PUT);
    query_text(q, ":key", key);
    query_text(q, ":value", value);
    return query_run(q, e);
}
