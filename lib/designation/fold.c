/* SPDX-License-Identifier: MIT
 *
 * fold: reading a word in every plausible way.
 *
 * A word is cut into slots (heater figures, type letter, serial, envelope letter, quality letters
 * where it has the GOST shape; single letters otherwise).  Each slot has a few readings with a
 * cost; the readings of all slots are multiplied out, the cheapest FOLD_KEYS kept.  One letter is
 * read one way throughout a word, with the one exception the trade makes (5C3C for 5Ц3С).
 *
 * Two whole hypotheses exist for a word with Cyrillic letters: they are meant (6С4П is 6S4P), or,
 * when each of them has a Latin twin, they only look Latin (ЕСС83 is ECC83).  The GOST shape
 * favours the first, any other shape the second.
 *
 * Letter O and figure 0, letter I and figure 1 are one character of a key: US numbers never use O
 * and I (Radiotron Designer's Handbook, 4th ed.), the European letter O and a figure 0 mean the
 * same cold cathode, and OA2 is how people type 0A2.
 */
#include "designation/shape.h"

#include <stdio.h>
#include <string.h>

/* ---- readings of Latin letters in a GOST-shaped word --------------------------------------------
 * Sources: the look-alike traps and transliterations of seed-data/catalogue/designations.md section
 * 5, found at http://www.rutubes.com/articles_for_description/symbols.htm,
 * http://us3iat.qrz.ru/tube/obozn.htm and
 * https://www.astronix.su/ru/catalog/tubes/tube_marking.html. */
enum need {
    NEED_NOTHING,
    NEED_DRAWN,     /* the word is typed by look: it has n or C for П or С */
    NEED_NOT_DRAWN, /* the word is not typed by look */
    NEED_NO_SMALL_N,
    NEED_N_IS_P /* a small n, and П is not written P in the same word */
};

static const struct reading {
    enum role role;
    char typed[3];
    char means[3];
    enum need need;
    unsigned why;
} readings[] = {
    {ROLE_KIND, "C", "S", NEED_NOTHING, FOLD_CYRILLIC_MEANT},
    {ROLE_KIND, "C", "TS", NEED_NO_SMALL_N, FOLD_TRADE},
    {ROLE_KIND, "H", "N", NEED_NOTHING, FOLD_CYRILLIC_MEANT},
    {ROLE_KIND, "H", "KH", NEED_NOT_DRAWN, FOLD_TRADE},
    {ROLE_KIND, "B", "V", NEED_NOTHING, FOLD_CYRILLIC_MEANT},
    {ROLE_KIND, "P", "R", NEED_DRAWN, FOLD_CYRILLIC_MEANT},
    {ROLE_KIND, "X", "KH", NEED_NOTHING, FOLD_CYRILLIC_MEANT},
    {ROLE_KIND, "J", "ZH", NEED_NOTHING, FOLD_TRADE},
    {ROLE_KIND, "Z", "TS", NEED_NOTHING, FOLD_TRADE},
    {ROLE_KIND, "N", "P", NEED_N_IS_P, FOLD_CYRILLIC_MEANT},
    {ROLE_KIND, "YE", "E", NEED_NOTHING, FOLD_TRADE},
    {ROLE_ENVELOPE, "C", "S", NEED_NOTHING, FOLD_CYRILLIC_MEANT},
    {ROLE_ENVELOPE, "N", "P", NEED_NOTHING, FOLD_CYRILLIC_MEANT},
    {ROLE_ENVELOPE, "H", "N", NEED_NOTHING, FOLD_CYRILLIC_MEANT},
    {ROLE_ENVELOPE, "PI", "P", NEED_NOTHING, FOLD_TRADE},
    {ROLE_QUALITY, "B", "V", NEED_NOTHING, FOLD_CYRILLIC_MEANT},
    {ROLE_QUALITY, "P", "R", NEED_NOTHING, FOLD_CYRILLIC_MEANT},
    {ROLE_GROUP, "CG", "SG", NEED_NOTHING, FOLD_CYRILLIC_MEANT}, /* СГ: regulators */
    {ROLE_GROUP, "GY", "GU", NEED_NOTHING, FOLD_CYRILLIC_MEANT}, /* ГУ: transmitting */
};

static bool drawn(const struct marks *m)
{
    return m->small_n || m->c_envelope;
}

static bool need_holds(enum need need, const struct marks *m, bool lower)
{
    switch (need) {
    case NEED_NOTHING:
        return true;
    case NEED_DRAWN:
        return drawn(m);
    case NEED_NOT_DRAWN:
        return !drawn(m);
    case NEED_NO_SMALL_N:
        return !m->small_n;
    case NEED_N_IS_P:
        return lower && !m->p_envelope;
    }
    return false;
}

/* ---- multiplying the readings out ----------------------------------------------------------- */

#define CONSISTENT "CHN" /* letters that are read one way throughout a word */

struct partial {
    struct fold_key key;
    char read[sizeof CONSISTENT]; /* first letter each was read as, 0 for not yet */
};

struct beam {
    size_t count;
    struct partial p[FOLD_KEYS];
};

/* O and 0, I and 1 are one character of a key. */
static char key_char(char c)
{
    return c == 'O' ? '0' : c == 'I' ? '1' : c;
}

/* Insert by cost, behind equals; the dearest falls off. */
static void beam_insert(struct beam *b, const struct partial *p)
{
    size_t at = b->count;
    while (at > 0 && b->p[at - 1].key.cost > p->key.cost)
        at--;
    if (at == FOLD_KEYS)
        return;
    if (b->count < FOLD_KEYS)
        b->count++;
    memmove(&b->p[at + 1], &b->p[at], (b->count - 1 - at) * sizeof b->p[0]);
    b->p[at] = *p;
}

static bool read_consistently(struct partial *p, char typed, const char *means)
{
    const char *which = strchr(CONSISTENT, typed);
    if (!which || !typed)
        return true;
    char *read = &p->read[which - CONSISTENT];
    bool ts_and_s = (*read == 'T' && means[0] == 'S') || (*read == 'S' && means[0] == 'T');
    if (*read && *read != means[0] && !ts_and_s)
        return false;
    *read = means[0];
    return true;
}

static void extend(struct beam *next, const struct partial *from, char typed, const char *means,
                   int cost, unsigned why)
{
    struct partial p = *from;
    if (!read_consistently(&p, typed, means))
        return;
    size_t n = strlen(p.key.text);
    for (const char *c = means; *c && n + 1 < FOLD_BYTES; c++) {
        p.key.text[n] = key_char(*c);
        p.key.word[n++] = *c;
    }
    p.key.text[n] = p.key.word[n] = 0;
    p.key.cost += cost;
    p.key.why |= why;
    beam_insert(next, &p);
}

/* A Latin letter in a word whose other letters are Cyrillic and meant: S for C and so on.  P stays
 * P first, because П has no Latin twin and is typed P. */
static void extend_mixed(struct beam *next, const struct partial *from, char c)
{
    static const struct {
        char typed;
        const char *means;
        int cost, literal_cost;
    } rows[] = {{'C', "S", 0, 1},  {'H', "N", 0, 1}, {'B', "V", 0, 1},
                {'X', "KH", 0, 1}, {'Y', "U", 0, 1}, {'P', "R", 1, 0}};
    const char literal[2] = {c, 0};
    for (size_t i = 0; i < ARRAY_LEN(rows); i++)
        if (rows[i].typed == c) {
            extend(next, from, c, rows[i].means, rows[i].cost, FOLD_CYRILLIC_MEANT);
            extend(next, from, c, literal, rows[i].literal_cost, FOLD_PLAIN);
            return;
        }
    extend(next, from, c, literal, 0, FOLD_PLAIN);
}

/* The readings of one slot with Latin letters in a GOST-shaped word. */
static void extend_gost(struct beam *next, const struct partial *from, const struct word *w,
                        const struct slot *s, const struct marks *m)
{
    char typed[3] = {0};
    for (size_t i = 0; i < s->len && i < 2; i++)
        typed[i] = (char)w->g[s->first + i].c;
    int literal_cost = 0;
    for (size_t i = 0; i < ARRAY_LEN(readings); i++) {
        const struct reading *r = &readings[i];
        if (r->role != s->role || strcmp(r->typed, typed) != 0 ||
            !need_holds(r->need, m, w->g[s->first].lower))
            continue;
        /* beside Cyrillic letters a look-alike is more likely the Cyrillic one */
        int cost = m->cyrillic && r->why == FOLD_CYRILLIC_MEANT ? 0 : 1;
        if (cost == 0)
            literal_cost = 1;
        extend(next, from, s->len == 1 ? typed[0] : 0, r->means, cost,
               r->why | (m->weak ? FOLD_WEAK : 0));
    }
    extend(next, from, s->len == 1 ? typed[0] : 0, typed, literal_cost, FOLD_PLAIN);
}

static void extend_slot(struct beam *next, const struct partial *from, const struct word *w,
                        const struct slot *s, const struct marks *m, bool look_latin)
{
    const struct glyph *g = &w->g[s->first];
    const struct cyrillic *row = word_cyrillic(g->c);
    if (row && look_latin) {
        const char twin[2] = {row->twin, 0};
        extend(next, from, 0, twin, 0, FOLD_LATIN_MEANT);
    } else if (row) {
        extend(next, from, 0, row->means, 0, FOLD_PLAIN);
    } else if (glyph_is_figure(g) || look_latin) {
        for (size_t i = 0; i < s->len; i++) {
            const char literal[2] = {(char)w->g[s->first + i].c, 0};
            extend(next, from, 0, literal, 0, FOLD_PLAIN);
        }
    } else if (s->role != ROLE_ANY) {
        extend_gost(next, from, w, s, m);
    } else if (m->cyrillic) {
        extend_mixed(next, from, (char)g->c);
    } else {
        const char literal[2] = {(char)g->c, 0};
        extend(next, from, 0, literal, 0, FOLD_PLAIN);
    }
}

static void word_read(struct beam *out, const struct word *w, const struct slots *s,
                      const struct marks *m, bool look_latin, int cost)
{
    struct beam now = {.count = 1};
    now.p[0].key.cost = cost;
    for (size_t i = 0; i < s->count; i++) {
        struct beam next = {0};
        for (size_t k = 0; k < now.count; k++)
            extend_slot(&next, &now.p[k], w, &s->slot[i], m, look_latin);
        now = next;
    }
    *out = now;
}

/* ---- the JAN mark --------------------------------------------------------------------------- */

/* JAN, then perhaps the maker's code of C and two or three letters, in front of the name (MIL-E-1,
 * from memory). */
static bool drop_mark(struct word *w)
{
    if (w->n < 5 || w->g[0].c != 'J' || w->g[1].c != 'A' || w->g[2].c != 'N')
        return false;
    size_t code = word_run(w, 3, false), skip = 3;
    for (size_t i = 4; i < 3 + code; i++)
        if (w->g[i].gap) /* letters behind a gap belong to the name */
            code = i - 3;
    if ((code == 3 || code == 4) && w->g[3].c == 'C')
        skip += code;
    if (skip >= w->n)
        return false;
    w->n -= skip;
    memmove(w->g, w->g + skip, w->n * sizeof w->g[0]);
    w->g[0].gap = false;
    return true;
}

/* ---- what the header promises --------------------------------------------------------------- */

static void fold_add(struct fold *f, const struct beam *b, unsigned why)
{
    for (size_t i = 0; i < b->count; i++) {
        struct fold_key k = b->p[i].key;
        k.why |= why;
        size_t at = 0;
        while (at < f->count && strcmp(f->key[at].text, k.text) != 0)
            at++;
        if (at < f->count) {
            if (f->key[at].cost <= k.cost)
                continue;
            memmove(&f->key[at], &f->key[at + 1], (--f->count - at) * sizeof k);
        }
        at = f->count;
        while (at > 0 && f->key[at - 1].cost > k.cost)
            at--;
        if (at == FOLD_KEYS)
            continue;
        if (f->count < FOLD_KEYS)
            f->count++;
        memmove(&f->key[at + 1], &f->key[at], (f->count - 1 - at) * sizeof k);
        f->key[at] = k;
    }
}

static void fold_word(struct fold *f, struct word w, unsigned why)
{
    struct slots slots;
    struct marks m;
    struct beam beam;
    while (drop_mark(&w))
        why |= FOLD_MARK;
    word_shape(&slots, &m, &w);
    bool meant_first = m.gost || !m.cyrillic || !m.all_twins;
    word_read(&beam, &w, &slots, &m, false, meant_first ? 0 : 3);
    fold_add(f, &beam, why);
    if (m.cyrillic && m.all_twins) {
        word_read(&beam, &w, &slots, &m, true, meant_first ? 3 : 0);
        fold_add(f, &beam, why | (m.gost ? FOLD_WEAK : 0));
    }
}

bool fold_read(struct fold *out, const char *text, struct err *e)
{
    struct words words;
    struct fold f = {0};
    if (!word_scan(&words, text, e))
        return false;
    for (size_t i = 0; i < words.count; i++)
        fold_word(&f, words.word[i], words.count > 1 ? FOLD_PART : 0);
    *out = f;
    return true;
}

bool fold_key(char key[FOLD_BYTES], const char *text, struct err *e)
{
    struct words words;
    struct fold f = {0};
    if (!word_scan(&words, text, e))
        return false;
    fold_word(&f, words.word[0], 0);
    memcpy(key, f.key[0].text, FOLD_BYTES);
    return true;
}

bool designation_check(const char *text, struct err *e)
{
    struct words words;
    if (!word_scan(&words, text, e))
        return false;
    if (words.joined)
        return err_set(e, ERR_INVALID,
                       "this looks like two names in one; enter them one by one, such as 12AX7 and "
                       "ECC83");
    return true;
}

enum fold_likeness fold_compare(const char *a, const char *b)
{
    struct words wa, wb;
    if (strcmp(a, b) == 0)
        return FOLD_VERBATIM;
    if (!word_scan(&wa, a, NULL) || !word_scan(&wb, b, NULL) || wa.count != wb.count)
        return FOLD_OTHER;
    for (size_t k = 0; k < wa.count; k++) {
        if (wa.word[k].n != wb.word[k].n)
            return FOLD_OTHER;
        for (size_t i = 0; i < wa.word[k].n; i++)
            if (wa.word[k].g[i].c != wb.word[k].g[i].c)
                return FOLD_OTHER;
    }
    return FOLD_SAME;
}

const char *fold_why_print(char *buf, unsigned why)
{
    static const struct {
        unsigned bit;
        const char *text;
    } rows[] = {
        {FOLD_CYRILLIC_MEANT, "a Latin letter read as the Cyrillic one drawn alike"},
        {FOLD_LATIN_MEANT, "a Cyrillic letter read as the Latin one drawn alike"},
        {FOLD_TRADE, "a transliteration of the trade"},
        {FOLD_MARK, "the JAN mark left out"},
        {FOLD_PART, "one of several names in the text"},
        {FOLD_WEAK, "though it is a sound designation as it stands"},
    };
    size_t n = 0;
    buf[0] = 0;
    for (size_t i = 0; i < ARRAY_LEN(rows); i++)
        if (why & rows[i].bit)
            n += (size_t)snprintf(buf + n, FOLD_WHY_BYTES - n, "%s%s", n ? "; " : "", rows[i].text);
    return buf;
}
