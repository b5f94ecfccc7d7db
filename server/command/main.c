/* SPDX-License-Identifier: MIT
 *
 * main: one executable, one table of commands.
 */
#include "command/match.h"
#include "command/serve.h"

#include "base/err.h"

#include <stdio.h>
#include <string.h>

static const struct {
    const char *name;
    int (*run)(int argc, char **argv); /* argv[0] is the name; returns the exit status */
    const char *help;
} commands[] = {
    {"match", command_match, "compose matched sets from a CSV file of readings"},
    {"serve", command_serve, "open the data folder and serve pages and API"},
};

static void usage(FILE *to)
{
    fputs("usage: quadrille COMMAND [...]\n\n", to);
    for (size_t i = 0; i < ARRAY_LEN(commands); i++)
        fprintf(to, "  %-10s %s\n", commands[i].name, commands[i].help);
    fputs("\nquadrille COMMAND --help tells more of one.\n", to);
}

int main(int argc, char **argv)
{
    if (argc > 1 && (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "help") == 0)) {
        usage(stdout);
        return 0;
    }
    for (size_t i = 0; argc > 1 && i < ARRAY_LEN(commands); i++)
        if (strcmp(argv[1], commands[i].name) == 0)
            return commands[i].run(argc - 1, argv + 1);
    if (argc > 1)
        fprintf(stderr, "quadrille: there is no command \"%s\"\n\n", argv[1]);
    usage(stderr);
    return 2;
}
