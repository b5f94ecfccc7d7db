/* SPDX-License-Identifier: MIT
 *
 * quadrille match as a person runs it: files in, files out, exit status.
 */
#include "command/match.h"

#include "base/err.h"

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[] = "/tmp/quadrille-match-XXXXXX";

static const char *path(const char *name)
{
    static char buf[4][256];
    static int turn;
    turn = (turn + 1) % 4;
    (void)snprintf(buf[turn], sizeof buf[turn], "%s/%s", folder, name);
    return buf[turn];
}

static void write_file(const char *name, const char *text)
{
    FILE *f = fopen(path(name), "w");
    assert_non_null(f);
    assert_true(fputs(text, f) >= 0);
    assert_int_equal(fclose(f), 0);
}

static const char *read_file(const char *name)
{
    static char buf[4096];
    FILE *f = fopen(path(name), "r");
    assert_non_null(f);
    size_t n = fread(buf, 1, sizeof buf - 1, f);
    buf[n] = '\0';
    (void)fclose(f);
    return buf;
}

/* argv[0] does not matter to the command.  Run with standard error going to a file; words are
 * separated by spaces, FILE stands for the input. */
static int run(const char *input, const char *words)
{
    char text[512];
    char *argv[32] = {text};
    int argc = 1;
    (void)snprintf(text, sizeof text, "%s", words);
    for (char *word = strtok(text, " "); word != NULL; word = strtok(NULL, " "))
        argv[argc++] = strcmp(word, "FILE") == 0      ? (char *)(uintptr_t)path(input)
                       : strcmp(word, "OUT") == 0     ? (char *)(uintptr_t)path("out.csv")
                       : strcmp(word, "SUMMARY") == 0 ? (char *)(uintptr_t)path("summary.json")
                                                      : word;
    (void)fflush(stderr);
    int kept = dup(STDERR_FILENO);
    assert_non_null(freopen(path("stderr"), "w", stderr));
    int status = command_match(argc, argv);
    (void)fflush(stderr);
    (void)dup2(kept, STDERR_FILENO);
    (void)close(kept);
    return status;
}

static void pairs_come_out_as_csv_and_summary(void **state)
{
    (void)state;
    write_file("a.csv", "id,class,gm\n\"3,b\",A,21.01\n1,A,20.0\n2,A,21.0\n9,B,20.0\n");
    assert_int_equal(run("a.csv", "FILE --size 2 --band 5% --output OUT --summary SUMMARY"), 0);
    assert_string_equal(read_file("out.csv"), "set_no,id\n1,2\n1,\"3,b\"\n");
    assert_string_equal(read_file("summary.json"),
                        "{\"found\":[1],\"bound\":1,\"bounds\":[1],\"gap\":0,\"cost\":0.009523810,"
                        "\"proven\":true,\"cost_proven\":true,\"why\":\"the prices of the matching "
                        "cover every pair that holds\",\"seed\":0}\n"); /* 0.01 / 21 / 0.05 */
}

static void no_set_at_all_is_an_answer(void **state)
{
    (void)state;
    write_file("a.csv", "id,gm\n1,20.0\n2,21.01\n");
    assert_int_equal(run("a.csv", "FILE --size=2 --band=5% --output OUT"), 0);
    assert_string_equal(read_file("out.csv"), "set_no,id\n");
}

static void refused_data_names_file_line_column_and_value(void **state)
{
    (void)state;
    write_file("a.csv", "id,gm\n1,20.0\n2,twenty\n");
    assert_int_equal(run("a.csv", "FILE --size 2 --band 5%"), 1);
    const char *said = read_file("stderr");
    assert_non_null(strstr(said, "a.csv: line 3, column gm, \"twenty\": "));
    assert_int_equal(run("none.csv", "FILE --size 2 --band 5%"), 1);
    write_file("a.csv", "");
    assert_int_equal(run("a.csv", "FILE --size 2 --band 5%"), 1);
    write_file("a.csv", "id,gm\n1,20.0,5\n");
    assert_int_equal(run("a.csv", "FILE --size 2 --band 5%"), 1);
    assert_non_null(strstr(read_file("stderr"), "line 2 has 3 fields, the heading 2"));
}

static void wrong_usage_is_told_apart(void **state)
{
    (void)state;
    static const char *const wrong[] = {
        "",
        "FILE",
        "FILE --size 2",
        "FILE --band 5%",
        "FILE --size 2 --band 5",
        "FILE --size 2 --demand 2 --band 5%",
        "FILE --size 1 --band 5%",
        "FILE --size 2:1 --band 5%",
        "FILE --demand 2: --band 5%",
        "FILE --size 2 --band mu=5%",
        "FILE --size 2 --band 5% --same maker",
        "FILE --size 2 --band 5% --seconds 0",
        "FILE --size 2 --band 5% --seconds soon",
        "FILE --size 2 --band 5% --seed -1",
        "FILE --size 2 --band 5% --seed 1.5",
        "FILE --size 2 --band 5% --frob 1",
        "FILE --size 2 --band 5% --seed",
        "FILE --size 2 --size 3 --band 5%",
        "FILE FILE --size 2 --band 5%",
    };
    write_file("a.csv", "id,gm\n1,20.0\n2,21.0\n");
    for (size_t i = 0; i < ARRAY_LEN(wrong); i++) {
        if (run("a.csv", wrong[i]) != 2)
            fail_msg("\"%s\" was not taken for wrong usage: %s", wrong[i], read_file("stderr"));
    }
}

static void a_demand_shows_in_the_rows_of_each_set(void **state)
{
    (void)state;
    write_file("a.csv",
               "id,ia.1,ia.2,u(ia.1),maker\n1,5,5,0.1,X\n2,5,5,,X\n3,5,5,,X\n4,5,5,,X\n5,5,5,,Y\n"
               "6,5,5,,Y\n7,5,5,,\n8,5,5,,\n");
    assert_int_equal(run("a.csv",
                         "FILE --demand 4:1,2:* --band ia=abs:0 --same maker --seconds 0.2 "
                         "--output OUT"),
                     0);
    assert_string_equal(read_file("out.csv"), "set_no,id\n1,1\n1,2\n1,3\n1,4\n2,5\n2,6\n");
}

static int folder_make(void **state)
{
    (void)state;
    return mkdtemp(folder) == NULL;
}

static int folder_remove(void **state)
{
    (void)state;
    static const char *const names[] = {"a.csv", "out.csv", "summary.json", "stderr"};
    for (size_t i = 0; i < ARRAY_LEN(names); i++)
        (void)unlink(path(names[i]));
    return rmdir(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pairs_come_out_as_csv_and_summary),
        cmocka_unit_test(no_set_at_all_is_an_answer),
        cmocka_unit_test(refused_data_names_file_line_column_and_value),
        cmocka_unit_test(wrong_usage_is_told_apart),
        cmocka_unit_test(a_demand_shows_in_the_rows_of_each_set),
    };
    return cmocka_run_group_tests_name("match_command", tests, folder_make, folder_remove);
}
