/* SPDX-License-Identifier: MIT
 *
 * replay: the yardstick: the very rows that saves through the API left behind, written again by
 * plain SQLite with nothing around it.
 *
 * A save is one POST of a reading: its row, its values, the standing values, the grading, the
 * tube's new state, its journal rows and the kept reply.
 */
#ifndef TESTS_BENCH_REPLAY_H
#define TESTS_BENCH_REPLAY_H

#include <stdbool.h>

struct replay;

/* Take the saves out of a database into memory: those of readings with id > after, the journal rows
 * with seq > after_seq. */
struct replay *replay_load(const char *path, long after, long after_seq);
void replay_free(struct replay *r);
int replay_count(const struct replay *r); /* saves */

/* Write save i into the database opened by replay_open, inside a transaction. */
void replay_open(struct replay *r, const char *path);
void replay_begin(struct replay *r);
void replay_write(struct replay *r, int i);
void replay_commit(struct replay *r);
void replay_close(struct replay *r);

#endif
