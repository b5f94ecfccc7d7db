/* SPDX-License-Identifier: MIT
 *
 * demand: lines separated by commas, a size and how many.
 */
#include "match/demand.h"

#include <string.h>

/* A whole number of at most nine digits; *s moves behind it. */
static bool number_read(int64_t *out, const char **s)
{
    int digits = 0;
    *out = 0;
    for (; **s >= '0' && **s <= '9' && digits < 10; ++*s, digits++)
        *out = *out * 10 + (**s - '0');
    return digits > 0 && digits < 10;
}

static bool line_read(struct match_line *out, const char **s)
{
    int64_t size;
    if (!number_read(&size, s) || size > MATCH_SIZE || size < 2)
        return false;
    out->size = (int)size;
    out->limit = MATCH_ANY;
    if (**s != ':')
        return true;
    ++*s;
    if (**s == '*') {
        ++*s;
        return true;
    }
    return number_read(&out->limit, s);
}

bool demand_parse(struct match_line *line, int *lines, const char *text, struct err *e)
{
    int count = 0;
    for (const char *s = text;; s++) {
        const char *part = s;
        if (count == MATCH_LINES)
            return err_field(e, "demand", ERR_INVALID, "the demand has more than %d lines",
                             MATCH_LINES);
        if (!line_read(&line[count], &s) || (*s != ',' && *s != '\0'))
            return err_field(
                e, "demand", ERR_INVALID,
                "the demand is not understood at \"%.40s\": give sizes of 2 to %d and how "
                "many of each, such as 4:10,2:*",
                part, MATCH_SIZE);
        for (int other = 0; other < count; other++) {
            if (line[other].size == line[count].size)
                return err_field(e, "demand", ERR_INVALID,
                                 "the demand asks for sets of %d twice; give each size once",
                                 line[count].size);
        }
        count++;
        if (*s == '\0')
            break;
    }
    *lines = count;
    return true;
}
