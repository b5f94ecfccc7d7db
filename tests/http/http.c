/* SPDX-License-Identifier: MIT
 *
 * The daemon over real HTTP: what is asked and answered, and its limits.  What is expected is what
 * the design and the headers of server/http promise; status codes are those of RFC 9110 and RFC
 * 6585 (431), headers those of the OWASP HTTP Headers Cheat Sheet.
 */
#include "daemon/daemon.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>
#include <sqlite3.h>

static struct daemon d; /* shared by the tests that need no flags of their own */

static int start(void **state)
{
    (void)state;
    daemon_start(&d, NULL);
    return 0;
}

static int stop(void **state)
{
    (void)state;
    int status = daemon_stop(&d);
    char *log = daemon_log(&d);
    if (status != 0)
        print_error("%s\n", log);
    free(log);
    daemon_forget(&d);
    return status;
}

static void expect(struct answer a, int status, const char *in_body)
{
    assert_int_equal(a.status, status);
    if (in_body && !strstr(a.body, in_body))
        fail_msg("\"%s\" is not in \"%s\"", in_body, a.body);
    answer_free(&a);
}

static void a_change_is_answered_and_can_be_read_back(void **state)
{
    (void)state;
    expect(ask(&d, "POST", "/api/makers", "{\"name\":\"Halvorsen\"}"), 201, "Halvorsen");
    expect(ask(&d, "GET", "/api/makers", NULL), 200, "Halvorsen");
    expect(ask(&d, "POST", "/api/makers", "{\"name\":\"Halvorsen\"}"), 409, "detail");
    expect(ask(&d, "POST", "/api/makers", "{\"nam\":\"x\"}"), 422, "\"field\":\"nam\"");
}

static void nobody_gets_in_without_a_token(void **state)
{
    (void)state;
    expect(ask_as(&d, "GET", "/api/makers", NULL, NULL), 401, "nobody is set up");
    expect(ask_as(&d, "GET", "/api/makers", NULL, "Authorization: Bearer x", NULL), 401, NULL);
    char almost[200];
    snprintf(almost, sizeof almost, "Authorization: Bearer %.*sA", 42, d.token);
    if (d.token[42] != 'A')
        expect(ask_as(&d, "GET", "/api/makers", NULL, almost, NULL), 401, NULL);
}

static void every_answer_carries_the_guards(void **state)
{
    (void)state;
    static const struct {
        const char *method, *path;
        int status;
    } cases[] = {
        {"GET", "/api/makers", 200},     {"GET", "/api/nothing", 404},
        {"PUT", "/api/makers", 405},     {"OPTIONS", "/api/makers", 405},
        {"GET", "/nothing.html", 404},   {"POST", "/nothing.html", 405},
        {"GET", "/api/makers?x=1", 422},
    };
    static const char *const guards[] = {
        "Content-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self';",
        "frame-ancestors 'none'",
        "X-Content-Type-Options: nosniff",
        "X-Frame-Options: DENY",
        "Referrer-Policy: no-referrer",
        "X-Request-Id: ",
        "Cache-Control: no-store",
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct answer a = ask(&d, cases[i].method, cases[i].path, NULL);
        assert_int_equal(a.status, cases[i].status);
        for (size_t g = 0; g < sizeof guards / sizeof guards[0]; g++)
            if (!strstr(a.head, guards[g]))
                fail_msg("%s %s lacks %s", cases[i].method, cases[i].path, guards[g]);
        assert_null(strstr(a.head, "unsafe"));
        answer_free(&a);
    }
}

static void head_is_get_without_the_body(void **state)
{
    (void)state;
    struct answer get = ask(&d, "GET", "/api/makers", NULL);
    struct answer head = ask(&d, "HEAD", "/api/makers", NULL);
    char length[60];
    snprintf(length, sizeof length, "Content-Length: %zu\r\n", get.n);
    assert_int_equal(head.status, 200);
    assert_int_equal(head.n, 0);
    assert_non_null(strstr(head.head, length));
    answer_free(&get);
    answer_free(&head);
}

static void a_method_not_spoken_is_answered_with_those_that_are(void **state)
{
    (void)state;
    struct answer a = ask(&d, "PROPFIND", "/api/makers", NULL);
    assert_int_equal(a.status, 405);
    assert_non_null(strstr(a.head, "Allow: GET, HEAD, POST, PUT, PATCH, DELETE"));
    assert_non_null(strstr(a.body, "is not spoken here"));
    answer_free(&a);
}

/* Over one plain connection; returns what came back until it was closed. */
static char *exchange(const char *text)
{
    int fd = dial(&d);
    say(fd, text);
    char *said = hear(fd, NULL);
    close(fd);
    return said;
}

static void expect_line(char *said, const char *line)
{
    if (strncmp(said, line, strlen(line)) != 0)
        fail_msg("\"%s\" expected, \"%.2000s\" came", line, said);
    free(said);
}

static char *text_of(const char *before, size_t n, char filling, const char *after)
{
    char *text = malloc(strlen(before) + n + strlen(after) + 1);
    assert_non_null(text);
    strcpy(text, before);
    memset(text + strlen(before), filling, n);
    strcpy(text + strlen(before) + n, after);
    return text;
}

static void a_body_over_the_limit_is_refused_with_the_limit(void **state)
{
    (void)state;
    /* 64 KiB is the default of conf.h; one byte more, said beforehand */
    char *body = text_of("{\"name\":\"", 65536 + 1 - 11, 'x', "\"}");
    assert_int_equal(strlen(body), 65537);
    expect(ask(&d, "POST", "/api/makers", body), 413, "larger than the 65536 bytes");
    /* the limit itself is read, and then refused for a name longer than a name may be */
    memmove(body + 9, body + 10, strlen(body + 10) + 1);
    expect(ask(&d, "POST", "/api/makers", body), 413, "\"field\":\"name\"");
    free(body);
}

static void a_body_in_chunks_over_the_limit_is_refused_too(void **state)
{
    (void)state;
    char *text = text_of("POST /api/makers HTTP/1.1\r\nHost: x\r\nConnection: close\r\n"
                         "Transfer-Encoding: chunked\r\n\r\n11170\r\n",
                         0x11170, 'x', "\r\n0\r\n\r\n");
    expect_line(exchange(text), "HTTP/1.1 413 ");
    free(text);
}

static void a_huge_body_is_refused_before_it_is_sent(void **state)
{
    (void)state;
    char *said = exchange("POST /api/makers HTTP/1.1\r\nHost: x\r\nContent-Length: 99999999999\r\n"
                          "Expect: 100-continue\r\n\r\n");
    assert_null(strstr(said, "100 Continue"));
    expect_line(said, "HTTP/1.1 413 ");
}

static void long_heads_are_refused_by_what_is_long(void **state)
{
    (void)state;
    /* 32 KiB is the default of conf.h */
    char *uri = text_of("GET /", 40000, 'x', " HTTP/1.1\r\nHost: x\r\n\r\n");
    expect_line(exchange(uri), "HTTP/1.1 414 ");
    char *header = text_of("GET / HTTP/1.1\r\nHost: x\r\nX-Long: ", 40000, 'x', "\r\n\r\n");
    expect_line(exchange(header), "HTTP/1.1 431 ");
    free(uri);
    free(header);
}

static void nonsense_is_refused_and_harms_nobody(void **state)
{
    (void)state;
    static const char *const nonsense[] = {
        "\r\n\r\n\r\n",
        "GET\r\n\r\n",
        "GET / HTTP/1.1\r\n\r\n", /* no Host: RFC 9112, section 3.2 asks for 400 */
        "GET / HTTP/1.1\r\nHost: x\r\nContent-Length: -5\r\n\r\n",
        "POST /api/makers HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n",
        "GET nothing HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n",
        "\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n", /* a TLS greeting */
    };
    /* Half a request is waited for until the connection is idle too long: here one second. */
    struct daemon one = {0};
    daemon_start(&one, "--idle", "1", NULL);
    for (size_t i = 0; i < sizeof nonsense / sizeof nonsense[0]; i++) {
        int fd = dial(&one);
        say(fd, nonsense[i]);
        char *said = hear(fd, NULL);
        if (*said && strncmp(said, "HTTP/1.1 4", 10) != 0 && strncmp(said, "HTTP/1.0 4", 10) != 0)
            fail_msg("case %zu was answered \"%.100s\"", i, said);
        free(said);
        close(fd);
    }
    expect(ask(&one, "GET", "/api/makers", NULL), 200, NULL);
    assert_int_equal(daemon_stop(&one), 0);
    daemon_forget(&one);
}

static void a_body_may_come_piece_by_piece(void **state)
{
    (void)state;
    char head[600];
    int fd = dial(&d);
    snprintf(head, sizeof head,
             "POST /api/makers HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\n"
             "Content-Type: application/json\r\nContent-Length: 17\r\nConnection: close\r\n\r\n",
             d.token);
    for (size_t i = 0; i < strlen(head); i += 7) {
        char some[8];
        snprintf(some, sizeof some, "%.7s", head + i);
        say(fd, some);
    }
    for (const char *s = "{\"name\":\"Pieces\"}"; *s; s++) {
        char one[2] = {*s, '\0'};
        say(fd, one);
    }
    expect_line(hear(fd, NULL), "HTTP/1.1 201 ");
    close(fd);
}

static void a_connection_serves_one_request_after_another(void **state)
{
    (void)state;
    char text[600];
    int fd = dial(&d);
    snprintf(text, sizeof text,
             "GET /api/makers HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\n\r\n", d.token);
    for (int i = 0; i < 3; i++) {
        say(fd, text);
        char *said = hear(fd, "]}");
        assert_non_null(strstr(said, "HTTP/1.1 200 "));
        free(said);
    }
    say(fd, text); /* two at once */
    say(fd, text);
    char *said = hear(fd, "]}");
    char *second = strstr(said, "]}") + 2;
    if (!strstr(second, "]}")) {
        char *rest = hear(fd, "]}");
        assert_non_null(strstr(rest, "]}"));
        free(rest);
    }
    free(said);
    close(fd);
}

static void a_listener_is_told_of_what_was_committed(void **state)
{
    (void)state;
    char text[600];
    int fd = dial(&d);
    snprintf(text, sizeof text,
             "GET /api/events HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\n\r\n", d.token);
    say(fd, text);
    char *said = hear(fd, "retry: ");
    assert_non_null(strstr(said, "Content-Type: text/event-stream"));
    assert_non_null(strstr(said, "Content-Security-Policy: "));
    free(said);
    expect(ask(&d, "POST", "/api/makers", "{\"name\":\"Told\"}"), 201, NULL);
    said = hear(fd, "event: maker\ndata: {\"kind\":\"maker\",\"id\":");
    assert_non_null(strstr(said, "event: maker\n"));
    free(said);
    close(fd);
}

static void a_listener_that_missed_events_is_told_to_reload(void **state)
{
    (void)state;
    char text[600];
    int fd = dial(&d);
    snprintf(text, sizeof text,
             "GET /api/events HTTP/1.1\r\nHost: x\r\nLast-Event-ID: 17\r\n"
             "Authorization: Bearer %s\r\n\r\n",
             d.token);
    say(fd, text);
    char *said = hear(fd, "event: reload\n");
    assert_non_null(strstr(said, "event: reload\n"));
    free(said);
    close(fd);
}

static void run_json_is_for_its_owner_alone_and_goes_with_the_daemon(void **state)
{
    (void)state;
    struct daemon one = {0};
    char path[120];
    struct stat s;
    daemon_start(&one, NULL);
    snprintf(path, sizeof path, "%s/run.json", one.data);
    assert_int_equal(stat(path, &s), 0);
    assert_int_equal(s.st_mode & 0777, 0600);
    assert_int_equal(daemon_stop(&one), 0);
    assert_int_not_equal(stat(path, &s), 0);
    daemon_forget(&one);
}

static void a_second_daemon_is_kept_out_of_the_folder(void **state)
{
    (void)state;
    struct daemon second = d;
    char pid[40];
    snprintf(second.log, sizeof second.log, "%s/second", d.folder);
    assert_int_equal(daemon_refuses(&second, NULL), 1);
    char *said = daemon_log(&second);
    snprintf(pid, sizeof pid, "in use by process %d;", (int)d.pid);
    assert_non_null(strstr(said, pid));
    free(said);
    expect(ask(&d, "GET", "/api/makers", NULL), 200, NULL);
}

static void a_wrong_flag_ends_with_status_2_and_a_sentence(void **state)
{
    (void)state;
    struct daemon one = {0};
    assert_int_equal(daemon_refuses(&one, "--queue", "none", NULL), 2);
    char *said = daemon_log(&one);
    assert_non_null(strstr(said, "queue is \"none\"; it must be a whole number from 1 to"));
    free(said);
    daemon_forget(&one);
}

static void pages_come_from_a_folder_with_their_type_and_tag(void **state)
{
    (void)state;
    struct daemon one = {0};
    char web[100], path[140];
    snprintf(web, sizeof web, "/tmp/quadrille-web-XXXXXX");
    assert_non_null(mkdtemp(web));
    snprintf(path, sizeof path, "%s/index.html", web);
    FILE *f = fopen(path, "we");
    assert_non_null(f);
    fputs("<!doctype html>hello", f);
    fclose(f);
    daemon_start(&one, "--web", web, NULL);
    struct answer a = ask_as(&one, "GET", "/", NULL, NULL);
    assert_int_equal(a.status, 200);
    assert_string_equal(a.body, "<!doctype html>hello");
    assert_non_null(strstr(a.head, "Content-Type: text/html; charset=utf-8"));
    assert_non_null(strstr(a.head, "Content-Security-Policy: "));
    char tag[200] = "If-None-Match: ";
    const char *etag = strstr(a.head, "ETag: ");
    assert_non_null(etag);
    strncat(tag, etag + 6, strcspn(etag + 6, "\r"));
    expect(ask_as(&one, "GET", "/", NULL, tag, NULL), 304, NULL);
    expect(ask_as(&one, "GET", "/../../etc/passwd", NULL, NULL), 404, NULL);
    expect(ask_as(&one, "GET", "/%2e%2e/passwd", NULL, NULL), 404, NULL);
    expect(ask_as(&one, "GET", "/.hidden", NULL, NULL), 404, NULL);
    answer_free(&a);
    assert_int_equal(daemon_stop(&one), 0);
    daemon_forget(&one);
    unlink(path);
    rmdir(web);
}

static void one_address_gets_so_many_connections_and_no_more(void **state)
{
    (void)state;
    struct daemon one = {0};
    int fd[5];
    daemon_start(&one, "--per-address", "4", NULL);
    for (int i = 0; i < 4; i++) {
        fd[i] = dial(&one);
        say(fd[i], "GET /api/nothing HTTP/1.1\r\nHost: x\r\n\r\n");
        char *said = hear(fd[i], "\r\n\r\n{");
        assert_non_null(strstr(said, "HTTP/1.1 404 "));
        free(said);
    }
    fd[4] = dial(&one);
    say(fd[4], "GET /api/nothing HTTP/1.1\r\nHost: x\r\n\r\n");
    char *said = hear(fd[4], NULL);
    assert_string_equal(said, "");
    free(said);
    for (int i = 0; i < 5; i++)
        close(fd[i]);
    assert_int_equal(daemon_stop(&one), 0);
    daemon_forget(&one);
}

static void too_many_streams_are_refused_until_there_is_room(void **state)
{
    (void)state;
    struct daemon one = {0};
    char text[400];
    daemon_start(&one, "--streams", "1", NULL);
    int fd = dial(&one);
    snprintf(text, sizeof text,
             "GET /api/events HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\n\r\n", one.token);
    say(fd, text);
    free(hear(fd, "retry: "));
    struct answer a = ask(&one, "GET", "/api/events", NULL);
    assert_int_equal(a.status, 503);
    assert_non_null(strstr(a.head, "Retry-After: "));
    assert_non_null(strstr(a.body, "there are 1 event streams open"));
    answer_free(&a);
    close(fd);
    assert_int_equal(daemon_stop(&one), 0);
    daemon_forget(&one);
}

/* Another connection holds SQLite's write lock, so that the writer waits with a job in hand. */
static void a_full_queue_is_answered_at_once_and_what_waits_is_kept(void **state)
{
    (void)state;
    struct daemon one = {0};
    char file[120], text[600];
    sqlite3 *db;
    int fd[2];
    daemon_start(&one, "--queue", "1", NULL);
    snprintf(file, sizeof file, "%s/quadrille.db", one.data);
    assert_int_equal(sqlite3_open(file, &db), SQLITE_OK);
    sqlite3_busy_timeout(db, 10000);
    assert_int_equal(sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL), SQLITE_OK);
    /* One is taken by the writer, one may wait; how soon the first is taken is not known, so go on
     * until one is refused. */
    struct answer a = {0};
    int sent = 0;
    for (; sent < 2; sent++) {
        fd[sent] = dial(&one);
        snprintf(text, sizeof text,
                 "POST /api/makers HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\n"
                 "Content-Type: application/json\r\nConnection: close\r\n"
                 "Content-Length: 13\r\n\r\n{\"name\":\"Q%d\"}",
                 one.token, sent);
        say(fd[sent], text);
        daemon_await_read(&one, sent + 1);
        usleep(200000); /* the writer takes the first before the second comes */
    }
    a = ask(&one, "POST", "/api/makers", "{\"name\":\"Refused\"}");
    assert_int_equal(a.status, 503);
    assert_non_null(strstr(a.head, "Retry-After: 1"));
    assert_non_null(strstr(a.body, "nothing of this request was kept"));
    answer_free(&a);
    assert_int_equal(sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
    for (int i = 0; i < sent; i++) {
        expect_line(hear(fd[i], NULL), "HTTP/1.1 201 ");
        close(fd[i]);
    }
    a = ask(&one, "GET", "/api/makers", NULL);
    assert_non_null(strstr(a.body, "Q0"));
    assert_non_null(strstr(a.body, "Q1"));
    assert_null(strstr(a.body, "Refused"));
    answer_free(&a);
    assert_int_equal(daemon_stop(&one), 0);
    daemon_forget(&one);
}

static void the_interface_describes_itself(void **state)
{
    (void)state;
    struct answer a = ask(&d, "GET", "/api/openapi.json", NULL);
    assert_int_equal(a.status, 200);
    assert_non_null(strstr(a.head, "Content-Type: application/json"));
    assert_non_null(strstr(a.body, "\"/api/events\""));
    assert_non_null(strstr(a.body, "\"/api/openapi.json\""));
    answer_free(&a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_change_is_answered_and_can_be_read_back),
        cmocka_unit_test(nobody_gets_in_without_a_token),
        cmocka_unit_test(every_answer_carries_the_guards),
        cmocka_unit_test(head_is_get_without_the_body),
        cmocka_unit_test(a_method_not_spoken_is_answered_with_those_that_are),
        cmocka_unit_test(a_body_over_the_limit_is_refused_with_the_limit),
        cmocka_unit_test(a_body_in_chunks_over_the_limit_is_refused_too),
        cmocka_unit_test(a_huge_body_is_refused_before_it_is_sent),
        cmocka_unit_test(long_heads_are_refused_by_what_is_long),
        cmocka_unit_test(nonsense_is_refused_and_harms_nobody),
        cmocka_unit_test(a_body_may_come_piece_by_piece),
        cmocka_unit_test(a_connection_serves_one_request_after_another),
        cmocka_unit_test(a_listener_is_told_of_what_was_committed),
        cmocka_unit_test(a_listener_that_missed_events_is_told_to_reload),
        cmocka_unit_test(run_json_is_for_its_owner_alone_and_goes_with_the_daemon),
        cmocka_unit_test(a_second_daemon_is_kept_out_of_the_folder),
        cmocka_unit_test(a_wrong_flag_ends_with_status_2_and_a_sentence),
        cmocka_unit_test(pages_come_from_a_folder_with_their_type_and_tag),
        cmocka_unit_test(one_address_gets_so_many_connections_and_no_more),
        cmocka_unit_test(too_many_streams_are_refused_until_there_is_room),
        cmocka_unit_test(the_interface_describes_itself),
        cmocka_unit_test(a_full_queue_is_answered_at_once_and_what_waits_is_kept),
    };
    return cmocka_run_group_tests_name("http", tests, start, stop);
}
