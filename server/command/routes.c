/* SPDX-License-Identifier: MIT
 *
 * routes: one line for each row; it needs no data folder.
 */
#include "command/routes.h"

#include "command/command.h"

#include <stdio.h>
#include <string.h>

static const char *roles(char *buf, size_t size, unsigned bits)
{
    static const struct {
        unsigned bit;
        const char *name;
    } names[] = {
        {R_OWNER, "owner"}, {R_BENCH, "bench"}, {R_COUNTER, "counter"}, {R_VIEWER, "viewer"}};
    size_t n = 0;
    if (bits & R_PUBLIC)
        return "anybody";
    if ((bits & R_ANY) == R_ANY)
        return "who signed in";
    buf[0] = '\0';
    for (size_t i = 0; i < ARRAY_LEN(names); i++)
        if (bits & names[i].bit)
            n += (size_t)snprintf(buf + n, size - n, "%s%s", n ? ", " : "", names[i].name);
    return buf;
}

int command_routes(int argc, char **argv)
{
    static const char *const methods[METHOD__COUNT] = {"GET", "POST", "PUT", "PATCH", "DELETE"};
    char buf[80];
    if (argc > 1) {
        bool help = strcmp(argv[1], "--help") == 0;
        fputs("usage: quadrille routes\n\nEvery address of the API, who may use it, and what for.  "
              "GET /api/openapi.json\ntells the fields.\n",
              help ? stdout : stderr);
        return help ? EXIT_DONE : EXIT_USAGE;
    }
    for (const struct route *const *t = route_tables; *t; t++)
        for (const struct route *r = *t; r->path; r++)
            printf("%-6s %-36s %-22s %s\n", methods[r->method], r->path,
                   roles(buf, sizeof buf, r->roles), r->help);
    return EXIT_DONE;
}
