/* SPDX-License-Identifier: MIT
 *
 * call: the path of one request.  Read call_route, then call_run; everything else is a step of one
 * of them.  What a route's row says (roles, shapes, flags) is enforced here and nowhere else.
 */
#include "http/call.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "auth/crypto.h"
#include "auth/identify.h"
#include "store/idempotency.h"

static const char *const METHOD_NAME[METHOD__COUNT] = {"GET", "POST", "PUT", "PATCH", "DELETE"};

#define JSON_TYPE "application/json"

struct call *call_new(void)
{
    struct arena *a = arena_new();
    struct call *c = arena_alloc(a, sizeof *c);
    unsigned char id[6];
    c->arena = a;
    c->query = "";
    c->who = (struct principal){.user_id = NONE, .session_id = NONE, .token_id = NONE};
    c->err.at = -1;
    crypto_random(id, sizeof id);
    crypto_hex(c->request_id, id, sizeof id);
    return c;
}

void call_free(struct call *c)
{
    if (c)
        arena_free(c->arena);
}

/* ---- answers ------------------------------------------------------------------------------ */

int call_status(enum err_code code)
{
    switch (code) {
    case ERR_NONE:
        return 200;
    case ERR_INVALID:
        return 422;
    case ERR_NOT_FOUND:
        return 404;
    case ERR_CONFLICT:
        return 409;
    case ERR_DENIED:
        return 403;
    case ERR_TOO_LARGE:
        return 413;
    case ERR_UNAVAILABLE:
        return 503;
    case ERR_FULL:
        return 507;
    case ERR_INTERNAL:
    case ERR__COUNT:
        break;
    }
    return 500;
}

static void answer_problem_as(struct call *c, int status)
{
    c->done = true;
    c->status = status;
    c->answer_type = "application/problem+json";
    c->answer = wire_problem(&c->err, status, c->request_id, c->arena, &c->answer_n);
    c->stream = NULL;
    c->etag = c->location = c->link = c->set_cookie = NULL;
    c->reply.event = NULL;
    if (status == 503)
        c->retry_after = "1";
}

static void answer_problem(struct call *c)
{
    if (c->reply.retry_s > 0) { /* too often: RFC 6585, 4 */
        answer_problem_as(c, 429);
        c->retry_after = arena_printf(c->arena, "%lld", (long long)c->reply.retry_s);
        return;
    }
    bool nobody = c->err.code == ERR_DENIED && !c->who.role;
    answer_problem_as(c, nobody ? 401 : call_status(c->err.code));
}

void call_fail(struct call *c, enum err_code code, const char *sentence)
{
    c->err = (struct err)ERR_INIT;
    err_set(&c->err, code, "%s", sentence);
    answer_problem(c);
}

static void answer_reply(struct call *c)
{
    const struct reply *r = &c->reply;
    bool empty = !r->body && !r->text && !r->stream;
    c->done = true;
    c->status = r->status ? r->status : c->route->flags & CREATES ? 201 : empty ? 204 : 200;
    if (r->body) {
        c->answer = wire_pack(r->shape ? r->shape : c->route->out, r->body, c->arena, &c->answer_n);
        c->answer_type = c->status >= 400 ? "application/problem+json" : JSON_TYPE;
    } else if (r->text) {
        c->answer = r->text;
        c->answer_n = r->text_n;
        c->answer_type = r->content_type;
    } else if (r->stream) {
        c->stream = r->stream;
        c->answer_type = r->stream->content_type;
    }
    c->etag = r->etag ? arena_printf(c->arena, "\"%s\"", r->etag) : NULL;
    c->location = r->location;
    c->link = r->next ? arena_printf(c->arena, "<%s>; rel=\"next\"", r->next) : NULL;
    if (r->set_session)
        c->set_cookie = arena_printf(
            c->arena, "%s=%s; Path=/; HttpOnly; SameSite=Strict; Max-Age=%lld%s", AUTH_COOKIE,
            r->set_session, (long long)(*r->set_session ? r->session_s : 0),
            c->secure ? "; Secure" : "");
    if (c->method == GET && c->etag && c->if_none_match && c->status == 200 &&
        strstr(c->if_none_match, c->etag)) {
        c->status = 304;
        c->answer = NULL;
        c->answer_n = 0;
        c->stream = NULL;
    }
}

/* ---- finding the route -------------------------------------------------------------------- */

/* The part of s up to the next '/' or the end, and its length. */
static const char *part(const char *s, size_t *n)
{
    *n = strcspn(s, "/");
    return s;
}

static bool path_fits(const char *pattern, const char *path)
{
    for (;;) {
        if (*pattern != '/' || *path != '/')
            return !*pattern && !*path;
        size_t pn, n;
        pattern = part(pattern + 1, &pn);
        path = part(path + 1, &n);
        if (*pattern == ':' ? n == 0 : pn != n || memcmp(pattern, path, n) != 0)
            return false;
        pattern += pn;
        path += n;
    }
}

void call_match(struct call *c)
{
    char allow[64] = "";
    for (const struct route *const *t = route_tables; *t; t++) {
        for (const struct route *r = *t; r->path; r++) {
            if (!path_fits(r->path, c->path))
                continue;
            if (r->method == c->method) {
                c->route = r;
                return;
            }
            size_t n = strlen(allow);
            snprintf(allow + n, sizeof allow - n, "%s%s", n ? ", " : "", METHOD_NAME[r->method]);
        }
    }
    if (*allow) {
        err_set(&c->err, ERR_INVALID, "%s is not done here: this address takes %s",
                METHOD_NAME[c->method], allow);
        c->allow = arena_text(c->arena, allow);
        answer_problem_as(c, 405);
        return;
    }
    call_fail(c, ERR_NOT_FOUND,
              "there is nothing at this address; GET /api/openapi.json lists what "
              "there is");
}

/* ---- unpacking ---------------------------------------------------------------------------- */

static int hex_digit(char ch)
{
    if (ch >= '0' && ch <= '9')
        return ch - '0';
    ch |= 0x20;
    return ch >= 'a' && ch <= 'f' ? ch - 'a' + 10 : -1;
}

/* Percent-decoding (RFC 3986, 2.1); plus: '+' is a space, as forms write it. */
static bool decode(const char **out, const char *s, size_t n, bool plus, struct call *c)
{
    char *to = arena_alloc(c->arena, n + 1);
    size_t at = 0;
    for (size_t i = 0; i < n; i++) {
        char ch = s[i];
        if (ch == '%') {
            int hi = i + 2 < n ? hex_digit(s[i + 1]) : -1;
            int lo = i + 2 < n ? hex_digit(s[i + 2]) : -1;
            if (hi < 0 || lo < 0 || (hi | lo) == 0)
                return err_set(&c->err, ERR_INVALID,
                               "the address holds a %% that two hexadecimal digits do not follow");
            ch = (char)(hi << 4 | lo);
            i += 2;
        } else if (ch == '+' && plus) {
            ch = ' ';
        }
        to[at++] = ch;
    }
    *out = to;
    return true;
}

static bool take_path(struct call *c, void *in)
{
    const char *pattern = c->route->path, *path = c->path;
    while (*pattern == '/') {
        size_t pn, n;
        pattern = part(pattern + 1, &pn);
        path = part(path + 1, &n);
        if (*pattern == ':') {
            const char *text, *name = arena_bytes(c->arena, pattern + 1, pn - 1);
            if (!decode(&text, path, n, false, c) ||
                !wire_set(in, c->route->in, name, text, c->arena, &c->err))
                return false;
        }
        pattern += pn;
        path += n;
    }
    return true;
}

static const struct field *field_of(const struct shape *s, const char *name)
{
    for (const struct field *f = s->field; f->name; f++)
        if (strcmp(f->name, name) == 0)
            return f;
    return NULL;
}

static bool take_query(struct call *c, void *in)
{
    unsigned char *seen = arena_alloc(c->arena, 256);
    for (const char *s = c->query; *s;) {
        size_t n = strcspn(s, "&"), k = strcspn(s, "=&");
        if (n) {
            const char *name, *text;
            if (!decode(&name, s, k, true, c) ||
                !decode(&text, k < n ? s + k + 1 : "", k < n ? n - k - 1 : 0, true, c))
                return false;
            const struct field *f = c->route->in ? field_of(c->route->in, name) : NULL;
            if (!f || f->flags & F_PATH)
                return err_field(&c->err, name, ERR_INVALID, "there is no such parameter here");
            ptrdiff_t i = f - c->route->in->field;
            if (i < 256 && seen[i]++ && f->kind != K_TEXTS)
                return err_field(&c->err, name, ERR_INVALID, "this parameter is given twice");
            if (!wire_set(in, c->route->in, name, text, c->arena, &c->err))
                return false;
        }
        s += n + (s[n] == '&');
    }
    return true;
}

static bool has_body_fields(const struct shape *s)
{
    for (const struct field *f = s->field; f->name; f++)
        if (!(f->flags & F_PATH))
            return true;
    return false;
}

static bool take_body(struct call *c, void **in)
{
    if (*c->query)
        return err_set(&c->err, ERR_INVALID,
                       "this request takes its fields in the body, not in the "
                       "address");
    if (!has_body_fields(c->route->in)) {
        *in = wire_blank(c->route->in, c->arena);
        return true;
    }
    if (!c->content_type || strncmp(c->content_type, JSON_TYPE, strlen(JSON_TYPE)) != 0)
        return err_field(&c->err, "Content-Type", ERR_INVALID,
                         "the body has to be %s, and to say so in Content-Type", JSON_TYPE);
    return wire_unpack(in, c->route->in, c->body ? c->body : "", c->body_n, c->arena, &c->err);
}

static bool unpack(struct call *c)
{
    const struct route *r = c->route;
    void *in = NULL;
    bool by_query = c->method == GET || c->method == DELETE || r->flags & UPLOAD;
    if (!r->in)
        return take_query(c, NULL); /* refuses any parameter */
    if (by_query) {
        in = wire_blank(r->in, c->arena);
        if (!take_query(c, in))
            return false;
    } else if (!take_body(c, &in)) {
        return false;
    }
    if (!take_path(c, in) || !wire_complete(in, r->in, &c->err))
        return false;
    c->rq.in = in;
    return true;
}

/* ---- who ---------------------------------------------------------------------------------- */

static const char *cookie_value(struct call *c)
{
    size_t k = strlen(AUTH_COOKIE);
    for (const char *s = c->cookie; s && *s;) {
        s += strspn(s, "; ");
        size_t n = strcspn(s, ";");
        if (n > k && s[k] == '=' && memcmp(s, AUTH_COOKIE, k) == 0)
            return arena_bytes(c->arena, s + k + 1, n - k - 1);
        s += n;
    }
    return NULL;
}

static bool identify(struct call *c, struct store *st)
{
    const char *bearer = NULL;
    if (c->trusted) {
        c->who = auth_local();
        return true;
    }
    if (c->authorization) {
        if (strncmp(c->authorization, "Bearer ", 7) != 0)
            return err_set(&c->err, ERR_DENIED, "Authorization has to be Bearer and an API token");
        bearer = c->authorization + 7;
    }
    c->rq.cookie_session = cookie_value(c);
    return auth_identify(&c->who, st, c->arena, c->rq.cookie_session, bearer, c->now_ms, &c->err);
}

/* A change that a browser sends names the page it comes from; it has to be one of ours. */
static bool same_origin(struct call *c)
{
    if (c->method == GET || !c->origin || c->who.token_id != NONE || c->trusted)
        return true;
    const char *after = strstr(c->origin, "://");
    if (after && c->host && strcmp(after + 3, c->host) == 0)
        return true;
    return err_field(
        &c->err, "Origin", ERR_DENIED,
        "this change was sent from a page of another address: open the house's own page");
}

static bool authorise(struct call *c, struct store *st)
{
    unsigned roles = c->route->roles;
    if (roles & R_PUBLIC || roles & (unsigned)c->who.role)
        return true;
    if (c->who.role)
        return err_set(&c->err, ERR_DENIED, "your role may not do this: ask the owner");
    if (auth_needs_setup(st))
        return err_set(&c->err, ERR_DENIED,
                       "nobody is set up yet: open the first page and give the token that was "
                       "printed when the daemon started");
    return err_set(&c->err, ERR_DENIED, "sign in first");
}

static bool check_key(struct call *c)
{
    const char *k = c->idempotency_key;
    if (!k)
        return true;
    size_t n = strlen(k);
    if (n >= 1 && n <= IDEMPOTENCY_KEY_BYTES)
        return true;
    return err_field(&c->err, "Idempotency-Key", ERR_INVALID,
                     "the key has to be 1 to %d bytes long", IDEMPOTENCY_KEY_BYTES);
}

void call_route(struct call *c, struct store *st)
{
    if (c->done)
        return;
    if (!c->route)
        call_match(c);
    if (c->done)
        return;
    if (!identify(c, st) || !authorise(c, st) || !same_origin(c) || !check_key(c) || !unpack(c)) {
        answer_problem(c);
        return;
    }
    c->rq.arena = c->arena;
    c->rq.who = &c->who;
    c->rq.now_ms = c->now_ms;
    c->rq.upload = c->upload;
    c->rq.content_type = c->content_type ? c->content_type : "";
    c->rq.if_match = c->if_match;
    c->rq.idempotency_key = c->idempotency_key;
    c->rq.peer = c->peer;
    c->rq.data_dir = c->data_dir;
}

/* ---- running ------------------------------------------------------------------------------ */

void call_prepare(struct call *c, struct store *st)
{
    if (c->done || !c->route->prepare)
        return;
    c->rq.store = st;
    if (!c->route->prepare(&c->reply, &c->rq, &c->err))
        answer_problem(c);
    c->rq.store = NULL;
}

static bool has_secrets(const struct shape *s)
{
    for (const struct field *f = s ? s->field : NULL; f && f->name; f++)
        if (f->flags & F_SECRET)
            return true;
    return false;
}

/* JSON of a struct as it may be kept: without its secret fields. */
static const char *without_secrets(struct call *c, const struct shape *s, const void *from,
                                   size_t *n)
{
    char *copy = arena_bytes(c->arena, from, s->size);
    for (const struct field *f = s->field; f->name; f++) {
        if (f->flags & F_SECRET) {
            assert(f->kind == K_TEXT);
            memset(copy + f->at, 0, sizeof(const char *));
        }
    }
    return wire_pack(s, copy, c->arena, n);
}

/* A password must not be kept as a hash that is quick to try, so it is no part of this one. */
static void body_hash(struct call *c, unsigned char out[32])
{
    struct crypto_sha256 h;
    const char *body = c->body;
    size_t n = c->body ? c->body_n : 0;
    if (c->rq.in && has_secrets(c->route->in))
        body = without_secrets(c, c->route->in, c->rq.in, &n);
    crypto_sha256_start(&h);
    crypto_sha256_add(&h, c->path, strlen(c->path) + 1);
    crypto_sha256_add(&h, c->query, strlen(c->query) + 1);
    crypto_sha256_add(&h, body, n);
    crypto_sha256_end(&h, out);
}

static const char *reply_to_keep(struct call *c)
{
    const struct shape *s = c->reply.shape ? c->reply.shape : c->route->out;
    size_t n;
    if (c->reply.body && has_secrets(s))
        return without_secrets(c, s, c->reply.body, &n);
    return c->answer ? arena_bytes(c->arena, c->answer, c->answer_n) : "";
}

/* The handler, and the note that this credential made a change. */
static bool run_handler(struct call *c, struct store *st)
{
    if (!c->route->run(&c->reply, &c->rq, &c->err))
        return false;
    return !(c->route->flags & WRITE) || auth_seen(st, &c->who, &c->err);
}

static bool run_once(struct call *c, struct store *st)
{
    struct idempotency it = {
        .user_id = c->who.user_id,
        .route = arena_printf(c->arena, "%s %s", METHOD_NAME[c->method], c->route->path),
        .key = c->idempotency_key};
    bool found;
    body_hash(c, it.body_hash);
    if (!idempotency_find(&found, &it, st, c->now_ms, c->arena, &c->err)) {
        answer_problem(c);
        return false;
    }
    if (found) {
        c->done = true;
        c->status = (int)it.status;
        c->answer = it.reply;
        c->answer_n = strlen(it.reply);
        c->answer_type = JSON_TYPE;
        c->location = it.location;
        c->etag = it.etag;
        return false; /* nothing to keep: the savepoint is empty */
    }
    if (!run_handler(c, st)) {
        answer_problem(c);
        return false;
    }
    answer_reply(c);
    if (c->status >= 400)
        return false;
    it.status = c->status;
    it.reply = reply_to_keep(c);
    it.location = c->location;
    it.etag = c->etag;
    if (!idempotency_keep(st, &it, &c->err)) {
        answer_problem(c);
        return false;
    }
    return true;
}

bool call_run(struct call *c, struct store *st, struct port *port)
{
    if (c->done)
        return false;
    c->rq.store = st;
    c->rq.port = port;
    if (c->route->flags & WRITE) {
        store_as(st, c->who.user_id == NONE ? AUTH_LOCAL_USER : c->who.user_id, c->now_ms);
        if (c->idempotency_key && c->who.user_id != NONE)
            return run_once(c, st);
    }
    if (!run_handler(c, st)) {
        answer_problem(c);
        return false;
    }
    answer_reply(c);
    return c->status < 400;
}

/* ---- all in one thread -------------------------------------------------------------------- */

struct own_port {
    struct port port;
    struct store *st;
    const struct call *c;
};

static bool own_write(struct port *p, write_fn *run, void *arg, struct err *e)
{
    struct own_port *own = (struct own_port *)p;
    struct store *st = own->st;
    if (!store_begin(st, e))
        return false;
    if (!store_mark(st, e)) {
        store_abort(st);
        return false;
    }
    store_as(st, own->c->who.user_id, own->c->now_ms);
    if (!run(st, arg, e)) {
        store_undo(st);
        store_abort(st);
        return false;
    }
    if (!store_keep(st, e)) {
        store_abort(st);
        return false;
    }
    return store_commit(st, e);
}

static void serve_write(struct call *c, struct store *st)
{
    struct err e = ERR_INIT;
    if (!store_begin(st, &e)) {
        call_fail(c, e.code, e.text);
        return;
    }
    if (!store_mark(st, &e)) {
        store_abort(st);
        call_fail(c, e.code, e.text);
        return;
    }
    if (!call_run(c, st, NULL)) {
        store_undo(st);
        store_abort(st);
        return;
    }
    if (!store_keep(st, &e)) {
        store_abort(st);
        call_fail(c, e.code, e.text);
        return;
    }
    if (!store_commit(st, &e))
        call_fail(c, e.code, e.text);
}

void call_serve(struct call *c, struct store *st)
{
    call_route(c, st);
    call_prepare(c, st);
    if (c->done)
        return;
    if (c->route->flags & WRITE) {
        serve_write(c, st);
        return;
    }
    struct own_port own = {.port = {.write = own_write}, .st = st, .c = c};
    call_run(c, st, &own.port);
}

/* ---- the table itself --------------------------------------------------------------------- */

static void row_fails(const struct route *r, const char *why)
{
    fprintf(stderr, "quadrille: wrong route in the program: %s %s: %s\n", METHOD_NAME[r->method],
            r->path, why);
    abort();
}

static void check_row(const struct route *r)
{
    unsigned known = R_PUBLIC | R_ANY;
    if (!(r->roles & known) || r->roles & ~known)
        row_fails(r, "no role, or one that there is not");
    if (!r->run && !(r->flags & EVENTS))
        row_fails(r, "no handler");
    if (!r->help || !*r->help)
        row_fails(r, "no help");
    if (r->method == GET && r->flags & (WRITE | UPLOAD | CREATES))
        row_fails(r, "GET changes nothing");
    if (r->flags & UPLOAD && !(r->flags & WORK))
        row_fails(r, "UPLOAD needs WORK");
    if (r->flags & WRITE && r->flags & WORK)
        row_fails(r, "WRITE runs on the writer, WORK on a worker: one of them");
    for (const char *s = strstr(r->path, "/:"); s; s = strstr(s + 1, "/:")) {
        char name[64];
        snprintf(name, sizeof name, "%.*s", (int)strcspn(s + 2, "/"), s + 2);
        const struct field *f = r->in ? field_of(r->in, name) : NULL;
        if (!f || !(f->flags & F_PATH))
            row_fails(r, "a part of the path is not an F_PATH field of its shape");
    }
}

void call_check_routes(void)
{
    for (const struct route *const *t = route_tables; *t; t++)
        for (const struct route *r = *t; r->path; r++)
            check_row(r);
}
