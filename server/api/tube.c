/* SPDX-License-Identifier: MIT
 *
 * tube: routes of tubes.
 */
#include "api/tube.h"

#include <string.h>

#include "api/page.h"
#include "api/version.h"
#include "base/date.h"
#include "base/stockno.h"
#include "base/text.h"
#include "store/bin.h"
#include "store/catalogue.h"
#include "store/construction.h"
#include "store/journal.h"
#include "store/lot.h"
#include "store/maker.h"
#include "store/tube.h"

/* ---- shapes ------------------------------------------------------------------------------- */

#define AT(f) offsetof(struct tube, f)
static const struct field TUBE_FIELDS[] = {
    {"stock_no", K_STOCKNO, F_REQUIRED, AT(stock_no), .help = "with its check digit"},
    {"type", K_TEXT, F_REQUIRED, AT(type), .help = "type in the catalogue", .example = "ECC83"},
    {"family", K_TEXT, 0, AT(family), .help = "designation its family is listed under"},
    {"printed", K_TEXT, F_REQUIRED, AT(printed), .help = "designation as printed on it"},
    {"maker", K_TEXT, 0, AT(maker), .help = "maker's name"},
    {"construction", K_TEXT, 0, AT(construction), .help = "how it is built"},
    {"date", K_TEXT, 0, AT(date_text), .help = "date code as printed"},
    {"made_first", K_DATE, 0, AT(made_first_day), .help = "first day it may have been made"},
    {"made_last", K_DATE, 0, AT(made_last_day), .help = "last day it may have been made"},
    {"lot", K_TEXT, 0, AT(lot), .help = "code of the lot it came from"},
    {"bin", K_TEXT, 0, AT(bin), .help = "where it lies"},
    {"history", K_ENUM, F_REQUIRED, AT(history), .names = tube_history_names,
     .help = "what is claimed of its use"},
    {"history_word", K_TEXT, 0, AT(history_word), .help = "on whose word"},
    {"mark", K_TEXT, 0, AT(mark), .help = "another number on it"},
    {"note", K_NOTE, 0, AT(note), .help = "free text"},
    {"state", K_ENUM, F_REQUIRED, AT(state), .names = tube_state_names, .help = "its life"},
    {"grade", K_TEXT, 0, AT(grade), .help = "of the latest grading"},
    {"unconfirmed", K_BOOL, F_REQUIRED, AT(unconfirmed),
     .help = "questions about its readings wait for an answer"},
    {"set", K_INT, 0, AT(set_id), .help = "the set it belongs to"},
    {"held_until", K_MOMENT, 0, AT(held_until_ms), .help = "it is kept for somebody until then"},
    {"version", K_INT, F_REQUIRED, AT(version), .help = "for If-Match"},
    {0},
};
const struct shape TUBE = {"tube", sizeof(struct tube), TUBE_FIELDS};
#undef AT

static const struct field TUBE_ASK_FIELDS[] = {
    {"stock_no", K_STOCKNO, F_PATH | F_REQUIRED, offsetof(struct tube_ask, stock_no),
     .help = "stock number"},
    {0},
};
const struct shape TUBE_ASK = {"tube_ask", sizeof(struct tube_ask), TUBE_ASK_FIELDS};

#define AT(f) offsetof(struct tube_new, f)
#define TUBE_WORDS                                                                                \
    {"maker", K_TEXT, 0, AT(maker), 1, 100, .help = "maker's name, one of the makers"},           \
        {"construction", K_TEXT, 0, AT(construction), 1, 200, .help = "title of a construction"}, \
        {"date",                                                                                  \
         K_TEXT,                                                                                  \
         0,                                                                                       \
         AT(date),                                                                                \
         1,                                                                                       \
         40,                                                                                      \
         .help =                                                                                  \
             "date code as printed; as 1962, 1962-03, 1962-W11 or 1958..1962 it also gives the "  \
             "window",                                                                            \
         .example = "1958..1962"},                                                                \
        {"lot", K_TEXT, 0, AT(lot), 1, 40, .help = "code of the lot"},                            \
        {"bin", K_TEXT, 0, AT(bin), 1, 40, .help = "code of the bin it lies in"},                 \
        {"history",                                                                               \
         K_ENUM,                                                                                  \
         0,                                                                                       \
         AT(history),                                                                             \
         .names = tube_history_names,                                                             \
         .help = "what is claimed of its use"},                                                   \
        {"history_word", K_TEXT, 0, AT(history_word), 1, 200, .help = "on whose word"},           \
        {"mark", K_TEXT, 0, AT(mark), 1, 60, .help = "another number on it, unique"},             \
    {                                                                                             \
        "note", K_NOTE, 0, AT(note), .help = "free text"                                          \
    }

static const struct field TUBE_NEW_FIELDS[] = {
    {"stock_no", K_STOCKNO, 0, AT(stock_no),
     .help = "from a reserved run; without it the next number is given"},
    {"printed", K_TEXT, 0, AT(printed), 1, 60,
     .help = "designation as printed; may be left out with lot_line", .example = "6Н2П"},
    {"lot_line", K_INT, 0, AT(lot_line), 1, INT64_MAX,
     .help = "draw the tube from these untested pieces"},
    TUBE_WORDS,
    {0},
};
const struct shape TUBE_NEW = {"tube_new", sizeof(struct tube_new), TUBE_NEW_FIELDS};

static const struct field TUBE_CHANGE_FIELDS[] = {
    {"stock_no", K_STOCKNO, F_PATH | F_REQUIRED, AT(stock_no), .help = "stock number"},
    {"printed", K_TEXT, 0, AT(printed), 1, 60, .help = "designation as printed"},
    TUBE_WORDS,
    {0},
};
static const struct shape TUBE_CHANGE = {"tube_change", sizeof(struct tube_new),
                                         TUBE_CHANGE_FIELDS};
#undef AT

struct tubes_ask {
    struct page page;
    const char *lot, *bin, *type, *family, *grade, *maker;
    int64_t state, free;
};
#define AT(f) offsetof(struct tubes_ask, f)
static const struct field TUBES_ASK_FIELDS[] = {
    PAGE_FIELDS(tubes_ask),
    {"lot", K_TEXT, 0, AT(lot), .help = "code of a lot"},
    {"bin", K_TEXT, 0, AT(bin), .help = "code of a bin"},
    {"type", K_TEXT, 0, AT(type), .help = "a designation: tubes of this type alone"},
    {"family", K_TEXT, 0, AT(family), .help = "a designation: tubes of its whole family"},
    {"grade", K_TEXT, 0, AT(grade), .help = "a grade"},
    {"maker", K_TEXT, 0, AT(maker), .help = "maker's name"},
    {"state", K_ENUM, 0, AT(state), .names = tube_state_names, .help = "state of life"},
    {"free", K_BOOL, 0, AT(free), .help = "true: neither in a set, held, shipped nor scrapped"},
    {0},
};
static const struct shape TUBES_ASK = {"tubes_ask", sizeof(struct tubes_ask), TUBES_ASK_FIELDS};
#undef AT

struct tubes {
    struct list items;
};
static const struct field TUBES_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct tubes, items), .sub = &TUBE,
     .help = "by stock number"},
    {0},
};
static const struct shape TUBES = {"tubes", sizeof(struct tubes), TUBES_FIELDS};

struct scan_ask {
    const char *text;
};
static const struct field SCAN_ASK_FIELDS[] = {
    {"text", K_TEXT, F_REQUIRED, offsetof(struct scan_ask, text), 1, 100,
     .help = "what was scanned or typed: a stock number or an outside mark"},
    {0},
};
static const struct shape SCAN_ASK = {"scan_ask", sizeof(struct scan_ask), SCAN_ASK_FIELDS};

struct move_ask {
    int64_t stock_no, state;
};
static const struct field MOVE_ASK_FIELDS[] = {
    {"stock_no", K_STOCKNO, F_PATH | F_REQUIRED, offsetof(struct move_ask, stock_no),
     .help = "stock number"},
    {"state", K_ENUM, F_REQUIRED, offsetof(struct move_ask, state), .names = tube_state_names,
     .help = "where it goes"},
    {0},
};
static const struct shape MOVE_ASK = {"tube_move", sizeof(struct move_ask), MOVE_ASK_FIELDS};

struct block_ask {
    const char *bench;
    int64_t count, first, last;
};
#define AT(f) offsetof(struct block_ask, f)
static const struct field BLOCK_NEW_FIELDS[] = {
    {"bench", K_TEXT, F_REQUIRED, AT(bench), 1, 60, .help = "who will use them"},
    {"count", K_INT, F_REQUIRED, AT(count), 1, 1000, .help = "how many"},
    {0},
};
static const struct shape BLOCK_NEW = {"number_block_new", sizeof(struct block_ask),
                                       BLOCK_NEW_FIELDS};
static const struct field BLOCK_FIELDS[] = {
    {"bench", K_TEXT, F_REQUIRED, AT(bench), .help = "who will use them"},
    {"first", K_STOCKNO, F_REQUIRED, AT(first), .help = "the first number"},
    {"last", K_STOCKNO, F_REQUIRED, AT(last), .help = "the last number"},
    {0},
};
static const struct shape BLOCK = {"number_block", sizeof(struct block_ask), BLOCK_FIELDS};
#undef AT

struct story {
    struct list items;
};
#define AT(f) offsetof(struct journal_row, f)
static const struct field STORY_ROW_FIELDS[] = {
    {"seq", K_INT, F_REQUIRED, AT(seq), .help = "number in the journal"},
    {"at", K_MOMENT, F_REQUIRED, AT(at_ms), .help = "when"},
    {"by", K_TEXT, 0, AT(user), .help = "who"},
    {"act", K_TEXT, F_REQUIRED, AT(act), .help = "what was done"},
    {"before", K_RAW, 0, AT(before), .help = "the row before"},
    {"after", K_RAW, 0, AT(after), .help = "the row after"},
    {0},
};
static const struct shape STORY_ROW = {"journal_row", sizeof(struct journal_row), STORY_ROW_FIELDS};
#undef AT
static const struct field STORY_FIELDS[] = {
    {"items", K_LIST, F_REQUIRED, offsetof(struct story, items), .sub = &STORY_ROW,
     .help = "newest first"},
    {0},
};
static const struct shape STORY = {"tube_journal", sizeof(struct story), STORY_FIELDS};

/* ---- words to rows ------------------------------------------------------------------------ */

/* A date code that reads as a window gives it; any other text is kept as printed. */
static void date_window(struct tube *t)
{
    int64_t first, last;
    t->made_first_day = t->made_last_day = NONE;
    if (t->date_text &&
        date_window_parse(&first, &last, t->date_text, strlen(t->date_text), NULL)) {
        t->made_first_day = first;
        t->made_last_day = last;
    }
}

bool tube_from_words(struct tube *out, struct store *st, const struct tube_new *in, struct arena *a,
                     struct err *e)
{
    *out = (struct tube){.stock_no = in->stock_no,
                         .type_id = NONE,
                         .printed = in->printed,
                         .maker_id = NONE,
                         .construction_id = NONE,
                         .date_text = in->date,
                         .lot_id = NONE,
                         .lot_line_id = NONE,
                         .share_minor = NONE,
                         .bin_id = NONE,
                         .history = in->history,
                         .history_word = in->history_word,
                         .mark = in->mark,
                         .note = in->note};
    date_window(out);
    return (!in->printed || store_type_resolve(&out->type_id, st, in->printed, a, e)) &&
           (!in->maker || maker_find(&out->maker_id, st, in->maker, e)) &&
           (!in->construction ||
            construction_find(&out->construction_id, st, in->construction, e)) &&
           (!in->lot || lot_find(&out->lot_id, st, in->lot, e)) &&
           (!in->bin || bin_find(&out->bin_id, st, in->bin, e));
}

/* ---- handlers ----------------------------------------------------------------------------- */

/* Words of a filter to rows. */
static bool filter_from(struct tube_filter *f, struct store *st, const struct tubes_ask *in,
                        struct arena *a, struct err *e)
{
    *f = (struct tube_filter){.lot_id = NONE,
                              .bin_id = NONE,
                              .type_id = NONE,
                              .family_id = NONE,
                              .grade = in->grade,
                              .maker_id = NONE,
                              .state = in->state,
                              .free = in->free};
    int64_t type_id;
    if ((in->lot && !lot_find(&f->lot_id, st, in->lot, e)) ||
        (in->bin && !bin_find(&f->bin_id, st, in->bin, e)) ||
        (in->maker && !maker_find(&f->maker_id, st, in->maker, e)))
        return false;
    if (in->type && !store_type_resolve(&f->type_id, st, in->type, a, e))
        return err_in(e, "type");
    if (in->family) {
        if (!store_type_resolve(&type_id, st, in->family, a, e))
            return err_in(e, "family");
        f->family_id = store_type_family(st, type_id);
        if (f->family_id == NONE)
            f->type_id = type_id;
    }
    return true;
}

static const char *tubes_path(struct arena *a, const struct tubes_ask *in)
{
    const struct {
        const char *name, *value;
    } given[] = {{"lot", in->lot},
                 {"bin", in->bin},
                 {"type", in->type},
                 {"family", in->family},
                 {"grade", in->grade},
                 {"maker", in->maker},
                 {"state", in->state == NONE ? NULL : tube_state_names[in->state]},
                 {"free", in->free == NONE ? NULL
                          : in->free       ? "true"
                                           : "false"}};
    const char *path = "/api/tubes";
    for (size_t i = 0; i < ARRAY_LEN(given); i++)
        if (given[i].value)
            path = arena_printf(a, "%s%c%s=%s", path, strchr(path, '?') ? '&' : '?', given[i].name,
                                page_escape(a, given[i].value));
    return path;
}

static bool tubes_list(struct reply *out, struct req *rq, struct err *e)
{
    const struct tubes_ask *in = rq->in;
    struct tubes *view = arena_alloc(rq->arena, sizeof *view);
    struct tube_filter f;
    int64_t after, last = NONE;
    bool more;
    if (!page_number(&after, &in->page, e) || !filter_from(&f, rq->store, in, rq->arena, e))
        return false;
    tube_list(&view->items, &last, &more, rq->store, &f, after, page_limit(&in->page), rq->arena);
    if (more)
        out->next = page_next(rq->arena, tubes_path(rq->arena, in), &in->page, last);
    return reply_body(out, view);
}

static bool reply_tube(struct reply *out, struct req *rq, int64_t stock_no, struct err *e)
{
    struct tube *t = arena_alloc(rq->arena, sizeof *t);
    if (!tube_load(t, rq->store, stock_no, rq->arena, e))
        return false;
    out->etag = version_etag(rq->arena, t->version);
    return reply_body(out, t);
}

static bool tube_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct tube_ask *in = rq->in;
    return reply_tube(out, rq, in->stock_no, e);
}

static bool scan_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct scan_ask *in = rq->in;
    struct tube *t = arena_alloc(rq->arena, sizeof *t);
    int64_t stock_no;
    if (tube_find_mark(t, rq->store, in->text, rq->arena)) {
        out->etag = version_etag(rq->arena, t->version);
        return reply_body(out, t);
    }
    if (stockno_parse(&stock_no, in->text, strlen(in->text), e))
        return reply_tube(out, rq, stock_no, e);
    if (strspn(in->text, "0123456789 -") == strlen(in->text))
        return err_in(e, "text");
    *e = (struct err)ERR_INIT;
    return err_field(e, "text", ERR_INVALID,
                     "no tube has the mark \"%s\", and a stock number has figures only",
                     text_show((char[TEXT_SHOW_BYTES]){0}, in->text, strlen(in->text)));
}

/* A tube drawn from a lot line takes from it what was not said. */
static bool draw(struct tube *t, struct req *rq, int64_t line_id, struct err *e)
{
    struct lot_line line;
    if (!lot_line_draw(&line, rq->store, line_id, rq->arena, e))
        return false;
    if (t->lot_id != NONE && t->lot_id != line.lot_id)
        return err_field(e, "lot", ERR_INVALID, "lot line %lld belongs to another lot",
                         (long long)line_id);
    t->lot_line_id = line_id;
    t->lot_id = line.lot_id;
    if (!t->printed) {
        t->printed = line.printed;
        t->type_id = line.type_id;
    }
    if (t->maker_id == NONE)
        t->maker_id = line.maker_id;
    return true;
}

static bool tube_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct tube_new *in = rq->in;
    struct tube t;
    int64_t id;
    if (!tube_from_words(&t, rq->store, in, rq->arena, e) ||
        (in->lot_line != NONE && !draw(&t, rq, in->lot_line, e)))
        return false;
    if (!t.printed)
        return err_field(e, "printed", ERR_INVALID,
                         "say what is printed on the tube, or which lot line it is drawn from");
    if (!tube_create(&id, rq->store, &t, rq->arena, e))
        return false;
    out->event = "tube";
    out->event_id = id;
    out->location = arena_printf(rq->arena, "/api/tubes/%lld", (long long)stockno_make(id));
    return reply_tube(out, rq, stockno_make(id), e);
}

static bool tube_patch(struct reply *out, struct req *rq, struct err *e)
{
    const struct tube_new *in = rq->in;
    struct tube now, t;
    if (!tube_load(&now, rq->store, in->stock_no, rq->arena, e) ||
        !version_match(rq, now.version, e) || !tube_from_words(&t, rq->store, in, rq->arena, e))
        return false;
    t.id = now.id;
    t.version = now.version;
    if (!tube_change(rq->store, &t, rq->arena, e))
        return false;
    out->event = "tube";
    out->event_id = now.id;
    return reply_tube(out, rq, in->stock_no, e);
}

static bool move_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct move_ask *in = rq->in;
    struct tube t;
    if (!tube_load(&t, rq->store, in->stock_no, rq->arena, e) ||
        !tube_move(rq->store, t.id, (enum tube_state)in->state, rq->arena, e))
        return false;
    out->status = 200;
    out->event = "tube";
    out->event_id = t.id;
    return reply_tube(out, rq, in->stock_no, e);
}

static bool story_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct tube_ask *in = rq->in;
    struct story *view = arena_alloc(rq->arena, sizeof *view);
    struct tube t;
    if (!tube_load(&t, rq->store, in->stock_no, rq->arena, e))
        return false;
    journal_of(&view->items, rq->store, "tube", t.id, NONE, PAGE_MOST, rq->arena);
    return reply_body(out, view);
}

static bool block_post(struct reply *out, struct req *rq, struct err *e)
{
    const struct block_ask *in = rq->in;
    struct block_ask *b = arena_alloc(rq->arena, sizeof *b);
    *b = *in;
    if (!tube_reserve(&b->first, &b->last, rq->store, in->bench, in->count, rq->arena, e))
        return false;
    b->first = stockno_make(b->first);
    b->last = stockno_make(b->last);
    return reply_body(out, b);
}

const struct route tube_routes[] = {
    {GET, "/api/tubes", R_ANY, 0, &TUBES_ASK, &TUBES, NULL, tubes_list,
     "Tubes by number, filtered"},
    {POST, "/api/tubes", R_STOCK, WRITE | CREATES, &TUBE_NEW, &TUBE, NULL, tube_post,
     "Give a tube a stock number"},
    {GET, "/api/tubes/:stock_no", R_ANY, 0, &TUBE_ASK, &TUBE, NULL, tube_get, "One tube"},
    {PATCH, "/api/tubes/:stock_no", R_STOCK, WRITE, &TUBE_CHANGE, &TUBE, NULL, tube_patch,
     "Change a tube; If-Match wanted"},
    {POST, "/api/tubes/:stock_no/moves", R_STOCK, WRITE | CREATES, &MOVE_ASK, &TUBE, NULL,
     move_post, "Move a tube in its life"},
    {GET, "/api/tubes/:stock_no/journal", R_ANY, 0, &TUBE_ASK, &STORY, NULL, story_get,
     "What was done to a tube"},
    {GET, "/api/scan", R_ANY, 0, &SCAN_ASK, &TUBE, NULL, scan_get,
     "The tube that a scanned or typed text names"},
    {POST, "/api/number-blocks", R_STOCK, WRITE | CREATES, &BLOCK_NEW, &BLOCK, NULL, block_post,
     "Reserve stock numbers for a bench"},
    {0},
};
