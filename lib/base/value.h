/* SPDX-License-Identifier: MIT
 *
 * value: how "nothing" looks, and runs of things.  Every struct that travels between the store, the
 * trade and the wire keeps to these: a missing text is NULL, a missing number is NONE, a missing
 * yes-or-no is -1.
 */
#ifndef QUADRILLE_BASE_VALUE_H
#define QUADRILLE_BASE_VALUE_H

#include <stddef.h>
#include <stdint.h>

#define NONE INT64_MIN /* "no value": not recorded, not given, not known */

/* A run of count equal structs, in the arena. */
struct list {
    void *items;
    size_t count;
};

/* A run of texts, in the arena. */
struct texts {
    const char **items;
    size_t count;
};

#endif
