/* SPDX-License-Identifier: MIT
 *
 * request_help: how to ask, told from the route's own fields.
 */
#include "command/request_priv.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

/* Whether args has the field, typed or not. */
static bool in_args(const struct request *q, const char *name)
{
    size_t n = strlen(name);
    for (const char *s = q->command->args; *s;) {
        s += strspn(s, " ");
        size_t k = strcspn(s, " ={");
        if (k == n && memcmp(s, name, n) == 0)
            return true;
        s += strcspn(s, " ");
    }
    return false;
}

static void put_upper(const char *s, size_t n)
{
    for (size_t i = 0; i < n; i++)
        putchar(toupper((unsigned char)s[i]));
}

static void help_usage(const struct request *q)
{
    printf("usage: quadrille %s", q->command->name);
    for (const char *s = q->command->args; *s;) {
        s += strspn(s, " ");
        size_t n = strcspn(s, " "), k = strcspn(s, "={");
        char name[REQUEST_NAME_BYTES];
        snprintf(name, sizeof name, "%.*s", (int)(k < n ? k : n), s);
        const struct field *f = request_field(q->route->in, name);
        if (*s == '<') {
            putchar(' ');
            put_upper(s + 1, n - 1);
        } else if (k < n && s[k] == '{') {
            putchar(' ');
            put_upper(s + k + 1, n - k - 2);
            fputs(" ...", stdout);
        } else if (k >= n && !(f && f->flags & F_SECRET)) {
            putchar(' ');
            put_upper(s, n);
        }
        s += n;
    }
    puts(" [--FLAG VALUE ...]");
}

static const char *kind_said(const struct field *f, struct arena *a)
{
    const char *said = "";
    if (f->kind == K_LIST)
        said = "NAME=VALUE,... (may be repeated)";
    else if (f->kind == K_TEXTS)
        said = "TEXT (may be repeated)";
    else if (f->kind == K_DATE)
        said = "YYYY-MM-DD";
    else if (f->kind == K_MOMENT)
        said = "YYYY-MM-DDTHH:MM:SSZ";
    else if (f->kind == K_INT)
        said = "N";
    else if (f->kind == K_ENUM) {
        for (const char *const *n = f->names; *n; n++)
            said = arena_printf(a, "%s%s%s", said, *said ? "|" : "", *n);
    } else if (f->kind != K_BOOL)
        said = "TEXT";
    return said;
}

static void help_list(const struct field *list)
{
    for (const struct field *f = list->sub->field; f->name; f++)
        printf("      %-14s %s%s\n", f->name, f->help ? f->help : "",
               f->flags & F_REQUIRED ? "" : "; may be left out");
}

int request_help(struct request *q)
{
    help_usage(q);
    printf("\n%s.\n\n", q->command->help);
    for (const struct field *f = q->route->in ? q->route->in->field : NULL; f && f->name; f++) {
        char name[REQUEST_NAME_BYTES];
        snprintf(name, sizeof name, "%s", f->name);
        for (char *c = name; *c; c++)
            *c = (char)(in_args(q, f->name) ? toupper((unsigned char)*c) : *c == '_' ? '-' : *c);
        if (strstr(q->command->args, arena_printf(q->arena, "%s=", f->name)))
            continue;
        if (f->flags & F_SECRET)
            printf("  %s: asked for, or one line of standard input\n", f->name);
        else if (in_args(q, f->name))
            printf("  %s: %s\n", name, f->help);
        else if (f->kind == K_BOOL)
            printf("  --%s: %s\n", name, f->help + (strncmp(f->help, "true: ", 6) == 0 ? 6 : 0));
        else
            printf("  --%s %s: %s%s\n", name, kind_said(f, q->arena), f->help,
                   f->flags & F_REQUIRED ? " (has to be there)" : "");
        if (f->kind == K_LIST)
            help_list(f);
    }
    if (q->route->flags & UPLOAD)
        puts("  --report FILE: the lines that were not taken, as CSV");
    printf("%s", COMMON_HELP);
    return EXIT_DONE;
}
