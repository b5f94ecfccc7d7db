/* SPDX-License-Identifier: MIT
 *
 * serve: reads the settings and opens the house.
 */
#include "command/serve.h"

#include "http/house.h"
#include "work/log.h"

#include <stdio.h>
#include <string.h>

static int help(void)
{
    puts("usage: quadrille serve [--SETTING VALUE ...]\n"
         "\n"
         "Open the data folder and serve its pages and its API until told to stop.\n");
    conf_print_help(stdout);
    return 0;
}

static void log_level_apply(const char *name)
{
    for (int i = 0; i < LOG__COUNT; i++)
        if (strcmp(log_level_names[i], name) == 0)
            log_set_level((enum log_level)i);
}

int command_serve(int argc, char **argv)
{
    for (int i = 1; i < argc; i++)
        if (strcmp(argv[i], "--help") == 0)
            return help();
    struct arena *a = arena_new();
    struct err e = ERR_INIT;
    struct conf c;
    int status = 0;
    if (!conf_load(&c, argc - 1, argv + 1, a, &e)) {
        fprintf(stderr, "quadrille serve: %s\n", e.text);
        status = 2;
    } else {
        log_level_apply(c.log);
        if (!house_run(&c, &e)) {
            fprintf(stderr, "quadrille serve: %s\n", e.text);
            status = 1;
        }
    }
    arena_free(a);
    return status;
}
