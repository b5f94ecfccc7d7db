/* SPDX-License-Identifier: MIT
 *
 * people: users, sessions and API tokens.
 *
 * The journal holds no name and no secret: an image of a user is his role and state, and beside it
 * the names of the personal fields that this change touched.
 */
#include "store/people.h"

#include <assert.h>
#include <string.h>

#include "base/text.h"
#include "store/journal.h"
#include "store/store_priv.h"

#define MINUTE_MS INT64_C(60000)
#define DAY_MS    (24 * 60 * MINUTE_MS)

const char *const role_names[ROLE__COUNT + 1] = {
    [ROLE_VIEWER] = "viewer",
    [ROLE_COUNTER] = "counter",
    [ROLE_BENCH] = "bench",
    [ROLE_OWNER] = "owner",
};

static int64_t role_from(const char *name)
{
    for (int64_t r = 0; r < ROLE__COUNT; r++)
        if (strcmp(name, role_names[r]) == 0)
            return r;
    assert(false && "the schema's CHECK lets no other role in");
    return ROLE_VIEWER;
}

bool role_covers(int64_t giver, int64_t given)
{
    return giver == ROLE_OWNER || giver == given || given == ROLE_VIEWER;
}

/* ---- users -------------------------------------------------------------------------------- */

bool people_fold(char out[PEOPLE_NAME_BYTES], const char *typed, struct err *e)
{
    size_t n = strlen(typed);
    const char *s = text_trim(typed, &n);
    char name[PEOPLE_NAME_BYTES] = {0}, shown[TEXT_SHOW_BYTES];
    if (n < 1 || n >= sizeof name)
        return err_set(e, ERR_INVALID, "A sign-in name has 1 to %d characters; this one has %zu.",
                       PEOPLE_NAME_BYTES - 1, n);
    for (size_t i = 0; i < n; i++) {
        char c = s[i];
        bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
        if (!letter && (i == 0 || !strchr(".-_", c)))
            return err_at(e, ERR_INVALID, (int64_t)(s - typed) + (int64_t)i,
                          "A sign-in name is made of the letters a to z, digits, '.', '-' and '_', "
                          "and begins with a letter or digit; not so '%s'.  The name as shown may "
                          "be in any script.",
                          text_show(shown, s, n));
        name[i] = c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
    }
    memcpy(out, name, sizeof name);
    return true;
}

#define USER_COLS "id, name, shown, role, password_hash, created_ms, disabled_ms, version"

static void person_from_row(struct person *p, struct query *q, struct arena *a)
{
    *p = (struct person){.id = query_col_int(q, 0),
                         .name = query_col_text(q, 1, a),
                         .shown = query_col_text(q, 2, a),
                         .role = role_from(query_col_text(q, 3, a)),
                         .password_hash = query_col_text(q, 4, a),
                         .created_ms = query_col_int(q, 5),
                         .disabled_ms = query_col_int(q, 6),
                         .version = query_col_int(q, 7)};
}

static const char USER_ALL[] =
    "SELECT " USER_COLS " FROM user WHERE id <> 1 ORDER BY name LIMIT 1000";

struct list people_list(struct store *st, struct arena *a)
{
    struct person *people = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, USER_ALL);
    while (query_row(q)) {
        people = store_grow(a, people, &room, n, sizeof *people);
        person_from_row(&people[n++], q, a);
    }
    query_end(q);
    return (struct list){people, n};
}

static const char USER_GET[] = "SELECT " USER_COLS " FROM user WHERE id = :id AND id <> 1";

bool people_load(struct person *out, struct store *st, int64_t id, struct arena *a, struct err *e)
{
    struct query *q = query(st, USER_GET);
    query_int(q, ":id", id);
    bool found = query_row(q);
    if (found)
        person_from_row(out, q, a);
    query_end(q);
    return found ||
           err_set(e, ERR_NOT_FOUND, "There is no person with the number %lld.", (long long)id);
}

static const char USER_FIND[] = "SELECT " USER_COLS " FROM user WHERE name = :name AND id <> 1";

bool people_find(struct person *out, struct store *st, const char *name, struct arena *a)
{
    struct query *q = query(st, USER_FIND);
    query_text(q, ":name", name);
    bool found = query_row(q);
    if (found)
        person_from_row(out, q, a);
    query_end(q);
    return found;
}

/* The table has a row for each person who ever worked here: a scan of tens of rows. */
static const char USER_OWNED[] = "SELECT 1 FROM user WHERE role = 'owner' AND disabled_ms IS NULL "
                                 "AND password_hash IS NOT NULL LIMIT 1";

bool people_owned(struct store *st)
{
    return query_number(query(st, USER_OWNED)) != NONE;
}

static const char USER_IMAGE[] =
    "SELECT json_object('role', role, 'disabled_ms', disabled_ms, 'version', version, "
    "'personal', json(:personal)) FROM user WHERE id = :id";

/* personal: JSON list of the personal fields this change touches */
static const char *user_image(struct store *st, int64_t id, const char *personal, struct arena *a)
{
    struct query *q = query(st, USER_IMAGE);
    query_text(q, ":personal", personal);
    query_int(q, ":id", id);
    return query_word(q, a);
}

static const char USER_ADD[] = "INSERT INTO user (name, shown, role, password_hash, created_ms) "
                               "VALUES (:name, :shown, :role, :password_hash, :created_ms)";

bool people_add(int64_t *id, struct store *st, const struct person *p, struct err *e)
{
    store_assert_writing(st);
    struct err failed = ERR_INIT;
    struct query *q = query(st, USER_ADD);
    query_text(q, ":name", p->name);
    query_text(q, ":shown", p->shown);
    query_text(q, ":role", role_names[p->role]);
    query_text(q, ":password_hash", p->password_hash);
    query_int(q, ":created_ms", store_now(st));
    if (!query_run(q, &failed)) {
        if (store_was_unique(&failed, "user.name"))
            return err_field(e, "name", ERR_CONFLICT,
                             "There is already a person with the sign-in name '%s'.", p->name);
        return err_set(e, failed.code, "%s", failed.text);
    }
    int64_t made = store_last_id(st);
    struct arena *a = arena_new();
    const char *after = user_image(
        st, made,
        p->password_hash ? "[\"name\",\"shown\",\"password_hash\"]" : "[\"name\",\"shown\"]", a);
    bool good = journal_append(st, "create", "user", made, NULL, after, e);
    arena_free(a);
    if (good)
        *id = made;
    return good;
}

static const char OWNERS_BESIDE[] = "SELECT count(*) FROM user WHERE role = 'owner' "
                                    "AND disabled_ms IS NULL AND password_hash IS NOT NULL "
                                    "AND id <> :id";

/* Somebody must be left who can let others in. */
static bool check_owner_stays(struct store *st, const struct person *was, const struct person *p,
                              struct err *e)
{
    bool owned = was->role == ROLE_OWNER && was->disabled_ms == NONE && was->password_hash;
    bool owns = p->role == ROLE_OWNER && p->disabled_ms == NONE;
    if (!owned || owns)
        return true;
    struct query *q = query(st, OWNERS_BESIDE);
    query_int(q, ":id", p->id);
    return query_number(q) > 0 ||
           err_set(e, ERR_CONFLICT,
                   "'%s' is the last owner who can sign in, and must stay one: make somebody "
                   "else an owner first.",
                   was->name);
}

static const char USER_CHANGE[] =
    "UPDATE user SET shown = :shown, role = :role, disabled_ms = :disabled_ms, "
    "password_hash = coalesce(:password_hash, password_hash), version = version + 1 "
    "WHERE id = :id";

static const char USER_SIGN_OUT[] =
    "DELETE FROM session WHERE user_id = :user_id AND id IS NOT :keep";

static bool user_write(struct store *st, const struct person *p, int64_t keep, bool sign_out,
                       struct err *e)
{
    struct query *q = query(st, USER_CHANGE);
    query_int(q, ":id", p->id);
    query_text(q, ":shown", p->shown);
    query_text(q, ":role", role_names[p->role]);
    query_int(q, ":disabled_ms", p->disabled_ms);
    query_text(q, ":password_hash", p->password_hash);
    if (!query_run(q, e))
        return false;
    if (!sign_out)
        return true;
    q = query(st, USER_SIGN_OUT);
    query_int(q, ":user_id", p->id);
    query_int(q, ":keep", keep);
    return query_run(q, e);
}

static bool change(struct store *st, const struct person *p, int64_t keep, struct arena *a,
                   struct err *e)
{
    struct person was;
    if (!people_load(&was, st, p->id, a, e))
        return false;
    if (p->version != NONE && p->version != was.version)
        return err_set(e, ERR_CONFLICT,
                       "This person was changed meanwhile: version %lld was meant, %lld is the "
                       "present one.  Look again, then change.",
                       (long long)p->version, (long long)was.version);
    bool shown = strcmp(p->shown, was.shown) != 0, password = p->password_hash != NULL;
    bool disabled = p->disabled_ms != NONE;
    if (!shown && !password && p->role == was.role && p->disabled_ms == was.disabled_ms)
        return true;
    if (!check_owner_stays(st, &was, p, e))
        return false;
    const char *personal = shown && password ? "[\"shown\",\"password_hash\"]"
                           : shown           ? "[\"shown\"]"
                           : password        ? "[\"password_hash\"]"
                                             : "[]";
    const char *before = user_image(st, p->id, personal, a);
    if (!user_write(st, p, keep, password || disabled, e))
        return false;
    return journal_append(st, "change", "user", p->id, before, user_image(st, p->id, personal, a),
                          e);
}

bool people_change(struct store *st, const struct person *p, int64_t keep, struct err *e)
{
    store_assert_writing(st);
    struct arena *a = arena_new();
    bool good = change(st, p, keep, a, e);
    arena_free(a);
    return good;
}

/* ---- sessions ----------------------------------------------------------------------------- */

static const char SESSION_PURGE[] =
    "DELETE FROM session WHERE user_id = :user_id AND created_ms < :before_ms";

static const char SESSION_ADD[] =
    "INSERT INTO session (user_id, token_hash, created_ms, seen_ms, expires_ms) "
    "VALUES (:user_id, :token_hash, :now_ms, :now_ms, :expires_ms)";

bool people_sign_in(int64_t *id, struct store *st, int64_t user_id,
                    const unsigned char hash[PEOPLE_HASH_BYTES], int64_t expires_ms, struct err *e)
{
    store_assert_writing(st);
    struct query *q = query(st, SESSION_PURGE);
    query_int(q, ":user_id", user_id);
    query_int(q, ":before_ms", store_now(st) - PEOPLE_KNOWN_MS);
    if (!query_run(q, e))
        return false;
    q = query(st, SESSION_ADD);
    query_int(q, ":user_id", user_id);
    query_blob(q, ":token_hash", hash, PEOPLE_HASH_BYTES);
    query_int(q, ":now_ms", store_now(st));
    query_int(q, ":expires_ms", expires_ms);
    if (!query_run(q, e))
        return false;
    *id = store_last_id(st);
    return true;
}

static const char SESSION_END[] =
    "UPDATE session SET expires_ms = :now_ms WHERE id = :id AND expires_ms > :now_ms";

bool people_sign_out(struct store *st, int64_t session_id, struct err *e)
{
    store_assert_writing(st);
    struct query *q = query(st, SESSION_END);
    query_int(q, ":id", session_id);
    query_int(q, ":now_ms", store_now(st));
    return query_run(q, e);
}

static const char SESSION_FIND[] =
    "SELECT id, user_id, created_ms, seen_ms, expires_ms FROM session WHERE token_hash = :hash";

bool people_session(struct session *out, struct store *st,
                    const unsigned char hash[PEOPLE_HASH_BYTES])
{
    struct query *q = query(st, SESSION_FIND);
    query_blob(q, ":hash", hash, PEOPLE_HASH_BYTES);
    bool found = query_row(q);
    if (found)
        *out = (struct session){.id = query_col_int(q, 0),
                                .user_id = query_col_int(q, 1),
                                .created_ms = query_col_int(q, 2),
                                .seen_ms = query_col_int(q, 3),
                                .expires_ms = query_col_int(q, 4)};
    query_end(q);
    return found;
}

/* ---- API tokens --------------------------------------------------------------------------- */

#define TOKEN_COLS                                                                         \
    "t.id, t.user_id, u.name, t.title, t.role, t.created_ms, t.expires_ms, t.revoked_ms, " \
    "t.seen_ms"
#define TOKEN_FROM "FROM api_token t JOIN user u ON u.id = t.user_id "

static void token_from_row(struct api_token *t, struct query *q, struct arena *a)
{
    *t = (struct api_token){.id = query_col_int(q, 0),
                            .user_id = query_col_int(q, 1),
                            .user = query_col_text(q, 2, a),
                            .title = query_col_text(q, 3, a),
                            .role = role_from(query_col_text(q, 4, a)),
                            .created_ms = query_col_int(q, 5),
                            .expires_ms = query_col_int(q, 6),
                            .revoked_ms = query_col_int(q, 7),
                            .seen_ms = query_col_int(q, 8)};
}

static const char TOKEN_ALL[] =
    "SELECT " TOKEN_COLS " " TOKEN_FROM "WHERE :user_id IS NULL OR t.user_id = :user_id "
    "ORDER BY t.id DESC LIMIT 1000";

struct list people_tokens(struct store *st, int64_t user_id, struct arena *a)
{
    struct api_token *tokens = NULL;
    size_t room = 0, n = 0;
    struct query *q = query(st, TOKEN_ALL);
    query_int(q, ":user_id", user_id);
    while (query_row(q)) {
        tokens = store_grow(a, tokens, &room, n, sizeof *tokens);
        token_from_row(&tokens[n++], q, a);
    }
    query_end(q);
    return (struct list){tokens, n};
}

static const char TOKEN_FIND[] = "SELECT " TOKEN_COLS " " TOKEN_FROM "WHERE t.token_hash = :hash";

bool people_token(struct api_token *out, struct store *st,
                  const unsigned char hash[PEOPLE_HASH_BYTES], struct arena *a)
{
    struct query *q = query(st, TOKEN_FIND);
    query_blob(q, ":hash", hash, PEOPLE_HASH_BYTES);
    bool found = query_row(q);
    if (found)
        token_from_row(out, q, a);
    query_end(q);
    return found;
}

static const char TOKEN_GET[] = "SELECT " TOKEN_COLS " " TOKEN_FROM "WHERE t.id = :id";

bool people_token_load(struct api_token *out, struct store *st, int64_t id, struct arena *a,
                       struct err *e)
{
    struct query *q = query(st, TOKEN_GET);
    query_int(q, ":id", id);
    bool found = query_row(q);
    if (found)
        token_from_row(out, q, a);
    query_end(q);
    return found ||
           err_set(e, ERR_NOT_FOUND, "There is no API token with the number %lld.", (long long)id);
}

static const char TOKEN_IMAGE[] =
    "SELECT json_object('user_id', user_id, 'title', title, 'role', role, 'expires_ms', "
    "expires_ms, 'revoked_ms', revoked_ms) FROM api_token WHERE id = :id";

static const char TOKEN_ADD[] =
    "INSERT INTO api_token (user_id, title, token_hash, role, created_ms, expires_ms) "
    "VALUES (:user_id, :title, :token_hash, :role, :created_ms, :expires_ms)";

bool people_token_add(int64_t *id, struct store *st, const struct api_token *t,
                      const unsigned char hash[PEOPLE_HASH_BYTES], struct err *e)
{
    store_assert_writing(st);
    struct query *q = query(st, TOKEN_ADD);
    query_int(q, ":user_id", t->user_id);
    query_text(q, ":title", t->title);
    query_blob(q, ":token_hash", hash, PEOPLE_HASH_BYTES);
    query_text(q, ":role", role_names[t->role]);
    query_int(q, ":created_ms", store_now(st));
    query_int(q, ":expires_ms", t->expires_ms);
    if (!query_run(q, e))
        return false;
    int64_t made = store_last_id(st);
    struct arena *a = arena_new();
    bool good = journal_append(st, "create", "api_token", made, NULL,
                               journal_image(st, TOKEN_IMAGE, made, a), e);
    arena_free(a);
    if (good)
        *id = made;
    return good;
}

static const char TOKEN_REVOKE[] =
    "UPDATE api_token SET revoked_ms = :now_ms WHERE id = :id AND revoked_ms IS NULL";

bool people_token_revoke(struct store *st, int64_t id, struct err *e)
{
    store_assert_writing(st);
    struct arena *a = arena_new();
    const char *before = journal_image(st, TOKEN_IMAGE, id, a);
    bool good = before || err_set(e, ERR_NOT_FOUND, "There is no API token with the number %lld.",
                                  (long long)id);
    if (good) {
        struct query *q = query(st, TOKEN_REVOKE);
        query_int(q, ":id", id);
        query_int(q, ":now_ms", store_now(st));
        good = query_run(q, e);
    }
    if (good && store_changes(st) > 0)
        good = journal_append(st, "void", "api_token", id, before,
                              journal_image(st, TOKEN_IMAGE, id, a), e);
    arena_free(a);
    return good;
}

/* ---- seen --------------------------------------------------------------------------------- */

static const char SESSION_SEEN[] =
    "UPDATE session SET seen_ms = :now_ms WHERE id = :id AND seen_ms < :before_ms";

static const char TOKEN_SEEN[] =
    "UPDATE api_token SET seen_ms = :day_ms WHERE id = :id AND (seen_ms IS NULL OR seen_ms < "
    ":day_ms)";

bool people_seen(struct store *st, int64_t session_id, int64_t token_id, struct err *e)
{
    store_assert_writing(st);
    if (session_id != NONE) {
        struct query *q = query(st, SESSION_SEEN);
        query_int(q, ":id", session_id);
        query_int(q, ":now_ms", store_now(st));
        query_int(q, ":before_ms", store_now(st) - 10 * MINUTE_MS);
        if (!query_run(q, e))
            return false;
    }
    if (token_id == NONE)
        return true;
    struct query *q = query(st, TOKEN_SEEN);
    query_int(q, ":id", token_id);
    query_int(q, ":day_ms", store_now(st) - store_now(st) % DAY_MS);
    return query_run(q, e);
}
