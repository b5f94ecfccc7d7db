/* SPDX-License-Identifier: MIT
 *
 * load_drive: from lines to the store.
 *
 * A worker reads a batch of lines and has the writer put it in slices, each in a savepoint of its
 * own; a slice ends early when somebody else waits for the writer.  A line is looked at whole
 * before it writes anything, so that a refused line leaves nothing behind; should a change fail all
 * the same, the slice is undone and put line by line.  The number of lines in a batch follows the
 * time the last one took.  Lines about one tube that follow each other stay in one slice, and the
 * tube is graded once behind the last of them.
 *
 * All or nothing: the whole file is looked at first, without the writer; only when nothing was
 * refused is it put, in one savepoint.  Others wait while that is written.
 */
#include "api/load_priv.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/text.h"
#include "store/grade.h"

#define SLICE_US       40000 /* aim for a batch on the writer, where nobody else waits */
#define SLICE_LEAST_US 300   /* before it ends for others: a busy counter must not stop a load */
#define BATCH_LEAST    4
#define BATCH_MOST     400
#define SAME_MOST      16 /* lines about one tube that are added to a full batch */

/* ---- lines and their outcome -------------------------------------------------------------- */

struct line {
    int64_t number;
    const void *row; /* NULL: refused while it was read */
    enum load_outcome outcome;
    struct load_problem problem;
};

struct batch {
    struct arena *arena; /* of the rows and problems */
    struct line line[BATCH_MOST + SAME_MOST];
    size_t count;
};

struct drive {
    struct load *load;
    const struct load_kind *kind;
    struct load_source *source;
    struct load_report *report;
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
static struct load_problem problem_from(const struct load_columns *c, int64_t line, const void *row,
                                        const char *came, const struct err *e, struct arena *a)
{
    struct load_problem p = {.line = line, .sentence = arena_text(a, e->text)};
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

static void report_line(struct load_report *r, const struct line *l, struct arena *a)
{
    r->lines++;
    r->accepted += l->outcome == LOAD_ACCEPTED;
    r->unchanged += l->outcome == LOAD_UNCHANGED;
    r->refused += l->outcome == LOAD_REFUSED;
    if (l->outcome != LOAD_REFUSED || r->problems.count == LOAD_PROBLEMS)
        return;
    if (r->problems.count == r->room) {
        r->room = r->room ? r->room * 2 : 64;
        struct load_problem *wider = arena_array(a, r->room, sizeof *wider);
        if (r->problems.count)
            memcpy(wider, r->problems.items, r->problems.count * sizeof *wider);
        r->problems.items = wider;
    }
    struct load_problem *p = (struct load_problem *)r->problems.items + r->problems.count++;
    *p = (struct load_problem){.line = l->problem.line,
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
    d->load->wrote = false;
    if (d->kind->put(&l->outcome, d->load, st, l->row, d->row_arena, &why))
        return true;
    l->outcome = LOAD_REFUSED;
    l->problem = problem_from(&d->load->columns, l->number, l->row, NULL, &why, a);
    if (!d->load->wrote && !is_fatal(why.code))
        return true;
    *e = why;
    return false;
}

static bool grade_touched(struct drive *d, struct store *st, struct err *e)
{
    struct load *l = d->load;
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
    d->load->touched_count = 0;
    while (good && i < s->end && !wanted) {
        good = line_put(d, st, &line[i], s->batch->arena, e);
        i++;
        if (i < s->end && belong_together(d, &line[i - 1], &line[i]))
            continue;
        good = good && grade_touched(d, st, e);
        wanted = now_us() - began >= SLICE_LEAST_US && port_is_wanted(d->load->rq->port);
    }
    s->done = i;
    d->took_us += now_us() - began;
    return good;
}

static bool slice_write(struct slice *s, struct err *e)
{
    struct port *port = s->drive->load->rq->port;
    if (port->write(port, slice_run, s, e))
        return true;
    s->drive->load->sittings = 0; /* one of them may have been undone */
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
        l->problem = problem_from(&all->drive->load->columns, l->number, l->row, NULL, &why,
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
        report_line(d->report, &b->line[i], d->load->rq->arena);
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
        l->problem = problem_from(&d->load->columns, l->number, NULL, came, &why, a);
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
        report_line(d->report, &l, d->load->rq->arena);
        arena_reset(a);
    }
    arena_free(a);
    return good && e->code == ERR_NONE;
}

/* ---- all or nothing ----------------------------------------------------------------------- */

static bool all_run(struct store *st, void *arg, struct err *e)
{
    struct drive *d = arg;
    d->load->touched_count = 0;
    return put_all(d, st, e) && !d->report->refused && grade_touched(d, st, e);
}

static void report_clear(struct load_report *r)
{
    *r = (struct load_report){.all_or_nothing = r->all_or_nothing};
}

static bool reopen(struct drive *d, struct err *e)
{
    load_source_close(d->source);
    d->source = NULL;
    return load_open(&d->source, d->load, d->kind, e);
}

static bool put_at_once(struct drive *d, struct err *e)
{
    struct port *port = d->load->rq->port;
    d->load->dry = true;
    if (!put_all(d, d->load->rq->store, e))
        return false;
    if (d->report->refused)
        return true;
    d->load->dry = false;
    d->load->samples = reading_samples_new(d->load->rq->arena);
    report_clear(d->report);
    if (!reopen(d, e))
        return false;
    if (port->write(port, all_run, d, e)) {
        d->report->applied = 1;
        return true;
    }
    return d->report->refused > 0 && !is_fatal(e->code);
}

static bool put_all_slices(struct drive *d, struct err *e)
{
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

bool load_drive(struct load_report *out, struct load *l, const struct load_kind *kind,
                struct err *e)
{
    struct drive d = {.load = l, .kind = kind, .report = out, .wanted = BATCH_LEAST};
    *out = (struct load_report){.all_or_nothing = l->ask->all_or_nothing == 1};
    if (!load_open(&d.source, l, kind, e))
        return false;
    d.row_arena = arena_new();
    l->samples = reading_samples_new(l->rq->arena);
    bool good = out->all_or_nothing ? put_at_once(&d, e) : put_all_slices(&d, e);
    load_source_close(d.source);
    arena_free(d.row_arena);
    free(l->touched);
    return good;
}
