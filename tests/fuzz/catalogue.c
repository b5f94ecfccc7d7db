/* SPDX-License-Identifier: MIT
 *
 * catalogue under any bytes: the first byte chooses the file, the rest is its text.  Nothing
 * crashes, every refused line has a line number and a sentence, and whatever was taken can be
 * looked up, compared and walked.
 */
#include "base/text.h"
#include "catalogue/compare.h"
#include "catalogue/load.h"

#include <assert.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n);

struct bytes {
    const uint8_t *s;
    size_t n;
};

static long give(void *ctx, char *buf, size_t room)
{
    struct bytes *b = ctx;
    size_t take = b->n < room ? b->n : room;
    memcpy(buf, b->s, take);
    b->s += take;
    b->n -= take;
    return (long)take;
}

static void bad(void *ctx, const struct err *e)
{
    ++*(int64_t *)ctx;
    assert(e->line > 0 && *e->text && text_check(e->text, strlen(e->text), NULL));
}

static void load(struct catalogue *c, enum catalogue_file file, const uint8_t *s, size_t n)
{
    struct bytes b = {s, n};
    struct load_count count;
    struct err e = ERR_INIT;
    int64_t refused = 0;
    if (catalogue_load(c, file, give, &b, bad, &refused, &count, &e))
        assert(count.refused == refused);
    else
        assert(*e.text);
}

static void walk(const struct catalogue *c)
{
    struct arena *a = arena_new();
    size_t links;
    const struct link *l = catalogue_links(c, &links, a);
    struct graph *g = graph_new(a, catalogue_type_count(c), l, links);
    for (int t = 0; t < catalogue_type_count(c) && t < 8; t++) {
        struct type_doubt d[8];
        struct comparison x;
        struct lookup found;
        size_t n;
        type_doubts(d, ARRAY_LEN(d), catalogue_type(c, t));
        compare_types(&x, catalogue_type(c, 0), catalogue_type(c, t));
        assert(x.count <= COMPARE_DIFFERENCES);
        assert(catalogue_lookup(&found, c, g, catalogue_type(c, t)->designation, NULL));
        assert(found.meant > 0);
        stand_in_find(g, t, STAND_IN_FOR, STAND_IN_ALL, &n, a);
        assert(n < (size_t)catalogue_type_count(c));
    }
    arena_free(a);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n)
{
    static const char types[] =
        "designation,system,base,pins,heater_v\n6X1,RETMA,octal,2=h;7=h,6.3\n"
        "6X2,RETMA,octal,2=h;7=h,6.3\n";
    struct catalogue *c = catalogue_new();
    if (n) {
        load(c, FILE_TYPES, (const uint8_t *)types, sizeof types - 1);
        load(c, (enum catalogue_file)(data[0] % FILE__COUNT), data + 1, n - 1);
        walk(c);
    }
    catalogue_free(c);
    return 0;
}
