/* SPDX-License-Identifier: MIT
 *
 * load: one row per file says its columns and the function that takes a line.
 */
#include "catalogue/load.h"

#include <string.h>

const char *const catalogue_files[FILE__COUNT] = {
    "types.csv",   "spellings.csv", "equivalents.csv", "test_points.csv", "test_point_values.csv",
    "hazards.csv", "doubts.csv",
};

enum doubt_column { DOUBT_DESIGNATION, DOUBT_CHECK, DOUBT_WHY, DOUBT__COLUMNS };
static const char *const doubt_columns[DOUBT__COLUMNS] = {"designation", "check", "why"};

/* Each takes one line; on failure *e names the line. */
typedef bool take_fn(struct catalogue *c, const struct sheet *s, const struct csv_record *r,
                     struct err *e);

static bool take_type(struct catalogue *c, const struct sheet *s, const struct csv_record *r,
                      struct err *e)
{
    struct type t;
    return type_read(&t, s, r, catalogue_arena(c), e) && catalogue_add_type(c, &t, e);
}

static bool take_spelling(struct catalogue *c, const struct sheet *s, const struct csv_record *r,
                          struct err *e)
{
    struct spelling t;
    return spelling_read(&t, s, r, catalogue_arena(c), e) && catalogue_add_spelling(c, &t, e);
}

static bool take_equivalence(struct catalogue *c, const struct sheet *s, const struct csv_record *r,
                             struct err *e)
{
    struct equivalence q;
    return equivalence_read(&q, s, r, catalogue_arena(c), e) && catalogue_add_equivalence(c, &q, e);
}

static bool take_point(struct catalogue *c, const struct sheet *s, const struct csv_record *r,
                       struct err *e)
{
    struct point p;
    return point_read(&p, s, r, catalogue_arena(c), e) && catalogue_add_point(c, &p, e);
}

static bool take_value(struct catalogue *c, const struct sheet *s, const struct csv_record *r,
                       struct err *e)
{
    struct point_value v;
    return point_value_read(&v, s, r, catalogue_arena(c), e) && catalogue_add_value(c, &v, e);
}

static bool take_hazard(struct catalogue *c, const struct sheet *s, const struct csv_record *r,
                        struct err *e)
{
    struct hazard h;
    return hazard_read(&h, s, r, catalogue_arena(c), e) && catalogue_add_hazard(c, &h, e);
}

static bool take_doubt(struct catalogue *c, const struct sheet *s, const struct csv_record *r,
                       struct err *e)
{
    struct arena *a = catalogue_arena(c);
    if (!sheet_check(s, r, e))
        return false;
    const struct known_doubt d = {sheet_text(s, r, DOUBT_DESIGNATION, a),
                                  sheet_text(s, r, DOUBT_CHECK, a), sheet_text(s, r, DOUBT_WHY, a)};
    return catalogue_add_doubt(c, &d, e);
}

static const struct {
    const char *const *columns;
    size_t count, required;
    take_fn *take;
} files[FILE__COUNT] = {
    [FILE_TYPES] = {type_columns, TYPE__COLUMNS, 1, take_type},
    [FILE_SPELLINGS] = {spelling_columns, SPELLING__COLUMNS, SPELLING_REQUIRED, take_spelling},
    [FILE_EQUIVALENTS] = {equivalence_columns, EQUIVALENCE__COLUMNS, EQUIVALENCE_REQUIRED,
                          take_equivalence},
    [FILE_TEST_POINTS] = {point_columns, POINT__COLUMNS, POINT_REQUIRED, take_point},
    [FILE_TEST_POINT_VALUES] = {point_value_columns, POINT_VALUE__COLUMNS, POINT_VALUE_REQUIRED,
                                take_value},
    [FILE_HAZARDS] = {hazard_columns, HAZARD__COLUMNS, HAZARD_REQUIRED, take_hazard},
    [FILE_DOUBTS] = {doubt_columns, DOUBT__COLUMNS, DOUBT__COLUMNS, take_doubt},
};

static bool read_header(struct sheet *s, struct csv *csv, enum catalogue_file file, struct err *e)
{
    struct csv_record r;
    switch (csv_next(csv, &r, e)) {
    case CSV_RECORD:
        return sheet_init(s, files[file].columns, files[file].count, files[file].required, &r, e);
    case CSV_END:
        return err_set(e, ERR_INVALID, "%s is empty; a header line should stand",
                       catalogue_files[file]);
    case CSV_BAD:
    case CSV_FAILED:
        break;
    }
    return false;
}

static bool read_lines(struct catalogue *c, const struct sheet *s, struct csv *csv,
                       enum catalogue_file file, load_bad_fn *bad, void *bad_ctx,
                       struct load_count *count, struct err *e)
{
    for (;;) {
        struct csv_record r;
        struct err line = ERR_INIT;
        enum csv_got got = csv_next(csv, &r, &line);
        if (got == CSV_END)
            return true;
        if (got == CSV_FAILED) {
            *e = line;
            return false;
        }
        if (got == CSV_RECORD && files[file].take(c, s, &r, &line)) {
            count->taken++;
            continue;
        }
        if (line.line == 0 && got == CSV_RECORD)
            line.line = r.line;
        count->refused++;
        if (bad)
            bad(bad_ctx, &line);
    }
}

bool catalogue_load(struct catalogue *c, enum catalogue_file file, csv_read_fn *read,
                    void *read_ctx, load_bad_fn *bad, void *bad_ctx, struct load_count *count,
                    struct err *e)
{
    struct csv *csv = csv_new(read, read_ctx, ',');
    struct sheet s;
    struct err local = ERR_INIT;
    *count = (struct load_count){0};
    bool ok = read_header(&s, csv, file, &local) &&
              read_lines(c, &s, csv, file, bad, bad_ctx, count, &local);
    if (!ok && e)
        *e = local;
    csv_free(csv);
    return ok;
}
