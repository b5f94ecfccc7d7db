/* SPDX-License-Identifier: MIT
 *
 * Tests of http/writer on a database in memory.  What is expected is what writer.h promises; order
 * and grouping are seen from inside, by SQLite's own commit hook, and made certain by a first job
 * that holds the writer until the others are queued.
 */
#include "http/writer.h"
#include "store/store_priv.h"

#include <pthread.h>
#include <sched.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

struct scene {
    struct writer *w;
    struct store *st;
    pthread_mutex_t lock;
    pthread_cond_t changed;
    bool held, open; /* the gate: the first job is in it; it may pass */
    char story[200]; /* what ran and what was committed, in order */
    int done, failed;
};

struct step {
    struct job job;
    struct scene *in;
    char letter;
    const char *sql;
    bool answer;        /* what run returns */
    struct step *after; /* submitted by this one's run */
    struct err why;     /* of the failure, when it failed */
    bool failed;
};

static void tell(struct scene *s, char letter)
{
    size_t n = strlen(s->story);
    if (n + 1 < sizeof s->story)
        s->story[n] = letter;
}

static int committed(void *arg)
{
    tell(arg, '.');
    return 0;
}

static bool step_run(struct job *j, struct store *st)
{
    struct step *p = (struct step *)j;
    tell(p->in, p->letter);
    if (p->letter == 'G') {
        pthread_mutex_lock(&p->in->lock);
        p->in->held = true;
        pthread_cond_broadcast(&p->in->changed);
        while (!p->in->open)
            pthread_cond_wait(&p->in->changed, &p->in->lock);
        pthread_mutex_unlock(&p->in->lock);
    }
    if (p->sql)
        sqlite3_exec(store_handle(st), p->sql, NULL, NULL, NULL);
    if (p->after)
        assert_true(writer_submit(p->in->w, &p->after->job));
    return p->answer;
}

static void step_done(struct job *j, const struct err *failed)
{
    struct step *p = (struct step *)j;
    struct scene *s = p->in;
    pthread_mutex_lock(&s->lock);
    p->failed = failed != NULL;
    if (failed)
        p->why = *failed;
    s->failed += failed != NULL;
    s->done++;
    pthread_cond_broadcast(&s->changed);
    pthread_mutex_unlock(&s->lock);
}

static struct step step(struct scene *s, char letter, const char *sql, bool answer)
{
    return (struct step){.job = {.run = step_run, .done = step_done},
                         .in = s,
                         .letter = letter,
                         .sql = sql,
                         .answer = answer};
}

static void scene_open(struct scene *s, int capacity)
{
    struct err e = ERR_INIT;
    memset(s, 0, sizeof *s);
    pthread_mutex_init(&s->lock, NULL);
    pthread_cond_init(&s->changed, NULL);
    assert_true(store_open(&s->st, "", STORE_MEMORY, &e));
    assert_int_equal(sqlite3_exec(store_handle(s->st),
                                  "CREATE TABLE top (n INTEGER PRIMARY KEY);"
                                  "CREATE TABLE t (n INTEGER, top INTEGER REFERENCES top (n) "
                                  "DEFERRABLE INITIALLY DEFERRED)",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    sqlite3_commit_hook(store_handle(s->st), committed, s);
    assert_true(writer_start(&s->w, s->st, capacity, &e));
}

static void gate_shut(struct scene *s, struct step *g)
{
    *g = step(s, 'G', NULL, true);
    assert_true(writer_submit(s->w, &g->job));
    pthread_mutex_lock(&s->lock);
    while (!s->held)
        pthread_cond_wait(&s->changed, &s->lock);
    pthread_mutex_unlock(&s->lock);
}

static void gate_open(struct scene *s)
{
    pthread_mutex_lock(&s->lock);
    s->open = true;
    pthread_cond_broadcast(&s->changed);
    pthread_mutex_unlock(&s->lock);
}

static void await_done(struct scene *s, int n)
{
    pthread_mutex_lock(&s->lock);
    while (s->done < n)
        pthread_cond_wait(&s->changed, &s->lock);
    pthread_mutex_unlock(&s->lock);
}

/* The writer is idle once all are done, so the database may be looked at from here. */
static int64_t rows(struct scene *s)
{
    return query_number(query(s->st, "SELECT count(*) FROM t"));
}

static void scene_close(struct scene *s)
{
    writer_stop(s->w);
    writer_free(s->w);
    pthread_cond_destroy(&s->changed);
    pthread_mutex_destroy(&s->lock);
}

#define INSERT "INSERT INTO t (n) VALUES (1)"

static void all_that_wait_are_committed_together(void **state)
{
    (void)state;
    struct scene s;
    struct step g, p[5];
    scene_open(&s, 100);
    gate_shut(&s, &g);
    for (int i = 0; i < 5; i++) {
        p[i] = step(&s, (char)('1' + i), INSERT, true);
        assert_true(writer_submit(s.w, &p[i].job));
    }
    gate_open(&s);
    await_done(&s, 6);
    assert_string_equal(s.story, "G.12345.");
    assert_int_equal(s.failed, 0);
    assert_int_equal(rows(&s), 5);
    scene_close(&s);
}

static void a_job_that_says_no_is_undone_alone(void **state)
{
    (void)state;
    struct scene s;
    struct step g, p[3];
    scene_open(&s, 100);
    gate_shut(&s, &g);
    for (int i = 0; i < 3; i++) {
        p[i] = step(&s, (char)('1' + i), INSERT, i != 1);
        assert_true(writer_submit(s.w, &p[i].job));
    }
    gate_open(&s);
    await_done(&s, 4);
    assert_int_equal(s.failed, 0); /* it has its own answer already */
    assert_int_equal(rows(&s), 2);
    scene_close(&s);
}

static void a_commit_that_fails_is_told_to_every_job_of_its_group(void **state)
{
    (void)state;
    struct scene s;
    struct step g, p[3], later;
    scene_open(&s, 100);
    gate_shut(&s, &g);
    for (int i = 0; i < 3; i++) {
        /* the middle one leaves an orphan, which SQLite refuses at the commit */
        p[i] = step(&s, (char)('1' + i), i == 1 ? "INSERT INTO t VALUES (2, 99)" : INSERT, true);
        assert_true(writer_submit(s.w, &p[i].job));
    }
    gate_open(&s);
    await_done(&s, 4);
    assert_false(g.failed);
    for (int i = 0; i < 3; i++) {
        assert_true(p[i].failed);
        assert_int_equal(p[i].why.code, ERR_UNAVAILABLE);
    }
    assert_int_equal(rows(&s), 0);
    later = step(&s, 'L', INSERT, true);
    assert_true(writer_submit(s.w, &later.job));
    await_done(&s, 5);
    assert_false(later.failed);
    assert_int_equal(rows(&s), 1);
    scene_close(&s);
}

/* SQLite rolls a transaction back by itself on some I/O errors (lang_transaction.html, section 3);
 * ROLLBACK inside a job does the same to us. */
static void a_transaction_lost_underway_fails_its_group_and_keeps_nothing(void **state)
{
    (void)state;
    struct scene s;
    struct step g, p[3];
    scene_open(&s, 100);
    gate_shut(&s, &g);
    for (int i = 0; i < 3; i++) {
        p[i] = step(&s, (char)('1' + i), i == 1 ? "ROLLBACK" : INSERT, i != 1);
        assert_true(writer_submit(s.w, &p[i].job));
    }
    gate_open(&s);
    await_done(&s, 4);
    for (int i = 0; i < 3; i++)
        assert_true(p[i].failed);
    assert_int_equal(rows(&s), 0);
    scene_close(&s);
}

static void a_job_that_fills_the_disk_leaves_the_others_alone(void **state)
{
    (void)state;
    struct scene s;
    struct step g, p[3];
    scene_open(&s, 100);
    assert_int_equal(
        sqlite3_exec(store_handle(s.st), "PRAGMA max_page_count = 400", NULL, NULL, NULL),
        SQLITE_OK);
    gate_shut(&s, &g);
    for (int i = 0; i < 3; i++) {
        p[i] = step(&s, (char)('1' + i),
                    i == 1 ? "INSERT INTO t SELECT zeroblob(9000000), NULL" : INSERT, i != 1);
        assert_true(writer_submit(s.w, &p[i].job));
    }
    gate_open(&s);
    await_done(&s, 4);
    assert_int_equal(rows(&s), p[0].failed ? 0 : 2);
    assert_int_equal(s.failed, p[0].failed ? 3 : 0);
    scene_close(&s);
}

static void a_single_job_waits_for_one_slice_at_most(void **state)
{
    (void)state;
    struct scene s;
    struct step g, single[3], slice[3];
    scene_open(&s, 100);
    gate_shut(&s, &g);
    for (int i = 0; i < 3; i++) {
        single[i] = step(&s, (char)('1' + i), INSERT, true);
        slice[i] = step(&s, (char)('a' + i), INSERT, true);
        slice[i].job.bulk = true;
        assert_true(writer_submit(s.w, &slice[i].job));
    }
    assert_true(writer_submit(s.w, &single[0].job));
    assert_true(writer_submit(s.w, &single[1].job));
    slice[1].after = &single[2]; /* comes while a slice runs, with another one waiting */
    gate_open(&s);
    await_done(&s, 7);
    /* a takes its turn right after the gate's group; whoever waits is committed with it */
    assert_string_equal(s.story, "G.a12.b3.c.");
    scene_close(&s);
}

static void a_full_queue_refuses_and_never_calls_done(void **state)
{
    (void)state;
    struct scene s;
    struct step g, p[3];
    scene_open(&s, 2);
    gate_shut(&s, &g);
    for (int i = 0; i < 3; i++)
        p[i] = step(&s, (char)('1' + i), INSERT, true);
    assert_true(writer_submit(s.w, &p[0].job));
    assert_true(writer_submit(s.w, &p[1].job));
    assert_false(writer_submit(s.w, &p[2].job));
    gate_open(&s);
    await_done(&s, 3);
    assert_string_equal(s.story, "G.12.");
    scene_close(&s);
    assert_int_equal(s.done, 3);
}

static void *stop(void *w)
{
    writer_stop(w);
    writer_free(w);
    return NULL;
}

static void stopping_refuses_what_is_new_and_commits_what_waits(void **state)
{
    (void)state;
    enum { MOST = 10000 };
    struct scene s;
    struct step g, *p = xcalloc(MOST, sizeof *p);
    scene_open(&s, 2 * MOST);
    gate_shut(&s, &g);
    pthread_t stopper;
    assert_int_equal(pthread_create(&stopper, NULL, stop, s.w), 0);
    int n = 0;
    for (; n < MOST; n++) {
        p[n] = step(&s, '\0', INSERT, true);
        p[n].job.bulk = n % 7 == 0;
        if (!writer_submit(s.w, &p[n].job))
            break;
        sched_yield();
    }
    assert_true(n < MOST);
    gate_open(&s);
    pthread_join(stopper, NULL);
    assert_int_equal(s.done, n + 1);
    assert_int_equal(s.failed, 0);
    free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_that_wait_are_committed_together),
        cmocka_unit_test(a_job_that_says_no_is_undone_alone),
        cmocka_unit_test(a_commit_that_fails_is_told_to_every_job_of_its_group),
        cmocka_unit_test(a_transaction_lost_underway_fails_its_group_and_keeps_nothing),
        cmocka_unit_test(a_job_that_fills_the_disk_leaves_the_others_alone),
        cmocka_unit_test(a_single_job_waits_for_one_slice_at_most),
        cmocka_unit_test(a_full_queue_refuses_and_never_calls_done),
        cmocka_unit_test(stopping_refuses_what_is_new_and_commits_what_waits),
    };
    return cmocka_run_group_tests_name("writer", tests, NULL, NULL);
}
