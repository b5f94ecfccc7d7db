/* SPDX-License-Identifier: MIT
 *
 * load: many clients at once, each with one connection kept open, each asking as soon as it was
 * answered.
 */
#ifndef TESTS_BENCH_LOAD_H
#define TESTS_BENCH_LOAD_H

#include <stdatomic.h>
#include <stddef.h>

/* Print request number i (0, 1, 2 ... over all clients) into text; its length. */
typedef size_t load_request(char *text, size_t size, int i, void *arg);

struct load {
    int port, clients;
    double seconds;
    load_request *request;
    void *arg;
    int from;  /* number of the first request; afterwards of the next */
    int until; /* no request of this number or above; 0: no such end */

    atomic_bool *over; /* ends it before its time; NULL */

    /* results */
    int good, bad;     /* answered 2xx; otherwise, or not at all */
    double per_second; /* good ones */
    double p50_ms, p99_ms;
    char first_bad[400]; /* the beginning of the first answer that was not 2xx */
};

void load_run(struct load *l);

#endif
