/* SPDX-License-Identifier: MIT
 *
 * catalogue: types, their spellings and the statements between them, put together.
 *
 * A designation that occurs only in an equivalence or a spelling is a type too, one of which
 * nothing but the name is known (a bare type): it can be stocked, looked up and stand in, and every
 * figure of it is "not known".  Types are numbered from 0 in the order they came; those numbers are
 * what family.h and lookup.h speak of.
 */
#ifndef QUADRILLE_CATALOGUE_CATALOGUE_H
#define QUADRILLE_CATALOGUE_CATALOGUE_H

#include "catalogue/equivalence.h"
#include "catalogue/family.h"
#include "catalogue/point.h"
#include "catalogue/type.h"
#include "designation/lookup.h"

/* One spelling of a type, with the keys it is stored under. */
struct name {
    int type;
    const char *text;
    enum spelling_kind kind;
    char key[FOLD_BYTES];
    char stem[FOLD_BYTES];
    const char *source;
    enum how how;
    const char *where;
};

/* One statement between two types. */
struct edge {
    int from, to;
    struct equivalence said;
};

struct catalogue; /* owns its arena */

struct catalogue *catalogue_new(void);
void catalogue_free(struct catalogue *c);

/* The arena that lives as long as the catalogue, for the rows read into it. */
struct arena *catalogue_arena(struct catalogue *c);

/* Add a type with its Cyrillic spelling; fills a bare one of the same designation.  ERR_CONFLICT
 * when it is there already, or when its name is stored as a spelling of another type. */
MUST_USE bool catalogue_add_type(struct catalogue *c, const struct type *t, struct err *e);

/* Add a spelling.  Repeating one of the same type is fine; ERR_CONFLICT when a printed spelling
 * names two types (a trade spelling may, and then is ambiguous). */
MUST_USE bool catalogue_add_spelling(struct catalogue *c, const struct spelling *s, struct err *e);

/* Add a statement.  ERR_CONFLICT when the same pair is stated twice with different relations, or
 * when "same" joins two types whose figures contradict it (types_contradict). */
MUST_USE bool catalogue_add_equivalence(struct catalogue *c, const struct equivalence *q,
                                        struct err *e);

int catalogue_type_count(const struct catalogue *c);
const struct type *catalogue_type(const struct catalogue *c, int type);

/* The type of that main designation, byte for byte; -1 when there is none. */
int catalogue_find(const struct catalogue *c, const char *designation);

size_t catalogue_name_count(const struct catalogue *c);
const struct name *catalogue_name(const struct catalogue *c, size_t i);

const struct edge *catalogue_edges(const struct catalogue *c, size_t *count);

/* The statements as links between type numbers, for graph_new; link i is edge i and its id is i;
 * how is equivalence_known.  In the arena; the texts are the catalogue's. */
const struct link *catalogue_links(const struct catalogue *c, size_t *count, struct arena *a);

/* The names stored under a key, or with a stem; at most `room` indexes are written, the number
 * there are is returned. */
size_t catalogue_by_key(const struct catalogue *c, const char *key, size_t *out, size_t room);
size_t catalogue_by_stem(const struct catalogue *c, const char *stem, size_t *out, size_t room);

/* What a typed text finds; see lookup.h.  The graph names the families; NULL: each type is a family
 * of its own.  Errors as fold_read. */
MUST_USE bool catalogue_lookup(struct lookup *out, const struct catalogue *c,
                               const struct graph *families, const char *text, struct err *e);

/* Types with a printed spelling at most `edits` single edits (1..3) from the text's plainest key,
 * the nearest first, then by type number; at most `room` type numbers are written and the count
 * written returned.  Walks all spellings: for texts that found nothing. */
size_t catalogue_near(const struct catalogue *c, const char *text, int edits, int *out,
                      size_t room);

/* A contradiction inside a row that is known and left standing, with the reason. */
struct known_doubt {
    const char *designation;
    const char *check; /* as struct type_doubt */
    const char *why;
};

/* Test points, their values, hazards and known doubts, kept in the order added.  ERR_NOT_FOUND when
 * the type (or the point of a value) is not there, ERR_CONFLICT when the same is there already. */
MUST_USE bool catalogue_add_point(struct catalogue *c, const struct point *p, struct err *e);
MUST_USE bool catalogue_add_value(struct catalogue *c, const struct point_value *v, struct err *e);
MUST_USE bool catalogue_add_hazard(struct catalogue *c, const struct hazard *h, struct err *e);
MUST_USE bool catalogue_add_doubt(struct catalogue *c, const struct known_doubt *d, struct err *e);
const struct point *catalogue_points(const struct catalogue *c, size_t *count);
const struct point_value *catalogue_values(const struct catalogue *c, size_t *count);
const struct hazard *catalogue_hazards(const struct catalogue *c, size_t *count);
const struct known_doubt *catalogue_doubts(const struct catalogue *c, size_t *count);

/* Do the known figures of two types forbid to call them the same: heater volts (a tapped heater and
 * its untapped half too), heater current by more than 5 percent, base, cap, pins, sections?  Writes
 * the first reason. */
#define CONTRADICTION_BYTES 200
bool types_contradict(char *why, const struct type *a, const struct type *b);

#endif
