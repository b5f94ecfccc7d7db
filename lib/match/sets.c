/* SPDX-License-Identifier: MIT
 *
 * sets: swaps between neighbouring sets, cooled slowly.
 *
 * The state is a full assignment: as many sets as the bound allows, some of which do not hold yet.
 * A step takes a tube, one of its near neighbours from another set, and brings the two together in
 * exchange for a third; many steps in a row stay in one neighbourhood.  Beyond the band a set's
 * cost jumps and then rises with the excess, up to a ceiling: so the search is drawn towards sets
 * that hold, and a set that cannot is given up without holding the others back.  The ceiling is
 * higher for lines that go before.
 *
 * The threshold of a step is drawn first, and a step that cannot pass whatever its second set may
 * cost is dropped after the first.
 */
#include "match/draw.h"

#include "match/sets.h"

#include <stdlib.h>
#include <string.h>

#define UNIT       MATCH_COST_UNIT
#define CHECK_EACH 2048 /* steps between two looks at the pace */
#define BLOCK      512 /* tubes that so many steps stay among: what they touch stays in the cache */

/* The cost of a span in one coordinate without dividing: spread * factor of the lowest tube >>
 * shift. A hair below the exact cost, which is worked out again for the answer. */
struct quick {
    bool usable; /* else pool_span */
    int shift;
    int64_t *factor; /* [n] */
};

/* A set in one coordinate: its lowest tube, with that tube's value, and its highest value. */
struct extent {
    int low;
    int64_t least;
    int64_t most;
};

/* A set as it would be after a step. */
struct side {
    int set; /* -1: loose */
    bool holds;
    int64_t cost;
    struct extent *extent; /* [d] */
};

struct anneal {
    struct sets *s;
    const struct near_table *near;
    struct quick *quick;   /* [d] */
    int64_t *ceiling;      /* [lines] what a set that does not hold costs at most */
    struct extent *extent; /* [count * d] of every set as it is */
    struct side home;
    struct side away;
    int64_t heat;   /* temperature, in cost */
    int *best_slot; /* the best state met */
    int *best_found;
    int64_t best_total;
};

/* ---- what a set costs ------------------------------------------------------------------------ */

static int64_t bottom_of(const struct pool_scale *s, int64_t low)
{
    return s->band.kind == MATCH_RELATIVE ? low * s->band.num : s->band.num;
}

static struct quick quick_make(const struct pool *q, int j, struct arena *a)
{
    const struct pool_scale *s = &q->scale[j];
    struct quick k = {.usable = s->narrow && q->n > 0};
    if (!k.usable)
        return k;
    int64_t low = pool_row(q, 0)[j];
    int64_t high = low;
    for (int i = 1; i < q->n; i++) {
        int64_t v = pool_row(q, i)[j];
        low = v < low ? v : low;
        high = v > high ? v : high;
    }
    while (s->top_factor << k.shift < INT64_MAX / 4 &&
           (s->top_factor << (k.shift + 1)) / bottom_of(s, low) <= INT64_MAX / 4 / (high - low + 1))
        k.shift++;
    k.factor = arena_array(a, (size_t)q->n, sizeof *k.factor);
    for (int i = 0; i < q->n; i++)
        k.factor[i] = (s->top_factor << k.shift) / bottom_of(s, pool_row(q, i)[j]);
    return k;
}

static int64_t span_of(const struct anneal *k, int j, int low, int64_t least, int64_t most)
{
    const struct quick *x = &k->quick[j];
    return x->usable ? (most - least) * x->factor[low] >> x->shift
                     : pool_span(&k->s->pool->scale[j], least, most);
}

static struct extent extent_of(const struct pool *q, int j, const int *member, int size)
{
    struct extent x = {member[0], pool_row(q, member[0])[j], pool_row(q, member[0])[j]};
    for (int m = 1; m < size; m++) {
        int64_t v = pool_row(q, member[m])[j];
        x.most = v > x.most ? v : x.most;
        x.low = v < x.least ? member[m] : x.low;
        x.least = v < x.least ? v : x.least;
    }
    return x;
}

/* The cost of a set of that extent as the search sees it. */
static void weigh(const struct anneal *k, struct side *side, int64_t ceiling)
{
    const struct pool *q = k->s->pool;
    int64_t inside = 0;
    int64_t excess = 0;
    side->holds = true;
    for (int j = 0; j < q->d; j++) {
        const struct extent *x = &side->extent[j];
        int64_t span = span_of(k, j, x->low, x->least, x->most);
        if (x->most <= pool_limits(q, x->low)[j]) {
            inside += span;
        } else {
            side->holds = false;
            inside += UNIT;
            excess += span > MATCH_COST_WORST ? MATCH_COST_WORST : span - UNIT;
        }
    }
    side->cost = inside;
    if (!side->holds)
        side->cost = inside + 3 * UNIT * q->d / 4 + 4 * excess;
    if (side->cost > ceiling)
        side->cost = ceiling;
}

/* Large sets are hard to come by: they are given up later.  A line that goes before is worth more
 * than two of any after it. */
static void ceilings_set(struct anneal *k)
{
    int64_t later = 0;
    for (int i = k->s->count - 1; i >= 0; i--) {
        int64_t size = k->s->start[i + 1] - k->s->start[i];
        int64_t own = UNIT * k->s->pool->d * size * size;
        int line = k->s->line[i];
        if (i + 1 < k->s->count && k->s->line[i + 1] != line)
            later = 2 * k->ceiling[k->s->line[i + 1]];
        k->ceiling[line] = own > later ? own : later;
    }
}

static void side_take(struct anneal *k, const struct side *side)
{
    struct sets *s = k->s;
    int set = side->set;
    if (set < 0)
        return;
    s->total += (side->holds ? side->cost : 0) - (s->holds[set] ? s->cost[set] : 0);
    s->found[s->line[set]] += side->holds - s->holds[set];
    s->cost[set] = side->cost;
    s->holds[set] = side->holds;
    for (int j = 0; j < s->pool->d; j++)
        k->extent[set * s->pool->d + j] = side->extent[j];
}

static void weigh_all(struct anneal *k)
{
    struct sets *s = k->s;
    s->total = 0;
    memset(s->found, 0, (size_t)s->lines * sizeof *s->found);
    memset(s->holds, 0, (size_t)s->count * sizeof *s->holds);
    for (int i = 0; i < s->count; i++) {
        k->home.set = i;
        for (int j = 0; j < s->pool->d; j++)
            k->home.extent[j] =
                extent_of(s->pool, j, s->slot + s->start[i], s->start[i + 1] - s->start[i]);
        weigh(k, &k->home, k->ceiling[s->line[i]]);
        side_take(k, &k->home);
    }
}

/* ---- a first answer -------------------------------------------------------------------------- */

struct sets *sets_new(const struct pool *q, int count, const int *size, const int *line, int lines,
                      struct arena *a)
{
    struct sets *s = arena_alloc(a, sizeof *s);
    size_t n = (size_t)q->n;
    s->pool = q;
    s->count = count;
    s->lines = lines;
    s->start = arena_array(a, (size_t)count + 1, sizeof *s->start);
    s->line = arena_array(a, (size_t)count, sizeof *s->line);
    s->slot = arena_array(a, n, sizeof *s->slot);
    s->at = arena_array(a, n, sizeof *s->at);
    s->set_of = arena_array(a, n, sizeof *s->set_of);
    s->cost = arena_array(a, (size_t)count, sizeof *s->cost);
    s->holds = arena_array(a, (size_t)count, sizeof *s->holds);
    s->found = arena_array(a, (size_t)lines, sizeof *s->found);
    for (int i = 0; i < count; i++) {
        s->start[i + 1] = s->start[i] + size[i];
        s->line[i] = line[i];
    }
    for (int i = 0; i < q->n; i++)
        s->slot[i] = i;
    return s;
}

static void index_slots(struct sets *s)
{
    for (int i = 0; i < s->pool->n; i++)
        s->set_of[i] = -1;
    for (int i = 0; i < s->pool->n; i++)
        s->at[s->slot[i]] = i;
    for (int i = 0; i < s->count; i++) {
        for (int at = s->start[i]; at < s->start[i + 1]; at++)
            s->set_of[s->slot[at]] = i;
    }
}

/* Gather size tubes around first from its loose neighbours, nearest first.  Returns how many. */
static int gather(const struct pool *q, const struct near_table *near, const bool *taken, int first,
                  int size, int *member)
{
    int count = 0;
    member[count++] = first;
    for (int at = near->start[first]; at < near->start[first + 1] && count < size; at++) {
        if (taken[near->to[at]])
            continue;
        member[count] = near->to[at];
        if (pool_set_holds(q, member, count + 1, NULL))
            count++;
    }
    return count;
}

struct rank {
    int degree;
    int tube;
};

static int compare_ranks(const void *a, const void *b)
{
    const struct rank *x = a;
    const struct rank *y = b;
    return x->degree != y->degree ? (x->degree < y->degree ? -1 : 1)
                                  : (x->tube > y->tube) - (x->tube < y->tube);
}

/* Those with the fewest neighbours; among those with many, the one whose last is farthest. */
static struct rank *rank_tubes(const struct pool *q, const struct near_table *near, struct arena *a)
{
    struct rank *rank = arena_array(a, (size_t)q->n, sizeof *rank);
    for (int i = 0; i < q->n; i++)
        rank[i] = (struct rank){near->start[i + 1] - near->start[i], i};
    qsort(rank, (size_t)q->n, sizeof *rank, compare_ranks);
    return rank;
}

/* Fill the sets of one line, first_set being its first; returns the first that stays empty. */
static int fill_line(struct sets *s, const struct near_table *near, const struct rank *rank,
                     int first_set, bool *taken)
{
    const struct pool *q = s->pool;
    int member[MATCH_SIZE];
    int at = first_set;
    for (int r = 0; r < q->n && at < s->count && s->line[at] == s->line[first_set]; r++) {
        int size = s->start[at + 1] - s->start[at];
        int first = rank[r].tube;
        if (taken[first] || gather(q, near, taken, first, size, member) < size)
            continue;
        for (int m = 0; m < size; m++) {
            taken[member[m]] = true;
            s->slot[s->start[at] + m] = member[m];
        }
        at++;
    }
    return at;
}

/* Put the tubes that are left into the slots that are left. */
static void fill_rest(struct sets *s, const bool *filled, const bool *taken)
{
    int tube = 0;
    int set = 0;
    for (int at = 0; at < s->pool->n; at++) {
        while (set < s->count && at >= s->start[set + 1])
            set++;
        if (set < s->count && filled[set])
            continue;
        while (taken[tube])
            tube++;
        s->slot[at] = tube++;
    }
}

void sets_fill(struct sets *s, const struct near_table *near, struct arena *a)
{
    bool *taken = arena_array(a, (size_t)s->pool->n, sizeof *taken);
    bool *filled = arena_array(a, (size_t)s->count + 1, sizeof *filled);
    struct rank *rank = rank_tubes(s->pool, near, a);
    for (int set = 0; set < s->count;) {
        int line = s->line[set];
        int end = fill_line(s, near, rank, set, taken);
        memset(filled + set, true, (size_t)(end - set));
        for (set = end; set < s->count && s->line[set] == line;)
            set++;
    }
    fill_rest(s, filled, taken);
    index_slots(s);
}

/* ---- the search ------------------------------------------------------------------------------ */

static bool better(const struct anneal *k)
{
    for (int l = 0; l < k->s->lines; l++) {
        if (k->s->found[l] != k->best_found[l])
            return k->s->found[l] > k->best_found[l];
    }
    return k->s->total < k->best_total;
}

static void keep_best(struct anneal *k)
{
    if (!better(k))
        return;
    memcpy(k->best_slot, k->s->slot, (size_t)k->s->pool->n * sizeof *k->best_slot);
    memcpy(k->best_found, k->s->found, (size_t)k->s->lines * sizeof *k->best_found);
    k->best_total = k->s->total;
}

/* T0 * (T1 / T0)^share, the exponential taken as linear between powers of two. */
static int64_t cooled(int64_t hot, int halvings, int64_t share)
{
    int64_t e = share * halvings * 65536 / MATCH_WHOLE;
    int64_t whole = hot >> (e >> 16);
    return whole - (whole * (e & 65535) >> 17) + 1;
}

/* What becomes of the set of tube out when tube in takes its place.  Where out is neither the
 * lowest nor the highest, the others need not be looked at. */
static void side_after(struct anneal *k, struct side *side, int out, int in)
{
    struct sets *s = k->s;
    const struct pool *q = s->pool;
    side->set = s->set_of[out];
    side->cost = 0;
    if (side->set < 0)
        return;
    int start = s->start[side->set];
    int size = s->start[side->set + 1] - start;
    const struct extent *now = k->extent + (int64_t)side->set * q->d;
    const int64_t *old = pool_row(q, out);
    const int64_t *new = pool_row(q, in);
    int at = s->at[out];
    s->slot[at] = in;
    for (int j = 0; j < q->d; j++) {
        struct extent x = now[j];
        if (old[j] == x.least || old[j] == x.most) {
            x = extent_of(q, j, s->slot + start, size);
        } else {
            x.most = new[j] > x.most ? new[j] : x.most;
            x.low = new[j] < x.least ? in : x.low;
            x.least = new[j] < x.least ? new[j] : x.least;
        }
        side->extent[j] = x;
    }
    s->slot[at] = out;
    weigh(k, side, k->ceiling[s->line[side->set]]);
}

static int64_t side_now(const struct sets *s, int set)
{
    return set < 0 ? 0 : s->cost[set];
}

static void swap_tubes(struct sets *s, int x, int y)
{
    int x_at = s->at[x];
    int y_at = s->at[y];
    int x_set = s->set_of[x];
    s->slot[x_at] = y;
    s->slot[y_at] = x;
    s->at[x] = y_at;
    s->at[y] = x_at;
    s->set_of[x] = s->set_of[y];
    s->set_of[y] = x_set;
}

/* 0..degree-1, the near ones more often: the product of three even draws. */
static int near_rank(struct draw *draw, int degree)
{
    uint64_t bits = draw_bits(draw);
    uint64_t part = (bits & 0xffff) * (bits >> 16 & 0xffff) >> 16;
    part = part * (bits >> 32 & 0xffff) >> 16;
    return (int)(part * (uint64_t)degree >> 16);
}

/* One step: bring b, a neighbour of a, into a's set in exchange for another of its tubes. */
static void step(struct anneal *k, struct draw *draw, const int *block, int count)
{
    struct sets *s = k->s;
    uint64_t bits = draw_bits(draw);
    int a = block[(bits >> 32) * (uint64_t)count >> 32];
    int degree = k->near->start[a + 1] - k->near->start[a];
    if (degree == 0)
        return;
    int b = k->near->to[k->near->start[a] + near_rank(draw, degree)];
    if (s->set_of[a] == s->set_of[b])
        return;
    if (s->set_of[a] < 0) { /* the one that has a set keeps it */
        int swap = a;
        a = b;
        b = swap;
    }
    int set = s->set_of[a];
    int others = s->start[set + 1] - s->start[set] - 1;
    int at = s->start[set] + (int)((bits >> 16 & 0xffff) * (uint64_t)others >> 16);
    int c = s->slot[at + (at >= s->at[a])];
    int64_t room =
        side_now(s, set) + side_now(s, s->set_of[b]) + (k->heat * draw_exponential(draw) >> 16);
    side_after(k, &k->home, c, b);
    if (k->home.cost > room)
        return;
    side_after(k, &k->away, b, c);
    if (k->home.cost + k->away.cost > room)
        return;
    side_take(k, &k->home);
    side_take(k, &k->away);
    swap_tubes(s, b, c);
}

static void report(const struct anneal *k, const struct sets_search *how,
                   struct match_progress *out)
{
    int line = 0;
    while (line + 1 < k->s->lines && k->best_found[line] >= how->bound[line])
        line++;
    out->line = line;
    out->found = k->best_found[line];
    out->bound = how->bound[line];
    out->cost = k->best_total;
}

/* How far the search is, in millionths of its own budget; false at the end of the caller's. */
static bool look(const struct anneal *k, const struct sets_search *how, int64_t done,
                 int64_t *share)
{
    bool go_on = true;
    *share = done * 1000 / (how->iterations / 1000 + 1);
    if (how->pace != NULL) {
        struct match_progress progress;
        report(k, how, &progress);
        int64_t spent = how->pace(how->ctx, &progress);
        go_on = spent < MATCH_WHOLE;
        int64_t of = (spent - how->pace_from) * 1000 / ((how->pace_to - how->pace_from) / 1000 + 1);
        *share = of > *share ? of : *share;
    }
    return go_on;
}

/* Where a block begins: every tube is as likely to be in it, or nearly. */
static int block_from(struct draw *draw, int n, int count)
{
    int from = draw_below(draw, n) - count / 2;
    return from < 0 ? 0 : from > n - count ? n - count : from;
}

static void cool(struct anneal *k, const struct sets_search *how, bool *go_on)
{
    int64_t share = 0;
    int64_t since_best = 0;
    for (int64_t done = 0; done < how->iterations; done += CHECK_EACH) {
        *go_on = look(k, how, done, &share);
        if (!*go_on || share >= MATCH_WHOLE)
            break;
        k->heat = cooled(how->hot, how->halvings, share);
        int count = k->s->pool->n < 2 * BLOCK ? k->s->pool->n : BLOCK;
        const int *block = how->order + block_from(how->draw, k->s->pool->n, count);
        for (int i = 0; i < CHECK_EACH; i++)
            step(k, how->draw, block, count);
        since_best += CHECK_EACH;
        if (since_best > 16 * (int64_t)k->s->pool->n) {
            since_best = 0;
            keep_best(k);
        }
    }
    keep_best(k);
}

bool sets_anneal(struct sets *s, const struct near_table *near, const struct sets_search *how,
                 struct arena *a)
{
    struct anneal k = {.s = s, .near = near};
    bool go_on = true;
    size_t d = (size_t)s->pool->d;
    k.extent = arena_array(a, (size_t)s->count * d, sizeof *k.extent);
    k.home.extent = arena_array(a, d, sizeof *k.home.extent);
    k.away.extent = arena_array(a, d, sizeof *k.away.extent);
    k.quick = arena_array(a, d, sizeof *k.quick);
    for (int j = 0; j < s->pool->d; j++)
        k.quick[j] = quick_make(s->pool, j, a);
    k.ceiling = arena_array(a, (size_t)s->lines, sizeof *k.ceiling);
    k.best_slot = arena_array(a, (size_t)s->pool->n, sizeof *k.best_slot);
    k.best_found = arena_array(a, (size_t)s->lines, sizeof *k.best_found);
    ceilings_set(&k);
    index_slots(s);
    weigh_all(&k);
    memcpy(k.best_slot, s->slot, (size_t)s->pool->n * sizeof *k.best_slot);
    memcpy(k.best_found, s->found, (size_t)s->lines * sizeof *k.best_found);
    k.best_total = s->total;
    if (s->count > 0)
        cool(&k, how, &go_on);
    memcpy(s->slot, k.best_slot, (size_t)s->pool->n * sizeof *k.best_slot);
    index_slots(s);
    weigh_all(&k);
    return go_on;
}
