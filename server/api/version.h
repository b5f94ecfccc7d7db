/* SPDX-License-Identifier: MIT
 *
 * version: what two people may edit carries a version; a change names the one it was made from.
 */
#ifndef QUADRILLE_API_VERSION_H
#define QUADRILLE_API_VERSION_H

#include "api/route.h"

/* The version as an ETag, without quotes. */
const char *version_etag(struct arena *a, int64_t version);

/* If-Match is there and names this version, or is "*".  ERR_INVALID when absent ("read it first"),
 * ERR_CONFLICT when it names another. */
MUST_USE bool version_match(const struct req *rq, int64_t version, struct err *e);

#endif
