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

/* Robust centres of families and lots, remembered while many readings are asked about, and looked
 * up anew after SAMPLES_USED uses: they rest on many tubes, so a few more change little, and a load
 * would spend most of its time on them. */
struct reading_samples;
#define SAMPLES_USED 32
struct reading_samples *reading_samples_new(struct arena *a);

/* Was it taken before now, but for what clocks of benches may differ? */
MUST_USE bool reading_taken_check(int64_t taken_ms, int64_t now_ms, struct err *e);

/* Ask whether a reading that has passed reading_check is plausible for its tube.  rules: codes of
 * the rules that asked, joined by ',', NULL when none did.  questions: struct question, in words.
 * samples may be NULL.  ERR_INVALID where it cannot be.  Shared by the bench and by bulk loads. */
struct question {
    const char *rule, *quantity, *sentence, *suggest;
    int64_t section;
};
MUST_USE bool reading_question(const char **rules, struct list *questions, struct store *st,
                               const struct reading *r, const struct tube *t,
                               struct reading_samples *samples, struct arena *a, struct err *e);

#endif
