/* SPDX-License-Identifier: MIT
 *
 * sheet: a table of tubes and their values, on its way to becoming a problem.
 *
 * Columns: "id"; optionally "class", never mixed within a set; then quantities, a section behind a
 * point ("ia.1", "ia.2"), a standard uncertainty in brackets ("u(ia)").  Which quantities are
 * coordinates, and which columns must be equal within a set, is chosen after the heading is known.
 */
#ifndef QUADRILLE_MATCH_SHEET_H
#define QUADRILLE_MATCH_SHEET_H

#include "match/band.h"

struct sheet;

/* Begin with the heading.  ERR_INVALID with e->field: no id column, a name twice or empty, more
 * than SHEET_COLUMNS.  Owned by the caller. */
#define SHEET_COLUMNS 128
MUST_USE bool sheet_new(struct sheet **out, const char *const *name, size_t count, struct err *e);
void sheet_free(struct sheet *s);

/* Choose.  bands: for all quantities, or for the named ones, which alone become coordinates then
 * ("ia" means every section of it).  same: names of columns, separated by commas, "" for none;
 * besides class. ERR_NOT_FOUND naming a column that the heading has not. */
MUST_USE bool sheet_choose(struct sheet *s, const char *bands, const char *same, struct err *e);

/* One row; line is where it stands in the input.  ERR_INVALID with e->line and e->field: too many
 * or too few fields, an empty id, a value that is no number; ERR_TOO_LARGE beyond MATCH_TUBES rows.
 */
MUST_USE bool sheet_add(struct sheet *s, int64_t line, const char *const *field, size_t count,
                        struct err *e);

/* The problem, sorted and checked, in the arena; demand is the caller's.  An empty class or same
 * column is not known, and what is not known equals nothing: such a tube stays alone.
 * Errors as match_problem_sort and match_problem_check. */
MUST_USE bool sheet_problem(struct sheet *s, const struct match_line *demand, int lines,
                            struct arena *a, struct match_problem *out, struct err *e);

#endif
