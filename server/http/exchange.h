/* SPDX-License-Identifier: MIT
 *
 * exchange: one request on one connection, from its first line to the end of its answer.
 *
 * libmicrohttpd calls back several times for a request: for its address, its headers, each piece of
 * its body, its end, and again when a suspended connection has been resumed.  exchange_step is all
 * of these but the first and the last.
 */
#ifndef QUADRILLE_HTTP_EXCHANGE_H
#define QUADRILLE_HTTP_EXCHANGE_H

#include "http/carry.h"
#include "http/events.h"
#include "work/conf.h"

#include <microhttpd.h>
#include <pthread.h>
#include <stdatomic.h>

/* What all exchanges of a daemon share. */
struct front {
    const struct conf *conf;
    struct roads *roads;
    struct events *events;
    const char *token;    /* of the command line on this machine; a bearer of it is trusted */
    const char *spool;    /* folder for bodies of UPLOAD routes */
    atomic_int uploads;   /* being received or worked on */
    atomic_bool closing;  /* every answer closes its connection */
    pthread_mutex_t lock; /* for what follows */
    pthread_cond_t quieter;
    int under_way; /* requests that are read whole and not answered to the end */
};

struct exchange;

/* A new exchange; uri is the request's target as it came.  Freed by exchange_end. */
struct exchange *exchange_new(struct front *f, struct MHD_Connection *con, const char *uri);

enum MHD_Result exchange_step(struct exchange *x, const char *method, const char *data, size_t *n);

void exchange_end(struct exchange *x);

#endif
