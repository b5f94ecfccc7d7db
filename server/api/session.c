/* SPDX-License-Identifier: MIT
 *
 * session: the first owner, signing in and out, one's own password.
 *
 * Guessing is counted and passwords are checked in prepare, on a worker: a wrong guess never comes
 * near the writer.  Whoever is unknown, disabled or without a password costs the same one hash as a
 * wrong password, and gets the same sentence.
 *
 * A session's cookie outlives the session on purpose, signing out included: worthless as a
 * credential, it still shows at the next sign-in that this browser was signed in to this account
 * before, and such a browser is not slowed down by what strangers do (auth/throttle.h).
 */
#include "api/session.h"

#include <string.h>

#include "api/people.h"
#include "auth/identify.h"
#include "auth/password.h"
#include "auth/setup.h"
#include "auth/throttle.h"

#define AT(s, f) offsetof(struct s, f)

_Static_assert(PEOPLE_HASH_BYTES == CRYPTO_DIGEST_BYTES, "a secret is kept as its digest");

/* ---- shapes ------------------------------------------------------------------------------- */

struct setup_view {
    int64_t needed, signed_in;
};
static const struct field setup_view_fields[] = {
    {"needed", K_BOOL, F_REQUIRED, AT(setup_view, needed),
     .help = "true until the first owner is made; nothing else is served before"},
    {"signed_in", K_BOOL, F_REQUIRED, AT(setup_view, signed_in),
     .help = "true: the caller is known, and /api/session tells as whom"},
    {0},
};
static const struct shape setup_view_shape = {"setup_state", sizeof(struct setup_view),
                                              setup_view_fields};

struct setup_ask {
    const char *token, *name, *shown, *password;
};
static const struct field setup_ask_fields[] = {
    {"token", K_TEXT, F_REQUIRED | F_SECRET, AT(setup_ask, token), 1, 100,
     .help = "as printed when the daemon started"},
    {"name", K_TEXT, F_REQUIRED, AT(setup_ask, name), 1, 64,
     .help = "the owner's sign-in name: letters a-z, digits, '.', '-', '_'", .example = "vera"},
    {"shown", K_TEXT, 0, AT(setup_ask, shown), 1, 100,
     .help = "name as shown; the sign-in name when absent", .example = "Vera L."},
    {"password", K_TEXT, F_REQUIRED | F_SECRET, AT(setup_ask, password), 1, 4000,
     .help = "12 to 256 bytes, no other rule", .example = "seven quiet brown valves"},
    {0},
};
static const struct shape setup_ask_shape = {"setup", sizeof(struct setup_ask), setup_ask_fields};

struct sign_in_ask {
    const char *name, *password;
};
static const struct field sign_in_ask_fields[] = {
    {"name", K_TEXT, F_REQUIRED, AT(sign_in_ask, name), 1, 200, .help = "sign-in name",
     .example = "vera"},
    {"password", K_TEXT, F_REQUIRED | F_SECRET, AT(sign_in_ask, password), 1, 4000,
     .help = "the password", .example = "seven quiet brown valves"},
    {0},
};
static const struct shape sign_in_ask_shape = {"sign_in", sizeof(struct sign_in_ask),
                                               sign_in_ask_fields};

struct session_view {
    const struct person *person;
    int64_t role, expires_ms;
};
static const struct field session_view_fields[] = {
    {"person", K_OBJECT, F_NULL, AT(session_view, person), .sub = &person_shape,
     .help = "who is signed in; null for the local command"},
    {"role", K_ENUM, F_REQUIRED, AT(session_view, role), .names = role_names,
     .help = "what may be done with this credential"},
    {"expires", K_MOMENT, F_NULL, AT(session_view, expires_ms),
     .help = "when the session ends at the latest; null when it is none"},
    {0},
};
static const struct shape session_view_shape = {"session", sizeof(struct session_view),
                                                session_view_fields};

struct password_ask {
    const char *present, *wanted;
};
static const struct field password_ask_fields[] = {
    {"present", K_TEXT, F_REQUIRED | F_SECRET, AT(password_ask, present), 1, 4000,
     .help = "the password up to now"},
    {"wanted", K_TEXT, F_REQUIRED | F_SECRET, AT(password_ask, wanted), 1, 4000,
     .help = "12 to 256 bytes, no other rule"},
    {0},
};
static const struct shape password_ask_shape = {"password_change", sizeof(struct password_ask),
                                                password_ask_fields};

/* ---- what they share ---------------------------------------------------------------------- */

/* A new session with a secret of its own, whatever cookie came: a planted one is worth nothing. */
static bool begin_session(struct reply *out, struct req *rq, int64_t user_id, struct err *e)
{
    char secret[CRYPTO_TOKEN_BYTES];
    unsigned char hash[CRYPTO_DIGEST_BYTES];
    int64_t session_id;
    struct person *p = arena_alloc(rq->arena, sizeof *p);
    struct session_view *v = arena_alloc(rq->arena, sizeof *v);
    crypto_token(secret);
    crypto_token_hash(hash, secret);
    v->expires_ms = rq->now_ms + AUTH_SESSION_S * 1000;
    if (!people_load(p, rq->store, user_id, rq->arena, e) ||
        !people_sign_in(&session_id, rq->store, user_id, hash, v->expires_ms, e))
        return false;
    if (rq->who->session_id != NONE && !people_sign_out(rq->store, rq->who->session_id, e))
        return false;
    v->person = p;
    v->role = p->role;
    out->set_session = arena_text(rq->arena, secret);
    out->session_s = PEOPLE_KNOWN_MS / 1000;
    return reply_body(out, v);
}

static bool too_often(struct reply *out, int64_t wait_ms, struct err *e)
{
    out->retry_s = (wait_ms + 999) / 1000;
    return err_set(e, ERR_DENIED,
                   "Too many wrong passwords: wait %lld seconds.  A browser that was signed in to "
                   "this account before does not wait for the mistakes of others.",
                   (long long)out->retry_s);
}

/* The keys a guess is counted under: one for a browser known to the account, else two. */
struct guess {
    struct {
        enum throttle_kind kind;
        const char *key;
    } on[2];
    size_t count;
};

static struct guess guess_of(struct req *rq, const char *account, int64_t user_id)
{
    unsigned char hash[CRYPTO_DIGEST_BYTES];
    struct session s;
    struct guess g = {.count = 2};
    if (rq->cookie_session) {
        crypto_token_hash(hash, rq->cookie_session);
        if (people_session(&s, rq->store, hash) && s.user_id == user_id) {
            g.count = 1;
            g.on[0].kind = THROTTLE_BROWSER;
            g.on[0].key = arena_printf(rq->arena, "%lld", (long long)s.id);
            return g;
        }
    }
    g.on[0].kind = THROTTLE_ADDRESS;
    g.on[0].key = rq->peer ? rq->peer : "";
    g.on[1].kind = THROTTLE_ACCOUNT;
    g.on[1].key = account;
    return g;
}

static void guess_give(const struct guess *g, size_t count)
{
    for (size_t i = 0; i < count; i++)
        throttle_give(g->on[i].kind, g->on[i].key);
}

static bool guess_take(const struct guess *g, struct reply *out, struct req *rq, struct err *e)
{
    for (size_t i = 0; i < g->count; i++) {
        int64_t wait_ms = throttle_take(g->on[i].kind, g->on[i].key, rq->now_ms);
        if (wait_ms > 0) {
            guess_give(g, i);
            return too_often(out, wait_ms, e);
        }
    }
    return true;
}

/* Count, hash, compare.  hash: NULL for somebody who is not there. */
static bool check_guess(const struct guess *g, const char *hash, const char *password,
                        const char *wrong, struct reply *out, struct req *rq, struct err *e)
{
    bool same;
    if (!guess_take(g, out, rq, e))
        return false;
    if (!crypto_password_verify(&same, hash, password, strlen(password), e)) {
        guess_give(g, g->count);
        return false;
    }
    if (!same)
        return err_set(e, ERR_DENIED, "%s", wrong);
    guess_give(g, g->count);
    return true;
}

/* ---- the first owner ---------------------------------------------------------------------- */

static bool setup_get(struct reply *out, struct req *rq, struct err *e)
{
    (void)e;
    struct setup_view *v = arena_alloc(rq->arena, sizeof *v);
    v->needed = auth_needs_setup(rq->store);
    v->signed_in = rq->who->role != 0;
    return reply_body(out, v);
}

static bool check_setup_open(struct req *rq, struct err *e)
{
    return auth_needs_setup(rq->store) ||
           err_set(e, ERR_CONFLICT, "The house is set up: sign in, or ask its owner.");
}

static bool setup_prepare(struct reply *out, struct req *rq, struct err *e)
{
    (void)out;
    const struct setup_ask *in = rq->in;
    struct person *p = arena_alloc(rq->arena, sizeof *p);
    char *name = arena_alloc(rq->arena, PEOPLE_NAME_BYTES);
    if (!check_setup_open(rq, e))
        return false;
    if (!setup_token_check(in->token))
        return err_field(e, "token", ERR_DENIED,
                         "This is not the set-up token: it is printed when the daemon starts, and "
                         "is another after each start.");
    if (!people_fold(name, in->name, e))
        return err_in(e, "name");
    p->name = name;
    p->shown = in->shown ? in->shown : name;
    p->role = ROLE_OWNER;
    rq->prepared = p;
    return password_make(&p->password_hash, in->password, "password", rq->arena, e);
}

/* Asked again inside the savepoint: of two who hold the token, one becomes the owner. */
static bool setup_run(struct reply *out, struct req *rq, struct err *e)
{
    int64_t id;
    return check_setup_open(rq, e) && people_add(&id, rq->store, rq->prepared, e) &&
           begin_session(out, rq, id, e);
}

/* ---- signing in and out ------------------------------------------------------------------- */

static bool sign_in_prepare(struct reply *out, struct req *rq, struct err *e)
{
    const struct sign_in_ask *in = rq->in;
    struct person *p = arena_alloc(rq->arena, sizeof *p);
    struct err ignored = ERR_INIT;
    char name[PEOPLE_NAME_BYTES];
    bool there = people_fold(name, in->name, &ignored) &&
                 people_find(p, rq->store, name, rq->arena) && p->disabled_ms == NONE;
    struct guess g = guess_of(rq, ignored.code == ERR_NONE ? name : in->name, there ? p->id : NONE);
    if (!check_guess(&g, there ? p->password_hash : NULL, in->password,
                     "The name or the password is wrong.", out, rq, e))
        return false;
    rq->prepared = p;
    return true;
}

/* The person may have been disabled, or the password changed, since prepare looked. */
static bool sign_in_run(struct reply *out, struct req *rq, struct err *e)
{
    const struct person *then = rq->prepared;
    struct person now;
    if (!people_load(&now, rq->store, then->id, rq->arena, e))
        return false;
    if (now.disabled_ms != NONE || strcmp(now.password_hash, then->password_hash) != 0)
        return err_set(e, ERR_DENIED, "The name or the password is wrong.");
    return begin_session(out, rq, now.id, e);
}

static bool session_get(struct reply *out, struct req *rq, struct err *e)
{
    unsigned char hash[CRYPTO_DIGEST_BYTES];
    struct session s;
    struct session_view *v = arena_alloc(rq->arena, sizeof *v);
    v->expires_ms = NONE;
    v->role = auth_role(rq->who);
    if (rq->who->user_id != AUTH_LOCAL_USER) {
        struct person *p = arena_alloc(rq->arena, sizeof *p);
        if (!people_load(p, rq->store, rq->who->user_id, rq->arena, e))
            return false;
        v->person = p;
    }
    if (rq->who->session_id != NONE && rq->cookie_session) {
        crypto_token_hash(hash, rq->cookie_session);
        if (people_session(&s, rq->store, hash))
            v->expires_ms = s.expires_ms;
    }
    return reply_body(out, v);
}

static bool check_session(const struct req *rq, struct err *e)
{
    return rq->who->session_id != NONE ||
           err_set(e, ERR_CONFLICT,
                   "Nobody is signed in with this credential: there is no "
                   "session, only an API token or the local command.");
}

static bool session_end(struct reply *out, struct req *rq, struct err *e)
{
    (void)out;
    return check_session(rq, e) && people_sign_out(rq->store, rq->who->session_id, e);
}

/* ---- one's own password ------------------------------------------------------------------- */

static bool password_prepare(struct reply *out, struct req *rq, struct err *e)
{
    const struct password_ask *in = rq->in;
    struct person *p = arena_alloc(rq->arena, sizeof *p);
    if (!check_session(rq, e) || !people_load(p, rq->store, rq->who->user_id, rq->arena, e))
        return false;
    struct guess g = guess_of(rq, p->name, p->id);
    if (!check_guess(&g, p->password_hash, in->present, "The present password is another.", out, rq,
                     e))
        return err_in(e, "present");
    rq->prepared = p;
    return password_make(&p->password_hash, in->wanted, "wanted", rq->arena, e);
}

static bool password_run(struct reply *out, struct req *rq, struct err *e)
{
    (void)out;
    const struct person *with = rq->prepared;
    struct person p;
    if (!people_load(&p, rq->store, rq->who->user_id, rq->arena, e))
        return false;
    p.password_hash = with->password_hash;
    return people_change(rq->store, &p, rq->who->session_id, e);
}

const struct route session_routes[] = {
    {GET, "/api/setup", R_PUBLIC, 0, NULL, &setup_view_shape, NULL, setup_get,
     "Whether the first owner is still to be made"},
    {POST, "/api/setup", R_PUBLIC, WRITE | HASHES, &setup_ask_shape, &session_view_shape,
     setup_prepare, setup_run, "Make the first owner with the token printed at start, and sign in"},
    {POST, "/api/session", R_PUBLIC, WRITE | HASHES, &sign_in_ask_shape, &session_view_shape,
     sign_in_prepare, sign_in_run, "Sign in; the answer sets the session's cookie"},
    {GET, "/api/session", R_ANY, 0, NULL, &session_view_shape, NULL, session_get,
     "Who is signed in, and what they may do"},
    {DELETE, "/api/session", R_ANY, WRITE, NULL, NULL, NULL, session_end, "Sign out"},
    {PUT, "/api/session/password", R_ANY, WRITE | HASHES, &password_ask_shape, NULL,
     password_prepare, password_run, "Change one's own password; signs out everywhere else"},
    {0},
};
