/* SPDX-License-Identifier: MIT
 *
 * folder: the data folder: who has it, and how to reach whoever does.
 *
 *     quadrille.db   the database, with its -wal and -shm beside it
 *     lock           held by the one process that has the folder open
 *     run.json       while a daemon runs: its process id, URL and a token for local commands
 *     tmp/           uploads while they are worked on; emptied at every start
 */
#ifndef QUADRILLE_WORK_FOLDER_H
#define QUADRILLE_WORK_FOLDER_H

#include "base/arena.h"
#include "base/err.h"

struct folder {
    const char *path;     /* as given */
    const char *database; /* path of the database file */
    const char *tmp;      /* path of the folder for uploads */
    int lock;             /* file descriptor */
};

/* Make the folder where it is absent (readable by its owner only) and lock it.  Texts are in the
 * arena.  ERR_CONFLICT when another process has it, naming that; ERR_UNAVAILABLE when it cannot be
 * made or written.  What is left of earlier uploads is removed. */
MUST_USE bool folder_open(struct folder *out, const char *path, struct arena *a, struct err *e);
void folder_close(struct folder *f);

/* A daemon that has a folder open. */
struct folder_run {
    int64_t pid;
    char url[100];   /* "http://127.0.0.1:7373" */
    char token[100]; /* as a bearer token it stands for the owner; never shown, never logged */
};

/* Write run.json, for its owner only; and take it away. */
MUST_USE bool folder_announce(const struct folder *f, const struct folder_run *run, struct err *e);
void folder_withdraw(const struct folder *f);

/* The daemon that has the folder at path open now.  ERR_NOT_FOUND when there is none: then
 * folder_open may be tried. */
MUST_USE bool folder_find(struct folder_run *out, const char *path, struct err *e);

#endif
