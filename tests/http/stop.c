/* SPDX-License-Identifier: MIT
 *
 * Stopping the daemon with every kind of connection open.  libmicrohttpd aborts the process when it
 * is stopped over a suspended connection, so that each kind that may be suspended, and each that
 * may be anywhere else, is tried alone and all together.  Expected (design.md, sections 3 and 7):
 * exit status 0, and what was taken is answered and kept.
 */
#include "daemon/daemon.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cmocka.h>
#include <sqlite3.h>

static struct daemon d;
static char web[64]; /* a folder with one page that no socket buffer takes whole */

#define PAGE_BYTES (24L << 20)

static int start(void **state)
{
    (void)state;
    char path[100];
    snprintf(web, sizeof web, "/tmp/quadrille-web-XXXXXX");
    assert_non_null(mkdtemp(web));
    snprintf(path, sizeof path, "%s/large.txt", web);
    FILE *f = fopen(path, "we");
    assert_non_null(f);
    assert_int_equal(ftruncate(fileno(f), PAGE_BYTES), 0);
    fclose(f);
    daemon_start(&d, "--web", web, NULL);
    return 0;
}

/* Every test stops the daemon itself; this only clears up. */
static int clear(void **state)
{
    (void)state;
    char path[100];
    if (d.pid > 0)
        daemon_kill(&d);
    daemon_forget(&d);
    snprintf(path, sizeof path, "%s/large.txt", web);
    unlink(path);
    rmdir(web);
    return 0;
}

static void expect_clean_end(void)
{
    int status = daemon_await(&d);
    if (status != 0) {
        char *log = daemon_log(&d);
        print_error("%s\n", log);
        free(log);
    }
    assert_int_equal(status, 0);
}

static void expect_clean_stop(void)
{
    daemon_signal(&d, SIGTERM);
    expect_clean_end();
}

/* ---- kinds of connection; each returns one that is in that state ---- */

static int idle(void)
{
    int fd = dial(&d);
    say(fd, "GET /nothing HTTP/1.1\r\nHost: x\r\n\r\n");
    free(hear(fd, "\r\n\r\n{"));
    return fd;
}

static int silent(void)
{
    return dial(&d);
}

static int half_a_head(void)
{
    int fd = dial(&d);
    say(fd, "GET /api/makers HTTP/1.1\r\nHost: x\r\nAuthoriz");
    return fd;
}

static int change_with(const char *name, size_t n_sent)
{
    char text[600], body[80];
    int fd = dial(&d);
    int n = snprintf(body, sizeof body, "{\"name\":\"%s\"}", name);
    snprintf(text, sizeof text,
             "POST /api/makers HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\n"
             "Content-Type: application/json\r\nContent-Length: %d\r\n\r\n",
             d.token, n);
    say(fd, text);
    body[n_sent < (size_t)n ? n_sent : (size_t)n] = '\0';
    say(fd, body);
    return fd;
}

static int half_a_body(void)
{
    return change_with("Half", 5);
}

static int stream_of_events(void)
{
    char text[400];
    int fd = dial(&d);
    snprintf(text, sizeof text,
             "GET /api/events HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\n\r\n", d.token);
    say(fd, text);
    free(hear(fd, "retry: "));
    return fd;
}

static int slow_reader(void)
{
    char some[1000];
    int fd = dial(&d), small = 4096;
    setsockopt(fd, SOL_SOCKET, SO_RCVBUF, &small, sizeof small);
    say(fd, "GET /large.txt HTTP/1.1\r\nHost: x\r\n\r\n");
    assert_true(recv(fd, some, sizeof some, 0) > 0);
    return fd;
}

/* SQLite's write lock, so that the writer waits with a job in hand. */
static sqlite3 *hold_the_database(void)
{
    sqlite3 *db;
    char file[120];
    snprintf(file, sizeof file, "%s/quadrille.db", d.data);
    assert_int_equal(sqlite3_open(file, &db), SQLITE_OK);
    sqlite3_busy_timeout(db, 10000);
    assert_int_equal(sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL), SQLITE_OK);
    return db;
}

static void let_go(sqlite3 *db)
{
    assert_int_equal(sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
}

/* ---- tests ---- */

static void with_one(int (*open_one)(void))
{
    int fd = open_one();
    expect_clean_stop();
    close(fd);
}

static void stops_over_an_idle_connection(void **state)
{
    (void)state;
    with_one(idle);
}

static void stops_over_a_connection_that_said_nothing(void **state)
{
    (void)state;
    with_one(silent);
}

static void stops_over_half_a_head(void **state)
{
    (void)state;
    with_one(half_a_head);
}

static void stops_over_half_a_body(void **state)
{
    (void)state;
    with_one(half_a_body);
}

static void stops_over_a_reader_that_does_not_read(void **state)
{
    (void)state;
    with_one(slow_reader);
}

static void stops_over_a_stream_of_events_and_ends_it(void **state)
{
    (void)state;
    int fd = stream_of_events();
    expect_clean_stop();
    char *rest = hear(fd, NULL);
    assert_non_null(strstr(rest, "0\r\n\r\n")); /* the last chunk: an end, not a break */
    free(rest);
    close(fd);
}

static void a_change_under_way_is_committed_and_answered_before_the_end(void **state)
{
    (void)state;
    sqlite3 *db = hold_the_database();
    int fd[8];
    char name[20];
    for (int i = 0; i < 8; i++) {
        snprintf(name, sizeof name, "Underway %d", i);
        fd[i] = change_with(name, 1000);
    }
    daemon_await_read(&d, 8);
    usleep(300000); /* so that all wait for the writer */
    daemon_signal(&d, SIGTERM);
    usleep(300000); /* so that stopping has begun while they wait */
    let_go(db);
    expect_clean_end();
    int kept = 0;
    for (int i = 0; i < 8; i++) {
        char *said = hear(fd[i], NULL);
        kept += strncmp(said, "HTTP/1.1 201 ", 13) == 0;
        free(said);
        close(fd[i]);
    }
    assert_int_equal(kept, 8);
    daemon_start(&d, "--web", web, NULL);
    struct answer a = ask(&d, "GET", "/api/makers", NULL);
    for (int i = 0; i < 8; i++) {
        snprintf(name, sizeof name, "Underway %d", i);
        assert_non_null(strstr(a.body, name));
    }
    answer_free(&a);
    expect_clean_stop();
}

/* Connections that are open already may still finish a request while the writer drains. */
static void a_request_that_comes_late_is_refused_and_says_why(void **state)
{
    (void)state;
    int late[4];
    for (int i = 0; i < 4; i++)
        late[i] = half_a_body();
    sqlite3 *db = hold_the_database();
    int waits = change_with("Waits", 1000);
    daemon_await_read(&d, 5);
    usleep(300000);
    daemon_signal(&d, SIGTERM);
    usleep(300000); /* so that stopping has begun, and waits for the writer */
    for (int i = 0; i < 4; i++)
        say(late[i], "e\":\"Half\"}");
    for (int i = 0; i < 4; i++) {
        char *said = hear(late[i], NULL);
        assert_int_equal(strncmp(said, "HTTP/1.1 503 ", 13), 0);
        assert_non_null(strstr(said, "the program is stopping"));
        assert_non_null(strstr(said, "Connection: close"));
        free(said);
        close(late[i]);
    }
    let_go(db);
    expect_clean_end();
    char *said = hear(waits, NULL);
    assert_int_equal(strncmp(said, "HTTP/1.1 201 ", 13), 0);
    free(said);
    close(waits);
}

static void make_the_owner(void)
{
    char body[400], *log = daemon_log(&d);
    const char *token = strstr(log, "works once:");
    assert_non_null(token);
    token += strcspn(token, "\n");
    token += strspn(token, "\n ");
    snprintf(body, sizeof body,
             "{\"token\":\"%.43s\",\"name\":\"vera\",\"password\":\"seven quiet brown valves\"}",
             token);
    struct answer a = ask(&d, "POST", "/api/setup", body);
    assert_int_equal(a.status / 100, 2);
    assert_non_null(strstr(a.head, "Set-Cookie: quadrille="));
    assert_non_null(strstr(a.head, "HttpOnly; SameSite=Strict"));
    answer_free(&a);
    free(log);
}

static int sign_in(void)
{
    static const char body[] = "{\"name\":\"vera\",\"password\":\"seven quiet brown valves\"}";
    char text[400];
    int fd = dial(&d);
    snprintf(text, sizeof text,
             "POST /api/session HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
             "Content-Length: %zu\r\n\r\n%s",
             strlen(body), body);
    say(fd, text);
    return fd;
}

/* Each waits for a worker, then for the writer. */
static void password_hashes_under_way_are_answered_before_the_end(void **state)
{
    (void)state;
    enum { MANY = 8 };
    int fd[MANY], kept = 0, refused = 0;
    make_the_owner();
    for (int i = 0; i < MANY; i++)
        fd[i] = sign_in();
    char *first = hear(fd[0], "\r\n\r\n"); /* the first is through: the others wait */
    assert_int_equal(strncmp(first, "HTTP/1.1 201 ", 13) && strncmp(first, "HTTP/1.1 200 ", 13), 0);
    free(first);
    expect_clean_stop();
    for (int i = 1; i < MANY; i++) {
        char *said = hear(fd[i], NULL);
        kept += strncmp(said, "HTTP/1.1 2", 10) == 0;
        refused += strncmp(said, "HTTP/1.1 503 ", 13) == 0;
        free(said);
    }
    for (int i = 0; i < MANY; i++)
        close(fd[i]);
    assert_int_equal(kept + refused, MANY - 1);
}

enum { LOAD_LINES = 6000 };

static char *load_csv(void)
{
    char *csv = calloc(1, LOAD_LINES * 16 + 100);
    size_t n = 0;
    assert_non_null(csv);
    n += (size_t)sprintf(csv, "mark,printed\n");
    for (int i = 0; i < LOAD_LINES; i++)
        n += (size_t)sprintf(csv + n, "L%d,ECC82\n", i);
    return csv;
}

static int number_after(const char *text, const char *name)
{
    const char *at = strstr(text, name);
    assert_non_null(at);
    return atoi(at + strlen(name));
}

/* The load stops at its next slice; what it kept stays, and the same file goes on from there. */
static void a_load_under_way_is_ended_and_can_be_taken_up_again(void **state)
{
    (void)state;
    char head[400], *csv = load_csv(), bearer[160];
    int fd = dial(&d);
    snprintf(head, sizeof head,
             "POST /api/load/tubes HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\n"
             "Content-Type: text/csv\r\nContent-Length: %zu\r\n\r\n",
             d.token, strlen(csv));
    say(fd, head);
    say(fd, csv);
    for (int ms = 0;; ms++) { /* until it has begun to keep */
        struct answer a = ask(&d, "GET", "/api/tubes?limit=1", NULL);
        bool begun = strstr(a.body, "stock_no") != NULL;
        assert_int_equal(a.status, 200);
        answer_free(&a);
        if (begun)
            break;
        if (ms > 60000)
            fail_msg("the load does not begin");
        usleep(1000);
    }
    expect_clean_stop();
    char *said = hear(fd, NULL);
    if (strncmp(said, "HTTP/1.1 200 ", 13) != 0) { /* 200: it was through already */
        assert_int_equal(strncmp(said, "HTTP/1.1 503 ", 13), 0);
        assert_non_null(strstr(said, "stopping"));
    }
    free(said);
    close(fd);
    daemon_start(&d, "--web", web, NULL);
    snprintf(bearer, sizeof bearer, "Authorization: Bearer %s", d.token);
    struct answer a =
        ask_as(&d, "POST", "/api/load/tubes", csv, bearer, "Content-Type: text/csv", NULL);
    assert_int_equal(a.status, 200);
    int unchanged = number_after(a.body, "\"unchanged\":");
    assert_true(unchanged > 0);
    assert_int_equal(number_after(a.body, "\"accepted\":") + unchanged, LOAD_LINES);
    assert_int_equal(number_after(a.body, "\"refused\":"), 0);
    answer_free(&a);
    free(csv);
    expect_clean_stop();
}

static void stops_over_all_kinds_at_once(void **state)
{
    (void)state;
    static int (*const kinds[])(void) = {idle,        silent,           half_a_head,
                                         half_a_body, stream_of_events, slow_reader};
    enum { KINDS = sizeof kinds / sizeof kinds[0], EACH = 5 };
    int fd[KINDS][EACH], changes[EACH];
    for (int k = 0; k < KINDS; k++)
        for (int i = 0; i < EACH; i++)
            fd[k][i] = kinds[k]();
    sqlite3 *db = hold_the_database();
    for (int i = 0; i < EACH; i++)
        changes[i] = change_with("Same", 1000);
    daemon_signal(&d, SIGTERM);
    usleep(200000);
    let_go(db);
    expect_clean_end();
    for (int k = 0; k < KINDS; k++)
        for (int i = 0; i < EACH; i++)
            close(fd[k][i]);
    for (int i = 0; i < EACH; i++)
        close(changes[i]);
}

static void every_signal_that_asks_to_stop_does(void **state)
{
    (void)state;
    static const int signals[] = {SIGINT, SIGHUP};
    for (size_t i = 0; i < sizeof signals / sizeof signals[0]; i++) {
        int fd = stream_of_events();
        daemon_signal(&d, signals[i]);
        expect_clean_end();
        close(fd);
        daemon_start(&d, "--web", web, NULL);
    }
    expect_clean_stop();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(stops_over_an_idle_connection, start, clear),
        cmocka_unit_test_setup_teardown(stops_over_a_connection_that_said_nothing, start, clear),
        cmocka_unit_test_setup_teardown(stops_over_half_a_head, start, clear),
        cmocka_unit_test_setup_teardown(stops_over_half_a_body, start, clear),
        cmocka_unit_test_setup_teardown(stops_over_a_reader_that_does_not_read, start, clear),
        cmocka_unit_test_setup_teardown(stops_over_a_stream_of_events_and_ends_it, start, clear),
        cmocka_unit_test_setup_teardown(a_change_under_way_is_committed_and_answered_before_the_end,
                                        start, clear),
        cmocka_unit_test_setup_teardown(a_request_that_comes_late_is_refused_and_says_why, start,
                                        clear),
        cmocka_unit_test_setup_teardown(password_hashes_under_way_are_answered_before_the_end,
                                        start, clear),
        cmocka_unit_test_setup_teardown(a_load_under_way_is_ended_and_can_be_taken_up_again, start,
                                        clear),
        cmocka_unit_test_setup_teardown(stops_over_all_kinds_at_once, start, clear),
        cmocka_unit_test_setup_teardown(every_signal_that_asks_to_stop_does, start, clear),
    };
    cmocka_set_test_filter(getenv("ONLY")); /* one test by its name, while looking for a fault */
    return cmocka_run_group_tests_name("stop", tests, NULL, NULL);
}
