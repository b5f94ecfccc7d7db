/* SPDX-License-Identifier: MIT
 *
 * inspection: the vocabulary as one table, and how it is read and printed.
 *
 * Three facts of the trade are built into the rows and not left to a scheme.  The area of the
 * getter flash varies so much between new tubes that it never lowers a grade (only white, which is
 * air, does); differences in the moulding of the glass mean nothing; and a box is not the tube: it
 * is evidence of history, and never more than that.  Pins dulled by air still fit an unused tube,
 * since decades of air dull them; brushed pins say nothing either way, since they can be brushed
 * up.
 */
#include "grade/inspection.h"

#include "base/text.h"

#include <stdio.h>
#include <string.h>

#define CUSTOM  "common practice, no source"
#define MEMORY  "test practice, Inspection: from memory"
#define PAGE    "test practice, Inspection: found (getter pages)"
#define UNUSED  BEARING_UNUSED
#define NEUTRAL BEARING_NEUTRAL
#define USED    BEARING_USED
#define DOUBT   BEARING_DOUBT
#define ENDS    FINDING_ENDS
#define NEVER   FINDING_NEVER_LOWERS
#define NOTJ    (FINDING_NOT_JUDGED | FINDING_ALONE)
#define NOTA    (FINDING_NOT_APPLICABLE | FINDING_ALONE)
#define ALONE   FINDING_ALONE

static const struct inspection_aspect aspects[ASPECT__COUNT] = {
    [ASPECT_PINS] = {"pins", "pins"},
    [ASPECT_GETTER] = {"getter", "getter flash"},
    [ASPECT_GETTER_EDGE] = {"getter_edge", "getter edge"},
    [ASPECT_PLATE] = {"plate", "heat marks"},
    [ASPECT_BASE] = {"base", "base"},
    [ASPECT_LABEL] = {"label", "label"},
    [ASPECT_GLASS] = {"glass", "glass"},
    [ASPECT_CAP] = {"cap", "top cap"},
    [ASPECT_LOOSE] = {"loose", "loose parts"},
    [ASPECT_BOX] = {"box", "box"},
};

/* aspect, code, words, bearing on history, flags, kind, source */
/* clang-format off */
static const struct inspection_finding findings[] = {
    [FINDING_PINS_BRIGHT] = {ASPECT_PINS, "bright", "bright", UNUSED, 0, 1, CUSTOM},
    [FINDING_PINS_DULL] = {ASPECT_PINS, "dull", "dulled by air", UNUSED, 0, 1, CUSTOM},
    [FINDING_PINS_SINGLE_TEST] = {ASPECT_PINS, "single-test", "marks of a single test", UNUSED, 0, 2, CUSTOM},
    [FINDING_PINS_CLEANED] = {ASPECT_PINS, "cleaned", "cleaned", NEUTRAL, 0, 1, CUSTOM},
    [FINDING_PINS_WORN] = {ASPECT_PINS, "worn", "worn by sockets", USED, 0, 2, MEMORY},
    [FINDING_PINS_SOLDER] = {ASPECT_PINS, "solder", "solder on them", USED, 0, 0, MEMORY},
    [FINDING_PINS_BENT] = {ASPECT_PINS, "bent", "bent", USED, 0, 0, MEMORY},
    [FINDING_PINS_BROKEN] = {ASPECT_PINS, "broken", "one or more broken off", NEUTRAL, 0, 0, CUSTOM},

    [FINDING_GETTER_FULL] = {ASPECT_GETTER, "full", "full for its construction", UNUSED, NEVER, 1, PAGE},
    [FINDING_GETTER_MOST] = {ASPECT_GETTER, "most", "somewhat less than usual", NEUTRAL, NEVER, 1, PAGE},
    [FINDING_GETTER_HALF] = {ASPECT_GETTER, "half", "about half of what is usual", NEUTRAL, NEVER, 1, PAGE},
    [FINDING_GETTER_LITTLE] = {ASPECT_GETTER, "little", "only a trace", NEUTRAL, NEVER, 1, PAGE},
    [FINDING_GETTER_NONE] = {ASPECT_GETTER, "none", "none to be seen", NEUTRAL, NEVER, 1, PAGE},
    [FINDING_GETTER_TINTED] = {ASPECT_GETTER, "tinted", "brown or black tint", NEUTRAL, NEVER, 0, PAGE},
    [FINDING_GETTER_NOT_JUDGED] = {ASPECT_GETTER, "not-judged", "not judged", NEUTRAL, NEVER | NOTJ, 1, CUSTOM},
    [FINDING_GETTER_WHITE] = {ASPECT_GETTER, "white", "white: air has got in", NEUTRAL, ENDS | ALONE, 1, PAGE},

    [FINDING_EDGE_SHARP] = {ASPECT_GETTER_EDGE, "sharp", "sharp", UNUSED, 0, 1, CUSTOM},
    [FINDING_EDGE_PATCHY] = {ASPECT_GETTER_EDGE, "patchy", "soft or patchy", NEUTRAL, 0, 1, PAGE},
    [FINDING_EDGE_NOT_JUDGED] = {ASPECT_GETTER_EDGE, "not-judged", "not judged", NEUTRAL, NOTJ, 1, CUSTOM},
    [FINDING_EDGE_RECEDING] = {ASPECT_GETTER_EDGE, "receding", "receding with a pale line", USED, 0, 1, CUSTOM},

    [FINDING_PLATE_CLEAN] = {ASPECT_PLATE, "clean", "none", NEUTRAL, ALONE, 1, CUSTOM},
    [FINDING_PLATE_NOT_JUDGED] = {ASPECT_PLATE, "not-judged", "not judged", NEUTRAL, NOTJ, 1, CUSTOM},
    [FINDING_PLATE_SLIGHT] = {ASPECT_PLATE, "slight", "slight", USED, 0, 1, MEMORY},
    [FINDING_PLATE_BROWN] = {ASPECT_PLATE, "brown", "brown marks, frosted finish or darkened mica", USED, 0, 1, MEMORY},
    [FINDING_PLATE_SAGGED] = {ASPECT_PLATE, "sagged", "grids sagged or plate warped", USED, 0, 0, MEMORY},

    [FINDING_BASE_SOUND] = {ASPECT_BASE, "sound", "sound", UNUSED, ALONE, 1, CUSTOM},
    [FINDING_BASE_NONE] = {ASPECT_BASE, "none", "all glass, no base", NEUTRAL, NOTA, 1, CUSTOM},
    [FINDING_BASE_SCORCHED] = {ASPECT_BASE, "scorched", "scorched", USED, 0, 0, MEMORY},
    [FINDING_BASE_LOOSE] = {ASPECT_BASE, "loose", "loose", NEUTRAL, 0, 0, MEMORY},
    [FINDING_BASE_CRACKED] = {ASPECT_BASE, "cracked", "cracked", NEUTRAL, 0, 0, CUSTOM},
    [FINDING_BASE_KEY_BROKEN] = {ASPECT_BASE, "key-broken", "locating key cracked or gone", NEUTRAL, 0, 0, MEMORY},

    [FINDING_LABEL_CLEAR] = {ASPECT_LABEL, "clear", "clear", UNUSED, 0, 1, CUSTOM},
    [FINDING_LABEL_FADED] = {ASPECT_LABEL, "faded", "faded", NEUTRAL, 0, 1, CUSTOM},
    [FINDING_LABEL_PARTIAL] = {ASPECT_LABEL, "partial", "partly gone", NEUTRAL, 0, 1, CUSTOM},
    [FINDING_LABEL_NONE] = {ASPECT_LABEL, "none", "none left", NEUTRAL, 0, 1, CUSTOM},
    [FINDING_LABEL_RELABELLED] = {ASPECT_LABEL, "relabelled", "signs of relabelling", DOUBT, 0, 0, MEMORY},

    [FINDING_GLASS_SOUND] = {ASPECT_GLASS, "sound", "sound", NEUTRAL, ALONE, 1, CUSTOM},
    [FINDING_GLASS_MOULDING] = {ASPECT_GLASS, "moulding", "moulded a little differently", NEUTRAL, NEVER, 0, CUSTOM},
    [FINDING_GLASS_SCRATCHED] = {ASPECT_GLASS, "scratched", "scratched", NEUTRAL, 0, 0, CUSTOM},
    [FINDING_GLASS_DARKENED] = {ASPECT_GLASS, "darkened", "darkened from inside", USED, 0, 0, CUSTOM},
    [FINDING_GLASS_CRACKED] = {ASPECT_GLASS, "cracked", "cracked, or the tip broken", NEUTRAL, ENDS, 0, CUSTOM},

    [FINDING_CAP_SOUND] = {ASPECT_CAP, "sound", "sound", NEUTRAL, ALONE, 1, CUSTOM},
    [FINDING_CAP_NONE] = {ASPECT_CAP, "none", "the type has none", NEUTRAL, NOTA, 1, CUSTOM},
    [FINDING_CAP_RESOLDERED] = {ASPECT_CAP, "resoldered", "soldered on again", USED, 0, 0, MEMORY},
    [FINDING_CAP_LOOSE] = {ASPECT_CAP, "loose", "loose", NEUTRAL, 0, 1, CUSTOM},
    [FINDING_CAP_MISSING] = {ASPECT_CAP, "missing", "broken off", NEUTRAL, 0, 1, CUSTOM},

    [FINDING_LOOSE_NONE] = {ASPECT_LOOSE, "none", "none", NEUTRAL, ALONE, 1, CUSTOM},
    [FINDING_LOOSE_FLAKE] = {ASPECT_LOOSE, "flake", "flakes of getter or mica", NEUTRAL, 0, 0, CUSTOM},
    [FINDING_LOOSE_RATTLE] = {ASPECT_LOOSE, "rattle", "something rattles", NEUTRAL, 0, 0, CUSTOM},
    [FINDING_LOOSE_PART] = {ASPECT_LOOSE, "part", "a part of the system is loose", NEUTRAL, 0, 0, CUSTOM},

    [FINDING_BOX_ORIGINAL] = {ASPECT_BOX, "original", "original", UNUSED, NEVER, 1, CUSTOM},
    [FINDING_BOX_OTHER] = {ASPECT_BOX, "other", "another one", NEUTRAL, NEVER, 1, MEMORY},
    [FINDING_BOX_NONE] = {ASPECT_BOX, "none", "none", NEUTRAL, NEVER, 1, MEMORY},
    [FINDING_BOX_SUSPECTED] = {ASPECT_BOX, "suspected", "suspected to be false", DOUBT, NEVER, 1, CUSTOM},
};
/* clang-format on */
_Static_assert(ARRAY_LEN(findings) == FINDING__COUNT, "a row for every finding");

const struct inspection_aspect *inspection_aspect(enum aspect a)
{
    return &aspects[a];
}

const struct inspection_finding *inspection_finding(enum finding f)
{
    return &findings[f];
}

int inspection_first(enum aspect a)
{
    int f = 0;
    while (findings[f].aspect != a)
        f++;
    return f;
}

int inspection_count(enum aspect a)
{
    int count = 0;
    for (int f = 0; f < FINDING__COUNT; f++)
        count += findings[f].aspect == a;
    return count;
}

/* ---- finding by code ----------------------------------------------------------------------------
 */
static bool same(const char *code, const char *s, size_t n)
{
    return strlen(code) == n && memcmp(code, s, n) == 0;
}

static void list_add(char *buf, size_t size, const char *code)
{
    size_t at = strlen(buf);
    snprintf(buf + at, size - at, "%s%s", at ? ", " : "", code);
}

bool inspection_aspect_find(enum aspect *out, const char *s, size_t n, struct err *e)
{
    char known[160] = "", shown[TEXT_SHOW_BYTES];
    for (int a = 0; a < ASPECT__COUNT; a++) {
        if (same(aspects[a].code, s, n)) {
            *out = (enum aspect)a;
            return true;
        }
        list_add(known, sizeof known, aspects[a].code);
    }
    return err_set(e, ERR_INVALID, "\"%s\" is no part of an inspection: there are %s",
                   text_show(shown, s, n), known);
}

bool inspection_finding_find(enum finding *out, enum aspect a, const char *s, size_t n,
                             struct err *e)
{
    char known[160] = "", shown[TEXT_SHOW_BYTES];
    int first = (int)inspection_first(a), end = first + inspection_count(a);
    for (int f = first; f < end; f++) {
        if (same(findings[f].code, s, n)) {
            *out = (enum finding)f;
            return true;
        }
        list_add(known, sizeof known, findings[f].code);
    }
    return err_field(e, aspects[a].code, ERR_INVALID,
                     "\"%s\" is not a finding on the %s: choose %s", text_show(shown, s, n),
                     aspects[a].words, known);
}

/* ---- reading and checking -----------------------------------------------------------------------
 */
static bool contradicts(const struct inspection_finding *x, const struct inspection_finding *y)
{
    if (x->kind && x->kind == y->kind)
        return true;
    return (x->flags & FINDING_ALONE && !(y->flags & FINDING_NEVER_LOWERS)) ||
           (y->flags & FINDING_ALONE && !(x->flags & FINDING_NEVER_LOWERS));
}

static bool check_aspect(const struct inspection *in, enum aspect a, struct err *e)
{
    int first = (int)inspection_first(a), end = first + inspection_count(a);
    for (int f = first; f < end; f++)
        for (int g = f + 1; g < end; g++)
            if (in->seen[f] && in->seen[g] && contradicts(&findings[f], &findings[g]))
                return err_field(e, aspects[a].code, ERR_INVALID,
                                 "%s cannot be both \"%s\" and \"%s\": note one of them",
                                 aspects[a].words, findings[f].code, findings[g].code);
    return true;
}

bool inspection_check(const struct inspection *in, struct err *e)
{
    for (int a = 0; a < ASPECT__COUNT; a++)
        if (!check_aspect(in, (enum aspect)a, e))
            return false;
    return true;
}

static bool is_gap(char c)
{
    return c == ' ' || c == '\t' || c == '+' || c == ',';
}

bool inspection_read(struct inspection *in, enum aspect a, const char *s, size_t n, struct err *e)
{
    struct inspection next = *in;
    memset(next.seen + inspection_first(a), 0, (size_t)inspection_count(a) * sizeof next.seen[0]);
    for (size_t at = 0; at < n;) {
        size_t end = at;
        while (end < n && !is_gap(s[end]))
            end++;
        if (end > at) {
            enum finding f;
            if (!inspection_finding_find(&f, a, s + at, end - at, e))
                return false;
            next.seen[f] = true;
        }
        at = end + 1;
    }
    if (!check_aspect(&next, a, e))
        return false;
    *in = next;
    return true;
}

/* One "aspect=findings" of a whole look. */
static bool parse_part(struct inspection *in, const char *s, size_t n, struct err *e)
{
    char shown[TEXT_SHOW_BYTES];
    size_t mark = 0;
    while (mark < n && s[mark] != '=' && s[mark] != ':')
        mark++;
    if (mark == n)
        return err_set(e, ERR_INVALID,
                       "\"%s\" does not say what was seen: write it like \"pins=dull\"",
                       text_show(shown, s, n));
    size_t name_len = mark;
    const char *name = text_trim(s, &name_len);
    enum aspect a;
    if (!inspection_aspect_find(&a, name, name_len, e))
        return false;
    if (inspection_looked(in, a))
        return err_field(e, aspects[a].code, ERR_INVALID,
                         "%s stands twice: join its findings with +", aspects[a].code);
    if (!inspection_read(in, a, s + mark + 1, n - mark - 1, e))
        return false;
    if (!inspection_looked(in, a))
        return err_field(e, aspects[a].code, ERR_INVALID,
                         "%s has no finding: leave it out where it was not looked at",
                         aspects[a].code);
    return true;
}

bool inspection_parse(struct inspection *out, const char *s, size_t n, struct err *e)
{
    struct inspection in = {0};
    for (size_t at = 0; at < n;) {
        size_t end = at;
        while (end < n && s[end] != ';')
            end++;
        size_t part_len = end - at;
        const char *part = text_trim(s + at, &part_len);
        if (part_len && !parse_part(&in, part, part_len, e))
            return false;
        at = end + 1;
    }
    *out = in;
    return true;
}

bool inspection_looked(const struct inspection *in, enum aspect a)
{
    int first = (int)inspection_first(a), end = first + inspection_count(a);
    for (int f = first; f < end; f++)
        if (in->seen[f])
            return true;
    return false;
}

bool inspection_ends(const struct inspection *in, enum finding *out)
{
    for (int f = 0; f < FINDING__COUNT; f++)
        if (in->seen[f] && findings[f].flags & FINDING_ENDS) {
            if (out)
                *out = (enum finding)f;
            return true;
        }
    return false;
}

/* ---- printing -----------------------------------------------------------------------------------
 */
const char *inspection_print(struct arena *a, const struct inspection *in, enum aspect aspect)
{
    const char *text = "";
    int first = (int)inspection_first(aspect), end = first + inspection_count(aspect);
    for (int f = first; f < end; f++)
        if (in->seen[f])
            text = arena_printf(a, "%s%s%s", text, *text ? "+" : "", findings[f].code);
    return text;
}

const char *inspection_words(struct arena *a, const struct inspection *in, enum aspect aspect)
{
    const char *text = "";
    int first = (int)inspection_first(aspect), end = first + inspection_count(aspect);
    for (int f = first; f < end; f++)
        if (in->seen[f])
            text = arena_printf(a, "%s%s%s", text, *text ? ", " : "", findings[f].words);
    return *text ? text : "not looked at";
}

const char *inspection_print_all(struct arena *a, const struct inspection *in)
{
    const char *text = "";
    for (int i = 0; i < ASPECT__COUNT; i++)
        if (inspection_looked(in, (enum aspect)i))
            text = arena_printf(a, "%s%s%s=%s", text, *text ? "; " : "", aspects[i].code,
                                inspection_print(a, in, (enum aspect)i));
    return text;
}
