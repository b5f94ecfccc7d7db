/* SPDX-License-Identifier: MIT
 *
 * Tests of work/conf and work/log.  Expected values are the defaults and the order (flag, file,
 * default) that conf.h promises; the form of a log line is that of log.h.
 */
#include "work/conf.h"
#include "work/log.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

/* conf_load of the flags given, the last NULL. */
static bool load(struct conf *c, struct arena *a, struct err *e, ...)
{
    char *argv[16];
    int argc = 0;
    va_list ap;
    va_start(ap, e);
    for (const char *flag; (flag = va_arg(ap, const char *)) != NULL;)
        argv[argc++] = arena_text(a, flag);
    va_end(ap);
    return conf_load(c, argc, argv, a, e);
}

static char *file_with(const char *text)
{
    static char path[] = "/tmp/quadrille-conf-XXXXXX";
    strcpy(path + strlen(path) - 6, "XXXXXX");
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, text, strlen(text)), (ssize_t)strlen(text));
    close(fd);
    return path;
}

static const char none[] = "--config=/dev/null";

static void a_setting_comes_from_flag_then_file_then_default(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct err e = ERR_INIT;
    struct conf c;
    assert_true(load(&c, a, &e, none, NULL));
    assert_string_equal(c.listen, "127.0.0.1");
    assert_int_equal(c.port, 7373);
    char *path = file_with("# a comment\n\n port = 8001 \nlisten = ::1\nbehind-tls = yes\n");
    assert_true(load(&c, a, &e, "--port", "8002", "--config", path, NULL));
    assert_int_equal(c.port, 8002);
    assert_string_equal(c.listen, "::1");
    assert_int_equal(c.behind_tls, 1);
    unlink(path);
    arena_free(a);
}

static void the_data_folder_follows_xdg_data_home(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct err e = ERR_INIT;
    struct conf c;
    setenv("XDG_DATA_HOME", "/tmp/somewhere", 1);
    assert_true(load(&c, a, &e, none, NULL));
    assert_string_equal(c.data, "/tmp/somewhere/quadrille");
    /* "If $XDG_DATA_HOME is either not set or empty, a default equal to $HOME/.local/share should
     * be used": XDG Base Directory Specification.  So a command finds the same data from any
     * folder. */
    const char *home = getenv("HOME");
    char *kept = home ? strdup(home) : NULL;
    setenv("XDG_DATA_HOME", "", 1);
    setenv("HOME", "/tmp/somebody", 1);
    assert_true(load(&c, a, &e, none, NULL));
    assert_string_equal(c.data, "/tmp/somebody/.local/share/quadrille");
    setenv("QUADRILLE_DATA", "/tmp/elsewhere", 1); /* as every command takes it */
    assert_true(load(&c, a, &e, none, NULL));
    assert_string_equal(c.data, "/tmp/elsewhere");
    assert_true(load(&c, a, &e, none, "--data=/tmp/d", NULL));
    assert_string_equal(c.data, "/tmp/d");
    unsetenv("QUADRILLE_DATA");
    unsetenv("XDG_DATA_HOME");
    unsetenv("HOME");
    assert_true(load(&c, a, &e, none, NULL));
    assert_string_equal(c.data, "quadrille-data");
    if (kept)
        setenv("HOME", kept, 1);
    free(kept);
    assert_true(load(&c, a, &e, none, "--data=/tmp/d", NULL));
    assert_string_equal(c.data, "/tmp/d");
    arena_free(a);
}

static void a_wrong_flag_is_named_with_what_would_be_right(void **state)
{
    (void)state;
    static const struct {
        const char *flag, *value, *said;
    } cases[] = {
        {"--port", "65536", "port is \"65536\"; it must be a whole number from 0 to 65535"},
        {"--port", "80x", "port is \"80x\"; it must be a whole number from 0 to 65535"},
        {"--port", "", "port is \"\"; it must be a whole number from 0 to 65535"},
        {"--prot", "80", "there is no flag --prot; `quadrille serve --help` lists them"},
        {"--listen", "localhost",
         "listen is \"localhost\"; it must be an address in numbers, as 127.0.0.1 or ::1"},
        {"--log", "all", "log is \"all\"; it must be error, note or request"},
        {"--behind-tls", "1", "behind-tls is \"1\"; it must be yes or no"},
        {"--data", "", "data is empty; it must name a folder"},
        {"port", "80", "\"port\" is not a flag; flags look like --port 8000"},
        {"--config=/dev/null", "--port", "--port needs a value after it"},
    };
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        struct arena *a = arena_new();
        struct err e = ERR_INIT;
        struct conf c = {.port = -7};
        assert_false(load(&c, a, &e, none, cases[i].flag, cases[i].value, NULL));
        assert_string_equal(e.text, cases[i].said);
        assert_int_equal(e.code, ERR_INVALID);
        assert_int_equal(c.port, -7);
        arena_free(a);
    }
}

static void a_wrong_line_of_the_file_is_named_by_its_number(void **state)
{
    (void)state;
    static const struct {
        const char *text, *said;
        int line;
    } cases[] = {
        {"port = 1\nprot = 2\n", "there is no setting \"prot\"", 2},
        {"port\n", "\"port\" is not a line of the form name = value", 1},
        {"\n\nport = -1\n", "port is \"-1\"; it must be a whole number from 0 to 65535", 3},
    };
    for (size_t i = 0; i < ARRAY_LEN(cases); i++) {
        struct arena *a = arena_new();
        struct err e = ERR_INIT;
        struct conf c;
        char *path = file_with(cases[i].text);
        assert_false(load(&c, a, &e, "--config", path, NULL));
        assert_int_equal(e.line, cases[i].line);
        assert_non_null(strstr(e.text, cases[i].said));
        assert_non_null(strstr(e.text, path));
        unlink(path);
        arena_free(a);
    }
    struct arena *a = arena_new();
    struct err e = ERR_INIT;
    struct conf c;
    assert_false(load(&c, a, &e, "--config", "/nowhere/at/all", NULL));
    assert_non_null(strstr(e.text, "/nowhere/at/all"));
    arena_free(a);
}

static void a_log_line_quotes_what_needs_it_and_stays_one_line(void **state)
{
    (void)state;
    struct log_line l;
    log_begin(&l, LOG_NOTE, "tested");
    log_text(&l, "path", "/api/x");
    log_text(&l, "said", "a \"b\"\nc");
    log_text(&l, "none", NULL);
    log_int(&l, "n", -3);
    l.text[l.n] = '\0';
    assert_non_null(strstr(l.text, " level=note event=tested path=/api/x "
                                   "said=\"a \\\"b\\\"\\x0ac\" none=\"\" n=-3"));
    assert_null(strchr(l.text, '\n'));
    char much[3000];
    memset(much, 'x', sizeof much - 1);
    much[sizeof much - 1] = '\0';
    log_text(&l, "much", much);
    assert_true(l.n < sizeof l.text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_setting_comes_from_flag_then_file_then_default),
        cmocka_unit_test(the_data_folder_follows_xdg_data_home),
        cmocka_unit_test(a_wrong_flag_is_named_with_what_would_be_right),
        cmocka_unit_test(a_wrong_line_of_the_file_is_named_by_its_number),
        cmocka_unit_test(a_log_line_quotes_what_needs_it_and_stays_one_line),
    };
    return cmocka_run_group_tests_name("conf", tests, NULL, NULL);
}
