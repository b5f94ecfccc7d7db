/* SPDX-License-Identifier: MIT
 *
 * client: over HTTP to the daemon that has the folder, or in this thread on the folder itself.
 *
 * Another command may have the folder for the moment it takes: who finds it taken by something that
 * is no daemon waits a little before giving up.
 */
#include "command/client.h"

#include "auth/crypto.h"
#include "command/progress.h"
#include "http/call.h"
#include "store/furnish.h"
#include "store/migrate.h"
#include "work/conf.h"
#include "work/folder.h"

#include <curl/curl.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#define WAIT_MS   50
#define WAITS     60  /* house rule: 3 s for another command to let go of the folder */
#define CONNECT_S 10L /* for the daemon to take the connection */

struct client {
    struct arena *arena;
    const char *data;
    bool remote;
    struct folder_run run; /* remote */
    CURL *curl;
    struct folder folder; /* not remote */
    struct store *store;
};

static int64_t now_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_REALTIME, &t);
    return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

/* ---- opening ------------------------------------------------------------------------------ */

static bool data_find(struct client *c, const char *data, struct err *e)
{
    struct conf conf;
    if (data && *data)
        c->data = arena_text(c->arena, data);
    else if (conf_load(&conf, 0, NULL, c->arena, e))
        c->data = conf.data;
    return c->data != NULL;
}

static bool own_open(struct client *c, struct err *e)
{
    if (!migrate_file(c->folder.database, now_ms(), NULL, e))
        return false;
    return store_open(&c->store, c->folder.database, STORE_WRITE, e) && store_furnish(c->store, e);
}

static bool reach(struct client *c, struct err *e)
{
    for (int i = 0;; i++) {
        if (folder_find(&c->run, c->data, e)) {
            c->remote = true;
            c->curl = curl_easy_init();
            return c->curl || err_set(e, ERR_UNAVAILABLE, "libcurl cannot be started");
        }
        *e = (struct err)ERR_INIT;
        if (folder_open(&c->folder, c->data, c->arena, e))
            return own_open(c, e);
        if (e->code != ERR_CONFLICT || i == WAITS)
            return false;
        nanosleep(&(struct timespec){.tv_nsec = WAIT_MS * 1000000L}, NULL);
    }
}

bool client_open(struct client **out, const char *data, struct err *e)
{
    struct client *c = xcalloc(1, sizeof *c);
    struct err why = ERR_INIT;
    c->arena = arena_new();
    c->folder.lock = -1;
    if (data_find(c, data, &why) && crypto_init(&why) && reach(c, &why)) {
        *out = c;
        return true;
    }
    client_close(c);
    if (e)
        *e = why;
    return false;
}

void client_close(struct client *c)
{
    if (!c)
        return;
    if (c->curl)
        curl_easy_cleanup(c->curl);
    store_close(c->store);
    folder_close(&c->folder);
    crypto_wipe(c->run.token, sizeof c->run.token);
    arena_free(c->arena);
    free(c);
}

const char *client_data(const struct client *c)
{
    return c->data;
}

struct store *client_store(struct client *c)
{
    return c->store;
}

/* ---- in this thread ----------------------------------------------------------------------- */

static bool is_json(const char *type)
{
    return type && strstr(type, "json") && !strstr(type, "ndjson");
}

static bool save_write(FILE *to, const char *text, size_t n, struct err *e)
{
    if (fwrite(text, 1, n, to) == n)
        return true;
    return err_set(e, ERR_UNAVAILABLE, "cannot write the answer: %s", strerror(errno));
}

/* A body that is made piece by piece. */
static bool stream_save(struct client *c, const struct stream *s, FILE *to, struct err *e)
{
    struct arena *a = arena_new();
    bool good = true;
    for (;;) {
        const char *text = NULL;
        size_t n = 0;
        arena_reset(a);
        good = s->next(s->state, c->store, a, &text, &n, e);
        if (!good || !text)
            break;
        good = save_write(to, text, n, e);
        if (!good)
            break;
    }
    arena_free(a);
    return good;
}

static struct call *call_from(struct client *c, const struct ask *q)
{
    struct call *k = call_new();
    size_t n = strcspn(q->path, "?");
    k->method = q->method;
    k->path = arena_bytes(k->arena, q->path, n);
    k->query = q->path[n] ? arena_text(k->arena, q->path + n + 1) : "";
    k->body = q->body ? arena_bytes(k->arena, q->body, q->body_n) : NULL;
    k->body_n = q->body ? q->body_n : 0;
    k->content_type = q->upload ? q->content_type : q->body ? "application/json" : NULL;
    k->upload = q->upload;
    k->if_match = q->if_match;
    k->peer = "local";
    k->data_dir = c->data;
    k->trusted = true;
    k->now_ms = now_ms();
    return k;
}

/* "</api/lots?after=3>; rel="next"": the address in it. */
static const char *next_from(const char *link, struct arena *a)
{
    const char *end = link ? strchr(link, '>') : NULL;
    return end && *link == '<' && strstr(end, "rel=\"next\"")
               ? arena_bytes(a, link + 1, (size_t)(end - link - 1))
               : NULL;
}

static bool ask_here(struct told *out, struct client *c, const struct ask *q, struct arena *a,
                     struct err *e)
{
    struct call *k = call_from(c, q);
    bool good = true;
    call_serve(k, c->store);
    *out = (struct told){.status = k->status,
                         .type = arena_text(a, k->answer_type ? k->answer_type : ""),
                         .body = "",
                         .next = next_from(k->link, a),
                         .etag = arena_text(a, k->etag)};
    if (k->stream) {
        good = stream_save(c, k->stream, q->save ? q->save : stdout, e);
    } else if (k->answer && q->save && !is_json(k->answer_type)) {
        good = save_write(q->save, k->answer, k->answer_n, e);
    } else if (k->answer) {
        out->body = arena_bytes(a, k->answer, k->answer_n);
        out->n = k->answer_n;
    }
    call_free(k);
    return good;
}

/* ---- over HTTP ---------------------------------------------------------------------------- */

struct wire_in {
    struct client *client;
    const struct ask *ask;
    char *body;
    size_t n, room;
    char link[1200], etag[200];
    bool unwritten; /* save could not be written */
};

static size_t take_body(char *data, size_t size, size_t count, void *arg)
{
    struct wire_in *w = arg;
    size_t n = size * count;
    char *type = NULL;
    curl_easy_getinfo(w->client->curl, CURLINFO_CONTENT_TYPE, &type);
    if (w->ask->save && !is_json(type)) {
        w->unwritten = fwrite(data, 1, n, w->ask->save) != n;
        return w->unwritten ? 0 : n;
    }
    if (w->n + n > w->room) {
        w->room = 2 * w->room + n;
        w->body = xrealloc(w->body, w->room);
    }
    memcpy(w->body + w->n, data, n);
    w->n += n;
    return n;
}

static void header_take(char *to, size_t size, const char *name, const char *data, size_t n)
{
    size_t k = strlen(name);
    if (n <= k || strncasecmp(data, name, k) != 0)
        return;
    while (k < n && data[k] == ' ')
        k++;
    while (n > k && (data[n - 1] == '\r' || data[n - 1] == '\n'))
        n--;
    if (n - k < size) {
        memcpy(to, data + k, n - k);
        to[n - k] = '\0';
    }
}

static size_t take_header(char *data, size_t size, size_t count, void *arg)
{
    struct wire_in *w = arg;
    header_take(w->link, sizeof w->link, "Link:", data, size * count);
    header_take(w->etag, sizeof w->etag, "ETag:", data, size * count);
    return size * count;
}

static struct curl_slist *headers(struct client *c, const struct ask *q, struct arena *a)
{
    struct curl_slist *h = NULL;
    h = curl_slist_append(h, arena_printf(a, "Authorization: Bearer %s", c->run.token));
    h = curl_slist_append(h, "Expect:");
    if (q->upload || q->body)
        h = curl_slist_append(h, arena_printf(a, "Content-Type: %s",
                                              q->upload ? q->content_type : "application/json"));
    if (q->if_match)
        h = curl_slist_append(h, arena_printf(a, "If-Match: %s", q->if_match));
    return h;
}

/* The body goes out: from memory, or from a file whose length is said beforehand. */
static bool body_set(CURL *curl, const struct ask *q, FILE **file, struct err *e)
{
    struct stat s;
    if (!q->upload) {
        if (q->method != GET && q->method != DELETE) {
            curl_easy_setopt(curl, CURLOPT_POSTFIELDS, q->body ? q->body : "");
            curl_easy_setopt(curl, CURLOPT_POSTFIELDSIZE_LARGE, (curl_off_t)q->body_n);
        }
        return true;
    }
    *file = fopen(q->upload, "rbe");
    if (!*file || fstat(fileno(*file), &s) != 0)
        return err_set(e, ERR_INVALID, "cannot read %s: %s", q->upload, strerror(errno));
    curl_easy_setopt(curl, CURLOPT_POST, 1L);
    curl_easy_setopt(curl, CURLOPT_READDATA, *file);
    curl_easy_setopt(curl, CURLOPT_POSTFIELDSIZE_LARGE, (curl_off_t)s.st_size);
    return true;
}

static bool perform(struct told *out, struct client *c, struct wire_in *w, struct arena *a,
                    struct err *e)
{
    long status = 0;
    char *type = NULL;
    CURLcode rc = curl_easy_perform(c->curl);
    if (w->unwritten)
        return err_set(e, ERR_UNAVAILABLE, "cannot write the answer: %s", strerror(errno));
    if (rc == CURLE_COULDNT_CONNECT)
        return err_set(e, ERR_UNAVAILABLE,
                       "the daemon at %s takes no connection (%s): nothing was sent", c->run.url,
                       curl_easy_strerror(rc));
    if (rc != CURLE_OK)
        return err_set(e, ERR_UNAVAILABLE,
                       "the daemon at %s did not answer (%s): whether the change was kept is not "
                       "known; look before you repeat it",
                       c->run.url, curl_easy_strerror(rc));
    curl_easy_getinfo(c->curl, CURLINFO_RESPONSE_CODE, &status);
    curl_easy_getinfo(c->curl, CURLINFO_CONTENT_TYPE, &type);
    *out = (struct told){.status = (int)status,
                         .type = arena_text(a, type ? type : ""),
                         .body = w->n ? arena_bytes(a, w->body, w->n) : "",
                         .n = w->n,
                         .next = next_from(w->link, a),
                         .etag = *w->etag ? arena_text(a, w->etag) : NULL};
    return true;
}

static bool ask_daemon(struct told *out, struct client *c, const struct ask *q, struct arena *a,
                       struct err *e)
{
    static const char *const names[METHOD__COUNT] = {"GET", "POST", "PUT", "PATCH", "DELETE"};
    struct wire_in w = {.client = c, .ask = q};
    struct curl_slist *h = headers(c, q, a);
    FILE *file = NULL;
    CURL *curl = c->curl;
    curl_easy_reset(curl);
    curl_easy_setopt(curl, CURLOPT_URL, arena_printf(a, "%s%s", c->run.url, q->path));
    curl_easy_setopt(curl, CURLOPT_CUSTOMREQUEST, names[q->method]);
    curl_easy_setopt(curl, CURLOPT_HTTPHEADER, h);
    curl_easy_setopt(curl, CURLOPT_PROXY, ""); /* it is this machine's own daemon */
    curl_easy_setopt(curl, CURLOPT_NOSIGNAL, 1L);
    curl_easy_setopt(curl, CURLOPT_CONNECTTIMEOUT, CONNECT_S);
    curl_easy_setopt(curl, CURLOPT_WRITEFUNCTION, take_body);
    curl_easy_setopt(curl, CURLOPT_WRITEDATA, &w);
    curl_easy_setopt(curl, CURLOPT_HEADERFUNCTION, take_header);
    curl_easy_setopt(curl, CURLOPT_HEADERDATA, &w);
    bool good = body_set(curl, q, &file, e) && perform(out, c, &w, a, e);
    if (file)
        fclose(file);
    free(w.body);
    curl_slist_free_all(h);
    return good;
}

bool client_ask(struct told *out, struct client *c, const struct ask *q, const char *doing,
                struct arena *a, struct err *e)
{
    struct progress *p = progress_begin(doing);
    bool good = c->remote ? ask_daemon(out, c, q, a, e) : ask_here(out, c, q, a, e);
    progress_end(p);
    return good;
}
