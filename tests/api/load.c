/* SPDX-License-Identifier: MIT
 *
 * load: bulk loads through whole calls.  What is expected is what api/load.h and design.md section
 * 7 promise: every bad line named by number and field, the good ones kept, the same file again
 * changing nothing.  Types and test points are those of the bundled catalogue.
 */
#include "ask.h"

#include <unistd.h>

#include "api/load.h"
#include "base/stockno.h"
#include "base/text.h"
#include "store/furnish.h"
#include "store/journal.h"

#define CASES    "tests/cases/load-broken.tsv"
#define TEN_MB   ((size_t)10 * 1024 * 1024)
#define TUBES    "/api/load/tubes"
#define READINGS "/api/load/readings"
#define CSV      "text/csv; charset=utf-8"
#define NDJSON   "application/x-ndjson"

/* ---- loading ------------------------------------------------------------------------------ */

/* Send text as the body of an upload.  Returns the status. */
static int load_bytes(const char *path, const char *type, const char *text, size_t n)
{
    char file[] = "/tmp/quadrille-test-XXXXXX";
    int fd = mkstemp(file);
    assert_true(fd >= 0);
    for (size_t at = 0; at < n;) {
        ssize_t put = write(fd, text + at, n - at);
        assert_true(put > 0);
        at += (size_t)put;
    }
    close(fd);
    json_decref(ask_answer);
    call_free(ask_call);
    struct call *c = ask_call = call_new();
    const char *query = strchr(path, '?');
    c->method = POST;
    c->path =
        query ? arena_bytes(c->arena, path, (size_t)(query - path)) : arena_text(c->arena, path);
    c->query = query ? arena_text(c->arena, query + 1) : "";
    c->content_type = type;
    c->upload = file;
    c->peer = "local";
    c->trusted = true;
    c->now_ms = ask_now;
    call_serve(c, ask_store);
    unlink(file);
    ask_answer = c->answer ? json_loadb(c->answer, c->answer_n, JSON_DECODE_ANY, NULL) : NULL;
    return c->status;
}

static int load(const char *path, const char *text)
{
    return load_bytes(path, CSV, text, strlen(text));
}

/* The report counts these. */
static void expect(int64_t accepted, int64_t unchanged, int64_t refused)
{
    if (ask_int("accepted") != accepted || ask_int("unchanged") != unchanged ||
        ask_int("refused") != refused || ask_int("lines") != accepted + unchanged + refused)
        fail_msg("wanted %lld accepted, %lld unchanged, %lld refused; status %d, %.*s",
                 (long long)accepted, (long long)unchanged, (long long)refused, ask_call->status,
                 (int)(ask_call->answer_n < 1500 ? ask_call->answer_n : 1500), ask_call->answer);
}

static bool is_field(const char *of, const char *wanted)
{
    if (!wanted || !of)
        return of == wanted;
    return strcmp(wanted, "*") == 0 || strcmp(wanted, of) == 0;
}

/* Problem i is of this line and field (NULL: none, "*": any), holds the words, and quotes came
 * (NULL: any).
 */
static void expect_problem(size_t i, int64_t line, const char *field, const char *words,
                           const char *came)
{
    char at[40];
    snprintf(at, sizeof at, "problems[%zu]", i);
    json_t *p = ask_at(at);
    const char *said = json_string_value(json_object_get(p, "sentence"));
    const char *of = json_string_value(json_object_get(p, "field"));
    const char *stood = json_string_value(json_object_get(p, "came"));
    int64_t n = json_integer_value(json_object_get(p, "line"));
    if (!p || n != line || !said || !strstr(said, words) || !is_field(of, field) ||
        (came && (!stood || strcmp(came, stood) != 0)))
        fail_msg("problem %zu: line %lld, %s, came %s: %s; wanted line %lld, %s, came %s: ...%s...",
                 i, (long long)n, of ? of : "-", stood ? stood : "-", said ? said : "nothing",
                 (long long)line, field ? field : "-", came ? came : "(any)", words);
}

/* The whole load is refused with this status, field and words. */
static void expect_refusal(int status, const char *field, const char *words)
{
    if (ask_call->status != status || strcmp(ask_text("field"), field) != 0 ||
        !strstr(ask_text("detail"), words))
        fail_msg("wanted %d, %s: ...%s...; got %d: %.*s", status, field, words, ask_call->status,
                 (int)ask_call->answer_n, ask_call->answer);
}

/* All that a load may write, as one number that any change changes. */
static int64_t everything(void)
{
    return ask_number(
        "SELECT (SELECT count(*) FROM journal) * 1000003 + "
        "(SELECT count(*) FROM tube) * 10007 + (SELECT count(*) FROM reading) * 101 + "
        "(SELECT count(*) FROM sitting) + (SELECT count(*) FROM maker) * 7 + "
        "(SELECT count(*) FROM grading) * 13 + (SELECT count(*) FROM inspection) * 17");
}

/* ---- the ground --------------------------------------------------------------------------- */

static int fresh(void **state)
{
    struct err e = ERR_INIT;
    ask_open(state);
    if (!store_furnish(ask_store, &e))
        fail_msg("%s", e.text);
    ask_ok(POST, "/api/makers", "{\"name\":\"Nordlys\"}");
    ask_ok(POST, "/api/bins", "{\"code\":\"A1\"}");
    ask_ok(POST, "/api/lots", "{\"code\":\"L1\",\"title\":\"a cellar\"}");
    ask_ok(POST, "/api/testers",
           "{\"code\":\"T1\",\"title\":\"the bench\",\"reads\":["
           "{\"quantity\":\"ia\",\"unit\":\"mA\",\"resolution\":\"0.01\"},"
           "{\"quantity\":\"gm\",\"unit\":\"mA/V\",\"resolution\":\"0.01\"}]}");
    ask_ok(POST, "/api/testers",
           "{\"code\":\"T2\",\"title\":\"the old one\",\"reads\":["
           "{\"quantity\":\"meter\",\"unit\":\"div\",\"relative\":true}]}");
    return 0;
}

/* A twin triode TW with the first number, a beam tetrode SG, and NP, a rectifier, whose type has no
 * test point. */
static void stock(void)
{
    assert_int_equal(load(TUBES, "mark,printed\nTW,12AX7\nSG,6V6GT\nNP,5U4G\n"), 200);
    expect(3, 0, 0);
    assert_int_equal(ask_number("SELECT stock_no FROM tube WHERE outside_mark = 'TW'"),
                     stockno_make(STOCKNO_FIRST));
}

/* ---- the broken lines --------------------------------------------------------------------- */

#define COLUMNS 24
static const char *const tube_column[COLUMNS] = {
    "stock_no", "mark",    "printed", "maker", "construction", "date",        "lot",
    "bin",      "history", "note",    "pins",  "getter",       "getter_edge", "plate",
    "base",     "label",   "glass",   "cap",   "loose",        "box",         NULL};
static const char *const reading_column[COLUMNS] = {
    "tube", "section", "tester", "test_point", "taken",  "repeat", "warm_s", "sitting", "ia",
    "gm",   "rp",      "mu",     "heater",     "shorts", "ig2",    "meter",  NULL};
static const char *const whole_numbers[] = {"section", "repeat", "warm_s"};

struct text {
    char *s;
    size_t n, room;
};

static void add(struct text *t, const char *s, size_t n)
{
    if (t->n + n + 1 > t->room) {
        t->room = (t->n + n + 1) * 2;
        t->s = xrealloc(t->s, t->room);
    }
    memcpy(t->s + t->n, s, n);
    t->n += n;
    t->s[t->n] = 0;
}

static void add_text(struct text *t, const char *s)
{
    add(t, s, strlen(s));
}

/* One case of the file. */
struct broken {
    char *kind, *form, *field, *words, *what;
};

/* \xNN, \t and {10MB} in what is wrong. */
static void unescape(struct text *out, const char *s)
{
    for (; *s; s++) {
        if (strncmp(s, "{10MB}", 6) == 0) {
            char *long_one = xmalloc(TEN_MB);
            memset(long_one, 'x', TEN_MB);
            add(out, long_one, TEN_MB);
            free(long_one);
            s += 5;
        } else if (s[0] == '\\' && s[1] == 'x') {
            char hex[3] = {s[2], s[3], 0}, byte = (char)strtol(hex, NULL, 16);
            add(out, &byte, 1);
            s += 3;
        } else if (s[0] == '\\' && s[1] == 't') {
            add(out, "\t", 1);
            s++;
        } else {
            add(out, s, 1);
        }
    }
}

/* The value that a list of column=value gives a column; NULL when it gives none. */
static const char *given(const char *what, const char *column, char *buf, size_t room)
{
    size_t k = strlen(column);
    for (const char *s = what; *s; s += strcspn(s, "|"), s += *s == '|')
        if (strncmp(s, column, k) == 0 && s[k] == '=') {
            snprintf(buf, room, "%.*s", (int)strcspn(s + k + 1, "|"), s + k + 1);
            return buf;
        }
    return NULL;
}

/* What stands in a column of the line that is good but for what is wrong. */
static const char *value_of(bool tubes, const char *column, int number, const char *what, char *buf,
                            size_t room)
{
    if (given(what, column, buf, room))
        return buf;
    const char *const good[][2] = {{"printed", "12AX7"}, {"tube", "TW"}, {"section", "1"},
                                   {"tester", "T1"},     {"ia", "1.2"},  {"gm", "1.6"}};
    *buf = 0;
    if (tubes && strcmp(column, "mark") == 0)
        snprintf(buf, room, "M%d", number);
    else if (strcmp(column, "taken") == 0)
        snprintf(buf, room, "2023-05-%02dT%02d:%02d:00Z", 2 + number / 1440, number / 60 % 24,
                 number % 60);
    for (size_t i = 0; i < ARRAY_LEN(good); i++)
        if (strcmp(column, good[i][0]) == 0 && tubes == (i == 0))
            return good[i][1];
    return buf;
}

static void add_csv_line(struct text *out, bool tubes, int number, const char *what)
{
    const char *const *column = tubes ? tube_column : reading_column;
    char buf[5000];
    for (size_t i = 0; column[i]; i++) {
        const char *v = value_of(tubes, column[i], number, what, buf, sizeof buf);
        bool quote = strpbrk(v, ",") != NULL;
        add_text(out, i ? "," : "");
        add_text(out, quote ? "\"" : "");
        unescape(out, v);
        add_text(out, quote ? "\"" : "");
    }
}

static bool is_whole(const char *column, const char *v)
{
    for (size_t i = 0; i < ARRAY_LEN(whole_numbers); i++)
        if (strcmp(column, whole_numbers[i]) == 0)
            return strspn(v, "-0123456789") == strlen(v);
    return false;
}

static void add_ndjson_line(struct text *out, bool tubes, int number, const char *what)
{
    const char *const *column = tubes ? tube_column : reading_column;
    const char *between = "{";
    char buf[5000], name[40];
    for (size_t i = 0; column[i]; i++) {
        const char *v = value_of(tubes, column[i], number, what, buf, sizeof buf);
        if (!*v)
            continue;
        struct text plain = {0};
        unescape(&plain, v);
        json_t *text = json_stringn(plain.s, plain.n);
        char *quoted = json_dumps(text, JSON_ENCODE_ANY);
        snprintf(name, sizeof name, "%s\"%s\":", between, column[i]);
        add_text(out, name);
        add_text(out, is_whole(column[i], v) ? v : quoted);
        free(quoted);
        free(plain.s);
        json_decref(text);
        between = ",";
    }
    add_text(out, "}");
}

static void add_line(struct text *out, bool tubes, bool csv, int number, const char *what)
{
    if (strncmp(what, "raw ", 4) == 0)
        unescape(out, what + 4);
    else if (csv)
        add_csv_line(out, tubes, number, what);
    else
        add_ndjson_line(out, tubes, number, what);
    add_text(out, "\n");
}

static size_t cases_read(struct broken *out, size_t room, char *text)
{
    size_t n = 0;
    for (char *save, *line = strtok_r(text, "\n", &save); line;
         line = strtok_r(NULL, "\n", &save)) {
        if (*line == '#')
            continue;
        assert_true(n < room);
        struct broken *b = &out[n++];
        char **const part[] = {&b->kind, &b->form, &b->field, &b->words, &b->what};
        for (size_t i = 0; i < ARRAY_LEN(part); i++)
            *part[i] = strsep(&line, "\t");
        assert_non_null(b->what);
    }
    return n;
}

/* What the problem's "came" has to be: what was put into its field, in CSV. */
static const char *came_of(const struct broken *b, bool csv, char *buf, size_t room)
{
    if (!csv || !given(b->what, b->field, buf, room) || !*buf || strchr(buf, '\\') ||
        strlen(buf) > 40 || strcmp(b->field, "taken") == 0)
        return NULL;
    return buf;
}

static void expect_broken(const struct broken *all, size_t n, bool tubes, bool csv)
{
    struct text file = {0};
    size_t count = 0;
    static int64_t line_of[400];
    static const struct broken *of[400];
    int64_t line = 0;
    int number = 0;
    for (size_t i = 0; csv && (tubes ? tube_column : reading_column)[i]; i++) {
        add_text(&file, i ? "," : "");
        add_text(&file, (tubes ? tube_column : reading_column)[i]);
    }
    add_text(&file, csv ? "\n" : "");
    line += csv;
    for (size_t i = 0; i < n; i++) {
        bool both = strcmp(all[i].form, "both") == 0;
        if (tubes != (strcmp(all[i].kind, "tubes") == 0) ||
            (!both && csv != (strcmp(all[i].form, "csv") == 0)))
            continue;
        add_line(&file, tubes, csv, number++, ""); /* a good one before each */
        add_line(&file, tubes, csv, 2000 + (int)i, all[i].what);
        line += 2;
        line_of[count] = line;
        of[count++] = &all[i];
    }
    add_line(&file, tubes, csv, number++, "");
    assert_int_equal(load_bytes(tubes ? TUBES : READINGS, csv ? CSV : NDJSON, file.s, file.n), 200);
    free(file.s);
    char buf[5000];
    for (size_t i = 0; i < count && i < ask_count("problems"); i++)
        expect_problem(i, line_of[i], strcmp(of[i]->field, "-") == 0 ? NULL : of[i]->field,
                       of[i]->words, came_of(of[i], csv, buf, sizeof buf));
    expect(number, 0, (int64_t)count);
    print_message("  %zu broken lines of %s as %s\n", count, tubes ? "tubes" : "readings",
                  csv ? "CSV" : "NDJSON");
}

static void every_broken_line_is_named_and_the_good_ones_are_kept(void **state)
{
    (void)state;
    static struct broken all[400];
    struct text text = {0};
    char buf[4096];
    FILE *f = fopen(CASES, "rb");
    if (!f)
        fail_msg("%s cannot be opened; run from the top folder", CASES);
    for (size_t n; (n = fread(buf, 1, sizeof buf, f)) > 0;)
        add(&text, buf, n);
    fclose(f);
    size_t n = cases_read(all, ARRAY_LEN(all), text.s);
    assert_true(n >= 200);
    stock();
    ask_now += 86400000; /* so that all good lines are of the past */
    for (int i = 0; i < 4; i++) {
        const bool tubes = i < 2, csv = i % 2 == 0;
        if (i == 1 || i == 3) { /* the same marks and moments again, on fresh ground */
            ask_close(state);
            fresh(state);
            stock();
        }
        if (!tubes) /* a reading that another line contradicts */
            assert_int_equal(load(READINGS, "tube,section,tester,taken,ia,gm\n"
                                            "TW,1,T1,2023-05-01T09:00:00Z,1.2,1.6\n"),
                             200);
        expect_broken(all, n, tubes, csv);
        struct err e = ERR_INIT;
        assert_true(journal_verify(ask_store, &e));
    }
    free(text.s);
}

/* ---- tubes -------------------------------------------------------------------------------- */

#define FULL_TUBES                                                                  \
    "mark,printed,maker,date,lot,bin,history,history_word,note,pins,getter,box\r\n" \
    "A-1,12AX7,Nordlys,1958..1962,L1,A1,unused,the widow,\"a note, with a "         \
    "comma\",bright,full,original\r\n"                                              \
    "A-2,6Н2П,,1971-W11,L1,A1,,,,dull+bent,half,\r\n"                             \
    "A-3,6V6GT,,,,,used,,,,,\r\n"

static void a_file_of_tubes_is_kept_and_the_same_file_again_changes_nothing(void **state)
{
    (void)state;
    assert_int_equal(load(TUBES, FULL_TUBES), 200);
    expect(3, 0, 0);
    assert_int_equal(ask_int("applied"), 1);
    ask_ok(GET, "/api/scan?text=A-1", NULL);
    assert_string_equal(ask_text("maker"), "Nordlys");
    assert_string_equal(ask_text("made_last"), "1962-12-31");
    assert_string_equal(ask_text("lot"), "L1");
    assert_string_equal(ask_text("bin"), "A1");
    assert_string_equal(ask_text("history"), "unused");
    assert_string_equal(ask_text("note"), "a note, with a comma");
    assert_string_equal(ask_text("state"), "inspected");
    ask_ok(GET, "/api/scan?text=A-2", NULL);
    assert_string_equal(ask_text("type"), "6N2P");
    assert_int_equal(ask_number("SELECT count(*) FROM inspection_finding"), 6);
    int64_t before = everything();
    assert_int_equal(load(TUBES, FULL_TUBES), 200);
    expect(0, 3, 0);
    assert_int_equal(everything(), before);
}

static void what_a_line_leaves_out_is_not_compared(void **state)
{
    (void)state;
    load(TUBES, FULL_TUBES);
    load(TUBES, "mark,printed\nA-1,12AX7\n");
    expect(0, 1, 0);
    load(TUBES, "mark,printed,getter\nA-1,12AX7,half\n");
    expect(0, 0, 1);
    expect_problem(0, 2, "pins", "bright, but nothing came", NULL);
}

static void a_tube_may_come_with_its_number(void **state)
{
    (void)state;
    char text[200];
    snprintf(text, sizeof text, "stock_no,printed\n%lld,12AX7\n%lld,6V6GT\n",
             (long long)stockno_make(200000), (long long)stockno_make(200001));
    load(TUBES, text);
    expect(2, 0, 0);
    load(TUBES, text);
    expect(0, 2, 0);
    assert_int_equal(ask_number("SELECT count(*) FROM tube WHERE id IN (200000, 200001)"), 2);
}

static void the_same_line_twice_in_one_file_is_one_tube(void **state)
{
    (void)state;
    load(TUBES, "mark,printed\nX,12AX7\nX,12AX7\nX,6V6GT\n");
    expect(1, 1, 1);
    expect_problem(0, 4, "printed", "12AX7", "6V6GT");
}

static void makers_lots_and_bins_are_made_where_that_is_asked_for(void **state)
{
    (void)state;
    const char *text = "mark,printed,maker,lot,bin\nX,12AX7,Halvorsen,L7,B7\nY,QQQ,Other,L8,B8\n"
                       "Z,12AX7,Halvorsen,L7,B7\n";
    load(TUBES "?create=maker,lot", text);
    expect(0, 0, 3);
    expect_problem(0, 2, "bin", "B7", "B7");
    assert_int_equal(ask_number("SELECT count(*) FROM maker"), 1);
    load(TUBES "?create=maker,lot&create=bin", text);
    expect(2, 0, 1);
    expect_problem(0, 3, "printed", "QQQ", "QQQ");
    assert_int_equal(ask_number("SELECT count(*) FROM maker"), 2);
    assert_int_equal(ask_number("SELECT count(*) FROM bin"), 2);
    load(TUBES "?create=grade", text);
    expect_refusal(422, "create", "maker, lot and bin are");
}

static void a_change_that_fails_takes_only_its_own_line_down(void **state)
{
    (void)state;
    ask_sql("CREATE TRIGGER boom BEFORE INSERT ON tube WHEN NEW.outside_mark LIKE 'BOOM%' "
            "BEGIN SELECT RAISE(ABORT, 'not this one'); END");
    load(TUBES, "mark,printed,pins\na,12AX7,bright\nBOOM1,12AX7,bright\nb,12AX7,\nc,12AX7,\n"
                "BOOM2,12AX7,\nd,12AX7,dull\n");
    expect(4, 0, 2);
    expect_problem(0, 3, NULL, "not this one", NULL);
    expect_problem(1, 6, NULL, "not this one", NULL);
    assert_int_equal(ask_number("SELECT count(*) FROM tube"), 4);
    assert_int_equal(ask_number("SELECT count(*) FROM inspection"), 2);
}

static void ten_thousand_problems_are_told_and_the_rest_counted(void **state)
{
    (void)state;
    struct text t = {0};
    add_text(&t, "mark,printed\n");
    for (int i = 0; i < LOAD_PROBLEMS + 5; i++)
        add_text(&t, "x\n");
    assert_int_equal(load_bytes(TUBES, CSV, t.s, t.n), 200);
    free(t.s);
    expect(0, 0, LOAD_PROBLEMS + 5);
    assert_int_equal(ask_count("problems"), LOAD_PROBLEMS);
}

/* ---- heads and maps ----------------------------------------------------------------------- */

static void a_head_line_that_cannot_be_used_refuses_the_file(void **state)
{
    (void)state;
    stock();
    const struct {
        const char *path, *text;
        int status;
        const char *field, *words;
    } bad[] = {
        {TUBES, "", 422, "(nothing)", "empty"},
        {TUBES, "mark,printd\nX,12AX7\n", 422, "printd", "is \"printed\" meant"},
        {TUBES, "mark,type\nX,12AX7\n", 422, "type", "is \"printed\" meant"},
        {READINGS, "Stock No,tester\nX,b\n", 422, "Stock No", "is \"tube\" meant"},
        {TUBES, "mark,printed,colour\nX,12AX7,red\n", 422, "colour", "there are stock_no, printed"},
        {TUBES, "mark,printed,mark\nX,12AX7,Y\n", 422, "mark", "keep one"},
        {TUBES, "mark\nX\n", 422, "printed", "every line needs"},
        {TUBES, "mark,printed,\nX,12AX7,\n", 422, "(nothing)", "column 3 has no name"},
        {TUBES, "mark,printed[mA]\nX,12AX7\n", 422, "printed[mA]", "unit"},
        {TUBES "?map=Serial", "mark,printed\n", 422, "map", "OWN=COLUMN"},
        {TUBES "?map=Serial%3Dserial", "Serial,printed\n", 422, "map", "no column \"serial\""},
        {TUBES "?map=Serial%3Dmark", "mark,printed\n", 422, "map", "no column \"Serial\""},
        {TUBES "?map=Serial%3Dmark", "mark,Serial,printed\n", 422, "Serial",
         "both the column mark"},
        {TUBES "?map=a%3Dmark&map=a%3Dbin", "a,printed\n", 422, "map", "mapped twice"},
        {READINGS, "tube,tester,taken,gm,gm[micromho]\n", 422, "gm[micromho]", "keep one"},
        {READINGS, "tube,tester,taken,gm[mA]\n", 422, "gm[mA]", "transconductance"},
        {READINGS, "tube,tester,taken,Gm\n", 422, "Gm", "is \"gm\" meant"},
        {READINGS, "tube,taken,gm\n", 422, "tester", "every line needs"},
        {READINGS "?confirm=everything", "tube,tester,taken,gm\n", 422, "confirm", "unit-slip"},
        {READINGS "?form=xml", "tube,tester,taken,gm\n", 422, "form", "ndjson"},
    };
    int64_t before = everything();
    for (size_t i = 0; i < ARRAY_LEN(bad); i++) {
        load(bad[i].path, bad[i].text);
        expect_refusal(bad[i].status, bad[i].field, bad[i].words);
    }
    assert_int_equal(everything(), before);
}

static void columns_go_by_the_files_own_names(void **state)
{
    (void)state;
    load(TUBES "?map=Serial+no%3Dmark&map=Type%3Dprinted&map=Owner%3D",
         "\xEF\xBB\xBFSerial no;Type;Owner;note\nS1;12AX7;somebody;\"a;b\"\nS2;QQQ;x;\n");
    expect(1, 0, 1);
    expect_problem(0, 3, "Type", "QQQ", "QQQ");
    ask_ok(GET, "/api/scan?text=S1", NULL);
    assert_string_equal(ask_text("note"), "a;b");
    load(READINGS "?map=Serial%3Dtube&map=S%3Dgm%5Bmicromho%5D",
         "Serial,section,tester,taken,S\nS1,1,T1,2023-05-01,1600\nS1,2,T1,2023-05-01,many\n");
    expect(1, 0, 1);
    expect_problem(0, 3, "S", "many", "many");
    assert_int_equal(ask_number("SELECT value FROM standing"), 1600);
    const char *json =
        "{\"Serial\":\"S1\",\"section\":2,\"tester\":\"T1\",\"taken\":\"2023-05-01\","
        "\"S\":\"1.5 mA/V\"}\n\n{\"tube\":\"S1\",\"section\":2,\"tester\":\"T1\","
        "\"taken\":\"2023-05-01\",\"gm\":\"1.5\"}\n";
    load_bytes(READINGS "?map=Serial%3Dtube&map=S%3Dgm", NDJSON, json, strlen(json));
    expect(1, 0, 1);
    expect_problem(0, 3, "tube", "tube", NULL);
}

static void the_form_is_said_by_the_content_type_or_by_name(void **state)
{
    (void)state;
    const char *text = "mark,printed\nX,12AX7\n", *json = "{\"mark\":\"Y\",\"printed\":\"12AX7\"}";
    load_bytes(TUBES, NULL, text, strlen(text));
    expect_refusal(422, "form", "text/csv");
    load_bytes(TUBES "?form=csv", NULL, text, strlen(text));
    expect(1, 0, 0);
    load_bytes(TUBES, NDJSON, json, strlen(json));
    expect(1, 0, 0);
    load_bytes(TUBES, "text/csv; charset=windows-1252", text, strlen(text));
    expect_refusal(422, "Content-Type", "UTF-8");
    load(TUBES "?separator=tab", "mark\tprinted\tnote\nZ\t12AX7\ta, b, c\n");
    expect(1, 0, 0);
}

/* ---- readings ----------------------------------------------------------------------------- */

#define TWIN                                      \
    "tube,section,tester,taken,ia,gm[micromho]\n" \
    "TW,1,T1,2023-05-01T10:00:00Z,1.21,1610\n"    \
    "TW,2,T1,2023-05-01T10:00:00Z,\"1,19 mA\",1.59 mA/V\n"

static void readings_are_kept_with_their_units_and_the_same_file_again_changes_nothing(void **state)
{
    (void)state;
    stock();
    load(READINGS, TWIN);
    expect(2, 0, 0);
    assert_int_equal(ask_number("SELECT value FROM standing WHERE section = 1 AND quantity = 'gm'"),
                     1610);
    assert_int_equal(ask_number("SELECT value FROM standing WHERE section = 2 AND quantity = 'gm'"),
                     1590);
    assert_int_equal(ask_number("SELECT value FROM standing WHERE section = 2 AND quantity = 'ia'"),
                     1190);
    assert_int_equal(
        ask_number("SELECT count(*) FROM reading_value WHERE typed = '1610' AND unit = "
                   "'micromho'"),
        1);
    assert_int_equal(ask_number("SELECT count(*) FROM tube WHERE state = 'tested'"), 1);
    assert_int_equal(ask_number("SELECT count(*) FROM grading"), 1); /* once for both sections */
    int64_t before = everything();
    load(READINGS, TWIN);
    expect(0, 2, 0);
    assert_int_equal(everything(), before);
}

static void a_reading_may_name_its_tube_by_number(void **state)
{
    (void)state;
    stock();
    load(READINGS, "tube,section,tester,taken,ia\n1000019,1,T1,2023-05-01,1.2\n"
                   "100 0019,2,T1,2023-05-01,1.2\n");
    expect(2, 0, 0);
}

static void repeats_of_one_sitting_are_averaged(void **state)
{
    (void)state;
    stock();
    load(READINGS, "tube,section,tester,taken,repeat,sitting,ia\n"
                   "TW,1,T1,2023-05-01T10:00:00Z,1,first,1.1\n"
                   "TW,1,T1,2023-05-01T10:01:00Z,2,first,1.3\n"
                   "TW,2,T1,2023-05-01T10:00:00Z,1,first,1.1\n"
                   "TW,2,T1,2023-05-03T10:01:00Z,1,second,1.3\n");
    expect(4, 0, 0);
    assert_int_equal(ask_number("SELECT count(*) FROM sitting"), 2);
    assert_int_equal(ask_number("SELECT value FROM standing WHERE section = 1"), 1200);
    assert_int_equal(ask_number("SELECT value FROM standing WHERE section = 2"), 1300);
}

/* Four hours without a reading end a sitting (store/tester.h). */
static void without_a_label_a_sitting_ends_with_four_idle_hours(void **state)
{
    (void)state;
    stock();
    load(READINGS, "tube,section,tester,taken,ia\n"
                   "TW,1,T1,2023-05-01T08:00:00Z,1.1\n"
                   "TW,1,T1,2023-05-01T11:00:00Z,1.3\n"
                   "TW,1,T1,2023-05-01T15:30:00Z,1.0\n");
    expect(3, 0, 0);
    assert_int_equal(ask_number("SELECT count(*) FROM sitting"), 2);
    assert_int_equal(ask_number("SELECT value FROM standing"), 1000);
}

/* A thousandfold value is the slip that measure/plausible.h names first. */
static void a_questioned_reading_is_refused_until_its_rule_is_confirmed(void **state)
{
    (void)state;
    stock();
    const char *slip = "tube,section,tester,taken,warm_s,ia\nTW,1,T1,2023-05-01,5,1.2\n";
    load(READINGS, slip);
    expect(0, 0, 1);
    expect_problem(0, 2, "tube", "confirm=warm-up", NULL);
    load(READINGS "?confirm=limits", slip);
    expect(0, 0, 1);
    load(READINGS "?confirm=limits,warm-up", slip);
    expect(1, 0, 0);
    assert_int_equal(ask_number("SELECT count(*) FROM reading WHERE questions = 'warm-up'"), 1);
    load(READINGS, slip);
    expect(0, 1, 0);
}

static void a_word_of_an_ordinal_is_kept_as_its_step(void **state)
{
    (void)state;
    stock();
    const char *text = "tube,tester,taken,shorts\nTW,T1,2023-05-01,none\nSG,T1,2023-05-01,2\n";
    load(READINGS, text);
    expect(2, 0, 0);
    assert_int_equal(ask_number("SELECT count(*) FROM reading_value WHERE typed IN ('0', '2')"), 2);
    load(READINGS, text);
    expect(0, 2, 0);
}

/* ---- all or nothing ----------------------------------------------------------------------- */

static void all_or_nothing_keeps_nothing_where_one_line_is_refused(void **state)
{
    (void)state;
    int64_t before = everything();
    assert_int_equal(load(TUBES "?all_or_nothing=true", "mark,printed\nX,12AX7\nY,QQQ\nZ,12AX7\n"),
                     422);
    expect(2, 0, 1);
    expect_problem(0, 3, "printed", "QQQ", "QQQ");
    assert_int_equal(ask_int("applied"), 0);
    assert_int_equal(everything(), before);
    assert_int_equal(load(TUBES "?all_or_nothing=true", "mark,printed\nX,12AX7\nZ,12AX7\n"), 200);
    expect(2, 0, 0);
    assert_int_equal(ask_int("applied"), 1);
    assert_int_equal(ask_number("SELECT count(*) FROM tube"), 2);
}

/* What shows only when the lines before are there: a mark that comes twice, a failing change. */
static void all_or_nothing_sees_what_only_the_order_shows(void **state)
{
    (void)state;
    int64_t before = everything();
    assert_int_equal(load(TUBES "?all_or_nothing=true&create=maker",
                          "mark,printed,maker\nX,12AX7,New\nX,6V6GT,New\n"),
                     422);
    expect_problem(0, 3, "printed", "12AX7", "6V6GT");
    assert_int_equal(everything(), before);
    ask_sql("CREATE TRIGGER boom BEFORE INSERT ON tube WHEN NEW.outside_mark = 'BOOM' "
            "BEGIN SELECT RAISE(ABORT, 'not this one'); END");
    assert_int_equal(load(TUBES "?all_or_nothing=true", "mark,printed\nX,12AX7\nBOOM,12AX7\n"),
                     422);
    expect_problem(0, 3, NULL, "not this one", NULL);
    assert_int_equal(everything(), before);
}

static void all_or_nothing_of_readings_grades_and_repeats(void **state)
{
    (void)state;
    stock();
    assert_int_equal(load(READINGS "?all_or_nothing=yes", TWIN), 200);
    expect(2, 0, 0);
    assert_int_equal(ask_number("SELECT count(*) FROM grading"), 1);
    int64_t before = everything();
    assert_int_equal(load(READINGS "?all_or_nothing=yes", TWIN), 200);
    expect(0, 2, 0);
    assert_int_equal(everything(), before);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
#define T(f) cmocka_unit_test_setup_teardown(f, fresh, ask_close)
        T(a_file_of_tubes_is_kept_and_the_same_file_again_changes_nothing),
        T(what_a_line_leaves_out_is_not_compared),
        T(a_tube_may_come_with_its_number),
        T(the_same_line_twice_in_one_file_is_one_tube),
        T(makers_lots_and_bins_are_made_where_that_is_asked_for),
        T(a_change_that_fails_takes_only_its_own_line_down),
        T(ten_thousand_problems_are_told_and_the_rest_counted),
        T(a_head_line_that_cannot_be_used_refuses_the_file),
        T(columns_go_by_the_files_own_names),
        T(the_form_is_said_by_the_content_type_or_by_name),
        T(readings_are_kept_with_their_units_and_the_same_file_again_changes_nothing),
        T(a_reading_may_name_its_tube_by_number),
        T(repeats_of_one_sitting_are_averaged),
        T(without_a_label_a_sitting_ends_with_four_idle_hours),
        T(a_questioned_reading_is_refused_until_its_rule_is_confirmed),
        T(a_word_of_an_ordinal_is_kept_as_its_step),
        T(all_or_nothing_keeps_nothing_where_one_line_is_refused),
        T(all_or_nothing_sees_what_only_the_order_shows),
        T(all_or_nothing_of_readings_grades_and_repeats),
        T(every_broken_line_is_named_and_the_good_ones_are_kept),
    };
    return cmocka_run_group_tests_name("load", tests, NULL, NULL);
}
