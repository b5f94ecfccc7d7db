/* SPDX-License-Identifier: MIT
 *
 * daemon: see the header.
 */
#include "daemon.h"

#include <arpa/inet.h>
#include <curl/curl.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <poll.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/arena.h"
#include "work/folder.h"

#define PATIENCE_MS 60000 /* after which a test gives up on a daemon that hangs */

static void nap(long ms)
{
    nanosleep(&(struct timespec){.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000}, NULL);
}

/* ---- the process ---- */

static void folder_new(struct daemon *d)
{
    if (*d->folder)
        return;
    snprintf(d->folder, sizeof d->folder, "/tmp/quadrille-test-XXXXXX");
    assert_non_null(mkdtemp(d->folder));
    snprintf(d->data, sizeof d->data, "%s/data", d->folder);
    snprintf(d->log, sizeof d->log, "%s/log", d->folder);
}

static void become(const struct daemon *d, va_list ap)
{
    const char *program = getenv("QUADRILLE");
    const char *argv[40] = {program ? program : "build/quadrille",
                            "serve",
                            "--config",
                            "/dev/null",
                            "--port",
                            "0",
                            "--data",
                            d->data};
    int n = 8;
    for (const char *flag; n < 39 && (flag = va_arg(ap, const char *)) != NULL;)
        argv[n++] = flag;
    prctl(PR_SET_PDEATHSIG, SIGKILL); /* a test that fails leaves no daemon behind */
    int log = open(d->log, O_WRONLY | O_CREAT | O_APPEND, 0600);
    if (log < 0 || dup2(log, STDERR_FILENO) < 0)
        _exit(126);
    if (d->shim_log)
        setenv("QUADRILLE_SHIM_LOG", d->shim_log, 1);
    if (d->preload) {
        setenv("LD_PRELOAD", d->preload, 1);
        setenv("ASAN_OPTIONS", "verify_asan_link_order=0", 1);
    }
    union {
        const char **in;
        char **out;
    } args = {.in = argv};
    execv(argv[0], args.out);
    _exit(127);
}

static void spawn(struct daemon *d, va_list ap)
{
    folder_new(d);
    d->pid = fork();
    assert_true(d->pid >= 0);
    if (d->pid == 0)
        become(d, ap);
}

static void run_read(struct daemon *d, const struct folder_run *run)
{
    snprintf(d->url, sizeof d->url, "%s", run->url);
    snprintf(d->token, sizeof d->token, "%s", run->token);
    d->port = atoi(strrchr(run->url, ':') + 1);
}

void daemon_start(struct daemon *d, ...)
{
    va_list ap;
    va_start(ap, d);
    spawn(d, ap);
    va_end(ap);
    for (int ms = 0; ms < PATIENCE_MS; ms += 5) {
        struct folder_run run;
        struct err e = ERR_INIT;
        if (folder_find(&run, d->data, &e) && run.pid == d->pid) {
            run_read(d, &run);
            return;
        }
        int status;
        if (waitpid(d->pid, &status, WNOHANG) == d->pid) {
            char *log = daemon_log(d);
            fail_msg("the daemon ended at once with wait status %d: %s", status, log);
        }
        nap(5);
    }
    fail_msg("the daemon does not listen after %d ms", PATIENCE_MS);
}

int daemon_refuses(struct daemon *d, ...)
{
    va_list ap;
    va_start(ap, d);
    spawn(d, ap);
    va_end(ap);
    return daemon_await(d);
}

int daemon_await(struct daemon *d)
{
    int status;
    for (int ms = 0; ms < PATIENCE_MS; ms += 5) {
        if (waitpid(d->pid, &status, WNOHANG) == d->pid) {
            d->pid = 0;
            return WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
        }
        nap(5);
    }
    kill(d->pid, SIGKILL);
    waitpid(d->pid, &status, 0);
    fail_msg("the daemon does not end after %d ms", PATIENCE_MS);
    return -1;
}

void daemon_signal(struct daemon *d, int sign)
{
    assert_int_equal(kill(d->pid, sign), 0);
}

int daemon_stop(struct daemon *d)
{
    daemon_signal(d, SIGTERM);
    return daemon_await(d);
}

void daemon_kill(struct daemon *d)
{
    daemon_signal(d, SIGKILL);
    assert_int_equal(daemon_await(d), -SIGKILL);
}

void daemon_forget(struct daemon *d)
{
    char command[100];
    snprintf(command, sizeof command, "rm -rf %s", d->folder);
    assert_int_equal(system(command), 0);
    memset(d, 0, sizeof *d);
}

char *daemon_log(const struct daemon *d)
{
    FILE *f = fopen(d->log, "re");
    char *text = xcalloc(1, 100001);
    if (f) {
        text[fread(text, 1, 100000, f)] = '\0';
        fclose(f);
    }
    return text;
}

/* ---- requests ---- */

static size_t on_body(char *data, size_t size, size_t n, void *arg)
{
    struct answer *a = arg;
    a->body = xrealloc(a->body, a->n + size * n + 1);
    memcpy(a->body + a->n, data, size * n);
    a->n += size * n;
    a->body[a->n] = '\0';
    return size * n;
}

static size_t on_head(char *data, size_t size, size_t n, void *arg)
{
    struct answer *a = arg;
    size_t used = strlen(a->head);
    snprintf(a->head + used, sizeof a->head - used, "%.*s", (int)(size * n), data);
    return size * n;
}

static struct answer request(const struct daemon *d, const char *method, const char *path,
                             const char *body, struct curl_slist *headers)
{
    struct answer a = {0};
    char url[4000];
    long status = 0;
    CURL *c = curl_easy_init();
    assert_non_null(c);
    snprintf(url, sizeof url, "%s%s", d->url, path);
    a.body = xcalloc(1, 1);
    curl_easy_setopt(c, CURLOPT_URL, url);
    curl_easy_setopt(c, CURLOPT_PATH_AS_IS, 1L);
    curl_easy_setopt(c, CURLOPT_NOSIGNAL, 1L);
    curl_easy_setopt(c, CURLOPT_PROXY, "");
    curl_easy_setopt(c, CURLOPT_TIMEOUT_MS, 5L * PATIENCE_MS);
    curl_easy_setopt(c, CURLOPT_HTTPHEADER, headers);
    curl_easy_setopt(c, CURLOPT_WRITEFUNCTION, on_body);
    curl_easy_setopt(c, CURLOPT_WRITEDATA, &a);
    curl_easy_setopt(c, CURLOPT_HEADERFUNCTION, on_head);
    curl_easy_setopt(c, CURLOPT_HEADERDATA, &a);
    if (body) {
        curl_easy_setopt(c, CURLOPT_POSTFIELDSIZE, (long)strlen(body));
        curl_easy_setopt(c, CURLOPT_POSTFIELDS, body);
    }
    if (strcmp(method, "HEAD") == 0)
        curl_easy_setopt(c, CURLOPT_NOBODY, 1L);
    else
        curl_easy_setopt(c, CURLOPT_CUSTOMREQUEST, method);
    if (curl_easy_perform(c) == CURLE_OK)
        curl_easy_getinfo(c, CURLINFO_RESPONSE_CODE, &status);
    a.status = (int)status;
    curl_easy_cleanup(c);
    curl_slist_free_all(headers);
    return a;
}

struct answer ask(const struct daemon *d, const char *method, const char *path, const char *body)
{
    char bearer[160];
    snprintf(bearer, sizeof bearer, "Authorization: Bearer %s", d->token);
    struct curl_slist *headers = curl_slist_append(NULL, bearer);
    if (body)
        headers = curl_slist_append(headers, "Content-Type: application/json");
    return request(d, method, path, body, headers);
}

struct answer ask_as(const struct daemon *d, const char *method, const char *path, const char *body,
                     ...)
{
    struct curl_slist *headers = NULL;
    va_list ap;
    va_start(ap, body);
    for (const char *h; (h = va_arg(ap, const char *)) != NULL;)
        headers = curl_slist_append(headers, h);
    va_end(ap);
    return request(d, method, path, body, headers);
}

void answer_free(struct answer *a)
{
    free(a->body);
    memset(a, 0, sizeof *a);
}

/* ---- plain connections ---- */

/* Lines of /proc/net/tcp, as proc(5) has them: established connections at the daemon's port with
 * nothing waiting to be read. */
static int connections_read(const struct daemon *d)
{
    FILE *f = fopen("/proc/net/tcp", "re");
    char line[400];
    int n = 0;
    assert_non_null(f);
    while (fgets(line, sizeof line, f)) {
        unsigned port, state, tx, rx;
        if (sscanf(line, " %*d: %*x:%x %*x:%*x %x %x:%x", &port, &state, &tx, &rx) == 4)
            n += (int)port == d->port && state == 1 && rx == 0;
    }
    fclose(f);
    return n;
}

void daemon_await_read(const struct daemon *d, int n)
{
    for (int ms = 0; connections_read(d) < n; ms += 5) {
        if (ms > PATIENCE_MS)
            fail_msg("the daemon does not read what was sent");
        nap(5);
    }
}

int dial(const struct daemon *d)
{
    struct sockaddr_in to = {.sin_family = AF_INET, .sin_port = htons((uint16_t)d->port)};
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    assert_true(fd >= 0);
    assert_int_equal(connect(fd, (const struct sockaddr *)&to, sizeof to), 0);
    return fd;
}

void say(int fd, const char *text)
{
    size_t n = strlen(text);
    while (n > 0) {
        ssize_t done = send(fd, text, n, MSG_NOSIGNAL);
        if (done <= 0)
            return; /* the other side has enough; what it said is what counts */
        text += done;
        n -= (size_t)done;
    }
}

char *hear(int fd, const char *until)
{
    char *text = xcalloc(1, 1);
    size_t n = 0;
    while (!until || !strstr(text, until)) {
        struct pollfd p = {.fd = fd, .events = POLLIN};
        if (poll(&p, 1, PATIENCE_MS) != 1)
            fail_msg("nothing more is heard after \"%s\"", text);
        text = xrealloc(text, n + 4097);
        ssize_t got = recv(fd, text + n, 4096, 0);
        if (got <= 0)
            break;
        n += (size_t)got;
        text[n] = '\0';
    }
    return text;
}
