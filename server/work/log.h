/* SPDX-License-Identifier: MIT
 *
 * log: one line for each thing worth knowing, on standard error, as key=value pairs (logfmt):
 *
 *     at=2031-05-04T10:11:12.345Z level=note event=listening url=http://127.0.0.1:7373/
 *
 * No personal data: a person appears by id only, a request by its path without the query, never an
 * address.  Each line leaves in one write, so lines of several threads never mix.
 *
 *     struct log_line l;
 *     log_begin(&l, LOG_NOTE, "listening");
 *     log_text(&l, "url", url);
 *     log_end(&l);
 */
#ifndef QUADRILLE_WORK_LOG_H
#define QUADRILLE_WORK_LOG_H

#include "base/err.h"

enum log_level {
    LOG_ERROR,   /* somebody should look */
    LOG_NOTE,    /* start, stop, migrations, refusals under load */
    LOG_REQUEST, /* each request */
    LOG__COUNT
};

extern const char *const log_level_names[LOG__COUNT + 1]; /* "error", "note", "request", NULL */

struct log_line {
    bool wanted;
    size_t n;
    char text[1200];
};

/* Lines above this level are dropped.  LOG_NOTE to begin with. */
void log_set_level(enum log_level most);

/* Begin a line, add pairs, write it.  Keys are words of ours; texts are quoted where they need it,
 * control characters and bytes over 126 escaped, an overlong line cut.  NULL is written as "". */
void log_begin(struct log_line *l, enum log_level level, const char *event);
void log_text(struct log_line *l, const char *key, const char *text);
void log_int(struct log_line *l, const char *key, int64_t number);
void log_end(struct log_line *l);

/* A whole line with one failure: event, where it happened (may be NULL), the sentence. */
void log_failure(const char *event, const char *where, const struct err *e);

#endif
