/* SPDX-License-Identifier: MIT
 *
 * load: routes of bulk loads, and the drive from lines to the store.
 *
 * A worker reads a batch of lines and has the writer put it, in a savepoint of its own between
 * other people's changes.  A line is looked at whole before it writes anything, so that a refused
 * line leaves nothing behind; should a change fail all the same, the batch is undone and put line
 * by line.  The number of lines in a batch follows the time the last one took, so that nobody waits
 * long; lines about one tube that follow each other stay in one batch, so that the tube is graded
 * once for all of them.
 *
 * All or nothing: the whole file is looked at first, without the writer; only when nothing was
 * refused is it put, in one batch.  Others wait while that is written.
 */
#include "api/load.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>

#include "api/load_priv.h"
#include "base/text.h"
#include "measure/plausible.h"
#include "store/grade.h"

#define SLICE_US       8000 /* aim for a batch on the writer: a save at the bench waits for it */
#define SLICE_LEAST_US 1500 /* before it ends for others: a busy counter must not stop a load */
#define BATCH_LEAST    4
#define BATCH_MOST     400
#define SAME_MOST      16 /* lines about one tube that are added to a full batch */

/* ---- shapes ------------------------------------------------------------------------------- */

const char *const load_forms[] = {"csv", "ndjson", NULL};
_Static_assert(ARRAY_LEN(load_forms) == LOAD_FORM__COUNT + 1, "a name for each");
const char *const load_separators[] = {"comma", "semicolon", "tab", NULL};
static const char SEPARATOR[] = ",;\t";

#define AT(f) offsetof(struct load_ask, f)
#define ASK_FIELDS                                                                               \
    {"map",                                                                                      \
     K_TEXTS,                                                                                    \
     0,                                                                                          \
     AT(map),                                                                                    \
     1,                                                                                          \
     200,                                                                                        \
     .help = "OWN=COLUMN: the file calls this column by a name of its own; OWN= leaves it out; " \
             "once for each",                                                                    \
     .example = "Serial=mark"},                                                                  \
        {"all_or_nothing", K_BOOL, 0, AT(all_or_nothing),                                        \
         .help = "true: one refused line and nothing is kept; others wait while it is written"}, \
        {"separator",                                                                            \
         K_ENUM,                                                                                 \
         0,                                                                                      \
         AT(separator),                                                                          \
         .names = load_separators,                                                               \
         .help = "between the cells of a CSV line; absent: found out from the head line"},       \
    {                                                                                            \
        "form", K_ENUM, 0, AT(form), .names = load_forms, .help = "absent: as Content-Type says" \
    }

static const struct field TUBES_ASK_FIELDS[] = {
    ASK_FIELDS,
    {"create", K_TEXTS, 0, AT(create), 1, 40,
     .help = "maker, lot, bin: make what a line names and is not there", .example = "maker,bin"},
    {0},
};
static const struct field READINGS_ASK_FIELDS[] = {
    ASK_FIELDS,
    {"confirm", K_TEXTS, 0, AT(confirm), 1, 200,
     .help = "plausibility rules whose questions are answered with yes for the whole file, or all",
     .example = "family-outlier,limits"},
    {0},
};
static const struct field CATALOGUE_ASK_FIELDS[] = {ASK_FIELDS, {0}};
static const struct shape CATALOGUE_ASK = {"load_catalogue_ask", sizeof(struct load_ask),
                                           CATALOGUE_ASK_FIELDS};
static const struct shape TUBES_ASK = {"load_tubes_ask", sizeof(struct load_ask), TUBES_ASK_FIELDS};
static const struct shape READINGS_ASK = {"load_readings_ask", sizeof(struct load_ask),
                                          READINGS_ASK_FIELDS};
#undef AT

struct problem {
    int64_t line;
    const char *field, *came, *sentence;
};
#define AT(f) offsetof(struct problem, f)
static const struct field PROBLEM_FIELDS[] = {
    {"line", K_INT, F_REQUIRED, AT(line), .help = "of the file, from 1"},
    {"field", K_TEXT, 0, AT(field), .help = "column, as the file calls it"},
    {"came", K_TEXT, 0, AT(came), .help = "what stood there"},
    {"sentence", K_TEXT, F_REQUIRED, AT(sentence),
     .help = "what is wrong, and what would be right"},
    {0},
};
static const struct shape PROBLEM = {"load_problem", sizeof(struct problem), PROBLEM_FIELDS};
#undef AT

struct report {
    const char *title, *detail;
    int64_t status;
    int64_t lines, accepted, unchanged, refused, all_or_nothing, applied;
    struct list problems;
    size_t room; /* of problems */
};
#define AT(f) offsetof(struct report, f)
#define REPORT_FIELDS                                                                              \
    {"lines", K_INT, F_REQUIRED, AT(lines), .help = "lines with data"},                            \
        {"accepted", K_INT, F_REQUIRED, AT(accepted), .help = "lines that were new"},              \
        {"unchanged", K_INT, F_REQUIRED, AT(unchanged), .help = "lines that were there already"},  \
        {"refused", K_INT, F_REQUIRED, AT(refused), .help = "lines that were not taken"},          \
        {"problems",                                                                               \
         K_LIST,                                                                                   \
         F_REQUIRED,                                                                               \
         AT(problems),                                                                             \
         0,                                                                                        \
         LOAD_PROBLEMS,                                                                            \
         .sub = &PROBLEM,                                                                          \
         .help = "the refused lines, the first 10000 of them"},                                    \
        {"all_or_nothing", K_BOOL, F_REQUIRED, AT(all_or_nothing), .help = "as asked"},            \
    {                                                                                              \
        "applied", K_BOOL, F_REQUIRED, AT(applied), .help = "whether the accepted lines were kept" \
    }
static const struct field REPORT_FIELDS_[] = {REPORT_FIELDS, {0}};
static const struct shape REPORT = {"load_report", sizeof(struct report), REPORT_FIELDS_};
static const struct field REFUSED_FIELDS[] = {
    {"title", K_TEXT, F_REQUIRED, AT(title), .help = "in short"},
    {"status", K_INT, F_REQUIRED, AT(status), .help = "422"},
    {"detail", K_TEXT, F_REQUIRED, AT(detail), .help = "what happened"},
    REPORT_FIELDS,
    {0},
};
static const struct shape REFUSED = {"load_refused", sizeof(struct report), REFUSED_FIELDS};
#undef AT

/* ---- lines and their outcome -------------------------------------------------------------- */

struct line {
    int64_t number;
    const void *row; /* NULL: refused while it was read */
    enum load_outcome outcome;
    struct problem problem;
};

struct batch {
    struct arena *arena; /* of the rows and problems */
    struct line line[BATCH_MOST + SAME_MOST];
    size_t count;
};

struct drive {
    struct load load;
    const struct load_kind *kind;
    struct load_source *source;
    struct report *report;
    struct arena *row_arena; /* of one row's work */
    size_t wanted;           /* lines in the next batch */
    int64_t took_us;         /* by the slices of this batch on the writer */
};

void load_touch(struct load *l, int64_t tube_id)
{
    if (l->touched_count && l->touched[l->touched_count - 1] == tube_id)
        return;
    if (l->touched_count == l->touched_room) {
        l->touched_room = l->touched_room ? l->touched_room * 2 : 64;
        l->touched = xrealloc(l->touched, l->touched_room * sizeof *l->touched);
    }
    l->touched[l->touched_count++] = tube_id;
}

/* The problem of a line in the file's words: its name of the field, and what stood there. */
static struct problem problem_from(const struct load_columns *c, int64_t line, const void *row,
                                   const char *came, const struct err *e, struct arena *a)
{
    struct problem p = {.line = line, .sentence = arena_text(a, e->text)};
    char text[WIRE_PRINT_BYTES];
    /* Without a row it was wire that refused, which calls a field as the file does. */
    size_t i = row && *e->field ? load_column_find(c, e->field) : c->count;
    if (i < c->count) {
        p.field = c->field[i].name;
        if (!came)
            came = wire_print(text, &c->field[i], row);
    } else if (*e->field) {
        p.field = arena_text(a, e->field);
    }
    if (came && *came)
        p.came = arena_text(a, text_show((char[TEXT_SHOW_BYTES]){0}, came, strlen(came)));
    return p;
}

static void report_line(struct report *r, const struct line *l, struct arena *a)
{
    r->lines++;
    r->accepted += l->outcome == LOAD_ACCEPTED;
    r->unchanged += l->outcome == LOAD_UNCHANGED;
    r->refused += l->outcome == LOAD_REFUSED;
    if (l->outcome != LOAD_REFUSED || r->problems.count == LOAD_PROBLEMS)
        return;
    if (r->problems.count == r->room) {
        r->room = r->room ? r->room * 2 : 64;
        struct problem *wider = arena_array(a, r->room, sizeof *wider);
        if (r->problems.count)
            memcpy(wider, r->problems.items, r->problems.count * sizeof *wider);
        r->problems.items = wider;
    }
    struct problem *p = (struct problem *)r->problems.items + r->problems.count++;
    *p = (struct problem){.line = l->problem.line,
                          .field = arena_text(a, l->problem.field),
                          .came = arena_text(a, l->problem.came),
                          .sentence = arena_text(a, l->problem.sentence)};
}

/* ---- putting lines ------------------------------------------------------------------------ */

/* Not this line's fault: the load cannot go on. */
static bool is_fatal(enum err_code code)
{
    return code == ERR_UNAVAILABLE || code == ERR_FULL || code == ERR_INTERNAL;
}

/* Put one line.  false: the savepoint has to be undone, or, when *e is fatal, the load ended. */
static bool line_put(struct drive *d, struct store *st, struct line *l, struct arena *a,
                     struct err *e)
{
    struct err why = ERR_INIT;
    if (!l->row)
        return true;
    arena_reset(d->row_arena);
    d->load.wrote = false;
    if (d->kind->put(&l->outcome, &d->load, st, l->row, d->row_arena, &why))
        return true;
    l->outcome = LOAD_REFUSED;
    l->problem = problem_from(&d->load.columns, l->number, l->row, NULL, &why, a);
    if (!d->load.wrote && !is_fatal(why.code))
        return true;
    *e = why;
    return false;
}

static bool grade_touched(struct drive *d, struct store *st, struct err *e)
{
    struct load *l = &d->load;
    const char *grade;
    bool good = true;
    for (size_t i = 0; good && i < l->touched_count; i++) {
        arena_reset(d->row_arena);
        good = grade_refresh(&grade, st, l->touched[i], d->row_arena, e);
    }
    l->touched_count = 0;
    return good;
}

struct slice {
    struct drive *drive;
    struct batch *batch;
    size_t first, end; /* lines of the batch; what others wait for is left undone: */
    size_t done;       /* up to here */
};

static int64_t now_us(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (int64_t)t.tv_sec * 1000000 + t.tv_nsec / 1000;
}

static bool belong_together(const struct drive *d, const struct line *one, const struct line *next)
{
    if (!d->kind->key || !one->row || !next->row)
        return false;
    return strcmp(d->kind->key(one->row), d->kind->key(next->row)) == 0;
}

static bool slice_run(struct store *st, void *arg, struct err *e)
{
    struct slice *s = arg;
    struct drive *d = s->drive;
    struct line *line = s->batch->line;
    int64_t began = now_us();
    bool good = true, wanted = false;
    size_t i = s->first;
    d->load.touched_count = 0;
    while (good && i < s->end && !wanted) {
        good = line_put(d, st, &line[i], s->batch->arena, e);
        i++;
        if (i < s->end && belong_together(d, &line[i - 1], &line[i]))
            continue;
        good = good && grade_touched(d, st, e);
        wanted = now_us() - began >= SLICE_LEAST_US && port_is_wanted(d->load.rq->port);
    }
    s->done = i;
    d->took_us += now_us() - began;
    return good;
}

static bool slice_write(struct slice *s, struct err *e)
{
    struct port *port = s->drive->load.rq->port;
    if (port->write(port, slice_run, s, e))
        return true;
    s->drive->load.sittings = 0; /* one of them may have been undone */
    return false;
}

/* Line by line, so that the one that failed shows. */
static bool write_singly(struct slice *all, struct err *e)
{
    for (size_t i = all->first; i < all->end; i++) {
        struct slice one = {.drive = all->drive, .batch = all->batch, .first = i, .end = i + 1};
        struct line *l = &all->batch->line[i];
        struct err why = ERR_INIT;
        if (slice_write(&one, &why))
            continue;
        if (is_fatal(why.code)) {
            *e = why;
            return false;
        }
        l->outcome = LOAD_REFUSED;
        l->problem = problem_from(&all->drive->load.columns, l->number, l->row, NULL, &why,
                                  all->batch->arena);
    }
    return true;
}

static bool batch_write(struct drive *d, struct batch *b, struct err *e)
{
    struct slice s = {.drive = d, .batch = b, .end = b->count};
    d->took_us = 0;
    while (s.first < s.end) {
        struct err why = ERR_INIT;
        if (slice_write(&s, &why)) {
            s.first = s.done;
            continue;
        }
        if (is_fatal(why.code)) {
            *e = why;
            return false;
        }
        if (!write_singly(&s, e))
            return false;
        s.first = s.end;
    }
    for (size_t i = 0; i < b->count; i++)
        report_line(d->report, &b->line[i], d->load.rq->arena);
    return true;
}

/* ---- reading batches ---------------------------------------------------------------------- */

/* Read the next line into *l.  false at the end (*e is ERR_NONE) or when the file fails. */
static bool line_read(struct drive *d, struct line *l, struct arena *a, struct err *e)
{
    void *row = NULL;
    const char *came;
    struct err why;
    *l = (struct line){.outcome = LOAD_REFUSED};
    switch (load_source_next(d->source, &row, &l->number, &came, a, &why)) {
    case LOAD_ROW:
        l->row = row;
        return true;
    case LOAD_BAD:
        l->problem = problem_from(&d->load.columns, l->number, NULL, came, &why, a);
        return true;
    case LOAD_END:
        *e = (struct err)ERR_INIT;
        return false;
    case LOAD_FAILED:
        *e = why;
        break;
    }
    return false;
}

/* The number of lines follows the time the last slice took, at most doubling. */
static void adapt(struct drive *d, size_t count)
{
    int64_t per_line = d->took_us / (int64_t)count + 1;
    size_t fit = (size_t)(SLICE_US / per_line), most = d->wanted * 2;
    d->wanted = fit < BATCH_LEAST ? BATCH_LEAST : fit > most ? most : fit;
    if (d->wanted > BATCH_MOST)
        d->wanted = BATCH_MOST;
}

/* Two batches take turns, so that the line read ahead outlives the batch it was read with. */
static bool put_in_slices(struct drive *d, struct batch two[2], struct err *e)
{
    struct line ahead;
    bool more = line_read(d, &ahead, two[1].arena, e);
    for (int turn = 0; more; turn = 1 - turn) {
        struct batch *b = &two[turn];
        arena_reset(b->arena);
        b->count = 0;
        do {
            b->line[b->count++] = ahead;
            more = line_read(d, &ahead, b->arena, e);
        } while (more &&
                 (b->count < d->wanted || (b->count < d->wanted + SAME_MOST &&
                                           belong_together(d, &b->line[b->count - 1], &ahead))));
        int64_t last = b->line[b->count - 1].number;
        if (!batch_write(d, b, e)) {
            struct err why = *e;
            e->line = last;
            return err_set(e, why.code,
                           "%s (the load stopped before line %lld was kept: what was accepted "
                           "before it stays, and loading the same file again goes on from there)",
                           why.text, (long long)last);
        }
        adapt(d, b->count);
    }
    return e->code == ERR_NONE;
}

/* Every line, without a batch: to look, or on the writer in one go. */
static bool put_all(struct drive *d, struct store *st, struct err *e)
{
    struct line l;
    struct arena *a = arena_new();
    bool good = true;
    while (good && line_read(d, &l, a, e)) {
        good = line_put(d, st, &l, a, e);
        report_line(d->report, &l, d->load.rq->arena);
        arena_reset(a);
    }
    arena_free(a);
    return good && e->code == ERR_NONE;
}

/* ---- all or nothing ----------------------------------------------------------------------- */

static bool source_open(struct drive *d, struct err *e);

static bool all_run(struct store *st, void *arg, struct err *e)
{
    struct drive *d = arg;
    d->load.touched_count = 0;
    return put_all(d, st, e) && !d->report->refused && grade_touched(d, st, e);
}

static void report_clear(struct report *r)
{
    *r = (struct report){.all_or_nothing = r->all_or_nothing};
}

static bool put_at_once(struct drive *d, struct err *e)
{
    struct port *port = d->load.rq->port;
    d->load.dry = true;
    if (!put_all(d, d->load.rq->store, e))
        return false;
    if (d->report->refused)
        return true;
    d->load.dry = false;
    d->load.samples = reading_samples_new(d->load.rq->arena);
    report_clear(d->report);
    if (!source_open(d, e))
        return false;
    if (port->write(port, all_run, d, e)) {
        d->report->applied = 1;
        return true;
    }
    return d->report->refused > 0 && !is_fatal(e->code);
}

/* ---- what was asked ----------------------------------------------------------------------- */

static bool form_of(enum load_form *out, const struct req *rq, const struct load_ask *in,
                    struct err *e)
{
    const char *type = rq->content_type, *charset = strcasestr(type, "charset=");
    if (charset && strncasecmp(charset + 8, "utf-8", 5) != 0 &&
        strncasecmp(charset + 8, "\"utf-8\"", 7) != 0)
        return err_field(e, "Content-Type", ERR_INVALID,
                         "the file has to be in UTF-8: convert it, it is sent as %s", charset + 8);
    if (in->form != NONE)
        *out = (enum load_form)in->form;
    else if (strncasecmp(type, "text/csv", 8) == 0)
        *out = LOAD_CSV;
    else if (strncasecmp(type, "application/x-ndjson", 20) == 0)
        *out = LOAD_NDJSON;
    else
        return err_field(e, "form", ERR_INVALID,
                         "say what the body is: form=csv or form=ndjson, or Content-Type text/csv "
                         "or application/x-ndjson");
    return true;
}

/* "maker,lot" and repeated parameters alike: one text for each word. */
static struct texts words_of(const struct texts *in, struct arena *a)
{
    struct texts out = {0};
    size_t room = 0;
    for (size_t i = 0; i < in->count; i++)
        room += strlen(in->items[i]);
    out.items = arena_array(a, room, sizeof *out.items);
    for (size_t i = 0; i < in->count; i++) {
        for (const char *s = in->items[i]; *s;) {
            size_t n = strcspn(s, ", ");
            if (n)
                out.items[out.count++] = arena_bytes(a, s, n);
            s += n + (s[n] != 0);
        }
    }
    return out;
}

static bool making_from(struct load *l, const struct texts *create, struct err *e)
{
    static const char *const words[LOAD_MAKES__COUNT] = {"maker", "lot", "bin"};
    for (size_t i = 0; i < create->count; i++) {
        int k = 0;
        while (k < LOAD_MAKES__COUNT && strcmp(words[k], create->items[i]) != 0)
            k++;
        if (k == LOAD_MAKES__COUNT)
            return err_field(e, "create", ERR_INVALID,
                             "\"%s\" is not made on the way; maker, lot and bin are",
                             create->items[i]);
        l->making[k] = true;
    }
    return true;
}

static bool confirm_check(const struct texts *confirm, struct arena *a, struct err *e)
{
    size_t count;
    const struct plausible_rule *rule = plausible_rules(&count);
    for (size_t i = 0; i < confirm->count; i++) {
        const char *codes = "all";
        bool known = strcmp(confirm->items[i], "all") == 0;
        for (size_t j = 0; j < count; j++) {
            known = known || strcmp(confirm->items[i], rule[j].code) == 0;
            codes = arena_printf(a, "%s, %s", codes, rule[j].code);
        }
        if (!known)
            return err_field(e, "confirm", ERR_INVALID, "there is no rule \"%s\"; there are %s",
                             confirm->items[i], codes);
    }
    return true;
}

static bool source_open(struct drive *d, struct err *e)
{
    const struct req *rq = d->load.rq;
    const struct load_ask *in = d->load.ask;
    enum load_form form = LOAD_CSV;
    load_source_close(d->source);
    d->source = NULL;
    if (!form_of(&form, rq, in, e))
        return false;
    d->kind->columns(&d->load.columns, rq->store, rq->arena);
    return load_source_open(&d->source, rq->upload, form,
                            in->separator == NONE ? 0 : SEPARATOR[in->separator], &d->load.columns,
                            &in->map, rq->arena, e);
}

/* ---- handlers ----------------------------------------------------------------------------- */

static bool drive_run(struct drive *d, struct err *e)
{
    if (d->load.ask->all_or_nothing == 1)
        return put_at_once(d, e);
    struct batch *two = xcalloc(2, sizeof *two);
    two[0].arena = arena_new();
    two[1].arena = arena_new();
    bool good = put_in_slices(d, two, e);
    d->report->applied = 1;
    arena_free(two[0].arena);
    arena_free(two[1].arena);
    free(two);
    return good;
}

static bool reply_report(struct reply *out, struct report *r, const char *event)
{
    out->status = 200;
    if (r->accepted && r->applied)
        out->event = event;
    if (!r->applied) {
        out->status = 422;
        out->shape = &REFUSED;
        r->title = "Nothing was kept";
        r->status = 422;
        r->detail = "lines were refused, and it was asked for all or nothing: mend them and load "
                    "the file again";
    }
    return reply_body(out, r);
}

static bool load_run(struct reply *out, struct req *rq, const struct load_kind *kind, struct err *e)
{
    const struct load_ask *in = rq->in;
    struct load_ask *ask = arena_alloc(rq->arena, sizeof *ask);
    struct drive d = {.load = {.rq = rq, .ask = ask}, .kind = kind, .wanted = BATCH_LEAST};
    *ask = *in;
    ask->confirm = words_of(&in->confirm, rq->arena);
    ask->create = words_of(&in->create, rq->arena);
    if (!making_from(&d.load, &ask->create, e) || !confirm_check(&ask->confirm, rq->arena, e) ||
        !source_open(&d, e)) {
        load_source_close(d.source);
        return false;
    }
    d.load.samples = reading_samples_new(rq->arena);
    d.report = arena_alloc(rq->arena, sizeof *d.report);
    d.report->all_or_nothing = in->all_or_nothing == 1;
    d.row_arena = arena_new();
    bool good = drive_run(&d, e);
    load_source_close(d.source);
    arena_free(d.row_arena);
    free(d.load.touched);
    return good && reply_report(out, d.report, "load");
}

static bool tubes_post(struct reply *out, struct req *rq, struct err *e)
{
    return load_run(out, rq, &load_tubes, e);
}

static bool readings_post(struct reply *out, struct req *rq, struct err *e)
{
    return load_run(out, rq, &load_readings, e);
}

static bool types_post(struct reply *out, struct req *rq, struct err *e)
{
    return load_run(out, rq, &load_types, e);
}

static bool statements_post(struct reply *out, struct req *rq, struct err *e)
{
    return load_run(out, rq, &load_statements, e);
}

const struct route load_routes[] = {
    {POST, "/api/load/tubes", R_STOCK, WORK | UPLOAD, &TUBES_ASK, &REPORT, NULL, tubes_post,
     "Load tubes from CSV or NDJSON; lines that are there already change nothing"},
    {POST, "/api/load/readings", R_TEST, WORK | UPLOAD, &READINGS_ASK, &REPORT, NULL, readings_post,
     "Load readings from CSV or NDJSON; lines that are there already change nothing"},
    {POST, "/api/load/types", R_OWNER, WORK | UPLOAD, &CATALOGUE_ASK, &REPORT, NULL, types_post,
     "Load types of your own from CSV or NDJSON; a line of a type that is there takes its place"},
    {POST, "/api/load/equivalences", R_OWNER, WORK | UPLOAD, &CATALOGUE_ASK, &REPORT, NULL,
     statements_post, "Load statements of your own from CSV or NDJSON"},
    {0},
};
