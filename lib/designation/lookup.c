/* SPDX-License-Identifier: MIT
 *
 * lookup: gather the hits of every reading, keep the surest of each type, judge.
 *
 * A spelling of the trade (6C4P for 6Ц4П) is itself a misreading, so it is found by its letters
 * only: otherwise 6С4П, read as 6C4P, would find 6Ц4П.
 */
#include "designation/lookup.h"

#include <stdio.h>
#include <string.h>

static bool surer(const struct lookup_hit *a, const struct lookup_hit *b)
{
    if (a->reason != b->reason)
        return a->reason < b->reason;
    return a->cost < b->cost;
}

/* One hit a type: the surer one stays.  Kept sorted; equals in the order they came. */
static void keep(struct lookup *l, const struct lookup_hit *h)
{
    size_t at = 0;
    while (at < l->count && l->hit[at].type != h->type)
        at++;
    if (at < l->count) {
        if (!surer(h, &l->hit[at]))
            return;
        memmove(&l->hit[at], &l->hit[at + 1], (--l->count - at) * sizeof *h);
    }
    at = l->count;
    while (at > 0 && surer(h, &l->hit[at - 1]))
        at--;
    if (at == LOOKUP_HITS)
        return;
    if (l->count < LOOKUP_HITS)
        l->count++;
    memmove(&l->hit[at + 1], &l->hit[at], (l->count - 1 - at) * sizeof *h);
    l->hit[at] = *h;
}

static enum lookup_reason reason_of(const struct fold_key *k, const struct lookup_hit *h,
                                    const char *text)
{
    if (h->printed && fold_compare(text, h->spelling) >= FOLD_SAME)
        return LOOKUP_EXACT;
    return k->why & FOLD_WEAK ? LOOKUP_WEAK : LOOKUP_READING;
}

static void gather_readings(struct lookup *l, const struct fold *f, const char *text,
                            lookup_find_fn *find, void *ctx)
{
    const unsigned literal = FOLD_MARK | FOLD_PART;
    for (size_t i = 0; i < f->count; i++) {
        struct lookup_hit found[LOOKUP_HITS];
        size_t n = find(ctx, f->key[i].text, false, found, LOOKUP_HITS);
        for (size_t k = 0; k < n; k++) {
            struct lookup_hit *h = &found[k];
            if (!h->printed && (f->key[i].why & ~literal))
                continue;
            h->reason = reason_of(&f->key[i], h, text);
            h->why = f->key[i].why;
            h->cost = f->key[i].cost;
            h->suffix[0] = 0;
            keep(l, h);
        }
    }
}

static void gather_stems(struct lookup *l, const struct fold *f, lookup_find_fn *find, void *ctx)
{
    for (size_t i = 0; i < f->count; i++) {
        struct lookup_hit found[LOOKUP_HITS];
        char stem[FOLD_BYTES], key[FOLD_BYTES];
        if (f->key[i].why & FOLD_WEAK)
            continue;
        fold_stem(stem, NULL, f->key[i].text);
        size_t n = find(ctx, stem, true, found, LOOKUP_HITS);
        for (size_t k = 0; k < n; k++) {
            struct lookup_hit *h = &found[k];
            if (!h->printed || !fold_key(key, h->spelling, NULL))
                continue;
            h->reason = LOOKUP_SUFFIX;
            h->why = f->key[i].why;
            h->cost = f->key[i].cost;
            fold_stem(stem, h->suffix, key);
            keep(l, h);
        }
    }
}

/* Drop the hits that are less sure than `reason`. */
static void drop_below(struct lookup *l, enum lookup_reason reason)
{
    while (l->count > 0 && l->hit[l->count - 1].reason > reason)
        l->count--;
}

static bool one_family(const struct lookup *l, size_t n)
{
    for (size_t i = 1; i < n; i++)
        if (l->hit[i].family != l->hit[0].family)
            return false;
    return true;
}

static enum lookup_verdict judge(const struct lookup *l, const struct fold *f)
{
    if (l->meant == 0)
        return l->count ? LOOKUP_CANDIDATES : LOOKUP_UNKNOWN;
    if (l->hit[0].reason == LOOKUP_WEAK)
        return LOOKUP_AMBIGUOUS;
    bool several_names = f->key[0].why & FOLD_PART;
    if (l->meant == 1 || (several_names && one_family(l, l->meant)))
        return LOOKUP_IS;
    return LOOKUP_AMBIGUOUS;
}

/* Every name in a text of several must be found; one found and one not is no answer. */
static bool all_parts_found(const struct fold *f, const struct lookup *l)
{
    size_t names = 0;
    if (!(f->key[0].why & FOLD_PART))
        return true;
    for (size_t i = 0; i < f->count; i++)
        names += f->key[i].cost == 0 && !(f->key[i].why & ~(unsigned)(FOLD_PART | FOLD_MARK));
    return l->meant >= names || names < 2;
}

bool lookup_text(struct lookup *out, const char *text, lookup_find_fn *find, void *ctx,
                 struct err *e)
{
    struct fold f;
    if (!fold_read(&f, text, e))
        return false;
    *out = (struct lookup){0};
    gather_readings(out, &f, text, find, ctx);
    if (out->count)
        drop_below(out, out->hit[0].reason);
    if (out->count && out->hit[0].reason == LOOKUP_WEAK) {
        /* a lost suffix of a sound designation is likelier than a misread letter */
        struct lookup stems = {0};
        gather_stems(&stems, &f, find, ctx);
        if (stems.count)
            *out = (struct lookup){0};
    }
    out->meant = out->count;
    gather_stems(out, &f, find, ctx);
    out->verdict = judge(out, &f);
    if (out->verdict == LOOKUP_IS && !all_parts_found(&f, out))
        out->verdict = LOOKUP_AMBIGUOUS;
    return true;
}

const char *lookup_why_print(char *buf, const struct lookup_hit *h)
{
    char why[FOLD_WHY_BYTES];
    fold_why_print(why, h->why);
    const char *join = *why ? "; " : "";
    switch (h->reason) {
    case LOOKUP_EXACT:
        snprintf(buf, LOOKUP_WHY_BYTES, "the spelling itself");
        break;
    case LOOKUP_READING:
        snprintf(buf, LOOKUP_WHY_BYTES, "%s", *why ? why : "the same letters and figures");
        break;
    case LOOKUP_WEAK:
        snprintf(buf, LOOKUP_WHY_BYTES, "only a possible reading: %s", why);
        break;
    case LOOKUP_SUFFIX:
        if (*h->suffix)
            snprintf(buf, LOOKUP_WHY_BYTES, "the same but for the suffix %s%s%s", h->suffix, join,
                     why);
        else
            snprintf(buf, LOOKUP_WHY_BYTES, "the same without the suffix%s%s", join, why);
        break;
    }
    return buf;
}
