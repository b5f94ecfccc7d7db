/* SPDX-License-Identifier: MIT
 *
 * word: one walk over the code points.  A table row names each alphabet's letters once; whatever is
 * in no table is refused with its place, so nothing unreadable is ever folded into a key.
 */
#include "designation/word.h"

#include "base/text.h"

#include <string.h>

/* Meaning: the usual transliteration of the tube trade, GOST 5461-59 and 13393-76 letter tables
 * (http://www.rutubes.com/articles_for_description/symbols.htm).  Twins: letters drawn alike in
 * common sans-serif faces. */
static const struct cyrillic cyrillic_rows[] = {
    {0x0410, "A", 'A'}, {0x0411, "B", 0},    {0x0412, "V", 'B'}, {0x0413, "G", 0},
    {0x0414, "D", 0},   {0x0415, "E", 'E'},  {0x0416, "ZH", 0},  {0x0417, "Z", 0},
    {0x0418, "I", 0},   {0x0419, "I", 0},    {0x041A, "K", 'K'}, {0x041B, "L", 0},
    {0x041C, "M", 'M'}, {0x041D, "N", 'H'},  {0x041E, "O", 'O'}, {0x041F, "P", 0},
    {0x0420, "R", 'P'}, {0x0421, "S", 'C'},  {0x0422, "T", 'T'}, {0x0423, "U", 'Y'},
    {0x0424, "F", 0},   {0x0425, "KH", 'X'}, {0x0426, "TS", 0},  {0x0427, "CH", 0},
    {0x0428, "SH", 0},  {0x042B, "Y", 0},    {0x042D, "E", 0},   {0x042E, "YU", 0},
    {0x042F, "YA", 0},  {0x0405, "S", 'S'},  {0x0406, "I", 'I'}, {0x0408, "J", 'J'},
};

/* Greek capitals drawn like Latin ones: nobody means them, a keyboard or a scan produced them. */
static const struct {
    uint32_t c;
    char latin;
} greek_rows[] = {
    {0x0391, 'A'}, {0x0392, 'B'}, {0x0395, 'E'}, {0x0396, 'Z'}, {0x0397, 'H'},
    {0x0399, 'I'}, {0x039A, 'K'}, {0x039C, 'M'}, {0x039D, 'N'}, {0x039F, 'O'},
    {0x03A1, 'P'}, {0x03A4, 'T'}, {0x03A5, 'Y'}, {0x03A7, 'X'},
};

const struct cyrillic *word_cyrillic(uint32_t c)
{
    for (size_t i = 0; i < ARRAY_LEN(cyrillic_rows); i++)
        if (cyrillic_rows[i].c == c)
            return &cyrillic_rows[i];
    return NULL;
}

bool glyph_is_figure(const struct glyph *g)
{
    return g->c >= '0' && g->c <= '9';
}

bool glyph_is_latin(const struct glyph *g)
{
    return g->c >= 'A' && g->c <= 'Z';
}

static bool is_separator(uint32_t c)
{
    return c == ' ' || c == '\t' || c == '-' || c == '.' || c == '_' || c == 0xA0 || c == 0xAD ||
           (c >= 0x2000 && c <= 0x2015) || c == 0x202F || c == 0x2212 || c == 0xFE63 ||
           c == 0xFF0D || c == 0x3000;
}

static bool is_joint(uint32_t c)
{
    return c == '/' || c == '=' || c == '(' || c == ')' || c == '[' || c == ']' || c == ',';
}

/* Fold case and width; true when c is a letter or figure a designation can hold. */
static bool glyph_from(struct glyph *g, uint32_t c)
{
    bool lower = false;
    if (c >= 0xFF01 && c <= 0xFF5E) /* full-width form */
        c = c - 0xFF01 + '!';
    if (c >= 'a' && c <= 'z') {
        c = c - 'a' + 'A';
        lower = true;
    } else if ((c >= 0x0430 && c <= 0x044F) || (c >= 0x03B1 && c <= 0x03C9)) {
        c -= 0x20;
        lower = true;
    } else if (c == 0x0451 || c == 0x0401) { /* ё is е with dots */
        lower = c == 0x0451;
        c = 0x0415;
    } else if (c >= 0x0450 && c <= 0x045F) {
        c -= 0x50;
        lower = true;
    }
    for (size_t i = 0; i < ARRAY_LEN(greek_rows); i++)
        if (greek_rows[i].c == c)
            c = (uint32_t)greek_rows[i].latin;
    g->c = c;
    g->lower = lower;
    return glyph_is_figure(g) || glyph_is_latin(g) || word_cyrillic(c);
}

static bool has_figure(const struct word *w)
{
    for (size_t i = 0; i < w->n; i++)
        if (glyph_is_figure(&w->g[i]))
            return true;
    return false;
}

/* VR150/30 is one name: letters in front, volts, and behind the slash two figures of milliamperes.
 */
static bool is_current(const struct word *before, const struct word *w)
{
    return w->n == 2 && glyph_is_figure(&w->g[0]) && glyph_is_figure(&w->g[1]) &&
           !glyph_is_figure(&before->g[0]) && before->n + w->n <= DESIGNATION_CHARS;
}

/* A slash does not always stand between two names: "GT/G" joins two suffixes (what has at most two
 * letters and no figure goes), VR150/30 two figures (they are put together). */
static void mend_parts(struct words *out)
{
    if (!has_figure(&out->word[0]))
        return;
    size_t kept = 1;
    for (size_t i = 1; i < out->count; i++) {
        struct word *before = &out->word[kept - 1], *w = &out->word[i];
        if (is_current(before, w)) {
            memcpy(before->g + before->n, w->g, w->n * sizeof w->g[0]);
            before->g[before->n].gap = true;
            before->n += w->n;
        } else if (has_figure(w) || w->n > 2) {
            out->word[kept++] = *w;
        }
    }
    out->count = kept;
}

static bool refuse_character(struct err *e, const char *text, const char *at, const char *end)
{
    char show[TEXT_SHOW_BYTES];
    return err_at(
        e, ERR_INVALID, at - text,
        "a designation holds letters, figures, spaces and dashes; \"%s\" at byte %d is none "
        "of these",
        text_show(show, at, (size_t)(end - at)), (int)(at - text));
}

static bool check_size(const char *text, size_t n, struct err *e)
{
    if (n > DESIGNATION_BYTES)
        return err_at(e, ERR_TOO_LARGE, DESIGNATION_BYTES,
                      "a designation has at most %d characters; this text has %zu bytes",
                      DESIGNATION_CHARS, n);
    return text_check(text, n, e);
}

bool word_scan(struct words *out, const char *text, struct err *e)
{
    struct words found = {0};
    size_t chars = 0;
    bool gap = false, fresh = true;
    if (!check_size(text, strlen(text), e))
        return false;
    for (const char *s = text; *s;) {
        const char *at = s;
        uint32_t c = text_next(&s);
        struct glyph g;
        if (is_separator(c)) {
            gap = true;
        } else if (is_joint(c)) {
            found.joined = found.joined || found.count > 0 || c != ',';
            fresh = true;
        } else if (glyph_from(&g, c)) {
            if (fresh && found.count == WORDS)
                return err_at(e, ERR_TOO_LARGE, at - text,
                              "at most %d names can be read from one text; give them one by one",
                              WORDS);
            if (chars++ == DESIGNATION_CHARS)
                return err_at(
                    e, ERR_TOO_LARGE, at - text,
                    "a designation has at most %d letters and figures; this text has more",
                    DESIGNATION_CHARS);
            if (fresh)
                found.count++;
            struct word *w = &found.word[found.count - 1];
            g.gap = gap && w->n > 0;
            w->g[w->n++] = g;
            gap = fresh = false;
        } else {
            return refuse_character(e, text, at, s);
        }
    }
    if (found.count == 0)
        return err_at(e, ERR_INVALID, 0,
                      "a designation needs at least one letter or figure, such as 12AX7 or 6Н2П");
    mend_parts(&found);
    *out = found;
    return true;
}
