/* SPDX-License-Identifier: MIT
 *
 * assets: the pages: files packed into the executable from web/dist, or read from a folder while
 * one works on them.
 */
#ifndef QUADRILLE_HTTP_ASSETS_H
#define QUADRILLE_HTTP_ASSETS_H

#include "base/arena.h"
#include "base/err.h"

struct asset {
    const char *bytes; /* static or in the arena */
    size_t n;
    const char *etag; /* without quotes; changes with the bytes */
    const char *type; /* content type */
};

/* The file for a path of a URL ("/" is index.html).
 *   folder  to read from instead of what is packed, "" for the packed ones
 * ERR_NOT_FOUND when there is none, or the path has anything in it but letters, digits, '.', '-',
 * '_' and '/', or a name that begins with a dot. */
MUST_USE bool assets_find(struct asset *out, const char *path, const char *folder, struct arena *a,
                          struct err *e);

#endif
