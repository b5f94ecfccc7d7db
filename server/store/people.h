/* SPDX-License-Identifier: MIT
 *
 * people: who may do what here: users, their sessions, their API tokens.
 *
 * Users and API tokens are business rows: every change is journalled, without names and secrets.
 * Sessions come and go and are not.  Secrets come in as hashes only (auth/crypto.h).
 *
 * Functions that change something demand an open transaction and take who and when from store_as.
 */
#ifndef QUADRILLE_STORE_PEOPLE_H
#define QUADRILLE_STORE_PEOPLE_H

#include "store/store.h"

enum role { ROLE_VIEWER, ROLE_COUNTER, ROLE_BENCH, ROLE_OWNER, ROLE__COUNT };
extern const char *const role_names[ROLE__COUNT + 1]; /* as kept and as on the wire; NULL last */

/* Whether somebody of role `giver` may hand out `given`: an owner any role; everybody his own and
 * the viewer's; bench and counter are not above each other. */
bool role_covers(int64_t giver, int64_t given);

#define PEOPLE_LOCAL      1  /* the command line on its own data folder; made by the migration */
#define PEOPLE_NAME_BYTES 65 /* a sign-in name with its terminating zero */
#define PEOPLE_HASH_BYTES 32 /* of a session's or API token's secret: SHA-256 */

struct person {
    int64_t id;
    const char *name;          /* folded sign-in name */
    const char *shown;         /* name as shown */
    int64_t role;              /* enum role */
    const char *password_hash; /* NULL: cannot sign in */
    int64_t created_ms;
    int64_t disabled_ms; /* NONE: may sign in */
    int64_t version;     /* 1, 2, 3 ... counts changes */
};

struct session {
    int64_t id;
    int64_t user_id;
    int64_t created_ms, seen_ms, expires_ms;
};

struct api_token {
    int64_t id;
    int64_t user_id;
    const char *user;  /* his sign-in name */
    const char *title; /* what it is for */
    int64_t role;      /* enum role */
    int64_t created_ms;
    int64_t expires_ms; /* NONE: until withdrawn */
    int64_t revoked_ms; /* NONE: not withdrawn */
    int64_t seen_ms;    /* last change made with it, to the day; NONE: none yet */
};

/* The sign-in name as kept: without white space around it, letters made small.  1 to 64 letters
 * a-z, digits, '.', '-' and '_', beginning with a letter or digit; no other letters, so that no two
 * names look alike.  ERR_INVALID names the first character not understood. */
MUST_USE bool people_fold(char out[PEOPLE_NAME_BYTES], const char *typed, struct err *e);

/* People, by name; the local command is not among them. */
struct list people_list(struct store *st, struct arena *a);

/* ERR_NOT_FOUND when there is no such person, or it is the local command. */
MUST_USE bool people_load(struct person *out, struct store *st, int64_t id, struct arena *a,
                          struct err *e);

/* false when nobody has this (folded) name; that is not a failure. */
bool people_find(struct person *out, struct store *st, const char *name, struct arena *a);

/* Whether there is an owner who can sign in; once there is, there always is (people_change). */
bool people_owned(struct store *st);

/* A new person from name (folded), shown, role, password_hash.  ERR_CONFLICT when the name is
 * taken. */
MUST_USE bool people_add(int64_t *id, struct store *st, const struct person *p, struct err *e);

/* Take over shown, role and disabled_ms of p for the person p->id, and password_hash when it is not
 * NULL; a person disabled or with a new password is signed out everywhere but in session `keep`
 * (NONE: everywhere).  Changes nothing when nothing differs.
 *   p->version  the version this change was made for, NONE: whichever
 * ERR_NOT_FOUND as people_load.  ERR_CONFLICT when the version is another by now, or when no owner
 * would be left who could sign in. */
MUST_USE bool people_change(struct store *st, const struct person *p, int64_t keep, struct err *e);

/* Sessions.  people_sign_in makes one and forgets those that ended long ago (PEOPLE_KNOWN_MS). */
#define PEOPLE_KNOWN_MS (INT64_C(90) * 24 * 3600 * 1000)
MUST_USE bool people_sign_in(int64_t *id, struct store *st, int64_t user_id,
                             const unsigned char hash[PEOPLE_HASH_BYTES], int64_t expires_ms,
                             struct err *e);

/* End a session; none or an ended one is fine. */
MUST_USE bool people_sign_out(struct store *st, int64_t session_id, struct err *e);

/* The session with this secret, living or ended; false when there is none. */
bool people_session(struct session *out, struct store *st,
                    const unsigned char hash[PEOPLE_HASH_BYTES]);

/* API tokens of one person, or of all (user_id NONE), newest first; withdrawn ones too. */
struct list people_tokens(struct store *st, int64_t user_id, struct arena *a);

/* The token with this secret, whatever its state; false when there is none. */
bool people_token(struct api_token *out, struct store *st,
                  const unsigned char hash[PEOPLE_HASH_BYTES], struct arena *a);

/* ERR_NOT_FOUND when there is no such token. */
MUST_USE bool people_token_load(struct api_token *out, struct store *st, int64_t id,
                                struct arena *a, struct err *e);

/* A new token from user_id, title, role, expires_ms. */
MUST_USE bool people_token_add(int64_t *id, struct store *st, const struct api_token *t,
                               const unsigned char hash[PEOPLE_HASH_BYTES], struct err *e);

/* Withdraw a token; ERR_NOT_FOUND when there is none, a withdrawn one is fine. */
MUST_USE bool people_token_revoke(struct store *st, int64_t id, struct err *e);

/* Note that a session or token made a change: a session at most once in ten minutes, a token at
 * most once a day.  NONE is fine. */
MUST_USE bool people_seen(struct store *st, int64_t session_id, int64_t token_id, struct err *e);

#endif
