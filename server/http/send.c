/* SPDX-License-Identifier: MIT
 *
 * send: responses are made from texts that already exist (never copied) or from a stream, which is
 * asked for one piece at a time on the polling thread, with that thread's store and an arena that
 * is emptied before each piece: a slow client costs one piece of memory and holds no snapshot.
 */
#include "http/send.h"

#include "work/log.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PIECE_BYTES ((size_t)64 * 1024)

/* Scripts and styles only from our own files, no framing, nothing sent elsewhere.  Sources: W3C
 * Content Security Policy Level 3; OWASP HTTP Headers Cheat Sheet. */
static const char *const guards[][2] = {
    {"Content-Security-Policy",
     "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
     "font-src 'self'; connect-src 'self'; manifest-src 'self'; base-uri 'none'; "
     "form-action 'self'; frame-ancestors 'none'"},
    {"X-Content-Type-Options", "nosniff"},
    {"X-Frame-Options", "DENY"},
    {"Referrer-Policy", "no-referrer"},
    {"Cross-Origin-Opener-Policy", "same-origin"},
    {"Cross-Origin-Resource-Policy", "same-origin"},
    {"Permissions-Policy", "camera=(self), geolocation=(), microphone=(), payment=()"},
};

static void header(struct MHD_Response *r, const char *name, const char *value)
{
    if (value && MHD_add_response_header(r, name, value) != MHD_YES) {
        struct err e = ERR_INIT;
        err_set(&e, ERR_INTERNAL, "a value that is no header value, or out of memory");
        log_failure("header-lost", name, &e);
    }
}

void send_guard(struct MHD_Response *r, const char *request_id)
{
    for (size_t i = 0; i < ARRAY_LEN(guards); i++)
        header(r, guards[i][0], guards[i][1]);
    if (request_id && *request_id)
        header(r, "X-Request-Id", request_id);
}

/* ---- streams ---- */

struct flow {
    const struct stream *stream;
    struct readers *readers;
    struct arena *arena; /* of the piece under way */
    const char *text;    /* what is left of it */
    size_t n;
};

static bool piece_next(struct flow *f, bool *over, struct err *e)
{
    struct store *st;
    if (!readers_mine(f->readers, &st, e))
        return false;
    do {
        arena_reset(f->arena);
        f->text = NULL;
        f->n = 0;
        if (!f->stream->next(f->stream->state, st, f->arena, &f->text, &f->n, e))
            return false;
    } while (f->text && f->n == 0);
    *over = !f->text;
    return true;
}

static ssize_t flow_read(void *cls, uint64_t pos, char *buf, size_t max)
{
    struct flow *f = cls;
    struct err e = ERR_INIT;
    bool over = false;
    (void)pos;
    if (f->n == 0 && !piece_next(f, &over, &e)) {
        /* The status line is long gone: the client sees a body that breaks off. */
        log_failure("stream-broke", NULL, &e);
        return MHD_CONTENT_READER_END_WITH_ERROR;
    }
    if (over)
        return MHD_CONTENT_READER_END_OF_STREAM;
    size_t n = f->n < max ? f->n : max;
    memcpy(buf, f->text, n);
    f->text += n;
    f->n -= n;
    return (ssize_t)n;
}

static void flow_free(void *cls)
{
    struct flow *f = cls;
    arena_free(f->arena);
    free(f);
}

static struct MHD_Response *flow_new(const struct stream *s, struct readers *readers)
{
    struct flow *f = xcalloc(1, sizeof *f);
    f->stream = s;
    f->readers = readers;
    f->arena = arena_new();
    struct MHD_Response *r =
        MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, PIECE_BYTES, flow_read, f, flow_free);
    if (!r)
        flow_free(f);
    return r;
}

/* ---- whole answers ---- */

static struct MHD_Response *text_new(const char *text, size_t n)
{
    /* MHD takes a pointer to what it may change, and with PERSISTENT never does. */
    union {
        const char *in;
        void *out;
    } bytes = {.in = n ? text : ""};
    return MHD_create_response_from_buffer(n, bytes.out, MHD_RESPMEM_PERSISTENT);
}

struct MHD_Response *send_call(struct call *c, struct readers *readers)
{
    struct MHD_Response *r =
        c->stream ? flow_new(c->stream, readers) : text_new(c->answer, c->answer_n);
    if (!r)
        return NULL;
    if (c->stream || c->answer_n)
        header(r, MHD_HTTP_HEADER_CONTENT_TYPE,
               c->stream && c->stream->content_type ? c->stream->content_type : c->answer_type);
    header(r, MHD_HTTP_HEADER_CACHE_CONTROL, "no-store");
    header(r, MHD_HTTP_HEADER_ETAG, c->etag);
    header(r, MHD_HTTP_HEADER_LOCATION, c->location);
    header(r, "Link", c->link);
    header(r, MHD_HTTP_HEADER_SET_COOKIE, c->set_cookie);
    header(r, MHD_HTTP_HEADER_ALLOW, c->allow);
    header(r, MHD_HTTP_HEADER_RETRY_AFTER, c->retry_after);
    send_guard(r, c->request_id);
    return r;
}

/* Whether an If-None-Match header names the tag, weakly compared (RFC 9110, section 13.1.2). */
static bool tag_named(const char *if_none_match, const char *quoted)
{
    return if_none_match &&
           (strcmp(if_none_match, "*") == 0 || strstr(if_none_match, quoted) != NULL);
}

struct MHD_Response *send_asset(int *status, const struct asset *page, const char *if_none_match)
{
    char quoted[100];
    snprintf(quoted, sizeof quoted, "\"%s\"", page->etag);
    bool known = tag_named(if_none_match, quoted);
    struct MHD_Response *r = text_new(page->bytes, known ? 0 : page->n);
    if (!r)
        return NULL;
    *status = known ? MHD_HTTP_NOT_MODIFIED : MHD_HTTP_OK;
    if (!known)
        header(r, MHD_HTTP_HEADER_CONTENT_TYPE, page->type);
    header(r, MHD_HTTP_HEADER_ETAG, quoted);
    header(r, MHD_HTTP_HEADER_CACHE_CONTROL, "no-cache");
    return r;
}
