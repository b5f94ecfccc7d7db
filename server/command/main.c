/* SPDX-License-Identifier: MIT
 *
 * main: one executable, one table of commands.
 */
#include "command/api.h"
#include "command/backup.h"
#include "command/match.h"
#include "command/read.h"
#include "command/request.h"
#include "command/routes.h"
#include "command/serve.h"

#include <stdio.h>
#include <string.h>

#ifndef VERSION
#error "the Makefile says which version this is"
#endif

static int match_either(int argc, char **argv);

/* clang-format off */
static const struct command commands[] = {
    {"serve", command_serve, .help = "open the data folder and serve pages and API"},
    {"match", match_either, .help = "compose matched sets from a CSV file, or from the stock"},
    {"match stock", NULL, POST, "/api/matches", "", "find sets in the stock; kept as a proposal"},
    {"proposal accept", NULL, POST, "/api/proposals/:id/accept", "id",
     "turn a proposal into sets, all of it or nothing"},
    {"proposal drop", NULL, POST, "/api/proposals/:id/drop", "id", "drop a proposal"},
    {"set list", NULL, GET, "/api/sets", "", "sets, newest first"},
    {"set show", NULL, GET, "/api/sets/:id", "id", "one set with its tubes"},
    {"set dissolve", NULL, POST, "/api/sets/:id/dissolve", "id", "free the tubes of a set"},
    {"partners", NULL, GET, "/api/tubes/:stock_no/partners", "stock_no",
     "the nearest partners of a tube in stock"},

    {"lookup", NULL, GET, "/api/lookup", "text", "what a designation is, however it was written"},
    {"type", NULL, GET, "/api/types/:designation", "designation",
     "what is known of a type, and how each figure is known"},
    {"points", NULL, GET, "/api/types/:designation/test-points", "designation",
     "where a type is measured, with nominal values and limits"},
    {"equivalents", NULL, GET, "/api/types/:designation/equivalents", "designation",
     "what may stand in for a type, and what it may replace"},
    {"compare", NULL, GET, "/api/compare", "a b",
     "what happens when type B is put where A was, point by point"},

    {"lot add", NULL, POST, "/api/lots", "code title", "record a purchase"},
    {"lot list", NULL, GET, "/api/lots", "", "purchases, newest first"},
    {"lot show", NULL, GET, "/api/lots/:code", "code", "one purchase with its untested pieces"},
    {"lot line", NULL, POST, "/api/lots/:code/lines", "code printed count",
     "add untested pieces to a purchase"},
    {"maker add", NULL, POST, "/api/makers", "name", "add a maker"},
    {"maker list", NULL, GET, "/api/makers", "", "makers by name"},
    {"construction add", NULL, POST, "/api/constructions", "title", "add a way tubes are built"},
    {"construction list", NULL, GET, "/api/constructions", "", "the ways tubes are built"},
    {"bin add", NULL, POST, "/api/bins", "code", "add a place on a shelf"},
    {"bin list", NULL, GET, "/api/bins", "", "places on the shelves"},
    {"tester add", NULL, POST, "/api/testers", "code title", "add a tester and what it reads"},
    {"tester list", NULL, GET, "/api/testers", "", "testers in use"},
    {"quantity list", NULL, GET, "/api/quantities", "", "what can be read"},

    {"tube add", NULL, POST, "/api/tubes", "printed", "give a tube a stock number"},
    {"tube show", NULL, GET, "/api/tubes/:stock_no", "stock_no", "one tube"},
    {"tube list", NULL, GET, "/api/tubes", "", "tubes by number, filtered"},
    {"tube scan", NULL, GET, "/api/scan", "text", "the tube that a number or a mark names"},
    {"tube change", NULL, PATCH, "/api/tubes/:stock_no", "stock_no", "change what is said of a tube"},
    {"tube move", NULL, POST, "/api/tubes/:stock_no/moves", "stock_no state",
     "move a tube in its life"},
    {"tube journal", NULL, GET, "/api/tubes/:stock_no/journal", "stock_no",
     "what was done to a tube"},
    {"tube numbers", NULL, POST, "/api/number-blocks", "bench count",
     "reserve stock numbers for a bench"},

    {"inspect", NULL, POST, "/api/tubes/:stock_no/inspections",
     "stock_no findings{aspect=finding}", "record what the eye sees"},
    {"looks", NULL, GET, "/api/tubes/:stock_no/inspections", "stock_no", "what was seen of a tube"},
    {"read", command_read, .help = "record what a tester shows of a tube"},
    {"readings", NULL, GET, "/api/tubes/:stock_no/readings", "stock_no",
     "what a tube measures, and every reading of it"},
    {"grade", NULL, GET, "/api/tubes/:stock_no/gradings", "stock_no",
     "the grades of a tube with their reasons, newest first"},
    {"regrade", NULL, POST, "/api/tubes/:stock_no/gradings", "stock_no",
     "grade a tube by the current scheme"},
    {"vocabulary", NULL, GET, "/api/inspection-vocabulary", "",
     "what can be seen of a tube, aspect by aspect"},
    {"void", NULL, POST, "/api/readings/:id/void", "id reason",
     "void a wrong reading; it stays visible"},

    {"load tubes", NULL, POST, "/api/load/tubes", "<file", "load tubes from a CSV or NDJSON file"},
    {"load readings", NULL, POST, "/api/load/readings", "<file",
     "load readings from a CSV or NDJSON file"},

    {"person add", NULL, POST, "/api/people", "name role password", "add somebody who may sign in"},
    {"person list", NULL, GET, "/api/people", "", "who may sign in"},
    {"person role", NULL, PATCH, "/api/people/:id", "id role", "give somebody another role"},
    {"person disable", NULL, PATCH, "/api/people/:id", "id disabled=true",
     "let somebody sign in no longer"},
    {"person enable", NULL, PATCH, "/api/people/:id", "id disabled=false",
     "let somebody sign in again"},
    {"person password", NULL, PATCH, "/api/people/:id", "id password",
     "give somebody a new password"},
    {"token new", NULL, POST, "/api/tokens", "title role user", "make a token for a script"},
    {"token list", NULL, GET, "/api/tokens", "", "tokens of scripts"},
    {"token revoke", NULL, DELETE, "/api/tokens/:id", "id", "withdraw a token"},

    {"api", command_api, .help = "one call of the API as it is, for scripts"},
    {"verify", NULL, GET, "/api/verify", "", "check that the database is whole and its journal fits"},
    {"backup", command_backup, .help = "write a verified copy of the database"},
    {"routes", command_routes, .help = "every address of the API, and who may use it"},
};
/* clang-format on */

static void list_commands(FILE *to, const char *first_word)
{
    size_t n = strlen(first_word);
    for (size_t i = 0; i < ARRAY_LEN(commands); i++)
        if (n == 0 || (strncmp(commands[i].name, first_word, n) == 0 && commands[i].name[n] == ' '))
            fprintf(to, "  %-18s %s\n", commands[i].name, commands[i].help);
}

static void usage(FILE *to)
{
    fputs("usage: quadrille COMMAND [...]\n\n", to);
    list_commands(to, "");
    fputs(
        "\n`quadrille COMMAND --help` tells more of one.  Exit status: 0 done, 1 the answer is no "
        "or\nthe data is refused, 2 asked in a way that makes no sense.\n",
        to);
}

/* How many of the words are the name: 0, 1 or 2. */
static int named(const struct command *c, int argc, char **argv)
{
    size_t n = strcspn(c->name, " ");
    if (argc < 1 || strlen(argv[0]) != n || memcmp(argv[0], c->name, n) != 0)
        return 0;
    if (!c->name[n])
        return 1;
    return argc > 1 && strcmp(argv[1], c->name + n + 1) == 0 ? 2 : 0;
}

static int command_run(const struct command *c, int argc, char **argv)
{
    return c->run ? c->run(argc + 1, argv - 1) : request_run(c, argc, argv);
}

static int no_command(int argc, char **argv)
{
    bool known = false;
    for (size_t i = 0; i < ARRAY_LEN(commands); i++) {
        size_t n = strcspn(commands[i].name, " ");
        known |= strlen(argv[0]) == n && memcmp(argv[0], commands[i].name, n) == 0;
    }
    if (!known) {
        fprintf(stderr,
                "quadrille: there is no command \"%s\"; `quadrille --help` lists what there is\n",
                argv[0]);
        return EXIT_USAGE;
    }
    bool asked = argc > 1 && strcmp(argv[1], "--help") == 0;
    FILE *to = asked ? stdout : stderr;
    if (!asked && argc > 1)
        fprintf(to, "quadrille: there is no command \"%s %s\"\n\n", argv[0], argv[1]);
    list_commands(to, argv[0]);
    return asked ? EXIT_DONE : EXIT_USAGE;
}

/* Of the stock when a family or a type is named, where one size is a demand; else of a file. */
static int match_either(int argc, char **argv)
{
    static char demand[] = "--demand";
    const struct command *stock = NULL;
    for (size_t i = 0; i < ARRAY_LEN(commands); i++)
        if (strcmp(commands[i].name, "match stock") == 0)
            stock = &commands[i];
    bool named = false;
    for (int i = 1; i < argc; i++)
        named |= strncmp(argv[i], "--family", 8) == 0 || strncmp(argv[i], "--type", 6) == 0;
    if (!named)
        return command_match(argc, argv);
    for (int i = 1; i < argc; i++)
        if (strcmp(argv[i], "--size") == 0)
            argv[i] = demand;
    return request_run(stock, argc - 1, argv + 1);
}

int main(int argc, char **argv)
{
    argc--;
    argv++;
    if (argc > 0 && (strcmp(argv[0], "--help") == 0 || strcmp(argv[0], "help") == 0)) {
        usage(stdout);
        return EXIT_DONE;
    }
    if (argc > 0 && strcmp(argv[0], "--version") == 0) {
        puts("quadrille " VERSION);
        return EXIT_DONE;
    }
    for (int n = 2; n > 0; n--) /* the longer name goes first */
        for (size_t i = 0; i < ARRAY_LEN(commands); i++)
            if (named(&commands[i], argc, argv) == n)
                return command_run(&commands[i], argc - n, argv + n);
    if (argc > 0)
        return no_command(argc, argv);
    usage(stderr);
    return EXIT_USAGE;
}
