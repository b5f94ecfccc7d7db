/* SPDX-License-Identifier: MIT
 *
 * contradict: figures that forbid two types to be called the same.  What is not known contradicts
 * nothing; sheets round, so 5 percent is allowed.
 */
#include "catalogue/catalogue.h"

#include "base/decimal.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

static bool say(char *why, const char *fmt, ...) PRINTF_LIKE(2, 3);

static bool say(char *why, const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    vsnprintf(why, CONTRADICTION_BYTES, fmt, ap);
    va_end(ap);
    return true;
}

static bool apart(int64_t a, int64_t b, int percent)
{
    int64_t more = a > b ? a : b;
    return a != NONE && b != NONE && llabs(a - b) * 100 > more * percent;
}

static bool heaters_contradict(char *why, const struct type *a, const struct type *b)
{
    char one[DECIMAL_BYTES], other[DECIMAL_BYTES];
    bool tap_a = pinout_has(&a->pins, ELECTRODE_HCT), tap_b = pinout_has(&b->pins, ELECTRODE_HCT);
    if (apart(a->heater_mv, b->heater_mv, 5))
        return say(why, "the heater of one takes %s V, of the other %s V",
                   decimal_print(one, a->heater_mv, 3), decimal_print(other, b->heater_mv, 3));
    if (apart(a->heater_ma, b->heater_ma, 5))
        return say(why, "the heater of one draws %s A, of the other %s A",
                   decimal_print(one, a->heater_ma, 3), decimal_print(other, b->heater_ma, 3));
    if (a->pins.count && b->pins.count && tap_a != tap_b)
        return say(why, "the heater of one is tapped, of the other not");
    return false;
}

bool types_contradict(char *why, const struct type *a, const struct type *b)
{
    struct pin_change change[PINOUT_PINS];
    if (heaters_contradict(why, a, b))
        return true;
    if (a->known && b->known && a->known->socket != b->known->socket)
        return say(why, "one has the base %s, the other %s", a->base, b->base);
    if (a->top_cap >= 0 && b->top_cap >= 0 && a->top_cap != b->top_cap)
        return say(why, "only one of them has a top cap");
    if (a->sections != NONE && b->sections != NONE && a->sections != b->sections)
        return say(why, "one has %d sections, the other %d", (int)a->sections, (int)b->sections);
    if (!a->pins.count || !b->pins.count)
        return false;
    size_t n = pinout_changes(change, ARRAY_LEN(change), &a->pins, &b->pins);
    for (size_t i = 0; i < n && i < ARRAY_LEN(change); i++)
        if (change[i].risk == PIN_WRONG)
            return say(why, "%s", change[i].text);
    return false;
}
