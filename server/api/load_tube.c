/* SPDX-License-Identifier: MIT
 *
 * load_tube: one line of a file of tubes.
 *
 * A line is known again by its stock number or its outside mark; a tube that is there is compared
 * field by field with what the line says, and never changed.  What a line leaves out is not
 * compared.
 */
#include "api/load_priv.h"

#include <string.h>

#include "api/tube.h"
#include "base/stockno.h"
#include "store/bin.h"
#include "store/inspection.h"
#include "store/lot.h"
#include "store/maker.h"
#include "store/tube.h"

#define LOOKS_COMPARED 50 /* latest looks at a tube among which a line's may be */

struct tube_row {
    struct tube_new words;
    const char *aspect[ASPECT__COUNT];
};

/* ---- columns ------------------------------------------------------------------------------ */

static const char *const ASPECT_HELP = "findings of this aspect, joined by '+'";

static void tube_columns(struct load_columns *out, struct store *st, struct arena *a)
{
    (void)st;
    size_t room = ASPECT__COUNT + 1, n = 0;
    for (const struct field *f = TUBE_NEW.field; f->name; f++)
        room++;
    out->field = arena_array(a, room, sizeof *out->field);
    for (const struct field *f = TUBE_NEW.field; f->name; f++) {
        if (strcmp(f->name, "lot_line") == 0) /* a row's number; only the API knows it */
            continue;
        out->field[n] = *f;
        if (strcmp(f->name, "printed") == 0)
            out->field[n].flags |= F_REQUIRED;
        n++;
    }
    for (int i = 0; i < ASPECT__COUNT; i++)
        out->field[n++] =
            (struct field){.name = inspection_aspect((enum aspect)i)->code,
                           .kind = K_TEXT,
                           .at = offsetof(struct tube_row, aspect) + (size_t)i * sizeof(char *),
                           .help = ASPECT_HELP};
    out->count = n;
    out->column = arena_array(a, n, sizeof *out->column);
    out->quantity = arena_array(a, n, sizeof(const struct quantity *));
    for (size_t i = 0; i < n; i++)
        out->column[i].code = out->field[i].name;
    out->shape = (struct shape){"tube line", sizeof(struct tube_row), out->field};
}

/* ---- a tube that is there ----------------------------------------------------------------- */

static bool differs(const struct tube *have, const char *field, const char *recorded,
                    const char *came, struct err *e)
{
    if (!recorded)
        return err_field(e, field, ERR_CONFLICT,
                         "tube %lld is there without %s, but %s came: change the tube, or the line",
                         (long long)have->stock_no, field, came);
    return err_field(e, field, ERR_CONFLICT,
                     "tube %lld is there with %s %s, but %s came: change the tube, or the line",
                     (long long)have->stock_no, field, recorded, came);
}

static bool same_words(const struct tube *have, const struct tube_new *in, struct err *e)
{
    const struct {
        const char *field, *recorded, *came;
    } pair[] = {
        {"mark", have->mark, in->mark},
        {"printed", have->printed, in->printed},
        {"maker", have->maker, in->maker},
        {"construction", have->construction, in->construction},
        {"date", have->date_text, in->date},
        {"lot", have->lot, in->lot},
        {"bin", have->bin, in->bin},
        {"history", tube_history_names[have->history],
         in->history == NONE ? NULL : tube_history_names[in->history]},
        {"history_word", have->history_word, in->history_word},
        {"note", have->note, in->note},
    };
    for (size_t i = 0; i < ARRAY_LEN(pair); i++)
        if (pair[i].came && (!pair[i].recorded || strcmp(pair[i].recorded, pair[i].came) != 0))
            return differs(have, pair[i].field, pair[i].recorded, pair[i].came, e);
    return true;
}

/* Was this very look recorded?  Otherwise the first aspect in which the latest differs is named. */
static bool same_look(struct store *st, const struct tube *have, const struct inspection *seen,
                      struct arena *a, struct err *e)
{
    struct list looks;
    const struct inspection none = {0};
    look_list(&looks, st, have->id, LOOKS_COMPARED, a);
    const struct look *l = looks.items;
    for (size_t i = 0; i < looks.count; i++)
        if (memcmp(&l[i].seen, seen, sizeof *seen) == 0)
            return true;
    const struct inspection *latest = looks.count ? &l[0].seen : &none;
    for (int i = 0; i < ASPECT__COUNT; i++) {
        const char *recorded = inspection_print(a, latest, (enum aspect)i);
        const char *came = inspection_print(a, seen, (enum aspect)i);
        if (strcmp(recorded, came) != 0)
            return differs(have, inspection_aspect((enum aspect)i)->code,
                           *recorded ? recorded : NULL, *came ? came : "nothing", e);
    }
    return true;
}

static bool is_empty(const struct inspection *seen)
{
    const struct inspection none = {0};
    return memcmp(seen, &none, sizeof none) == 0;
}

static bool compare(struct store *st, const struct tube *have, const struct tube_new *in,
                    const struct inspection *seen, struct arena *a, struct err *e)
{
    if (in->stock_no != NONE && in->stock_no != have->stock_no) /* found by its mark */
        return err_field(e, "mark", ERR_CONFLICT,
                         "the mark %s is on tube %lld already, not on %lld: a mark is on one tube",
                         in->mark, (long long)have->stock_no, (long long)in->stock_no);
    return same_words(have, in, e) && (is_empty(seen) || same_look(st, have, seen, a, e));
}

static bool find(struct tube *out, struct store *st, const struct tube_new *in, struct arena *a)
{
    return (in->stock_no != NONE && tube_load(out, st, in->stock_no, a, NULL)) ||
           (in->mark && tube_find_mark(out, st, in->mark, a));
}

/* ---- a new one ---------------------------------------------------------------------------- */

static bool seen_from(struct inspection *out, const struct tube_row *row, struct err *e)
{
    *out = (struct inspection){0};
    for (int i = 0; i < ASPECT__COUNT; i++)
        if (row->aspect[i] &&
            !inspection_read(out, (enum aspect)i, row->aspect[i], strlen(row->aspect[i]), e))
            return false;
    return true;
}

/* What may be made on the way is made, or in a dry run taken for made: its word is dropped. */
static bool make(struct load *l, struct store *st, struct tube_new *in, struct arena *a,
                 struct err *e)
{
    int64_t id;
    if (in->maker && l->making[LOAD_MAKES_MAKER] && !maker_find(&id, st, in->maker, NULL)) {
        l->wrote = !l->dry;
        if (l->dry)
            in->maker = NULL;
        else if (!maker_create(&id, st, &(struct maker){.name = in->maker}, a, e))
            return false;
    }
    if (in->lot && l->making[LOAD_MAKES_LOT] && !lot_find(&id, st, in->lot, NULL)) {
        const struct lot lot = {
            .code = in->lot, .title = in->lot, .bought_day = NONE, .cost_minor = NONE};
        l->wrote = !l->dry;
        if (l->dry)
            in->lot = NULL;
        else if (!lot_create(&id, st, &lot, a, e))
            return false;
    }
    if (in->bin && l->making[LOAD_MAKES_BIN] && !bin_find(&id, st, in->bin, NULL)) {
        l->wrote = !l->dry;
        if (l->dry)
            in->bin = NULL;
        else if (!bin_create(&id, st, &(struct bin){.code = in->bin}, a, e))
            return false;
    }
    return true;
}

/* The words are looked up before anything is made, so that a line that is refused leaves no maker
 * behind. */
static bool check_words(struct load *l, struct store *st, const struct tube_new *in,
                        struct arena *a, struct err *e)
{
    struct tube_new known = *in;
    struct tube t;
    if (l->making[LOAD_MAKES_MAKER])
        known.maker = NULL;
    if (l->making[LOAD_MAKES_LOT])
        known.lot = NULL;
    if (l->making[LOAD_MAKES_BIN])
        known.bin = NULL;
    return tube_from_words(&t, st, &known, a, e);
}

static bool tube_put(enum load_outcome *out, struct load *l, struct store *st, const void *from,
                     struct arena *a, struct err *e)
{
    const struct tube_row *row = from;
    struct tube_new in = row->words;
    struct tube t;
    struct look look = {.at_ms = NONE};
    int64_t id;
    in.lot_line = NONE;
    if (in.stock_no == NONE && !in.mark)
        return err_field(e, "mark", ERR_INVALID,
                         "a line needs a stock_no or a mark, so that loading it again cannot "
                         "double the tube");
    if (!seen_from(&look.seen, row, e))
        return false;
    if (find(&t, st, &in, a)) {
        *out = LOAD_UNCHANGED;
        return compare(st, &t, &in, &look.seen, a, e);
    }
    bool making =
        l->making[LOAD_MAKES_MAKER] || l->making[LOAD_MAKES_LOT] || l->making[LOAD_MAKES_BIN];
    if (making && (!check_words(l, st, &in, a, e) || !make(l, st, &in, a, e)))
        return false;
    if (!tube_from_words(&t, st, &in, a, e))
        return false;
    *out = LOAD_ACCEPTED;
    if (l->dry)
        return true;
    l->wrote = true;
    if (!tube_create(&id, st, &t, a, e))
        return false;
    if (is_empty(&look.seen))
        return true;
    look.tube_id = id;
    load_touch(l, id);
    int64_t look_id;
    return look_create(&look_id, st, &look, a, e);
}

const struct load_kind load_tubes = {"tube", tube_columns, tube_put, NULL};
