/* SPDX-License-Identifier: MIT
 *
 * designation under any bytes: what is read has bounded keys of the key's alphabet, each of which
 * folds to itself; the first is the stored key; a stem is a beginning of its key; decoding neither
 * crashes nor overruns; what is refused is refused with a place and a sentence.
 */
#include "base/text.h"
#include "designation/decode.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n);

static void check_key(const struct fold_key *k)
{
    char again[FOLD_BYTES], stem[FOLD_BYTES], suffix[FOLD_BYTES], why[FOLD_WHY_BYTES];
    size_t n = strlen(k->text);
    assert(n >= 1 && n < FOLD_BYTES && strlen(k->word) == n);
    assert(strspn(k->text, "ABCDEFGHJKLMNPQRSTUVWXYZ0123456789") == n);
    fold_stem(stem, suffix, k->text);
    assert(strlen(stem) + strlen(suffix) == n && strncmp(k->text, stem, strlen(stem)) == 0);
    assert(strlen(fold_why_print(why, k->why)) < FOLD_WHY_BYTES - 1);
    if (n > DESIGNATION_CHARS || strncmp(k->text, "JAN", 3) == 0)
        return;
    assert(fold_key(again, k->text, NULL) && strcmp(again, k->text) == 0);
}

static void check_decoding(const char *s)
{
    struct decoding d;
    assert(decode_text(&d, s, NULL));
    assert(d.count <= DECODE_READINGS);
    for (size_t i = 0; i < d.count; i++) {
        const struct decoded *r = &d.reading[i];
        assert((unsigned)r->system < SYSTEM__COUNT && *r->word);
        assert(strlen(r->remark) < sizeof r->remark - 1); /* nothing was cut */
        assert(!r->exception || *r->remark);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n)
{
    char *s = malloc(n + 1), key[FOLD_BYTES];
    struct err e = ERR_INIT;
    struct fold f = {.count = 77};
    if (n)
        memcpy(s, data, n);
    s[n] = '\0';
    if (fold_read(&f, s, &e)) {
        assert(f.count >= 1 && f.count <= FOLD_KEYS);
        for (size_t i = 0; i < f.count; i++) {
            check_key(&f.key[i]);
            assert(i == 0 || f.key[i - 1].cost <= f.key[i].cost);
            for (size_t k = 0; k < i; k++)
                assert(strcmp(f.key[i].text, f.key[k].text) != 0);
        }
        assert(fold_key(key, s, NULL) && strcmp(key, f.key[0].text) == 0);
        assert(fold_compare(s, s) == FOLD_VERBATIM);
        check_decoding(s);
    } else {
        assert(f.count == 77 && (e.code == ERR_INVALID || e.code == ERR_TOO_LARGE));
        assert(e.at >= 0 && (size_t)e.at <= strlen(s));
        assert(text_check(e.text, strlen(e.text), NULL));
        assert(!designation_check(s, NULL));
    }
    free(s);
    return 0;
}
