/* SPDX-License-Identifier: MIT
 *
 * carry: one call is always in the hands of one thread: the polling thread gives it to a worker or
 * the writer through their queues, and gets it back by resume.  Whoever refuses it hands it back at
 * once with an answer that says so.
 */
#include "http/carry.h"

#include <pthread.h>
#include <stddef.h>

static const char busy[] = "there is more to do than can be done at once; nothing of this request "
                           "was kept, try again in a second";
static const char stopping[] = "the program is stopping; nothing of this request was kept";

static void refuse(struct carry *y, const char *why)
{
    call_fail(y->call, ERR_UNAVAILABLE, why);
    y->call->retry_after = "1";
}

static const char *why_refused(const struct roads *r)
{
    return atomic_load(&r->stopping) ? stopping : busy;
}

/* The answer is there and what it says is on the disk: tell the listeners, hand it back. */
static void finish(struct carry *y)
{
    struct call *c = y->call;
    if (c->reply.event && c->status >= 200 && c->status < 300)
        y->roads->publish(y->roads, c->reply.event, c->reply.event_id);
    y->resume(y);
}

static bool mine(struct carry *y, struct store **st)
{
    struct err e = ERR_INIT;
    if (readers_mine(y->roads->readers, st, &e))
        return true;
    call_fail(y->call, e.code, e.text);
    return false;
}

/* ---- on the writer ---- */

static bool change_run(struct job *j, struct store *st)
{
    struct carry *y = (struct carry *)((char *)j - offsetof(struct carry, job));
    return call_run(y->call, st, NULL);
}

static void change_done(struct job *j, const struct err *failed)
{
    struct carry *y = (struct carry *)((char *)j - offsetof(struct carry, job));
    if (failed)
        call_fail(y->call, failed->code, failed->text);
    finish(y);
}

static void to_writer(struct carry *y)
{
    y->job = (struct job){.run = change_run, .done = change_done};
    if (writer_submit(y->roads->writer, &y->job))
        return;
    refuse(y, why_refused(y->roads));
    y->resume(y);
}

/* ---- slices of a worker, run on the writer ---- */

struct slice {
    struct job job;
    const struct call *call;
    write_fn *run;
    void *arg;
    struct err *e;
    bool kept, over;
    pthread_mutex_t lock;
    pthread_cond_t ended;
};

struct work_port {
    struct port port;
    struct carry *y;
};

static bool slice_run(struct job *j, struct store *st)
{
    struct slice *s = (struct slice *)j;
    store_as(st, s->call->who.user_id, s->call->now_ms);
    s->kept = s->run(st, s->arg, s->e);
    return s->kept;
}

static void slice_done(struct job *j, const struct err *failed)
{
    struct slice *s = (struct slice *)j;
    pthread_mutex_lock(&s->lock);
    if (failed) {
        s->kept = false;
        *s->e = *failed;
    }
    s->over = true;
    pthread_cond_signal(&s->ended);
    pthread_mutex_unlock(&s->lock); /* s may be gone now */
}

static bool port_write(struct port *p, write_fn *run, void *arg, struct err *e)
{
    struct carry *y = ((struct work_port *)p)->y;
    struct err none = ERR_INIT;
    struct slice s = {.job = {.run = slice_run, .done = slice_done, .bulk = true},
                      .call = y->call,
                      .run = run,
                      .arg = arg,
                      .e = e ? e : &none,
                      .lock = PTHREAD_MUTEX_INITIALIZER,
                      .ended = PTHREAD_COND_INITIALIZER};
    if (atomic_load(&y->roads->stopping) || !writer_submit(y->roads->writer, &s.job))
        return err_set(e, ERR_UNAVAILABLE, "%s", why_refused(y->roads));
    pthread_mutex_lock(&s.lock);
    while (!s.over)
        pthread_cond_wait(&s.ended, &s.lock);
    pthread_mutex_unlock(&s.lock);
    return s.kept;
}

static bool port_wanted(struct port *p)
{
    return writer_is_wanted(((struct work_port *)p)->y->roads->writer);
}

/* ---- on a worker ---- */

static void work_run(struct task *t)
{
    struct carry *y = (struct carry *)((char *)t - offsetof(struct carry, task));
    struct call *c = y->call;
    struct store *st;
    if (!mine(y, &st)) {
        finish(y);
        return;
    }
    if (c->route->prepare)
        call_prepare(c, st);
    if (!c->done && (c->route->flags & WRITE)) {
        to_writer(y);
        return;
    }
    struct work_port port = {.port = {.write = port_write, .wanted = port_wanted}, .y = y};
    if (!c->done)
        call_run(c, st, &port.port);
    finish(y);
}

static void work_cancel(struct task *t)
{
    struct carry *y = (struct carry *)((char *)t - offsetof(struct carry, task));
    refuse(y, stopping);
    y->resume(y);
}

/* ---- on the polling thread ---- */

void carry_route(struct carry *y)
{
    struct store *st;
    if (mine(y, &st))
        call_route(y->call, st);
}

/* Changes and loads may take minutes; what only looks (partners of a tube) is wanted at once. */
static bool is_slow(const struct route *r)
{
    return (r->flags & WORK) && r->method != GET;
}

static void to_worker(struct carry *y)
{
    y->task = (struct task){.run = work_run,
                            .cancel = work_cancel,
                            .hashes = (y->call->route->flags & HASHES) != 0,
                            .slow = is_slow(y->call->route)};
    if (pool_submit(y->roads->pool, &y->task))
        return;
    refuse(y, why_refused(y->roads));
    y->resume(y);
}

bool carry_run(struct carry *y)
{
    struct call *c = y->call;
    struct store *st;
    if (c->done)
        return true;
    if (c->route->prepare || (c->route->flags & WORK)) {
        y->suspend(y);
        to_worker(y);
        return false;
    }
    if (c->route->flags & WRITE) {
        y->suspend(y);
        to_writer(y);
        return false;
    }
    if (mine(y, &st))
        call_run(c, st, NULL);
    return true;
}
