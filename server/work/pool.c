/* SPDX-License-Identifier: MIT
 *
 * pool: one mutex, one condition, one list.  The threads are few and the tasks long, so that a
 * single lock is never contended for.
 */
#include "work/pool.h"

#include "base/arena.h"

#include <assert.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

struct pool {
    pthread_mutex_t lock;
    pthread_cond_t wake;
    struct task *head, **tail; /* waiting tasks, oldest first */
    int waiting, capacity;
    int hashing, slow; /* tasks of that mark that run now */
    int slow_most;
    bool stopping;
    int threads;
    pthread_t thread[];
};

/* Take the oldest task that may run now, NULL when there is none.  Under the lock. */
static struct task *task_take(struct pool *p)
{
    for (struct task **at = &p->head; *at; at = &(*at)->next) {
        struct task *t = *at;
        if ((t->hashes && p->hashing == POOL_HASHES) || (t->slow && p->slow == p->slow_most))
            continue;
        *at = t->next;
        if (p->tail == &t->next)
            p->tail = at;
        p->waiting--;
        t->next = NULL;
        return t;
    }
    return NULL;
}

static void *work(void *arg)
{
    struct pool *p = arg;
    pthread_mutex_lock(&p->lock);
    for (;;) {
        struct task *t = p->stopping ? NULL : task_take(p);
        if (!t) {
            if (p->stopping)
                break;
            pthread_cond_wait(&p->wake, &p->lock);
            continue;
        }
        bool hashes = t->hashes, slow = t->slow; /* t may be gone after run */
        p->hashing += hashes;
        p->slow += slow;
        pthread_mutex_unlock(&p->lock);
        t->run(t);
        pthread_mutex_lock(&p->lock);
        p->hashing -= hashes;
        p->slow -= slow;
        if (hashes || slow)
            pthread_cond_broadcast(&p->wake); /* the next one may be waiting for this to end */
    }
    pthread_mutex_unlock(&p->lock);
    return NULL;
}

bool pool_start(struct pool **out, int threads, int capacity, struct err *e)
{
    assert(threads >= 1 && threads <= 64 && capacity >= 1);
    struct pool *p = xcalloc(1, sizeof *p + (size_t)threads * sizeof p->thread[0]);
    pthread_mutex_init(&p->lock, NULL);
    pthread_cond_init(&p->wake, NULL);
    p->tail = &p->head;
    p->capacity = capacity;
    p->slow_most = threads > 1 ? threads - 1 : 1;
    for (int i = 0; i < threads; i++) {
        int why = pthread_create(&p->thread[i], NULL, work, p);
        if (why != 0) {
            pool_stop(p);
            pool_free(p);
            return err_set(e, ERR_UNAVAILABLE, "cannot start worker thread %d of %d: %s", i + 1,
                           threads, strerror(why));
        }
        p->threads++;
    }
    *out = p;
    return true;
}

bool pool_submit(struct pool *p, struct task *t)
{
    pthread_mutex_lock(&p->lock);
    bool taken = !p->stopping && p->waiting < p->capacity;
    if (taken) {
        t->next = NULL;
        *p->tail = t;
        p->tail = &t->next;
        p->waiting++;
        pthread_cond_signal(&p->wake);
    }
    pthread_mutex_unlock(&p->lock);
    return taken;
}

void pool_stop(struct pool *p)
{
    if (!p)
        return;
    pthread_mutex_lock(&p->lock);
    p->stopping = true;
    struct task *t = p->head;
    p->head = NULL;
    p->tail = &p->head;
    p->waiting = 0;
    pthread_cond_broadcast(&p->wake);
    pthread_mutex_unlock(&p->lock);
    while (t) {
        struct task *next = t->next;
        t->cancel(t);
        t = next;
    }
    for (int i = 0; i < p->threads; i++)
        pthread_join(p->thread[i], NULL);
}

void pool_free(struct pool *p)
{
    if (!p)
        return;
    pthread_cond_destroy(&p->wake);
    pthread_mutex_destroy(&p->lock);
    free(p);
}
