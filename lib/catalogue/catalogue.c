/* SPDX-License-Identifier: MIT
 *
 * catalogue: growing arrays and three hash tables over them (designation to type, key to names,
 * stem to names).  A table holds the newest item of each bucket, items of one bucket are chained.
 */
#include "catalogue/catalogue.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

/* Chained hash over the items of an array; an item's text is compared by the caller. */
struct table {
    int *bucket, *next; /* -1 ends a chain */
    size_t buckets, items, room;
};

struct catalogue {
    struct arena *arena;
    struct type *types;
    struct name *names;
    struct edge *edges;
    struct point *points;
    struct point_value *values;
    struct hazard *hazards;
    struct known_doubt *doubts;
    size_t type_room, name_count, name_room, edge_count, edge_room;
    size_t point_count, point_room, value_count, value_room, hazard_count, hazard_room;
    size_t doubt_count, doubt_room;
    struct table by_designation, by_key, by_stem;
};

/* FNV-1a, 32 bits (Fowler, Noll, Vo; from memory). */
static size_t hash(const char *s)
{
    uint32_t h = 2166136261u;
    for (; *s; s++)
        h = (h ^ (unsigned char)*s) * 16777619u;
    return h;
}

static void table_rehash(struct table *t, size_t buckets, const char *(*text)(const void *, size_t),
                         const void *items)
{
    t->bucket = xrealloc(t->bucket, buckets * sizeof *t->bucket);
    t->buckets = buckets;
    for (size_t i = 0; i < buckets; i++)
        t->bucket[i] = -1;
    for (size_t i = 0; i < t->items; i++) {
        size_t h = hash(text(items, i)) % buckets;
        t->next[i] = t->bucket[h];
        t->bucket[h] = (int)i;
    }
}

/* Enter item t->items of the array. */
static void table_push(struct table *t, const char *(*text)(const void *, size_t),
                       const void *items)
{
    if (t->items == t->room) {
        t->room = t->room ? t->room * 2 : 256;
        t->next = xrealloc(t->next, t->room * sizeof *t->next);
    }
    t->items++;
    if (t->items * 2 > t->buckets) {
        table_rehash(t, t->buckets ? t->buckets * 2 : 1024, text, items);
        return;
    }
    size_t i = t->items - 1, h = hash(text(items, i)) % t->buckets;
    t->next[i] = t->bucket[h];
    t->bucket[h] = (int)i;
}

static int table_first(const struct table *t, const char *text)
{
    return t->buckets ? t->bucket[hash(text) % t->buckets] : -1;
}

static const char *type_text(const void *items, size_t i)
{
    return ((const struct type *)items)[i].designation;
}

static const char *key_text(const void *items, size_t i)
{
    return ((const struct name *)items)[i].key;
}

static const char *stem_text(const void *items, size_t i)
{
    return ((const struct name *)items)[i].stem;
}

struct catalogue *catalogue_new(void)
{
    struct catalogue *c = xcalloc(1, sizeof *c);
    c->arena = arena_new();
    return c;
}

static void table_free(struct table *t)
{
    free(t->bucket);
    free(t->next);
}

void catalogue_free(struct catalogue *c)
{
    if (!c)
        return;
    table_free(&c->by_designation);
    table_free(&c->by_key);
    table_free(&c->by_stem);
    free(c->types);
    free(c->names);
    free(c->edges);
    free(c->points);
    free(c->values);
    free(c->hazards);
    free(c->doubts);
    arena_free(c->arena);
    free(c);
}

struct arena *catalogue_arena(struct catalogue *c)
{
    return c->arena;
}

int catalogue_type_count(const struct catalogue *c)
{
    return (int)c->by_designation.items;
}

const struct type *catalogue_type(const struct catalogue *c, int type)
{
    return &c->types[type];
}

int catalogue_find(const struct catalogue *c, const char *designation)
{
    int i = table_first(&c->by_designation, designation);
    while (i >= 0 && strcmp(c->types[i].designation, designation) != 0)
        i = c->by_designation.next[i];
    return i;
}

size_t catalogue_name_count(const struct catalogue *c)
{
    return c->name_count;
}

const struct name *catalogue_name(const struct catalogue *c, size_t i)
{
    return &c->names[i];
}

const struct edge *catalogue_edges(const struct catalogue *c, size_t *count)
{
    *count = c->edge_count;
    return c->edges;
}

const struct link *catalogue_links(const struct catalogue *c, size_t *count, struct arena *a)
{
    struct link *links = arena_array(a, c->edge_count, sizeof *links);
    for (size_t i = 0; i < c->edge_count; i++) {
        const struct edge *g = &c->edges[i];
        links[i] = (struct link){(int64_t)i,
                                 g->from,
                                 g->to,
                                 g->said.relation,
                                 equivalence_known(&g->said),
                                 g->said.conditions,
                                 g->said.source,
                                 g->said.where};
    }
    *count = c->edge_count;
    return links;
}

static size_t collect(const struct table *t, const char *(*text)(const void *, size_t),
                      const struct name *names, const char *want, size_t *out, size_t room)
{
    size_t n = 0;
    for (int i = table_first(t, want); i >= 0; i = t->next[i])
        if (strcmp(text(names, (size_t)i), want) == 0) {
            if (n < room)
                out[n] = (size_t)i;
            n++;
        }
    return n;
}

size_t catalogue_by_key(const struct catalogue *c, const char *key, size_t *out, size_t room)
{
    return collect(&c->by_key, key_text, c->names, key, out, room);
}

size_t catalogue_by_stem(const struct catalogue *c, const char *stem, size_t *out, size_t room)
{
    return collect(&c->by_stem, stem_text, c->names, stem, out, room);
}

/* Room for one more item; the array doubles. */
static void *room_for(void *items, size_t count, size_t *room, size_t size)
{
    if (count < *room)
        return items;
    *room = *room ? *room * 2 : 256;
    return xrealloc(items, *room * size);
}

/* ---- adding --------------------------------------------------------------------------------- */

static bool name_push(struct catalogue *c, const struct name *n, struct err *e)
{
    struct name made = *n;
    if (!fold_key(made.key, n->text, e))
        return false;
    fold_stem(made.stem, NULL, made.key);
    c->names = room_for(c->names, c->name_count, &c->name_room, sizeof *c->names);
    c->names[c->name_count++] = made;
    table_push(&c->by_key, key_text, c->names);
    table_push(&c->by_stem, stem_text, c->names);
    return true;
}

/* Another name with the same bytes, -1 for none. */
static int name_find(const struct catalogue *c, const char *text)
{
    char key[FOLD_BYTES];
    if (!fold_key(key, text, NULL))
        return -1;
    for (int i = table_first(&c->by_key, key); i >= 0; i = c->by_key.next[i])
        if (strcmp(c->names[i].text, text) == 0)
            return i;
    return -1;
}

static int type_push(struct catalogue *c, const struct type *t)
{
    size_t n = c->by_designation.items;
    c->types = room_for(c->types, n, &c->type_room, sizeof *c->types);
    c->types[n] = *t;
    table_push(&c->by_designation, type_text, c->types);
    return (int)n;
}

/* The type of that designation, made bare where it is new; -1 with *e on a bad designation. */
static int type_need(struct catalogue *c, const char *designation, const char *source, enum how how,
                     struct err *e)
{
    int i = catalogue_find(c, designation);
    if (i >= 0)
        return i;
    int taken = name_find(c, designation);
    if (taken >= 0) /* a printed spelling of a type: the statement is about that type */
        return c->names[taken].type;
    const struct type bare = type_bare(arena_text(c->arena, designation));
    const struct name n = {.type = (int)c->by_designation.items,
                           .text = bare.designation,
                           .kind = SPELLING_PRINTED,
                           .source = source,
                           .how = how,
                           .where = ""};
    return name_push(c, &n, e) ? type_push(c, &bare) : -1;
}

static bool is_bare(const struct type *t)
{
    return !*t->system && !*t->class && !*t->source;
}

bool catalogue_add_spelling(struct catalogue *c, const struct spelling *s, struct err *e)
{
    int type = type_need(c, s->designation, s->source, s->how, e);
    if (type < 0)
        return false;
    int there = name_find(c, s->text);
    if (there >= 0 && c->names[there].type == type)
        return true;
    if (there >= 0 && c->names[there].kind == SPELLING_PRINTED && s->kind == SPELLING_PRINTED)
        return err_field(e, "spelling", ERR_CONFLICT,
                         "%s is already a name of %s; it cannot be printed on %s too", s->text,
                         c->types[c->names[there].type].designation, s->designation);
    const struct name n = {type, s->text, s->kind, "", "", s->source, s->how, s->where};
    return name_push(c, &n, e);
}

bool catalogue_add_type(struct catalogue *c, const struct type *t, struct err *e)
{
    int there = catalogue_find(c, t->designation);
    if (there >= 0 && !is_bare(&c->types[there]))
        return err_field(e, "designation", ERR_CONFLICT, "%s is in the catalogue already",
                         t->designation);
    int taken = name_find(c, t->designation);
    if (there < 0 && taken >= 0)
        return err_field(e, "designation", ERR_CONFLICT,
                         "%s is stored as a spelling of %s; remove that first", t->designation,
                         c->types[c->names[taken].type].designation);
    int type = there >= 0 ? there : type_need(c, t->designation, t->source, t->how, e);
    if (type < 0)
        return false;
    const char *kept = c->types[type].designation;
    c->types[type] = *t;
    c->types[type].designation = kept;
    if (!*t->cyrillic)
        return true;
    const struct spelling s = {kept,      t->cyrillic, SPELLING_PRINTED, "Cyrillic original",
                               t->source, t->how,      t->where};
    return catalogue_add_spelling(c, &s, e);
}

static bool check_edge(const struct catalogue *c, int from, int to, const struct equivalence *q,
                       struct err *e)
{
    char why[CONTRADICTION_BYTES];
    for (size_t i = 0; i < c->edge_count; i++) {
        const struct edge *g = &c->edges[i];
        if (g->from == from && g->to == to)
            return err_field(e, "to", ERR_CONFLICT, "%s for %s is stated already, as \"%s\"", q->to,
                             q->from, relation_words[g->said.relation]);
    }
    if (from == to)
        return err_field(e, "to", ERR_CONFLICT, "%s and %s are two spellings of one type", q->from,
                         q->to);
    if (q->relation == RELATION_SAME && types_contradict(why, &c->types[from], &c->types[to]))
        return err_field(e, "relation", ERR_CONFLICT,
                         "%s and %s cannot be the same: %s.  State what differs instead", q->from,
                         q->to, why);
    return true;
}

bool catalogue_add_equivalence(struct catalogue *c, const struct equivalence *q, struct err *e)
{
    int from = type_need(c, q->from, q->source, q->how, e);
    int to = from < 0 ? -1 : type_need(c, q->to, q->source, q->how, e);
    if (to < 0 || !check_edge(c, from, to, q, e))
        return false;
    c->edges = room_for(c->edges, c->edge_count, &c->edge_room, sizeof *c->edges);
    c->edges[c->edge_count++] = (struct edge){from, to, *q};
    return true;
}

/* ---- looking up ----------------------------------------------------------------------------- */

struct finder {
    const struct catalogue *c;
    const struct graph *families;
};

static size_t find_names(void *ctx, const char *key, bool stem, struct lookup_hit *hits,
                         size_t room)
{
    const struct finder *f = ctx;
    size_t index[LOOKUP_HITS], wanted = room < LOOKUP_HITS ? room : LOOKUP_HITS;
    size_t n = stem ? catalogue_by_stem(f->c, key, index, wanted)
                    : catalogue_by_key(f->c, key, index, wanted);
    if (n > wanted)
        n = wanted;
    for (size_t i = 0; i < n; i++) {
        const struct name *name = &f->c->names[index[i]];
        hits[i] = (struct lookup_hit){.type = name->type,
                                      .family = f->families ? family_of(f->families, name->type)
                                                            : name->type,
                                      .spelling = name->text,
                                      .printed = name->kind == SPELLING_PRINTED};
    }
    return n;
}

bool catalogue_lookup(struct lookup *out, const struct catalogue *c, const struct graph *families,
                      const char *text, struct err *e)
{
    struct finder f = {c, families};
    return lookup_text(out, text, find_names, &f, e);
}

size_t catalogue_near(const struct catalogue *c, const char *text, int edits, int *out, size_t room)
{
    char key[FOLD_BYTES];
    size_t n = 0;
    if (!fold_key(key, text, NULL))
        return 0;
    for (int at = 1; at <= edits; at++)
        for (size_t i = 0; i < c->name_count && n < room; i++) {
            const struct name *name = &c->names[i];
            size_t seen = 0;
            if (name->kind != SPELLING_PRINTED || text_distance(key, name->key, at) != at)
                continue;
            while (seen < n && out[seen] != name->type)
                seen++;
            if (seen == n)
                out[n++] = name->type;
        }
    return n;
}

/* ---- points, values, hazards, doubts -------------------------------------------------------- */

const struct point *catalogue_points(const struct catalogue *c, size_t *count)
{
    *count = c->point_count;
    return c->points;
}

const struct point_value *catalogue_values(const struct catalogue *c, size_t *count)
{
    *count = c->value_count;
    return c->values;
}

const struct hazard *catalogue_hazards(const struct catalogue *c, size_t *count)
{
    *count = c->hazard_count;
    return c->hazards;
}

const struct known_doubt *catalogue_doubts(const struct catalogue *c, size_t *count)
{
    *count = c->doubt_count;
    return c->doubts;
}

static bool need_type(const struct catalogue *c, const char *designation, struct err *e)
{
    return catalogue_find(c, designation) >= 0 ||
           err_field(e, "designation", ERR_NOT_FOUND, "%s is not in the catalogue", designation);
}

static const struct point *point_find(const struct catalogue *c, const char *designation,
                                      const char *code)
{
    for (size_t i = 0; i < c->point_count; i++)
        if (strcmp(c->points[i].designation, designation) == 0 &&
            strcmp(c->points[i].code, code) == 0)
            return &c->points[i];
    return NULL;
}

bool catalogue_add_point(struct catalogue *c, const struct point *p, struct err *e)
{
    if (!need_type(c, p->designation, e))
        return false;
    if (point_find(c, p->designation, p->code))
        return err_field(e, "code", ERR_CONFLICT, "%s has a test point \"%s\" already",
                         p->designation, p->code);
    c->points = room_for(c->points, c->point_count, &c->point_room, sizeof *c->points);
    c->points[c->point_count++] = *p;
    return true;
}

bool catalogue_add_value(struct catalogue *c, const struct point_value *v, struct err *e)
{
    if (!point_find(c, v->designation, v->code))
        return err_field(e, "code", ERR_NOT_FOUND, "%s has no test point \"%s\"", v->designation,
                         v->code);
    for (size_t i = 0; i < c->value_count; i++)
        if (strcmp(c->values[i].designation, v->designation) == 0 &&
            strcmp(c->values[i].code, v->code) == 0 &&
            strcmp(c->values[i].quantity, v->quantity) == 0)
            return err_field(e, "quantity", ERR_CONFLICT, "%s, point %s has %s already",
                             v->designation, v->code, v->quantity);
    c->values = room_for(c->values, c->value_count, &c->value_room, sizeof *c->values);
    c->values[c->value_count++] = *v;
    return true;
}

bool catalogue_add_hazard(struct catalogue *c, const struct hazard *h, struct err *e)
{
    if (!need_type(c, h->designation, e))
        return false;
    c->hazards = room_for(c->hazards, c->hazard_count, &c->hazard_room, sizeof *c->hazards);
    c->hazards[c->hazard_count++] = *h;
    return true;
}

bool catalogue_add_doubt(struct catalogue *c, const struct known_doubt *d, struct err *e)
{
    if (!need_type(c, d->designation, e))
        return false;
    c->doubts = room_for(c->doubts, c->doubt_count, &c->doubt_room, sizeof *c->doubts);
    c->doubts[c->doubt_count++] = *d;
    return true;
}
