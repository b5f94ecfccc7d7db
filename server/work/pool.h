/* SPDX-License-Identifier: MIT
 *
 * pool: a few threads for long work: a password hash, a match, a bulk load, a PDF.
 *
 * Tasks wait in one bounded queue and run in its order, except that tasks marked hashes (19 MiB of
 * memory each) run at most POOL_HASHES at once, and tasks marked slow leave one thread free (where
 * there are two or more), so that signing in never waits for a load of minutes; those behind them
 * may overtake.
 */
#ifndef QUADRILLE_WORK_POOL_H
#define QUADRILLE_WORK_POOL_H

#include "base/err.h"

#define POOL_HASHES 2

struct pool;

struct task {
    struct task *next;              /* the queue's */
    void (*run)(struct task *t);    /* on a worker; the task belongs to run from then on */
    void (*cancel)(struct task *t); /* instead of run, on the stopping thread */
    bool hashes;
    bool slow; /* may take minutes */
};

/* threads: 1..64; capacity: most tasks waiting, not counting those that run. */
MUST_USE bool pool_start(struct pool **out, int threads, int capacity, struct err *e);

/* Queue a task; owned by the caller until run or cancel is called, exactly one of them.  false when
 * the queue is full or the pool is stopping: the task was not taken. */
MUST_USE bool pool_submit(struct pool *p, struct task *t);

/* Refuse new tasks from now on, cancel those that wait, let those that run end, join the threads.
 * The pool itself stays, to go on refusing, until pool_free: whoever might still submit must be
 * gone by then.  NULL is fine for both. */
void pool_stop(struct pool *p);
void pool_free(struct pool *p); /* after pool_stop */

#endif
