/* SPDX-License-Identifier: MIT
 *
 * load: the files of seed-data/catalogue, and a dealer's own files of the same form, read into a
 * catalogue line by line.  A bad line is reported and left out; the good ones stay.
 */
#ifndef QUADRILLE_CATALOGUE_LOAD_H
#define QUADRILLE_CATALOGUE_LOAD_H

#include "base/csv.h"
#include "catalogue/catalogue.h"

/* In the order they must be read: later files speak of what earlier ones bring. */
enum catalogue_file {
    FILE_TYPES,
    FILE_SPELLINGS,
    FILE_EQUIVALENTS,
    FILE_TEST_POINTS,
    FILE_TEST_POINT_VALUES,
    FILE_HAZARDS,
    FILE_DOUBTS,
    FILE__COUNT
};

/* "types.csv" ... */
extern const char *const catalogue_files[FILE__COUNT];

/* Told of each bad line: e->line, e->field, e->text. */
typedef void load_bad_fn(void *ctx, const struct err *e);

struct load_count {
    int64_t taken, refused;
};

/* Read one file from a stream.  bad may be NULL.  false only when the stream fails or the header
 * line makes no sense; then *e says why and nothing was added. */
MUST_USE bool catalogue_load(struct catalogue *c, enum catalogue_file file, csv_read_fn *read,
                             void *read_ctx, load_bad_fn *bad, void *bad_ctx,
                             struct load_count *count, struct err *e);

#endif
