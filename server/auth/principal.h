/* SPDX-License-Identifier: MIT
 *
 * principal: who is asking, and what a route may ask of them.
 */
#ifndef QUADRILLE_AUTH_PRINCIPAL_H
#define QUADRILLE_AUTH_PRINCIPAL_H

#include "base/value.h"

/* Who may call.  A route without any of these is refused at start. */
enum {
    R_PUBLIC = 1, /* anybody, even before there is a user */
    R_VIEWER = 2,
    R_COUNTER = 4,
    R_BENCH = 8,
    R_OWNER = 16,
    R_ANY = R_VIEWER | R_COUNTER | R_BENCH | R_OWNER, /* anybody signed in */
    R_STOCK = R_COUNTER | R_BENCH | R_OWNER,          /* who may touch stock */
    R_TEST = R_BENCH | R_OWNER,                       /* who may record readings */
    R_TRADE = R_COUNTER | R_OWNER,                    /* who may promise and sell */
};

/* Who is asking. */
struct principal {
    int64_t user_id;    /* NONE: nobody (public routes only) */
    int64_t role;       /* one R_ bit; 0: nobody */
    int64_t session_id; /* NONE unless by cookie */
    int64_t token_id;   /* NONE unless by API token */
    const char *name;   /* "user-7": for the log, which names no person; "" for nobody */
};

#endif
