/* SPDX-License-Identifier: MIT
 *
 * carry: takes a call that has been read whole to its answer, over whichever threads its route asks
 * for:
 *
 *     no flag     this thread
 *     WRITE       this thread, then the writer
 *     WORK        this thread, then a worker, which may write slices through the writer
 *     a prepare   a worker first, then the writer or the same worker
 *
 * It knows no socket: it asks its carrier to let go of the connection (suspend) before another
 * thread can see the call, and to take it up again (resume) when the answer is there.
 */
#ifndef QUADRILLE_HTTP_CARRY_H
#define QUADRILLE_HTTP_CARRY_H

#include "http/call.h"
#include "http/readers.h"
#include "http/writer.h"
#include "work/pool.h"

#include <stdatomic.h>

/* What calls are carried with; lives longer than any of them. */
struct roads {
    struct readers *readers;
    struct writer *writer;
    struct pool *pool;
    void (*publish)(struct roads *r, const char *kind,
                    int64_t id); /* after the commit; any thread */
    atomic_bool stopping;        /* long work gets no more slices written, so that it ends soon */
};

struct carry {
    struct call *call;
    struct roads *roads;
    void (*suspend)(struct carry *y);
    void (*resume)(struct carry *y); /* y may be gone when it returns */

    /* carry's own */
    struct task task;
    struct job job;
};

/* Identify, authorise, unpack, with this thread's store.  Afterwards y->call->done when that was
 * the answer already. */
void carry_route(struct carry *y);

/* From there to the answer.  true: y->call holds it now.  false: suspended; resume will be called,
 * or has been. */
bool carry_run(struct carry *y);

#endif
