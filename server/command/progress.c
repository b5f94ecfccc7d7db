/* SPDX-License-Identifier: MIT
 *
 * progress: a thread of its own, so that whoever works does not have to think of it.
 */
#include "command/progress.h"

#include "base/arena.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

struct progress {
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t ended;
    bool over;
    const char *doing;
};

static void *show(void *arg)
{
    struct progress *p = arg;
    struct timespec until;
    clock_gettime(CLOCK_REALTIME, &until);
    pthread_mutex_lock(&p->lock);
    int s = 0;
    for (; !p->over; s++) {
        if (s > 0)
            fprintf(stderr, "\r%s ... %d s\033[K", p->doing, s);
        until.tv_sec++;
        while (!p->over && pthread_cond_timedwait(&p->ended, &p->lock, &until) == 0)
            ;
    }
    pthread_mutex_unlock(&p->lock);
    if (s > 1)
        fputs("\r\033[K", stderr);
    return NULL;
}

struct progress *progress_begin(const char *doing)
{
    if (!isatty(STDERR_FILENO))
        return NULL;
    struct progress *p = xcalloc(1, sizeof *p);
    p->doing = doing;
    pthread_mutex_init(&p->lock, NULL);
    pthread_cond_init(&p->ended, NULL);
    if (pthread_create(&p->thread, NULL, show, p) == 0)
        return p;
    free(p); /* then without */
    return NULL;
}

void progress_end(struct progress *p)
{
    if (!p)
        return;
    pthread_mutex_lock(&p->lock);
    p->over = true;
    pthread_cond_signal(&p->ended);
    pthread_mutex_unlock(&p->lock);
    pthread_join(p->thread, NULL);
    pthread_cond_destroy(&p->ended);
    pthread_mutex_destroy(&p->lock);
    free(p);
}
