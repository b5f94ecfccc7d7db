/* SPDX-License-Identifier: MIT
 *
 * wire_set: one value into its field, checked.
 *
 * Nothing here knows JSON: a value comes as text or as an integer, from a body, a query or a CSV
 * cell alike, so that all three are checked by the same rules and refused in the same words.  The
 * value of a secret field is never repeated in a sentence, for sentences are logged.
 */
#include "api/wire_priv.h"
#include "base/date.h"
#include "base/decimal.h"
#include "base/stockno.h"
#include "base/text.h"

#include <inttypes.h>
#include <string.h>

#define SHOW(s, n)     text_show((char[TEXT_SHOW_BYTES]){0}, s, n)
#define LONGEST_DIGITS 19 /* of an int64_t */

/* ---- values -------------------------------------------------------------------------------------
 */

/* Text of a K_NOTE may hold line breaks and tabs, but nothing else that cannot be seen. */
static bool check_note(const char *s, size_t n, struct err *e)
{
    if (!text_check(s, n, e))
        return false;
    for (const char *p = s; p < s + n;) {
        const char *at = p;
        uint32_t c = text_next(&p);
        if ((c < 0x20 && c != '\n' && c != '\r' && c != '\t') || (c >= 0x7F && c <= 0x9F))
            return err_at(e, ERR_INVALID, at - s,
                          "A control character (U+%04X) at offset %td; give plain text.",
                          (unsigned)c, at - s);
    }
    return true;
}

/* Printable ASCII needs no further look. */
static bool is_plain(const char *s, size_t n)
{
    bool plain = true;
    for (size_t i = 0; i < n; i++)
        plain &= s[i] >= 0x20 && s[i] < 0x7F;
    return plain;
}

static bool check_text(const struct field *f, const char *s, size_t n, const struct wire_path *at,
                       struct err *e)
{
    char wants[WIRE_WANTS_BYTES];
    if (n > (size_t)wire_max(f))
        return wire_refuse(e, ERR_TOO_LARGE, at, "has %zu bytes; it must be %s.", n,
                           wire_wants(wants, f));
    size_t left = n;
    (void)text_trim(s, &left);
    if (n < (size_t)wire_min(f) || (!left && wire_min(f) > 0))
        return wire_refuse(e, ERR_INVALID, at, "%s; it must be %s.",
                           !n      ? "is empty"
                           : !left ? "holds only white space"
                                   : "is too short",
                           wire_wants(wants, f));
    if (is_plain(s, n))
        return true;
    bool good = f->kind == K_NOTE ? check_note(s, n, e) : text_check_line(s, n, SIZE_MAX, e);
    return good || wire_refuse_in(e, at);
}

static bool check_decimal(const struct field *f, const char *s, size_t n,
                          const struct wire_path *at, struct err *e)
{
    struct decimal d;
    if (!decimal_parse(&d, s, n, e))
        return wire_refuse_in(e, at);
    int64_t one = 1;
    for (int i = 0; i < d.decimals; i++)
        one *= 10;
    if (wide_compare(d.mantissa, 1, wire_min(f), one) < 0 ||
        wide_compare(d.mantissa, 1, wire_max(f), one) > 0)
        return wire_refuse(e, ERR_INVALID, at,
                           "is \"%s\"; it must be from %" PRId64 " to %" PRId64 ".", SHOW(s, n),
                           wire_min(f), wire_max(f));
    return true;
}

static bool find_name(int64_t *out, const struct field *f, const char *s, size_t n,
                      const struct wire_path *at, struct err *e)
{
    for (int64_t i = 0; f->names[i]; i++) {
        if (strlen(f->names[i]) == n && !memcmp(f->names[i], s, n)) {
            *out = i;
            return true;
        }
    }
    char wants[WIRE_WANTS_BYTES];
    return wire_refuse(e, ERR_INVALID, at, "is \"%s\"; it must be %s.", SHOW(s, n),
                       wire_wants(wants, f));
}

/* The kinds that are one text on the wire and an int64_t in the struct. */
static bool number_from_text(int64_t *out, const struct field *f, const char *s, size_t n,
                             const struct wire_path *at, struct err *e)
{
    if (f->kind == K_ENUM)
        return find_name(out, f, s, n, at, e);
    bool good = f->kind == K_STOCKNO  ? stockno_parse(out, s, n, e)
                : f->kind == K_MOMENT ? moment_parse(out, s, n, e)
                                      : date_parse(out, s, n, e);
    return good || wire_refuse_in(e, at);
}

/* The same refusal without the words that might repeat the secret. */
static bool hush(const struct field *f, const struct wire_path *at, struct err *e)
{
    char wants[WIRE_WANTS_BYTES];
    enum err_code code = e ? e->code : ERR_INVALID;
    return wire_refuse(e, code, at, "cannot be taken; it must be %s.", wire_wants(wants, f));
}

bool wire_take_text(void *to, const struct field *f, const char *s, size_t n,
                    const struct wire_path *at, struct arena *a, struct err *e)
{
    void *slot = (char *)to + f->at;
    int64_t v = NONE;
    bool kept = f->kind == K_TEXT || f->kind == K_NOTE || f->kind == K_DECIMAL;
    bool good = f->kind == K_DECIMAL ? check_decimal(f, s, n, at, e)
                : kept               ? check_text(f, s, n, at, e)
                                     : number_from_text(&v, f, s, n, at, e);
    if (!good)
        return f->flags & F_SECRET ? hush(f, at, e) : false;
    if (kept)
        *(const char **)slot = arena_bytes(a, s, n);
    else
        *(int64_t *)slot = v;
    return true;
}

bool wire_take_int(void *to, const struct field *f, int64_t v, const struct wire_path *at,
                   struct err *e)
{
    char wants[WIRE_WANTS_BYTES];
    if (v < wire_min(f) || v > wire_max(f)) {
        if (f->flags & F_SECRET)
            return hush(f, at, e);
        return wire_refuse(e, ERR_INVALID, at, "is %" PRId64 "; it must be %s.", v,
                           wire_wants(wants, f));
    }
    *(int64_t *)((char *)to + f->at) = v;
    return true;
}

/* ---- one field from its text --------------------------------------------------------------------
 */

/* [-]digits that fit an int64_t, and nothing else. */
static bool int_from_text(int64_t *out, const char *s)
{
    bool minus = *s == '-';
    const char *p = s + minus;
    size_t n = strspn(p, "0123456789");
    if (!n || n > LONGEST_DIGITS || p[n])
        return false;
    int64_t v = 0;
    for (; *p; p++)
        if (__builtin_mul_overflow(v, 10, &v) || __builtin_sub_overflow(v, *p - '0', &v))
            return false;
    if (!minus && v == INT64_MIN)
        return false;
    *out = minus ? v : -v;
    return true;
}

static bool bool_from_text(int64_t *out, const char *s)
{
    static const char *const words[] = {"false", "true", "no", "yes", "0", "1"};
    for (size_t i = 0; i < ARRAY_LEN(words); i++) {
        if (!strcasecmp(s, words[i])) {
            *out = (int64_t)(i % 2);
            return true;
        }
    }
    return false;
}

static bool append_text(void *to, const struct field *f, const char *s, const struct wire_path *at,
                        struct arena *a, struct err *e)
{
    struct texts *t = (struct texts *)(void *)((char *)to + f->at);
    if (!check_text(f, s, strlen(s), at, e))
        return f->flags & F_SECRET ? hush(f, at, e) : false;
    if (t->count >= (size_t)WIRE_ITEMS)
        return wire_refuse(e, ERR_TOO_LARGE, at, "is given more than %" PRId64 " times.",
                           WIRE_ITEMS);
    const char **items = arena_array(a, t->count + 1, sizeof *items);
    if (t->count)
        memcpy(items, t->items, t->count * sizeof *items);
    items[t->count] = arena_text(a, s);
    *t = (struct texts){items, t->count + 1};
    return true;
}

bool wire_set(void *to, const struct shape *s, const char *name, const char *text, struct arena *a,
              struct err *e)
{
    const struct wire_path at = {NULL, name, 0};
    const struct field *f = wire_find(s, name);
    char wants[WIRE_WANTS_BYTES];
    int64_t v = NONE;
    if (!f || f->kind == K_RAW || f->kind == K_OBJECT || f->kind == K_LIST)
        return wire_refuse_unknown(s, &at, e);
    if (!*text)
        return true;
    if (f->kind == K_TEXTS)
        return append_text(to, f, text, &at, a, e);
    if (!wire_is_absent(f, to))
        return wire_refuse(e, ERR_INVALID, &at, "is given twice; give it once.");
    if (wire_is_text(f->kind))
        return wire_take_text(to, f, text, strlen(text), &at, a, e);
    if (f->kind == K_INT && int_from_text(&v, text))
        return wire_take_int(to, f, v, &at, e);
    if (f->kind == K_BOOL && bool_from_text(&v, text)) {
        *(int64_t *)(void *)((char *)to + f->at) = v;
        return true;
    }
    if (f->flags & F_SECRET)
        return hush(f, &at, e);
    return wire_refuse(e, ERR_INVALID, &at, "is \"%s\"; it must be %s.", SHOW(text, strlen(text)),
                       wire_wants(wants, f));
}
