/* SPDX-License-Identifier: MIT
 *
 * near: which tubes of a pool lie near which, by a tree of boxes.
 */
#ifndef QUADRILLE_MATCH_NEAR_H
#define QUADRILLE_MATCH_NEAR_H

#include "match/pool.h"

#define NEAR_MOST 64 /* the most neighbours asked for at once */

/* A box around the tubes order[from..to).  Inner boxes have two children, left = own index + 1. */
struct near_box {
    int from;
    int to;
    int right; /* index of the right child, 0 in a leaf */
};

struct near_tree {
    const struct pool *pool;
    int boxes;
    struct near_box *box;
    int64_t *low;        /* [boxes * d] */
    int64_t *high;       /* [boxes * d] */
    int64_t *high_limit; /* [boxes * d] the highest value that holds with high */
    int *order;          /* [n] tubes as the leaves hold them */
    int *place;          /* [n] where in order a tube stands */
};

struct near_tree *near_new(const struct pool *q, struct arena *a);

/* The cost that tube i has at least with any tube inside the box, or -1 when it holds with none. */
int64_t near_bound(const struct near_tree *t, int i, int box);

/* The up to k <= NEAR_MOST tubes with the least cost among those that hold with i, least first;
 * to and cost have room for k.  Returns how many. */
int near_query(const struct near_tree *t, int i, int k, int *to, int64_t *cost);

/* Number the components of the graph whose edges are the pairs that hold: component[i] is 0.. in
 * the order of their first tubes.  Returns how many there are. */
int near_components(const struct near_tree *t, int *component, struct arena *a);

/* All tubes that hold with i, in ascending order of place; to has room for most.  Returns how many
 * there are, perhaps more than most. */
int near_range(const struct near_tree *t, int i, int most, int *to);

/* The nearest k of every tube as one table: those of i are to[start[i]..start[i + 1]). */
struct near_table {
    int *start; /* [n + 1] */
    int *to;
    int64_t *cost;
};
struct near_table *near_table_new(const struct near_tree *t, int k, struct arena *a);

#endif
