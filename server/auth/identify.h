/* SPDX-License-Identifier: MIT
 *
 * identify: who is asking, from what the request carries.
 */
#ifndef QUADRILLE_AUTH_IDENTIFY_H
#define QUADRILLE_AUTH_IDENTIFY_H

#include "auth/principal.h"
#include "store/store.h"

#define AUTH_COOKIE "quadrille" /* the session cookie's name */

/* The user every database is made with: the command line on its own data folder.  It is an owner,
 * has no password and cannot be signed in as, changed or removed. */
#define AUTH_LOCAL_USER 1

/* A session ends a week after signing in, or when for a day nothing was changed under it (reading
 * leaves no trace: it must not cost a write).  House rule. */
#define AUTH_SESSION_S (INT64_C(7) * 24 * 3600)
#define AUTH_IDLE_S    (INT64_C(24) * 3600)

/* Whether a session has neither ended nor idled away. */
struct session;
bool auth_session_lives(const struct session *s, int64_t now_ms);

/* Who is asking.
 *   out     filled on success.  Nobody (user_id NONE, role 0) when neither credential is given, and
 *           when only a cookie is given that names no living session: it is as if there were none.
 *           out->name lives in a.
 *   cookie  value of the session cookie, NULL when absent
 *   bearer  token of an Authorization: Bearer header, NULL when absent; goes before the cookie
 *   now_ms  milliseconds since 1970 UTC
 * ERR_DENIED when a bearer token is unknown, expired or withdrawn, or its maker is disabled; the
 * sentence does not say which.  Reads only. */
MUST_USE bool auth_identify(struct principal *out, struct store *st, struct arena *a,
                            const char *cookie, const char *bearer, int64_t now_ms, struct err *e);

/* The command line on its own data folder. */
struct principal auth_local(void);

/* The role (enum role of store/people.h) of somebody who has one. */
int64_t auth_role(const struct principal *who);

/* True while there is no owner who could sign in: then nobody unknown is served anything but
 * R_PUBLIC routes, and the set-up token makes the owner.  One look at a small table; only worth
 * asking when nobody was identified. */
bool auth_needs_setup(struct store *st);

/* Note that the credential made a change; for every change that succeeded, in its savepoint. */
MUST_USE bool auth_seen(struct store *st, const struct principal *who, struct err *e);

#endif
