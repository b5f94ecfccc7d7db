/* SPDX-License-Identifier: MIT
 *
 * Tests of http/carry with routes made for them: which thread runs what, what slices of long work
 * leave behind, and what is answered when there is too much to do or we are stopping.  What is
 * expected is what carry.h and api/route.h promise.
 */
#include "http/carry.h"
#include "store/migrate.h"
#include "store/store_priv.h"

#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

/* ---- a scene: a database file and all roads; a connection that only remembers ---- */

static struct roads roads;
static char folder[64], file[80];
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static pthread_cond_t changed = PTHREAD_COND_INITIALIZER;
static int published;
static bool held, gate; /* a handler is at the gate; it may pass */

struct connection {
    struct carry carry; /* first */
    int suspended, resumed;
};

static void suspend(struct carry *y)
{
    ((struct connection *)y)->suspended++;
}

static void resume(struct carry *y)
{
    pthread_mutex_lock(&lock);
    ((struct connection *)y)->resumed++;
    pthread_cond_broadcast(&changed);
    pthread_mutex_unlock(&lock);
}

static void publish(struct roads *r, const char *kind, int64_t id)
{
    (void)r;
    (void)id;
    assert_string_equal(kind, "maker");
    pthread_mutex_lock(&lock);
    published++;
    pthread_mutex_unlock(&lock);
}

static void await_resume(struct connection *x)
{
    pthread_mutex_lock(&lock);
    while (!x->resumed)
        pthread_cond_wait(&changed, &lock);
    pthread_mutex_unlock(&lock);
}

static void gate_pass(void)
{
    pthread_mutex_lock(&lock);
    held = true;
    pthread_cond_broadcast(&changed);
    while (!gate)
        pthread_cond_wait(&changed, &lock);
    pthread_mutex_unlock(&lock);
}

static void gate_await(void)
{
    pthread_mutex_lock(&lock);
    while (!held)
        pthread_cond_wait(&changed, &lock);
    pthread_mutex_unlock(&lock);
}

static void gate_open(void)
{
    pthread_mutex_lock(&lock);
    gate = true;
    pthread_cond_broadcast(&changed);
    pthread_mutex_unlock(&lock);
}

static int scene_open(void **state)
{
    struct err e = ERR_INIT;
    struct store *st;
    (void)state;
    snprintf(folder, sizeof folder, "/tmp/quadrille-carry-XXXXXX");
    assert_non_null(mkdtemp(folder));
    snprintf(file, sizeof file, "%s/q.db", folder);
    assert_true(migrate_file(file, 1, NULL, &e));
    assert_true(store_open(&st, file, STORE_WRITE, &e));
    roads = (struct roads){.publish = publish, .readers = readers_new(file)};
    assert_true(writer_start(&roads.writer, st, 2, &e));
    assert_true(pool_start(&roads.pool, 1, 1, &e));
    published = 0;
    held = gate = false;
    return 0;
}

static int scene_close(void **state)
{
    char command[100];
    (void)state;
    pool_stop(roads.pool);
    pool_free(roads.pool);
    writer_stop(roads.writer);
    writer_free(roads.writer);
    readers_free(roads.readers);
    snprintf(command, sizeof command, "rm -rf %s", folder);
    return system(command);
}

static void begin(struct connection *x, const struct route *r)
{
    struct call *c = call_new();
    memset(x, 0, sizeof *x);
    c->route = r;
    c->method = r->method;
    c->path = r->path;
    c->trusted = true;
    c->now_ms = 1000;
    x->carry = (struct carry){.call = c, .roads = &roads, .suspend = suspend, .resume = resume};
    carry_route(&x->carry);
    assert_false(c->done);
}

static int64_t makers(void)
{
    struct err e = ERR_INIT;
    struct store *st;
    assert_true(readers_mine(roads.readers, &st, &e));
    return query_number(query(st, "SELECT count(*) FROM maker"));
}

static bool add(struct store *st, struct err *e)
{
    struct query *q = query(st, "INSERT INTO maker (name) SELECT 'm' || count(*) FROM maker");
    return query_run(q, e);
}

/* ---- handlers ---- */

static pthread_t ran_on;

static bool read_one(struct reply *out, struct req *rq, struct err *e)
{
    (void)rq;
    (void)e;
    ran_on = pthread_self();
    out->text = "x";
    out->text_n = 1;
    out->content_type = "text/plain";
    return true;
}

static bool write_one(struct reply *out, struct req *rq, struct err *e)
{
    ran_on = pthread_self();
    out->event = "maker";
    out->event_id = 1;
    return add(rq->store, e);
}

static bool write_and_refuse(struct reply *out, struct req *rq, struct err *e)
{
    out->event = "maker";
    return add(rq->store, e) && err_set(e, ERR_CONFLICT, "no");
}

static bool write_at_gate(struct reply *out, struct req *rq, struct err *e)
{
    (void)out;
    gate_pass();
    return add(rq->store, e);
}

static bool wait_at_gate(struct reply *out, struct req *rq, struct err *e)
{
    (void)out;
    (void)rq;
    (void)e;
    gate_pass();
    return true;
}

static bool prepare_it(struct reply *out, struct req *rq, struct err *e)
{
    (void)out;
    (void)e;
    rq->prepared = arena_text(rq->arena, "prepared");
    return true;
}

static bool prepare_refuses(struct reply *out, struct req *rq, struct err *e)
{
    (void)out;
    (void)rq;
    return err_set(e, ERR_INVALID, "not like this");
}

static bool write_prepared(struct reply *out, struct req *rq, struct err *e)
{
    assert_string_equal(rq->prepared, "prepared");
    return write_one(out, rq, e);
}

static bool slice_good(struct store *st, void *arg, struct err *e)
{
    assert_int_equal(store_now(st), 1000);
    (*(int *)arg)++;
    return add(st, e);
}

static bool slice_bad(struct store *st, void *arg, struct err *e)
{
    (*(int *)arg)++;
    return add(st, e) && err_set(e, ERR_CONFLICT, "this slice is no good");
}

static bool work_in_slices(struct reply *out, struct req *rq, struct err *e)
{
    int ran = 0;
    out->event = "maker";
    for (int i = 0; i < 3; i++)
        if (!rq->port->write(rq->port, slice_good, &ran, e))
            return false;
    struct err said = ERR_INIT;
    if (rq->port->write(rq->port, slice_bad, &ran, &said))
        return err_set(e, ERR_INTERNAL, "a slice that said no was kept");
    assert_string_equal(said.text, "this slice is no good");
    assert_int_equal(ran, 4);
    return true;
}

/* Passes the gate between its first slice and its second. */
static bool work_interrupted(struct reply *out, struct req *rq, struct err *e)
{
    int ran = 0;
    (void)out;
    if (!rq->port->write(rq->port, slice_good, &ran, e))
        return err_set(e, ERR_INTERNAL, "the first slice was refused");
    gate_pass();
    return rq->port->write(rq->port, slice_good, &ran, e);
}

#define ROUTE(method_, flags_, prepare_, run_)                                  \
    (struct route)                                                              \
    {                                                                           \
        .method = method_, .path = "/api/x", .roles = R_OWNER, .flags = flags_, \
        .prepare = prepare_, .run = run_, .help = "for the test"                \
    }

/* ---- tests ---- */

static void a_read_runs_here_and_at_once(void **state)
{
    (void)state;
    struct route r = ROUTE(GET, 0, NULL, read_one);
    struct connection x;
    begin(&x, &r);
    assert_true(carry_run(&x.carry));
    assert_true(pthread_equal(ran_on, pthread_self()));
    assert_int_equal(x.suspended, 0);
    assert_int_equal(x.carry.call->status, 200);
    call_free(x.carry.call);
}

static void a_change_runs_on_the_writer_and_is_told_after_the_commit(void **state)
{
    (void)state;
    struct route r = ROUTE(POST, WRITE, NULL, write_one);
    struct connection x;
    begin(&x, &r);
    assert_false(carry_run(&x.carry));
    await_resume(&x);
    assert_false(pthread_equal(ran_on, pthread_self()));
    assert_int_equal(x.suspended, 1);
    assert_int_equal(x.resumed, 1);
    assert_int_equal(x.carry.call->status, 204);
    assert_int_equal(makers(), 1);
    assert_int_equal(published, 1);
    call_free(x.carry.call);
}

static void a_change_that_is_refused_leaves_nothing_and_tells_nobody(void **state)
{
    (void)state;
    struct route r = ROUTE(POST, WRITE, NULL, write_and_refuse);
    struct connection x;
    begin(&x, &r);
    assert_false(carry_run(&x.carry));
    await_resume(&x);
    assert_int_equal(x.carry.call->status, 409);
    assert_int_equal(makers(), 0);
    assert_int_equal(published, 0);
    call_free(x.carry.call);
}

static void what_is_prepared_reaches_the_change(void **state)
{
    (void)state;
    struct route r = ROUTE(POST, WRITE | HASHES, prepare_it, write_prepared);
    struct connection x;
    begin(&x, &r);
    assert_false(carry_run(&x.carry));
    await_resume(&x);
    assert_int_equal(x.carry.call->status, 204);
    assert_int_equal(makers(), 1);
    call_free(x.carry.call);
}

static void a_preparation_that_refuses_is_the_answer(void **state)
{
    (void)state;
    struct route r = ROUTE(POST, WRITE, prepare_refuses, write_one);
    struct connection x;
    begin(&x, &r);
    assert_false(carry_run(&x.carry));
    await_resume(&x);
    assert_int_equal(x.carry.call->status, 422);
    assert_non_null(strstr(x.carry.call->answer, "not like this"));
    assert_int_equal(makers(), 0);
    call_free(x.carry.call);
}

static void slices_are_kept_one_by_one_and_a_bad_one_is_undone_alone(void **state)
{
    (void)state;
    struct route r = ROUTE(POST, WORK, NULL, work_in_slices);
    struct connection x;
    begin(&x, &r);
    assert_false(carry_run(&x.carry));
    await_resume(&x);
    assert_int_equal(x.carry.call->status, 204);
    assert_int_equal(makers(), 3);
    assert_int_equal(published, 1);
    call_free(x.carry.call);
}

static void long_work_gets_no_more_slices_once_we_are_stopping(void **state)
{
    (void)state;
    struct route r = ROUTE(POST, WORK, NULL, work_interrupted);
    struct connection x;
    begin(&x, &r);
    assert_false(carry_run(&x.carry));
    gate_await();
    atomic_store(&roads.stopping, true);
    gate_open();
    await_resume(&x);
    assert_int_equal(x.carry.call->status, 503);
    assert_non_null(strstr(x.carry.call->answer, "stopping"));
    assert_int_equal(makers(), 1); /* what was kept before stays kept */
    call_free(x.carry.call);
}

static void a_full_pool_is_answered_503_at_once(void **state)
{
    (void)state;
    struct route r = ROUTE(POST, WORK, NULL, wait_at_gate);
    struct connection x[3];
    begin(&x[0], &r);
    assert_false(carry_run(&x[0].carry));
    gate_await(); /* the one worker is busy */
    for (int i = 1; i < 3; i++) {
        begin(&x[i], &r);
        assert_false(carry_run(&x[i].carry));
    }
    assert_int_equal(x[1].resumed, 0); /* the one place to wait */
    assert_int_equal(x[2].suspended, 1);
    assert_int_equal(x[2].resumed, 1);
    assert_int_equal(x[2].carry.call->status, 503);
    assert_string_equal(x[2].carry.call->retry_after, "1");
    gate_open();
    for (int i = 0; i < 2; i++) {
        await_resume(&x[i]);
        assert_int_equal(x[i].carry.call->status, 204);
    }
    for (int i = 0; i < 3; i++)
        call_free(x[i].carry.call);
}

static void work_that_waits_is_cancelled_by_stopping(void **state)
{
    struct route r = ROUTE(POST, WORK, NULL, wait_at_gate);
    struct connection x[2];
    struct err e = ERR_INIT;
    (void)state;
    for (int i = 0; i < 2; i++) {
        begin(&x[i], &r);
        assert_false(carry_run(&x[i].carry));
        gate_await();
    }
    gate_open(); /* the first may end, and the second may be cancelled or run: but it is answered */
    pool_stop(roads.pool);
    pool_free(roads.pool);
    assert_int_equal(x[0].carry.call->status, 204);
    assert_int_equal(x[1].resumed, 1);
    assert_true(x[1].carry.call->status == 503 || x[1].carry.call->status == 204);
    for (int i = 0; i < 2; i++)
        call_free(x[i].carry.call);
    assert_true(pool_start(&roads.pool, 1, 1, &e));
}

static void a_full_writer_is_answered_503_and_keeps_what_waits(void **state)
{
    (void)state;
    struct route at_gate = ROUTE(POST, WRITE, NULL, write_at_gate);
    struct route r = ROUTE(POST, WRITE, NULL, write_one);
    struct connection x[4];
    begin(&x[0], &at_gate);
    assert_false(carry_run(&x[0].carry));
    gate_await();
    for (int i = 1; i < 4; i++) {
        begin(&x[i], &r);
        assert_false(carry_run(&x[i].carry));
    }
    assert_int_equal(x[3].carry.call->status, 503);
    assert_int_equal(x[3].resumed, 1);
    gate_open();
    for (int i = 0; i < 3; i++) {
        await_resume(&x[i]);
        assert_int_equal(x[i].carry.call->status, 204);
    }
    assert_int_equal(makers(), 3);
    for (int i = 0; i < 4; i++)
        call_free(x[i].carry.call);
}

int main(void)
{
#define SCENE(test) cmocka_unit_test_setup_teardown(test, scene_open, scene_close)
    const struct CMUnitTest tests[] = {
        SCENE(a_read_runs_here_and_at_once),
        SCENE(a_change_runs_on_the_writer_and_is_told_after_the_commit),
        SCENE(a_change_that_is_refused_leaves_nothing_and_tells_nobody),
        SCENE(what_is_prepared_reaches_the_change),
        SCENE(a_preparation_that_refuses_is_the_answer),
        SCENE(slices_are_kept_one_by_one_and_a_bad_one_is_undone_alone),
        SCENE(long_work_gets_no_more_slices_once_we_are_stopping),
        SCENE(a_full_pool_is_answered_503_at_once),
        SCENE(work_that_waits_is_cancelled_by_stopping),
        SCENE(a_full_writer_is_answered_503_and_keeps_what_waits),
    };
    return cmocka_run_group_tests_name("carry", tests, NULL, NULL);
}
