/* SPDX-License-Identifier: MIT
 *
 * bulk: the files are made here, the same at every run.  A saver is one client that saves a reading
 * as soon as the last was answered, which is far more than any bench does.
 */
#include "bulk.h"

#include <pthread.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "../http/daemon/daemon.h"
#include "base/stockno.h"
#include "load.h"

enum { TUBES = 10000, LOTS = 5, SAVED = 1000 };

static struct daemon d;

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static void give_up(const char *what, const char *why)
{
    fprintf(stderr, "bench: %s: %s\n", what, why);
    exit(1);
}

/* ---- the files ---- */

struct file {
    char *text;
    size_t n, room;
};

__attribute__((format(printf, 2, 3))) static void put(struct file *f, const char *form, ...)
{
    va_list ap;
    if (f->room - f->n < 400) {
        f->room = f->room * 2 + 4096;
        f->text = realloc(f->text, f->room);
        if (!f->text)
            give_up("files", "out of memory");
    }
    va_start(ap, form);
    f->n += (size_t)vsnprintf(f->text + f->n, f->room - f->n, form, ap);
    va_end(ap);
}

/* What is sold most: two twin triodes, and three types that are read twice. */
static const struct {
    const char *printed;
    int sections, ia_ua, gm_ua_per_v;
} kind[] = {{"12AX7", 2, 1200, 1600},
            {"ECC82", 2, 10500, 2200},
            {"6V6GT", 1, 45000, 4100},
            {"EL84", 1, 48000, 11300},
            {"6SN7GT", 2, 9000, 2600}};
enum { KINDS = sizeof kind / sizeof kind[0] };

static unsigned chance = 7; /* a fixed start: the same files every time */

/* Around 1, give or take share, in thousandths. */
static int about(int share)
{
    return 1000 - share + (int)((unsigned)rand_r(&chance) % (unsigned)(2 * share + 1));
}

static void tubes_make(struct file *f, const char *series, int count)
{
    put(f, "mark,printed,maker,date,lot,bin,history,pins,getter\n");
    for (int i = 0; i < count; i++)
        put(f, "%s-%d,%s,Halvorsen Tube Works,%d,%s-%d,%c%d,unused,bright,full\n", series, i,
            kind[i % KINDS].printed, 1955 + i % 20, series, i * LOTS / count, 'A' + i % 8, i % 10);
}

static void readings_make(struct file *f, const char *series, int count)
{
    put(f, "tube,section,tester,taken,warm_s,ia[mA],gm[micromho]\n");
    for (int i = 0; i < count; i++) {
        int good = about(100);
        for (int k = 0; k < 2; k++) {
            int ia = kind[i % KINDS].ia_ua * good / 1000 * about(15) / 1000;
            int gm = kind[i % KINDS].gm_ua_per_v * good / 1000 * about(15) / 1000;
            put(f, "%s-%d,%d,T1,2024-%02d-%02dT%02d:%02d:%02dZ,120,%d.%03d,%d\n", series, i,
                kind[i % KINDS].sections == 2 ? k + 1 : 1, 1 + i / 9600, 1 + i / 400 % 24,
                8 + i % 400 / 60, i % 60, k * 20, ia / 1000, ia % 1000, gm);
        }
    }
}

/* ---- loads and saves ---- */

static double load_file(const char *what, const char *path, const struct file *f)
{
    char bearer[140];
    snprintf(bearer, sizeof bearer, "Authorization: Bearer %s", d.token);
    double begun = now_s();
    struct answer a = ask_as(&d, "POST", path, f->text, bearer, "Content-Type: text/csv", NULL);
    double took = now_s() - begun;
    if (a.status != 200 || !strstr(a.body, "\"refused\":0,"))
        give_up(what, a.body ? a.body : "no answer");
    printf("%-44s %8.2f s   %.*s\n", what, took, (int)strcspn(a.body, "["), a.body);
    answer_free(&a);
    return took;
}

static size_t save_request(char *text, size_t size, int i, void *arg)
{
    char body[400];
    (void)arg;
    int n = snprintf(body, sizeof body,
                     "{\"tester\":\"T1\",\"warm_s\":120,\"confirm\":[\"family-outlier\","
                     "\"lot-outlier\",\"same-as-before\",\"limits\"],"
                     "\"sections\":[{\"section\":1,\"values\":["
                     "{\"quantity\":\"ia\",\"typed\":\"%d.%03d\"},"
                     "{\"quantity\":\"gm\",\"typed\":\"4.%03d\"}]}]}",
                     43 + i % 4, i % 997, i % 991);
    return (size_t)snprintf(text, size,
                            "POST /api/tubes/%lld/readings HTTP/1.1\r\nHost: 127.0.0.1\r\n"
                            "Authorization: Bearer %s\r\nContent-Type: application/json\r\n"
                            "Content-Length: %d\r\n\r\n%s",
                            (long long)stockno_make(STOCKNO_FIRST + i % SAVED), d.token, n, body);
}

static void saves_say(const char *what, const struct load *l)
{
    printf("%-44s %8.0f /s   p50 %6.2f ms   p99 %6.2f ms\n", what, l->per_second, l->p50_ms,
           l->p99_ms);
    if (l->bad)
        give_up(what, l->first_bad);
}

struct loading {
    const struct file *tubes, *readings;
    atomic_bool over;
};

static void *load_both(void *arg)
{
    struct loading *l = arg;
    load_file("10,000 more tubes, saves going on", "/api/load/tubes?create=maker,lot,bin",
              l->tubes);
    load_file("20,000 more readings, saves going on", "/api/load/readings?confirm=all",
              l->readings);
    atomic_store(&l->over, true);
    return NULL;
}

static void saves_during_a_load(struct load *during, const struct file *tubes,
                                const struct file *readings)
{
    struct loading l = {.tubes = tubes, .readings = readings};
    pthread_t thread;
    atomic_init(&l.over, false);
    during->over = &l.over;
    if (pthread_create(&thread, NULL, load_both, &l) != 0)
        give_up("loads", "no thread");
    load_run(during);
    pthread_join(thread, NULL);
}

void bulk_run(double seconds)
{
    static struct file first[2], second[2], saved;
    put(&saved, "mark,printed\n");
    for (int i = 0; i < SAVED; i++)
        put(&saved, "saved-%d,6V6GT\n", i);
    tubes_make(&first[0], "A", TUBES);
    readings_make(&first[1], "A", TUBES);
    tubes_make(&second[0], "B", TUBES);
    readings_make(&second[1], "B", TUBES);
    daemon_start(&d, NULL);
    struct answer a = ask(&d, "POST", "/api/testers",
                          "{\"code\":\"T1\",\"title\":\"the bench\",\"reads\":["
                          "{\"quantity\":\"ia\",\"unit\":\"mA\",\"repeatability\":\"1%\"},"
                          "{\"quantity\":\"gm\",\"unit\":\"mA/V\",\"repeatability\":\"1%\"}]}");
    if (a.status != 201)
        give_up("tester", a.body ? a.body : "no answer");
    answer_free(&a);
    load_file("1,000 tubes to save readings of", "/api/load/tubes", &saved);
    double took =
        load_file("10,000 tubes by CSV", "/api/load/tubes?create=maker,lot,bin", &first[0]);
    took += load_file("20,000 readings by CSV", "/api/load/readings?confirm=all", &first[1]);
    printf("%-44s %8.2f s\n", "both", took);
    load_file("the same tubes again", "/api/load/tubes?create=maker,lot,bin", &first[0]);
    load_file("the same readings again", "/api/load/readings", &first[1]);
    struct load alone = {.port = d.port, .clients = 1, .seconds = seconds, .request = save_request};
    load_run(&alone);
    saves_say("saves at the bench, nothing else going on", &alone);
    struct load during = {
        .port = d.port, .clients = 1, .seconds = 600, .request = save_request, .from = alone.from};
    saves_during_a_load(&during, &second[0], &second[1]);
    saves_say("saves at the bench during the loads", &during);
    printf("%-44s %8.2f times as long at p50, %.2f at p99 (3 are allowed)\n",
           "a save during a load takes", during.p50_ms / alone.p50_ms,
           during.p99_ms / alone.p99_ms);
    if (daemon_stop(&d) != 0)
        give_up("daemon", "it does not stop");
    daemon_forget(&d);
    for (int i = 0; i < 2; i++) {
        free(first[i].text);
        free(second[i].text);
    }
    free(saved.text);
}
