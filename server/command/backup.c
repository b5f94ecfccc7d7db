/* SPDX-License-Identifier: MIT
 *
 * backup: what arrives goes into FILE.part; only when its digest is the one that was announced, and
 * it is on the disk, does it get its name.  An older backup under that name is never touched.
 */
#include "command/backup.h"

#include "auth/crypto.h"
#include "command/answer.h"
#include "command/command.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static int help(void)
{
    printf("usage: quadrille backup FILE\n"
           "\n"
           "Write a verified copy of the database to a new file, whether or not a daemon is up.  "
           "Prints\nits SHA-256 and the journal's head; keep these elsewhere.\n"
           "\n%s",
           COMMON_HELP);
    return EXIT_DONE;
}

static bool digest_check(FILE *f, const char *announced, struct err *e)
{
    struct crypto_sha256 h;
    unsigned char digest[CRYPTO_DIGEST_BYTES];
    char buf[65536], hex[CRYPTO_HEX_BYTES];
    rewind(f);
    crypto_sha256_start(&h);
    for (size_t n; (n = fread(buf, 1, sizeof buf, f)) > 0;)
        crypto_sha256_add(&h, buf, n);
    crypto_sha256_end(&h, digest);
    crypto_hex(hex, digest, sizeof digest);
    return strncmp(hex, announced, strlen(hex)) == 0 ||
           err_set(e, ERR_UNAVAILABLE, "the copy did not arrive as it was sent: try again");
}

/* Into f, which is the file at part. */
static bool fetch(struct told *told, struct client *c, FILE *f, struct arena *a, struct err *e)
{
    const struct ask ask = {.method = GET, .path = "/api/backup", .save = f};
    if (!client_ask(told, c, &ask, "copying the database", a, e) || told->status >= 400)
        return false;
    if (fflush(f) != 0 || fsync(fileno(f)) != 0)
        return err_set(e, ERR_UNAVAILABLE, "the copy cannot be written: %s", strerror(errno));
    return digest_check(f, told->etag ? told->etag + 1 : "", e);
}

/* Not over an older one, which rename would do. */
static bool name_it(const char *part, const char *file, struct err *e)
{
    if (link(part, file) == 0)
        return unlink(part) == 0 ||
               err_set(e, ERR_UNAVAILABLE, "cannot remove %s: %s", part, strerror(errno));
    return err_set(e, ERR_UNAVAILABLE, "the copy cannot be named %s: %s", file, strerror(errno));
}

static int told_show(const char *file, const struct told *told, bool json)
{
    const char *semicolon = strchr(told->etag, ';');
    const char *head = semicolon ? semicolon + 1 : "";
    int n = (int)strcspn(head, "\"");
    printf(json ? "{\"file\":\"%s\",\"sha256\":\"%.64s\",\"head\":\"%.*s\"}\n"
                : "file:   %s\nsha256: %.64s\nhead:   %.*s\n",
           file, told->etag + 1, n, head);
    return EXIT_DONE;
}

static int backup(const char *file, const struct common *common, struct arena *a)
{
    struct err e = ERR_INIT;
    struct told told = {0};
    struct client *c = NULL;
    const char *part = arena_printf(a, "%s.part", file);
    if (access(file, F_OK) == 0) {
        err_set(&e, ERR_CONFLICT, "there is a file %s already: a backup is never written over",
                file);
        return command_fail("backup", &e);
    }
    if (!client_open(&c, common->data, &e))
        return command_fail("backup", &e);
    int fd = open(part, O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    FILE *f = fd < 0 ? NULL : fdopen(fd, "w+b");
    bool good = f ? fetch(&told, c, f, a, &e)
                  : err_set(&e, ERR_UNAVAILABLE, "cannot write %s: %s", part, strerror(errno));
    if (f)
        fclose(f);
    client_close(c);
    if (good && name_it(part, file, &e))
        return told_show(file, &told, common->json);
    if (f)
        unlink(part);
    return told.status >= 400 ? answer_show("backup", &told, NULL, common->json, a)
                              : command_fail("backup", &e);
}

int command_backup(int argc, char **argv)
{
    struct err e = ERR_INIT;
    struct common common = {0};
    const char *file = NULL;
    bool good = true;
    for (int i = 1; good && i < argc;) {
        if (common_take(&common, &i, argc, argv, &e))
            continue;
        good = e.code == ERR_NONE && !file && strncmp(argv[i], "--", 2) != 0;
        if (good)
            file = argv[i++];
        else if (e.code == ERR_NONE)
            err_set(&e, ERR_INVALID, "\"%.80s\" makes no sense here", argv[i]);
    }
    if (good && common.help)
        return help();
    if (good && !file)
        err_set(&e, ERR_INVALID, "say which file the copy shall be");
    if (!good || !file)
        return usage_fail("backup", &e);
    struct arena *a = arena_new();
    int status = backup(file, &common, a);
    arena_free(a);
    return status;
}
