/* SPDX-License-Identifier: MIT
 *
 * bundle: seven files into nine tables.
 *
 * The files are first read into lib's catalogue, which checks every line and makes the types that
 * are named in a statement only.  Then each kind of row is written by one statement that changes
 * nothing where the row is as it should be, and the ids of the rows that belong are noted; what was
 * bundled before and is not among them is removed.
 */
#include "store/bundle.h"

#include <stdio.h>
#include <string.h>

#include "auth/crypto.h"
#include "store/bundle_priv.h"
#include "store/catalogue.h"
#include "store/journal.h"
#include "store/setting.h"
#include "store/spelling.h"
#include "store/recall.h"
#include "work/packed.h"

#define BUNDLE_KEY "catalogue.bundle"
#define RULES      1 /* counted up when lib closes families by other rules than before */

void bundle_packed(struct bundle *out)
{
    for (int i = 0; i < FILE__COUNT; i++) {
        char name[100];
        struct packed f = {.bytes = "", .n = 0};
        snprintf(name, sizeof name, "seed-data/catalogue/%s", catalogue_files[i]);
        if (!packed_find(&f, name))
            f.n = 0; /* refused below: an empty file has no header line */
        out->file[i].bytes = f.bytes;
        out->file[i].n = f.n;
    }
}

static void bundle_hash(char hex[2 * CRYPTO_DIGEST_BYTES + 1], const struct bundle *b)
{
    struct crypto_sha256 h;
    unsigned char digest[CRYPTO_DIGEST_BYTES];
    char head[80];
    int n = snprintf(head, sizeof head, "rules %d\n", RULES);
    crypto_sha256_start(&h);
    crypto_sha256_add(&h, head, (size_t)n);
    for (int i = 0; i < FILE__COUNT; i++) {
        n = snprintf(head, sizeof head, "%s %zu\n", catalogue_files[i], b->file[i].n);
        crypto_sha256_add(&h, head, (size_t)n);
        crypto_sha256_add(&h, b->file[i].bytes, b->file[i].n);
    }
    crypto_sha256_end(&h, digest);
    for (size_t i = 0; i < sizeof digest; i++)
        snprintf(hex + 2 * i, 3, "%02x", digest[i]);
}

/* ---- reading the files -------------------------------------------------------------------- */

struct reader {
    const char *s;
    size_t n;
};

static long reader_read(void *ctx, char *buf, size_t n)
{
    struct reader *r = ctx;
    size_t take = n < r->n ? n : r->n;
    memcpy(buf, r->s, take);
    r->s += take;
    r->n -= take;
    return (long)take;
}

/* The first bad line is what is told. */
static void note_bad(void *ctx, const struct err *bad)
{
    struct err *e = ctx;
    if (e->code == ERR_NONE)
        *e = *bad;
}

static bool read_file(struct catalogue *c, const struct bundle *b, enum catalogue_file f,
                      struct err *e)
{
    struct reader r = {b->file[f].bytes, b->file[f].n};
    struct load_count count;
    struct err bad = ERR_INIT;
    if (catalogue_load(c, f, reader_read, &r, note_bad, &bad, &count, &bad) && !count.refused)
        return true;
    err_set(e, ERR_INVALID, "the bundled %s, line %lld, %s: %s", catalogue_files[f],
            (long long)bad.line, bad.field, bad.text);
    if (e)
        e->line = bad.line;
    return false;
}

static bool read_files(struct catalogue *c, const struct bundle *b, struct err *e)
{
    for (int f = 0; f < FILE__COUNT; f++)
        if (!read_file(c, b, (enum catalogue_file)f, e))
            return false;
    return true;
}

/* ---- the rows that belong ------------------------------------------------------------------ */

void kept_start(struct load *l)
{
    l->kept_room = 4096;
    l->kept = arena_alloc(l->arena, l->kept_room);
    l->kept[0] = '[';
    l->kept_n = 1;
}

void kept_add(struct load *l, int64_t id)
{
    if (l->kept_room - l->kept_n < 32) {
        char *wider = arena_alloc(l->arena, l->kept_room * 2);
        memcpy(wider, l->kept, l->kept_n);
        l->kept = wider;
        l->kept_room *= 2;
    }
    l->kept_n += (size_t)snprintf(l->kept + l->kept_n, l->kept_room - l->kept_n, "%s%lld",
                                  l->kept_n > 1 ? "," : "", (long long)id);
}

const char *kept_list(struct load *l)
{
    memcpy(l->kept + l->kept_n, "]", 2);
    return l->kept;
}

bool kept_sweep(struct load *l, const char *sql, struct err *e)
{
    struct query *q = query(l->st, sql);
    query_text(q, ":kept", kept_list(l));
    return query_run(q, e);
}

const char *bundle_text(const char *s)
{
    return s && *s ? s : NULL;
}

/* ---- types ---- */

static const char TYPE_PUT[] = "INSERT INTO type (designation" TYPE_FACTS(
    TYPE_NAME) ", origin) "
               "VALUES (:designation" TYPE_FACTS(
                   TYPE_PARAM) ", 'bundled') "
                               "ON CONFLICT (designation) DO UPDATE SET " TYPE_FACTS(
                                   TYPE_SET) "version = type.version + 1 "
                                             "WHERE type.origin = 'bundled' AND ('' " TYPE_FACTS(
                                                 TYPE_OLD) ") IS NOT "
                                                           "('' " TYPE_FACTS(TYPE_EXCLUDED) ")";
static const char TYPE_BARE_PUT[] = "INSERT INTO type (designation, how, origin) "
                                    "VALUES (:designation, 'memory', 'bundled')";
static const char TYPE_ID[] = "SELECT id FROM type WHERE designation = :designation";

static int64_t type_id(struct load *l, const char *designation)
{
    struct query *q = query(l->st, TYPE_ID);
    query_text(q, ":designation", designation);
    return query_number(q);
}

static bool put_type(struct load *l, const struct sheet *s, const struct csv_record *r,
                     struct err *e)
{
    const char *text[TYPE__COLUMNS];
    for (int c = 0; c < TYPE__COLUMNS; c++)
        text[c] = sheet_text(s, r, c, l->arena);
    if (!*text[TYPE_HOW])
        text[TYPE_HOW] = how_words[HOW_MEMORY];
    struct query *q = query(l->st, TYPE_PUT);
    type_bind(q, text);
    return query_run(q, e);
}

/* The figures are kept as they are written, so the file is read once more, for its texts. */
static bool put_types(struct load *l, struct err *e)
{
    struct reader r = {l->bundle->file[FILE_TYPES].bytes, l->bundle->file[FILE_TYPES].n};
    struct csv *csv = csv_new(reader_read, &r, ',');
    struct csv_record line;
    struct sheet s;
    bool ok = csv_next(csv, &line, e) == CSV_RECORD &&
              sheet_init(&s, type_columns, TYPE__COLUMNS, 1, &line, e);
    while (ok && csv_next(csv, &line, e) == CSV_RECORD)
        ok = put_type(l, &s, &line, e);
    csv_free(csv);
    return ok;
}

static bool note_types(struct load *l, struct err *e)
{
    int types = catalogue_type_count(l->c);
    l->type_id = arena_array(l->arena, (size_t)types, sizeof *l->type_id);
    for (int i = 0; i < types; i++) {
        const char *designation = catalogue_type(l->c, i)->designation;
        l->type_id[i] = type_id(l, designation);
        if (l->type_id[i] != NONE)
            continue;
        struct query *q = query(l->st, TYPE_BARE_PUT);
        query_text(q, ":designation", designation);
        if (!query_run(q, e))
            return false;
        l->type_id[i] = store_last_id(l->st);
    }
    return true;
}

int64_t bundle_type(const struct load *l, const char *designation)
{
    return l->type_id[catalogue_find(l->c, designation)];
}

/* ---- all of it ---------------------------------------------------------------------------- */

static bool put_all(struct load *l, struct err *e)
{
    return put_types(l, e) && note_types(l, e) && bundle_spellings(l, e) &&
           bundle_statements(l, e) && bundle_points(l, e) && bundle_hazards(l, e) &&
           bundle_doubts(l, e);
}

/* One line for the whole load: its rows are the program's, not a person's. */
static bool journal_load(struct load *l, const char *hash, struct err *e)
{
    const char *before = setting_get(l->st, BUNDLE_KEY, l->arena);
    if (before)
        before = arena_printf(l->arena, "{\"bundle\":\"%s\"}", before);
    const char *after = arena_printf(l->arena, "{\"bundle\":\"%s\",\"types\":%d}", hash,
                                     catalogue_type_count(l->c));
    return journal_append(l->st, "load", "catalogue", 0, before, after, e) &&
           setting_put(l->st, BUNDLE_KEY, hash, e);
}

static bool load_new(struct store *st, const struct bundle *b, const char *hash, struct arena *a,
                     struct err *e)
{
    struct load l = {.st = st, .c = catalogue_new(), .arena = a, .bundle = b};
    bool ok = read_files(l.c, b, e) && put_all(&l, e) && spelling_keys_derive(NULL, st, e) &&
              catalogue_families_derive(st, e) && journal_load(&l, hash, e);
    catalogue_free(l.c);
    return ok;
}

/* The bundle is there; the program may still fold otherwise than the one that loaded it. */
static bool fold_anew(bool *changed, struct store *st, struct err *e)
{
    return spelling_keys_derive(changed, st, e) && (!*changed || catalogue_changed(st, e));
}

bool bundle_load(bool *changed, struct store *st, const struct bundle *b, struct err *e)
{
    store_assert_writing(st);
    recall_forget(st);
    struct arena *a = arena_new();
    char hash[2 * CRYPTO_DIGEST_BYTES + 1];
    bundle_hash(hash, b);
    const char *have = setting_get(st, BUNDLE_KEY, a);
    bool other = !have || strcmp(have, hash) != 0;
    bool ok = other ? load_new(st, b, hash, a, e) : fold_anew(&other, st, e);
    if (changed)
        *changed = other;
    arena_free(a);
    return ok;
}
