/* SPDX-License-Identifier: MIT
 *
 * bare: see the header.
 */
#include "bare.h"

#include <microhttpd.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct wait {
    struct wait *next;
    struct MHD_Connection *con;
    bool read, written;
};

struct bare {
    struct MHD_Daemon *daemon;
    struct replay *replay;
    int at; /* the next save */
    pthread_t writer;
    pthread_mutex_t lock;
    pthread_cond_t wake;
    struct wait *waiting;
    bool stopping;
    struct MHD_Response *yes;
};

static void *write_all(void *arg)
{
    struct bare *b = arg;
    pthread_mutex_lock(&b->lock);
    while (b->waiting || !b->stopping) {
        struct wait *group = b->waiting;
        if (!group) {
            pthread_cond_wait(&b->wake, &b->lock);
            continue;
        }
        b->waiting = NULL;
        pthread_mutex_unlock(&b->lock);
        replay_begin(b->replay);
        for (struct wait *w = group; w; w = w->next)
            if (b->at < replay_count(b->replay)) /* no more saves: answer all the same */
                replay_write(b->replay, b->at++);
        replay_commit(b->replay);
        while (group) {
            struct wait *next = group->next;
            group->written = true;
            MHD_resume_connection(group->con);
            group = next;
        }
        pthread_mutex_lock(&b->lock);
    }
    pthread_mutex_unlock(&b->lock);
    return NULL;
}

static enum MHD_Result on_step(void *cls, struct MHD_Connection *con, const char *url,
                               const char *method, const char *version, const char *data, size_t *n,
                               void **of_request)
{
    struct bare *b = cls;
    struct wait *w = *of_request;
    (void)url;
    (void)method;
    (void)version;
    (void)data;
    if (!w) {
        *of_request = w = calloc(1, sizeof *w);
        return w ? MHD_YES : MHD_NO;
    }
    if (*n) {
        *n = 0;
        return MHD_YES;
    }
    if (w->written)
        return MHD_queue_response(con, MHD_HTTP_CREATED, b->yes);
    w->con = con;
    MHD_suspend_connection(con);
    pthread_mutex_lock(&b->lock);
    w->next = b->waiting;
    b->waiting = w;
    pthread_cond_signal(&b->wake);
    pthread_mutex_unlock(&b->lock);
    return MHD_YES;
}

static void on_end(void *cls, struct MHD_Connection *con, void **of_request,
                   enum MHD_RequestTerminationCode how)
{
    (void)cls;
    (void)con;
    (void)how;
    free(*of_request);
}

struct bare *bare_start(struct replay *r, int threads)
{
    static char text[] = "{\"kept\":true}";
    struct bare *b = calloc(1, sizeof *b);
    if (!b)
        exit(1);
    b->replay = r;
    pthread_mutex_init(&b->lock, NULL);
    pthread_cond_init(&b->wake, NULL);
    b->yes = MHD_create_response_from_buffer(strlen(text), text, MHD_RESPMEM_PERSISTENT);
    b->daemon = MHD_start_daemon(MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME, 0, NULL,
                                 NULL, on_step, b, MHD_OPTION_THREAD_POOL_SIZE, (unsigned)threads,
                                 MHD_OPTION_NOTIFY_COMPLETED, on_end, NULL, MHD_OPTION_END);
    if (!b->daemon || pthread_create(&b->writer, NULL, write_all, b) != 0) {
        fprintf(stderr, "bench: the bare server does not start\n");
        exit(1);
    }
    return b;
}

int bare_port(const struct bare *b)
{
    return MHD_get_daemon_info(b->daemon, MHD_DAEMON_INFO_BIND_PORT)->port;
}

void bare_stop(struct bare *b)
{
    pthread_mutex_lock(&b->lock);
    b->stopping = true;
    pthread_cond_signal(&b->wake);
    pthread_mutex_unlock(&b->lock);
    pthread_join(b->writer, NULL);
    MHD_stop_daemon(b->daemon);
    MHD_destroy_response(b->yes);
    pthread_cond_destroy(&b->wake);
    pthread_mutex_destroy(&b->lock);
    free(b);
}
