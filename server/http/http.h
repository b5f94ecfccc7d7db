/* SPDX-License-Identifier: MIT
 *
 * http: the daemon's socket and its polling threads.
 *
 *     http_start    listening
 *     http_quiesce  no new connections; every answer closes its own
 *     http_await    until what is under way is answered
 *     http_stop     close what is left
 *
 * Between http_quiesce and http_stop the events, the pool and the writer must be stopped: nothing
 * may be suspended when http_stop is called (libmicrohttpd aborts the process otherwise).
 */
#ifndef QUADRILLE_HTTP_HTTP_H
#define QUADRILLE_HTTP_HTTP_H

#include "http/carry.h"
#include "http/events.h"
#include "work/conf.h"

struct http;

struct http_setup {
    const struct conf *conf;
    struct roads *roads;
    struct events *events;
    const char *token; /* a bearer of it is trusted */
    const char *spool; /* folder for uploads */
};

/* Listen and serve.  What setup points to must outlive it.  ERR_UNAVAILABLE when the address cannot
 * be had: the sentence says which and why. */
MUST_USE bool http_start(struct http **out, const struct http_setup *setup, struct err *e);

/* "http://127.0.0.1:7373", with the port that was really taken. */
const char *http_url(const struct http *h);

void http_quiesce(struct http *h);

/* Until no request is under way, at most ms milliseconds. */
void http_await(struct http *h, int64_t ms);

void http_stop(struct http *h);

#endif
