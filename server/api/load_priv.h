/* SPDX-License-Identifier: MIT
 *
 * load_priv: what the files of load share.  load_source.c makes rows of a body, load_tube.c,
 * load_reading.c and load_catalogue.c put one row into the store, load_drive.c drives them and
 * load.c answers.
 */
#ifndef QUADRILLE_API_LOAD_PRIV_H
#define QUADRILLE_API_LOAD_PRIV_H

#include "api/load.h"
#include "api/reading.h"
#include "api/route.h"
#include "measure/quantity.h"

/* ---- what was asked ----------------------------------------------------------------------- */

enum load_form { LOAD_CSV, LOAD_NDJSON, LOAD_FORM__COUNT };

struct load_ask {
    struct texts map;       /* "own=column": a column of ours under the file's own name */
    int64_t all_or_nothing; /* 1: one refused line and nothing is kept */
    int64_t separator;      /* index into load_separators; NONE: found out */
    int64_t form;           /* enum load_form; NONE: as Content-Type says */
    struct texts confirm;   /* plausibility rules whose questions are answered with yes, or "all" */
    struct texts create;    /* "maker", "lot", "bin": made where a line names one there is not */
};

extern const char *const load_forms[];      /* names of enum load_form, NULL-terminated */
extern const char *const load_separators[]; /* "comma", "semicolon", "tab" */

/* ---- columns ------------------------------------------------------------------------------ */

/* Beside each field of the row's shape, in the same order. */
struct load_column {
    const char *code; /* our name of it; the field's name is the file's own */
    const char *unit; /* said with its name, "gm[micromho]"; NULL */
    bool there;       /* the head line names it, or map does */
};

struct load_columns {
    struct shape shape;         /* of a row: shape.field is field */
    struct field *field;        /* count of them and an end, in the arena */
    struct load_column *column; /* count of them */
    size_t count;
    const struct quantity **quantity; /* of each column; NULL where it is none */
};

/* The place of a column by the file's name or by ours; count when there is none. */
size_t load_column_find(const struct load_columns *c, const char *name);

/* ---- rows of a body ----------------------------------------------------------------------- */

struct load_source;

/* Open the body at path.  Renames the columns by map and, for CSV, by the head line, which is read
 * here.  ERR_INVALID for a map that makes no sense, a column that is unknown (the nearest one is
 * offered), stands twice, has a unit of another dimension, or is missing.  Close it with
 * load_source_close (NULL is fine). */
MUST_USE bool load_source_open(struct load_source **out, const char *path, enum load_form form,
                               char separator, struct load_columns *c, const struct texts *map,
                               struct arena *a, struct err *e);
void load_source_close(struct load_source *s);

enum load_got {
    LOAD_ROW, /* *row is a struct of the columns' shape, in the arena */
    LOAD_BAD, /* the line cannot be taken: *e says why, *came what stood there (NULL: see *e) */
    LOAD_END,
    LOAD_FAILED /* the file cannot be read */
};

/* The next line that is not empty; *line its number, from 1. */
MUST_USE enum load_got load_source_next(struct load_source *s, void **row, int64_t *line,
                                        const char **came, struct arena *a, struct err *e);

/* ---- one row into the store --------------------------------------------------------------- */

enum load_outcome { LOAD_ACCEPTED, LOAD_UNCHANGED, LOAD_REFUSED };

struct load_tester {
    const char *code;
    int64_t id;
};

/* The sitting that rows of a tester without a label go to. */
struct load_sitting {
    int64_t tester_id, id, last_ms;
};

#define LOAD_KEPT 8 /* testers and sittings remembered; more are looked up again */

/* A load under way, as the functions of one row see it. */
struct load {
    struct req *rq;
    const struct load_ask *ask;
    struct load_columns columns;
    bool dry;       /* look, but write nothing; the store is read-only */
    bool wrote;     /* set by a row's function before its first change */
    bool making[3]; /* by enum load_makes */
    struct reading_samples *samples;
    struct load_tester tester[LOAD_KEPT];
    struct load_sitting sitting[LOAD_KEPT];
    size_t testers, sittings;
    int64_t *touched; /* tubes to be graded when the slice ends, in the order they came */
    size_t touched_count, touched_room;
};

enum load_makes { LOAD_MAKES_MAKER, LOAD_MAKES_LOT, LOAD_MAKES_BIN, LOAD_MAKES__COUNT };

void load_touch(struct load *l, int64_t tube_id);

struct load_kind {
    const char *noun; /* "tube": of one line */
    /* The columns there are, under our own names. */
    void (*columns)(struct load_columns *out, struct store *st, struct arena *a);
    /* Put one row.  false: refused, *e says why and e->field names the column; with l->wrote set
     * the savepoint has to be undone. */
    bool (*put)(enum load_outcome *out, struct load *l, struct store *st, const void *row,
                struct arena *a, struct err *e);
    /* Rows of the same key that follow each other are written together; NULL: none belong
     * together. */
    const char *(*key)(const void *row);
};

extern const struct load_kind load_tubes, load_readings, load_types, load_statements;

/* ---- the drive ---------------------------------------------------------------------------- */

struct load_problem {
    int64_t line;
    const char *field, *came, *sentence;
};

struct load_report {
    const char *title, *detail; /* of a refusal (load.c) */
    int64_t status;
    int64_t lines, accepted, unchanged, refused, all_or_nothing, applied;
    struct list problems; /* struct load_problem, the first LOAD_PROBLEMS */
    size_t room;          /* of problems */
};

/* Open the body that was asked for, with the columns of the kind (load.c). */
MUST_USE bool load_open(struct load_source **out, struct load *l, const struct load_kind *kind,
                        struct err *e);

/* Put all lines and report on them.  false: the file cannot be used, or the load could not be
 * brought to its end. */
MUST_USE bool load_drive(struct load_report *out, struct load *l, const struct load_kind *kind,
                         struct err *e);

#endif
