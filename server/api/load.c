/* SPDX-License-Identifier: MIT
 *
 * load: routes of bulk loads: what may be asked, and the report.
 */
#include "api/load.h"

#include <string.h>
#include <strings.h>

#include "api/load_priv.h"
#include "measure/plausible.h"

/* ---- shapes ------------------------------------------------------------------------------- */

const char *const load_forms[] = {"csv", "ndjson", NULL};
_Static_assert(ARRAY_LEN(load_forms) == LOAD_FORM__COUNT + 1, "a name for each");
const char *const load_separators[] = {"comma", "semicolon", "tab", NULL};
static const char SEPARATOR[] = ",;\t";

#define AT(f) offsetof(struct load_ask, f)
#define ASK_FIELDS                                                                               \
    {"map",                                                                                      \
     K_TEXTS,                                                                                    \
     0,                                                                                          \
     AT(map),                                                                                    \
     1,                                                                                          \
     200,                                                                                        \
     .help = "OWN=COLUMN: the file calls this column by a name of its own; OWN= leaves it out; " \
             "once for each",                                                                    \
     .example = "Serial=mark"},                                                                  \
        {"all_or_nothing", K_BOOL, 0, AT(all_or_nothing),                                        \
         .help = "true: one refused line and nothing is kept; others wait while it is written"}, \
        {"separator",                                                                            \
         K_ENUM,                                                                                 \
         0,                                                                                      \
         AT(separator),                                                                          \
         .names = load_separators,                                                               \
         .help = "between the cells of a CSV line; absent: found out from the head line"},       \
    {                                                                                            \
        "form", K_ENUM, 0, AT(form), .names = load_forms, .help = "absent: as Content-Type says" \
    }

static const struct field TUBES_ASK_FIELDS[] = {
    ASK_FIELDS,
    {"create", K_TEXTS, 0, AT(create), 1, 40,
     .help = "maker, lot, bin: make what a line names and is not there", .example = "maker,bin"},
    {0},
};
static const struct field READINGS_ASK_FIELDS[] = {
    ASK_FIELDS,
    {"confirm", K_TEXTS, 0, AT(confirm), 1, 200,
     .help = "plausibility rules whose questions are answered with yes for the whole file, or all",
     .example = "family-outlier,limits"},
    {0},
};
static const struct field CATALOGUE_ASK_FIELDS[] = {ASK_FIELDS, {0}};
static const struct shape CATALOGUE_ASK = {"load_catalogue_ask", sizeof(struct load_ask),
                                           CATALOGUE_ASK_FIELDS};
static const struct shape TUBES_ASK = {"load_tubes_ask", sizeof(struct load_ask), TUBES_ASK_FIELDS};
static const struct shape READINGS_ASK = {"load_readings_ask", sizeof(struct load_ask),
                                          READINGS_ASK_FIELDS};
#undef AT

#define AT(f) offsetof(struct load_problem, f)
static const struct field PROBLEM_FIELDS[] = {
    {"line", K_INT, F_REQUIRED, AT(line), .help = "of the file, from 1"},
    {"field", K_TEXT, 0, AT(field), .help = "column, as the file calls it"},
    {"came", K_TEXT, 0, AT(came), .help = "what stood there"},
    {"sentence", K_TEXT, F_REQUIRED, AT(sentence),
     .help = "what is wrong, and what would be right"},
    {0},
};
static const struct shape PROBLEM = {"load_problem", sizeof(struct load_problem), PROBLEM_FIELDS};
#undef AT

#define AT(f) offsetof(struct load_report, f)
#define REPORT_FIELDS                                                                              \
    {"lines", K_INT, F_REQUIRED, AT(lines), .help = "lines with data"},                            \
        {"accepted", K_INT, F_REQUIRED, AT(accepted), .help = "lines that were new"},              \
        {"unchanged", K_INT, F_REQUIRED, AT(unchanged), .help = "lines that were there already"},  \
        {"refused", K_INT, F_REQUIRED, AT(refused), .help = "lines that were not taken"},          \
        {"problems",                                                                               \
         K_LIST,                                                                                   \
         F_REQUIRED,                                                                               \
         AT(problems),                                                                             \
         0,                                                                                        \
         LOAD_PROBLEMS,                                                                            \
         .sub = &PROBLEM,                                                                          \
         .help = "the refused lines, the first 10000 of them"},                                    \
        {"all_or_nothing", K_BOOL, F_REQUIRED, AT(all_or_nothing), .help = "as asked"},            \
    {                                                                                              \
        "applied", K_BOOL, F_REQUIRED, AT(applied), .help = "whether the accepted lines were kept" \
    }
static const struct field REPORT_FIELDS_[] = {REPORT_FIELDS, {0}};
static const struct shape REPORT = {"load_report", sizeof(struct load_report), REPORT_FIELDS_};
static const struct field REFUSED_FIELDS[] = {
    {"title", K_TEXT, F_REQUIRED, AT(title), .help = "in short"},
    {"status", K_INT, F_REQUIRED, AT(status), .help = "422"},
    {"detail", K_TEXT, F_REQUIRED, AT(detail), .help = "what happened"},
    REPORT_FIELDS,
    {0},
};
static const struct shape REFUSED = {"load_refused", sizeof(struct load_report), REFUSED_FIELDS};
#undef AT

/* ---- what was asked ----------------------------------------------------------------------- */

static bool form_of(enum load_form *out, const struct req *rq, const struct load_ask *in,
                    struct err *e)
{
    const char *type = rq->content_type, *charset = strcasestr(type, "charset=");
    if (charset && strncasecmp(charset + 8, "utf-8", 5) != 0 &&
        strncasecmp(charset + 8, "\"utf-8\"", 7) != 0)
        return err_field(e, "Content-Type", ERR_INVALID,
                         "the file has to be in UTF-8: convert it, it is sent as %s", charset + 8);
    if (in->form != NONE)
        *out = (enum load_form)in->form;
    else if (strncasecmp(type, "text/csv", 8) == 0)
        *out = LOAD_CSV;
    else if (strncasecmp(type, "application/x-ndjson", 20) == 0)
        *out = LOAD_NDJSON;
    else
        return err_field(e, "form", ERR_INVALID,
                         "say what the body is: form=csv or form=ndjson, or Content-Type text/csv "
                         "or application/x-ndjson");
    return true;
}

/* "maker,lot" and repeated parameters alike: one text for each word. */
static struct texts words_of(const struct texts *in, struct arena *a)
{
    struct texts out = {0};
    size_t room = 0;
    for (size_t i = 0; i < in->count; i++)
        room += strlen(in->items[i]);
    out.items = arena_array(a, room, sizeof *out.items);
    for (size_t i = 0; i < in->count; i++) {
        for (const char *s = in->items[i]; *s;) {
            size_t n = strcspn(s, ", ");
            if (n)
                out.items[out.count++] = arena_bytes(a, s, n);
            s += n + (s[n] != 0);
        }
    }
    return out;
}

static bool making_from(struct load *l, const struct texts *create, struct err *e)
{
    static const char *const words[LOAD_MAKES__COUNT] = {"maker", "lot", "bin"};
    for (size_t i = 0; i < create->count; i++) {
        int k = 0;
        while (k < LOAD_MAKES__COUNT && strcmp(words[k], create->items[i]) != 0)
            k++;
        if (k == LOAD_MAKES__COUNT)
            return err_field(e, "create", ERR_INVALID,
                             "\"%s\" is not made on the way; maker, lot and bin are",
                             create->items[i]);
        l->making[k] = true;
    }
    return true;
}

static bool confirm_check(const struct texts *confirm, struct arena *a, struct err *e)
{
    size_t count;
    const struct plausible_rule *rule = plausible_rules(&count);
    for (size_t i = 0; i < confirm->count; i++) {
        const char *codes = "all";
        bool known = strcmp(confirm->items[i], "all") == 0;
        for (size_t j = 0; j < count; j++) {
            known = known || strcmp(confirm->items[i], rule[j].code) == 0;
            codes = arena_printf(a, "%s, %s", codes, rule[j].code);
        }
        if (!known)
            return err_field(e, "confirm", ERR_INVALID, "there is no rule \"%s\"; there are %s",
                             confirm->items[i], codes);
    }
    return true;
}

bool load_open(struct load_source **out, struct load *l, const struct load_kind *kind,
               struct err *e)
{
    const struct load_ask *in = l->ask;
    enum load_form form = LOAD_CSV;
    if (!form_of(&form, l->rq, in, e))
        return false;
    kind->columns(&l->columns, l->rq->store, l->rq->arena);
    return load_source_open(out, l->rq->upload, form,
                            in->separator == NONE ? 0 : SEPARATOR[in->separator], &l->columns,
                            &in->map, l->rq->arena, e);
}

/* ---- handlers ----------------------------------------------------------------------------- */

static bool reply_report(struct reply *out, struct load_report *r, const char *event)
{
    out->status = 200;
    if (r->accepted && r->applied)
        out->event = event;
    if (!r->applied) {
        out->status = 422;
        out->shape = &REFUSED;
        r->title = "Nothing was kept";
        r->status = 422;
        r->detail = "lines were refused, and it was asked for all or nothing: mend them and load "
                    "the file again";
    }
    return reply_body(out, r);
}

static bool load_run(struct reply *out, struct req *rq, const struct load_kind *kind, struct err *e)
{
    const struct load_ask *in = rq->in;
    struct load_ask *ask = arena_alloc(rq->arena, sizeof *ask);
    struct load_report *report = arena_alloc(rq->arena, sizeof *report);
    struct load l = {.rq = rq, .ask = ask};
    *ask = *in;
    ask->confirm = words_of(&in->confirm, rq->arena);
    ask->create = words_of(&in->create, rq->arena);
    return making_from(&l, &ask->create, e) && confirm_check(&ask->confirm, rq->arena, e) &&
           load_drive(report, &l, kind, e) && reply_report(out, report, "load");
}

static bool tubes_post(struct reply *out, struct req *rq, struct err *e)
{
    return load_run(out, rq, &load_tubes, e);
}

static bool readings_post(struct reply *out, struct req *rq, struct err *e)
{
    return load_run(out, rq, &load_readings, e);
}

static bool types_post(struct reply *out, struct req *rq, struct err *e)
{
    return load_run(out, rq, &load_types, e);
}

static bool statements_post(struct reply *out, struct req *rq, struct err *e)
{
    return load_run(out, rq, &load_statements, e);
}

const struct route load_routes[] = {
    {POST, "/api/load/tubes", R_STOCK, WORK | UPLOAD, &TUBES_ASK, &REPORT, NULL, tubes_post,
     "Load tubes from CSV or NDJSON; lines that are there already change nothing"},
    {POST, "/api/load/readings", R_TEST, WORK | UPLOAD, &READINGS_ASK, &REPORT, NULL, readings_post,
     "Load readings from CSV or NDJSON; lines that are there already change nothing"},
    {POST, "/api/load/types", R_OWNER, WORK | UPLOAD, &CATALOGUE_ASK, &REPORT, NULL, types_post,
     "Load types of your own from CSV or NDJSON; a line of a type that is there takes its place"},
    {POST, "/api/load/equivalences", R_OWNER, WORK | UPLOAD, &CATALOGUE_ASK, &REPORT, NULL,
     statements_post, "Load statements of your own from CSV or NDJSON"},
    {0},
};
