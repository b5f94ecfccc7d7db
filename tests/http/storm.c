/* SPDX-License-Identifier: MIT
 *
 * kill -9 in the middle of a storm of changes, twenty times on one data folder: whatever was
 * answered with 2xx is there after the next start (design.md, section 7), the file is whole, the
 * journal's chain unbroken, and no name is there that nobody sent.
 */
#include "daemon/daemon.h"

#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "store/journal.h"

enum { ROUNDS = 20, CLIENTS = 8, MOST = 200000 };

static struct daemon d;
static atomic_bool over; /* the daemon of this round is about to die, or has died */
static atomic_int acknowledged_n;
static int acknowledged[MOST]; /* numbers of the names that were answered with 201 */
static atomic_int next_number;

static void *storm(void *arg)
{
    (void)arg;
    while (!atomic_load(&over)) {
        int number = atomic_fetch_add(&next_number, 1);
        char body[60];
        snprintf(body, sizeof body, "{\"name\":\"storm %d\"}", number);
        struct answer a = ask(&d, "POST", "/api/makers", body);
        int status = a.status;
        answer_free(&a);
        if (status == 201)
            acknowledged[atomic_fetch_add(&acknowledged_n, 1)] = number;
        else if (status == 0)
            break; /* the connection broke: it is dead */
    }
    return NULL;
}

static int check_name(void *arg, int n, char **column, char **name)
{
    unsigned char *found = arg;
    int number = -1;
    (void)n;
    (void)name;
    if (sscanf(column[0], "storm %d", &number) != 1 || number < 0 ||
        number >= atomic_load(&next_number))
        return 1; /* a name that nobody sent */
    found[number] = 1;
    return 0;
}

static int check_whole(void *arg, int n, char **column, char **name)
{
    (void)n;
    (void)name;
    *(int *)arg = strcmp(column[0], "ok") == 0;
    return 0;
}

static void check_file(void)
{
    static unsigned char found[MOST];
    char path[120];
    sqlite3 *db;
    int whole = 0;
    snprintf(path, sizeof path, "%s/quadrille.db", d.data);
    memset(found, 0, sizeof found);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "PRAGMA integrity_check", check_whole, &whole, NULL),
                     SQLITE_OK);
    assert_true(whole);
    assert_int_equal(sqlite3_exec(db, "SELECT name FROM maker WHERE name LIKE 'storm %'",
                                  check_name, found, NULL),
                     SQLITE_OK);
    sqlite3_close(db);
    for (int i = 0; i < atomic_load(&acknowledged_n); i++)
        if (!found[acknowledged[i]])
            fail_msg("\"storm %d\" was acknowledged and is lost", acknowledged[i]);
}

static void check_journal(void)
{
    char path[120];
    struct store *st;
    struct err e = ERR_INIT;
    snprintf(path, sizeof path, "%s/quadrille.db", d.data);
    assert_true(store_open(&st, path, STORE_READ, &e));
    if (!journal_verify(st, &e))
        fail_msg("%s", e.text);
    store_close(st);
}

static void nothing_acknowledged_is_lost_by_kill_9(void **state)
{
    (void)state;
    unsigned chance = 20311; /* fixed, so that a failure comes again */
    for (int round = 0; round < ROUNDS; round++) {
        pthread_t client[CLIENTS];
        int before = atomic_load(&acknowledged_n);
        daemon_start(&d, NULL);
        atomic_store(&over, false);
        for (int i = 0; i < CLIENTS; i++)
            assert_int_equal(pthread_create(&client[i], NULL, storm, NULL), 0);
        for (int ms = 0; atomic_load(&acknowledged_n) < before + 20; ms++) {
            if (ms > 60000)
                fail_msg("the storm does not begin");
            usleep(1000);
        }
        usleep((useconds_t)(rand_r(&chance) % 60000));
        daemon_kill(&d);
        atomic_store(&over, true);
        for (int i = 0; i < CLIENTS; i++)
            pthread_join(client[i], NULL);
        check_file();
        check_journal();
    }
    assert_true(atomic_load(&acknowledged_n) >= 20 * ROUNDS);
    print_message("%d changes acknowledged, %d sent, %d kills\n", atomic_load(&acknowledged_n),
                  atomic_load(&next_number), ROUNDS);
    daemon_forget(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_acknowledged_is_lost_by_kill_9),
    };
    return cmocka_run_group_tests_name("storm", tests, NULL, NULL);
}
