/* SPDX-License-Identifier: MIT
 *
 * daemon: starts the built executable on a data folder of its own, asks it things, ends it.  For
 * the tests that speak real HTTP.  A step that cannot be done fails the test that asked for it.
 */
#ifndef TESTS_HTTP_DAEMON_H
#define TESTS_HTTP_DAEMON_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

struct daemon {
    pid_t pid;
    char folder[64]; /* of the test; data/ and log are in it */
    char data[80];
    char log[80]; /* what it wrote to standard error */
    char url[100];
    char token[100];
    int port;
    const char *preload;  /* LD_PRELOAD for it; NULL for none */
    const char *shim_log; /* QUADRILLE_SHIM_LOG for it; NULL for none */
};

/* Start it with more flags (the last NULL), on d->data, which is made when d is new (all zero).
 * Returns when it listens. */
void daemon_start(struct daemon *d, ...);

/* The same, expected to end by itself: its exit status. */
int daemon_refuses(struct daemon *d, ...);

/* SIGTERM, and its end awaited: its exit status, 0 when it stopped as it should; -signal when it
 * was ended by one. */
int daemon_stop(struct daemon *d);
void daemon_signal(struct daemon *d, int sign);
int daemon_await(struct daemon *d);

void daemon_kill(struct daemon *d);   /* SIGKILL */
void daemon_forget(struct daemon *d); /* remove the folder */

/* Everything it wrote to standard error so far; owned by the caller (free). */
char *daemon_log(const struct daemon *d);

struct answer {
    int status; /* 0: no answer came */
    char head[6000];
    char *body; /* with a zero after it; answer_free */
    size_t n;
};

/* One request as the local command line (with the run token), body NULL for none; JSON. */
struct answer ask(const struct daemon *d, const char *method, const char *path, const char *body);

/* The same with headers of one's own instead (each "Name: value", the last NULL). */
struct answer ask_as(const struct daemon *d, const char *method, const char *path, const char *body,
                     ...);
void answer_free(struct answer *a);

/* Until the daemon has read all that was sent to it, on at least n open connections. */
void daemon_await_read(const struct daemon *d, int n);

/* A plain connection, and whole texts over it.  hear returns what came until the text `until`
 * appeared or the other side closed ("" when it closed at once); owned by the caller. */
int dial(const struct daemon *d);
void say(int fd, const char *text);
char *hear(int fd, const char *until);

#endif
