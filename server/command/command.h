/* SPDX-License-Identifier: MIT
 *
 * command: what a command of the command line is, and what all of them share.
 */
#ifndef QUADRILLE_COMMAND_COMMAND_H
#define QUADRILLE_COMMAND_COMMAND_H

#include "api/route.h"

enum exit_status {
    EXIT_DONE = 0,
    EXIT_NO = 1,    /* the answer is no, or the data is refused */
    EXIT_USAGE = 2, /* asked in a way that makes no sense */
};

/* One row of the table in main.c.  Either run is there, or the command is one request: method and
 * path name its route, and args the fields that stand as plain words, in order:
 *     code          a field of the route's request
 *     disabled=true a field with this value, not typed
 *     findings{aspect=finding}   the words left, each X=Y, are items of this list
 *     <file         a file that is sent as the body, "-" for standard input
 * Every other field is a flag of its own name. */
struct command {
    const char *name;                  /* "lot add" */
    int (*run)(int argc, char **argv); /* argv[0] is the last word of the name */
    enum method method;
    const char *path; /* as in the route table */
    const char *args;
    const char *help; /* one line */
};

/* What every command takes: --data DIR, --json, --help. */
struct common {
    const char *data; /* NULL when not given */
    bool json, help;
};

/* Take argv[*i] (and what belongs to it) when it is one of these; *i is moved past it.  false when
 * it is something else, or when --data has no folder after it (then *e is set). */
bool common_take(struct common *c, int *i, int argc, char **argv, struct err *e);

/* Take "--name VALUE" or "--name=VALUE".  true with *value, and *i moved past it; false when
 * argv[*i] is something else, or nothing follows (then *e is set). */
bool flag_take(const char **value, const char *name, int *i, int argc, char **argv, struct err *e);

/* Say on standard error what is wrong with how it was asked; EXIT_USAGE. */
int usage_fail(const char *command, const struct err *e);

/* Say on standard error what failed; EXIT_NO. */
int command_fail(const char *command, const struct err *e);

/* Lines of help for what every command takes. */
extern const char COMMON_HELP[];

#endif
