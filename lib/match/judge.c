/* SPDX-License-Identifier: MIT
 *
 * judge: the definitions once more, written a second time and differently.
 *
 * Where problem.c compares two products, the judge divides; where it adds half and floors, the
 * judge looks at twice the remainder; where a solver climbs to the innermost common group, the
 * judge marks one tube's groups and walks the other's.
 */
#include "match/judge.h"

#include <stdlib.h>
#include <string.h>

__extension__ typedef __int128 wide;

static int64_t value_of(const struct match_problem *p, int tube, int j)
{
    return p->value[(int64_t)tube * p->coordinates + j];
}

/* The part of the cost that one coordinate adds, or -1 when the span does not hold.
 * span and band as fractions of the same bottom: cost = 10^9 * top / bottom. */
static int64_t span_cost(const struct match_band *b, int64_t low, int64_t high)
{
    wide top = (wide)high - low;
    wide bottom = b->num;
    if (top == 0)
        return 0;
    if (b->kind == MATCH_RELATIVE) {
        if (low <= 0)
            return -1;
        top *= b->den;
        bottom *= low;
    }
    if (bottom == 0 || top / bottom > 1 || (top / bottom == 1 && top % bottom != 0))
        return -1;
    wide scaled = top * 1000000000;
    wide cost = scaled / bottom;
    if (2 * (scaled % bottom) >= bottom)
        cost++;
    return (int64_t)cost;
}

/* The cost of a set, or -1 when it does not hold. */
static int64_t set_cost(const struct match_problem *p, const int *member, int size)
{
    int64_t sum = 0;
    for (int j = 0; j < p->coordinates; j++) {
        int low = member[0];
        int high = member[0];
        for (int m = 1; m < size; m++) {
            if (value_of(p, member[m], j) < value_of(p, low, j))
                low = member[m];
            if (value_of(p, member[m], j) > value_of(p, high, j))
                high = member[m];
        }
        int64_t part = span_cost(&p->band[j], value_of(p, low, j), value_of(p, high, j));
        if (part < 0)
            return -1;
        sum += part;
    }
    return sum;
}

static bool members_check(const struct match_problem *p, const struct match_set *s, int number,
                          unsigned char *used, struct err *e)
{
    for (int m = 0; m < p->demand[s->line].size; m++) {
        int t = s->member[m];
        if (t < 0 || t >= p->tubes)
            return err_set(e, ERR_INTERNAL, "set %d: there is no tube at index %d", number, t);
        if (used[t])
            return err_set(e, ERR_INTERNAL, "set %d: tube %.60s serves twice", number, p->id[t]);
        if (p->class_of[t] != p->class_of[s->member[0]])
            return err_set(e, ERR_INTERNAL, "set %d: tube %.60s is of another class", number,
                           p->id[t]);
        used[t] = 1;
    }
    return true;
}

static bool sets_check(const struct match_problem *p, const struct match_answer *a,
                       unsigned char *used, int64_t *count, struct err *e)
{
    wide total = 0;
    for (int s = 0; s < a->sets; s++) {
        const struct match_set *set = &a->set[s];
        if (set->line < 0 || set->line >= p->lines)
            return err_set(e, ERR_INTERNAL, "set %d: there is no demand line %d", s, set->line);
        if (!members_check(p, set, s, used, e))
            return false;
        int64_t cost = set_cost(p, set->member, p->demand[set->line].size);
        if (cost < 0)
            return err_set(e, ERR_INTERNAL, "set %d, with tube %.60s, is out of band", s,
                           p->id[set->member[0]]);
        if (cost != set->cost)
            return err_set(e, ERR_INTERNAL, "set %d costs %lld, not %lld", s, (long long)cost,
                           (long long)set->cost);
        total += cost;
        count[set->line]++;
    }
    if (total != a->cost)
        return err_set(e, ERR_INTERNAL, "the sets cost %lld together, not %lld", (long long)total,
                       (long long)a->cost);
    return true;
}

static bool counts_check(const struct match_problem *p, const struct match_answer *a,
                         const int64_t *count, struct err *e)
{
    for (int l = 0; l < p->lines; l++) {
        if (count[l] != a->found[l])
            return err_set(e, ERR_INTERNAL, "demand line %d has %lld sets, not %lld", l,
                           (long long)count[l], (long long)a->found[l]);
        if (p->demand[l].limit != MATCH_ANY && count[l] > p->demand[l].limit)
            return err_set(e, ERR_INTERNAL, "demand line %d has %lld sets, at most %lld are asked",
                           l, (long long)count[l], (long long)p->demand[l].limit);
        if (count[l] > a->bound[l] || (a->count_proven && count[l] != a->bound[l]))
            return err_set(e, ERR_INTERNAL, "demand line %d has %lld sets against a bound of %lld",
                           l, (long long)count[l], (long long)a->bound[l]);
    }
    return true;
}

bool match_check(const struct match_problem *p, const struct match_answer *a, struct err *e)
{
    unsigned char *used = xcalloc((size_t)p->tubes + 1, 1);
    int64_t *count = xcalloc((size_t)p->lines + 1, sizeof *count);
    bool ok = sets_check(p, a, used, count, e) && counts_check(p, a, count, e);
    if (ok && a->cost_proven && !a->count_proven)
        ok = err_set(e, ERR_INTERNAL, "the cost is called proven, the number of sets is not");
    free(count);
    free(used);
    return ok;
}

/* ---- the certificate ------------------------------------------------------------------------- */

struct court {
    const struct match_problem *p;
    const struct match_certificate *c;
    int64_t *around_sum; /* [groups] extras of a group and all around it */
    int *marked_for;     /* [groups] the tube whose groups were marked last */
};

static bool groups_check(struct court *k, wide *dual, struct err *e)
{
    const struct match_certificate *c = k->c;
    int *tubes = xcalloc((size_t)c->groups + 1, sizeof *tubes);
    bool ok = true;
    for (int i = 0; i < k->p->tubes && ok; i++) {
        if (c->price[i] < 0)
            ok = err_set(e, ERR_INTERNAL, "the price of tube %.60s is negative", k->p->id[i]);
        *dual += c->price[i];
        for (int g = c->group_of[i]; g >= 0; g = c->around[g])
            tubes[g]++;
    }
    for (int g = c->groups - 1; g >= 0 && ok; g--) {
        if (c->extra[g] < 0 || (c->around[g] >= 0 && c->around[g] <= g))
            ok = err_set(e, ERR_INTERNAL, "group %d of the certificate is not sound", g);
        else
            k->around_sum[g] = c->extra[g] + (c->around[g] >= 0 ? k->around_sum[c->around[g]] : 0);
        *dual += (wide)c->extra[g] * ((tubes[g] - 1) / 2);
    }
    free(tubes);
    return ok;
}

static bool pair_check(struct court *k, int i, int j, struct err *e)
{
    const int pair[2] = {i, j};
    if (k->p->class_of[i] != k->p->class_of[j])
        return true;
    int64_t cost = set_cost(k->p, pair, 2);
    if (cost < 0)
        return true;
    int g = k->c->group_of[j];
    while (g >= 0 && k->marked_for[g] != i)
        g = k->c->around[g];
    wide left = (wide)k->c->price[i] + k->c->price[j] + (g >= 0 ? k->around_sum[g] : 0);
    if (left < 2 * ((wide)k->c->reward - cost))
        return err_set(e, ERR_INTERNAL, "the certificate does not cover the pair %.60s, %.60s",
                       k->p->id[i], k->p->id[j]);
    return true;
}

static bool pairs_check(struct court *k, struct err *e)
{
    for (int i = 0; i < k->p->tubes; i++) {
        for (int g = k->c->group_of[i]; g >= 0; g = k->c->around[g])
            k->marked_for[g] = i;
        for (int j = i + 1; j < k->p->tubes; j++) {
            if (!pair_check(k, i, j, e))
                return false;
        }
    }
    return true;
}

bool match_check_certificate(const struct match_problem *p, const struct match_answer *a,
                             struct err *e)
{
    if (a->certificate == NULL || p->lines != 1 || p->demand[0].size != 2)
        return err_set(e, ERR_INTERNAL, "there is no certificate: it is given for pairs alone");
    const struct match_certificate *c = a->certificate;
    if ((wide)c->reward <= (wide)(p->tubes / 2) * p->coordinates * 1000000000)
        return err_set(e, ERR_INTERNAL, "the certificate's reward does not outweigh all costs");
    struct court k = {.p = p, .c = c};
    k.around_sum = xcalloc((size_t)c->groups + 1, sizeof *k.around_sum);
    k.marked_for = xcalloc((size_t)c->groups + 1, sizeof *k.marked_for);
    for (int g = 0; g < c->groups; g++)
        k.marked_for[g] = -1;
    wide dual = 0;
    bool ok = groups_check(&k, &dual, e) && pairs_check(&k, e);
    if (ok && dual != 2 * ((wide)c->reward * a->sets - a->cost))
        ok = err_set(e, ERR_INTERNAL, "the certificate allows more than the answer reaches");
    free(k.around_sum);
    free(k.marked_for);
    return ok;
}
