/* SPDX-License-Identifier: MIT
 *
 * feature: each kind that either side names becomes one row.  The lists are short (FEATURE_MAX), so
 * that comparing all with all is quick enough.
 */
#include "grade/feature.h"

#include "base/text.h"

#include <string.h>
#include <strings.h>

const char *feature_verdict_code(enum feature_verdict v)
{
    static const char *const codes[] = {[FEATURE_AGREES] = "agrees",
                                        [FEATURE_DIFFERS] = "differs",
                                        [FEATURE_UNSEEN] = "unseen",
                                        [FEATURE_UNCLAIMED] = "unclaimed"};
    return codes[v];
}

static bool side_check(const struct feature *f, size_t count, const char *side, struct err *e)
{
    char kind[TEXT_SHOW_BYTES];
    if (count > FEATURE_MAX)
        return err_set(e, ERR_TOO_LARGE, "at most %d features are %s, not %zu", FEATURE_MAX, side,
                       count);
    for (size_t i = 0; i < count; i++) {
        if (!f[i].kind || !f[i].kind[0])
            return err_field(e, "kind", ERR_INVALID, "feature %zu that is %s has no name", i + 1,
                             side);
        if (!f[i].value || !f[i].value[0])
            return err_field(e, f[i].kind, ERR_INVALID, "%s is %s, but not what it is",
                             text_show(kind, f[i].kind, strlen(f[i].kind)), side);
    }
    return true;
}

static const struct feature *find(const struct feature *f, size_t count, const char *kind)
{
    for (size_t i = 0; i < count; i++)
        if (strcasecmp(f[i].kind, kind) == 0)
            return &f[i];
    return NULL;
}

static bool observed_once(const struct feature *f, size_t count, struct err *e)
{
    char one[TEXT_SHOW_BYTES], two[TEXT_SHOW_BYTES];
    for (size_t i = 0; i < count; i++) {
        const struct feature *first = find(f, i, f[i].kind);
        if (first && strcasecmp(first->value, f[i].value) != 0)
            return err_field(e, f[i].kind, ERR_INVALID,
                             "two values are noted, \"%s\" and \"%s\": note one of them",
                             text_show(one, first->value, strlen(first->value)),
                             text_show(two, f[i].value, strlen(f[i].value)));
    }
    return true;
}

/* All values claimed of a kind, and whether one of them is `seen` (NULL: not seen). */
static const char *claimed_values(struct arena *a, const struct feature *f, size_t count,
                                  const char *kind, const char *seen, bool *agrees)
{
    const char *text = NULL;
    *agrees = false;
    for (size_t i = 0; i < count; i++) {
        if (strcasecmp(f[i].kind, kind) != 0)
            continue;
        text = text ? arena_printf(a, "%s or %s", text, f[i].value) : arena_text(a, f[i].value);
        *agrees = *agrees || (seen && strcasecmp(f[i].value, seen) == 0);
    }
    return text;
}

static struct feature_row row_of(struct arena *a, const char *kind, const struct feature *claimed,
                                 size_t claimed_count, const struct feature *seen)
{
    bool agrees;
    struct feature_row row = {.kind = arena_text(a, kind)};
    row.observed = seen ? arena_text(a, seen->value) : NULL;
    row.claimed = claimed_values(a, claimed, claimed_count, kind, row.observed, &agrees);
    if (!row.claimed) {
        row.verdict = FEATURE_UNCLAIMED;
        row.text = arena_printf(a, "%s is %s; nothing is claimed of it", kind, row.observed);
    } else if (!seen) {
        row.verdict = FEATURE_UNSEEN;
        row.text = arena_printf(a, "%s was not looked at; %s is claimed", kind, row.claimed);
    } else if (agrees) {
        row.verdict = FEATURE_AGREES;
        row.text = arena_printf(a, "%s is %s, as claimed", kind, row.observed);
    } else {
        row.verdict = FEATURE_DIFFERS;
        row.text = arena_printf(a, "%s is %s, but %s is claimed", kind, row.observed, row.claimed);
    }
    return row;
}

bool feature_compare(struct feature_result *out, struct arena *a, const struct feature *claimed,
                     size_t claimed_count, const struct feature *observed, size_t observed_count,
                     struct err *e)
{
    if (!side_check(claimed, claimed_count, "claimed", e) ||
        !side_check(observed, observed_count, "observed", e) ||
        !observed_once(observed, observed_count, e))
        return false;
    size_t all = 0, most = claimed_count + observed_count;
    struct feature_row *rows = arena_array(a, most, sizeof *rows);
    for (size_t i = 0; i < claimed_count; i++)
        if (!find(claimed, i, claimed[i].kind))
            rows[all++] = row_of(a, claimed[i].kind, claimed, claimed_count,
                                 find(observed, observed_count, claimed[i].kind));
    for (size_t i = 0; i < observed_count; i++)
        if (!find(observed, i, observed[i].kind) && !find(claimed, claimed_count, observed[i].kind))
            rows[all++] = row_of(a, observed[i].kind, claimed, claimed_count, &observed[i]);

    struct feature_result r = {.rows = arena_array(a, most, sizeof *r.rows)};
    for (int differing = 1; differing >= 0; differing--)
        for (size_t i = 0; i < all; i++)
            if ((rows[i].verdict == FEATURE_DIFFERS) == (differing == 1))
                r.rows[r.count++] = rows[i];
    r.mismatch = r.count > 0 && r.rows[0].verdict == FEATURE_DIFFERS;
    *out = r;
    return true;
}
