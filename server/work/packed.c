/* SPDX-License-Identifier: MIT
 *
 * packed: looks names up in the sorted table that embed wrote.
 */
#include "work/packed.h"

#include <string.h>

static void row_take(struct packed *out, const struct packed_row *r)
{
    out->name = r->name;
    out->bytes = (const char *)r->begin;
    out->n = (size_t)(r->end - r->begin);
    out->sha256 = r->sha256;
}

/* The first row whose name is not less than name. */
static int row_from(const char *name)
{
    int low = 0, high = packed_count;
    while (low < high) {
        int mid = low + (high - low) / 2;
        if (strcmp(packed_rows[mid].name, name) < 0)
            low = mid + 1;
        else
            high = mid;
    }
    return low;
}

bool packed_find(struct packed *out, const char *name)
{
    int i = row_from(name);
    if (i == packed_count || strcmp(packed_rows[i].name, name) != 0)
        return false;
    row_take(out, &packed_rows[i]);
    return true;
}

bool packed_each(struct packed *out, const char *prefix, int *at)
{
    if (*at == 0)
        *at = row_from(prefix);
    if (*at >= packed_count || strncmp(packed_rows[*at].name, prefix, strlen(prefix)) != 0)
        return false;
    row_take(out, &packed_rows[(*at)++]);
    return true;
}
