/* SPDX-License-Identifier: MIT
 *
 * call: one request from bytes to reply, whoever carries it: a connection, the command line, a
 * test.
 *
 *     call_route     match, identify, authorise, unpack       any thread, read-only store
 *     call_prepare   the route's prepare, if it has one       a worker
 *     call_run       the handler                              reader / worker / writer
 *     call_answer    reply struct -> status, headers, text    the same thread as call_run
 *
 * Every step leaves a complete answer when it fails, so a carrier only asks call->done.  The struct
 * lives in its own arena; the carrier frees it with call_free.
 */
#ifndef QUADRILLE_HTTP_CALL_H
#define QUADRILLE_HTTP_CALL_H

#include "api/route.h"

/* What the carrier fills before call_route.  Texts live in call->arena. */
struct call {
    struct arena *arena;
    enum method method;
    const char *path;  /* raw, percent-encoded: "/api/tubes/1000013" */
    const char *query; /* raw, without '?'; "" when there is none */
    const char *authorization, *cookie, *idempotency_key, *if_match, *if_none_match;
    const char *content_type, *origin, *host; /* NULL when absent */
    const char *body;                         /* in the arena; NULL for UPLOAD routes */
    size_t body_n;
    const char *upload; /* UPLOAD: path of the spooled body */
    const char *peer;
    const char *data_dir;
    bool trusted; /* the command line on its own data folder: owner without sign-in */
    bool secure;  /* came over TLS: cookies get Secure */
    int64_t now_ms;
    char request_id[20];

    /* kept between the steps */
    const struct route *route;
    struct principal who;
    struct req rq;
    struct reply reply;
    struct err err;
    bool done; /* there is an answer: nothing more to run */

    /* the answer */
    int status;
    const char *answer_type; /* content type */
    const char *answer;      /* in the arena; or stream below */
    size_t answer_n;
    const struct stream *stream;
    const char *etag, *location, *link, *set_cookie, *allow, *retry_after; /* NULL: no header */
};

/* A new call with its arena.  Owned by the carrier. */
struct call *call_new(void);
void call_free(struct call *c);

/* The route for a method and path, before the body is read (so that limits and UPLOAD are known).
 * Sets c->route, or an answer (404, 405 with Allow) and c->done. */
void call_match(struct call *c);

/* Everything up to the handler: identify (cookie, bearer token, trusted), role, origin check on
 * changes by cookie, path + query + body unpacked.  store: read-only. */
void call_route(struct call *c, struct store *st);

void call_prepare(struct call *c, struct store *st);

/* Run the handler and make the answer.  For WRITE routes st is the writer's connection inside a
 * savepoint: on false the carrier must roll that savepoint back (the answer is made all the same).
 * Idempotency is kept here. */
bool call_run(struct call *c, struct store *st, struct port *port);

/* Replace whatever answer there is: the commit failed, the queue is full, we are stopping. */
void call_fail(struct call *c, enum err_code code, const char *sentence);

/* All steps in this thread with its own transaction: the command line and tests. */
void call_serve(struct call *c, struct store *st);

/* err_code -> HTTP status: the one switch. */
int call_status(enum err_code code);

/* Checks the table itself at start: every row has roles, a help, a handler, path fields that exist
 * in its in shape, WORK where UPLOAD.  Aborts with the row named. */
void call_check_routes(void);

#endif
