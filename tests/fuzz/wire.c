/* SPDX-License-Identifier: MIT
 *
 * wire under random bytes.  An input that begins with '?' is a query parameter ("?name=text"), any
 * other is a body.  What is refused must be refused with a sentence; what is taken must, when
 * packed, be JSON by jansson's reading, and be taken again with the same packed text.
 */
#include <assert.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <jansson.h>

#include "api/wire.h"

static const char *const colours[] = {"green", "amber", "red", NULL};

struct thing {
    const char *name, *note, *pin, *typed;
    int64_t count, big, kept, stock_no, moment, day, colour;
    struct texts tags;
    struct thing *inner;
    struct list things;
};

#define AT(f) offsetof(struct thing, f)
static const struct shape thing_shape;
static const struct field thing_fields[] = {
    {"name", K_TEXT, F_REQUIRED, AT(name), .min = 1, .max = 20, .help = "h"},
    {"note", K_NOTE, F_NULL, AT(note), .help = "h"},
    {"pin", K_TEXT, F_SECRET, AT(pin), .min = 4, .max = 8, .help = "h"},
    {"typed", K_DECIMAL, 0, AT(typed), .min = -10, .max = 100, .help = "h"},
    {"count", K_INT, 0, AT(count), .min = 1, .max = 100, .help = "h"},
    {"big", K_INT, F_NULL, AT(big), .help = "h"},
    {"kept", K_BOOL, 0, AT(kept), .help = "h"},
    {"stock_no", K_STOCKNO, 0, AT(stock_no), .help = "h"},
    {"moment", K_MOMENT, 0, AT(moment), .help = "h"},
    {"day", K_DATE, 0, AT(day), .help = "h"},
    {"colour", K_ENUM, 0, AT(colour), .names = colours, .help = "h"},
    {"tags", K_TEXTS, 0, AT(tags), .min = 1, .max = 5, .help = "h"},
    {"inner", K_OBJECT, 0, AT(inner), .sub = &thing_shape, .help = "h"},
    {"things", K_LIST, 0, AT(things), .max = 3, .sub = &thing_shape, .help = "h"},
    {0},
};
static const struct shape thing_shape = {"thing", sizeof(struct thing), thing_fields};

static void check_refusal(const struct err *e, struct arena *a)
{
    size_t n;
    assert(e->code == ERR_INVALID || e->code == ERR_TOO_LARGE);
    assert(strlen(e->text) > 10);
    const char *problem = wire_problem(e, 422, "r", a, &n);
    json_t *j = json_loadb(problem, n, JSON_REJECT_DUPLICATES, NULL);
    assert(j);
    json_decref(j);
}

static void check_taken(const void *thing, struct arena *a)
{
    struct err e = ERR_INIT;
    size_t n, again_n;
    void *again;
    const char *json = wire_pack(&thing_shape, thing, a, &n);
    json_t *j = json_loadb(json, n, JSON_REJECT_DUPLICATES, NULL);
    assert(j);
    json_decref(j);
    bool good = wire_unpack(&again, &thing_shape, json, n, a, &e);
    assert(good);
    const char *same = wire_pack(&thing_shape, again, a, &again_n);
    assert(n == again_n && !memcmp(json, same, n));
}

static void set_one(const char *input, struct arena *a)
{
    struct err e = ERR_INIT;
    struct thing *t = wire_blank(&thing_shape, a);
    char *name = arena_text(a, input + 1), *text = strchr(name, '=');
    if (!text)
        return;
    *text++ = '\0';
    if (!wire_set(t, &thing_shape, name, text, a, &e)) {
        check_refusal(&e, a);
        return;
    }
    if (!t->name)
        t->name = "x";
    check_taken(t, a);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n)
{
    struct arena *a = arena_new();
    struct err e = ERR_INIT;
    char *input = arena_bytes(a, (const char *)data, n);
    void *out;
    if (n && *input == '?')
        set_one(input, a);
    else if (wire_unpack(&out, &thing_shape, input, n, a, &e))
        check_taken(out, a);
    else
        check_refusal(&e, a);
    arena_free(a);
    return 0;
}
