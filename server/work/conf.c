/* SPDX-License-Identifier: MIT
 *
 * conf: the table of settings, and the two ways of reading one.
 */
#include "work/conf.h"

#include "work/log.h"

#include <arpa/inet.h>
#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

enum kind { TEXT, NUMBER, SWITCH, ADDRESS, LEVEL };

struct setting {
    const char *name;
    enum kind kind;
    size_t at;
    const char *fallback;
    int64_t min, max; /* NUMBER */
    const char *help;
};

#define AT(field) offsetof(struct conf, field)
static const struct setting settings[] = {
    {"data", TEXT, AT(data), NULL, 0, 0, "folder of the database"},
    {"listen", ADDRESS, AT(listen), "127.0.0.1", 0, 0, "address to listen on"},
    {"port", NUMBER, AT(port), "7373", 0, 65535, "port to listen on; 0 takes any free one"},
    {"web", TEXT, AT(web), "", 0, 0, "serve the pages from this folder, not the packed ones"},
    {"log", LEVEL, AT(log), "note", 0, 0, "what to log: error, note or request"},
    {"behind-tls", SWITCH, AT(behind_tls), "no", 0, 0, "yes: a proxy in front speaks TLS"},
    {"threads", NUMBER, AT(threads), "2", 1, 16, "threads that serve connections"},
    {"workers", NUMBER, AT(workers), "3", 1, 16, "threads for long work"},
    {"queue", NUMBER, AT(queue), "512", 1, 100000, "most changes waiting"},
    {"connections", NUMBER, AT(connections), "512", 4, 20000, "most connections"},
    {"per-address", NUMBER, AT(per_address), "128", 1, 20000, "most connections of an address"},
    {"streams", NUMBER, AT(streams), "128", 1, 10000, "most open event streams"},
    {"uploads", NUMBER, AT(uploads), "4", 1, 100, "most uploads at once"},
    {"idle", NUMBER, AT(idle_s), "30", 1, 3600, "seconds until an idle connection is closed"},
    {"header-kib", NUMBER, AT(header_kib), "32", 4, 1024, "most KiB of request line and headers"},
    {"body-kib", NUMBER, AT(body_kib), "64", 1, 16384, "most KiB of an ordinary body"},
    {"upload-mib", NUMBER, AT(upload_mib), "1024", 1, 1048576, "most MiB of an upload"},
};

static const struct setting *setting_find(const char *name, size_t n)
{
    for (size_t i = 0; i < ARRAY_LEN(settings); i++)
        if (strlen(settings[i].name) == n && memcmp(settings[i].name, name, n) == 0)
            return &settings[i];
    return NULL;
}

static void *field(struct conf *c, const struct setting *s)
{
    return (char *)c + s->at;
}

static bool number_set(int64_t *out, const struct setting *s, const char *value, struct err *e)
{
    char *end;
    errno = 0;
    long long v = strtoll(value, &end, 10);
    if (errno || end == value || *end || v < s->min || v > s->max)
        return err_field(e, s->name, ERR_INVALID,
                         "%s is \"%s\"; it must be a whole number from %" PRId64 " to %" PRId64,
                         s->name, value, s->min, s->max);
    *out = v;
    return true;
}

static bool word_check(const struct setting *s, const char *value, const char *const *words,
                       const char *said, struct err *e)
{
    for (; *words; words++)
        if (strcmp(*words, value) == 0)
            return true;
    return err_field(e, s->name, ERR_INVALID, "%s is \"%s\"; it must be %s", s->name, value, said);
}

static bool address_check(const struct setting *s, const char *value, struct err *e)
{
    unsigned char bytes[16];
    if (inet_pton(AF_INET, value, bytes) == 1 || inet_pton(AF_INET6, value, bytes) == 1)
        return true;
    return err_field(e, s->name, ERR_INVALID,
                     "%s is \"%s\"; it must be an address in numbers, as 127.0.0.1 or ::1", s->name,
                     value);
}

static bool setting_set(struct conf *c, const struct setting *s, const char *value, struct arena *a,
                        struct err *e)
{
    static const char *const yes_no[] = {"yes", "no", NULL};
    switch (s->kind) {
    case NUMBER:
        return number_set(field(c, s), s, value, e);
    case SWITCH:
        if (!word_check(s, value, yes_no, "yes or no", e))
            return false;
        *(int64_t *)field(c, s) = strcmp(value, "yes") == 0;
        return true;
    case LEVEL:
        if (!word_check(s, value, log_level_names, "error, note or request", e))
            return false;
        break;
    case ADDRESS:
        if (!address_check(s, value, e))
            return false;
        break;
    case TEXT:
        break;
    }
    *(const char **)field(c, s) = arena_text(a, value);
    return true;
}

static bool defaults_set(struct conf *c, struct arena *a, struct err *e)
{
    for (size_t i = 0; i < ARRAY_LEN(settings); i++)
        if (settings[i].fallback && !setting_set(c, &settings[i], settings[i].fallback, a, e))
            return false;
    const char *xdg = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    if (xdg && *xdg)
        c->data = arena_printf(a, "%s/quadrille", xdg);
    else if (home && *home)
        c->data = arena_printf(a, "%s/.local/share/quadrille", home);
    else
        c->data = "quadrille-data";
    return true;
}

/* s without the white space around it, in place. */
static char *trim(char *s)
{
    s += strspn(s, " \t\r\n");
    size_t n = strlen(s);
    while (n > 0 && strchr(" \t\r\n", s[n - 1]))
        s[--n] = '\0';
    return s;
}

static bool line_read(struct conf *c, char *line, struct arena *a, struct err *e)
{
    char *name = trim(line);
    if (!*name || *name == '#')
        return true;
    char *equals = strchr(name, '=');
    if (!equals)
        return err_set(e, ERR_INVALID, "\"%.60s\" is not a line of the form name = value", name);
    *equals = '\0';
    name = trim(name);
    const struct setting *s = setting_find(name, strlen(name));
    if (!s)
        return err_set(e, ERR_INVALID,
                       "there is no setting \"%.60s\"; `quadrille serve --help` lists them", name);
    return setting_set(c, s, trim(equals + 1), a, e);
}

static bool file_read(struct conf *c, const char *path, bool must, struct arena *a, struct err *e)
{
    FILE *f = fopen(path, "re");
    if (!f)
        return !must && errno == ENOENT
                   ? true
                   : err_set(e, ERR_INVALID, "cannot read the configuration file %s: %s", path,
                             strerror(errno));
    char line[2000];
    bool ok = true;
    for (int64_t n = 1; ok && fgets(line, sizeof line, f); n++) {
        ok = line_read(c, line, a, e);
        if (!ok) {
            char text[sizeof e->text];
            snprintf(text, sizeof text, "%s", e->text);
            e->line = n;
            snprintf(e->text, sizeof e->text, "%.150s, line %" PRId64 ": %.220s", path, n, text);
        }
    }
    fclose(f);
    return ok;
}

static const char *file_usual(struct arena *a)
{
    const char *xdg = getenv("XDG_CONFIG_HOME"), *home = getenv("HOME");
    if (xdg && *xdg)
        return arena_printf(a, "%s/quadrille.conf", xdg);
    return home && *home ? arena_printf(a, "%s/.config/quadrille.conf", home) : NULL;
}

struct flag {
    const char *name;
    int name_n;
    const char *value;
};

/* One flag, "--name=value" or "--name" "value"; *i is moved past what was used. */
static bool flag_split(struct flag *out, int *i, int argc, char **argv, struct err *e)
{
    const char *flag = argv[(*i)++];
    if (strncmp(flag, "--", 2) != 0)
        return err_set(e, ERR_INVALID, "\"%.100s\" is not a flag; flags look like --port 8000",
                       flag);
    size_t n = strcspn(flag + 2, "=");
    out->name = flag + 2;
    out->name_n = (int)(n > 60 ? 60 : n);
    if (out->name[n] == '=')
        out->value = out->name + n + 1;
    else if (*i < argc)
        out->value = argv[(*i)++];
    else
        return err_set(e, ERR_INVALID, "%.100s needs a value after it", flag);
    return true;
}

/* Over all flags: apply them, or (c is NULL) only find --config and check the names. */
static bool flags_read(struct conf *c, const char **config, int argc, char **argv, struct arena *a,
                       struct err *e)
{
    for (int i = 0; i < argc;) {
        struct flag f = {0};
        if (!flag_split(&f, &i, argc, argv, e))
            return false;
        if (f.name_n == 6 && memcmp(f.name, "config", 6) == 0) {
            *config = f.value;
            continue;
        }
        const struct setting *s = setting_find(f.name, (size_t)f.name_n);
        if (!s)
            return err_set(e, ERR_INVALID,
                           "there is no flag --%.*s; `quadrille serve --help` lists them", f.name_n,
                           f.name);
        if (c && !setting_set(c, s, f.value, a, e))
            return false;
    }
    return true;
}

bool conf_load(struct conf *out, int argc, char **argv, struct arena *a, struct err *e)
{
    struct conf c = {0};
    const char *named = NULL;
    if (!defaults_set(&c, a, e) || !flags_read(NULL, &named, argc, argv, a, e))
        return false;
    const char *path = named ? named : file_usual(a);
    if (path && !file_read(&c, path, named != NULL, a, e))
        return false;
    const char *data = getenv("QUADRILLE_DATA");
    if (data && *data)
        c.data = arena_text(a, data);
    if (!flags_read(&c, &named, argc, argv, a, e))
        return false;
    if (!*c.data)
        return err_field(e, "data", ERR_INVALID, "data is empty; it must name a folder");
    *out = c;
    return true;
}

void conf_print_help(FILE *to)
{
    fprintf(to, "  %-22s %s\n", "--config FILE", "settings as lines of name = value");
    for (size_t i = 0; i < ARRAY_LEN(settings); i++) {
        const struct setting *s = &settings[i];
        char flag[40];
        snprintf(flag, sizeof flag, "--%s %s", s->name, s->kind == NUMBER ? "N" : "TEXT");
        fprintf(to, "  %-22s %s", flag, s->help);
        if (s->fallback && *s->fallback)
            fprintf(to, " (%s)", s->fallback);
        fputs("\n", to);
    }
}
