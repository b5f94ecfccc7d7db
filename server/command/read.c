/* SPDX-License-Identifier: MIT
 *
 * read: words into the body of POST /api/tubes/:stock_no/readings.  "ia=1.2mA" is split where the
 * unit begins; number and unit travel as typed, and the API judges them.
 */
#include "command/read.h"

#include "api/page.h"
#include "base/pen.h"
#include "base/unit.h"
#include "command/request.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#define READINGS_PATH "/api/tubes/:stock_no/readings"

struct spoken {
    struct common common;
    const char *stock_no, *tester, *test_point, *method, *taken, *warm_s, *section, *repeat;
    struct pen sections, confirm;
    int64_t values;    /* of the section under way; -1 before the first */
    int64_t confirmed; /* rules */
};

static int help(void)
{
    printf("usage: quadrille read STOCK_NO --tester CODE [--section N] QUANTITY=VALUE ...\n"
           "\n"
           "Record what a tester shows of a tube.  A value is a number with its unit, as in\n"
           "ia=1.2mA gm=1600micromho; without a unit it is read on the tester's own scale.\n"
           "\n"
           "  --tester CODE      which tester\n"
           "  --test-point CODE  which test point, where the type has several\n"
           "  --section N        the values that follow are of this section; 0: of the whole tube\n"
           "  --repeat N         the values that follow are of this repeat\n"
           "  --method CODE      where one tester can do it two ways\n"
           "  --taken MOMENT     when, as 2031-05-04T10:11:12Z; without it now\n"
           "  --warm-s N         time on heat, seconds\n"
           "  --confirm RULE     keep the reading although this rule asked (may be repeated)\n"
           "%s",
           COMMON_HELP);
    return EXIT_DONE;
}

static bool is_whole(const char *s)
{
    size_t n = strspn(s, "0123456789");
    return n > 0 && n < 10 && !s[n] && (s[0] != '0' || n == 1);
}

static void section_end(struct spoken *s)
{
    if (s->values >= 0)
        pen_text(&s->sections, "]}");
    s->values = -1;
}

static void section_begin(struct spoken *s)
{
    if (s->sections.n > 0)
        pen_char(&s->sections, ',');
    pen_char(&s->sections, '{');
    if (s->section)
        pen_printf(&s->sections, "\"section\":%s,", s->section);
    if (s->repeat)
        pen_printf(&s->sections, "\"repeat\":%s,", s->repeat);
    pen_text(&s->sections, "\"values\":[");
    s->values = 0;
}

/* "ia=1.2mA" */
static bool value_take(struct spoken *s, const char *word, struct arena *a, struct err *e)
{
    size_t k = strcspn(word, "="), number, unit_n;
    const char *unit;
    if (!word[k] || k == 0)
        return err_set(e, ERR_INVALID,
                       "\"%.80s\" must be written QUANTITY=VALUE, such as gm=1600micromho", word);
    unit_split(word + k + 1, &number, &unit, &unit_n);
    if (s->values < 0)
        section_begin(s);
    pen_printf(&s->sections, "%s{\"quantity\":", s->values ? "," : "");
    pen_quote_bytes(&s->sections, word, k);
    pen_text(&s->sections, ",\"typed\":");
    pen_quote(&s->sections, arena_bytes(a, word + k + 1, number));
    if (unit_n) {
        pen_text(&s->sections, ",\"unit\":");
        pen_quote_bytes(&s->sections, unit, unit_n);
    }
    pen_char(&s->sections, '}');
    s->values++;
    return true;
}

static bool number_flag(struct spoken *s, const char **to, const char *name, int *i, int argc,
                        char **argv, struct err *e)
{
    const char *value;
    if (!flag_take(&value, name, i, argc, argv, e))
        return false;
    if (!is_whole(value))
        return err_set(e, ERR_INVALID, "--%s is \"%.40s\"; it must be a whole number", name, value);
    *to = value;
    if (to == &s->section || to == &s->repeat)
        section_end(s);
    return true;
}

static bool confirm_take(struct spoken *s, int *i, int argc, char **argv, struct err *e)
{
    const char *rule;
    if (!flag_take(&rule, "confirm", i, argc, argv, e))
        return false;
    if (s->confirmed++)
        pen_char(&s->confirm, ',');
    pen_quote(&s->confirm, rule);
    return true;
}

static bool word_take(struct spoken *s, int *i, int argc, char **argv, struct arena *a,
                      struct err *e)
{
    const char *word = argv[*i];
    if (common_take(&s->common, i, argc, argv, e) ||
        flag_take(&s->tester, "tester", i, argc, argv, e) ||
        flag_take(&s->test_point, "test-point", i, argc, argv, e) ||
        flag_take(&s->method, "method", i, argc, argv, e) ||
        flag_take(&s->taken, "taken", i, argc, argv, e) ||
        number_flag(s, &s->warm_s, "warm-s", i, argc, argv, e) ||
        number_flag(s, &s->section, "section", i, argc, argv, e) ||
        number_flag(s, &s->repeat, "repeat", i, argc, argv, e) || confirm_take(s, i, argc, argv, e))
        return true;
    if (e->code != ERR_NONE)
        return false;
    if (strncmp(word, "--", 2) == 0)
        return err_set(e, ERR_INVALID, "there is no flag %.80s here", word);
    ++*i;
    if (s->stock_no)
        return value_take(s, word, a, e);
    s->stock_no = word;
    return true;
}

static void put_text(struct pen *p, const char *name, const char *value)
{
    if (!value)
        return;
    pen_printf(p, "\"%s\":", name);
    pen_quote(p, value);
    pen_char(p, ',');
}

static const char *body_make(struct spoken *s, size_t *n, struct arena *a)
{
    struct pen p;
    section_end(s);
    pen_init(&p, a, 0);
    pen_char(&p, '{');
    put_text(&p, "tester", s->tester);
    put_text(&p, "test_point", s->test_point);
    put_text(&p, "method", s->method);
    put_text(&p, "taken", s->taken);
    if (s->warm_s)
        pen_printf(&p, "\"warm_s\":%s,", s->warm_s);
    if (s->confirmed)
        pen_printf(&p, "\"confirm\":[%s],", pen_done(&s->confirm, NULL));
    pen_printf(&p, "\"sections\":[%s]}", pen_done(&s->sections, NULL));
    return pen_done(&p, n);
}

static int send(struct spoken *s, struct arena *a)
{
    struct client *cl;
    struct err e = ERR_INIT;
    struct told told;
    struct ask ask = {.method = POST};
    const struct route *r = route_find(POST, READINGS_PATH);
    if (!client_open(&cl, s->common.data, &e))
        return command_fail("read", &e);
    ask.path = arena_printf(a, "/api/tubes/%s/readings", page_escape(a, s->stock_no));
    ask.body = body_make(s, &ask.body_n, a);
    int status = client_ask(&told, cl, &ask, "saving", a, &e)
                     ? answer_show("read", &told, r->out, s->common.json, a)
                     : command_fail("read", &e);
    client_close(cl);
    return status;
}

int command_read(int argc, char **argv)
{
    struct arena *a = arena_new();
    struct err e = ERR_INIT;
    struct spoken s = {.values = -1};
    int status;
    pen_init(&s.sections, a, 0);
    pen_init(&s.confirm, a, 0);
    bool good = true;
    for (int i = 1; good && i < argc;)
        good = word_take(&s, &i, argc, argv, a, &e);
    if (good && !s.common.help && (!s.stock_no || !s.tester || !s.sections.n))
        good = err_set(&e, ERR_INVALID, "say the stock number, --tester, and at least one value");
    if (!good)
        status = usage_fail("read", &e);
    else if (s.common.help)
        status = help();
    else
        status = send(&s, a);
    arena_free(a);
    return status;
}
