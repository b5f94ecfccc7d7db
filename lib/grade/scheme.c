/* SPDX-License-Identifier: MIT
 *
 * scheme: reading a scheme line by line.  A row of `ops` says of which kind the subject is and how
 * the value is read; the rest is one walk over the lines.  What only shows in the whole (a grade
 * without requirements, a lower grade that asks more than a higher one) is checked at the end, in
 * scheme_check.c.
 */
#include "grade/scheme_priv.h"

#include "base/csv.h"
#include "base/text.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

enum subject { SUBJECT_ASPECT, SUBJECT_TEST, SUBJECT_QUANTITY, SUBJECT_BURN_IN, SUBJECT_READINGS };

static const struct op {
    const char *code;
    enum subject subject;
    int alternatives; /* the most quantities joined by | */
    bool ordinal;     /* makes sense for a quantity that is an ordered list of words */
    bool where_done;  /* the subject may carry a ? */
    scheme_value_fn *value;
} ops[SCHEME_OP__COUNT] = {
    [SCHEME_AT_LEAST] = {"at-least", SUBJECT_ASPECT, 0, false, true, scheme_value_least},
    [SCHEME_NOT_IN] = {"not-in", SUBJECT_ASPECT, 0, false, true, scheme_value_named},
    [SCHEME_CLEAR] = {"clear", SUBJECT_TEST, 0, false, true, scheme_value_none},
    [SCHEME_TESTED] = {"tested", SUBJECT_QUANTITY, SCHEME_ALTERNATIVES, true, false,
                       scheme_value_none},
    [SCHEME_OF_NOMINAL] = {"of-nominal", SUBJECT_QUANTITY, SCHEME_ALTERNATIVES, false, true,
                           scheme_value_of_nominal},
    [SCHEME_NEAR_NOMINAL] = {"near-nominal", SUBJECT_QUANTITY, 1, false, true,
                             scheme_value_percent},
    [SCHEME_LIMITS] = {"limits", SUBJECT_QUANTITY, 1, false, true, scheme_value_none},
    [SCHEME_RANGE] = {"range", SUBJECT_QUANTITY, 1, true, true, scheme_value_range},
    [SCHEME_BALANCE] = {"balance", SUBJECT_QUANTITY, 1, false, true, scheme_value_percent},
    [SCHEME_DRIFT] = {"drift", SUBJECT_QUANTITY, 1, false, true, scheme_value_drift},
    [SCHEME_HOURS] = {"hours", SUBJECT_BURN_IN, 0, false, false, scheme_value_hours},
    [SCHEME_UNQUESTIONED] = {"unquestioned", SUBJECT_READINGS, 0, false, false, scheme_value_none},
};

static const struct {
    const char *code, *words, *quantity;
} tests[SCHEME_TEST__COUNT] = {
    [SCHEME_SHORTS] = {"shorts", "shorts and leakage between electrodes", "leak"},
    [SCHEME_GAS] = {"gas", "gas", "ig"},
    [SCHEME_LEAKAGE] = {"leakage", "heater-cathode leakage", "hk"},
};

const char *scheme_op_code(enum scheme_op op)
{
    return ops[op].code;
}

const char *scheme_test_code(enum scheme_test t)
{
    return tests[t].code;
}

const char *scheme_test_words(enum scheme_test t)
{
    return tests[t].words;
}

const char *scheme_test_quantity(enum scheme_test t)
{
    return tests[t].quantity;
}

int scheme_grade_find(const struct scheme *s, const char *code)
{
    for (int g = 0; g < s->grade_count; g++)
        if (strcmp(s->grade[g].code, code) == 0)
            return g;
    return -1;
}

/* ---- subjects -----------------------------------------------------------------------------------
 */
static bool fits_op(const struct scheme_requirement *r, const struct quantity *q, struct err *e)
{
    const char *op = ops[r->op].code;
    if (q->kind == QUANTITY_ORDINAL && !ops[r->op].ordinal)
        return err_field(e, "op", ERR_INVALID,
                         "%s is told in words, which %s cannot judge: use range", q->code, op);
    if (r->op == SCHEME_BALANCE && q->scope != QUANTITY_SECTION)
        return err_field(e, "op", ERR_INVALID,
                         "%s is one value for the whole tube: there are no sections to balance",
                         q->code);
    return true;
}

static const struct quantity *quantity_near(const struct reader *rd, const char *code)
{
    const struct quantity *best = NULL;
    int least = 3;
    for (size_t i = 0; i < rd->quantity_count; i++) {
        int d = text_distance(code, rd->quantity[i].code, 2);
        if (d < least) {
            least = d;
            best = &rd->quantity[i];
        }
    }
    return best;
}

static bool quantity_add(const struct reader *rd, struct scheme_requirement *r, const char *s,
                         size_t n, struct err *e)
{
    char shown[TEXT_SHOW_BYTES], code[SCHEME_CODE_BYTES] = "";
    for (size_t i = 0; i < rd->quantity_count; i++) {
        const struct quantity *q = &rd->quantity[i];
        if (strlen(q->code) != n || memcmp(q->code, s, n) != 0)
            continue;
        for (int k = 0; k < r->quantity_count; k++)
            if (r->quantity[k] == q)
                return err_field(e, "subject", ERR_INVALID, "%s stands twice", q->code);
        r->quantity[r->quantity_count++] = q;
        return fits_op(r, q, e);
    }
    if (n < sizeof code)
        memcpy(code, s, n);
    const struct quantity *near = quantity_near(rd, code);
    return err_field(e, "subject", ERR_INVALID, "there is no quantity \"%s\"%s%s%s",
                     text_show(shown, s, n), near ? ": is " : "", near ? near->code : "",
                     near ? " meant?" : "");
}

static bool subject_quantity(const struct reader *rd, struct scheme_requirement *r, struct err *e)
{
    const char *p = r->subject;
    for (;;) {
        size_t n = strcspn(p, "|");
        if (r->quantity_count == ops[r->op].alternatives)
            return err_field(e, "subject", ERR_INVALID, "%s takes at most %d quantit%s",
                             ops[r->op].code, ops[r->op].alternatives,
                             ops[r->op].alternatives == 1 ? "y" : "ies");
        if (!quantity_add(rd, r, p, n, e))
            return false;
        if (!p[n])
            return true;
        p += n + 1;
    }
}

static bool subject_is(const struct scheme_requirement *r, const char *word, struct err *e)
{
    char shown[TEXT_SHOW_BYTES];
    if (strcmp(r->subject, word) == 0)
        return true;
    return err_field(e, "subject", ERR_INVALID, "%s is asked of \"%s\", not of \"%s\"",
                     ops[r->op].code, word, text_show(shown, r->subject, strlen(r->subject)));
}

static bool subject_test(struct scheme_requirement *r, struct err *e)
{
    char shown[TEXT_SHOW_BYTES];
    for (int t = 0; t < SCHEME_TEST__COUNT; t++)
        if (strcmp(tests[t].code, r->subject) == 0) {
            r->test = (enum scheme_test)t;
            return true;
        }
    return err_field(e, "subject", ERR_INVALID,
                     "\"%s\" is no test: there are shorts, gas and leakage",
                     text_show(shown, r->subject, strlen(r->subject)));
}

static bool subject_parse(const struct reader *rd, struct scheme_requirement *r, struct err *e)
{
    switch (ops[r->op].subject) {
    case SUBJECT_ASPECT:
        return inspection_aspect_find(&r->aspect, r->subject, strlen(r->subject), e) ||
               err_in(e, "subject");
    case SUBJECT_TEST:
        return subject_test(r, e);
    case SUBJECT_QUANTITY:
        return subject_quantity(rd, r, e);
    case SUBJECT_BURN_IN:
        return subject_is(r, "burn-in", e);
    case SUBJECT_READINGS:
        return subject_is(r, "readings", e);
    }
    assert(false && "a kind of subject without a parser");
    return false;
}

/* ---- lines --------------------------------------------------------------------------------------
 */
enum { COLUMN_GRADE, COLUMN_SUBJECT, COLUMN_OP, COLUMN_VALUE, COLUMN_WORDS, COLUMN__COUNT };
static const char *const columns[COLUMN__COUNT] = {"grade", "subject", "op", "value", "words"};

static bool op_find(enum scheme_op *out, const char *s, struct err *e)
{
    char known[200] = "", shown[TEXT_SHOW_BYTES];
    for (int i = 0; i < SCHEME_OP__COUNT; i++) {
        if (strcmp(ops[i].code, s) == 0) {
            *out = (enum scheme_op)i;
            return true;
        }
        size_t at = strlen(known);
        snprintf(known + at, sizeof known - at, ", %s", ops[i].code);
    }
    return err_field(e, "op", ERR_INVALID, "\"%s\" is not known: there are grade%s",
                     text_show(shown, s, strlen(s)), known);
}

static bool setting(struct reader *rd, const char *const *field, struct err *e)
{
    const char *name = field[COLUMN_SUBJECT], *value = field[COLUMN_VALUE];
    char shown[TEXT_SHOW_BYTES];
    struct decimal d;
    if (strcmp(field[COLUMN_OP], "set") != 0)
        return err_field(e, "op", ERR_INVALID, "a line of grade * has the op \"set\", not \"%s\"",
                         text_show(shown, field[COLUMN_OP], strlen(field[COLUMN_OP])));
    if (strcmp(name, "name") == 0) {
        if (!value[0])
            return err_field(e, "value", ERR_INVALID, "the name of the scheme is empty");
        rd->s->name = arena_text(rd->arena, value);
        return text_check_line(value, strlen(value), 80, e) || err_in(e, "value");
    }
    if (strcmp(name, "guard") == 0) {
        if (!decimal_parse(&d, value, strlen(value), e))
            return err_in(e, "value");
        if (!scheme_exact(&rd->s->guard, d, 2, "the guard band", e))
            return false;
        if (rd->s->guard < 0 || rd->s->guard > 300)
            return err_field(e, "value", ERR_INVALID,
                             "the guard band is a share of U from 0 to 3, but \"%s\" came",
                             text_show(shown, value, strlen(value)));
        return true;
    }
    if (strcmp(name, "borderline") == 0) {
        if (!scheme_number(&rd->s->borderline, value, strlen(value), 4, 99, "the borderline", e))
            return false;
        if (rd->s->borderline < 500000)
            return err_field(e, "value", ERR_INVALID,
                             "the borderline is a percentage from 50 to 99, but \"%s\" came",
                             value);
        return true;
    }
    return err_field(e, "subject", ERR_INVALID,
                     "\"%s\" is no setting: there are name, guard and borderline",
                     text_show(shown, name, strlen(name)));
}

static bool grade_open(struct reader *rd, const char *const *field, struct err *e)
{
    struct scheme *s = rd->s;
    const char *code = field[COLUMN_GRADE];
    char shown[TEXT_SHOW_BYTES];
    size_t n = strlen(code);
    if (n == 0 || n >= SCHEME_CODE_BYTES || code[0] < 'a' || code[0] > 'z' ||
        strspn(code, "abcdefghijklmnopqrstuvwxyz0123456789-") != n)
        return err_field(e, "grade", ERR_INVALID,
                         "\"%s\" is no code of a grade: a-z, 0-9 and -, a letter first, at most %d",
                         text_show(shown, code, n), SCHEME_CODE_BYTES - 1);
    if (scheme_grade_find(s, code) >= 0)
        return err_field(e, "grade", ERR_INVALID, "%s was opened on line %lld already", code,
                         (long long)s->grade[scheme_grade_find(s, code)].line);
    if (field[COLUMN_SUBJECT][0] || field[COLUMN_VALUE][0])
        return err_field(e, field[COLUMN_SUBJECT][0] ? "subject" : "value", ERR_INVALID,
                         "a line that opens a grade has no subject and no value");
    if (s->grade_count == SCHEME_GRADES)
        return err_field(e, "grade", ERR_TOO_LARGE, "more than %d grades", SCHEME_GRADES);
    s->grade[s->grade_count++] =
        (struct scheme_grade){.code = arena_text(rd->arena, code),
                              .words = arena_text(rd->arena, field[COLUMN_WORDS]),
                              .first = s->requirement_count,
                              .line = rd->line};
    return true;
}

/* The subject without its ?. */
static bool subject_mark(struct reader *rd, struct scheme_requirement *r, const char *subject,
                         struct err *e)
{
    size_t n = strlen(subject);
    r->where_done = n > 0 && subject[n - 1] == '?';
    if (r->where_done && !ops[r->op].where_done)
        return err_field(e, "subject", ERR_INVALID,
                         "%s cannot be asked only where it was tested: leave out the ?",
                         ops[r->op].code);
    r->subject = arena_bytes(rd->arena, subject, n - r->where_done);
    return true;
}

static bool requirement_add(struct reader *rd, const char *const *field, struct err *e)
{
    struct scheme *s = rd->s;
    char shown[TEXT_SHOW_BYTES];
    struct scheme_requirement r = {.grade = s->grade_count - 1, .low = NONE, .high = NONE};
    if (s->grade_count == 0 || strcmp(s->grade[r.grade].code, field[COLUMN_GRADE]) != 0)
        return err_field(e, "grade", ERR_INVALID,
                         "\"%s\" is not the grade opened last: its lines stand together, under its "
                         "line \"grade\"",
                         text_show(shown, field[COLUMN_GRADE], strlen(field[COLUMN_GRADE])));
    if (s->requirement_count == SCHEME_REQUIREMENTS)
        return err_field(e, "grade", ERR_TOO_LARGE, "more than %d requirements",
                         SCHEME_REQUIREMENTS);
    r.line = rd->line;
    r.value = arena_text(rd->arena, field[COLUMN_VALUE]);
    r.words = arena_text(rd->arena, field[COLUMN_WORDS]);
    if (!op_find(&r.op, field[COLUMN_OP], e) || !subject_mark(rd, &r, field[COLUMN_SUBJECT], e) ||
        !subject_parse(rd, &r, e) || !ops[r.op].value(&r, r.value, e))
        return false;
    s->requirement[s->requirement_count++] = r;
    s->grade[r.grade].count++;
    return true;
}

static bool line_parse(struct reader *rd, const struct csv_record *rec, struct err *e)
{
    char shown[TEXT_SHOW_BYTES];
    if (rec->count != COLUMN__COUNT)
        return err_set(e, ERR_INVALID,
                       "a line has the five columns grade,subject,op,value,words, not %zu",
                       rec->count);
    if (!rd->header) {
        rd->header = true;
        for (int c = 0; c < COLUMN__COUNT; c++)
            if (strcmp(rec->field[c], columns[c]) != 0)
                return err_field(
                    e, columns[c], ERR_INVALID,
                    "the first line names the columns grade,subject,op,value,words, but "
                    "\"%s\" came",
                    text_show(shown, rec->field[c], rec->length[c]));
        return true;
    }
    for (int c = 0; c < COLUMN__COUNT; c++)
        if (!text_check_line(rec->field[c], rec->length[c], SCHEME_WORDS_BYTES, e))
            return err_in(e, columns[c]);
    if (strcmp(rec->field[COLUMN_GRADE], "*") == 0)
        return setting(rd, rec->field, e);
    if (strcmp(rec->field[COLUMN_OP], "grade") == 0)
        return grade_open(rd, rec->field, e);
    return requirement_add(rd, rec->field, e);
}

struct source {
    const char *text;
    size_t n;
};

static long source_read(void *ctx, char *buf, size_t n)
{
    struct source *src = ctx;
    size_t take = n < src->n ? n : src->n;
    memcpy(buf, src->text, take);
    src->text += take;
    src->n -= take;
    return (long)take;
}

static bool lines_parse(struct reader *rd, struct csv *csv, struct err *e)
{
    struct csv_record rec;
    for (;;) {
        switch (csv_next(csv, &rec, e)) {
        case CSV_RECORD:
            rd->line = rec.line;
            if (e)
                e->line = rec.line;
            if (!line_parse(rd, &rec, e))
                return false;
            break;
        case CSV_END:
            if (e)
                e->line = 0;
            return rd->header || err_set(e, ERR_INVALID,
                                         "the scheme is empty: its first line is "
                                         "grade,subject,op,value,words");
        case CSV_BAD:
        case CSV_FAILED:
            return false;
        }
    }
}

bool scheme_parse(struct scheme **out, struct arena *a, const char *text, size_t n,
                  const struct quantity *quantity, size_t quantity_count, struct err *e)
{
    if (n > SCHEME_BYTES)
        return err_set(e, ERR_TOO_LARGE, "a scheme has at most %zu bytes, not %zu", SCHEME_BYTES,
                       n);
    size_t lines = 1;
    for (size_t i = 0; i < n; i++)
        lines += text[i] == '\n' || text[i] == '\r';
    struct scheme *s = arena_alloc(a, sizeof *s);
    s->name = "";
    s->borderline = 950000;
    s->grade = arena_array(a, SCHEME_GRADES, sizeof *s->grade);
    s->requirement = arena_array(a, lines < SCHEME_REQUIREMENTS ? lines : SCHEME_REQUIREMENTS,
                                 sizeof *s->requirement);
    struct reader rd = {.s = s, .arena = a, .quantity = quantity, .quantity_count = quantity_count};
    struct source src = {text, n};
    struct csv *csv = csv_new(source_read, &src, ',');
    bool ok = lines_parse(&rd, csv, e);
    csv_free(csv);
    if (!ok || !scheme_check(s, e))
        return false;
    *out = s;
    return true;
}
