/* SPDX-License-Identifier: MIT
 *
 * history: each finding's bearing stands in the vocabulary (inspection.c); here they are put
 * together.  One sign of use outweighs everything that fits an unused tube, since use leaves marks
 * and disuse leaves none.
 */
#include "grade/history.h"

#include "base/text.h"

#include <stdio.h>
#include <string.h>

static const char *const claims[HISTORY_CLAIM__COUNT] = {
    [HISTORY_UNKNOWN] = "unknown", [HISTORY_UNUSED] = "unused", [HISTORY_USED] = "used"};

static const char *const evidences[HISTORY_EVIDENCE__COUNT] = {
    [HISTORY_UNDECIDED] = "undecided",
    [HISTORY_FITS_UNUSED] = "fits-unused",
    [HISTORY_TELLS_OF_USE] = "tells-of-use"};

static const char *const standings[HISTORY_STANDING__COUNT] = {[HISTORY_UNCLAIMED] = "unclaimed",
                                                               [HISTORY_SUPPORTED] = "supported",
                                                               [HISTORY_CONTRADICTED] =
                                                                   "contradicted",
                                                               [HISTORY_OPEN] = "open"};

const char *history_claim_code(enum history_claim c)
{
    return claims[c];
}

const char *history_evidence_code(enum history_evidence e)
{
    return evidences[e];
}

const char *history_standing_code(enum history_standing s)
{
    return standings[s];
}

bool history_claim_find(enum history_claim *out, const char *s, size_t n, struct err *e)
{
    char shown[TEXT_SHOW_BYTES];
    for (int c = 0; c < HISTORY_CLAIM__COUNT; c++)
        if (strlen(claims[c]) == n && memcmp(claims[c], s, n) == 0) {
            *out = (enum history_claim)c;
            return true;
        }
    return err_set(e, ERR_INVALID, "\"%s\" is no claim about history: say unused, used or unknown",
                   text_show(shown, s, n));
}

/* Only findings out of `fit` (ended by FINDING__COUNT) were seen in the aspect, and one of them. */
static bool only(const struct inspection *look, enum aspect a, const enum finding *fit)
{
    int first = (int)inspection_first(a), last = first + inspection_count(a) - 1;
    for (int f = first; f <= last; f++) {
        const enum finding *k = fit;
        while (*k != FINDING__COUNT && (int)*k != f)
            k++;
        if (look->seen[f] && *k == FINDING__COUNT)
            return false;
    }
    return inspection_looked(look, a);
}

#define FIT(...) ((const enum finding[]){__VA_ARGS__, FINDING__COUNT})

static bool three_things(const struct inspection *look)
{
    return only(look, ASPECT_PINS,
                FIT(FINDING_PINS_BRIGHT, FINDING_PINS_DULL, FINDING_PINS_SINGLE_TEST)) &&
           look->seen[FINDING_GETTER_FULL] &&
           only(look, ASPECT_GETTER, FIT(FINDING_GETTER_FULL, FINDING_GETTER_TINTED)) &&
           only(look, ASPECT_GETTER_EDGE, FIT(FINDING_EDGE_SHARP, FINDING_EDGE_PATCHY)) &&
           only(look, ASPECT_BASE, FIT(FINDING_BASE_SOUND, FINDING_BASE_NONE)) &&
           only(look, ASPECT_LABEL, FIT(FINDING_LABEL_CLEAR, FINDING_LABEL_FADED));
}

static enum history_evidence evidence_of(const struct inspection *look, bool mismatch)
{
    for (int f = 0; f < FINDING__COUNT; f++)
        if (look->seen[f] && inspection_finding((enum finding)f)->bearing == BEARING_USED)
            return HISTORY_TELLS_OF_USE;
    return !mismatch && three_things(look) ? HISTORY_FITS_UNUSED : HISTORY_UNDECIDED;
}

static enum history_standing standing_of(enum history_claim claim, enum history_evidence evidence)
{
    if (claim == HISTORY_UNKNOWN)
        return HISTORY_UNCLAIMED;
    if (claim == HISTORY_USED)
        return evidence == HISTORY_TELLS_OF_USE ? HISTORY_SUPPORTED : HISTORY_OPEN;
    switch (evidence) {
    case HISTORY_FITS_UNUSED:
        return HISTORY_SUPPORTED;
    case HISTORY_TELLS_OF_USE:
        return HISTORY_CONTRADICTED;
    case HISTORY_UNDECIDED:
    case HISTORY_EVIDENCE__COUNT:
        break;
    }
    return HISTORY_OPEN;
}

static void item_add(struct history *h, enum bearing bearing, const char *subject, const char *text)
{
    h->items[h->count++] = (struct history_item){bearing, subject, text};
}

static void items_of(struct history *h, struct arena *a, const struct inspection *look,
                     enum bearing bearing)
{
    for (int f = 0; f < FINDING__COUNT; f++) {
        const struct inspection_finding *row = inspection_finding((enum finding)f);
        const struct inspection_aspect *aspect = inspection_aspect(row->aspect);
        if (look->seen[f] && row->bearing == bearing)
            item_add(h, bearing, aspect->code,
                     arena_printf(a, "%s: %s", aspect->words, row->words));
    }
}

/* The aspects of the three things that nobody looked at. */
static void items_missing(struct history *h, struct arena *a, const struct inspection *look)
{
    static const enum aspect asked[] = {ASPECT_PINS, ASPECT_GETTER, ASPECT_GETTER_EDGE, ASPECT_BASE,
                                        ASPECT_LABEL};
    for (size_t i = 0; i < ARRAY_LEN(asked); i++)
        if (!inspection_looked(look, asked[i]))
            item_add(h, BEARING_NEUTRAL, inspection_aspect(asked[i])->code,
                     arena_printf(a, "%s: not looked at", inspection_aspect(asked[i])->words));
}

static const char *sentence(struct arena *a, const struct history *h, enum history_claim claim,
                            const char *word)
{
    static const char *const tells[HISTORY_EVIDENCE__COUNT] = {
        [HISTORY_UNDECIDED] = "the look does not decide it",
        [HISTORY_FITS_UNUSED] = "pins, getter and base with label together fit an unused tube",
        [HISTORY_TELLS_OF_USE] = "the look tells of use"};
    if (claim == HISTORY_UNKNOWN)
        return arena_printf(a, "nothing is claimed; %s", tells[h->evidence]);
    return arena_printf(a, "said to be %s%s%s; %s", claims[claim],
                        word && *word ? ", on the word of: " : "", word ? word : "",
                        tells[h->evidence]);
}

struct history history_weigh(struct arena *a, const struct inspection *look,
                             enum history_claim claim, const char *word, bool mismatch)
{
    struct history h = {.evidence = evidence_of(look, mismatch)};
    h.standing = standing_of(claim, h.evidence);
    h.items = arena_array(a, FINDING__COUNT + ASPECT__COUNT + 1, sizeof *h.items);
    items_of(&h, a, look, BEARING_UNUSED);
    items_of(&h, a, look, BEARING_USED);
    items_of(&h, a, look, BEARING_DOUBT);
    if (mismatch)
        item_add(&h, BEARING_DOUBT, "features",
                 "features differ from those of the construction it is said to be");
    items_of(&h, a, look, BEARING_NEUTRAL);
    items_missing(&h, a, look);
    h.text = sentence(a, &h, claim, word);
    return h;
}
