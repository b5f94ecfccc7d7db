/* SPDX-License-Identifier: MIT
 *
 * reading: routes of readings and standing values: the bench's own.
 */
#ifndef QUADRILLE_API_READING_H
#define QUADRILLE_API_READING_H

#include "api/route.h"

struct reading;
struct tube;

extern const struct route reading_routes[];

/* Ask whether a reading that has passed reading_check is plausible for its tube.  rules: codes of
 * the rules that asked, joined by ',', NULL when none did.  questions: struct question, in words.
 * ERR_INVALID where it cannot be.  Shared by the bench and by bulk loads. */
struct question {
    const char *rule, *quantity, *sentence, *suggest;
    int64_t section;
};
MUST_USE bool reading_question(const char **rules, struct list *questions, struct store *st,
                               const struct reading *r, const struct tube *t, struct arena *a,
                               struct err *e);

#endif
