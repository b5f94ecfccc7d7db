/* SPDX-License-Identifier: MIT
 *
 * arena: a chain of blocks, the newest first.  A request larger than a block gets a block of its
 * own, linked behind the current one so that the current one goes on being used.
 */
#include "base/arena.h"

#include <stdalign.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BLOCK_BYTES ((size_t)16 * 1024)

struct block {
    struct block *next;
    size_t size, used;
    alignas(max_align_t) char bytes[];
};

struct arena {
    struct block *head;
    size_t handed_out;
};

static void *need(void *p)
{
    if (!p) {
        fputs("quadrille: out of memory\n", stderr);
        abort();
    }
    return p;
}

void *xmalloc(size_t n)
{
    return need(malloc(n ? n : 1));
}

void *xcalloc(size_t count, size_t size)
{
    return need(calloc(count ? count : 1, size ? size : 1));
}

void *xrealloc(void *p, size_t n)
{
    return need(realloc(p, n ? n : 1));
}

char *xstrdup(const char *s)
{
    return need(strdup(s));
}

static struct block *block_new(size_t size)
{
    struct block *b = xmalloc(sizeof *b + size);
    b->next = NULL;
    b->size = size;
    b->used = 0;
    return b;
}

struct arena *arena_new(void)
{
    struct arena *a = xcalloc(1, sizeof *a);
    a->head = block_new(BLOCK_BYTES);
    return a;
}

static void blocks_free(struct block *b)
{
    while (b) {
        struct block *next = b->next;
        free(b);
        b = next;
    }
}

void arena_free(struct arena *a)
{
    if (!a)
        return;
    blocks_free(a->head);
    free(a);
}

void arena_reset(struct arena *a)
{
    blocks_free(a->head->next);
    a->head->next = NULL;
    a->head->used = 0;
    a->handed_out = 0;
    if (a->head->size != BLOCK_BYTES) {
        free(a->head);
        a->head = block_new(BLOCK_BYTES);
    }
}

void *arena_alloc(struct arena *a, size_t n)
{
    const size_t align = alignof(max_align_t);
    if (n > SIZE_MAX / 2)
        need(NULL);
    size_t want = (n + align - 1) / align * align;
    struct block *b = a->head;
    if (want > b->size - b->used) {
        b = block_new(want > BLOCK_BYTES / 4 ? want : BLOCK_BYTES);
        if (want > BLOCK_BYTES / 4) { /* a block of its own, behind the current one */
            b->next = a->head->next;
            a->head->next = b;
        } else {
            b->next = a->head;
            a->head = b;
        }
    }
    void *p = b->bytes + b->used;
    b->used += want;
    a->handed_out += want;
    memset(p, 0, n);
    return p;
}

void *arena_array(struct arena *a, size_t count, size_t size)
{
    if (size && count > SIZE_MAX / 2 / size)
        need(NULL);
    return arena_alloc(a, count * size);
}

char *arena_bytes(struct arena *a, const char *s, size_t n)
{
    char *p = arena_alloc(a, n + 1);
    if (n)
        memcpy(p, s, n);
    return p;
}

char *arena_text(struct arena *a, const char *s)
{
    return s ? arena_bytes(a, s, strlen(s)) : NULL;
}

char *arena_printf(struct arena *a, const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    int n = vsnprintf(NULL, 0, fmt, ap);
    va_end(ap);
    char *p = arena_alloc(a, (size_t)(n < 0 ? 0 : n) + 1);
    va_start(ap, fmt);
    vsnprintf(p, (size_t)(n < 0 ? 0 : n) + 1, fmt, ap);
    va_end(ap);
    return p;
}

size_t arena_used(const struct arena *a)
{
    return a->handed_out;
}
