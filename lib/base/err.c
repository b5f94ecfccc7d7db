/* SPDX-License-Identifier: MIT
 *
 * err: filling the one error value.  Texts longer than the buffer are cut, never overrun.
 */
#include "base/err.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

PRINTF_LIKE(4, 0)
static bool fill(struct err *e, enum err_code code, int64_t at, const char *fmt, va_list ap)
{
    if (!e)
        return false;
    e->code = code;
    e->at = at;
    vsnprintf(e->text, sizeof e->text, fmt, ap);
    return false;
}

bool err_set(struct err *e, enum err_code code, const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    fill(e, code, -1, fmt, ap);
    va_end(ap);
    return false;
}

bool err_at(struct err *e, enum err_code code, int64_t at, const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    fill(e, code, at, fmt, ap);
    va_end(ap);
    return false;
}

bool err_field(struct err *e, const char *field, enum err_code code, const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    fill(e, code, -1, fmt, ap);
    va_end(ap);
    return err_in(e, field);
}

bool err_in(struct err *e, const char *field)
{
    if (e)
        snprintf(e->field, sizeof e->field, "%s", field ? field : "");
    return false;
}
