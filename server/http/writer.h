/* SPDX-License-Identifier: MIT
 *
 * writer: the one thread that changes the database.
 *
 * It takes all that is queued, runs each job in a savepoint of its own, commits once, and then
 * tells each job.  A job's done is called on the writer thread after the commit has reached the
 * disk (or has failed).  Bulk slices take turns with single jobs: the single jobs that came while a
 * slice ran are run behind it and committed with it, and all that wait then run before the next
 * slice begins.  So a slice that ends when writer_is_wanted keeps nobody waiting.
 */
#ifndef QUADRILLE_HTTP_WRITER_H
#define QUADRILLE_HTTP_WRITER_H

#include "store/store.h"

struct writer;

struct job {
    struct job *next;                             /* the queue's */
    bool (*run)(struct job *j, struct store *st); /* false: undo the savepoint */
    void (*done)(struct job *j,
                 const struct err *failed); /* NULL: committed (or undone by itself) */
    bool bulk;                              /* a slice of bulk work */
};

/* Takes over st (STORE_WRITE) and starts the thread.  capacity: most single jobs waiting, and most
 * slices.  On failure st still belongs to the caller. */
MUST_USE bool writer_start(struct writer **out, struct store *st, int capacity, struct err *e);

/* Queue a job.  false when the queue is full or the writer is draining: the job was not taken and
 * done will not be called. */
MUST_USE bool writer_submit(struct writer *w, struct job *j);

/* Do single jobs wait?  For a slice on the writer thread, which had better end then. */
bool writer_is_wanted(struct writer *w);

/* Refuse new jobs from now on, run what is queued, commit, end the thread, close the store.  The
 * writer itself stays, to go on refusing, until writer_free: whoever might still submit must be
 * gone by then.  NULL is fine for both. */
void writer_stop(struct writer *w);
void writer_free(struct writer *w); /* after writer_stop */

#endif
