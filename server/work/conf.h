/* SPDX-License-Identifier: MIT
 *
 * conf: how this daemon is set up.  Each setting is a row of one table in conf.c: as a flag
 * (--port 8000), as a line of a file (port = 8000), or by its default; a flag wins over the file,
 * the file over the default.
 */
#ifndef QUADRILLE_WORK_CONF_H
#define QUADRILLE_WORK_CONF_H

#include "base/arena.h"
#include "base/err.h"

#include <stdio.h>

struct conf {
    const char *data;    /* folder of the database and what belongs to it */
    const char *listen;  /* numeric address, IPv4 or IPv6 */
    int64_t port;        /* 0: any free one */
    const char *web;     /* folder to serve the pages from instead of the packed ones; "" */
    const char *log;     /* one of log_level_names */
    int64_t behind_tls;  /* 1: a proxy in front speaks TLS, so cookies are marked Secure */
    int64_t threads;     /* polling threads */
    int64_t workers;     /* threads for long work */
    int64_t queue;       /* most changes waiting for the writer */
    int64_t connections; /* most at once */
    int64_t per_address; /* most at once from one address */
    int64_t streams;     /* most event streams at once */
    int64_t uploads;     /* most uploads at once */
    int64_t idle_s;      /* a connection that moves nothing for so long is closed */
    int64_t header_kib;  /* request line and headers */
    int64_t body_kib;    /* body of an ordinary request */
    int64_t upload_mib;  /* body of an upload */
};

/* Read flags (without the command's name) and the file they or the environment name: --config FILE,
 * else $XDG_CONFIG_HOME/quadrille.conf or ~/.config/quadrille.conf where it exists.  Texts are in
 * the arena.  ERR_INVALID names the flag or the line, what came and what would be right; e->line is
 * set for a line of the file.  $QUADRILLE_DATA goes before the file's data.  The default of data is
 * $XDG_DATA_HOME/quadrille, else ~/.local/share/quadrille, and quadrille-data in the working folder
 * for who has no home. */
MUST_USE bool conf_load(struct conf *out, int argc, char **argv, struct arena *a, struct err *e);

/* The rows as lines of help: flag, what it means, default. */
void conf_print_help(FILE *to);

#endif
