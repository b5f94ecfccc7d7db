/* SPDX-License-Identifier: MIT
 *
 * grade: schemes as kept, and the gradings of tubes.
 */
#ifndef QUADRILLE_STORE_GRADE_H
#define QUADRILLE_STORE_GRADE_H

#include "grade/grade.h"
#include "store/store.h"

/* What a grading said.  reasons is JSON as it was written with it. */
struct grading {
    int64_t id, tube_id;
    const char *scheme;  /* "default 1" */
    const char *grade;   /* code; "" when none could be given */
    const char *reasons; /* JSON */
    int64_t borderline;
    int64_t at_ms;
    const char *user; /* shown name */
};

/* Put the bundled default scheme there where there is no scheme yet, and make it current. */
MUST_USE bool grade_scheme_refresh(struct store *st, struct arena *a, struct err *e);

/* The grade of what is not for sale as a working tube: the last of the current scheme where that
 * asks for nothing.  *out in the arena, NULL when there is none such. */
MUST_USE bool grade_floor(const char **out, struct store *st, struct arena *a, struct err *e);

/* Grade a tube by the current scheme from its latest look and its standing values; writes a grading
 * when the grade or a reason changed.  *grade: its code, NULL when none can be given or there is no
 * scheme. */
MUST_USE bool grade_refresh(const char **grade, struct store *st, int64_t tube_id, struct arena *a,
                            struct err *e);

/* Gradings of a tube, newest first, at most limit.  struct grading. */
void grading_list(struct list *out, struct store *st, int64_t tube_id, int64_t limit,
                  struct arena *a);

#endif
