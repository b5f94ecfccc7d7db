/* SPDX-License-Identifier: MIT
 *
 * api: method, path and body go out as they were given; what comes back is printed as it came.
 *
 * Only one thing is done to the path: bytes that may not stand in an address are escaped, so that
 * /api/types/6Н8С can be written as it is read.
 */
#include "command/api.h"

#include "command/answer.h"
#include "command/client.h"
#include "command/command.h"

#include "base/pen.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

#define BODY_BYTES ((size_t)16 << 20) /* the most that the daemon's setting body-kib can allow */

static int help(void)
{
    printf("usage: quadrille api METHOD PATH [--body FILE]\n"
           "\n"
           "Call an address of the API (`quadrille routes` lists them) and print the answer.\n"
           "\n"
           "  METHOD       GET, POST, PUT, PATCH or DELETE\n"
           "  PATH         with its query: \"/api/tubes?lot=L-1\"\n"
           "  --body FILE  JSON to send; - is standard input\n"
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
    const char *method, *path, *body, *if_match;
};

static bool asked_read(struct asked *q, int argc, char **argv, struct err *e)
{
    for (int i = 1; i < argc;) {
        if (common_take(&q->common, &i, argc, argv, e) ||
            flag_take(&q->body, "body", &i, argc, argv, e) ||
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
    return q->common.help || q->path || err_set(e, ERR_INVALID, "say a method and a path");
}

static int call(const struct asked *q, struct arena *a)
{
    struct err e = ERR_INIT;
    struct ask ask = {.if_match = q->if_match, .save = stdout};
    struct client *c;
    struct told told;
    if (!method_read(&ask.method, q->method, &e) || !path_read(&ask.path, q->path, a, &e))
        return usage_fail("api", &e);
    if ((q->body && !body_read(&ask, q->body, a, &e)) || !client_open(&c, q->common.data, &e))
        return command_fail("api", &e);
    int status = client_ask(&told, c, &ask, "asking", a, &e)
                     ? answer_show("api", &told, NULL, true, a)
                     : command_fail("api", &e);
    client_close(c);
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
    else
        status = q.common.help ? help() : call(&q, a);
    arena_free(a);
    return status;
}
