/* SPDX-License-Identifier: MIT
 *
 * arena: memory that dies together.
 *
 * One arena per request, per command, per test.  What is made in it is never freed by itself.
 * Out of memory is one policy for the whole program: say so on standard error and abort; the
 * database's transaction protects the data.
 */
#ifndef QUADRILLE_BASE_ARENA_H
#define QUADRILLE_BASE_ARENA_H

#include "base/err.h"

struct arena;

/* A new, empty arena on the heap.  Owned by the caller; arena_free(NULL) is fine. */
struct arena *arena_new(void);
void arena_free(struct arena *a);

/* Forget everything made so far, keep one block for what comes next. */
void arena_reset(struct arena *a);

/* n zeroed bytes, aligned for any type, in the arena.  n may be 0.  Never returns NULL. */
void *arena_alloc(struct arena *a, size_t n);

/* count zeroed objects of size bytes; aborts when the product overflows. */
void *arena_array(struct arena *a, size_t count, size_t size);

/* Copies in the arena; arena_text(a, NULL) is NULL.  arena_bytes adds a terminating zero. */
char *arena_text(struct arena *a, const char *s);
char *arena_bytes(struct arena *a, const char *s, size_t n);
char *arena_printf(struct arena *a, const char *fmt, ...) PRINTF_LIKE(2, 3);

/* Bytes handed out since the last reset, for limits and benchmarks. */
size_t arena_used(const struct arena *a);

/* The heap proper, for what lives as long as the process or grows without bound; same policy:
 * never returns NULL (n = 0 is taken as 1).  xrealloc(NULL, n) allocates. */
void *xmalloc(size_t n);
void *xcalloc(size_t count, size_t size);
void *xrealloc(void *p, size_t n);
char *xstrdup(const char *s);

#endif
