/* SPDX-License-Identifier: MIT
 *
 * An answer 2xx to a change means that it is on the disk (design.md, section 7): a library
 * preloaded into the daemon (fsync_shim.c) writes down when the database's log is written and
 * synced and when answers leave, and this test reads that.  For every mark that left in a 2xx
 * answer there must be, before it and in this order, a write of the log that holds the mark, the
 * begin of a sync, and its end.  With a weaker PRAGMA synchronous there is no such sync, and the
 * test fails; that the reader of the notes notices is tried on notes made by hand.
 */
#include "daemon/daemon.h"

#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

enum { CLIENTS = 6, EACH = 25, MARKS = 1000 };

/* ---- reading the notes ---- */

enum step { NOTHING, WRITTEN, SYNCING, SYNCED };

/* true when every answer was right; *answers: how many 2xx there were.  why: the first that was
 * not. */
static bool notes_check(const char *notes, int *answers, char *why, size_t size)
{
    enum step step[MARKS] = {0};
    *answers = 0;
    for (const char *line = notes; *line; line += strcspn(line, "\n") + 1) {
        size_t n = strcspn(line, "\n");
        if (*line == 'B' || *line == 'E')
            for (int i = 0; i < MARKS; i++) {
                if (*line == 'B' && step[i] == WRITTEN)
                    step[i] = SYNCING;
                else if (*line == 'E' && step[i] == SYNCING)
                    step[i] = SYNCED;
            }
        for (const char *at = line; (at = strstr(at, "mark-")) && at < line + n; at += 5) {
            int mark = atoi(at + 5);
            if (mark < 0 || mark >= MARKS)
                continue;
            if (*line == 'W' && step[mark] == NOTHING)
                step[mark] = WRITTEN;
            if (*line == 'S' && line[2] == '2') {
                (*answers)++;
                if (step[mark] != SYNCED) {
                    snprintf(why, size, "mark-%d was answered at step %d: %.80s", mark,
                             (int)step[mark], line);
                    return false;
                }
            }
        }
        if (!line[n])
            break;
    }
    return true;
}

static void the_reader_of_the_notes_notices_what_is_wrong(void **state)
{
    (void)state;
    static const struct {
        const char *notes;
        bool right;
        int answers;
    } cases[] = {
        {"W mark-1\nB\nE\nS 201 mark-1\n", true, 1},
        {"W mark-1\nS 201 mark-1\n", false, 1},       /* synchronous = OFF, NORMAL */
        {"W mark-1\nB\nS 201 mark-1\nE\n", false, 1}, /* did not wait for the sync */
        {"B\nW mark-1\nE\nS 201 mark-1\n", false, 1}, /* the sync began too early */
        {"B\nE\nW mark-1\nS 201 mark-1\n", false, 1}, /* synced something else */
        {"S 201 mark-1\n", false, 1},                 /* not even written */
        {"W mark-1\nS 503 mark-1\n", true, 0},        /* refused: nothing promised */
        {"W mark-1 mark-2\nB\nE\nS 201 mark-2\nS 201 mark-1\n", true, 2},
        {"W mark-1\nB\nE\nW mark-1 mark-2\nS 201 mark-1\nB\nE\nS 201 mark-2\n", true, 2},
        {"W mark-1\nB\nE\nW mark-1 mark-2\nS 201 mark-2\nB\nE\nS 201 mark-1\n", false, 1},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char why[200];
        int answers;
        assert_int_equal(notes_check(cases[i].notes, &answers, why, sizeof why), cases[i].right);
        assert_int_equal(answers, cases[i].answers);
    }
}

/* ---- the daemon under the shim ---- */

static struct daemon d;
static char notes_path[100], *shim_path;

static int start(void **state)
{
    (void)state;
    const char *shim = getenv("QUADRILLE_SHIM");
    memset(&d, 0, sizeof d);
    snprintf(notes_path, sizeof notes_path, "/tmp/quadrille-notes-XXXXXX");
    int fd = mkstemp(notes_path);
    assert_true(fd >= 0);
    close(fd);
    shim_path = realpath(shim ? shim : "build/tests/http/fsync_shim.so", NULL);
    assert_non_null(shim_path);
    d.preload = shim_path;
    d.shim_log = notes_path;
    daemon_start(&d, NULL);
    return 0;
}

static void break_disk(const char *how, bool on)
{
    char path[120];
    snprintf(path, sizeof path, "%s.%s", notes_path, how);
    if (on)
        fclose(fopen(path, "we"));
    else
        unlink(path);
}

static int stop(void **state)
{
    (void)state;
    break_disk("eio", false);
    break_disk("full", false);
    break_disk("full-log", false);
    int status = daemon_stop(&d);
    daemon_forget(&d);
    unlink(notes_path);
    free(shim_path);
    return status;
}

static char *notes_load(void)
{
    FILE *f = fopen(notes_path, "re");
    assert_non_null(f);
    assert_int_equal(fseek(f, 0, SEEK_END), 0);
    long n = ftell(f);
    rewind(f);
    char *text = calloc(1, (size_t)n + 1);
    assert_non_null(text);
    assert_int_equal(fread(text, 1, (size_t)n, f), n);
    fclose(f);
    return text;
}

static struct answer post_mark(int mark)
{
    char body[60];
    snprintf(body, sizeof body, "{\"name\":\"mark-%d\"}", mark);
    return ask(&d, "POST", "/api/makers", body);
}

static int answered[CLIENTS];

static void *client(void *arg)
{
    int me = (int)(size_t)arg;
    for (int i = 0; i < EACH; i++) {
        struct answer a = post_mark(me * EACH + i);
        answered[me] += a.status == 201;
        answer_free(&a);
    }
    return NULL;
}

static void no_answer_leaves_before_its_change_is_synced(void **state)
{
    (void)state;
    pthread_t thread[CLIENTS];
    char why[200] = "";
    int answers, all = 0;
    for (size_t i = 0; i < CLIENTS; i++)
        assert_int_equal(pthread_create(&thread[i], NULL, client, (void *)i), 0);
    for (int i = 0; i < CLIENTS; i++) {
        pthread_join(thread[i], NULL);
        all += answered[i];
    }
    assert_int_equal(all, CLIENTS * EACH);
    char *notes = notes_load();
    if (!notes_check(notes, &answers, why, sizeof why))
        fail_msg("%s", why);
    assert_int_equal(answers, all); /* the shim saw every one of them leave */
    free(notes);
}

static void a_sync_that_fails_is_answered_503_and_nothing_is_kept(void **state)
{
    (void)state;
    struct answer a = post_mark(900);
    assert_int_equal(a.status, 201);
    answer_free(&a);
    break_disk("eio", true);
    a = post_mark(901);
    assert_int_equal(a.status, 503);
    assert_non_null(strstr(a.body, "not kept"));
    answer_free(&a);
    break_disk("eio", false);
    a = post_mark(902);
    assert_int_equal(a.status, 201);
    answer_free(&a);
    a = ask(&d, "GET", "/api/makers", NULL);
    assert_non_null(strstr(a.body, "mark-900"));
    assert_null(strstr(a.body, "mark-901"));
    assert_non_null(strstr(a.body, "mark-902"));
    answer_free(&a);
}

static void a_full_disk_is_answered_507_and_nothing_is_kept(void **state)
{
    (void)state;
    struct answer a;
    break_disk("full", true);
    a = post_mark(911);
    assert_int_equal(a.status, 507);
    assert_non_null(strstr(a.body, "the disk is full"));
    answer_free(&a);
    break_disk("full", false);
    a = post_mark(912);
    assert_int_equal(a.status, 201);
    answer_free(&a);
    a = ask(&d, "GET", "/api/makers", NULL);
    assert_null(strstr(a.body, "mark-911"));
    assert_non_null(strstr(a.body, "mark-912"));
    answer_free(&a);
}

static void a_disk_that_fills_under_an_upload_is_answered_507(void **state)
{
    (void)state;
    char bearer[160];
    snprintf(bearer, sizeof bearer, "Authorization: Bearer %s", d.token);
    break_disk("full", true);
    struct answer a = ask_as(&d, "POST", "/api/load/tubes", "mark,printed\nM1,ECC82\n", bearer,
                             "Content-Type: text/csv", NULL);
    assert_int_equal(a.status, 507);
    assert_non_null(strstr(a.body, "the disk is full: the upload was not kept"));
    answer_free(&a);
    break_disk("full", false);
    a = ask_as(&d, "POST", "/api/load/tubes", "mark,printed\nM1,ECC82\n", bearer,
               "Content-Type: text/csv", NULL);
    assert_int_equal(a.status, 200);
    assert_non_null(strstr(a.body, "\"accepted\":1"));
    answer_free(&a);
}

static void a_disk_that_fills_under_a_load_stops_it_with_507(void **state)
{
    (void)state;
    char bearer[160], *csv = calloc(1, 100000);
    int lines = 3000;
    size_t n = 0;
    assert_non_null(csv);
    n += (size_t)sprintf(csv, "mark,printed\n");
    for (int i = 0; i < lines; i++)
        n += (size_t)sprintf(csv + n, "L%d,ECC82\n", i);
    snprintf(bearer, sizeof bearer, "Authorization: Bearer %s", d.token);
    break_disk("full-log", true);
    struct answer a =
        ask_as(&d, "POST", "/api/load/tubes", csv, bearer, "Content-Type: text/csv", NULL);
    assert_int_equal(a.status, 507);
    assert_non_null(strstr(a.body, "the disk is full"));
    answer_free(&a);
    break_disk("full-log", false);
    a = ask_as(&d, "POST", "/api/load/tubes", csv, bearer, "Content-Type: text/csv", NULL);
    assert_int_equal(a.status, 200);
    assert_non_null(strstr(a.body, "\"lines\":3000,\"accepted\":3000,"));
    answer_free(&a);
    free(csv);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_reader_of_the_notes_notices_what_is_wrong),
        cmocka_unit_test_setup_teardown(no_answer_leaves_before_its_change_is_synced, start, stop),
        cmocka_unit_test_setup_teardown(a_sync_that_fails_is_answered_503_and_nothing_is_kept,
                                        start, stop),
        cmocka_unit_test_setup_teardown(a_full_disk_is_answered_507_and_nothing_is_kept, start,
                                        stop),
        cmocka_unit_test_setup_teardown(a_disk_that_fills_under_an_upload_is_answered_507, start,
                                        stop),
        cmocka_unit_test_setup_teardown(a_disk_that_fills_under_a_load_stops_it_with_507, start,
                                        stop),
    };
    return cmocka_run_group_tests_name("order", tests, NULL, NULL);
}
