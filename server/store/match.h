/* SPDX-License-Identifier: MIT
 *
 * match: proposals, and the sets that they become.
 *
 * A proposal is what a match found, with the snapshot it was made from.  Accepting it turns it into
 * sets in one savepoint; when any of its tubes was taken meanwhile nothing changes, and they are
 * named.
 */
#ifndef QUADRILLE_STORE_MATCH_H
#define QUADRILLE_STORE_MATCH_H

#include "store/store.h"

struct set_member {
    int64_t tube_id, stock_no, position;
    const char *snapshot;    /* JSON: the values it was matched by */
    int64_t left_ms;         /* NONE: still in it */
    const char *bin, *grade; /* (read only) */
};

struct matched_set {
    int64_t id, size;
    int64_t set_no; /* within a proposal */
    int64_t family_id;
    const char *family; /* (read only) */
    const char *band;   /* as asked */
    const char *spread; /* JSON: quantity -> spread as text */
    int64_t cost;
    int64_t proposal_id;
    int64_t made_ms, dissolved_ms;
    struct list members; /* struct set_member */
};

struct proposal {
    int64_t id;
    const char *asked;   /* JSON */
    const char *summary; /* JSON */
    const char *state;   /* 'open', 'accepted', 'dropped' */
    int64_t created_ms, settled_ms;
    int64_t version;
};

/* Keep a proposal with its sets (struct matched_set, of which set_no, size, family_id, band,
 * spread, cost and members are read). */
MUST_USE bool proposal_create(int64_t *id, struct store *st, const char *asked, const char *summary,
                              const struct list *sets, struct arena *a, struct err *e);

/* ERR_NOT_FOUND.  Newest first for the list (struct proposal). */
MUST_USE bool proposal_load(struct proposal *out, struct store *st, int64_t id, struct arena *a,
                            struct err *e);
void proposal_list(struct list *out, struct store *st, int64_t before_id, int64_t limit,
                   struct arena *a);

/* Make it sets.  *sets: ids in the order of set_no (int64_t).  ERR_CONFLICT when it was settled
 * before, or when tubes were taken meanwhile: their stock numbers are named. */
MUST_USE bool proposal_accept(struct list *sets, struct store *st, int64_t id, struct arena *a,
                              struct err *e);

/* Drop it.  ERR_CONFLICT when it was settled before. */
MUST_USE bool proposal_drop(struct store *st, int64_t id, struct arena *a, struct err *e);

/* Sets, newest first, older than before_id; family_id NONE: all; size NONE: all; live: only those
 * not dissolved.  With members.  struct matched_set. */
void set_list(struct list *out, struct store *st, int64_t family_id, int64_t size, bool live,
              int64_t before_id, int64_t limit, struct arena *a);

MUST_USE bool set_load(struct matched_set *out, struct store *st, int64_t id, struct arena *a,
                       struct err *e);

/* Free its tubes.  ERR_CONFLICT when it is dissolved already. */
MUST_USE bool set_dissolve(struct store *st, int64_t id, struct arena *a, struct err *e);

#endif
