/* SPDX-License-Identifier: MIT
 *
 * match: reads a table, asks the engine, writes who belongs together.
 *
 * The engine knows no clock; here is the one that tells it how much of --seconds is spent, counted
 * from the start of the command.  The judge looks at every answer before it is written.
 */
#include "command/match.h"

#include "base/csv.h"
#include "match/demand.h"
#include "match/judge.h"
#include "match/sheet.h"
#include "match/solve.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

struct asked {
    const char *file;
    const char *size;
    const char *demand;
    const char *band;
    const char *same;
    const char *seconds;
    const char *seed;
    const char *iterations;
    const char *output;
    const char *summary;
    struct match_line line[MATCH_LINES];
    int lines;
    int64_t budget_ms; /* 0: none */
    int64_t started_ms;
    int64_t seed_number;
    int64_t iterations_number;
    bool shown; /* the progress line was written */
    int64_t shown_ms;
};

static int64_t now_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

/* ---- usage ----------------------------------------------------------------------------------- */

static void help(void)
{
    puts(
        "usage: quadrille match FILE.csv (--size N | --demand N:COUNT,...) --band BAND [...]\n"
        "\n"
        "Compose matched sets from a table with the columns id, optionally class (never mixed "
        "within\n"
        "a set), and quantities; sections are written ia.1, ia.2, standard uncertainties u(ia).\n"
        "\n"
        "  --size N           sets of N tubes, as many as there are\n"
        "  --demand 4:10,2:*  at most 10 quads, then as many pairs as there are\n"
        "  --band 5%          in every quantity the highest at most 5 % above the lowest\n"
        "  --band ia=5%,gm=0.3mA/V,vg=abs:0.25   these quantities only; abs: in the column's unit\n"
        "  --same COLUMN,...  must be equal within a set\n"
        "  --seconds S        time for the search; without it a fixed number of steps\n"
        "  --iterations N     that number\n"
        "  --seed N           another search (the same number, the same answer)\n"
        "  --output FILE      the sets as CSV set_no,id; otherwise on standard output\n"
        "  --summary FILE     what was found and proven, as JSON\n"
        "\n"
        "Exit status: 0 answered, even when no set exists; 1 the data is refused; 2 usage.");
}

static bool option_take(struct asked *q, const char *name, const char *value, struct err *e)
{
    const struct {
        const char *name;
        const char **to;
    } options[] = {
        {"--size", &q->size},     {"--demand", &q->demand},         {"--band", &q->band},
        {"--same", &q->same},     {"--seconds", &q->seconds},       {"--seed", &q->seed},
        {"--output", &q->output}, {"--iterations", &q->iterations}, {"--summary", &q->summary},
    };
    for (size_t i = 0; i < ARRAY_LEN(options); i++) {
        if (strcmp(options[i].name, name) != 0)
            continue;
        if (value == NULL)
            return err_set(e, ERR_INVALID, "%s needs a value", name);
        if (*options[i].to != NULL)
            return err_set(e, ERR_INVALID, "%s is given twice", name);
        *options[i].to = value;
        return true;
    }
    return err_set(e, ERR_INVALID, "there is no option \"%.60s\"", name);
}

static bool whole_number(int64_t *out, const char *text, const char *option, struct err *e)
{
    struct err inner = ERR_INIT;
    if (decimal_read(out, text, 0, &inner) && *out >= 0 && strcspn(text, ".,") == strlen(text))
        return true;
    return err_set(e, ERR_INVALID, "%s wants a whole number from 0, not \"%.40s\"", option, text);
}

static bool numbers_read(struct asked *q, struct err *e)
{
    struct err inner = ERR_INIT;
    const char *demand = q->size != NULL ? q->size : q->demand;
    if (q->size != NULL && strspn(q->size, "0123456789") != strlen(q->size))
        return err_set(e, ERR_INVALID, "--size wants a number from 2 to %d, not \"%.40s\"",
                       MATCH_SIZE, q->size);
    if (!demand_parse(q->line, &q->lines, demand, e))
        return false;
    if (q->seconds != NULL &&
        (!decimal_read(&q->budget_ms, q->seconds, 3, &inner) || q->budget_ms <= 0))
        return err_set(e, ERR_INVALID, "--seconds wants a number above 0, not \"%.40s\"",
                       q->seconds);
    return (q->seed == NULL || whole_number(&q->seed_number, q->seed, "--seed", e)) &&
           (q->iterations == NULL ||
            whole_number(&q->iterations_number, q->iterations, "--iterations", e));
}

/* Whether both are there and one file, under whatever names; a terminal or a pipe is no file. */
static bool same_file(const char *a, const char *b)
{
    struct stat x, y;
    return a != NULL && b != NULL && stat(a, &x) == 0 && stat(b, &y) == 0 && S_ISREG(x.st_mode) &&
           x.st_dev == y.st_dev && x.st_ino == y.st_ino;
}

static bool asked_read(struct asked *q, int argc, char **argv, struct err *e)
{
    for (int i = 1; i < argc; i++) {
        if (argv[i][0] == '-' && argv[i][1] == '-') {
            char *equals = strchr(argv[i], '=');
            const char *value = equals != NULL ? equals + 1 : argv[i + 1];
            if (equals != NULL)
                *equals = '\0';
            if (!option_take(q, argv[i], value, e))
                return false;
            i += equals == NULL;
        } else if (q->file != NULL) {
            return err_set(e, ERR_INVALID, "one file at a time: \"%.60s\" and \"%.60s\"", q->file,
                           argv[i]);
        } else {
            q->file = argv[i];
        }
    }
    if (q->file == NULL)
        return err_set(e, ERR_INVALID, "which file?");
    if ((q->size == NULL) == (q->demand == NULL))
        return err_set(e, ERR_INVALID, "give either --size or --demand");
    if (q->band == NULL)
        return err_set(e, ERR_INVALID, "give a --band, such as 5%%");
    if (same_file(q->file, q->output) || same_file(q->file, q->summary) ||
        (q->output != NULL && q->summary != NULL && strcmp(q->output, q->summary) == 0))
        return err_set(e, ERR_INVALID,
                       "the answer would be written over %.200s: give --output and --summary files "
                       "of their own",
                       q->file);
    return numbers_read(q, e);
}

/* ---- reading --------------------------------------------------------------------------------- */

static long file_read(void *ctx, char *buf, size_t n)
{
    FILE *f = ctx;
    size_t got = fread(buf, 1, n, f);
    return got == 0 && ferror(f) ? -1 : (long)got;
}

enum outcome { READ, REFUSED, MISUSED };

static enum outcome rows_read(struct csv *csv, const struct asked *q, struct sheet **sheet,
                              struct err *e)
{
    struct csv_record r;
    for (;;) {
        switch (csv_next(csv, &r, e)) {
        case CSV_RECORD:
            if (*sheet == NULL) {
                if (!sheet_new(sheet, r.field, r.count, e))
                    return REFUSED;
                if (!sheet_choose(*sheet, q->band, q->same != NULL ? q->same : "", e))
                    return MISUSED;
            } else if (!sheet_add(*sheet, r.line, r.field, r.count, e)) {
                return REFUSED;
            }
            break;
        case CSV_BAD:
        case CSV_FAILED:
            return REFUSED;
        case CSV_END:
            if (*sheet == NULL) {
                err_set(e, ERR_INVALID,
                        "the file is empty: a heading with id and quantities is wanted");
                return REFUSED;
            }
            return READ;
        }
    }
}

static enum outcome file_take(const struct asked *q, struct arena *a, struct match_problem *p,
                              struct err *e)
{
    FILE *f = fopen(q->file, "re");
    struct sheet *sheet = NULL;
    if (f == NULL) {
        err_set(e, ERR_NOT_FOUND, "%s", strerror(errno));
        return REFUSED;
    }
    struct stat s;
    if (fstat(fileno(f), &s) == 0 && S_ISDIR(s.st_mode)) {
        (void)fclose(f);
        err_set(e, ERR_INVALID, "this is a folder; name a CSV file");
        return REFUSED;
    }
    struct csv *csv = csv_new(file_read, f, 0);
    enum outcome outcome = rows_read(csv, q, &sheet, e);
    if (outcome == READ && !sheet_problem(sheet, q->line, q->lines, a, p, e))
        outcome = REFUSED;
    sheet_free(sheet);
    csv_free(csv);
    (void)fclose(f);
    return outcome;
}

/* ---- solving --------------------------------------------------------------------------------- */

static int64_t pace(void *ctx, const struct match_progress *progress)
{
    struct asked *q = ctx;
    int64_t now = now_ms();
    if (now - q->started_ms > 1000 && now - q->shown_ms > 200 && isatty(STDERR_FILENO)) {
        fprintf(stderr, "\rsets of %d: %lld of at most %lld, spread %.3f, %lld s  ",
                q->line[progress->line].size, (long long)progress->found,
                (long long)progress->bound, (double)progress->cost / (double)MATCH_COST_UNIT,
                (long long)((now - q->started_ms) / 1000));
        q->shown = true;
        q->shown_ms = now;
    }
    return q->budget_ms == 0 ? 0 : (now - q->started_ms) * MATCH_WHOLE / q->budget_ms;
}

static bool solve(struct asked *q, const struct match_problem *p, struct arena *a,
                  struct match_answer *out, struct err *e)
{
    struct match_options o = {.seed = (uint64_t)q->seed_number,
                              .iterations = q->iterations_number,
                              .pace = pace,
                              .ctx = q};
    if (o.iterations == 0 && q->budget_ms > 0)
        o.iterations = INT64_MAX;
    bool ok = match_solve(p, &o, a, out, e) && match_check(p, out, e);
    if (q->shown)
        fputs("\r\033[K", stderr);
    return ok;
}

/* ---- writing --------------------------------------------------------------------------------- */

static bool close_written(FILE *f, bool ok, const char *name, struct err *e)
{
    if (f == stdout)
        ok = fflush(f) == 0 && ok;
    else
        ok = fclose(f) == 0 && ok;
    return ok || err_set(e, ERR_UNAVAILABLE, "%s cannot be written: %s", name, strerror(errno));
}

static bool sets_write(const struct asked *q, const struct match_problem *p,
                       const struct match_answer *out, struct err *e)
{
    FILE *f = q->output != NULL ? fopen(q->output, "we") : stdout;
    if (f == NULL)
        return err_set(e, ERR_UNAVAILABLE, "%s cannot be written: %s", q->output, strerror(errno));
    bool ok = fputs("set_no,id\n", f) >= 0;
    size_t room = 2 * CSV_RECORD_BYTES + 4;
    char *id = xmalloc(room);
    for (int s = 0; s < out->sets && ok; s++) {
        for (int m = 0; m < p->demand[out->set[s].line].size && ok; m++) {
            size_t n = csv_put(id, room, p->id[out->set[s].member[m]], true);
            ok = fprintf(f, "%d,%.*s\n", s + 1, (int)n, id) > 0;
        }
    }
    free(id);
    return close_written(f, ok, q->output != NULL ? q->output : "standard output", e);
}

static void list_write(FILE *f, const char *name, const int64_t *number, int count)
{
    fprintf(f, "\"%s\":[", name);
    for (int i = 0; i < count; i++)
        fprintf(f, "%s%lld", i > 0 ? "," : "", (long long)number[i]);
    fputs("],", f);
}

static bool summary_write(const struct asked *q, const struct match_answer *out, struct err *e)
{
    if (q->summary == NULL)
        return true;
    FILE *f = fopen(q->summary, "we");
    if (f == NULL)
        return err_set(e, ERR_UNAVAILABLE, "%s cannot be written: %s", q->summary, strerror(errno));
    char cost[DECIMAL_BYTES];
    fputc('{', f);
    list_write(f, "found", out->found, q->lines);
    fprintf(f, "\"bound\":%lld,", (long long)out->bound[0]);
    list_write(f, "bounds", out->bound, q->lines);
    fprintf(f, "\"gap\":%lld,", (long long)(out->bound[0] - out->found[0]));
    fprintf(f, "\"cost\":%s,", decimal_print(cost, out->cost, 9));
    fprintf(f, "\"proven\":%s,\"cost_proven\":%s,\"why\":\"", out->count_proven ? "true" : "false",
            out->cost_proven ? "true" : "false");
    for (const char *s = out->why; *s != '\0'; s++) {
        if (*s == '"' || *s == '\\')
            fputc('\\', f);
        fputc(*s, f);
    }
    fprintf(f, "\",\"seed\":%lld}\n", (long long)q->seed_number);
    return close_written(f, ferror(f) == 0, q->summary, e);
}

/* ---- the command ----------------------------------------------------------------------------- */

static int refuse(const struct asked *q, const struct err *e)
{
    fprintf(stderr, "quadrille match: %s", q->file);
    if (e->line > 0 && strncmp(e->text, "line ", 5) != 0)
        fprintf(stderr, ", line %lld", (long long)e->line);
    fprintf(stderr, ": %s\n", e->text);
    return 1;
}

static int misuse(const struct err *e)
{
    fprintf(stderr, "quadrille match: %s\n", e->text);
    fputs("quadrille match --help tells more.\n", stderr);
    return 2;
}

static int run(struct asked *q, struct arena *a)
{
    struct err e = ERR_INIT;
    struct match_problem p;
    struct match_answer out;
    switch (file_take(q, a, &p, &e)) {
    case READ:
        break;
    case REFUSED:
        return refuse(q, &e);
    case MISUSED:
        return misuse(&e);
    }
    if (!solve(q, &p, a, &out, &e))
        return refuse(q, &e);
    if (!sets_write(q, &p, &out, &e) || !summary_write(q, &out, &e)) {
        fprintf(stderr, "quadrille match: %s\n", e.text);
        return 1;
    }
    return 0;
}

int command_match(int argc, char **argv)
{
    struct asked q = {.started_ms = now_ms()};
    struct err e = ERR_INIT;
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--help") == 0) {
            help();
            return 0;
        }
    }
    if (!asked_read(&q, argc, argv, &e))
        return misuse(&e);
    struct arena *a = arena_new();
    int status = run(&q, a);
    arena_free(a);
    return status;
}
