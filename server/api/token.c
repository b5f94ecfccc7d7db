/* SPDX-License-Identifier: MIT
 *
 * token: API tokens, for bench scripts.  The secret is told once, when it is made, and kept as its
 * digest only.
 */
#include "api/token.h"

#include <string.h>

#include "api/people.h"
#include "auth/crypto.h"

#define AT(s, f) offsetof(struct s, f)

/* ---- shapes ------------------------------------------------------------------------------- */

static const struct field token_fields[] = {
    {"id", K_INT, F_REQUIRED, AT(api_token, id), .help = "number of the token"},
    {"user", K_TEXT, F_REQUIRED, AT(api_token, user), .help = "sign-in name of who made it"},
    {"title", K_TEXT, F_REQUIRED, AT(api_token, title), .help = "what it is for"},
    {"role", K_ENUM, F_REQUIRED, AT(api_token, role), .names = role_names,
     .help = "what may be done with it"},
    {"created", K_MOMENT, F_REQUIRED, AT(api_token, created_ms), .help = "when it was made"},
    {"expires", K_MOMENT, F_NULL, AT(api_token, expires_ms),
     .help = "until when it works; null: until withdrawn"},
    {"withdrawn", K_MOMENT, F_NULL, AT(api_token, revoked_ms),
     .help = "since when it no longer works"},
    {"seen", K_MOMENT, F_NULL, AT(api_token, seen_ms),
     .help = "day of the last change made with it"},
    {0},
};
static const struct shape token_shape = {"api_token", sizeof(struct api_token), token_fields};

struct token_made {
    const char *secret;
    const struct api_token *token;
};
static const struct field token_made_fields[] = {
    {"secret", K_TEXT, F_SECRET, AT(token_made, secret),
     .help = "told this once, for Authorization: Bearer; absent when the request is repeated"},
    {"token", K_OBJECT, F_REQUIRED, AT(token_made, token), .sub = &token_shape,
     .help = "the token"},
    {0},
};
static const struct shape token_made_shape = {"api_token_made", sizeof(struct token_made),
                                              token_made_fields};

struct tokens_view {
    struct list tokens;
};
static const struct field tokens_view_fields[] = {
    {"tokens", K_LIST, F_REQUIRED, AT(tokens_view, tokens), 0, 1000, .sub = &token_shape,
     .help = "newest first"},
    {0},
};
static const struct shape tokens_view_shape = {"api_tokens", sizeof(struct tokens_view),
                                               tokens_view_fields};

struct token_ask {
    const char *title, *user;
    int64_t role, expires_ms;
};
static const struct field token_ask_fields[] = {
    {"title", K_TEXT, F_REQUIRED, AT(token_ask, title), 1, 100, .help = "what it is for",
     .example = "reader at bench 2"},
    {"role", K_ENUM, F_REQUIRED, AT(token_ask, role), .names = role_names,
     .help = "what may be done with it: no more than its maker may", .example = "bench"},
    {"expires", K_MOMENT, 0, AT(token_ask, expires_ms),
     .help = "until when it works; until withdrawn when absent"},
    {"user", K_TEXT, 0, AT(token_ask, user), 1, 64,
     .help = "sign-in name of the person it speaks for: oneself when absent; the local command "
             "has to name somebody",
     .example = "vera"},
    {0},
};
static const struct shape token_ask_shape = {"api_token_new", sizeof(struct token_ask),
                                             token_ask_fields};

struct token_id {
    int64_t id;
};
static const struct field token_id_fields[] = {
    {"id", K_INT, F_REQUIRED | F_PATH, AT(token_id, id), 1, INT64_MAX,
     .help = "number of the token", .example = "1"},
    {0},
};
static const struct shape token_id_shape = {"api_token_id", sizeof(struct token_id),
                                            token_id_fields};

/* ---- handlers ----------------------------------------------------------------------------- */

static bool token_list(struct reply *out, struct req *rq, struct err *e)
{
    (void)e;
    struct tokens_view *v = arena_alloc(rq->arena, sizeof *v);
    v->tokens =
        people_tokens(rq->store, rq->who->role == R_OWNER ? NONE : rq->who->user_id, rq->arena);
    return reply_body(out, v);
}

/* Who the token will speak for: oneself.  The local command is no person, so it names one; nobody
 * else does, lest somebody act under another's name. */
static bool find_maker(struct person *p, struct req *rq, const char *named, struct err *e)
{
    char name[PEOPLE_NAME_BYTES];
    bool local = rq->who->user_id == PEOPLE_LOCAL;
    if (!named && !local)
        return people_load(p, rq->store, rq->who->user_id, rq->arena, e);
    if (!named)
        return err_field(e, "user", ERR_INVALID,
                         "Name the person the token speaks for: the local command is no person.");
    if (!people_fold(name, named, e))
        return err_in(e, "user");
    if (!people_find(p, rq->store, name, rq->arena) || (!local && p->id != rq->who->user_id))
        return err_field(e, "user", local ? ERR_INVALID : ERR_DENIED,
                         local ? "There is no person with the sign-in name '%s'."
                               : "'%s' is not you: everybody makes their own tokens.",
                         name);
    return true;
}

static bool token_add(struct reply *out, struct req *rq, struct err *e)
{
    const struct token_ask *in = rq->in;
    struct person maker;
    if (!people_in_person(rq, e) || !find_maker(&maker, rq, in->user, e))
        return false;
    if (!role_covers(maker.role, in->role))
        return err_field(e, "role", ERR_DENIED,
                         "A token may do no more than its maker: '%s' is %s, and may give %s%s.",
                         maker.name, role_names[maker.role], role_names[maker.role],
                         maker.role == ROLE_VIEWER ? "" : " or viewer");
    if (in->expires_ms != NONE && in->expires_ms <= rq->now_ms)
        return err_field(e, "expires", ERR_INVALID,
                         "The token would have expired already: give a later moment, or none.");
    char secret[CRYPTO_TOKEN_BYTES];
    unsigned char hash[CRYPTO_DIGEST_BYTES];
    struct token_made *v = arena_alloc(rq->arena, sizeof *v);
    struct api_token *t = arena_alloc(rq->arena, sizeof *t);
    *t = (struct api_token){
        .user_id = maker.id, .title = in->title, .role = in->role, .expires_ms = in->expires_ms};
    crypto_token(secret);
    crypto_token_hash(hash, secret);
    int64_t id;
    if (!people_token_add(&id, rq->store, t, hash, e) ||
        !people_token_load(t, rq->store, id, rq->arena, e))
        return false;
    v->token = t;
    v->secret = arena_text(rq->arena, secret);
    return reply_body(out, v);
}

static bool token_revoke(struct reply *out, struct req *rq, struct err *e)
{
    (void)out;
    const struct token_id *in = rq->in;
    struct api_token t;
    if (!people_token_load(&t, rq->store, in->id, rq->arena, e))
        return false;
    if (t.user_id != rq->who->user_id && rq->who->role != R_OWNER)
        return err_set(e, ERR_NOT_FOUND, "There is no API token with the number %lld.",
                       (long long)in->id);
    return people_token_revoke(rq->store, in->id, e);
}

const struct route token_routes[] = {
    {GET, "/api/tokens", R_ANY, 0, NULL, &tokens_view_shape, NULL, token_list,
     "One's own API tokens; an owner sees all"},
    {POST, "/api/tokens", R_ANY, WRITE | CREATES, &token_ask_shape, &token_made_shape, NULL,
     token_add, "Make an API token; its secret is told this once"},
    {DELETE, "/api/tokens/:id", R_ANY, WRITE, &token_id_shape, NULL, NULL, token_revoke,
     "Withdraw an API token"},
    {0},
};
