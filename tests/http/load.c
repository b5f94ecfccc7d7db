/* SPDX-License-Identifier: MIT
 *
 * load: bulk loads over real HTTP: a client that goes away in the middle, and a bench that saves
 * while a load is under way (design.md, sections 3, 4 and 7).
 */
#include "daemon/daemon.h"

#include <dirent.h>
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

#include "base/arena.h"

enum { TUBES = 3000 };

static struct daemon d;
static char *file; /* of TUBES tubes, marks M0.. */

static void nap(long ms)
{
    nanosleep(&(struct timespec){.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000}, NULL);
}

static int start(void **state)
{
    (void)state;
    file = xmalloc((size_t)TUBES * 40 + 100);
    size_t n = (size_t)sprintf(file, "mark,printed,pins\n");
    for (int i = 0; i < TUBES; i++)
        n += (size_t)sprintf(file + n, "M%d,12AX7,bright\n", i);
    daemon_start(&d, NULL);
    return 0;
}

static int clear(void **state)
{
    (void)state;
    free(file);
    assert_int_equal(daemon_stop(&d), 0);
    daemon_forget(&d);
    return 0;
}

/* How many of the lines were new and how many were there; all of them are good. */
static void load_all(int *accepted, int *unchanged)
{
    char bearer[140];
    snprintf(bearer, sizeof bearer, "Authorization: Bearer %s", d.token);
    struct answer a =
        ask_as(&d, "POST", "/api/load/tubes", file, bearer, "Content-Type: text/csv", NULL);
    if (a.status != 200 || sscanf(a.body, "{\"lines\":%*d,\"accepted\":%d,\"unchanged\":%d,",
                                  accepted, unchanged) != 2)
        fail_msg("%d %s", a.status, a.body);
    assert_int_equal(*accepted + *unchanged, TUBES);
    answer_free(&a);
}

/* Send the head of a load of the file and so many bytes of it, and go away. */
static void send_part(size_t bytes)
{
    char head[400];
    int fd = dial(&d);
    snprintf(head, sizeof head,
             "POST /api/load/tubes HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer %s\r\n"
             "Content-Type: text/csv\r\nContent-Length: %zu\r\n\r\n",
             d.token, strlen(file));
    say(fd, head);
    char *part = xstrdup(file);
    part[bytes] = 0;
    say(fd, part);
    free(part);
    close(fd);
}

/* Bodies that are kept in the data folder while they are worked on. */
static int spooled(void)
{
    char path[100];
    int n = 0;
    snprintf(path, sizeof path, "%s/tmp", d.data);
    DIR *folder = opendir(path);
    assert_non_null(folder);
    for (struct dirent *e; (e = readdir(folder)) != NULL;)
        n += *e->d_name != '.';
    closedir(folder);
    return n;
}

static void await_no_spool(void)
{
    for (int ms = 0; spooled(); ms += 5) {
        if (ms > 60000)
            fail_msg("the body of a load that ended is still there");
        nap(5);
    }
}

static void a_load_that_is_cut_off_while_it_is_sent_keeps_nothing(void **state)
{
    (void)state;
    int accepted, unchanged;
    send_part(strlen(file) / 2);
    await_no_spool();
    load_all(&accepted, &unchanged);
    assert_int_equal(unchanged, 0);
}

static void a_load_whose_client_goes_away_ends_and_loads_again_without_doubling(void **state)
{
    (void)state;
    int accepted, unchanged;
    send_part(strlen(file));
    for (int ms = 0; !spooled() && ms < 200; ms += 1) /* it may be over before we look */
        nap(1);
    load_all(&accepted, &unchanged); /* beside it, if it is still under way */
    await_no_spool();
    load_all(&accepted, &unchanged);
    assert_int_equal(accepted, 0);
    struct answer a = ask(&d, "GET", "/api/scan?text=M2999", NULL);
    assert_int_equal(a.status, 200);
    answer_free(&a);
}

static atomic_bool over;

static void *load_in_background(void *arg)
{
    int accepted, unchanged;
    (void)arg;
    load_all(&accepted, &unchanged);
    atomic_store(&over, true);
    return NULL;
}

static void changes_are_answered_while_a_load_is_under_way(void **state)
{
    (void)state;
    pthread_t loader;
    int meanwhile = 0;
    atomic_store(&over, false);
    assert_int_equal(pthread_create(&loader, NULL, load_in_background, NULL), 0);
    for (int i = 0; !atomic_load(&over); i++) {
        char body[60];
        snprintf(body, sizeof body, "{\"code\":\"bin %d\"}", i);
        struct answer a = ask(&d, "POST", "/api/bins", body);
        assert_int_equal(a.status, 201);
        answer_free(&a);
        meanwhile += !atomic_load(&over);
    }
    pthread_join(loader, NULL);
    assert_true(meanwhile >= 3); /* a load that held the writer would let one through, or none */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_load_that_is_cut_off_while_it_is_sent_keeps_nothing,
                                        start, clear),
        cmocka_unit_test_setup_teardown(
            a_load_whose_client_goes_away_ends_and_loads_again_without_doubling, start, clear),
        cmocka_unit_test_setup_teardown(changes_are_answered_while_a_load_is_under_way, start,
                                        clear),
    };
    return cmocka_run_group_tests_name("load", tests, NULL, NULL);
}
