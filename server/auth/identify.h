/* SPDX-License-Identifier: MIT
 *
 * identify: who is asking, from what the request carries.
 */
#ifndef QUADRILLE_AUTH_IDENTIFY_H
#define QUADRILLE_AUTH_IDENTIFY_H

#include "api/route.h"

#define AUTH_COOKIE "quadrille" /* the session cookie's name */

/* The user every database is made with: the command line on its own data folder.  It is an owner,
 * has no password and cannot be signed in as, changed or removed. */
#define AUTH_LOCAL_USER 1

/* Sign-in lasts a week, and ends after a day in which nothing was asked. */
#define AUTH_SESSION_S ((int64_t)7 * 24 * 3600)
#define AUTH_IDLE_S    ((int64_t)24 * 3600)

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

/* True while there is nobody who could sign in: then only R_PUBLIC routes are served.  One look at a
 * small index; only worth asking when nobody was identified, since who is identified exists. */
bool auth_needs_setup(struct store *st);

#endif
