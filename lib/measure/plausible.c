/* SPDX-License-Identifier: MIT
 *
 * plausible: the rules, one function each, and the table that lists them.
 *
 * The bounds below decide how often a bench hand is asked.  A question that comes too often is
 * confirmed unread, so they are wide: what wear and spread do to sound readings (tens of percent,
 * test practice) passes in silence; what only a slip explains is asked.  A value that a slip of the
 * unit or the point explains is not asked about again as an outlier.
 */
#include "measure/plausible.h"

#include "base/unit.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* House rules, all of them; reasons beside each. */
#define MISFIT_FACTOR 4.0 /* off by more than this, a value asks for an explanation */
#define FITS_WORN     0.25 /* "would fit": wear takes a good tube to a quarter of what is expected, */
#define FITS_NEW      2.5 /* the spread of new ones to twice, and a little more */
#define MU_SHARE                                                               \
    0.15 /* gm and rp each repeat within 3 to 5 % (test practice): twice their \
            quadratic sum, rounded up */
#define OUTLIER_SIGMA                                                                             \
    5.0                 /* published cut for a modified z-score: 3.5 (Iglewicz and Hoaglin, 1993, \
                           from memory); used stock is skewed, so wider */
#define OUTLIER_COUNT 8 /* fewer values do not make a centre */
#define SIGMA_FLOOR   0.01 /* of the median: a family read on a coarse scale can have a MAD of 0 */
#define DEAD_SHARE    0.2  /* of the other section */
#define SAME_SHARE    0.05 /* two readings of one section: repeatability, twice over */
#define MOVED_SHARE   0.15 /* a section that has changed beyond any repeatability */
#define NOTHING_SHARE 0.02 /* of what is expected: leakage, not conduction */
#define COLD_SHARE    0.5  /* of nominal heater current: limits are +-10 %, so this is no wear */

struct asking {
    const struct plausible_case *c;
    struct arena *arena;
    const char *rule;
    bool *explained; /* by entry: a slip was asked about */
    struct plausible_questions out;
};

__attribute__((format(printf, 5, 6))) static void ask(struct asking *k,
                                                      const struct plausible_entry *e,
                                                      enum plausible_severity severity,
                                                      int64_t suggest, const char *fmt, ...)
{
    char text[1024]; /* names, numbers and words of the longest sentence: never cut */
    va_list args;
    va_start(args, fmt);
    vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    k->out.item[k->out.count++] =
        (struct plausible_question){.rule = k->rule,
                                    .severity = severity,
                                    .quantity = e != NULL ? e->quantity : NULL,
                                    .section = e != NULL ? e->section : PLAUSIBLE_TUBE,
                                    .suggest = suggest,
                                    .sentence = arena_text(k->arena, text)};
}

/* ---- what the rules need to know of an entry --------------------------------------------------
 */

#define LABEL_BYTES 160
static const char *label(char *buf, const struct plausible_entry *e)
{
    bool of_section = e->section != PLAUSIBLE_TUBE && e->section_name[0] != '\0';
    snprintf(buf, LABEL_BYTES, "%s%s%s", e->quantity->name, of_section ? " of section " : "",
             of_section ? e->section_name : "");
    return buf;
}

static bool numeric(const struct plausible_entry *e)
{
    return e->quantity->kind == QUANTITY_NUMERIC;
}

static double real(const struct plausible_entry *e, int64_t scaled)
{
    return quantity_value_real(e->quantity, scaled);
}

/* What this value should roughly be: nominal, else the middle of many; NONE when nothing is known.
 */
static int64_t expected(const struct plausible_entry *e)
{
    if (e->nominal != NONE && e->nominal != 0)
        return e->nominal;
    if (e->family.count >= OUTLIER_COUNT && e->family.median != 0)
        return e->family.median;
    if (e->lot.count >= OUTLIER_COUNT && e->lot.median != 0)
        return e->lot.median;
    return NONE;
}

/* Does v lie within low to high times what is expected, or in the usual span where nothing is? */
static bool within(const struct plausible_entry *e, double v, double low, double high)
{
    int64_t middle = expected(e);
    if (middle != NONE) {
        double share = v / real(e, middle);
        return share >= low && share <= high;
    }
    const struct quantity *q = e->quantity;
    if (q->usual_most <= 0)
        return true;
    return v >= real(e, q->usual_least) && v <= real(e, q->usual_most);
}

static bool fits(const struct plausible_entry *e, int64_t scaled)
{
    return within(e, real(e, scaled), FITS_WORN, FITS_NEW);
}

/* A positive value off by so much that it asks for an explanation, and has none yet. */
static bool misfits(const struct asking *k, const struct plausible_entry *e)
{
    if (e->quantity->kind != QUANTITY_NUMERIC || e->value.scaled <= 0 ||
        k->explained[e - k->c->entry])
        return false;
    return !within(e, real(e, e->value.scaled), 1.0 / MISFIT_FACTOR, MISFIT_FACTOR);
}

static enum dimension dimension_of(const struct quantity *q, int *exp10)
{
    const struct unit *u;
    if (!unit_find(&u, q->unit, NULL))
        return DIM__COUNT;
    *exp10 = u->exp10;
    return u->dimension;
}

/* A value that only a heated, sound section shows. */
static bool conducts(const struct plausible_entry *e)
{
    const struct quantity *q = e->quantity;
    int exp10;
    if (!numeric(e) || q->scope != QUANTITY_SECTION ||
        (q->better != QUANTITY_HIGHER && q->better != QUANTITY_NEARER))
        return false;
    enum dimension d = dimension_of(q, &exp10);
    return q->relative || d == DIM_AMPERE || d == DIM_SIEMENS;
}

static const struct plausible_entry *entry_find(const struct asking *k, const char *code,
                                                int section)
{
    for (size_t i = 0; i < k->c->count; i++)
        if (k->c->entry[i].section == section && strcmp(k->c->entry[i].quantity->code, code) == 0)
            return &k->c->entry[i];
    return NULL;
}

static bool is_explained(const struct asking *k, const struct plausible_entry *e)
{
    return k->explained[e - k->c->entry];
}

/* ---- the rules --------------------------------------------------------------------------------
 */

static void ask_impossible(struct asking *k)
{
    for (size_t i = 0; i < k->c->count; i++) {
        const struct plausible_entry *e = &k->c->entry[i];
        const struct quantity *q = e->quantity;
        char what[LABEL_BYTES], v[QUANTITY_PRINT_BYTES], least[QUANTITY_PRINT_BYTES],
            most[QUANTITY_PRINT_BYTES];
        if (!numeric(e) || (e->value.scaled >= q->least && e->value.scaled <= q->most))
            continue;
        k->explained[i] = true;
        ask(k, e, PLAUSIBLE_REFUSE, NONE, "%s: %s cannot be; it lies between %s and %s",
            label(what, e), quantity_value_print(v, q, e->value.scaled),
            quantity_value_print(least, q, q->least), quantity_value_print(most, q, q->most));
    }
}

/* Say what the value is compared with: "the nominal 5.500 mA/V". */
#define BESIDE_BYTES (QUANTITY_PRINT_BYTES + 40)
static const char *beside(char *buf, const struct plausible_entry *e)
{
    char v[QUANTITY_PRINT_BYTES];
    int64_t middle = expected(e);
    if (middle == NONE)
        snprintf(buf, BESIDE_BYTES, "what tubes usually show");
    else
        snprintf(buf, BESIDE_BYTES, "the %s %s", middle == e->nominal ? "nominal" : "usual",
                 quantity_value_print(v, e->quantity, middle));
    return buf;
}

/* v times 10^shift as a scaled value, half to even as everywhere. */
static int64_t shifted(const struct plausible_entry *e, int shift)
{
    int64_t scaled;
    struct decimal d = decimal_shift(e->value.exact, shift);
    return decimal_scale(&scaled, d, e->quantity->decimals, NULL) ? scaled : NONE;
}

static void ask_unit_slip(struct asking *k)
{
    static const struct {
        int shift;
        const char *words;
    } slip[] = {{-3, "a thousandth"}, {3, "a thousand times"}};
    for (size_t i = 0; i < k->c->count; i++) {
        const struct plausible_entry *e = &k->c->entry[i];
        if (e->quantity->unit[0] == '\0' || e->quantity->relative || !misfits(k, e))
            continue;
        for (size_t s = 0; s < ARRAY_LEN(slip) && !k->explained[i]; s++) {
            char what[LABEL_BYTES], came[QUANTITY_PRINT_BYTES], meant[QUANTITY_PRINT_BYTES],
                ref[BESIDE_BYTES];
            int64_t suggest = shifted(e, slip[s].shift);
            if (suggest == NONE || suggest == 0 || !fits(e, suggest))
                continue;
            k->explained[i] = true;
            ask(k, e, PLAUSIBLE_ASK, suggest,
                "%s: %s is far from %s, but %s, %s, would fit: was it read in another unit?",
                label(what, e), quantity_value_print(came, e->quantity, e->value.scaled),
                beside(ref, e), slip[s].words, quantity_value_print(meant, e->quantity, suggest));
        }
    }
}

static void ask_point_slip(struct asking *k)
{
    for (size_t i = 0; i < k->c->count; i++) {
        const struct plausible_entry *e = &k->c->entry[i];
        /* only upwards: a tenth of nominal is what a worn-out tube shows */
        if (expected(e) == NONE || e->value.scaled < expected(e) || !misfits(k, e))
            continue;
        int64_t suggest = shifted(e, -1);
        if (suggest == NONE || !fits(e, suggest))
            continue;
        char what[LABEL_BYTES], came[QUANTITY_PRINT_BYTES], meant[QUANTITY_PRINT_BYTES],
            ref[BESIDE_BYTES];
        k->explained[i] = true;
        ask(k, e, PLAUSIBLE_ASK, suggest,
            "%s: %s is far above %s, but %s would fit: was the decimal point missed?",
            label(what, e), quantity_value_print(came, e->quantity, e->value.scaled),
            beside(ref, e), quantity_value_print(meant, e->quantity, suggest));
    }
}

/* mu = gm * rp, exact for the partial derivatives at one point (Radiotron Designer's Handbook,
 * 4th ed., ch. 2; test practice). */
static void ask_mu(struct asking *k)
{
    for (size_t i = 0; i < k->c->count; i++) {
        const struct plausible_entry *mu = &k->c->entry[i];
        if (strcmp(mu->quantity->code, "mu") != 0)
            continue;
        const struct plausible_entry *gm = entry_find(k, "gm", mu->section);
        const struct plausible_entry *rp = entry_find(k, "rp", mu->section);
        int gm_exp = 0, rp_exp = 0;
        if (gm == NULL || rp == NULL || is_explained(k, gm) || is_explained(k, rp) ||
            dimension_of(gm->quantity, &gm_exp) != DIM_SIEMENS ||
            dimension_of(rp->quantity, &rp_exp) != DIM_OHM)
            continue;
        double product =
            real(gm, gm->value.scaled) * real(rp, rp->value.scaled) * pow(10.0, gm_exp + rp_exp);
        double read = real(mu, mu->value.scaled);
        if (fabs(product - read) <= MU_SHARE * fmax(fabs(product), fabs(read)))
            continue;
        char what[LABEL_BYTES], g[QUANTITY_PRINT_BYTES], r[QUANTITY_PRINT_BYTES],
            m[QUANTITY_PRINT_BYTES];
        ask(k, mu, PLAUSIBLE_ASK, NONE,
            "%s: %s was read, but %s times %s makes %.3g: which of the three is off?",
            label(what, mu), quantity_value_print(m, mu->quantity, mu->value.scaled),
            quantity_value_print(g, gm->quantity, gm->value.scaled),
            quantity_value_print(r, rp->quantity, rp->value.scaled), product);
    }
}

static void ask_outlier(struct asking *k, const struct plausible_entry *e,
                        const struct robust *among, const char *name)
{
    if (!numeric(e) || is_explained(k, e) || among->count < OUTLIER_COUNT)
        return;
    double median = real(e, among->median);
    double sigma = fmax(STATISTICS_MAD_SIGMA * real(e, among->mad), SIGMA_FLOOR * fabs(median));
    double away = fabs(real(e, e->value.scaled) - median);
    /* one step of the scale either way is never far */
    if (away <= OUTLIER_SIGMA * sigma || llabs(e->value.scaled - among->median) <= 1)
        return;
    char what[LABEL_BYTES], v[QUANTITY_PRINT_BYTES], m[QUANTITY_PRINT_BYTES];
    ask(k, e, PLAUSIBLE_ASK, NONE,
        "%s: %s is far from the other %zu of the %s, which lie around %s (%.0f times their spread)",
        label(what, e), quantity_value_print(v, e->quantity, e->value.scaled), among->count, name,
        quantity_value_print(m, e->quantity, among->median),
        sigma > 0.0 ? fmin(away / sigma, 999.0) : 999.0);
}

static void ask_family(struct asking *k)
{
    for (size_t i = 0; i < k->c->count; i++)
        ask_outlier(k, &k->c->entry[i], &k->c->entry[i].family, "family");
}

static void ask_lot(struct asking *k)
{
    for (size_t i = 0; i < k->c->count; i++)
        ask_outlier(k, &k->c->entry[i], &k->c->entry[i].lot, "lot");
}

/* A worn tube falls below its limit by itself, and that is a grade, not a slip.  So a value is
 * asked about only beyond the limits by half of what lies between them. */
static void ask_limits(struct asking *k)
{
    for (size_t i = 0; i < k->c->count; i++) {
        const struct plausible_entry *e = &k->c->entry[i];
        if (!numeric(e) || k->explained[i] || e->low == NONE || e->high == NONE || e->high < e->low)
            continue;
        double low = real(e, e->low), high = real(e, e->high), v = real(e, e->value.scaled);
        double beyond = 0.5 * (high - low);
        if (v >= low - beyond && v <= high + beyond)
            continue;
        char what[LABEL_BYTES], came[QUANTITY_PRINT_BYTES], l[QUANTITY_PRINT_BYTES],
            h[QUANTITY_PRINT_BYTES];
        ask(k, e, PLAUSIBLE_ASK, NONE, "%s: %s is far outside the test point's limits %s to %s",
            label(what, e), quantity_value_print(came, e->quantity, e->value.scaled),
            quantity_value_print(l, e->quantity, e->low),
            quantity_value_print(h, e->quantity, e->high));
    }
}

static int digits_of(int64_t mantissa)
{
    int n = 0;
    for (int64_t m = mantissa < 0 ? -mantissa : mantissa; m > 0; m /= 10)
        n++;
    return n;
}

/* One short value can well be the same twice; several, or one read to three figures, hardly. */
static void ask_previous(struct asking *k)
{
    size_t same = 0;
    int digits = 0;
    const struct plausible_entry *first = NULL;
    for (size_t i = 0; i < k->c->count; i++) {
        const struct plausible_entry *e = &k->c->entry[i];
        if (!numeric(e) || e->previous == NONE || e->value.scaled == 0)
            continue;
        if (e->previous != e->value.scaled)
            return;
        if (first == NULL)
            first = e;
        same++;
        digits += digits_of(e->value.typed.mantissa);
    }
    if (first == NULL || digits < 3)
        return;
    char what[LABEL_BYTES], v[QUANTITY_PRINT_BYTES];
    ask(k, same == 1 ? first : NULL, PLAUSIBLE_ASK, NONE,
        "%s %s, exactly as on the tube before%s: was the tube changed?", label(what, first),
        quantity_value_print(v, first->quantity, first->value.scaled),
        same > 1 ? ", and so are all the other values" : "");
}

/* Call with every pair of sections of one quantity that conducts. */
static void each_pair(struct asking *k,
                      void (*look)(struct asking *k, const struct plausible_entry *a,
                                   const struct plausible_entry *b))
{
    for (size_t i = 0; i < k->c->count; i++) {
        const struct plausible_entry *a = &k->c->entry[i];
        if (!conducts(a))
            continue;
        for (size_t j = i + 1; j < k->c->count; j++) {
            const struct plausible_entry *b = &k->c->entry[j];
            if (b->section != a->section && strcmp(a->quantity->code, b->quantity->code) == 0)
                look(k, a, b);
        }
    }
}

static void dead_look(struct asking *k, const struct plausible_entry *a,
                      const struct plausible_entry *b)
{
    const struct plausible_entry *weak = a->value.scaled < b->value.scaled ? a : b;
    const struct plausible_entry *strong = weak == a ? b : a;
    double s = real(strong, strong->value.scaled);
    if (is_explained(k, weak) || is_explained(k, strong) || !(s > 0.0) ||
        real(weak, weak->value.scaled) >= DEAD_SHARE * s)
        return;
    char v[QUANTITY_PRINT_BYTES], w[QUANTITY_PRINT_BYTES];
    ask(k, weak, PLAUSIBLE_ASK, NONE,
        "%s: section %s shows %s where section %s shows %s: is it dead, or was the switch not "
        "turned?",
        weak->quantity->name, weak->section_name,
        quantity_value_print(v, weak->quantity, weak->value.scaled), strong->section_name,
        quantity_value_print(w, strong->quantity, strong->value.scaled));
}

static void ask_dead(struct asking *k)
{
    each_pair(k, dead_look);
}

static bool near(double a, double b, double share)
{
    return fabs(a - b) <= share * fabs(b);
}

static void swapped_look(struct asking *k, const struct plausible_entry *a,
                         const struct plausible_entry *b)
{
    if (a->earlier == NONE || b->earlier == NONE)
        return;
    double va = real(a, a->value.scaled), vb = real(b, b->value.scaled);
    double ea = real(a, a->earlier), eb = real(b, b->earlier);
    if (!near(va, eb, SAME_SHARE) || !near(vb, ea, SAME_SHARE) || near(va, ea, MOVED_SHARE))
        return;
    char v[QUANTITY_PRINT_BYTES], w[QUANTITY_PRINT_BYTES];
    ask(k, a, PLAUSIBLE_ASK, NONE,
        "%s: sections %s and %s show %s and %s, which is what they showed before the other way "
        "round: were they swapped?",
        a->quantity->name, a->section_name, b->section_name,
        quantity_value_print(v, a->quantity, a->value.scaled),
        quantity_value_print(w, b->quantity, b->value.scaled));
}

static void ask_swapped(struct asking *k)
{
    each_pair(k, swapped_look);
}

/* Is there a conducting quantity at all, and does any of them show more than nothing? */
static bool nothing_conducts(const struct asking *k, const struct plausible_entry **some)
{
    *some = NULL;
    for (size_t i = 0; i < k->c->count; i++) {
        const struct plausible_entry *e = &k->c->entry[i];
        if (!conducts(e) || is_explained(k, e))
            continue;
        double v = real(e, e->value.scaled);
        double nothing = expected(e) != NONE ? NOTHING_SHARE * real(e, expected(e)) : 0.0;
        if (v > nothing) {
            *some = e;
            return false;
        }
        *some = e;
    }
    return *some != NULL;
}

static void ask_heater(struct asking *k)
{
    if (k->c->cold_cathode)
        return;
    const struct plausible_entry *some;
    const struct plausible_entry *heater = entry_find(k, "heater", PLAUSIBLE_TUBE);
    bool nothing = nothing_conducts(k, &some);
    char what[LABEL_BYTES], v[QUANTITY_PRINT_BYTES], n[QUANTITY_PRINT_BYTES];
    bool cold = heater != NULL && !is_explained(k, heater) &&
                (heater->value.scaled == 0 ||
                 (heater->nominal != NONE &&
                  real(heater, heater->value.scaled) < COLD_SHARE * real(heater, heater->nominal)));
    if (cold && heater->nominal != NONE)
        ask(k, heater, PLAUSIBLE_ASK, NONE,
            "%s: %s where %s is nominal: is the heater open, or was it off?", label(what, heater),
            quantity_value_print(v, heater->quantity, heater->value.scaled),
            quantity_value_print(n, heater->quantity, heater->nominal));
    else if (cold && some != NULL && !nothing)
        ask(k, heater, PLAUSIBLE_ASK, NONE,
            "the heater draws nothing, yet %s is %s: was the heater current read?",
            label(what, some), quantity_value_print(v, some->quantity, some->value.scaled));
    else if (nothing)
        ask(k, NULL, PLAUSIBLE_ASK, NONE,
            "nothing conducts in any section that was read: was the heater on, and the top cap "
            "connected?");
}

static void ask_heat(struct asking *k)
{
    const struct plausible_entry *some;
    int64_t needed = k->c->heat_needed_s != NONE ? k->c->heat_needed_s : PLAUSIBLE_HEAT_S;
    nothing_conducts(k, &some);
    if (k->c->cold_cathode || k->c->heated_s == NONE || k->c->heated_s >= needed || some == NULL)
        return;
    ask(k, NULL, PLAUSIBLE_ASK, NONE,
        "read after %lld s on heat, but this test point asks for %lld s: read again when it is "
        "warm?",
        (long long)k->c->heated_s, (long long)needed);
}

/* Shorts and leakage come before everything; a shorted tube is not tested further (test practice).
 */
static void ask_short(struct asking *k)
{
    const struct plausible_entry *some;
    nothing_conducts(k, &some);
    if (k->c->shorted && some != NULL)
        ask(k, NULL, PLAUSIBLE_ASK, NONE,
            "a short or a leak was found, which ends a test, yet readings follow it: are they of "
            "this "
            "tube?");
}

/* clang-format off */
#define RULES(ROW) \
    ROW("impossible", ask_impossible, "a value that no tube can have") \
    ROW("unit-slip", ask_unit_slip, "a thousand times too much or too little: micromho typed as mA/V") \
    ROW("point-slip", ask_point_slip, "ten times too much: a missed decimal point") \
    ROW("mu-gm-rp", ask_mu, "amplification factor against transconductance times plate resistance") \
    ROW("family-outlier", ask_family, "far from the centre of the family at this test point") \
    ROW("lot-outlier", ask_lot, "far from the centre of the lot at this test point") \
    ROW("limits", ask_limits, "far outside the limits of the test point") \
    ROW("same-as-before", ask_previous, "exactly what the tube before showed") \
    ROW("dead-section", ask_dead, "one section shows next to nothing beside the other") \
    ROW("swapped-sections", ask_swapped, "the sections show each other's earlier values") \
    ROW("heater-off", ask_heater, "no heater current, or nothing conducts") \
    ROW("warm-up", ask_heat, "read before the tube was warm") \
    ROW("after-short", ask_short, "readings after a short was found")

/* clang-format on */
#define RULE_LISTED(code, asks, says) {code, says},
#define RULE_ASKED(code, asks, says)  asks,
/* clang-format off */
static const struct plausible_rule rule[] = {RULES(RULE_LISTED)};
static void (*const asks[])(struct asking *) = {RULES(RULE_ASKED)};
/* clang-format on */

const struct plausible_rule *plausible_rules(size_t *count)
{
    *count = ARRAY_LEN(rule);
    return rule;
}

struct plausible_questions plausible_check(const struct plausible_case *c, struct arena *a)
{
    /* a rule asks at most once of an entry, of a pair of entries, or of the sitting */
    size_t room = ARRAY_LEN(rule) * (c->count + 1) + 2 * c->count * c->count;
    struct asking k = {.c = c,
                       .arena = a,
                       .explained = arena_array(a, c->count, sizeof(bool)),
                       .out.item = arena_array(a, room, sizeof(struct plausible_question))};
    for (size_t i = 0; i < ARRAY_LEN(asks); i++) {
        k.rule = rule[i].code;
        asks[i](&k);
    }
    return k.out;
}
