/* SPDX-License-Identifier: MIT
 *
 * Tests of http/events inside a small server of their own, so that its one polling thread can be
 * held while much happens.  What is expected is what events.h promises; the form of a stream is
 * that of WHATWG HTML, section 9.2.
 */
#include "http/events.h"

#include "daemon/daemon.h"

#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

static struct events *events;
static struct MHD_Daemon *server;
static struct daemon d; /* for dial alone: its port */
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static pthread_cond_t changed = PTHREAD_COND_INITIALIZER;
static bool held, open_gate;
static int ended;

/* "/hold" holds the polling thread; anything else joins. */
static enum MHD_Result on_step(void *cls, struct MHD_Connection *con, const char *url,
                               const char *method, const char *version, const char *data, size_t *n,
                               void **of_request)
{
    struct MHD_Response *r;
    struct err e = ERR_INIT;
    (void)cls, (void)method, (void)version, (void)data, (void)n;
    if (!*of_request) {
        *of_request = server;
        return MHD_YES;
    }
    if (strcmp(url, "/hold") == 0) {
        pthread_mutex_lock(&lock);
        held = true;
        pthread_cond_broadcast(&changed);
        while (!open_gate)
            pthread_cond_wait(&changed, &lock);
        pthread_mutex_unlock(&lock);
        r = MHD_create_response_from_buffer(0, NULL, MHD_RESPMEM_PERSISTENT);
    } else if (!events_join(&r, events, con,
                            MHD_lookup_connection_value(con, MHD_HEADER_KIND, "Last-Event-ID"),
                            &e)) {
        r = MHD_create_response_from_buffer(strlen(e.text), e.text, MHD_RESPMEM_MUST_COPY);
    }
    enum MHD_Result queued = MHD_queue_response(con, MHD_HTTP_OK, r);
    MHD_destroy_response(r);
    return queued;
}

static void on_end(void *cls, struct MHD_Connection *con, void **of_request,
                   enum MHD_RequestTerminationCode how)
{
    (void)cls, (void)con, (void)of_request, (void)how;
    pthread_mutex_lock(&lock);
    ended++;
    pthread_cond_broadcast(&changed);
    pthread_mutex_unlock(&lock);
}

static int start(void **state)
{
    (void)state;
    held = open_gate = false;
    ended = 0;
    events = events_new(2, 1000);
    server =
        MHD_start_daemon(MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME, 0, NULL, NULL,
                         on_step, NULL, MHD_OPTION_NOTIFY_COMPLETED, on_end, NULL, MHD_OPTION_END);
    assert_non_null(server);
    d.port = MHD_get_daemon_info(server, MHD_DAEMON_INFO_BIND_PORT)->port;
    return 0;
}

static int stop(void **state)
{
    (void)state;
    events_close(events);
    MHD_stop_daemon(server);
    events_free(events);
    return 0;
}

static int ask_for(const char *path, const char *last_id)
{
    char text[200];
    int fd = dial(&d);
    snprintf(text, sizeof text, "GET %s HTTP/1.1\r\nHost: x\r\n%s%s%s\r\n", path,
             last_id ? "Last-Event-ID: " : "", last_id ? last_id : "", last_id ? "\r\n" : "");
    say(fd, text);
    return fd;
}

static int join(const char *last_id)
{
    int fd = ask_for("/", last_id);
    free(hear(fd, "retry: 2000\n\n"));
    return fd;
}

static void expect(int fd, const char *text)
{
    char *said = hear(fd, text);
    if (!strstr(said, text))
        fail_msg("\"%s\" expected, \"%s\" came", text, said);
    free(said);
}

static void await(const bool *what)
{
    pthread_mutex_lock(&lock);
    while (!*what)
        pthread_cond_wait(&changed, &lock);
    pthread_mutex_unlock(&lock);
}

static void let_go(void)
{
    pthread_mutex_lock(&lock);
    open_gate = true;
    pthread_cond_broadcast(&changed);
    pthread_mutex_unlock(&lock);
}

static void every_listener_gets_every_event_in_order(void **state)
{
    (void)state;
    int one = join(NULL), two = join(NULL);
    for (int i = 0; i < 100; i++)
        events_publish(events, "tube", i);
    for (int k = 0; k < 2; k++) {
        char *said = hear(k ? two : one, "\"id\":99}\n\n"), *at = said, wanted[80];
        for (int i = 0; i < 100; i++) {
            snprintf(wanted, sizeof wanted,
                     "id: %d\nevent: tube\ndata: {\"kind\":\"tube\",\"id\":%d}\n\n", 1000 + i, i);
            at = strstr(at, wanted);
            assert_non_null(at);
        }
        free(said);
    }
    close(one);
    close(two);
}

static void who_falls_too_far_behind_is_told_to_reload_once(void **state)
{
    (void)state;
    int fd = join(NULL), hold = ask_for("/hold", NULL);
    await(&held);
    for (int i = 0; i <= EVENTS_KEPT; i++)
        events_publish(events, "tube", i);
    let_go();
    char *said = hear(fd, "event: reload\ndata: {\"kind\":\"reload\"}\n\n");
    assert_null(strstr(said, "event: tube"));
    free(said);
    events_publish(events, "lot", 7);
    said = hear(fd, "\"id\":7}\n\n");
    assert_non_null(strstr(said, "event: lot\n"));
    assert_null(strstr(said, "event: reload"));
    free(said);
    close(fd);
    close(hold);
}

static void who_is_just_not_too_far_behind_gets_all(void **state)
{
    (void)state;
    int fd = join(NULL), hold = ask_for("/hold", NULL);
    await(&held);
    for (int i = 0; i < EVENTS_KEPT; i++)
        events_publish(events, "tube", i);
    let_go();
    char last[40];
    snprintf(last, sizeof last, "\"id\":%d}\n\n", EVENTS_KEPT - 1);
    char *said = hear(fd, last);
    assert_non_null(strstr(said, "\"id\":0}\n\n"));
    assert_null(strstr(said, "event: reload"));
    free(said);
    close(fd);
    close(hold);
}

static void who_comes_back_goes_on_where_it_was(void **state)
{
    (void)state;
    for (int i = 0; i < 5; i++)
        events_publish(events, "tube", i); /* 1000 .. 1004 */
    int fd = ask_for("/", "1002");
    char *said = hear(fd, "\"id\":4}\n\n");
    assert_non_null(strstr(said, "id: 1003\n"));
    assert_null(strstr(said, "id: 1002\n"));
    free(said);
    close(fd);
    static const char *const unknown[] = {"998", "1005", "12x", "", "-1"};
    for (size_t i = 0; i < sizeof unknown / sizeof unknown[0]; i++) {
        int ended_before = ended;
        fd = ask_for("/", unknown[i]);
        expect(fd, "event: reload\n");
        close(fd);
        events_beat(events); /* so that its end is noticed, and there is room for the next */
        events_beat(events);
        pthread_mutex_lock(&lock);
        while (ended <= ended_before) {
            pthread_mutex_unlock(&lock);
            usleep(1000);
            events_beat(events);
            pthread_mutex_lock(&lock);
        }
        pthread_mutex_unlock(&lock);
    }
}

static void a_heartbeat_is_a_comment_and_many_of_them_end_the_stream(void **state)
{
    (void)state;
    int fd = join(NULL);
    for (int i = 1; i < EVENTS_BEATS_MOST; i++) {
        events_beat(events);
        expect(fd, ":\n\n");
    }
    events_beat(events);
    expect(fd, "0\r\n\r\n"); /* the last chunk (RFC 9112, section 7.1) */
    close(fd);
}

static void closing_ends_all_streams_and_refuses_new_ones(void **state)
{
    (void)state;
    int one = join(NULL), two = join(NULL);
    int three = ask_for("/", NULL);
    expect(three, "there are 2 event streams open");
    events_close(events);
    expect(one, "0\r\n\r\n");
    expect(two, "0\r\n\r\n");
    int four = ask_for("/", NULL);
    expect(four, "the program is stopping");
    close(one);
    close(two);
    close(three);
    close(four);
}

int main(void)
{
#define SCENE(test) cmocka_unit_test_setup_teardown(test, start, stop)
    const struct CMUnitTest tests[] = {
        SCENE(every_listener_gets_every_event_in_order),
        SCENE(who_falls_too_far_behind_is_told_to_reload_once),
        SCENE(who_is_just_not_too_far_behind_gets_all),
        SCENE(who_comes_back_goes_on_where_it_was),
        SCENE(a_heartbeat_is_a_comment_and_many_of_them_end_the_stream),
        SCENE(closing_ends_all_streams_and_refuses_new_ones),
    };
    return cmocka_run_group_tests_name("events", tests, NULL, NULL);
}
