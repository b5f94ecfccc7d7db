/* SPDX-License-Identifier: MIT
 *
 * The bundled catalogue, read from seed-data, for the tests that hold over all of it.
 */
#ifndef TESTS_BUNDLED_CATALOGUE_H
#define TESTS_BUNDLED_CATALOGUE_H

#include "catalogue/load.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

static long bundled_read(void *ctx, char *buf, size_t n)
{
    size_t got = fread(buf, 1, n, ctx);
    return got == 0 && ferror((FILE *)ctx) ? -1 : (long)got;
}

static void bundled_bad(void *ctx, const struct err *e)
{
    print_error("%s:%lld %s: %s\n", (const char *)ctx, (long long)e->line, e->field, e->text);
}

/* Owned by the caller.  Fails the test on any bad line. */
static inline struct catalogue *bundled_catalogue(void)
{
    struct catalogue *c = catalogue_new();
    for (int f = 0; f < FILE__COUNT; f++) {
        char path[100];
        snprintf(path, sizeof path, "seed-data/catalogue/%s", catalogue_files[f]);
        FILE *in = fopen(path, "rb");
        struct load_count count;
        struct err e = ERR_INIT;
        if (!in)
            fail_msg("%s cannot be opened; run the tests from the top folder", path);
        if (!catalogue_load(c, (enum catalogue_file)f, bundled_read, in, bundled_bad, path, &count,
                            &e))
            fail_msg("%s: %s", path, e.text);
        fclose(in);
        assert_int_equal(count.refused, 0);
    }
    return c;
}

#endif
