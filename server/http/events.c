/* SPDX-License-Identifier: MIT
 *
 * events: one ring of the newest events under one lock, and listeners that each remember the number
 * of the next event they want.
 *
 * A listener with nothing to say suspends its connection.  It does so under the lock, and is marked
 * asleep under the same lock, so that whoever publishes either is seen by it or wakes it.
 */
#include "http/events.h"

#include "base/arena.h"

#include <inttypes.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define EVENT_BYTES 256 /* longest text of one event */

const struct route events_routes[] = {
    {GET, "/api/events", R_ANY, EVENTS, NULL, NULL, NULL, NULL,
     "What changes, as it changes: server-sent events that each name a kind and an id"},
    {0},
};

struct event {
    char kind[32];
    int64_t id;
};

struct listener {
    struct listener *next;
    struct events *of;
    struct MHD_Connection *con;
    int64_t wants; /* number of the next event to send */
    int beats;     /* heartbeats so far */
    bool greeted, lagging, beat_due, asleep;
};

struct events {
    pthread_mutex_t lock;
    struct event ring[EVENTS_KEPT]; /* event number i is at i % EVENTS_KEPT */
    int64_t first, end;             /* those kept are first .. end - 1 */
    struct listener *listeners;
    int n, most;
    bool closed;
};

struct events *events_new(int most, int64_t now_ms)
{
    struct events *v = xcalloc(1, sizeof *v);
    pthread_mutex_init(&v->lock, NULL);
    v->first = v->end = now_ms;
    v->most = most;
    return v;
}

static void wake(struct listener *l)
{
    if (!l->asleep)
        return;
    l->asleep = false;
    MHD_resume_connection(l->con);
}

static void wake_all(struct events *v)
{
    for (struct listener *l = v->listeners; l; l = l->next)
        wake(l);
}

void events_publish(struct events *v, const char *kind, int64_t id)
{
    pthread_mutex_lock(&v->lock);
    struct event *one = &v->ring[v->end % EVENTS_KEPT];
    snprintf(one->kind, sizeof one->kind, "%s", kind);
    one->id = id;
    v->end++;
    if (v->end - v->first > EVENTS_KEPT)
        v->first = v->end - EVENTS_KEPT;
    wake_all(v);
    pthread_mutex_unlock(&v->lock);
}

void events_beat(struct events *v)
{
    pthread_mutex_lock(&v->lock);
    for (struct listener *l = v->listeners; l; l = l->next)
        l->beat_due = true;
    wake_all(v);
    pthread_mutex_unlock(&v->lock);
}

void events_close(struct events *v)
{
    pthread_mutex_lock(&v->lock);
    v->closed = true;
    wake_all(v);
    pthread_mutex_unlock(&v->lock);
}

void events_free(struct events *v)
{
    if (!v)
        return;
    pthread_mutex_destroy(&v->lock);
    free(v);
}

/* The next piece for a listener, "" when it is up to date.  Under the lock. */
static void piece_print(char *text, size_t size, struct listener *l)
{
    struct events *v = l->of;
    *text = '\0';
    if (!l->greeted) {
        l->greeted = true;
        snprintf(text, size, "retry: 2000\n\n");
    } else if (l->lagging || l->wants < v->first) {
        l->lagging = false;
        l->wants = v->end;
        snprintf(text, size, "id: %" PRId64 "\nevent: reload\ndata: {\"kind\":\"reload\"}\n\n",
                 v->end - 1);
    } else if (l->wants < v->end) {
        const struct event *one = &v->ring[l->wants % EVENTS_KEPT];
        snprintf(text, size,
                 "id: %" PRId64 "\nevent: %s\ndata: {\"kind\":\"%s\",\"id\":%" PRId64 "}\n\n",
                 l->wants, one->kind, one->kind, one->id);
        l->wants++;
    } else if (l->beat_due) {
        l->beats++;
        snprintf(text, size, ":\n\n");
    }
    if (*text)
        l->beat_due = false;
}

static ssize_t next_piece(void *cls, uint64_t pos, char *buf, size_t max)
{
    struct listener *l = cls;
    struct events *v = l->of;
    ssize_t n = 0;
    (void)pos;
    if (max < EVENT_BYTES)
        return MHD_CONTENT_READER_END_WITH_ERROR;
    pthread_mutex_lock(&v->lock);
    if (v->closed || l->beats == EVENTS_BEATS_MOST) {
        n = MHD_CONTENT_READER_END_OF_STREAM;
    } else {
        char text[EVENT_BYTES];
        piece_print(text, sizeof text, l);
        n = (ssize_t)strlen(text);
        memcpy(buf, text, (size_t)n);
        if (n == 0) {
            l->asleep = true;
            MHD_suspend_connection(l->con);
        }
    }
    pthread_mutex_unlock(&v->lock);
    return n;
}

static void listener_free(void *cls)
{
    struct listener *l = cls;
    struct events *v = l->of;
    pthread_mutex_lock(&v->lock);
    for (struct listener **at = &v->listeners; *at; at = &(*at)->next)
        if (*at == l) {
            *at = l->next;
            v->n--;
            break;
        }
    pthread_mutex_unlock(&v->lock);
    free(l);
}

/* Where a listener goes on: after the event it saw last, when that is still known. */
static void listener_place(struct listener *l, const char *last_id)
{
    l->wants = l->of->end;
    if (!last_id)
        return;
    char *end;
    long long seen = strtoll(last_id, &end, 10);
    if (end != last_id && !*end && seen >= l->of->first - 1 && seen < l->of->end)
        l->wants = seen + 1;
    else
        l->lagging = true;
}

bool events_join(struct MHD_Response **out, struct events *v, struct MHD_Connection *con,
                 const char *last_id, struct err *e)
{
    pthread_mutex_lock(&v->lock);
    bool room = !v->closed && v->n < v->most;
    struct listener *l = NULL;
    if (room) {
        l = xcalloc(1, sizeof *l);
        l->of = v;
        l->con = con;
        listener_place(l, last_id);
        l->next = v->listeners;
        v->listeners = l;
        v->n++;
    }
    bool closed = v->closed;
    pthread_mutex_unlock(&v->lock);
    if (closed)
        return err_set(e, ERR_UNAVAILABLE, "the program is stopping");
    if (!room)
        return err_set(e, ERR_UNAVAILABLE,
                       "there are %d event streams open, which is the most; try later", v->most);
    *out = MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, 4096, next_piece, l, listener_free);
    if (!*out) {
        listener_free(l);
        return err_set(e, ERR_INTERNAL, "cannot make the response of an event stream");
    }
    return true;
}
