/* SPDX-License-Identifier: MIT
 *
 * page: see the header.
 */
#include "api/page.h"

#include <stdlib.h>
#include <string.h>

static const struct field PAGE_ONLY[] = {
    {"limit", K_INT, 0, offsetof(struct page, limit), 1, PAGE_MOST, .help = "rows wanted"},
    {"after", K_TEXT, 0, offsetof(struct page, after), 1, 200, .help = "key of the last row seen"},
    {0},
};
const struct shape PAGE = {"page", sizeof(struct page), PAGE_ONLY};

int64_t page_limit(const struct page *p)
{
    return p->limit == NONE ? PAGE_LIMIT : p->limit;
}

bool page_number(int64_t *out, const struct page *p, struct err *e)
{
    *out = NONE;
    if (!p->after)
        return true;
    char *end;
    long long v = strtoll(p->after, &end, 10);
    if (*end || end == p->after || v < 0)
        return err_field(e, "after", ERR_INVALID,
                         "after has to be the number that the last page's Link header gave");
    *out = v;
    return true;
}

bool page_cut(struct list *rows, const struct page *p)
{
    if (rows->count <= (size_t)page_limit(p))
        return false;
    rows->count = (size_t)page_limit(p);
    return true;
}

const char *page_escape(struct arena *a, const char *s)
{
    static const char hex[] = "0123456789ABCDEF";
    char *out = arena_alloc(a, strlen(s) * 3 + 1);
    size_t n = 0;
    for (const unsigned char *p = (const unsigned char *)s; *p; p++) {
        bool plain = (*p >= 'a' && *p <= 'z') || (*p >= 'A' && *p <= 'Z') ||
                     (*p >= '0' && *p <= '9') || strchr("-._~", *p);
        if (plain) {
            out[n++] = (char)*p;
        } else {
            out[n++] = '%';
            out[n++] = hex[*p >> 4];
            out[n++] = hex[*p & 15];
        }
    }
    return out;
}

const char *page_next_text(struct arena *a, const char *path, const struct page *p, const char *key)
{
    return arena_printf(a, "%s%climit=%lld&after=%s", path, strchr(path, '?') ? '&' : '?',
                        (long long)page_limit(p), page_escape(a, key));
}

const char *page_next(struct arena *a, const char *path, const struct page *p, int64_t key)
{
    return page_next_text(a, path, p, arena_printf(a, "%lld", (long long)key));
}
