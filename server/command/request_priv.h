/* SPDX-License-Identifier: MIT
 *
 * request_priv: what the files of request share.  request.c takes the words, request_help.c tells
 * them, answer.c prints what came back.
 */
#ifndef QUADRILLE_COMMAND_REQUEST_PRIV_H
#define QUADRILLE_COMMAND_REQUEST_PRIV_H

#include "command/request.h"

#define REQUEST_NAME_BYTES 64 /* of a field's name */

struct request {
    const struct command *command;
    const struct route *route;
    void *in; /* struct of the route's request; NULL when it takes nothing */
    struct common common;
    struct arena *arena;
    const char *args;   /* what is left of the row's args */
    const char *file;   /* what is uploaded; NULL */
    const char *report; /* where the lines not taken go; NULL */
};

const struct field *request_field(const struct shape *s, const char *name);

/* Print how to ask; EXIT_DONE. */
int request_help(struct request *q);

#endif
