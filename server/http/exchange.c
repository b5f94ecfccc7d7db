/* SPDX-License-Identifier: MIT
 *
 * exchange: collects a request, carries it, answers.
 *
 * A body that will not be taken is read and forgotten before the refusal is sent, as long as it is
 * not too much: a connection closed over unread bytes is reset, and the client might never see the
 * answer (RFC 9112, section 9.6).
 */
#include "http/exchange.h"

#include "api/wire.h"
#include "auth/crypto.h"
#include "http/assets.h"
#include "http/send.h"
#include "work/log.h"

#include <arpa/inet.h>
#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define DISCARD_MOST ((uint64_t)8 << 20) /* house rule: more of an unwanted body is not read */
#define BODY_S_MOST  60                  /* house rule: for an ordinary body to arrive */

enum stage { FRESH, READING, CARRIED };

struct exchange {
    struct carry carry; /* first: found again from it */
    struct call *call;
    struct front *front;
    struct MHD_Connection *con;
    const char *uri; /* as it came */
    enum stage stage;
    char *body; /* of an ordinary request */
    size_t room;
    uint64_t got, most; /* bytes of body so far; most that is taken */
    int fd;             /* of the spooled body; -1 */
    bool unread;        /* answered before the body was read: the connection is of no further use */
    bool counted_upload, counted_under_way;
    int64_t begun_ms; /* monotonic */
};

static int64_t clock_ms(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

/* An answer of the carrier's own. */
static void refuse(struct exchange *x, int status, enum err_code code, const char *sentence)
{
    struct call *c = x->call;
    struct err e = ERR_INIT;
    err_set(&e, code, "%s", sentence);
    c->status = status;
    c->answer_type = "application/problem+json";
    c->answer = wire_problem(&e, status, c->request_id, c->arena, &c->answer_n);
    c->done = true;
}

/* ---- the head of the request ---- */

static const char *header(const struct exchange *x, const char *name)
{
    return MHD_lookup_connection_value(x->con, MHD_HEADER_KIND, name);
}

static const char *header_kept(struct exchange *x, const char *name)
{
    return arena_text(x->call->arena, header(x, name));
}

static bool method_read(struct exchange *x, const char *method)
{
    static const struct {
        const char *name;
        enum method method;
    } methods[] = {
        {"GET", GET}, {"HEAD", GET},    {"POST", POST},
        {"PUT", PUT}, {"PATCH", PATCH}, {"DELETE", DELETE},
    };
    for (size_t i = 0; i < ARRAY_LEN(methods); i++)
        if (strcmp(methods[i].name, method) == 0) {
            x->call->method = methods[i].method;
            return true;
        }
    x->call->allow = "GET, HEAD, POST, PUT, PATCH, DELETE";
    refuse(x, MHD_HTTP_METHOD_NOT_ALLOWED, ERR_INVALID,
           "this method is not spoken here; GET, HEAD, POST, PUT, PATCH and DELETE are");
    return false;
}

/* "/api/tubes?x=1", or the absolute form of a proxy's request: "http://host/api/tubes?x=1". */
static bool target_read(struct exchange *x)
{
    struct call *c = x->call;
    const char *target = x->uri;
    if (strncmp(target, "http://", 7) == 0)
        target += 7 + strcspn(target + 7, "/");
    size_t n = strcspn(target, "?");
    c->path = arena_bytes(c->arena, target, n);
    c->query = target[n] == '?' ? arena_text(c->arena, target + n + 1) : "";
    if (*c->path == '/')
        return true;
    refuse(x, MHD_HTTP_BAD_REQUEST, ERR_INVALID, "the path of a request begins with a slash");
    return false;
}

/* The address of the caller; behind a proxy what the proxy (the last to add to the header) says. */
static const char *peer_read(struct exchange *x)
{
    char text[INET6_ADDRSTRLEN] = "";
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(x->con, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
    const char *forwarded = header(x, "X-Forwarded-For");
    if (x->front->conf->behind_tls && forwarded) {
        const char *last = strrchr(forwarded, ',');
        last = last ? last + 1 : forwarded;
        return arena_printf(x->call->arena, "%.60s", last + strspn(last, " "));
    }
    if (info && info->client_addr->sa_family == AF_INET)
        inet_ntop(AF_INET, &((const struct sockaddr_in *)(const void *)info->client_addr)->sin_addr,
                  text, sizeof text);
    else if (info && info->client_addr->sa_family == AF_INET6)
        inet_ntop(AF_INET6,
                  &((const struct sockaddr_in6 *)(const void *)info->client_addr)->sin6_addr, text,
                  sizeof text);
    return arena_text(x->call->arena, text);
}

/* The bearer of this run's token is the command line on this machine. */
static bool trusted(const struct exchange *x, const char *authorization)
{
    static const char bearer[] = "Bearer ";
    const char *token = x->front->token;
    return authorization && strncmp(authorization, bearer, strlen(bearer)) == 0 &&
           strlen(authorization) == strlen(bearer) + strlen(token) &&
           crypto_same(authorization + strlen(bearer), token, strlen(token));
}

static void head_read(struct exchange *x)
{
    struct call *c = x->call;
    c->authorization = header_kept(x, MHD_HTTP_HEADER_AUTHORIZATION);
    c->trusted = trusted(x, c->authorization);
    if (c->trusted)
        c->authorization = NULL;
    c->cookie = header_kept(x, MHD_HTTP_HEADER_COOKIE);
    c->idempotency_key = header_kept(x, "Idempotency-Key");
    c->if_match = header_kept(x, MHD_HTTP_HEADER_IF_MATCH);
    c->if_none_match = header_kept(x, MHD_HTTP_HEADER_IF_NONE_MATCH);
    c->content_type = header_kept(x, MHD_HTTP_HEADER_CONTENT_TYPE);
    c->origin = header_kept(x, "Origin");
    c->host = header_kept(x, MHD_HTTP_HEADER_HOST);
    c->peer = peer_read(x);
    c->data_dir = x->front->conf->data;
    c->secure = x->front->conf->behind_tls == 1;
    c->now_ms = clock_ms(CLOCK_REALTIME);
}

/* ---- the body ---- */

static bool upload(const struct exchange *x)
{
    return x->call->route && (x->call->route->flags & UPLOAD);
}

static void too_large(struct exchange *x)
{
    refuse(x, MHD_HTTP_CONTENT_TOO_LARGE, ERR_TOO_LARGE,
           arena_printf(x->call->arena, "the body is larger than the %" PRIu64 " bytes taken here",
                        x->most));
}

static void spool_open(struct exchange *x)
{
    struct front *f = x->front;
    struct call *c = x->call;
    x->counted_upload = true;
    if (atomic_fetch_add(&f->uploads, 1) >= f->conf->uploads) {
        c->retry_after = "5";
        refuse(x, MHD_HTTP_SERVICE_UNAVAILABLE, ERR_UNAVAILABLE,
               "as many uploads as are taken at once are under way; try again in a few seconds");
        return;
    }
    char *path = arena_printf(c->arena, "%s/upload-XXXXXX", f->spool);
    x->fd = mkostemp(path, O_CLOEXEC);
    if (x->fd < 0)
        call_fail(c, errno == ENOSPC ? ERR_FULL : ERR_UNAVAILABLE,
                  arena_printf(c->arena, "cannot keep the upload in the data folder: %s",
                               strerror(errno)));
    else
        c->upload = path;
}

static void spool_write(struct exchange *x, const char *data, size_t n)
{
    while (n > 0) {
        ssize_t done = write(x->fd, data, n);
        if (done < 0 && errno == EINTR)
            continue;
        if (done < 0) {
            bool full = errno == ENOSPC || errno == EDQUOT;
            call_fail(x->call, full ? ERR_FULL : ERR_UNAVAILABLE,
                      full ? "the disk is full: the upload was not kept"
                           : "the upload cannot be written to the data folder: it was not kept");
            return;
        }
        data += done;
        n -= (size_t)done;
    }
}

static void memory_write(struct exchange *x, const char *data, size_t n)
{
    if (x->got + n > x->room) { /* only where the length was not said before */
        size_t room = 2 * x->room + n;
        char *wider = arena_alloc(x->call->arena, room + 1);
        if (x->got)
            memcpy(wider, x->body, (size_t)x->got);
        x->body = wider;
        x->room = room;
    }
    memcpy(x->body + x->got, data, n);
}

/* A piece of the body.  false: enough, close the connection. */
static bool piece_take(struct exchange *x, const char *data, size_t n)
{
    if (!x->call->done && x->got + n > x->most)
        too_large(x);
    if (!x->call->done) {
        if (x->fd >= 0)
            spool_write(x, data, n);
        else
            memory_write(x, data, n);
    }
    x->got += n;
    if (x->call->done)
        return x->got <= x->most + DISCARD_MOST;
    return upload(x) || clock_ms(CLOCK_MONOTONIC) - x->begun_ms <= BODY_S_MOST * 1000;
}

/* How much body is announced: 0 for none, UINT64_MAX for "in chunks". */
static uint64_t body_announced(const struct exchange *x)
{
    const char *length = header(x, MHD_HTTP_HEADER_CONTENT_LENGTH);
    if (header(x, MHD_HTTP_HEADER_TRANSFER_ENCODING))
        return UINT64_MAX;
    return length ? strtoull(length, NULL, 10) : 0; /* MHD has refused what is no number */
}

static void body_prepare(struct exchange *x, uint64_t announced)
{
    const struct conf *conf = x->front->conf;
    x->most = upload(x) ? (uint64_t)conf->upload_mib << 20 : (uint64_t)conf->body_kib << 10;
    if (announced != UINT64_MAX && announced > x->most) {
        too_large(x);
    } else if (upload(x)) {
        carry_route(&x->carry); /* who may not, shall not fill the disk first */
        if (!x->call->done)
            spool_open(x);
    } else if (announced != UINT64_MAX) {
        x->room = (size_t)announced;
        x->body = arena_alloc(x->call->arena, x->room + 1);
    }
}

/* ---- the answer ---- */

static void suspend(struct carry *y)
{
    MHD_suspend_connection(((struct exchange *)y)->con);
}

static void resume(struct carry *y)
{
    MHD_resume_connection(((struct exchange *)y)->con);
}

static enum MHD_Result queue(struct exchange *x, int status, struct MHD_Response *r)
{
    if (!r)
        return MHD_NO;
    if (x->unread || atomic_load(&x->front->closing))
        MHD_add_response_header(r, MHD_HTTP_HEADER_CONNECTION, "close");
    x->call->status = status; /* for the log */
    enum MHD_Result queued = MHD_queue_response(x->con, (unsigned)status, r);
    MHD_destroy_response(r);
    return queued;
}

static enum MHD_Result answer(struct exchange *x)
{
    assert(x->call->done);
    return queue(x, x->call->status, send_call(x->call, x->front->roads->readers));
}

static enum MHD_Result answer_page(struct exchange *x)
{
    struct call *c = x->call;
    struct asset page;
    struct err e = ERR_INIT;
    int status;
    if (c->method != GET) {
        c->allow = "GET, HEAD";
        refuse(x, MHD_HTTP_METHOD_NOT_ALLOWED, ERR_INVALID, "a page can only be read, with GET");
        return answer(x);
    }
    if (!assets_find(&page, c->path, x->front->conf->web, c->arena, &e)) {
        refuse(x, MHD_HTTP_NOT_FOUND, ERR_NOT_FOUND, e.text);
        return answer(x);
    }
    struct MHD_Response *r = send_asset(&status, &page, c->if_none_match);
    if (r)
        send_guard(r, c->request_id);
    return queue(x, status, r);
}

static enum MHD_Result answer_events(struct exchange *x)
{
    struct MHD_Response *r;
    struct err e = ERR_INIT;
    if (!events_join(&r, x->front->events, x->con, header(x, "Last-Event-ID"), &e)) {
        call_fail(x->call, e.code, e.text);
        x->call->retry_after = "10";
        return answer(x);
    }
    MHD_add_response_header(r, MHD_HTTP_HEADER_CONTENT_TYPE, "text/event-stream");
    MHD_add_response_header(r, MHD_HTTP_HEADER_CACHE_CONTROL, "no-store");
    send_guard(r, x->call->request_id);
    return queue(x, MHD_HTTP_OK, r);
}

static bool is_page(const struct call *c)
{
    return strncmp(c->path, "/api/", 5) != 0 && strcmp(c->path, "/api") != 0;
}

/* All is read. */
static enum MHD_Result carried(struct exchange *x)
{
    struct call *c = x->call;
    struct front *f = x->front;
    x->stage = CARRIED;
    x->counted_under_way = true;
    pthread_mutex_lock(&f->lock);
    f->under_way++;
    pthread_mutex_unlock(&f->lock);
    if (c->done)
        return answer(x);
    if (is_page(c))
        return answer_page(x);
    if (upload(x)) {
        c->rq.upload = c->upload;
    } else {
        c->body = x->body ? x->body : "";
        c->body_n = (size_t)x->got;
        carry_route(&x->carry);
        if (!c->done && (c->route->flags & EVENTS))
            return answer_events(x);
    }
    return carry_run(&x->carry) ? answer(x) : MHD_YES;
}

static enum MHD_Result begin(struct exchange *x, const char *method)
{
    struct call *c = x->call;
    head_read(x);
    uint64_t announced = body_announced(x);
    if (method_read(x, method) && target_read(x)) {
        if (!is_page(c))
            call_match(c);
        if (!c->done)
            body_prepare(x, announced);
    }
    x->stage = READING;
    /* Too much to read and forget: say so at once, and close. */
    x->unread = c->done && announced != UINT64_MAX && announced > DISCARD_MOST;
    return x->unread ? answer(x) : MHD_YES;
}

/* ---- from outside ---- */

struct exchange *exchange_new(struct front *f, struct MHD_Connection *con, const char *uri)
{
    struct exchange *x = xcalloc(1, sizeof *x);
    x->call = call_new();
    x->carry =
        (struct carry){.call = x->call, .roads = f->roads, .suspend = suspend, .resume = resume};
    x->front = f;
    x->con = con;
    x->uri = arena_text(x->call->arena, uri);
    x->fd = -1;
    x->begun_ms = clock_ms(CLOCK_MONOTONIC);
    return x;
}

enum MHD_Result exchange_step(struct exchange *x, const char *method, const char *data, size_t *n)
{
    switch (x->stage) {
    case FRESH:
        return begin(x, method);
    case READING:
        if (*n == 0)
            return carried(x);
        if (!piece_take(x, data, *n))
            return MHD_NO;
        *n = 0;
        return MHD_YES;
    case CARRIED:
        return answer(x);
    }
    return MHD_NO;
}

static void log_request(const struct exchange *x)
{
    static const char *const names[METHOD__COUNT] = {"GET", "POST", "PUT", "PATCH", "DELETE"};
    const struct call *c = x->call;
    struct log_line l;
    log_begin(&l, LOG_REQUEST, "request");
    log_text(&l, "method", names[c->method]);
    log_text(&l, "path", c->path);
    log_int(&l, "status", c->status);
    log_int(&l, "ms", clock_ms(CLOCK_MONOTONIC) - x->begun_ms);
    log_text(&l, "id", c->request_id);
    log_end(&l);
}

void exchange_end(struct exchange *x)
{
    struct front *f = x->front;
    if (x->call->path && x->call->status)
        log_request(x);
    if (x->fd >= 0)
        close(x->fd);
    if (x->call->upload)
        unlink(x->call->upload);
    if (x->counted_upload)
        atomic_fetch_sub(&f->uploads, 1);
    bool counted = x->counted_under_way;
    call_free(x->call);
    free(x);
    if (!counted)
        return;
    pthread_mutex_lock(&f->lock);
    f->under_way--;
    pthread_cond_broadcast(&f->quieter);
    pthread_mutex_unlock(&f->lock);
}
