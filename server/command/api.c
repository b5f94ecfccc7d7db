/* SPDX-License-Identifier: MIT
 *
 * api: method, path and body go out as they were given; what comes back is printed as it came.
 *
 * Only one thing is done to the path: bytes that may not stand in an address are escaped, so that
 * /api/types/6Н8С can be written as it is read.  Many calls can stand in a file, one a line: they
 * share one connection, which spares a script most of its time.
 */
#include "command/api.h"

#include "command/answer.h"
#include "command/client.h"
#include "command/command.h"

#include "base/pen.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BODY_BYTES ((size_t)16 << 20) /* the most that the daemon's setting body-kib can allow */

static int help(void)
{
    printf(
        "usage: quadrille api METHOD PATH [--body FILE]\n"
        "       quadrille api --lines FILE\n"
        "\n"
        "Call an address of the API (`quadrille routes` lists them) and print the answer.\n"
        "\n"
        "  METHOD       GET, POST, PUT, PATCH or DELETE\n"
        "  PATH         with its query: \"/api/tubes?lot=L-1\"\n"
        "  --body FILE  JSON to send; - is standard input\n"
        "  --lines FILE     many calls, one a line: METHOD PATH JSON; their answers one a line; a\n"
        "               line that is refused is told and does not keep the others from being "
        "sent\n"
        "  --if-match TAG   the version that is to be changed, as the answer to a GET had it\n"
        "  --data DIR   the data folder; without it $QUADRILLE_DATA, else the configured one\n");
    return EXIT_DONE;
}

static bool method_read(enum method *out, const char *word, struct err *e)
{
    static const char *const names[METHOD__COUNT] = {"GET", "POST", "PUT", "PATCH", "DELETE"};
    for (int i = 0; i < METHOD__COUNT; i++)
        if (strcmp(names[i], word) == 0) {
            *out = (enum method)i;
            return true;
        }
    return err_set(e, ERR_INVALID, "\"%.20s\" is no method: GET, POST, PUT, PATCH or DELETE", word);
}

/* The path with every byte escaped that may not stand in one; what is escaped already stays. */
static bool path_read(const char **out, const char *word, struct arena *a, struct err *e)
{
    struct pen p;
    if (*word != '/')
        return err_set(e, ERR_INVALID, "\"%.80s\" is no path: it begins with /, as in /api/tubes",
                       word);
    pen_init(&p, a, strlen(word) + 1);
    for (const unsigned char *s = (const unsigned char *)word; *s; s++) {
        if (*s <= ' ' || *s >= 0x7f || strchr("\"<>\\^`{|}", *s))
            pen_printf(&p, "%%%02X", (unsigned)*s);
        else
            pen_char(&p, (char)*s);
    }
    *out = pen_done(&p, NULL);
    return true;
}

static bool body_read(struct ask *q, const char *file, struct arena *a, struct err *e)
{
    bool standard = strcmp(file, "-") == 0;
    FILE *f = standard ? stdin : fopen(file, "rbe");
    if (!f)
        return err_set(e, ERR_NOT_FOUND, "cannot read %.200s: %s", file, strerror(errno));
    char piece[8192];
    struct pen p;
    size_t n;
    pen_init(&p, a, sizeof piece);
    while (p.n <= BODY_BYTES && (n = fread(piece, 1, sizeof piece, f)) > 0) {
        memcpy(pen_room(&p, n), piece, n);
        p.n += n;
    }
    bool failed = ferror(f);
    if (!standard)
        (void)fclose(f);
    if (failed)
        return err_set(e, ERR_UNAVAILABLE, "cannot read %.200s: %s", file, strerror(errno));
    if (p.n > BODY_BYTES)
        return err_set(e, ERR_TOO_LARGE, "%.200s is longer than a body can be: %zu bytes at most",
                       file, BODY_BYTES);
    q->body = pen_done(&p, &q->body_n);
    return true;
}

struct asked {
    struct common common;
    const char *method, *path, *body, *if_match, *lines;
};

static bool asked_check(const struct asked *q, struct err *e)
{
    if (q->common.help)
        return true;
    if (q->lines)
        return !(q->method || q->body || q->if_match) ||
               err_set(e, ERR_INVALID, "with --lines, method, path and body stand in the file");
    return q->path || err_set(e, ERR_INVALID, "say a method and a path");
}

static bool asked_read(struct asked *q, int argc, char **argv, struct err *e)
{
    for (int i = 1; i < argc;) {
        if (common_take(&q->common, &i, argc, argv, e) ||
            flag_take(&q->body, "body", &i, argc, argv, e) ||
            flag_take(&q->lines, "lines", &i, argc, argv, e) ||
            flag_take(&q->if_match, "if-match", &i, argc, argv, e))
            continue;
        if (e->code != ERR_NONE)
            return false;
        if (strncmp(argv[i], "--", 2) == 0)
            return err_set(e, ERR_INVALID, "there is no flag %.80s here", argv[i]);
        const char **to = !q->method ? &q->method : &q->path;
        if (*to)
            return err_set(e, ERR_INVALID, "\"%.80s\" is one word too many", argv[i]);
        *to = argv[i++];
    }
    return asked_check(q, e);
}

/* ---- one call ----------------------------------------------------------------------------- */

static int send(const char *name, struct client *c, const struct ask *ask, bool *answered,
                struct arena *a)
{
    struct err e = ERR_INIT;
    struct told told;
    *answered = client_ask(&told, c, ask, "asking", a, &e);
    return *answered ? answer_show(name, &told, NULL, true, a) : command_fail(name, &e);
}

static int call(const struct asked *q, struct arena *a)
{
    struct err e = ERR_INIT;
    struct ask ask = {.if_match = q->if_match, .save = stdout};
    struct client *c;
    bool answered;
    if (!method_read(&ask.method, q->method, &e) || !path_read(&ask.path, q->path, a, &e))
        return usage_fail("api", &e);
    if ((q->body && !body_read(&ask, q->body, a, &e)) || !client_open(&c, q->common.data, &e))
        return command_fail("api", &e);
    int status = send("api", c, &ask, &answered, a);
    client_close(c);
    return status;
}

/* ---- many calls --------------------------------------------------------------------------- */

/* The next word of *s; *s is moved behind it and the spaces that follow. */
static const char *word_take(char **s, struct arena *a)
{
    size_t n = strcspn(*s, " \t");
    const char *word = arena_bytes(a, *s, n);
    *s += n;
    *s += strspn(*s, " \t");
    return word;
}

static int line_call(const char *name, struct client *c, char *line, bool *answered,
                     struct arena *a)
{
    struct err e = ERR_INIT;
    struct ask ask = {.save = stdout};
    *answered = true;
    if (!method_read(&ask.method, word_take(&line, a), &e) ||
        !path_read(&ask.path, word_take(&line, a), a, &e))
        return command_fail(name, &e);
    if (*line) {
        ask.body = line;
        ask.body_n = strlen(line);
    }
    return send(name, c, &ask, answered, a);
}

static int lines_call(struct client *c, FILE *f)
{
    char *line = NULL;
    size_t room = 0;
    int status = EXIT_DONE;
    bool answered = true;
    struct arena *a = arena_new();
    for (int64_t n = 1; answered && getline(&line, &room, f) > 0; n++) {
        char *s = line + strspn(line, " \t\r\n");
        s[strcspn(s, "\r\n")] = '\0';
        arena_reset(a);
        if (*s && *s != '#' &&
            line_call(arena_printf(a, "api, line %lld", (long long)n), c, s, &answered, a))
            status = EXIT_NO;
    }
    free(line);
    arena_free(a);
    return status;
}

static int lines_run(const struct asked *q)
{
    struct err e = ERR_INIT;
    struct client *c;
    bool standard = strcmp(q->lines, "-") == 0;
    FILE *f = standard ? stdin : fopen(q->lines, "re");
    int status;
    if (!f) {
        err_set(&e, ERR_NOT_FOUND, "cannot read %.200s: %s", q->lines, strerror(errno));
        return command_fail("api", &e);
    }
    if (client_open(&c, q->common.data, &e)) {
        status = lines_call(c, f);
        client_close(c);
    } else {
        status = command_fail("api", &e);
    }
    if (ferror(f)) {
        err_set(&e, ERR_UNAVAILABLE, "cannot read %.200s", q->lines);
        status = command_fail("api", &e);
    }
    if (!standard)
        (void)fclose(f);
    return status;
}

int command_api(int argc, char **argv)
{
    struct arena *a = arena_new();
    struct err e = ERR_INIT;
    struct asked q = {0};
    int status;
    if (!asked_read(&q, argc, argv, &e))
        status = usage_fail("api", &e);
    else if (q.common.help)
        status = help();
    else
        status = q.lines ? lines_run(&q) : call(&q, a);
    arena_free(a);
    return status;
}
