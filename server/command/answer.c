/* SPDX-License-Identifier: MIT
 *
 * answer: what came back, printed, and the exit status that it means.
 */
#include "command/answer.h"

#include "api/table.h"
#include "base/pen.h"
#include "command/command.h"
#include "command/show.h"

#include <errno.h>
#include <string.h>

/* Whether a reply says no: it counts something that was refused, or found something unsound. */
static bool refused(const struct shape *s, const void *from)
{
    for (const struct field *f = s->field; f->name; f++)
        if (f->kind == K_BOOL && strcmp(f->name, "sound") == 0)
            return *(const int64_t *)(const void *)((const char *)from + f->at) == 0;
    for (const struct field *f = s->field; f->name; f++)
        if (f->kind == K_INT && strcmp(f->name, "refused") == 0)
            return *(const int64_t *)(const void *)((const char *)from + f->at) > 0;
    return false;
}

int answer_show(const char *command, const struct told *told, const struct shape *reply, bool json,
                struct arena *a)
{
    void *from;
    struct err e = ERR_INIT;
    bool good = told->status < 400;
    if (json && told->n)
        fprintf(stdout, "%s\n", told->body);
    if (!good) {
        fprintf(stderr, "quadrille %s: ", command);
        show_problem(stderr, told, json ? NULL : reply, a);
        return EXIT_NO;
    }
    if (!told->n || (json && !reply))
        return EXIT_DONE;
    if (!reply) {
        fwrite(told->body, 1, told->n, stdout);
        return EXIT_DONE;
    }
    if (!wire_unpack_reply(&from, reply, told->body, told->n, a, &e))
        return command_fail(command, &e);
    if (json)
        return refused(reply, from) ? EXIT_NO : EXIT_DONE;
    show_reply(stdout, reply, from, a);
    if (told->next) {
        const char *after = strstr(told->next, "after=");
        fprintf(stderr, "there are more: --after %s\n", after ? after + 6 : "...");
    }
    return refused(reply, from) ? EXIT_NO : EXIT_DONE;
}

bool answer_report(const char *file, const struct told *told, const struct shape *reply,
                   struct arena *a, struct err *e)
{
    void *from;
    struct pen p;
    if (told->status >= 400 || !reply)
        return true;
    if (!wire_unpack_reply(&from, reply, told->body, told->n, a, e))
        return false;
    pen_init(&p, a, 0);
    for (const struct field *f = reply->field; f->name; f++)
        if (f->kind == K_LIST) {
            table_head(&p, f->sub, TABLE_CSV);
            table_rows(&p, f->sub, (const struct list *)(const void *)((char *)from + f->at),
                       TABLE_CSV);
            break;
        }
    FILE *to = fopen(file, "wbe");
    bool good = to && fwrite(p.s, 1, p.n, to) == p.n;
    if (to && fclose(to) != 0)
        good = false;
    return good || err_set(e, ERR_UNAVAILABLE, "cannot write %s: %s", file, strerror(errno));
}
