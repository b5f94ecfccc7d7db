/* SPDX-License-Identifier: MIT
 *
 * recall: a small open-addressed table beside an arena; both are emptied with every savepoint.
 */
#include "store/recall.h"

#include <stdlib.h>
#include <string.h>

#define SLOTS 1024 /* power of two; when half are taken, no more is remembered */

struct slot {
    const char *sql; /* NULL: free */
    int64_t id;
    const char *word;
    const void *value;
};

struct memory {
    struct arena *arena;
    size_t used;
    struct slot slot[SLOTS];
};

static void memory_free(void *p)
{
    struct memory *m = p;
    arena_free(m->arena);
    free(m);
}

static struct memory *memory(struct store *st)
{
    struct memory *m = store_kept(st, STORE_KEEPS_RECALL);
    if (!m) {
        m = xcalloc(1, sizeof *m);
        m->arena = arena_new();
        store_keep_for_itself(st, STORE_KEEPS_RECALL, m, memory_free);
    }
    return m;
}

static struct slot *find(struct memory *m, const char *sql, int64_t id, const char *word)
{
    uint64_t h = (uintptr_t)sql ^ (uint64_t)id;
    for (const char *p = word; p && *p; p++)
        h = h * 31 + (unsigned char)*p;
    size_t i = h * UINT64_C(0x9E3779B97F4A7C15) >> 32 & (SLOTS - 1);
    for (;; i = (i + 1) & (SLOTS - 1)) {
        struct slot *s = &m->slot[i];
        bool same_word = s->word && word ? strcmp(s->word, word) == 0 : s->word == word;
        if (!s->sql || (s->sql == sql && s->id == id && same_word))
            return s;
    }
}

const void *recall(struct store *st, const char *sql, int64_t id, const char *word)
{
    return store_in_mark(st) ? find(memory(st), sql, id, word)->value : NULL;
}

struct arena *recall_arena(struct store *st)
{
    return store_in_mark(st) ? memory(st)->arena : NULL;
}

void recall_keep(struct store *st, const char *sql, int64_t id, const char *word, const void *value)
{
    struct memory *m = store_in_mark(st) ? memory(st) : NULL;
    if (!m || m->used >= SLOTS / 2)
        return;
    struct slot *s = find(m, sql, id, word);
    m->used += !s->sql;
    *s = (struct slot){sql, id, arena_text(m->arena, word), value};
}

void recall_forget(struct store *st)
{
    struct memory *m = store_kept(st, STORE_KEEPS_RECALL);
    if (m && m->used) {
        memset(m->slot, 0, sizeof m->slot);
        m->used = 0;
    }
}

void recall_clear(struct store *st)
{
    struct memory *m = store_kept(st, STORE_KEEPS_RECALL);
    recall_forget(st);
    if (m)
        arena_reset(m->arena);
}
