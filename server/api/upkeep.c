/* SPDX-License-Identifier: MIT
 *
 * upkeep: verify looks at everything there is; backup makes a copy in the data folder's tmp,
 * verifies that, and sends it piece by piece.  The file of a copy whose receiver went away is
 * removed by the next start.
 */
#include "api/upkeep.h"

#include "auth/crypto.h"
#include "store/verify.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PIECE_BYTES ((size_t)256 * 1024)

/* ---- shapes ------------------------------------------------------------------------------- */

struct verify_ask {
    const char *head;
};
static const struct field VERIFY_ASK_FIELDS[] = {
    {"head", K_TEXT, 0, offsetof(struct verify_ask, head), 1, 100,
     .help = "a head of the journal noted earlier, from a backup or the log: it has to be part of "
             "the journal still"},
    {0},
};
static const struct shape VERIFY_ASK = {"verify_ask", sizeof(struct verify_ask), VERIFY_ASK_FIELDS};

#define AT(f) offsetof(struct verify_finding, f)
static const struct field FINDING_FIELDS[] = {
    {"what", K_TEXT, F_REQUIRED, AT(what), .help = "file, reference or journal"},
    {"text", K_TEXT, F_REQUIRED, AT(text), .help = "what was found"},
    {0},
};
static const struct shape FINDING = {"verify_finding", sizeof(struct verify_finding),
                                     FINDING_FIELDS};
#undef AT

#define AT(f) offsetof(struct verified, f)
static const struct field VERIFIED_FIELDS[] = {
    {"sound", K_BOOL, F_REQUIRED, AT(sound), .help = "nothing was found"},
    {"journal_rows", K_INT, F_REQUIRED, AT(journal_rows), .help = "rows of the journal"},
    {"head", K_TEXT, F_REQUIRED, AT(head), .help = "its head: keep it elsewhere, to compare"},
    {"findings", K_LIST, F_REQUIRED, AT(findings), .sub = &FINDING, .help = "what was found"},
    {0},
};
static const struct shape VERIFIED = {"verified", sizeof(struct verified), VERIFIED_FIELDS};
#undef AT

/* ---- handlers ----------------------------------------------------------------------------- */

static bool verify_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct verify_ask *in = rq->in;
    struct verified *v = arena_alloc(rq->arena, sizeof *v);
    return verify_store(v, rq->store, in->head, rq->arena, e) && reply_body(out, v);
}

struct sending {
    struct stream stream;
    const char *path;
    int64_t at;
};

static bool piece_next(void *state, struct store *st, struct arena *a, const char **text, size_t *n,
                       struct err *e)
{
    (void)st;
    struct sending *s = state;
    char *buf = arena_alloc(a, PIECE_BYTES);
    int fd = open(s->path, O_RDONLY | O_CLOEXEC);
    ssize_t got = fd < 0 ? -1 : pread(fd, buf, PIECE_BYTES, s->at);
    if (fd >= 0)
        close(fd);
    if (got < 0)
        return err_set(e, ERR_UNAVAILABLE, "the copy cannot be read: %s", strerror(errno));
    s->at += got;
    *text = got ? buf : NULL;
    *n = (size_t)got;
    if (!got)
        unlink(s->path);
    return true;
}

/* SHA-256 of a file, in hexadecimal. */
static bool digest_file(char hex[CRYPTO_HEX_BYTES], const char *path, struct err *e)
{
    struct crypto_sha256 h;
    unsigned char digest[CRYPTO_DIGEST_BYTES];
    char buf[65536];
    FILE *f = fopen(path, "rbe");
    if (!f)
        return err_set(e, ERR_UNAVAILABLE, "the copy cannot be read: %s", strerror(errno));
    crypto_sha256_start(&h);
    for (size_t n; (n = fread(buf, 1, sizeof buf, f)) > 0;)
        crypto_sha256_add(&h, buf, n);
    fclose(f);
    crypto_sha256_end(&h, digest);
    crypto_hex(hex, digest, sizeof digest);
    return true;
}

static bool backup_get(struct reply *out, struct req *rq, struct err *e)
{
    struct sending *s = arena_alloc(rq->arena, sizeof *s);
    char name[CRYPTO_TOKEN_BYTES], hex[CRYPTO_HEX_BYTES];
    const char *head;
    crypto_token(name);
    *s = (struct sending){
        .path = arena_printf(rq->arena, "%s/tmp/upload-backup-%s", rq->data_dir, name)};
    s->stream = (struct stream){piece_next, s, "application/vnd.sqlite3"};
    if (!verify_copy(&head, rq->store, s->path, rq->arena, e))
        return false;
    if (!digest_file(hex, s->path, e)) {
        unlink(s->path);
        return false;
    }
    out->etag = arena_printf(rq->arena, "%s;%s", hex, head);
    out->stream = &s->stream;
    return true;
}

const struct route upkeep_routes[] = {
    {GET, "/api/verify", R_OWNER, WORK, &VERIFY_ASK, &VERIFIED, NULL, verify_get,
     "Whether the database is whole and its journal fits together"},
    {GET, "/api/backup", R_OWNER, WORK, NULL, NULL, NULL, backup_get,
     "A verified copy of the database; the ETag holds its SHA-256 and the journal's head"},
    {0},
};
