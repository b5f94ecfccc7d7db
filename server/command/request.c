/* SPDX-License-Identifier: MIT
 *
 * request: words and flags go into the struct of the route's request, by the same wire_set that
 * takes a query or a CSV cell, so that a slip is refused here in the API's own words; from the
 * struct come path, query or body.
 *
 * A secret is never a flag, since flags can be seen by others on the machine: it is asked for, or
 * read from standard input.
 */
#include "command/request_priv.h"

#include "api/page.h"
#include "api/wire.h"
#include "base/pen.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

const struct route *route_find(enum method method, const char *path)
{
    for (const struct route *const *t = route_tables; *t; t++)
        for (const struct route *r = *t; r->path; r++)
            if (r->method == method && strcmp(r->path, path) == 0)
                return r;
    return NULL;
}

const struct field *request_field(const struct shape *s, const char *name)
{
    for (const struct field *f = s ? s->field : NULL; f && f->name; f++)
        if (strcmp(f->name, name) == 0)
            return f;
    return NULL;
}

/* ---- secrets ------------------------------------------------------------------------------ */

/* One line from standard input, without an echo where that is a terminal. */
static bool secret_read(const char **out, const char *name, struct arena *a, struct err *e)
{
    struct termios kept, quiet;
    char line[4100];
    bool terminal = isatty(STDIN_FILENO) && tcgetattr(STDIN_FILENO, &kept) == 0;
    if (terminal) {
        quiet = kept;
        quiet.c_lflag &= ~(tcflag_t)ECHO;
        fprintf(stderr, "%s: ", name);
        tcsetattr(STDIN_FILENO, TCSAFLUSH, &quiet);
    }
    bool got = fgets(line, sizeof line, stdin) != NULL;
    if (terminal) {
        tcsetattr(STDIN_FILENO, TCSAFLUSH, &kept);
        fputc('\n', stderr);
    }
    if (!got)
        return err_field(e, name, ERR_INVALID,
                         "the %s is read as one line from standard input, which has none", name);
    line[strcspn(line, "\r\n")] = '\0';
    *out = arena_text(a, line);
    explicit_bzero(line, sizeof line);
    return true;
}

/* ---- fields ------------------------------------------------------------------------------- */

static bool unknown_flag(const char *word, struct err *e)
{
    return err_set(e, ERR_INVALID, "there is no flag %.80s here", word);
}

/* Append a struct of the list's shape, blank. */
static void *item_add(struct request *q, const struct field *f)
{
    struct list *l = (struct list *)(void *)((char *)q->in + f->at);
    char *items = arena_array(q->arena, l->count + 1, f->sub->size);
    if (l->count)
        memcpy(items, l->items, l->count * f->sub->size);
    void *item = items + l->count * f->sub->size;
    memcpy(item, wire_blank(f->sub, q->arena), f->sub->size);
    *l = (struct list){items, l->count + 1};
    return item;
}

/* "quantity=gm,unit=mA/V" as one more item of a list. */
static bool item_take(struct request *q, const struct field *f, const char *value, struct err *e)
{
    void *item = item_add(q, f);
    for (const char *s = value; *s;) {
        size_t n = strcspn(s, ","), k = strcspn(s, "=,");
        if (k == n)
            return err_field(e, f->name, ERR_INVALID,
                             "%s is \"%.80s\"; it must be written name=value,name=value", f->name,
                             value);
        const char *name = arena_bytes(q->arena, s, k);
        const char *text = arena_bytes(q->arena, s + k + 1, n - k - 1);
        const struct field *part = request_field(f->sub, name);
        if (!wire_set(item, f->sub, name, text, q->arena, e))
            return false;
        if (part && part->kind == K_TEXT && !*text) /* said to be empty, as a pure number's unit */
            *(const char **)(void *)((char *)item + part->at) = text;
        s += n + (s[n] == ',');
    }
    return wire_complete(item, f->sub, e);
}

static bool field_take(struct request *q, const struct field *f, const char *value, struct err *e)
{
    if (f->kind == K_LIST)
        return item_take(q, f, value, e);
    return wire_set(q->in, q->route->in, f->name, value, q->arena, e);
}

/* "--cost-minor" is the field cost_minor. */
static bool flag_field(struct request *q, int *i, int argc, char **argv, struct err *e)
{
    char name[REQUEST_NAME_BYTES];
    const char *word = argv[*i] + 2, *value;
    size_t n = strcspn(word, "=");
    if (n >= sizeof name)
        return unknown_flag(argv[*i], e);
    for (size_t k = 0; k < n; k++)
        name[k] = word[k] == '-' ? '_' : word[k];
    name[n] = '\0';
    const struct field *f = request_field(q->route->in, name);
    if (!f || f->flags & F_SECRET || f->kind == K_OBJECT)
        return unknown_flag(argv[*i], e);
    bool bare = f->kind == K_BOOL && !word[n];
    char *flag = arena_bytes(q->arena, word, n);
    if (bare &&
        (*i + 1 == argc || (strcmp(argv[*i + 1], "true") && strcmp(argv[*i + 1], "false")))) {
        ++*i;
        value = "true";
    } else if (!flag_take(&value, flag, i, argc, argv, e)) {
        return false;
    }
    return field_take(q, f, value, e);
}

/* The next plain word's name out of args: "code", or "findings{aspect=finding}". */
static bool args_next(char *name, struct request *q)
{
    q->args += strspn(q->args, " ");
    size_t n = strcspn(q->args, " ");
    if (n == 0)
        return false;
    snprintf(name, REQUEST_NAME_BYTES, "%.*s", (int)n, q->args);
    if (!strchr(name, '{'))
        q->args += n; /* a list takes all words there are */
    return true;
}

/* "pins=dull" by "findings{aspect=finding}". */
static bool pair_take(struct request *q, const char *pattern, const char *word, struct err *e)
{
    char list[REQUEST_NAME_BYTES], left[REQUEST_NAME_BYTES], right[REQUEST_NAME_BYTES];
    size_t k = strcspn(word, "=");
    if (sscanf(pattern, "%63[^{]{%63[^=]=%63[^}]}", list, left, right) != 3)
        return err_set(e, ERR_INTERNAL, "a wrong row in the table of commands: %s", pattern);
    if (!word[k])
        return err_set(e, ERR_INVALID, "\"%.80s\" must be written %s=%s", word, left, right);
    const struct field *f = request_field(q->route->in, list);
    void *item = item_add(q, f);
    return wire_set(item, f->sub, left, arena_bytes(q->arena, word, k), q->arena, e) &&
           wire_set(item, f->sub, right, word + k + 1, q->arena, e);
}

static bool word_take(struct request *q, const char *word, struct err *e)
{
    char name[REQUEST_NAME_BYTES];
    while (args_next(name, q)) {
        const struct field *f;
        if (*name == '<') {
            q->file = word;
            return true;
        }
        if (strchr(name, '{'))
            return pair_take(q, name, word, e);
        f = request_field(q->route->in, name);
        if (strchr(name, '=') || (f && f->flags & F_SECRET))
            continue; /* not typed */
        return field_take(q, f, word, e);
    }
    return err_set(e, ERR_INVALID, "\"%.80s\" is one word too many", word);
}

/* The fields of args that are not typed: constants and secrets. */
static bool args_rest(struct request *q, struct err *e)
{
    char name[REQUEST_NAME_BYTES];
    q->args = q->command->args;
    while (args_next(name, q) && !strchr(name, '{')) {
        if (*name == '<') {
            if (!q->file)
                return err_set(e, ERR_INVALID, "say which file");
            continue;
        }
        char *equals = strchr(name, '=');
        const char *value = equals ? equals + 1 : NULL;
        if (equals)
            *equals = '\0';
        const struct field *f = request_field(q->route->in, name);
        bool secret = f && f->flags & F_SECRET;
        if (!value && secret && !secret_read(&value, name, q->arena, e))
            return false;
        if (value && !wire_set(q->in, q->route->in, name, value, q->arena, e))
            return false;
    }
    return true;
}

/* ---- the request -------------------------------------------------------------------------- */

/* ":stock_no" by its value. */
static const char *path_make(struct request *q)
{
    struct pen p;
    char name[REQUEST_NAME_BYTES], buf[WIRE_PRINT_BYTES];
    pen_init(&p, q->arena, 0);
    for (const char *s = q->route->path; *s;) {
        if (*s != ':') {
            pen_char(&p, *s++);
            continue;
        }
        size_t n = strcspn(++s, "/");
        snprintf(name, sizeof name, "%.*s", (int)n, s);
        const struct field *f = request_field(q->route->in, name);
        pen_text(&p, page_escape(q->arena, wire_print(buf, f, q->in)));
        s += n;
    }
    return pen_done(&p, NULL);
}

static const char *query_make(struct request *q, const char *path)
{
    struct pen p;
    char buf[WIRE_PRINT_BYTES];
    char before = '?';
    pen_init(&p, q->arena, 0);
    pen_text(&p, path);
    for (const struct field *f = q->route->in ? q->route->in->field : NULL; f && f->name; f++) {
        if (f->flags & F_PATH || f->kind == K_LIST || f->kind == K_OBJECT)
            continue;
        const struct texts *t = (const void *)((const char *)q->in + f->at);
        size_t count = f->kind == K_TEXTS ? t->count : 1;
        for (size_t i = 0; i < count; i++) {
            const char *text = f->kind == K_TEXTS ? t->items[i] : wire_print(buf, f, q->in);
            if (!*text)
                continue;
            pen_printf(&p, "%c%s=%s", before, f->name, page_escape(q->arena, text));
            before = '&';
        }
    }
    return pen_done(&p, NULL);
}

/* A change is made from what is there now: its ETag goes with it. */
static const char *etag_get(struct request *q, struct client *cl, const char *path)
{
    struct told told;
    const struct ask ask = {.method = GET, .path = path};
    if (q->route->method != PATCH || !client_ask(&told, cl, &ask, "reading", q->arena, NULL))
        return NULL;
    return told.status == 200 ? told.etag : NULL;
}

/* Standard input as a file that can be sent; removed by the caller. */
static bool spool(const char **path, struct arena *a, struct err *e)
{
    const char *folder = getenv("TMPDIR");
    char *to = arena_printf(a, "%s/quadrille-input-XXXXXX", folder && *folder ? folder : "/tmp");
    char buf[65536];
    int fd = mkostemp(to, O_CLOEXEC);
    FILE *f = fd < 0 ? NULL : fdopen(fd, "wb");
    bool good = f != NULL;
    for (size_t n; good && (n = fread(buf, 1, sizeof buf, stdin)) > 0;)
        good = fwrite(buf, 1, n, f) == n;
    if (f && fclose(f) != 0)
        good = false;
    if (fd >= 0 && !good)
        unlink(to);
    *path = to;
    return good ||
           err_set(e, ERR_UNAVAILABLE, "cannot keep standard input in %s: %s", to, strerror(errno));
}

static bool file_check(const char *path, struct err *e)
{
    struct stat s;
    if (stat(path, &s) != 0 || access(path, R_OK) != 0)
        return err_set(e, ERR_INVALID, "cannot read %s: %s", path, strerror(errno));
    return S_ISREG(s.st_mode) || err_set(e, ERR_INVALID, "%s is no file", path);
}

/* By the ending of its name: lines of JSON, or CSV. */
static const char *file_type(const char *path)
{
    const char *dot = strrchr(path, '.');
    bool lines = dot && (strcmp(dot, ".ndjson") == 0 || strcmp(dot, ".jsonl") == 0);
    return lines ? "application/x-ndjson" : "text/csv";
}

static void ask_make(struct ask *ask, struct request *q, struct client *cl)
{
    bool by_query = ask->method == GET || ask->method == DELETE || q->route->flags & UPLOAD;
    ask->path = path_make(q);
    ask->if_match = etag_get(q, cl, ask->path);
    if (by_query)
        ask->path = query_make(q, ask->path);
    else if (q->route->in)
        ask->body = wire_pack(q->route->in, q->in, q->arena, &ask->body_n);
}

static int send(struct request *q, const char *file)
{
    const char *name = q->command->name;
    struct client *cl;
    struct err e = ERR_INIT;
    struct told told;
    struct ask ask = {.method = q->route->method, .save = stdout, .upload = file};
    if (!client_open(&cl, q->common.data, &e))
        return command_fail(name, &e);
    ask.content_type = file ? file_type(q->file) : NULL;
    ask_make(&ask, q, cl);
    const char *doing = q->file ? arena_printf(q->arena, "%s %s", name, q->file) : name;
    bool good = client_ask(&told, cl, &ask, doing, q->arena, &e) &&
                (!q->report || answer_report(q->report, &told, q->route->out, q->arena, &e));
    int status = good ? answer_show(name, &told, q->route->out, q->common.json, q->arena)
                      : command_fail(name, &e);
    client_close(cl);
    return status;
}

static int send_file(struct request *q)
{
    struct err e = ERR_INIT;
    const char *file = q->file;
    bool spooled = file && strcmp(file, "-") == 0;
    if (spooled ? !spool(&file, q->arena, &e) : file && !file_check(file, &e))
        return command_fail(q->command->name, &e);
    int status = send(q, file);
    if (spooled)
        unlink(file);
    return status;
}

/* ---- */

static bool words_take(struct request *q, int argc, char **argv, struct err *e)
{
    bool plain = false; /* after "--" every word is one */
    for (int i = 0; i < argc;) {
        if (!plain && strcmp(argv[i], "--") == 0) {
            plain = true;
            i++;
        } else if (!plain && common_take(&q->common, &i, argc, argv, e)) {
            continue;
        } else if (!plain && q->route->flags & UPLOAD &&
                   flag_take(&q->report, "report", &i, argc, argv, e)) {
            continue;
        } else if (e->code != ERR_NONE) {
            return false;
        } else if (!plain && strncmp(argv[i], "--", 2) == 0) {
            if (!flag_field(q, &i, argc, argv, e))
                return false;
        } else if (!word_take(q, argv[i++], e)) {
            return false;
        }
    }
    return true;
}

int request_run(const struct command *c, int argc, char **argv)
{
    struct err e = ERR_INIT;
    struct request q = {.command = c,
                        .route = route_find(c->method, c->path),
                        .arena = arena_new(),
                        .args = c->args};
    int status;
    if (q.route->in)
        q.in = wire_blank(q.route->in, q.arena);
    if (!words_take(&q, argc, argv, &e))
        status = *e.field ? command_fail(c->name, &e) : usage_fail(c->name, &e);
    else if (q.common.help)
        status = request_help(&q);
    else if (!args_rest(&q, &e) || (q.in && !wire_complete(q.in, q.route->in, &e)))
        status = usage_fail(c->name, &e);
    else
        status = send_file(&q);
    arena_free(q.arena);
    return status;
}
