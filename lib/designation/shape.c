/* SPDX-License-Identifier: MIT
 *
 * shape: one or two heater figures, a type letter, a serial, an envelope letter and quality letters
 * make a word of GOST 5461-59 and 13393-76, in whichever alphabet it was typed; СГ and ГУ stand in
 * front of a number of their own.  All else is letters and figures one by one.
 */
#include "designation/shape.h"

size_t word_run(const struct word *w, size_t at, bool figures)
{
    size_t n = 0;
    while (at + n < w->n && glyph_is_figure(&w->g[at + n]) == figures)
        n++;
    return n;
}

static bool one_of(uint32_t c, const uint32_t *set, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (set[i] == c)
            return true;
    return false;
}

static bool is_pair(const struct word *w, size_t at, const char *pair)
{
    return at + 1 < w->n && w->g[at].c == (uint32_t)pair[0] && w->g[at + 1].c == (uint32_t)pair[1];
}

static void slot_add(struct slots *s, size_t first, size_t len, enum role role)
{
    s->slot[s->count++] = (struct slot){first, len, role};
}

static void slots_each(struct slots *s, size_t first, size_t end, enum role role)
{
    for (size_t i = first; i < end; i++)
        slot_add(s, i, 1, role);
}

/* The letter after the serial: П С Б А Г Н К Д, typed in either alphabet; a Latin G is no envelope
 * but the US shouldered bulb. */
static size_t envelope_len(const struct word *w, size_t at)
{
    static const uint32_t set[] = {'P',    'S',    'C',    'N',    'H',    'B',
                                   'A',    'K',    'D',    0x041F, 0x0421, 0x0411,
                                   0x0410, 0x0413, 0x041D, 0x041A, 0x0414};
    if (at >= w->n || w->g[at].gap || !one_of(w->g[at].c, set, ARRAY_LEN(set)))
        return 0;
    return is_pair(w, at, "PI") && !w->g[at + 1].gap ? 2 : 1;
}

/* Quality letters (В Е И Р Д К and their pairs), typed in either alphabet, up to the end. */
static bool quality_tail(const struct word *w, size_t at)
{
    static const uint32_t set[] = {'V', 'B',    'E',    'I',    'R',    'P',    'D',
                                   'K', 0x0412, 0x0415, 0x0418, 0x0420, 0x0414, 0x041A};
    if (w->n - at > 3)
        return false;
    for (size_t i = at; i < w->n; i++)
        if (!one_of(w->g[i].c, set, ARRAY_LEN(set)))
            return false;
    return true;
}

/* Type letter between heater figures and serial: one letter, or a transliteration of one. */
static bool is_kind(const struct word *w, size_t at, size_t len)
{
    static const char *const pairs[] = {"ZH", "TS", "KH", "YE"};
    if (len == 1)
        return true;
    for (size_t i = 0; len == 2 && i < ARRAY_LEN(pairs); i++)
        if (is_pair(w, at, pairs[i]))
            return true;
    return false;
}

/* GOST: one or two heater figures, type letter, one to three figures, envelope, quality. */
static bool gost_slots(struct slots *s, const struct word *w)
{
    size_t heater = word_run(w, 0, true);
    size_t kind = word_run(w, heater, false);
    size_t serial = word_run(w, heater + kind, true);
    size_t tail = heater + kind + serial;
    if (heater < 1 || heater > 2 || serial < 1 || serial > 3 || !is_kind(w, heater, kind))
        return false;
    size_t envelope = envelope_len(w, tail);
    if (!quality_tail(w, tail + envelope))
        return false;
    slots_each(s, 0, heater, ROLE_ANY);
    slot_add(s, heater, kind, ROLE_KIND);
    slots_each(s, heater + kind, tail, ROLE_ANY);
    if (envelope)
        slot_add(s, tail, envelope, ROLE_ENVELOPE);
    slots_each(s, tail + envelope, w->n, ROLE_QUALITY);
    return true;
}

/* СГ1П and ГУ50 typed in Latin letters by look: CG1P, GY50. */
static bool group_slots(struct slots *s, const struct word *w)
{
    size_t serial = word_run(w, 2, true);
    if (word_run(w, 0, false) != 2 || serial < 1 || serial > 3 ||
        !(is_pair(w, 0, "CG") || is_pair(w, 0, "GY") || is_pair(w, 0, "SG")))
        return false;
    size_t envelope = envelope_len(w, 2 + serial);
    if (!quality_tail(w, 2 + serial + envelope))
        return false;
    slot_add(s, 0, 2, ROLE_GROUP);
    slots_each(s, 2, 2 + serial, ROLE_ANY);
    if (envelope)
        slot_add(s, 2 + serial, envelope, ROLE_ENVELOPE);
    slots_each(s, 2 + serial + envelope, w->n, ROLE_QUALITY);
    return true;
}

static void mark_envelope(struct marks *m, const struct word *w, const struct slot *s)
{
    const struct glyph *g = &w->g[s->first];
    if (s->role == ROLE_KIND && g->c == 'N' && g->lower)
        m->small_n = true;
    if (s->role != ROLE_ENVELOPE)
        return;
    m->small_n = m->small_n || g->c == 'N';
    m->c_envelope = m->c_envelope || g->c == 'C';
    m->p_envelope = m->p_envelope || g->c == 'P';
}

/* A Latin word without envelope letter, or with A, B, D or K behind a single serial figure, is as
 * well a US or Chinese number (6H6, 6J6A): its Cyrillic readings only suggest. */
static bool is_weak(const struct word *w, const struct slots *s)
{
    size_t serial = 0;
    for (size_t i = 0; i < s->count; i++) {
        const struct slot *t = &s->slot[i];
        if (t->role == ROLE_GROUP)
            return false;
        if (t->role == ROLE_KIND)
            serial = word_run(w, t->first + t->len, true);
        if (t->role == ROLE_ENVELOPE) {
            uint32_t c = w->g[t->first].c;
            return serial == 1 && (c == 'A' || c == 'B' || c == 'D' || c == 'K');
        }
    }
    return true;
}

void word_shape(struct slots *s, struct marks *m, const struct word *w)
{
    *m = (struct marks){.all_twins = true};
    *s = (struct slots){0};
    for (size_t i = 0; i < w->n; i++) {
        const struct cyrillic *row = word_cyrillic(w->g[i].c);
        m->cyrillic = m->cyrillic || row;
        m->all_twins = m->all_twins && (!row || row->twin);
        m->latin = m->latin || glyph_is_latin(&w->g[i]);
    }
    m->gost = gost_slots(s, w) || (!m->cyrillic && group_slots(s, w));
    if (!m->gost)
        slots_each(s, 0, w->n, ROLE_ANY);
    for (size_t i = 0; i < s->count; i++)
        mark_envelope(m, w, &s->slot[i]);
    m->weak = m->gost && !m->cyrillic && is_weak(w, s);
}
