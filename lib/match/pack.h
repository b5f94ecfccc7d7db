/* SPDX-License-Identifier: MIT
 *
 * pack: the cheapest so many disjoint sets among those listed, exactly.
 */
#ifndef QUADRILLE_MATCH_PACK_H
#define QUADRILLE_MATCH_PACK_H

#include "match/near.h"

/* All sets that hold.  Set c has size of its line many tubes from member[start[c]] on. */
struct pack_list {
    int rows; /* tubes, by number in the pool */
    int lines;
    int count;
    int *line;     /* [count] ascending */
    int *start;    /* [count + 1] */
    int *member;   /* ascending within a set */
    int64_t *cost; /* [count] */
    int room;
    int member_room;
};

/* Append all sets of size that hold among the given tubes, for a line.  False when there would be
 * more than most in the list, or looking took too long: the list is then of no use. */
bool pack_list_add(struct pack_list *l, const struct near_tree *t, const int *tube, int n, int line,
                   int size, int most);
void pack_list_done(struct pack_list *l);

enum pack_end {
    PACK_BEST,    /* chosen is the cheapest answer below the ceiling */
    PACK_NONE,    /* there is none below the ceiling */
    PACK_STOPPED, /* the budget is spent; chosen is valid if *count > 0, but perhaps not the
                     cheapest */
};

/* Called now and then; false stops the search. */
typedef bool pack_pace_fn(void *ctx);

/* Choose want[line] disjoint sets of each line with the least total cost below ceiling.  steps
 * bounds the search, in looks at a set.  chosen has room for the sum of want; *count says how many
 * stand in it: all or none. */
enum pack_end pack_solve(const struct pack_list *l, const int *want, int64_t ceiling, int64_t steps,
                         pack_pace_fn *pace, void *ctx, int *chosen, int *count, int64_t *cost);

#endif
