/* SPDX-License-Identifier: MIT
 *
 * The one way to fail and the one way to allocate.  Expected values follow from err.h and arena.h.
 */
#include "base/arena.h"
#include "base/err.h"

#include <stdalign.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

static void failing_is_one_line_that_returns_false(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    assert_false(err_set(&e, ERR_NOT_FOUND, "no type %s", "12AX7"));
    assert_int_equal(e.code, ERR_NOT_FOUND);
    assert_string_equal(e.text, "no type 12AX7");
    assert_int_equal(e.at, -1);
    assert_string_equal(e.field, "");
}

static void a_failure_says_where(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    e.line = 7;
    assert_false(err_at(&e, ERR_INVALID, 3, "bad byte"));
    assert_int_equal(e.at, 3);
    assert_false(err_field(&e, "bin", ERR_INVALID, "unknown bin"));
    assert_string_equal(e.field, "bin");
    assert_int_equal(e.at, -1);
    assert_int_equal(e.line, 7);
    assert_false(err_set(&e, ERR_CONFLICT, "x"));
    assert_string_equal(e.field, "bin");
}

static void a_field_is_named_afterwards_without_touching_the_rest(void **state)
{
    (void)state;
    struct err e = ERR_INIT;
    err_at(&e, ERR_INVALID, 5, "no number");
    assert_false(err_in(&e, "gm"));
    assert_string_equal(e.field, "gm");
    assert_string_equal(e.text, "no number");
    assert_int_equal(e.at, 5);
    assert_false(err_in(&e, NULL));
    assert_string_equal(e.field, "");
}

static void long_texts_and_fields_are_cut_not_overrun(void **state)
{
    (void)state;
    char longer[1000];
    memset(longer, 'x', sizeof longer - 1);
    longer[sizeof longer - 1] = '\0';
    struct err e = ERR_INIT;
    err_field(&e, longer, ERR_INVALID, "%s", longer);
    assert_int_equal(strlen(e.text), sizeof e.text - 1);
    assert_int_equal(strlen(e.field), sizeof e.field - 1);
}

static void a_caller_who_does_not_care_passes_null(void **state)
{
    (void)state;
    assert_false(err_set(NULL, ERR_INVALID, "x"));
    assert_false(err_at(NULL, ERR_INVALID, 1, "x"));
    assert_false(err_field(NULL, "f", ERR_INVALID, "x"));
    assert_false(err_in(NULL, "f"));
}

static void arena_memory_is_zeroed_aligned_and_its_own(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    unsigned char *kept[400];
    for (size_t i = 0; i < ARRAY_LEN(kept); i++) {
        size_t n = i * 7 % 300 + 1;
        kept[i] = arena_alloc(a, n);
        assert_int_equal((uintptr_t)kept[i] % alignof(max_align_t), 0);
        for (size_t k = 0; k < n; k++)
            assert_int_equal(kept[i][k], 0);
        memset(kept[i], (int)i, n);
    }
    for (size_t i = 0; i < ARRAY_LEN(kept); i++)
        for (size_t k = 0; k < i * 7 % 300 + 1; k++)
            assert_int_equal(kept[i][k], (unsigned char)i);
    arena_free(a);
}

static void a_request_larger_than_a_block_leaves_the_current_block_in_use(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    char *before = arena_alloc(a, 16);
    char *large = arena_alloc(a, (size_t)1 << 20);
    char *after = arena_alloc(a, 16);
    memset(large, 'x', (size_t)1 << 20);
    assert_ptr_equal(after, before + 16);
    assert_true(arena_used(a) >= ((size_t)1 << 20) + 32);
    arena_free(a);
}

static void a_reset_arena_forgets_and_zeroes_again(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    for (int round = 0; round < 3; round++) {
        assert_int_equal(arena_used(a), 0);
        for (int i = 0; i < 50; i++) {
            unsigned char *p = arena_alloc(a, 1000);
            for (size_t k = 0; k < 1000; k++)
                assert_int_equal(p[k], 0);
            memset(p, 0xA5, 1000);
        }
        arena_alloc(a, 100000);
        arena_reset(a);
    }
    arena_free(a);
}

static void copies_live_in_the_arena(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    char source[] = "6\xD0\x9D"
                    "2\xD0\x9F";
    char *t = arena_text(a, source), *b = arena_bytes(a, source, 3);
    source[0] = '?';
    assert_string_equal(t, "6\xD0\x9D"
                           "2\xD0\x9F");
    assert_string_equal(b, "6\xD0\x9D");
    assert_null(arena_text(a, NULL));
    assert_string_equal(arena_bytes(a, NULL, 0), "");
    assert_string_equal(arena_printf(a, "%d of %s", 4, "EL34"), "4 of EL34");
    int *numbers = arena_array(a, 1000, sizeof *numbers);
    assert_int_equal(numbers[999], 0);
    assert_non_null(arena_array(a, 0, sizeof *numbers));
    arena_free(a);
    arena_free(NULL);
}

static void the_heap_never_returns_null(void **state)
{
    (void)state;
    void *p = xmalloc(0), *q = xcalloc(0, 0);
    assert_non_null(p);
    assert_non_null(q);
    p = xrealloc(p, 100);
    assert_non_null(p);
    free(p);
    free(q);
    p = xrealloc(NULL, 0);
    assert_non_null(p);
    free(p);
    char *s = xstrdup("bin 4");
    assert_string_equal(s, "bin 4");
    free(s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(failing_is_one_line_that_returns_false),
        cmocka_unit_test(a_failure_says_where),
        cmocka_unit_test(a_field_is_named_afterwards_without_touching_the_rest),
        cmocka_unit_test(long_texts_and_fields_are_cut_not_overrun),
        cmocka_unit_test(a_caller_who_does_not_care_passes_null),
        cmocka_unit_test(arena_memory_is_zeroed_aligned_and_its_own),
        cmocka_unit_test(a_request_larger_than_a_block_leaves_the_current_block_in_use),
        cmocka_unit_test(a_reset_arena_forgets_and_zeroes_again),
        cmocka_unit_test(copies_live_in_the_arena),
        cmocka_unit_test(the_heap_never_returns_null),
    };
    return cmocka_run_group_tests_name("err_arena", tests, NULL, NULL);
}
