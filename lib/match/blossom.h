/* SPDX-License-Identifier: MIT
 *
 * blossom: heaviest matching in a general graph, with the prices that prove it.
 *
 * The graph is a list of edges that may grow between two solvings: matching and prices are kept, so
 * that only what the new edges upset is solved again.
 */
#ifndef QUADRILLE_MATCH_BLOSSOM_H
#define QUADRILLE_MATCH_BLOSSOM_H

#include "base/err.h"

/* Neighbours of vertex v: to[start[v]..start[v + 1]) with their weights; every edge stands at both
 * of its ends.  Owned by the caller, valid as long as the solving. */
struct blossom_graph {
    const int *start;
    const int *to;
    const int64_t *weight; /* even, > 0, below 2^60 */
};

struct blossom;

/* n vertices, nothing matched, all prices 0.  Owned by the caller. */
struct blossom *blossom_new(int n);
void blossom_free(struct blossom *b);

/* The first prices and matches, for the graph to be solved first: each vertex its share of its
 * heaviest edge, then whatever is tight is matched. */
void blossom_start(struct blossom *b, const struct blossom_graph *g);

/* Restore order before solving a graph with a new edge u-v of that weight: groups that hold u or v
 * are dissolved, prices are raised, and matches that are no longer tight are undone. */
void blossom_disturb(struct blossom *b, int u, int v, int64_t weight);

/* Called now and then while solving; false stops it. */
typedef bool blossom_pace_fn(void *ctx);

/* Match the graph to its greatest weight.  False when it was stopped: the matching is then valid,
 * but prices and matching prove nothing. */
bool blossom_solve(struct blossom *b, const struct blossom_graph *g, blossom_pace_fn *pace,
                   void *ctx);

int blossom_mate(const struct blossom *b, int v);      /* -1: none */
int64_t blossom_price(const struct blossom *b, int v); /* >= 0 */

/* Groups with an extra price: nodes count from n.  The one right around a vertex or group, -1:
 * none. */
int blossom_around(const struct blossom *b, int node);
int64_t blossom_extra(const struct blossom *b, int node);
#define blossom_nodes(n) (2 * (n)) /* every node is below */

#endif
