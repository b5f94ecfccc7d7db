/* SPDX-License-Identifier: MIT
 *
 * bench: how many readings a second the program keeps, durable, through its API; beside what SQLite
 * alone does with the same rows in the same minute on the same disk, and what libmicrohttpd and
 * SQLite do with nothing between; and how long a page of a list takes at 100,000 tubes.
 *
 *     build/tests/bench/bench [seconds for each figure]
 *
 * Everything happens in a folder under /tmp, or under $TMPDIR: put it on the disk to be measured.
 */
#include "../http/daemon/daemon.h"
#include "bare.h"
#include "bulk.h"
#include "load.h"
#include "replay.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/stockno.h"

enum { TUBES = 100000 };

static struct daemon d;

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static void must(bool good, const char *what)
{
    if (good)
        return;
    fprintf(stderr, "bench: %s\n", what);
    exit(1);
}

/* ---- the data ---- */

static void stock_number(sqlite3_context *context, int n, sqlite3_value **v)
{
    (void)n;
    sqlite3_result_int64(context, stockno_make(sqlite3_value_int64(v[0])));
}

static const char setup[] =
    "BEGIN;"
    "INSERT INTO type (id, designation, class, sections, how, origin)"
    "    VALUES (1000001, 'BENCH-1', 'triode', 1, 'own', 'own');"
    "INSERT INTO test_point (id, type_id, code, title, held, va_v, vg1_v, how, origin)"
    "    VALUES (1000001, 1000001, 'p1', 'bench point', 'grid', '250', '-2', 'own', 'own');"
    "INSERT INTO test_point_quantity (test_point_id, quantity, nominal, how)"
    "    VALUES (1000001, 'ia', 10000, 'own'),"
    "    (1000001, 'gm', 5000, 'own');"
    "INSERT INTO tester (id, code, title) VALUES (1000001, 'T1', 'bench tester');"
    "INSERT INTO tester_quantity (tester_id, quantity, unit, repeatability)"
    "    VALUES (1000001, 'ia', 'mA', '1%'), (1000001, 'gm', 'mA/V', '1%');"
    "INSERT INTO tube (id, stock_no, type_id, printed, created_ms)"
    "    WITH RECURSIVE n (i) AS (SELECT 100001 UNION ALL SELECT i + 1 FROM n WHERE i < 200000)"
    "    SELECT i, stock_number(i), 1000001, 'BENCH-1', 0 FROM n;"
    "COMMIT; PRAGMA wal_checkpoint(TRUNCATE)";

static int64_t journal_end; /* its last row before the readings */

static void database_path(char *to, size_t size, const char *name)
{
    snprintf(to, size, "%s/%s", d.folder, name);
}

static void data_make(void)
{
    char path[200], command[700], base[200];
    char *said = NULL;
    sqlite3 *db;
    daemon_start(&d, NULL); /* makes the database */
    must(daemon_stop(&d) == 0, "the daemon does not stop");
    database_path(path, sizeof path, "data/quadrille.db");
    must(sqlite3_open(path, &db) == SQLITE_OK, path);
    sqlite3_create_function(db, "stock_number", 1, SQLITE_UTF8 | SQLITE_DETERMINISTIC, NULL,
                            stock_number, NULL, NULL);
    sqlite3_exec(db, setup, NULL, NULL, &said);
    must(!said, said);
    sqlite3_stmt *last;
    must(sqlite3_prepare_v2(db, "SELECT coalesce(max(seq), 0) FROM journal", -1, &last, NULL) ==
                 SQLITE_OK &&
             sqlite3_step(last) == SQLITE_ROW,
         "journal");
    journal_end = sqlite3_column_int64(last, 0);
    sqlite3_finalize(last);
    sqlite3_close(db);
    database_path(base, sizeof base, "base.db");
    snprintf(command, sizeof command, "cp %s %s", path, base);
    must(system(command) == 0, command);
}

/* ---- readings through the API ---- */

static size_t reading_request(char *text, size_t size, int i, void *arg)
{
    char body[300];
    (void)arg;
    /* no two neighbours alike, or the second would be questioned */
    int n = snprintf(body, sizeof body,
                     "{\"tester\":\"T1\",\"sections\":[{\"section\":1,\"values\":["
                     "{\"quantity\":\"ia\",\"typed\":\"%d.%03d\"},"
                     "{\"quantity\":\"gm\",\"typed\":\"%d.%03d\"}]}]}",
                     9 + i % 2, i % 997, 4 + i % 2, i % 991);
    return (size_t)snprintf(text, size,
                            "POST /api/tubes/%lld/readings HTTP/1.1\r\nHost: 127.0.0.1\r\n"
                            "Authorization: Bearer %s\r\nContent-Type: application/json\r\n"
                            "Idempotency-Key: bench-%d\r\nContent-Length: %d\r\n\r\n%s",
                            (long long)stockno_make(STOCKNO_FIRST + i), d.token, i, n, body);
}

static size_t list_request(char *text, size_t size, int i, void *arg)
{
    const char *path = arg;
    (void)i;
    return (size_t)snprintf(text, size,
                            "GET %s HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer %s\r\n"
                            "\r\n",
                            path, d.token);
}

static void load_say(const char *what, const struct load *l)
{
    printf("%-44s %8.0f /s   p50 %6.2f ms   p99 %6.2f ms", what, l->per_second, l->p50_ms,
           l->p99_ms);
    if (l->bad)
        printf("   %d failed: %s", l->bad, l->first_bad);
    puts("");
}

/* ---- the yardsticks ---- */

static void yardstick_open(struct replay *r)
{
    char base[200], path[200], command[700];
    database_path(base, sizeof base, "base.db");
    database_path(path, sizeof path, "yardstick.db");
    snprintf(command, sizeof command, "rm -f %s* && cp %s %s", path, base, path);
    must(system(command) == 0, command);
    replay_open(r, path);
}

static double raw_per_second(struct replay *r, int group, double seconds)
{
    int i = 0, n = replay_count(r);
    yardstick_open(r);
    double begun = now_s(), took = 0;
    while (i < n && took < seconds) {
        replay_begin(r);
        for (int k = 0; k < group && i < n; k++)
            replay_write(r, i++);
        replay_commit(r);
        took = now_s() - begun;
    }
    replay_close(r);
    return i / took;
}

static void bare_run(struct load *l, struct replay *r)
{
    yardstick_open(r);
    struct bare *b = bare_start(r, 2);
    l->port = bare_port(b);
    l->until = replay_count(r);
    load_run(l);
    bare_stop(b);
    replay_close(r);
}

/* ---- all of it ---- */

static void list_latency(double seconds)
{
    static char first[] = "/api/tubes?limit=50";
    struct load l = {
        .port = d.port, .clients = 1, .seconds = seconds, .request = list_request, .arg = first};
    load_run(&l);
    load_say("a page of 50 of 100,000 tubes, 1 client", &l);
}

int main(int argc, char **argv)
{
    static const int clients[] = {1, 16, 64};
    enum { N = sizeof clients / sizeof clients[0] };
    double seconds = argc > 1 ? atof(argv[1]) : 3, raw[N];
    struct load api[N];
    char path[200], what[100];
    int from = 0;
    setvbuf(stdout, NULL, _IOLBF, 0);
    data_make();
    daemon_start(&d, NULL);
    for (int i = 0; i < N; i++) {
        api[i] = (struct load){.port = d.port,
                               .clients = clients[i],
                               .seconds = seconds,
                               .request = reading_request,
                               .from = from};
        load_run(&api[i]);
        from = api[i].from;
        must(from <= TUBES, "more readings than tubes: ask for fewer seconds");
        snprintf(what, sizeof what, "durable readings by the API, %d clients", clients[i]);
        load_say(what, &api[i]);
    }
    list_latency(seconds);
    must(daemon_stop(&d) == 0, "the daemon does not stop");

    database_path(path, sizeof path, "data/quadrille.db");
    struct replay *r = replay_load(path, 0, journal_end);
    for (int i = 0; i < N; i++) {
        raw[i] = raw_per_second(r, clients[i], seconds);
        printf("SQLite alone, the same rows, %2d to a commit  %8.0f /s   API / SQLite %.2f\n",
               clients[i], raw[i], api[i].per_second / raw[i]);
    }
    for (int i = 0; i < N; i++) {
        struct load bare = {.clients = clients[i], .seconds = seconds, .request = reading_request};
        bare_run(&bare, r);
        snprintf(what, sizeof what, "bare HTTP and SQLite, %d clients", clients[i]);
        load_say(what, &bare);
    }
    replay_free(r);
    daemon_forget(&d);
    bulk_run(seconds);
    return 0;
}
