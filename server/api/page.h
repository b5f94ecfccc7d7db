/* SPDX-License-Identifier: MIT
 *
 * page: lists in pages, each begun where the last one ended (keyset), never by counting rows.
 *
 * ?limit=50&after=KEY.  The key of the last row of a page is the next page's after; the reply's
 * Link header holds the whole address.  A handler asks the store for page_limit + 1 rows: page_cut
 * drops the one too many and tells that there is a next page.
 */
#ifndef QUADRILLE_API_PAGE_H
#define QUADRILLE_API_PAGE_H

#include "api/route.h"

#define PAGE_LIMIT 50
#define PAGE_MOST  500

/* Begin a shape's struct with this to page it with filters of its own, and its fields with
 * PAGE_FIELDS(struct). */
struct page {
    int64_t limit;     /* NONE: PAGE_LIMIT */
    const char *after; /* key of the last row seen; NULL: from the start */
};

#define PAGE_FIELDS(s)                                                                        \
    {"limit", K_INT, 0, offsetof(struct s, page.limit), 1, PAGE_MOST, .help = "rows wanted"}, \
    {                                                                                         \
        "after", K_TEXT, 0, offsetof(struct s, page.after), 1, 200,                           \
            .help = "key of the last row seen"                                                \
    }

extern const struct shape PAGE; /* nothing but the page */

int64_t page_limit(const struct page *p);

/* The key as a number, NONE when there is none.  ERR_INVALID when it is no number. */
MUST_USE bool page_number(int64_t *out, const struct page *p, struct err *e);

/* Drop the row too many; true when there was one. */
bool page_cut(struct list *rows, const struct page *p);

/* Address of the next page: path?limit=..&after=key.  path may hold a query already. */
const char *page_next(struct arena *a, const char *path, const struct page *p, int64_t key);
const char *page_next_text(struct arena *a, const char *path, const struct page *p,
                           const char *key);

/* Percent-encoded for a path segment or a query value. */
const char *page_escape(struct arena *a, const char *s);

#endif
