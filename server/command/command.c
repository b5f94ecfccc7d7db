/* SPDX-License-Identifier: MIT
 *
 * command: words and flags.
 */
#include "command/command.h"

#include <stdio.h>
#include <string.h>

const char COMMON_HELP[] =
    "  --data DIR   the data folder; without it $QUADRILLE_DATA, else the configured one\n"
    "  --json       the answer as the API gives it\n";

bool flag_take(const char **value, const char *name, int *i, int argc, char **argv, struct err *e)
{
    const char *word = argv[*i];
    size_t n = strlen(name);
    if (strncmp(word, "--", 2) != 0 || strncmp(word + 2, name, n) != 0)
        return false;
    if (word[n + 2] == '=') {
        *value = word + n + 3;
        ++*i;
        return true;
    }
    if (word[n + 2])
        return false;
    if (*i + 1 >= argc)
        return err_set(e, ERR_INVALID, "--%s needs a value after it", name);
    *value = argv[*i + 1];
    *i += 2;
    return true;
}

bool common_take(struct common *c, int *i, int argc, char **argv, struct err *e)
{
    if (strcmp(argv[*i], "--json") == 0)
        c->json = true;
    else if (strcmp(argv[*i], "--help") == 0)
        c->help = true;
    else if (!flag_take(&c->data, "data", i, argc, argv, e))
        return false;
    else
        return *c->data || err_set(e, ERR_INVALID, "--data needs the name of a folder after it");
    ++*i;
    return true;
}

int usage_fail(const char *command, const struct err *e)
{
    fprintf(stderr, "quadrille %s: %s\n`quadrille %s --help` tells how to ask\n", command, e->text,
            command);
    return EXIT_USAGE;
}

int command_fail(const char *command, const struct err *e)
{
    fprintf(stderr, "quadrille %s: %s\n", command, e->text);
    return EXIT_NO;
}
