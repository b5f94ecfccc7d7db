/* SPDX-License-Identifier: MIT
 *
 * route: what a route is, and what its handler gets and gives.
 *
 * One row says everything about a route; the dispatcher (http/call) enforces it before the handler
 * runs.  A handler turns a request into a reply; it knows no socket, no JSON, no thread.  It
 * returns true with *out filled, or false with *e.
 */
#ifndef QUADRILLE_API_ROUTE_H
#define QUADRILLE_API_ROUTE_H

#include "api/wire.h"
#include "auth/principal.h"
#include "store/store.h"

enum method { GET, POST, PUT, PATCH, DELETE, METHOD__COUNT };

enum {
    WRITE = 1,   /* runs on the writer, in a savepoint; without it the store is read-only */
    WORK = 2,    /* runs on a worker: long; may write in slices through req.port */
    UPLOAD = 4,  /* the body is a stream kept in a file: req.upload; with WORK */
    CREATES = 8, /* with POST: an Idempotency-Key is honoured, and asked for by the documentation */
    HASHES = 16, /* prepare runs a password hash: at most two of these at once */
    EVENTS = 32, /* a stream of server-sent events: http's own */
};

/* How a WORK handler writes: run is called on the writer inside a savepoint of its own; true is
 * returned only when that savepoint was committed to the disk.  false: *e says why; nothing of it
 * was kept.  Blocks the calling worker.  Slices should take at most 50 ms, and end early when
 * port_is_wanted: others wait for the writer, and are committed with the slice. */
typedef bool write_fn(struct store *st, void *arg, struct err *e);
struct port {
    bool (*write)(struct port *p, write_fn *run, void *arg, struct err *e);
    bool (*wanted)(struct port *p); /* NULL: nobody else writes */
};

static inline bool port_is_wanted(struct port *p)
{
    return p->wanted && p->wanted(p);
}

struct req {
    struct arena *arena;
    struct store *store;
    const struct principal *who;
    struct port *port;        /* WORK routes only */
    int64_t now_ms;           /* the moment of the request, milliseconds since 1970 UTC */
    const void *in;           /* struct of the route's in shape */
    void *prepared;           /* what prepare left, NULL without one */
    const char *upload;       /* UPLOAD: path of the file that holds the body */
    const char *content_type; /* of the body, "" when not said */
    const char *if_match;     /* header, NULL when absent */
    const char *idempotency_key;
    const char *cookie_session; /* the session cookie's value, NULL when absent */
    const char *peer;           /* address of the caller, "local" for the command line */
    const char *data_dir;       /* the data folder, for uploads and backups */
};

/* A body made piece by piece: next is called until *text is NULL; each call has a fresh arena and a
 * read-only store of its own thread, and must not keep either. */
struct stream {
    bool (*next)(void *state, struct store *st, struct arena *a, const char **text, size_t *n,
                 struct err *e);
    void *state; /* in req.arena, which lives as long as the reply */
    const char *content_type;
};

struct reply {
    int status;       /* 0: 200, or 201 for CREATES, or 204 without a body */
    const void *body; /* struct of shape, or of the route's out shape when shape is NULL */
    const struct shape *shape;
    const char *text; /* instead of body: ready text of content_type */
    size_t text_n;
    const char *content_type;
    const struct stream *stream; /* instead of body */
    const char *etag;            /* without quotes */
    const char *location;
    const char *next;        /* path and query of the next page, for the Link header */
    const char *set_session; /* session cookie to set; "" clears it */
    int64_t session_s;       /* its age in seconds */
    int64_t retry_s;         /* with a failure: too often, wait so many seconds (status 429) */
    const char *event;       /* what changed, for listeners: "tube"; told after the commit */
    int64_t event_id;
};

typedef bool handler_fn(struct reply *out, struct req *rq, struct err *e);

struct route {
    enum method method;
    const char *path; /* "/api/tubes/:stock_no" */
    unsigned roles;   /* R_ bits, auth/principal.h */
    unsigned flags;
    const struct shape *in;  /* path + query (GET, DELETE) or path + body; NULL: nothing taken */
    const struct shape *out; /* NULL: no body, or text, or a stream */
    handler_fn *prepare;     /* runs on a worker before handler; out is not used; may be NULL */
    handler_fn *run;
    const char *help; /* one line */
};

/* All routes, in the order of the documentation: one table per noun, the last NULL. */
extern const struct route *const route_tables[];

/* Failing and answering in one line: return reply_body(out, view); */
static inline bool reply_body(struct reply *out, const void *body)
{
    out->body = body;
    return true;
}

#endif
