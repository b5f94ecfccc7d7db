/* SPDX-License-Identifier: MIT
 *
 * load: threads with plain blocking sockets: as little work as can be beside the program measured,
 * since both share the processors.
 */
#include "load.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

enum { TIMES_MOST = 1000000 };

struct shared {
    struct load *l;
    atomic_int next, good, bad;
    double until_s;
    float *ms; /* of each good answer */
    pthread_mutex_t lock;
};

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static int dial(int port)
{
    struct sockaddr_in to = {.sin_family = AF_INET, .sin_port = htons((uint16_t)port)};
    int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0), on = 1;
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    if (fd < 0 || connect(fd, (const struct sockaddr *)&to, sizeof to) != 0) {
        perror("bench: connect");
        exit(1);
    }
    setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    return fd;
}

/* One whole answer with a Content-Length; false when it does not come. */
static bool answer_read(int fd, char *text, size_t size)
{
    size_t n = 0, whole = 0;
    while (n < size - 1 && (whole == 0 || n < whole)) {
        ssize_t got = recv(fd, text + n, size - 1 - n, 0);
        if (got <= 0)
            return false;
        n += (size_t)got;
        text[n] = '\0';
        char *end = whole ? NULL : strstr(text, "\r\n\r\n");
        if (end) {
            const char *length = strcasestr(text, "\r\nContent-Length: ");
            whole = (size_t)(end + 4 - text) +
                    (length && length < end ? strtoul(length + 18, NULL, 10) : 0);
        }
    }
    return whole && n >= whole;
}

static void note_bad(struct shared *s, const char *text)
{
    pthread_mutex_lock(&s->lock);
    const char *body = strstr(text, "\r\n\r\n");
    if (!*s->l->first_bad)
        snprintf(s->l->first_bad, sizeof s->l->first_bad, "%.12s %.300s", text,
                 body ? body + 4 : "");
    pthread_mutex_unlock(&s->lock);
    atomic_fetch_add(&s->bad, 1);
}

static void *client(void *arg)
{
    struct shared *s = arg;
    size_t size = 4 << 20;
    char *text = malloc(size);
    int fd = dial(s->l->port);
    if (!text)
        exit(1);
    for (double begun; (begun = now_s()) < s->until_s;) {
        if (s->l->over && atomic_load(s->l->over))
            break;
        int number = atomic_fetch_add(&s->next, 1);
        if (s->l->until && number >= s->l->until)
            break;
        size_t n = s->l->request(text, size, number, s->l->arg);
        if (send(fd, text, n, MSG_NOSIGNAL) != (ssize_t)n || !answer_read(fd, text, size)) {
            note_bad(s, "no answer");
            break;
        }
        if (text[9] != '2') {
            note_bad(s, text);
            continue;
        }
        int i = atomic_fetch_add(&s->good, 1);
        if (i < TIMES_MOST)
            s->ms[i] = (float)((now_s() - begun) * 1000);
    }
    close(fd);
    free(text);
    return NULL;
}

static int by_size(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

void load_run(struct load *l)
{
    struct shared s = {.l = l, .lock = PTHREAD_MUTEX_INITIALIZER};
    pthread_t *thread = calloc((size_t)l->clients, sizeof *thread);
    double begun = now_s();
    s.ms = calloc(TIMES_MOST, sizeof *s.ms);
    if (!thread || !s.ms)
        exit(1);
    atomic_init(&s.next, l->from);
    s.until_s = begun + l->seconds;
    for (int i = 0; i < l->clients; i++)
        if (pthread_create(&thread[i], NULL, client, &s) != 0)
            exit(1);
    for (int i = 0; i < l->clients; i++)
        pthread_join(thread[i], NULL);
    double took = now_s() - begun;
    l->good = atomic_load(&s.good);
    l->bad = atomic_load(&s.bad);
    l->from = atomic_load(&s.next);
    l->per_second = l->good / took;
    int n = l->good < TIMES_MOST ? l->good : TIMES_MOST;
    qsort(s.ms, (size_t)n, sizeof *s.ms, by_size);
    l->p50_ms = n ? (double)s.ms[n / 2] : 0;
    l->p99_ms = n ? (double)s.ms[n - 1 - n / 100] : 0;
    free(s.ms);
    free(thread);
}
