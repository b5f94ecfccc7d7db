/* SPDX-License-Identifier: MIT
 *
 * client: the command line is a client of the API.
 *
 * Where a daemon has the data folder open, a request goes to it over HTTP; where none has, this
 * process takes the folder itself and serves the request in its own thread, by the same table of
 * routes.  The caller cannot tell which, and either way is the owner: whoever may read the folder
 * may.  This is the only place that knows libcurl.
 */
#ifndef QUADRILLE_COMMAND_CLIENT_H
#define QUADRILLE_COMMAND_CLIENT_H

#include "api/route.h"

#include <stdio.h>

struct client;

/* One request. */
struct ask {
    enum method method;
    const char *path; /* percent-encoded, with its query: "/api/tubes?lot=L-1" */
    const char *body; /* JSON text; NULL for none */
    size_t body_n;
    const char *upload;       /* path of a file to send as the body instead; NULL */
    const char *content_type; /* of the upload */
    const char *if_match;     /* NULL for none */
    FILE *save;               /* where a body that is no JSON goes as it comes; NULL: into told */
};

/* Its answer.  Texts are in the arena given to client_ask. */
struct told {
    int status; /* as in HTTP */
    const char *type;
    const char *body; /* with a zero after it; "" when it went to save */
    size_t n;
    const char *next; /* path and query of the next page; NULL */
    const char *etag; /* with its quotes; NULL */
};

/* data: the folder; NULL or "" for $QUADRILLE_DATA, else the one of the configuration.
 * ERR_CONFLICT when another process than a daemon has it, ERR_UNAVAILABLE when it cannot be opened.
 */
MUST_USE bool client_open(struct client **out, const char *data, struct err *e);
void client_close(struct client *c);

/* The folder that was opened. */
const char *client_data(const struct client *c);

/* The store, where this process has the folder; NULL where a daemon has. */
struct store *client_store(struct client *c);

/* Ask.  A refusal is an answer (told.status >= 400); false only when no answer came: *e says why.
 * On a terminal, a line on standard error says how long a request has been taking, from the first
 * second on; doing names it ("loading tubes.csv"). */
MUST_USE bool client_ask(struct told *out, struct client *c, const struct ask *q, const char *doing,
                         struct arena *a, struct err *e);

#endif
