/* SPDX-License-Identifier: MIT
 *
 * Tests of work/pool.  What is expected is what pool.h promises.  Threads meet at gates, never by
 * waiting for a time.
 */
#include "work/pool.h"

#include "base/arena.h"

#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* What all tasks of a test share. */
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static pthread_cond_t changed = PTHREAD_COND_INITIALIZER;
static int running, hashing, most_running, most_hashing, ended, cancelled;
static bool open_gate, quick_runs;

struct work {
    struct task task;
    int number;
};

static int order[64];

static void reset(void)
{
    running = hashing = most_running = most_hashing = ended = cancelled = 0;
    open_gate = quick_runs = false;
}

static void work_run(struct task *t)
{
    struct work *w = (struct work *)t;
    pthread_mutex_lock(&lock);
    running++;
    hashing += t->hashes;
    quick_runs = quick_runs || !t->slow;
    most_running = running > most_running ? running : most_running;
    most_hashing = hashing > most_hashing ? hashing : most_hashing;
    pthread_cond_broadcast(&changed);
    while (!open_gate)
        pthread_cond_wait(&changed, &lock);
    running--;
    hashing -= t->hashes;
    order[ended++] = w->number;
    pthread_cond_broadcast(&changed);
    pthread_mutex_unlock(&lock);
}

static void work_cancel(struct task *t)
{
    (void)t;
    pthread_mutex_lock(&lock);
    cancelled++;
    pthread_cond_broadcast(&changed);
    pthread_mutex_unlock(&lock);
}

static void await(const int *what, int n)
{
    pthread_mutex_lock(&lock);
    while (*what < n)
        pthread_cond_wait(&changed, &lock);
    pthread_mutex_unlock(&lock);
}

static void gate_open(void)
{
    pthread_mutex_lock(&lock);
    open_gate = true;
    pthread_cond_broadcast(&changed);
    pthread_mutex_unlock(&lock);
}

static struct pool *pool_of(int threads, int capacity)
{
    struct err e = ERR_INIT;
    struct pool *p = NULL;
    reset();
    assert_true(pool_start(&p, threads, capacity, &e));
    return p;
}

static struct work work_of(int number, bool hashes)
{
    return (struct work){.task = {.run = work_run, .cancel = work_cancel, .hashes = hashes},
                         .number = number};
}

static void one_thread_runs_tasks_in_the_order_they_came(void **state)
{
    (void)state;
    struct pool *p = pool_of(1, 10);
    struct work w[10];
    gate_open();
    for (int i = 0; i < 10; i++) {
        w[i] = work_of(i, false);
        assert_true(pool_submit(p, &w[i].task));
    }
    await(&ended, 10);
    pool_stop(p);
    pool_free(p);
    for (int i = 0; i < 10; i++)
        assert_int_equal(order[i], i);
}

static void a_full_queue_refuses(void **state)
{
    (void)state;
    struct pool *p = pool_of(1, 2);
    struct work w[4];
    for (int i = 0; i < 4; i++)
        w[i] = work_of(i, false);
    assert_true(pool_submit(p, &w[0].task));
    await(&running, 1);
    assert_true(pool_submit(p, &w[1].task));
    assert_true(pool_submit(p, &w[2].task));
    assert_false(pool_submit(p, &w[3].task));
    gate_open();
    await(&ended, 3);
    assert_true(pool_submit(p, &w[3].task));
    await(&ended, 4);
    pool_stop(p);
    pool_free(p);
}

static void at_most_two_hashes_run_at_once_and_others_overtake_them(void **state)
{
    (void)state;
    struct pool *p = pool_of(4, 10);
    struct work w[6];
    for (int i = 0; i < 6; i++) {
        w[i] = work_of(i, i < 4);
        assert_true(pool_submit(p, &w[i].task));
    }
    await(&running, 4); /* two hashes, and the two others from behind them */
    gate_open();
    await(&ended, 6);
    pool_stop(p);
    pool_free(p);
    assert_int_equal(most_hashing, POOL_HASHES);
    assert_int_equal(most_running, 4);
}

static void slow_tasks_leave_one_thread_free(void **state)
{
    (void)state;
    struct pool *p = pool_of(3, 10);
    struct work w[6];
    for (int i = 0; i < 6; i++) {
        w[i] = work_of(i, false);
        w[i].task.slow = i < 5;
        assert_true(pool_submit(p, &w[i].task));
    }
    await(&running, 3); /* two slow ones, and the quick one from behind all of them */
    pthread_mutex_lock(&lock);
    assert_int_equal(running, 3);
    assert_true(quick_runs);
    pthread_mutex_unlock(&lock);
    gate_open();
    await(&ended, 6);
    pool_stop(p);
    pool_free(p);
}

static void *stop(void *p)
{
    pool_stop(p);
    pool_free(p);
    return NULL;
}

static void stopping_cancels_what_waits_and_lets_end_what_runs(void **state)
{
    (void)state;
    struct pool *p = pool_of(1, 10);
    struct work w[4];
    for (int i = 0; i < 4; i++) {
        w[i] = work_of(i, false);
        assert_true(pool_submit(p, &w[i].task));
        if (i == 0)
            await(&running, 1);
    }
    pthread_t stopper;
    assert_int_equal(pthread_create(&stopper, NULL, stop, p), 0);
    await(&cancelled, 3);
    gate_open();
    pthread_join(stopper, NULL);
    assert_int_equal(ended, 1);
    assert_int_equal(cancelled, 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_thread_runs_tasks_in_the_order_they_came),
        cmocka_unit_test(a_full_queue_refuses),
        cmocka_unit_test(at_most_two_hashes_run_at_once_and_others_overtake_them),
        cmocka_unit_test(slow_tasks_leave_one_thread_free),
        cmocka_unit_test(stopping_cancels_what_waits_and_lets_end_what_runs),
    };
    return cmocka_run_group_tests_name("pool", tests, NULL, NULL);
}
