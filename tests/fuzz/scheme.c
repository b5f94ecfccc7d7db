/* SPDX-License-Identifier: MIT
 *
 * The scheme's parser under random bytes.  What is refused must be refused with a sentence; what is
 * taken must grade any tube without a fault, and the same with and without reasons.
 */
#include <assert.h>
#include <stdint.h>
#include <string.h>

#include "grade/grade.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const struct grade_value values[] = {
    {"gm", 1, true, 3, 1500, 50000, 20000, 1600, 800, 2400, 1510, 50000, false},
    {"gm", 2, true, 3, SCHEME_VALUE_MOST, NONE, NONE, 1600, NONE, NONE, NONE, NONE, true},
    {"ia", 1, true, 3, -SCHEME_VALUE_MOST, 1, 0, -5, NONE, 0, 1, 0, false},
    {"emission", 1, false, 2, NONE, NONE, NONE, 1000, NONE, NONE, NONE, NONE, false},
    {"noise-ear", 2, true, 0, 3, NONE, NONE, NONE, NONE, NONE, NONE, NONE, false},
    {"heater", 0, true, 1, 3000, 0, 0, 3000, NONE, NONE, NONE, NONE, false},
};

static void grade_any(const struct scheme *s, struct arena *a)
{
    struct grade_input in = {
        .sections = 2, .values = values, .value_count = ARRAY_LEN(values), .burn_in_min = 1440};
    struct err e = ERR_INIT;
    for (int f = 0; f < FINDING__COUNT; f++) {
        memset(&in.look, 0, sizeof in.look);
        in.look.seen[f] = true;
        in.tests[f % SCHEME_TEST__COUNT] = (enum test_result)(f % 4);
        in.mismatch = f % 2 == 1;
        assert(grade_check(s, &in, &e));
        struct grade_report r = grade_explain(s, &in, a);
        struct grade_decision d = grade_decide(s, &in);
        assert(d.grade == r.decision.grade && d.ppm == r.decision.ppm);
        for (size_t i = 0; i < r.reason_count; i++)
            assert(r.reasons[i].text[0] && r.reasons[i].subject[0]);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    size_t count;
    const struct quantity *q = quantity_builtin(&count);
    struct arena *a = arena_new();
    struct scheme *s = NULL;
    struct err e = ERR_INIT;
    if (scheme_parse(&s, a, (const char *)data, size, q, count, &e)) {
        for (int i = 0; i < s->requirement_count; i++)
            assert(scheme_demand(a, &s->requirement[i])[0]);
        if (s->requirement_count < 40)
            grade_any(s, a);
    } else {
        assert(s == NULL && e.text[0]);
        assert(e.code == ERR_INVALID || e.code == ERR_TOO_LARGE);
    }
    arena_free(a);
    return 0;
}
