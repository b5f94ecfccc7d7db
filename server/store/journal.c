/* SPDX-License-Identifier: MIT
 *
 * journal: the chain.  The serialised form that is hashed is stated in chain_hash and never
 * changes: numbers as 8 bytes, most significant first; texts as their length (8 bytes, -1 for NULL)
 * and bytes.
 */
#include "store/journal.h"

#include <string.h>

#include "auth/crypto.h"
#include "store/store_priv.h"

static void put_number(struct crypto_sha256 *h, int64_t v)
{
    unsigned char b[8];
    for (int i = 0; i < 8; i++)
        b[i] = (unsigned char)((uint64_t)v >> (56 - 8 * i));
    crypto_sha256_add(h, b, sizeof b);
}

static void put_text(struct crypto_sha256 *h, const char *s)
{
    put_number(h, s ? (int64_t)strlen(s) : -1);
    if (s)
        crypto_sha256_add(h, s, strlen(s));
}

static void chain_hash(unsigned char out[32], const unsigned char previous[32],
                       const struct journal_row *r)
{
    struct crypto_sha256 h;
    crypto_sha256_start(&h);
    crypto_sha256_add(&h, previous, 32);
    put_number(&h, r->seq);
    put_number(&h, r->at_ms);
    put_number(&h, r->user_id);
    put_text(&h, r->act);
    put_text(&h, r->noun);
    put_number(&h, r->noun_id);
    put_text(&h, r->before);
    put_text(&h, r->after);
    crypto_sha256_end(&h, out);
}

static const char JOURNAL_APPEND[] =
    "INSERT INTO journal (seq, at_ms, user_id, act, noun, noun_id, before, after, hash) "
    "VALUES (:seq, :at_ms, :user_id, :act, :noun, :noun_id, :before, :after, :hash)";

bool journal_append(struct store *st, const char *act, const char *noun, int64_t noun_id,
                    const char *before, const char *after, struct err *e)
{
    store_assert_writing(st);
    struct journal_head *head = store_journal(st);
    struct journal_row r = {.seq = head->seq + 1,
                            .at_ms = store_now(st),
                            .user_id = store_user(st),
                            .act = act,
                            .noun = noun,
                            .noun_id = noun_id,
                            .before = before,
                            .after = after};
    unsigned char hash[32];
    chain_hash(hash, head->hash, &r);

    struct query *q = query(st, JOURNAL_APPEND);
    query_int(q, ":seq", r.seq);
    query_int(q, ":at_ms", r.at_ms);
    query_int(q, ":user_id", r.user_id);
    query_text(q, ":act", act);
    query_text(q, ":noun", noun);
    query_int(q, ":noun_id", noun_id);
    query_text(q, ":before", before);
    query_text(q, ":after", after);
    query_blob(q, ":hash", hash, sizeof hash);
    if (!query_run(q, e))
        return false;
    head->seq = r.seq;
    memcpy(head->hash, hash, sizeof hash);
    return true;
}

const char *journal_image(struct store *st, const char *sql, int64_t id, struct arena *a)
{
    struct query *q = query(st, sql);
    query_int(q, ":id", id);
    return query_word(q, a);
}

static void row_from(struct journal_row *r, struct query *q, struct arena *a)
{
    *r = (struct journal_row){.seq = query_col_int(q, 0),
                              .at_ms = query_col_int(q, 1),
                              .user_id = query_col_int(q, 2),
                              .act = query_col_text(q, 3, a),
                              .noun = query_col_text(q, 4, a),
                              .noun_id = query_col_int(q, 5),
                              .before = query_col_text(q, 6, a),
                              .after = query_col_text(q, 7, a)};
}

static const char JOURNAL_OF[] =
    "SELECT j.seq, j.at_ms, j.user_id, j.act, j.noun, j.noun_id, j.before, j.after, u.shown "
    "FROM journal j LEFT JOIN user u ON u.id = j.user_id "
    "WHERE j.noun = :noun AND j.noun_id = :noun_id AND j.seq < :before "
    "ORDER BY j.seq DESC LIMIT :limit";

void journal_of(struct list *out, struct store *st, const char *noun, int64_t noun_id,
                int64_t before_seq, int64_t limit, struct arena *a)
{
    struct journal_row *rows = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, JOURNAL_OF);
    query_text(q, ":noun", noun);
    query_int(q, ":noun_id", noun_id);
    query_int(q, ":before", before_seq == NONE ? INT64_MAX : before_seq);
    query_int(q, ":limit", limit);
    while (query_row(q)) {
        rows = store_grow(a, rows, &room, n, sizeof *rows);
        row_from(&rows[n], q, a);
        rows[n++].user = query_col_text(q, 8, a);
    }
    query_end(q);
    *out = (struct list){rows, n};
}

static const char JOURNAL_ALL[] =
    "SELECT seq, at_ms, user_id, act, noun, noun_id, before, after, hash FROM journal ORDER BY seq";

bool journal_verify(struct store *st, struct err *e)
{
    struct arena *a = arena_new();
    unsigned char previous[32] = {0}, hash[32];
    int64_t seq = 0, bad = 0;
    struct query *q = query(st, JOURNAL_ALL);
    while (!bad && query_row(q)) {
        struct journal_row r;
        arena_reset(a);
        row_from(&r, q, a);
        chain_hash(hash, previous, &r);
        const void *kept = query_col_blob(q, 8, sizeof hash);
        if (r.seq != ++seq || !kept || memcmp(kept, hash, sizeof hash) != 0)
            bad = seq;
        memcpy(previous, hash, sizeof hash);
    }
    query_end(q);
    arena_free(a);
    if (bad)
        return err_set(e, ERR_CONFLICT,
                       "the journal does not fit together at row %lld: a row was changed, lost or "
                       "put in; compare with the last backup",
                       (long long)bad);
    return true;
}

static const char JOURNAL_LAST[] =
    "SELECT seq, hash FROM journal WHERE seq = (SELECT max(seq) FROM journal)";

static void head_read(struct journal_head *head, struct store *st)
{
    memset(head, 0, sizeof *head);
    struct query *q = query(st, JOURNAL_LAST);
    if (query_row(q)) {
        head->seq = query_col_int(q, 0);
        const void *hash = query_col_blob(q, 1, sizeof head->hash);
        if (hash)
            memcpy(head->hash, hash, sizeof head->hash);
    }
    query_end(q);
}

void journal_head_load(struct store *st)
{
    head_read(store_journal(st), st);
}

const char *journal_head_text(struct store *st, struct arena *a)
{
    struct journal_head head;
    char hex[CRYPTO_HEX_BYTES];
    head_read(&head, st);
    return arena_printf(a, "%lld:%s", (long long)head.seq, crypto_hex(hex, head.hash, 32));
}
