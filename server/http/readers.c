/* SPDX-License-Identifier: MIT
 *
 * readers: each thread remembers its connection in a variable of its own; the list is only for
 * closing them.  A thread may outlive one set of readers (tests do), so it remembers the set's
 * number too.
 */
#include "http/readers.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>

struct reader {
    struct reader *next;
    struct store *st;
};

struct readers {
    char *path;
    int number;
    pthread_mutex_t lock;
    struct reader *all;
};

static _Thread_local struct {
    int number; /* of the readers; 0: none yet */
    struct store *st;
} mine;

struct readers *readers_new(const char *path)
{
    static atomic_int last;
    struct readers *r = xcalloc(1, sizeof *r);
    r->path = xstrdup(path);
    r->number = atomic_fetch_add(&last, 1) + 1;
    pthread_mutex_init(&r->lock, NULL);
    return r;
}

bool readers_mine(struct readers *r, struct store **out, struct err *e)
{
    if (mine.number != r->number) {
        struct store *st;
        if (!store_open(&st, r->path, STORE_READ, e))
            return false;
        struct reader *one = xcalloc(1, sizeof *one);
        one->st = st;
        pthread_mutex_lock(&r->lock);
        one->next = r->all;
        r->all = one;
        pthread_mutex_unlock(&r->lock);
        mine.number = r->number;
        mine.st = st;
    }
    *out = mine.st;
    return true;
}

void readers_free(struct readers *r)
{
    if (!r)
        return;
    for (struct reader *one = r->all; one;) {
        struct reader *next = one->next;
        store_close(one->st);
        free(one);
        one = next;
    }
    pthread_mutex_destroy(&r->lock);
    free(r->path);
    free(r);
}
