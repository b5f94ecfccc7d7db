/* SPDX-License-Identifier: MIT
 *
 * assets: from the path of a URL to a file.  Paths are checked by what they may contain, so that
 * nothing outside the folder can be named.
 */
#include "http/assets.h"

#include "work/packed.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define FILE_MOST ((int64_t)64 << 20) /* of a file read from a folder */

static const struct {
    const char *ending, *type;
} types[] = {
    {".html", "text/html; charset=utf-8"},
    {".js", "text/javascript; charset=utf-8"},
    {".mjs", "text/javascript; charset=utf-8"},
    {".css", "text/css; charset=utf-8"},
    {".json", "application/json"},
    {".webmanifest", "application/manifest+json"},
    {".map", "application/json"},
    {".svg", "image/svg+xml"},
    {".png", "image/png"},
    {".jpg", "image/jpeg"},
    {".webp", "image/webp"},
    {".ico", "image/x-icon"},
    {".woff2", "font/woff2"},
    {".wav", "audio/wav"},
    {".txt", "text/plain; charset=utf-8"},
};

static const char *type_of(const char *path)
{
    const char *ending = strrchr(path, '.');
    for (size_t i = 0; ending && i < ARRAY_LEN(types); i++)
        if (strcmp(ending, types[i].ending) == 0)
            return types[i].type;
    return "application/octet-stream";
}

static bool path_plain(const char *path)
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
                                  ".-_/";
    return path[0] == '/' && strlen(path) < 200 && strspn(path, allowed) == strlen(path) &&
           !strstr(path, "/.") && !strstr(path, "//");
}

static bool file_load(struct asset *out, const char *name, struct arena *a)
{
    FILE *f = fopen(name, "rbe");
    struct stat s;
    if (!f)
        return false;
    bool ok = fstat(fileno(f), &s) == 0 && S_ISREG(s.st_mode) && s.st_size <= FILE_MOST;
    if (ok) {
        char *bytes = arena_alloc(a, (size_t)s.st_size + 1);
        out->n = fread(bytes, 1, (size_t)s.st_size, f);
        out->bytes = bytes;
        out->etag = arena_printf(a, "%" PRIx64 "-%" PRIx64 "-%" PRIx64, (int64_t)s.st_mtim.tv_sec,
                                 (int64_t)s.st_mtim.tv_nsec, (int64_t)s.st_size);
    }
    fclose(f);
    return ok;
}

static bool packed_load(struct asset *out, const char *path, struct arena *a)
{
    struct packed p;
    if (!packed_find(&p, arena_printf(a, "web/dist%s", path)))
        return false;
    out->bytes = p.bytes;
    out->n = p.n;
    out->etag = p.sha256;
    return true;
}

bool assets_find(struct asset *out, const char *path, const char *folder, struct arena *a,
                 struct err *e)
{
    struct asset found = {0};
    if (strcmp(path, "/") == 0)
        path = "/index.html";
    bool ok =
        path_plain(path) && (*folder ? file_load(&found, arena_printf(a, "%s%s", folder, path), a)
                                     : packed_load(&found, path, a));
    if (!ok)
        return err_set(e, ERR_NOT_FOUND, "there is no page \"%.150s\" here", path);
    found.type = type_of(path);
    *out = found;
    return true;
}
