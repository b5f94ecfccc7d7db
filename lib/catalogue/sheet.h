/* SPDX-License-Identifier: MIT
 *
 * sheet: the columns of a table of facts, found by name.
 *
 * The header line may hold the columns in any order and leave out those that are not required.  A
 * name that is not known is refused, because a misspelt column would otherwise be lost in silence.
 */
#ifndef QUADRILLE_CATALOGUE_SHEET_H
#define QUADRILLE_CATALOGUE_SHEET_H

#include "base/csv.h"

#define SHEET_COLUMNS 64

struct sheet {
    const char *const *name; /* the known columns; the caller's, static */
    size_t count;            /* of them */
    size_t width;            /* fields of the header line */
    int at[SHEET_COLUMNS];   /* field of the known column i, or -1 */
};

/* Match a header line against names[0..count); the first `required` of them must be there.
 * ERR_INVALID, e->field = the column, e->line: unknown, doubled, missing. */
MUST_USE bool sheet_init(struct sheet *out, const char *const *names, size_t count, size_t required,
                         const struct csv_record *header, struct err *e);

/* A data line must have as many fields as the header.  ERR_INVALID, e->line. */
MUST_USE bool sheet_check(const struct sheet *s, const struct csv_record *r, struct err *e);

/* One row that does not come from a file: every column is there, in its order.  Lives where it is:
 * the record points into it. */
struct sheet_row {
    struct sheet sheet;
    struct csv_record record; /* line 0: there is none */
    const char *field[SHEET_COLUMNS];
    size_t length[SHEET_COLUMNS];
};

/* text[0..count) by column, NULL for ""; the texts must outlive the row. */
void sheet_row_init(struct sheet_row *out, const char *const *names, const char *const *text,
                    size_t count);

/* The field of the known column, without white space around it; "" where absent or empty.  Copied
 * into the arena. */
struct arena;
const char *sheet_text(const struct sheet *s, const struct csv_record *r, int column,
                       struct arena *a);

/* The field as a number at the given decimals; NONE when empty.  ERR_INVALID with e->field, e->line
 * when it is no number or lies outside least..most (both at the decimals). */
MUST_USE bool sheet_number(int64_t *out, const struct sheet *s, const struct csv_record *r,
                           int column, int decimals, int64_t least, int64_t most, struct err *e);

/* The place of the field's word in words[0..count); -1 when empty and empty is allowed.
 * ERR_INVALID naming what came and what is known. */
MUST_USE bool sheet_word(int *out, const struct sheet *s, const struct csv_record *r, int column,
                         const char *const *words, size_t count, bool may_be_empty, struct err *e);

/* Where a figure or a statement comes from. */
enum how {
    HOW_FOUND,  /* read at the stated address */
    HOW_MEMORY, /* recalled from the named source, not opened */
    HOW_OWN,    /* entered by the owner */
    HOW__COUNT
};
extern const char *const how_words[HOW__COUNT];

#endif
