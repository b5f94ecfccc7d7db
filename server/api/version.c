/* SPDX-License-Identifier: MIT
 *
 * version: see the header.
 */
#include "api/version.h"

#include <string.h>

const char *version_etag(struct arena *a, int64_t version)
{
    return arena_printf(a, "v%lld", (long long)version);
}

bool version_match(const struct req *rq, int64_t version, struct err *e)
{
    if (!rq->if_match)
        return err_field(e, "If-Match", ERR_INVALID,
                         "say which version you change: read it, and send its ETag as If-Match");
    if (strcmp(rq->if_match, "*") == 0)
        return true;
    if (!strstr(rq->if_match, arena_printf(rq->arena, "\"v%lld\"", (long long)version)))
        return err_field(e, "If-Match", ERR_CONFLICT,
                         "somebody changed this meanwhile: read it again, then change it");
    return true;
}
