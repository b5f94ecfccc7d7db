/* SPDX-License-Identifier: MIT
 *
 * state: the table of legal moves (house rule) and what is printed from it.
 *
 * A tube may be put away untested, and is sold only from the bench or the shelf.  What comes back
 * from a customer must be looked at or measured again before it goes on the shelf.  Two moves take
 * back a slip of the hand: a parcel that never left the house, and a tube scrapped by mistake,
 * which begins anew.
 */
#include "order/state.h"

#include "base/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const char *const codes[TUBE_STATE__COUNT] = {
    [TUBE_RECEIVED] = "received", [TUBE_INSPECTED] = "inspected",   [TUBE_TESTED] = "tested",
    [TUBE_SHELVED] = "shelved",   [TUBE_SHIPPED] = "shipped",       [TUBE_RETURNED] = "returned",
    [TUBE_SCRAPPED] = "scrapped", [TUBE_CHECK_TUBE] = "check-tube",
};

static const struct tube_move moves[] = {
    {TUBE_RECEIVED, TUBE_INSPECTED, "looked at"},
    {TUBE_RECEIVED, TUBE_TESTED, "measured before its look was noted"},
    {TUBE_RECEIVED, TUBE_SHELVED, "put away as it came"},
    {TUBE_RECEIVED, TUBE_SCRAPPED, "broken on arrival, or lost"},

    {TUBE_INSPECTED, TUBE_TESTED, "measured"},
    {TUBE_INSPECTED, TUBE_SHELVED, "put away untested"},
    {TUBE_INSPECTED, TUBE_SCRAPPED, "not worth a test, or lost"},

    {TUBE_TESTED, TUBE_SHELVED, "put in its bin"},
    {TUBE_TESTED, TUBE_SHIPPED, "sold straight from the bench"},
    {TUBE_TESTED, TUBE_SCRAPPED, "failed the test, or lost"},
    {TUBE_TESTED, TUBE_CHECK_TUBE, "kept aside to watch a tester"},

    {TUBE_SHELVED, TUBE_TESTED, "taken back to the bench"},
    {TUBE_SHELVED, TUBE_SHIPPED, "sold"},
    {TUBE_SHELVED, TUBE_SCRAPPED, "broken, or lost"},
    {TUBE_SHELVED, TUBE_CHECK_TUBE, "kept aside to watch a tester"},

    {TUBE_SHIPPED, TUBE_SHELVED, "the shipment is taken back: the parcel never left"},
    {TUBE_SHIPPED, TUBE_RETURNED, "came back from the customer"},

    {TUBE_RETURNED, TUBE_INSPECTED, "looked at again"},
    {TUBE_RETURNED, TUBE_TESTED, "measured again"},
    {TUBE_RETURNED, TUBE_SCRAPPED, "came back broken"},

    {TUBE_SCRAPPED, TUBE_RECEIVED, "scrapped by mistake: it begins anew"},

    {TUBE_CHECK_TUBE, TUBE_TESTED, "back to the stock by way of the bench"},
    {TUBE_CHECK_TUBE, TUBE_SCRAPPED, "worn out, broken, or lost"},
};

const char *tube_state_code(enum tube_state s)
{
    return codes[s];
}

bool tube_state_find(enum tube_state *out, const char *s, size_t n, struct err *e)
{
    char known[TUBE_MOVES_BYTES] = "", shown[TEXT_SHOW_BYTES];
    for (int i = 0; i < TUBE_STATE__COUNT; i++) {
        if (strlen(codes[i]) == n && memcmp(codes[i], s, n) == 0) {
            *out = (enum tube_state)i;
            return true;
        }
        size_t at = strlen(known);
        snprintf(known + at, sizeof known - at, "%s%s", at ? ", " : "", codes[i]);
    }
    return err_set(e, ERR_INVALID, "\"%s\" is no state of a tube: there are %s",
                   text_show(shown, s, n), known);
}

const struct tube_move *tube_moves(size_t *count)
{
    *count = ARRAY_LEN(moves);
    return moves;
}

const struct tube_move *tube_move_find(enum tube_state from, enum tube_state to)
{
    for (size_t i = 0; i < ARRAY_LEN(moves); i++)
        if (moves[i].from == from && moves[i].to == to)
            return &moves[i];
    return NULL;
}

bool tube_move_legal(enum tube_state from, enum tube_state to)
{
    return tube_move_find(from, to) != NULL;
}

const char *tube_moves_from(char *buf, enum tube_state from)
{
    size_t left = 0, at = 0;
    for (size_t i = 0; i < ARRAY_LEN(moves); i++)
        left += moves[i].from == from;
    buf[0] = '\0';
    for (size_t i = 0; i < ARRAY_LEN(moves); i++) {
        if (moves[i].from != from)
            continue;
        const char *glue = at == 0 ? "" : left == 1 ? " or " : ", ";
        at += (size_t)snprintf(buf + at, TUBE_MOVES_BYTES - at, "%s%s", glue, codes[moves[i].to]);
        left--;
    }
    return buf;
}

/* "a received tube", "an inspected tube", "a check-tube" */
static const char *tube_in_state(char *buf, size_t size, enum tube_state s)
{
    const char *article = s == TUBE_INSPECTED ? "an" : "a";
    snprintf(buf, size, "%s %s%s", article, codes[s], s == TUBE_CHECK_TUBE ? "" : " tube");
    return buf;
}

bool tube_move_check(enum tube_state from, enum tube_state to, struct err *e)
{
    char next[TUBE_MOVES_BYTES], tube[32];
    if (tube_move_legal(from, to))
        return true;
    return err_set(e, ERR_CONFLICT, "%s cannot become %s: it may become %s",
                   tube_in_state(tube, sizeof tube, from), codes[to], tube_moves_from(next, from));
}

/* ---- the trigger --------------------------------------------------------------------------------
 */
struct out {
    char *buf;
    size_t size, at;
};

static void put(struct out *o, const char *fmt, ...) PRINTF_LIKE(2, 3);
static void put(struct out *o, const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    size_t room = o->at < o->size ? o->size - o->at : 0;
    int n = vsnprintf(room ? o->buf + o->at : NULL, room, fmt, ap);
    va_end(ap);
    o->at += (size_t)n;
}

/* RAISE takes only a literal in SQLite before 3.47, so each state has its own sentence; the state
 * wanted cannot be named in it. */
static void put_state(struct out *o, enum tube_state from)
{
    char next[TUBE_MOVES_BYTES], tube[32];
    put(o, "    SELECT RAISE(ABORT, '%s may only become %s')\n",
        tube_in_state(tube, sizeof tube, from), tube_moves_from(next, from));
    put(o, "    WHERE OLD.state = '%s' AND NEW.state NOT IN (", codes[from]);
    const char *glue = "";
    for (size_t i = 0; i < ARRAY_LEN(moves); i++)
        if (moves[i].from == from) {
            put(o, "%s'%s'", glue, codes[moves[i].to]);
            glue = ", ";
        }
    put(o, ");\n");
}

size_t tube_moves_sql(char *buf, size_t size)
{
    struct out o = {buf, size, 0};
    put(&o, "CREATE TRIGGER tube_move BEFORE UPDATE OF state ON tube\n"
            "WHEN NEW.state IS NOT OLD.state\n"
            "BEGIN\n");
    for (int s = 0; s < TUBE_STATE__COUNT; s++)
        put_state(&o, (enum tube_state)s);
    put(&o, "END;\n");
    return o.at;
}
