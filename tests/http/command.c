/* SPDX-License-Identifier: MIT
 *
 * The built executable as a person at a shell meets it: words in, text out, exit status.  Expected
 * words are those of design.md section 6 (exit statuses, where output goes) and of each command's
 * own promise; nothing here was copied from what the program printed.
 */
#include "daemon/daemon.h"

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#define ANSWER_BYTES ((size_t)64 * 1024)

static char folder[] = "/tmp/quadrille-command-XXXXXX";
static char out[ANSWER_BYTES], err[ANSWER_BYTES];

static const char *path(const char *name)
{
    static char buf[4][200];
    static int turn;
    turn = (turn + 1) % 4;
    snprintf(buf[turn], sizeof buf[turn], "%s/%s", folder, name);
    return buf[turn];
}

static void read_all(char *to, const char *name)
{
    FILE *f = fopen(path(name), "re");
    assert_non_null(f);
    size_t n = fread(to, 1, ANSWER_BYTES - 1, f);
    to[n] = '\0';
    fclose(f);
}

static void write_file(const char *name, const char *text)
{
    FILE *f = fopen(path(name), "we");
    assert_non_null(f);
    assert_true(fputs(text, f) >= 0);
    assert_int_equal(fclose(f), 0);
}

/* `quadrille WORDS`, as a shell splits them; its exit status.  Fills out and err. */
static int run(const char *words)
{
    char line[2000];
    const char *program = getenv("QUADRILLE");
    snprintf(line, sizeof line, "%s %s >%s/out 2>%s/err", program ? program : "build/quadrille",
             words, folder, folder);
    int status = system(line);
    assert_true(WIFEXITED(status));
    read_all(out, "out");
    read_all(err, "err");
    return WEXITSTATUS(status);
}

static void use_data(const char *name)
{
    setenv("QUADRILLE_DATA", path(name), 1);
}

#define assert_says(text, part)                            \
    do {                                                   \
        if (!strstr(text, part))                           \
            fail_msg("\"%s\" is not in:\n%s", part, text); \
    } while (0)

/* ---- with and without a daemon ------------------------------------------------------------- */

static const struct {
    const char *words;
    int status;
} DAY[] = {
    {"lot add L-1 'Estate of a radio shop' --bought 2031-04-11 --cost-minor 30000 --currency EUR",
     0},
    {"lot add L-1 again", 1},
    {"lot line L-1 6Н2П 40 --note 'still in their boxes'", 0},
    {"lot show L-1", 0},
    {"lot show L-9", 1},
    {"lot list", 0},
    {"maker add 'Halvorsen Rør' --country NO", 0},
    {"maker add Vandermolen --country XXX", 1},
    {"maker list", 0},
    {"bin add A-01", 0},
    {"tube add 12AX7 --lot L-1 --maker 'Halvorsen Rør' --mark 'old 17'", 0},
    {"tube add 99ZZ99", 1},
    {"tube list --json", 0},
    {"tube scan 'old 17'", 0},
    {"tube show 1000018", 1}, /* its check digit is 9 */
    {"tube change 1000019 --bin A-01", 0},
    {"tube list --bin A-01", 0},
    {"tester add bench-1 'Own bench' --reads quantity=ia,unit=mA --reads quantity=mu,unit=", 0},
    {"tester list", 0},
    {"inspect 1000019 pins=dull", 0},
    {"inspect 1000019 pins=shiny", 1},
    {"match --family 12AX7 --size 2 --band 5%", 1}, /* nothing was read yet */
    {"tube add ECC83 --lot L-1 --maker 'Halvorsen Rør'", 0},
    {"read 1000019 --tester bench-1 --section 1 ia=1.2mA --section 2 ia=1.21mA", 0},
    {"read 1000027 --tester bench-1 --section 1 ia=1210uA --section 2 ia=1.22mA", 0},
    {"readings 1000027", 0},
    {"match --family 12AX7 --size 2 --band ia=5% --same maker", 0},
    {"match --family 12AX7 --size 2 --band 5", 1},
    {"token new script viewer nobody", 1},
    {"compare 12AX7 6Н2П", 0},
};

/* Moments differ between two days, nothing else does. */
static void forget_moments(char *text)
{
    for (char *s = text; (s = strstr(s, "T")) != NULL; s++)
        if (s - text >= 10 && s[3] == ':' && s[-3] == '-')
            while (*s && !strchr(" \n\",", *s))
                *s++ = '#';
}

static void live(char *said)
{
    size_t n = 0;
    for (size_t i = 0; i < sizeof DAY / sizeof *DAY; i++) {
        int status = run(DAY[i].words);
        if (status != DAY[i].status)
            fail_msg("%s: exit status %d, not %d\n%s%s", DAY[i].words, status, DAY[i].status, out,
                     err);
        forget_moments(out);
        n += (size_t)snprintf(said + n, 4 * ANSWER_BYTES - n, "%s:\n%s%s", DAY[i].words, out, err);
    }
}

static void the_answer_is_the_same_with_a_daemon_and_without(void **state)
{
    (void)state;
    static char alone[4 * ANSWER_BYTES], served[4 * ANSWER_BYTES];
    struct daemon d = {0};
    use_data("alone");
    live(alone);
    daemon_start(&d, NULL);
    setenv("QUADRILLE_DATA", d.data, 1);
    live(served);
    assert_int_equal(daemon_stop(&d), 0);
    daemon_forget(&d);
    assert_string_equal(alone, served);
    assert_says(alone, "there is a lot with the code L-1 already");
    assert_says(alone, "6Н2П");
}

static void a_number_with_a_wrong_check_digit_is_refused_before_anything_is_asked(void **state)
{
    (void)state;
    use_data("never-made");
    assert_int_equal(run("tube show 1000018"), 1);
    assert_says(err, "1000018");
    assert_string_equal(out, "");
    assert_int_equal(access(path("never-made"), F_OK), -1);
}

/* ---- how it may be asked -------------------------------------------------------------------- */

static void asking_in_a_way_that_makes_no_sense_ends_with_2_and_says_why(void **state)
{
    (void)state;
    static const struct {
        const char *words, *says;
    } CASES[] = {
        {"", "usage: quadrille"},
        {"lots", "there is no command \"lots\""},
        {"lot", "lot add"},
        {"lot burn", "there is no command \"lot burn\""},
        {"lot add", "code"},
        {"lot add L-2 title too-many", "\"too-many\" is one word too many"},
        {"lot add L-2 title --colour red", "there is no flag --colour"},
        {"lot add L-2 title --note", "--note needs a value"},
        {"lot list --data", "--data needs a value"},
        {"lot list --data ''", "--data needs the name of a folder"},
        {"tube show", "stock_no"},
        {"person add vera bench --password secret", "there is no flag --password"},
        {"read 1000019 ia=1mA", "--tester"},
        {"read 1000019 --tester b ia", "QUANTITY=VALUE"},
        {"read 1000019 --tester b --section one ia=1mA", "must be a whole number"},
        {"load tubes", "which file"},
        {"routes of some", "usage"},
        {"match", "which file"},
        {"api", "say a method and a path"},
        {"api FETCH /api/tubes", "\"FETCH\" is no method"},
        {"api GET tubes", "begins with /"},
        {"api GET /api/tubes --lines -", "stand in the file"},
    };
    use_data("usage");
    for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
        int status = run(CASES[i].words);
        if (status != 2 || !strstr(err, CASES[i].says))
            fail_msg("%s: exit status %d, and:\n%s", CASES[i].words, status, err);
        assert_string_equal(out, "");
    }
    assert_int_equal(access(path("usage"), F_OK), -1); /* none of these made a data folder */
}

static void every_command_helps(void **state)
{
    (void)state;
    static char list[ANSWER_BYTES];
    int count = 0;
    use_data("help");
    assert_int_equal(run("--help"), 0);
    strcpy(list, out);
    assert_says(list, "  serve ");
    for (char *line = strtok(list, "\n"); line; line = strtok(NULL, "\n")) {
        char name[30], words[60];
        if (strncmp(line, "  ", 2) != 0)
            continue;
        snprintf(name, sizeof name, "%.18s", line + 2);
        for (size_t n = strlen(name); n > 0 && name[n - 1] == ' ';)
            name[--n] = '\0';
        snprintf(words, sizeof words, "%s --help", name);
        if (run(words) != 0 || !strstr(out, "usage: quadrille ") || !strstr(out, name))
            fail_msg("%s:\n%s%s", words, out, err);
        assert_string_equal(err, "");
        count++;
    }
    assert_true(count > 30);
    assert_int_equal(access(path("help"), F_OK), -1);
}

static void the_version_is_told(void **state)
{
    (void)state;
    assert_int_equal(run("--version"), 0);
    assert_int_equal(strncmp(out, "quadrille ", 10), 0);
}

static void a_password_is_read_from_standard_input_and_never_shown(void **state)
{
    (void)state;
    use_data("people");
    write_file("password", "quite long and unlikely\n");
    char words[300];
    snprintf(words, sizeof words, "person add vera bench <%s", path("password"));
    assert_int_equal(run(words), 0);
    assert_says(out, "vera");
    assert_null(strstr(out, "unlikely"));
    assert_int_equal(run("person add ole bench </dev/null"), 2);
    assert_says(err, "password");
}

/* README's first hour: what keeps a tube from a grade is read as sentences. */
static void a_grade_is_told_in_sentences(void **state)
{
    (void)state;
    use_data("grade");
    assert_int_equal(run("tube add 12AX7"), 0);
    assert_int_equal(run("inspect 1000019 pins=dull getter=full"), 0);
    assert_int_equal(run("regrade 1000019"), 0);
    assert_says(out, "grade:      none\n");
    assert_says(out, "\n  not tested for ");
    assert_null(strstr(out, "verdict"));
    assert_null(strstr(out, "subject"));
}

/* ---- files ----------------------------------------------------------------------------------- */

static void a_file_is_loaded_by_line_and_again_changes_nothing(void **state)
{
    (void)state;
    char words[600];
    use_data("load");
    write_file("tubes.csv", "Serial,printed\nA 1,12AX7\nA 2,no-such-type\nA 3,EL84\n");
    snprintf(words, sizeof words, "load tubes %s --map Serial=mark --report %s", path("tubes.csv"),
             path("report.csv"));
    assert_int_equal(run(words), 1);
    assert_says(out, "no-such-type");
    char report[ANSWER_BYTES];
    read_all(report, "report.csv");
    assert_int_equal(strncmp(report, "line,", 5), 0);
    assert_says(report, "\n3,printed,no-such-type,");
    assert_int_equal(run("tube list --json"), 0);
    assert_says(out, "\"mark\":\"A 1\"");
    assert_says(out, "\"mark\":\"A 3\"");

    write_file("good.csv", "Serial,printed\nA 1,12AX7\nA 3,EL84\n");
    snprintf(words, sizeof words, "load tubes - --json --map Serial=mark <%s", path("good.csv"));
    assert_int_equal(run(words), 0);
    assert_says(out, "\"accepted\":0,\"unchanged\":2,\"refused\":0");

    write_file("half.csv", "Serial,printed\nB 1,12AX7\nB 2,no-such-type\n");
    snprintf(words, sizeof words, "load tubes %s --map Serial=mark --all-or-nothing",
             path("half.csv"));
    assert_int_equal(run(words), 1);
    assert_says(err, "no-such-type");
    assert_int_equal(run("tube scan 'B 1'"), 1);

    assert_int_equal(run("load tubes /nonexistent/tubes.csv"), 1);
    assert_says(err, "/nonexistent/tubes.csv");
}

static void a_table_is_never_matched_over_itself(void **state)
{
    (void)state;
    char words[600];
    write_file("pool.csv", "id,ia\na,1\nb,1\n");
    snprintf(words, sizeof words, "match %s --size 2 --band 5%% --output %s/./pool.csv",
             path("pool.csv"), folder);
    assert_int_equal(run(words), 2);
    assert_says(err, "written over");
    char kept[ANSWER_BYTES];
    read_all(kept, "pool.csv");
    assert_string_equal(kept, "id,ia\na,1\nb,1\n");
    snprintf(words, sizeof words, "match %s --size 2 --band 5%%", folder);
    assert_int_equal(run(words), 1);
    assert_says(err, "folder");
}

static void what_a_file_calls_its_columns_is_shown_without_control_characters(void **state)
{
    (void)state;
    char words[600];
    use_data("columns");
    write_file("tubes.csv", "mark,type\nA 1,12AX7\n");
    snprintf(words, sizeof words, "load tubes %s", path("tubes.csv"));
    assert_int_equal(run(words), 1);
    assert_says(err, "is \"printed\" meant?");
    write_file("tubes.csv", "mark,pri\033[2Jnted\nA 1,12AX7\n");
    assert_int_equal(run(words), 1);
    assert_says(err, "\\x1B");
    assert_null(strchr(err, '\033'));
}

/* ---- the folder ------------------------------------------------------------------------------ */

static void calls_of_a_file_are_made_line_by_line_and_a_refused_one_stops_no_other(void **state)
{
    (void)state;
    use_data("api");
    write_file("calls", "# a maker and its tubes\n"
                        "POST /api/makers {\"name\":\"Halvorsen Rør\",\"country\":\"NO\"}\n"
                        "POST /api/makers {\"name\":\"Halvorsen Rør\"}\n"
                        "\n"
                        "POST /api/makers not-json\n"
                        "GET /api/types/6Н8С/test-points\n"
                        "POST /api/tubes {\"printed\":\"6Н8С\",\"maker\":\"Halvorsen Rør\"}");
    char words[300];
    snprintf(words, sizeof words, "api --lines %s", path("calls"));
    assert_int_equal(run(words), 1);
    assert_says(err, "api, line 3: ");
    assert_says(err, "api, line 5: ");
    assert_null(strstr(err, "line 2"));
    assert_null(strstr(err, "line 6"));
    assert_says(out, "transconductance"); /* of the test point: a Cyrillic path was understood */
    assert_int_equal(run("tube list"), 0);
    assert_says(out, "6Н8С");
    assert_int_equal(run("api GET /api/makers"), 0);
    assert_says(out, "{\"items\":[{\"name\":\"Halvorsen Rør\",\"country\":\"NO\"}]}");
    snprintf(words, sizeof words, "api --lines %s", path("no-such-file"));
    assert_int_equal(run(words), 1);
    assert_says(err, "cannot read");
}

static void commands_wait_for_each_other(void **state)
{
    (void)state;
    use_data("many");
    assert_int_equal(run("lot list"), 0);
    const char *program = getenv("QUADRILLE");
    char line[1200];
    snprintf(line, sizeof line,
             "for i in 1 2 3 4 5 6; do %s maker add maker-$i >/dev/null & done; wait",
             program ? program : "build/quadrille");
    assert_int_equal(system(line), 0);
    assert_int_equal(run("maker list --json"), 0);
    for (int i = 1; i <= 6; i++) {
        char name[20];
        snprintf(name, sizeof name, "\"maker-%d\"", i);
        assert_says(out, name);
    }
}

static void a_backup_is_sound_and_never_written_over(void **state)
{
    (void)state;
    struct daemon d = {0};
    char words[300], head[100] = "";
    daemon_start(&d, NULL);
    setenv("QUADRILLE_DATA", d.data, 1);
    assert_int_equal(run("maker add Halvorsen"), 0);
    assert_int_equal(mkdir(path("kept"), 0700), 0);
    snprintf(words, sizeof words, "backup %s", path("kept/quadrille.db"));
    assert_int_equal(run(words), 0);
    const char *at = strstr(out, "head:");
    assert_non_null(at);
    assert_int_equal(sscanf(at, "head: %99s", head), 1);
    assert_int_equal(run(words), 1);
    assert_says(err, "never written over");
    assert_int_equal(run("maker add Vandermolen"), 0);
    snprintf(words, sizeof words, "verify --head %s", head);
    assert_int_equal(run(words), 0);
    assert_int_equal(daemon_stop(&d), 0);
    assert_int_equal(run(words), 0); /* the same without the daemon */

    setenv("QUADRILLE_DATA", path("kept"), 1); /* the copy is a data folder's database */
    assert_int_equal(run(words), 0);
    assert_int_equal(run("maker list"), 0);
    assert_says(out, "Halvorsen");
    assert_null(strstr(out, "Vandermolen"));
    daemon_forget(&d);
}

static void a_folder_that_cannot_be_made_is_named(void **state)
{
    (void)state;
    write_file("a-file", "");
    char words[200];
    snprintf(words, sizeof words, "lot list --data %s/data", path("a-file"));
    assert_int_equal(run(words), 1);
    assert_says(err, "a-file/data");
}

static int begin(void **state)
{
    (void)state;
    return mkdtemp(folder) ? 0 : -1;
}

static int end(void **state)
{
    (void)state;
    char line[100];
    snprintf(line, sizeof line, "rm -rf %s", folder);
    return system(line);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_answer_is_the_same_with_a_daemon_and_without),
        cmocka_unit_test(a_number_with_a_wrong_check_digit_is_refused_before_anything_is_asked),
        cmocka_unit_test(asking_in_a_way_that_makes_no_sense_ends_with_2_and_says_why),
        cmocka_unit_test(every_command_helps),
        cmocka_unit_test(the_version_is_told),
        cmocka_unit_test(a_password_is_read_from_standard_input_and_never_shown),
        cmocka_unit_test(a_file_is_loaded_by_line_and_again_changes_nothing),
        cmocka_unit_test(a_grade_is_told_in_sentences),
        cmocka_unit_test(a_table_is_never_matched_over_itself),
        cmocka_unit_test(what_a_file_calls_its_columns_is_shown_without_control_characters),
        cmocka_unit_test(calls_of_a_file_are_made_line_by_line_and_a_refused_one_stops_no_other),
        cmocka_unit_test(commands_wait_for_each_other),
        cmocka_unit_test(a_backup_is_sound_and_never_written_over),
        cmocka_unit_test(a_folder_that_cannot_be_made_is_named),
    };
    return cmocka_run_group_tests_name("command", tests, begin, end);
}
