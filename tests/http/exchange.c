/* SPDX-License-Identifier: MIT
 *
 * Uploads and streams over real HTTP, with routes made for these tests in place of the program's
 * own table.  What is expected is what http/exchange, http/send and api/route.h promise.
 */
#include "http/http.h"

#include "auth/crypto.h"
#include "daemon/daemon.h"
#include "store/migrate.h"
#include "work/folder.h"

#include <dirent.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cmocka.h>

/* ---- routes ---- */

static bool upload_run(struct reply *out, struct req *rq, struct err *e)
{
    FILE *f = fopen(rq->upload, "re");
    unsigned long n = 0, sum = 0;
    if (!f)
        return err_set(e, ERR_INTERNAL, "the upload is not there");
    for (int c; (c = fgetc(f)) != EOF; n++)
        sum += (unsigned char)c * (n % 251 + 1);
    fclose(f);
    out->text = arena_printf(rq->arena, "%lu bytes, sum %lu", n, sum);
    out->text_n = strlen(out->text);
    out->content_type = "text/plain";
    return true;
}

enum { PIECES = 16384, PIECE = 65536 };
static atomic_int pieces_made;

struct flow {
    int at, most, broken_at;
};

/* Lines of their own number; every seventh piece is empty, which means nothing. */
static bool flow_next(void *state, struct store *st, struct arena *a, const char **text, size_t *n,
                      struct err *e)
{
    struct flow *f = state;
    assert_non_null(st);
    if (f->at == f->broken_at)
        return err_set(e, ERR_UNAVAILABLE, "the disk is gone");
    if (f->at == f->most) {
        *text = NULL;
        return true;
    }
    atomic_fetch_add(&pieces_made, 1);
    f->at++;
    *text = f->at % 7 == 0      ? ""
            : f->most == PIECES ? memset(arena_alloc(a, PIECE), 'x', PIECE)
                                : arena_printf(a, "%d\n", f->at);
    *n = f->most == PIECES && **text ? PIECE : strlen(*text);
    return true;
}

static bool stream_reply(struct reply *out, struct req *rq, int most, int broken_at)
{
    struct flow *f = arena_alloc(rq->arena, sizeof *f);
    struct stream *s = arena_alloc(rq->arena, sizeof *s);
    *f = (struct flow){.most = most, .broken_at = broken_at};
    *s = (struct stream){.next = flow_next, .state = f, .content_type = "text/csv"};
    out->stream = s;
    return true;
}

static bool stream_run(struct reply *out, struct req *rq, struct err *e)
{
    (void)e;
    return stream_reply(out, rq, 20000, -1);
}

static bool endless_run(struct reply *out, struct req *rq, struct err *e)
{
    (void)e;
    return stream_reply(out, rq, PIECES, -1);
}

static bool broken_run(struct reply *out, struct req *rq, struct err *e)
{
    (void)e;
    return stream_reply(out, rq, 100, 50);
}

static const struct route routes[] = {
    {POST, "/api/upload", R_OWNER, UPLOAD | WORK, NULL, NULL, NULL, upload_run, "for the test"},
    {GET, "/api/stream", R_OWNER, 0, NULL, NULL, NULL, stream_run, "for the test"},
    {GET, "/api/endless", R_OWNER, 0, NULL, NULL, NULL, endless_run, "for the test"},
    {GET, "/api/broken", R_OWNER, 0, NULL, NULL, NULL, broken_run, "for the test"},
    {0},
};
const struct route *const route_tables[] = {routes, NULL}; /* instead of http/route.c */

/* ---- a scene: everything of a daemon but its process ---- */

static struct arena *arena;
static struct conf conf;
static struct roads roads;
static struct events *events;
static struct http *http;
static struct folder folder;
static struct daemon d; /* for asking it */

static void no_publish(struct roads *r, const char *kind, int64_t id)
{
    (void)r, (void)kind, (void)id;
}

static void open_with(const char *flag, const char *value)
{
    struct err e = ERR_INIT;
    struct store *st;
    snprintf(d.folder, sizeof d.folder, "/tmp/quadrille-test-XXXXXX");
    assert_non_null(mkdtemp(d.folder));
    arena = arena_new();
    char *argv[] = {arena_text(arena, "--config=/dev/null"), arena_text(arena, "--port=0"),
                    arena_printf(arena, "--data=%s/data", d.folder), arena_text(arena, flag),
                    arena_text(arena, value)};
    assert_true(crypto_init(&e));
    assert_true(conf_load(&conf, flag ? 5 : 3, argv, arena, &e));
    assert_true(folder_open(&folder, conf.data, arena, &e));
    assert_true(migrate_file(folder.database, 1, NULL, &e));
    assert_true(store_open(&st, folder.database, STORE_WRITE, &e));
    roads = (struct roads){.readers = readers_new(folder.database), .publish = no_publish};
    assert_true(writer_start(&roads.writer, st, 10, &e));
    assert_true(pool_start(&roads.pool, 2, 10, &e));
    events = events_new(2, 1);
    crypto_token(d.token);
    const struct http_setup setup = {&conf, &roads, events, d.token, folder.tmp};
    assert_true(http_start(&http, &setup, &e));
    snprintf(d.url, sizeof d.url, "%s", http_url(http));
    d.port = atoi(strrchr(d.url, ':') + 1);
}

static int open_plain(void **state)
{
    (void)state;
    open_with(NULL, NULL);
    return 0;
}

static void close_http(void)
{
    http_quiesce(http);
    atomic_store(&roads.stopping, true);
    events_close(events);
    pool_stop(roads.pool);
    writer_stop(roads.writer);
    http_await(http, 200);
    http_stop(http);
    pool_free(roads.pool);
    writer_free(roads.writer);
    http = NULL;
}

static int close_all(void **state)
{
    (void)state;
    if (http)
        close_http();
    events_free(events);
    readers_free(roads.readers);
    folder_close(&folder);
    arena_free(arena);
    daemon_forget(&d);
    return 0;
}

/* How many files the spool holds. */
static int spooled(void)
{
    int n = 0;
    DIR *dir = opendir(folder.tmp);
    assert_non_null(dir);
    for (struct dirent *one; (one = readdir(dir)) != NULL;)
        n += one->d_name[0] != '.';
    closedir(dir);
    return n;
}

static void await_spooled(int n)
{
    for (int ms = 0; spooled() != n; ms++) {
        if (ms > 60000)
            fail_msg("%d files are left in the spool, not %d", spooled(), n);
        usleep(1000);
    }
}

static int begin_upload(const char *headers, const char *body)
{
    char text[600];
    int fd = dial(&d);
    snprintf(text, sizeof text,
             "POST /api/upload HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\n"
             "Connection: close\r\n%s\r\n\r\n%s",
             d.token, headers, body);
    say(fd, text);
    return fd;
}

static void expect_said(int fd, const char *line, const char *in_it)
{
    char *said = hear(fd, NULL);
    if (strncmp(said, line, strlen(line)) != 0 || !strstr(said, in_it))
        fail_msg("\"%s\" and \"%s\" expected, \"%.2000s\" came", line, in_it, said);
    free(said);
    close(fd);
}

/* ---- uploads ---- */

static void an_upload_arrives_whole_and_its_file_goes(void **state)
{
    (void)state;
    size_t n = 5000000;
    unsigned long sum = 0;
    char *body = xmalloc(n + 1), wanted[80];
    for (size_t i = 0; i < n; i++) {
        body[i] = (char)('a' + i % 23);
        sum += (unsigned char)body[i] * (i % 251 + 1);
    }
    body[n] = '\0';
    struct answer a = ask(&d, "POST", "/api/upload", body);
    snprintf(wanted, sizeof wanted, "%zu bytes, sum %lu", n, sum);
    assert_int_equal(a.status, 200);
    assert_string_equal(a.body, wanted);
    answer_free(&a);
    free(body);
    await_spooled(0);
}

static void an_upload_may_come_in_chunks(void **state)
{
    (void)state;
    int fd = begin_upload("Transfer-Encoding: chunked", "3\r\nabc\r\n1\r\nd\r\n");
    say(fd, "2\r\nef\r\n0\r\n\r\n");
    expect_said(fd, "HTTP/1.1 200 ", "6 bytes, sum ");
    await_spooled(0);
}

static void an_upload_over_the_limit_is_refused_and_not_kept(void **state)
{
    (void)state;
    open_with("--upload-mib", "1");
    size_t n = (1 << 20) + 1;
    char *body = xmalloc(n + 1);
    memset(body, 'x', n);
    body[n] = '\0';
    struct answer a = ask(&d, "POST", "/api/upload", body);
    assert_int_equal(a.status, 413);
    assert_non_null(strstr(a.body, "larger than the 1048576 bytes"));
    answer_free(&a);
    body[n - 1] = '\0';
    a = ask(&d, "POST", "/api/upload", body);
    assert_int_equal(a.status, 200);
    assert_non_null(strstr(a.body, "1048576 bytes"));
    answer_free(&a);
    /* the same in one chunk, whose length nobody knew before */
    int fd = begin_upload("Transfer-Encoding: chunked", "100001\r\n");
    body[n - 1] = 'x';
    say(fd, body);
    say(fd, "\r\n0\r\n\r\n");
    expect_said(fd, "HTTP/1.1 413 ", "larger than the 1048576 bytes");
    free(body);
    await_spooled(0);
}

static void who_may_not_upload_is_refused_before_the_first_byte(void **state)
{
    (void)state;
    int fd = dial(&d);
    say(fd, "POST /api/upload HTTP/1.1\r\nHost: x\r\nContent-Length: 500000000\r\n"
            "Expect: 100-continue\r\n\r\n");
    char *said = hear(fd, NULL);
    assert_int_equal(strncmp(said, "HTTP/1.1 401 ", 13), 0);
    assert_null(strstr(said, "100 Continue"));
    assert_int_equal(spooled(), 0);
    free(said);
    close(fd);
}

static void so_many_uploads_at_once_and_no_more(void **state)
{
    (void)state;
    open_with("--uploads", "1");
    int first = begin_upload("Content-Length: 10", "12345");
    await_spooled(1);
    expect_said(begin_upload("Content-Length: 3", "abc"), "HTTP/1.1 503 ", "Retry-After: 5");
    say(first, "67890");
    expect_said(first, "HTTP/1.1 200 ", "10 bytes");
    await_spooled(0);
    expect_said(begin_upload("Content-Length: 3", "abc"), "HTTP/1.1 200 ", "3 bytes");
}

static void an_upload_that_breaks_off_leaves_nothing(void **state)
{
    (void)state;
    int fd = begin_upload("Content-Length: 1000", "12345");
    await_spooled(1);
    close(fd);
    await_spooled(0);
}

static void stopping_over_half_an_upload_leaves_nothing(void **state)
{
    (void)state;
    int fd = begin_upload("Content-Length: 1000", "12345");
    await_spooled(1);
    close_http();
    assert_int_equal(spooled(), 0);
    close(fd);
}

/* ---- streams ---- */

static void a_stream_arrives_whole_and_in_order(void **state)
{
    (void)state;
    struct answer a = ask(&d, "GET", "/api/stream", NULL);
    const char *at = a.body;
    assert_int_equal(a.status, 200);
    assert_non_null(strstr(a.head, "Content-Type: text/csv"));
    assert_non_null(strstr(a.head, "Transfer-Encoding: chunked"));
    for (int i = 1; i <= 20000; i++) {
        if (i % 7 == 0)
            continue;
        char *end;
        assert_int_equal(strtol(at, &end, 10), i);
        assert_int_equal(*end, '\n');
        at = end + 1;
    }
    assert_string_equal(at, "");
    answer_free(&a);
    a = ask(&d, "HEAD", "/api/stream", NULL);
    assert_int_equal(a.status, 200);
    assert_int_equal(a.n, 0);
    answer_free(&a);
}

static int begin_stream(const char *path)
{
    char text[300];
    int fd = dial(&d);
    snprintf(text, sizeof text,
             "GET %s HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nConnection: close\r\n\r\n",
             path, d.token);
    say(fd, text);
    return fd;
}

static void a_stream_that_fails_breaks_off_without_an_end(void **state)
{
    (void)state;
    char *said = hear(begin_stream("/api/broken"), NULL);
    assert_int_equal(strncmp(said, "HTTP/1.1 200 ", 13), 0);
    assert_non_null(strstr(said, "50\n"));
    assert_null(strstr(said, "51\n"));
    assert_null(strstr(said, "\r\n0\r\n"));
    free(said);
}

static void a_stream_waits_for_its_reader(void **state)
{
    (void)state;
    char some[1000];
    atomic_store(&pieces_made, 0);
    int fd = begin_stream("/api/endless");
    assert_true(recv(fd, some, sizeof some, 0) > 0);
    usleep(300000); /* time enough to run away */
    int made = atomic_load(&pieces_made);
    assert_true(made < PIECES / 2); /* a gibibyte in all; the sockets take some megabytes */
    close_http();                   /* over a reader that does not read */
    close(fd);
}

int main(void)
{
#define PLAIN(test) cmocka_unit_test_setup_teardown(test, open_plain, close_all)
#define OWN(test)   cmocka_unit_test_setup_teardown(test, NULL, close_all)
    const struct CMUnitTest tests[] = {
        PLAIN(an_upload_arrives_whole_and_its_file_goes),
        PLAIN(an_upload_may_come_in_chunks),
        OWN(an_upload_over_the_limit_is_refused_and_not_kept),
        PLAIN(who_may_not_upload_is_refused_before_the_first_byte),
        OWN(so_many_uploads_at_once_and_no_more),
        PLAIN(an_upload_that_breaks_off_leaves_nothing),
        PLAIN(stopping_over_half_an_upload_leaves_nothing),
        PLAIN(a_stream_arrives_whole_and_in_order),
        PLAIN(a_stream_that_fails_breaks_off_without_an_end),
        PLAIN(a_stream_waits_for_its_reader),
    };
    return cmocka_run_group_tests_name("exchange", tests, NULL, NULL);
}
