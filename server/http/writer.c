/* SPDX-License-Identifier: MIT
 *
 * writer: two queues, single jobs and slices of bulk work, and one thread.
 *
 * A turn takes every single job that waits, runs each in its savepoint, commits them together and
 * tells each; then it takes one slice, and behind it the single jobs that came while it ran, and
 * does the same with those.  So a single job waits for one slice at most, bulk work goes on however
 * busy the counter is, and a burst of changes costs one fsync instead of one each.
 *
 * A commit that fails has lost the whole group, and so does a statement that made SQLite roll the
 * transaction back by itself (disk full, I/O error): the jobs after it are not run, and all of the
 * group are told.
 */
#include "http/writer.h"

#include "work/log.h"

#include <assert.h>
#include <errno.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define IDLE_MS                                                                       \
    500 /* house rule: so long without work, then the log is folded into the database \
         */

struct queue {
    struct job *head, **tail;
    int n;
};

struct writer {
    struct store *st;
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t wake;
    struct queue singles, bulk;
    int capacity;
    bool stopping;
    bool unfolded; /* committed since the last checkpoint; the thread's own */
};

static void queue_init(struct queue *q)
{
    q->head = NULL;
    q->tail = &q->head;
    q->n = 0;
}

static void queue_put(struct queue *q, struct job *j)
{
    j->next = NULL;
    *q->tail = j;
    q->tail = &j->next;
    q->n++;
}

/* The oldest most jobs of the queue, as a list. */
static struct job *queue_take(struct queue *q, int most)
{
    struct job *first = q->head, **end = &first;
    for (; *end && most > 0; most--) {
        end = &(*end)->next;
        q->n--;
    }
    q->head = *end;
    if (!q->head)
        q->tail = &q->head;
    if (end != &first)
        *end = NULL;
    else
        first = NULL;
    return first;
}

/* One job in its savepoint.  false: the transaction itself is no longer to be trusted. */
static bool job_run(struct writer *w, struct job *j, struct err *e)
{
    if (!store_mark(w->st, e))
        return false;
    if (j->run(j, w->st))
        return store_keep(w->st, e);
    store_undo(w->st);
    return true;
}

static struct job *singles_take(struct writer *w)
{
    pthread_mutex_lock(&w->lock);
    struct job *all = queue_take(&w->singles, w->capacity);
    pthread_mutex_unlock(&w->lock);
    return all;
}

/* The jobs of a list; *last is the last of them. */
static bool list_run(struct writer *w, struct job *list, struct job **last, struct err *e)
{
    bool ok = true;
    for (struct job *j = list; j; j = j->next) {
        ok = ok && job_run(w, j, e);
        *last = j;
    }
    return ok;
}

static void group_run(struct writer *w, struct job *group)
{
    struct err e = ERR_INIT;
    struct job *last = NULL;
    bool begun = store_begin(w->st, &e), ok = begun && list_run(w, group, &last, &e);
    if (ok && group->bulk) { /* whoever came while the slice ran need not wait for its commit */
        last->next = singles_take(w);
        ok = list_run(w, last->next, &last, &e);
    }
    if (ok) {
        ok = store_commit(w->st, &e);
        w->unfolded = ok || w->unfolded;
    } else if (begun) {
        store_abort(w->st);
    }
    if (!ok)
        log_failure("commit-failed", NULL, &e);
    while (group) {
        struct job *next = group->next; /* the job may be gone after done */
        group->done(group, ok ? NULL : &e);
        group = next;
    }
}

/* Wait until there is something to do; in an idle moment fold the log, once.  Under the lock. */
static void await_work(struct writer *w)
{
    while (!w->singles.head && !w->bulk.head && !w->stopping) {
        if (!w->unfolded) {
            pthread_cond_wait(&w->wake, &w->lock);
            continue;
        }
        struct timespec until;
        clock_gettime(CLOCK_MONOTONIC, &until);
        until.tv_nsec += IDLE_MS * 1000000L;
        until.tv_sec += until.tv_nsec / 1000000000L;
        until.tv_nsec %= 1000000000L;
        if (pthread_cond_timedwait(&w->wake, &w->lock, &until) == ETIMEDOUT) {
            pthread_mutex_unlock(&w->lock);
            store_checkpoint(w->st);
            pthread_mutex_lock(&w->lock);
            w->unfolded = false;
        }
    }
}

static void *write_all(void *arg)
{
    struct writer *w = arg;
    pthread_mutex_lock(&w->lock);
    for (;;) {
        await_work(w);
        struct job *group = queue_take(&w->singles, w->capacity);
        if (group) {
            pthread_mutex_unlock(&w->lock);
            group_run(w, group);
            pthread_mutex_lock(&w->lock);
        }
        struct job *slice = queue_take(&w->bulk, 1);
        if (slice) {
            pthread_mutex_unlock(&w->lock);
            group_run(w, slice);
            pthread_mutex_lock(&w->lock);
        }
        if (!group && !slice && w->stopping)
            break;
    }
    pthread_mutex_unlock(&w->lock);
    return NULL;
}

bool writer_start(struct writer **out, struct store *st, int capacity, struct err *e)
{
    assert(capacity >= 1);
    struct writer *w = xcalloc(1, sizeof *w);
    pthread_condattr_t monotonic;
    w->st = st;
    w->capacity = capacity;
    queue_init(&w->singles);
    queue_init(&w->bulk);
    pthread_mutex_init(&w->lock, NULL);
    pthread_condattr_init(&monotonic);
    pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    pthread_cond_init(&w->wake, &monotonic);
    pthread_condattr_destroy(&monotonic);
    int why = pthread_create(&w->thread, NULL, write_all, w);
    if (why != 0) {
        pthread_cond_destroy(&w->wake);
        pthread_mutex_destroy(&w->lock);
        free(w);
        return err_set(e, ERR_UNAVAILABLE, "cannot start the writer thread: %s", strerror(why));
    }
    *out = w;
    return true;
}

bool writer_submit(struct writer *w, struct job *j)
{
    pthread_mutex_lock(&w->lock);
    struct queue *q = j->bulk ? &w->bulk : &w->singles;
    bool taken = !w->stopping && q->n < w->capacity;
    if (taken) {
        queue_put(q, j);
        pthread_cond_signal(&w->wake);
    }
    pthread_mutex_unlock(&w->lock);
    return taken;
}

bool writer_is_wanted(struct writer *w)
{
    pthread_mutex_lock(&w->lock);
    bool wanted = w->singles.head != NULL;
    pthread_mutex_unlock(&w->lock);
    return wanted;
}

void writer_stop(struct writer *w)
{
    if (!w)
        return;
    pthread_mutex_lock(&w->lock);
    w->stopping = true;
    pthread_cond_signal(&w->wake);
    pthread_mutex_unlock(&w->lock);
    pthread_join(w->thread, NULL);
    store_close(w->st);
}

void writer_free(struct writer *w)
{
    if (!w)
        return;
    pthread_cond_destroy(&w->wake);
    pthread_mutex_destroy(&w->lock);
    free(w);
}
