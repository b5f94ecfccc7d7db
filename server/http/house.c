/* SPDX-License-Identifier: MIT
 *
 * house: start-up and tear-down.
 *
 * The order of stopping matters.  First nobody new gets in; then everything that holds a connection
 * suspended is brought to its answer: event streams end, workers finish (slices they ask for are
 * refused from now on), the writer commits what was queued; then the answers get a moment to leave;
 * only then may libmicrohttpd be stopped, since it aborts over a suspended connection.
 */
#include "http/house.h"

#include "auth/crypto.h"
#include "auth/identify.h"
#include "auth/setup.h"
#include "http/http.h"
#include "store/furnish.h"
#include "store/migrate.h"
#include "work/folder.h"
#include "work/log.h"

#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define POOL_WAITING 64   /* house rule: long work that may wait for a worker */
#define ANSWERS_MS   2000 /* house rule: for answers to leave when stopping */

struct house {
    struct roads roads; /* first: found again from it */
    const struct conf *conf;
    struct arena *arena;
    struct folder folder;
    struct folder_run run;
    struct events *events;
    struct http *http;
    bool locked, announced;
};

static int64_t now_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_REALTIME, &t);
    return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

static void publish(struct roads *r, const char *kind, int64_t id)
{
    events_publish(((struct house *)r)->events, kind, id);
}

/* ---- start ---- */

static bool open_folder(struct house *h, struct err *e)
{
    h->locked = folder_open(&h->folder, h->conf->data, h->arena, e);
    return h->locked;
}

static void print_setup_token(void)
{
    char token[CRYPTO_TOKEN_BYTES];
    setup_token_new(token);
    fprintf(stderr,
            "\nThere is no user yet.  To make the owner's account, open the page below and enter\n"
            "this set-up token, which works once:\n\n    %s\n\n",
            token);
}

static bool open_writer(struct house *h, struct err *e)
{
    struct store *st;
    int applied = 0;
    if (!migrate_file(h->folder.database, now_ms(), &applied, e) ||
        !store_open(&st, h->folder.database, STORE_WRITE, e))
        return false;
    if (applied > 0) {
        struct log_line l;
        log_begin(&l, LOG_NOTE, "migrated");
        log_int(&l, "steps", applied);
        log_end(&l);
    }
    if (!store_furnish(st, e) || !writer_start(&h->roads.writer, st, (int)h->conf->queue, e)) {
        store_close(st);
        return false;
    }
    return true;
}

/* Once the readers are there: the writer's connection is the writer's alone. */
static bool check_setup(struct house *h, struct err *e)
{
    struct store *st;
    if (!readers_mine(h->roads.readers, &st, e))
        return false;
    if (auth_needs_setup(st))
        print_setup_token();
    return true;
}

static bool open_workers(struct house *h, struct err *e)
{
    h->roads.readers = readers_new(h->folder.database);
    h->events = events_new((int)h->conf->streams, now_ms());
    return pool_start(&h->roads.pool, (int)h->conf->workers, POOL_WAITING, e);
}

static bool open_http(struct house *h, struct err *e)
{
    crypto_token(h->run.token);
    const struct http_setup setup = {.conf = h->conf,
                                     .roads = &h->roads,
                                     .events = h->events,
                                     .token = h->run.token,
                                     .spool = h->folder.tmp};
    return http_start(&h->http, &setup, e);
}

static bool announce(struct house *h, struct err *e)
{
    struct log_line l;
    h->run.pid = getpid();
    snprintf(h->run.url, sizeof h->run.url, "%s", http_url(h->http));
    h->announced = folder_announce(&h->folder, &h->run, e);
    log_begin(&l, LOG_NOTE, "listening");
    log_text(&l, "url", h->run.url);
    log_text(&l, "data", h->folder.path);
    log_end(&l);
    return h->announced;
}

static bool house_open(struct house *h, const struct conf *c, struct err *e)
{
    memset(h, 0, sizeof *h);
    h->conf = c;
    h->arena = arena_new();
    h->roads.publish = publish;
    atomic_init(&h->roads.stopping, false);
    call_check_routes();
    return crypto_init(e) && open_folder(h, e) && open_writer(h, e) && open_workers(h, e) &&
           check_setup(h, e) && open_http(h, e) && announce(h, e);
}

/* ---- stop: the same, read backwards ---- */

static void house_close(struct house *h)
{
    if (h->announced)
        folder_withdraw(&h->folder);
    if (h->http)
        http_quiesce(h->http);
    atomic_store(&h->roads.stopping, true);
    if (h->events)
        events_close(h->events);
    pool_stop(h->roads.pool);
    writer_stop(h->roads.writer);
    if (h->http)
        http_await(h->http, ANSWERS_MS);
    http_stop(h->http); /* until here a late request may still be refused by pool and writer */
    pool_free(h->roads.pool);
    writer_free(h->roads.writer);
    events_free(h->events);
    readers_free(h->roads.readers);
    if (h->locked)
        folder_close(&h->folder);
    crypto_wipe(h->run.token, sizeof h->run.token);
    arena_free(h->arena);
}

/* ---- between ---- */

static void signals_block(sigset_t *stops)
{
    sigemptyset(stops);
    sigaddset(stops, SIGTERM);
    sigaddset(stops, SIGINT);
    sigaddset(stops, SIGHUP);
    pthread_sigmask(SIG_BLOCK, stops, NULL);
    signal(SIGPIPE, SIG_IGN);
}

static void await_stop(struct house *h, const sigset_t *stops)
{
    const struct timespec beat = {.tv_sec = EVENTS_BEAT_S};
    struct log_line l;
    int sign;
    while ((sign = sigtimedwait(stops, NULL, &beat)) < 0)
        events_beat(h->events);
    log_begin(&l, LOG_NOTE, "stopping");
    log_text(&l, "signal", strsignal(sign));
    log_end(&l);
}

bool house_run(const struct conf *c, struct err *e)
{
    struct house h;
    sigset_t stops;
    signals_block(&stops);
    bool opened = house_open(&h, c, e);
    if (opened)
        await_stop(&h, &stops);
    house_close(&h);
    return opened;
}
