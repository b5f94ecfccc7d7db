/* SPDX-License-Identifier: MIT
 *
 * identify: a credential is looked up by its digest, then everything that could have ended it since
 * is asked: its own end, its person's, and for an API token whether its maker may still hand out
 * that role.  Roles are read anew each time, so that a change holds from the next request on.
 */
#include "auth/identify.h"

#include <assert.h>

#include "auth/crypto.h"
#include "store/people.h"

_Static_assert(AUTH_LOCAL_USER == PEOPLE_LOCAL, "one local user");
_Static_assert(R_VIEWER == 2 << ROLE_VIEWER && R_COUNTER == 2 << ROLE_COUNTER &&
                   R_BENCH == 2 << ROLE_BENCH && R_OWNER == 2 << ROLE_OWNER,
               "a role's bit");

static struct principal nobody(void)
{
    return (struct principal){.user_id = NONE, .session_id = NONE, .token_id = NONE, .name = ""};
}

static struct principal somebody(int64_t user_id, int64_t role, struct arena *a)
{
    struct principal p = nobody();
    p.user_id = user_id;
    p.role = INT64_C(2) << role;
    p.name = arena_printf(a, "user-%lld", (long long)user_id);
    return p;
}

static bool by_token(struct principal *out, struct store *st, struct arena *a, const char *bearer,
                     int64_t now_ms)
{
    unsigned char hash[CRYPTO_DIGEST_BYTES];
    struct api_token t;
    struct person p;
    struct err ignored = ERR_INIT;
    crypto_token_hash(hash, bearer);
    if (!people_token(&t, st, hash, a) || t.revoked_ms != NONE ||
        (t.expires_ms != NONE && t.expires_ms <= now_ms))
        return false;
    if (!people_load(&p, st, t.user_id, a, &ignored) || p.disabled_ms != NONE ||
        !role_covers(p.role, t.role))
        return false;
    *out = somebody(p.id, t.role, a);
    out->token_id = t.id;
    return true;
}

static bool by_cookie(struct principal *out, struct store *st, struct arena *a, const char *cookie,
                      int64_t now_ms)
{
    unsigned char hash[CRYPTO_DIGEST_BYTES];
    struct session s;
    struct person p;
    struct err ignored = ERR_INIT;
    crypto_token_hash(hash, cookie);
    if (!people_session(&s, st, hash) || !auth_session_lives(&s, now_ms))
        return false;
    if (!people_load(&p, st, s.user_id, a, &ignored) || p.disabled_ms != NONE)
        return false;
    *out = somebody(p.id, p.role, a);
    out->session_id = s.id;
    return true;
}

bool auth_session_lives(const struct session *s, int64_t now_ms)
{
    return now_ms < s->expires_ms && now_ms - s->seen_ms < AUTH_IDLE_S * 1000;
}

bool auth_identify(struct principal *out, struct store *st, struct arena *a, const char *cookie,
                   const char *bearer, int64_t now_ms, struct err *e)
{
    struct principal who = nobody();
    if (bearer) {
        if (!by_token(&who, st, a, bearer, now_ms))
            return err_set(e, ERR_DENIED,
                           "This API token does not work: it is unknown, has expired or was "
                           "withdrawn, or who made it may no longer give that role.  A new one is "
                           "made with `quadrille token new`.");
    } else if (cookie && !by_cookie(&who, st, a, cookie, now_ms)) {
        who = nobody();
    }
    *out = who;
    return true;
}

struct principal auth_local(void)
{
    struct principal p = nobody();
    p.user_id = AUTH_LOCAL_USER;
    p.role = R_OWNER;
    p.name = "local";
    return p;
}

int64_t auth_role(const struct principal *who)
{
    assert(who->role >= R_VIEWER && who->role <= R_OWNER);
    int64_t role = ROLE_VIEWER;
    while (INT64_C(2) << role != who->role)
        role++;
    return role;
}

bool auth_needs_setup(struct store *st)
{
    return !people_owned(st);
}

bool auth_seen(struct store *st, const struct principal *who, struct err *e)
{
    return people_seen(st, who->session_id, who->token_id, e);
}
