/* SPDX-License-Identifier: MIT
 *
 * http: libmicrohttpd with a pool of polling threads, each with its own epoll set and its own share
 * of the connections.  Its limits on headers, connections and idle time are set here; those on
 * bodies and streams are kept by exchange and events.
 */
#include "http/http.h"

#include "http/exchange.h"
#include "work/log.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#define BACKLOG 256

struct http {
    struct MHD_Daemon *daemon;
    struct front front;
    int listening; /* -1: no longer */
    bool v6;
    char url[80];
};

/* ---- the socket ---- */

union address {
    struct sockaddr any;
    struct sockaddr_in v4;
    struct sockaddr_in6 v6;
};

static socklen_t address_make(union address *a, const struct conf *c)
{
    memset(a, 0, sizeof *a);
    if (inet_pton(AF_INET, c->listen, &a->v4.sin_addr) == 1) {
        a->v4.sin_family = AF_INET;
        a->v4.sin_port = htons((uint16_t)c->port);
        return sizeof a->v4;
    }
    inet_pton(AF_INET6, c->listen, &a->v6.sin6_addr); /* conf has checked it */
    a->v6.sin6_family = AF_INET6;
    a->v6.sin6_port = htons((uint16_t)c->port);
    return sizeof a->v6;
}

static bool socket_open(struct http *h, const struct conf *c, struct err *e)
{
    union address a;
    socklen_t n = address_make(&a, c);
    int on = 1;
    h->v6 = a.any.sa_family == AF_INET6;
    h->listening = socket(a.any.sa_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (h->listening < 0 ||
        setsockopt(h->listening, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on) != 0 ||
        bind(h->listening, &a.any, n) != 0 || listen(h->listening, BACKLOG) != 0 ||
        getsockname(h->listening, &a.any, &n) != 0)
        return err_set(e, ERR_UNAVAILABLE, "cannot listen on %s port %d: %s", c->listen,
                       (int)c->port, strerror(errno));
    snprintf(h->url, sizeof h->url, h->v6 ? "http://[%s]:%d" : "http://%s:%d", c->listen,
             ntohs(h->v6 ? a.v6.sin6_port : a.v4.sin_port));
    return true;
}

/* ---- what libmicrohttpd calls ---- */

static void *on_target(void *cls, const char *uri, struct MHD_Connection *con)
{
    return exchange_new(cls, con, uri);
}

static enum MHD_Result on_step(void *cls, struct MHD_Connection *con, const char *url,
                               const char *method, const char *version, const char *data, size_t *n,
                               void **of_request)
{
    (void)cls;
    (void)con;
    (void)url;
    (void)version;
    return exchange_step(*of_request, method, data, n);
}

static void on_end(void *cls, struct MHD_Connection *con, void **of_request,
                   enum MHD_RequestTerminationCode how)
{
    (void)cls;
    (void)con;
    (void)how;
    if (*of_request)
        exchange_end(*of_request);
    *of_request = NULL;
}

/* What the library has to say about clients that break off or talk nonsense. */
PRINTF_LIKE(2, 0) static void on_message(void *cls, const char *fmt, va_list ap)
{
    (void)cls;
    char text[300];
    struct log_line l;
    vsnprintf(text, sizeof text, fmt, ap);
    text[strcspn(text, "\n")] = '\0';
    log_begin(&l, LOG_REQUEST, "connection");
    log_text(&l, "said", text);
    log_end(&l);
}

/* ---- start and stop ---- */

static void front_init(struct front *f, const struct http_setup *s)
{
    pthread_condattr_t monotonic;
    f->conf = s->conf;
    f->roads = s->roads;
    f->events = s->events;
    f->token = s->token;
    f->spool = s->spool;
    atomic_init(&f->uploads, 0);
    atomic_init(&f->closing, false);
    pthread_mutex_init(&f->lock, NULL);
    pthread_condattr_init(&monotonic);
    pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    pthread_cond_init(&f->quieter, &monotonic);
    pthread_condattr_destroy(&monotonic);
}

static struct MHD_Daemon *daemon_start(struct http *h, const struct conf *c)
{
    unsigned flags = MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME | MHD_USE_ERROR_LOG |
                     (h->v6 ? MHD_USE_IPv6 : 0);
    /* clang-format off */
    return MHD_start_daemon(flags, 0, NULL, NULL, on_step, NULL,
        MHD_OPTION_EXTERNAL_LOGGER, on_message, NULL, /* first: it reports on the others */
        MHD_OPTION_LISTEN_SOCKET, h->listening,
        MHD_OPTION_THREAD_POOL_SIZE, (unsigned)c->threads,
        MHD_OPTION_CONNECTION_LIMIT, (unsigned)c->connections,
        MHD_OPTION_PER_IP_CONNECTION_LIMIT, (unsigned)c->per_address,
        MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)c->idle_s,
        MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)c->header_kib << 10,
        MHD_OPTION_STRICT_FOR_CLIENT, 1,
        MHD_OPTION_URI_LOG_CALLBACK, on_target, &h->front,
        MHD_OPTION_NOTIFY_COMPLETED, on_end, NULL,
        MHD_OPTION_END);
    /* clang-format on */
}

bool http_start(struct http **out, const struct http_setup *setup, struct err *e)
{
    struct http *h = xcalloc(1, sizeof *h);
    h->listening = -1;
    front_init(&h->front, setup);
    if (!socket_open(h, setup->conf, e))
        goto fail;
    h->daemon = daemon_start(h, setup->conf);
    if (!h->daemon) {
        err_set(e, ERR_UNAVAILABLE, "cannot start the threads that serve %s: %s", h->url,
                strerror(errno));
        goto fail;
    }
    *out = h;
    return true;
fail:
    http_stop(h);
    return false;
}

const char *http_url(const struct http *h)
{
    return h->url;
}

void http_quiesce(struct http *h)
{
    atomic_store(&h->front.closing, true);
    if (MHD_quiesce_daemon(h->daemon) != MHD_INVALID_SOCKET) {
        close(h->listening);
        h->listening = -1;
    }
}

void http_await(struct http *h, int64_t ms)
{
    struct timespec until;
    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += ms / 1000;
    until.tv_nsec += ms % 1000 * 1000000;
    until.tv_sec += until.tv_nsec / 1000000000;
    until.tv_nsec %= 1000000000;
    pthread_mutex_lock(&h->front.lock);
    while (h->front.under_way > 0)
        if (pthread_cond_timedwait(&h->front.quieter, &h->front.lock, &until) == ETIMEDOUT)
            break;
    pthread_mutex_unlock(&h->front.lock);
}

void http_stop(struct http *h)
{
    if (!h)
        return;
    if (h->daemon)
        MHD_stop_daemon(h->daemon); /* closes the socket too, where it was not quiesced */
    else if (h->listening >= 0)
        close(h->listening);
    pthread_cond_destroy(&h->front.quieter);
    pthread_mutex_destroy(&h->front.lock);
    free(h);
}
