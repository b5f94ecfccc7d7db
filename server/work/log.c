/* SPDX-License-Identifier: MIT
 *
 * log: the line is made in the caller's struct and written at once; nothing is shared but the
 * level.
 */
#include "work/log.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

const char *const log_level_names[LOG__COUNT + 1] = {"error", "note", "request", NULL};

static atomic_int level_most = LOG_NOTE;

void log_set_level(enum log_level most)
{
    atomic_store(&level_most, (int)most);
}

/* Room for the line's end is always kept. */
static void put(struct log_line *l, const char *s, size_t n)
{
    size_t room = sizeof l->text - 1 - l->n;
    if (n > room)
        n = room;
    memcpy(l->text + l->n, s, n);
    l->n += n;
}

static void put_text(struct log_line *l, const char *s)
{
    put(l, s, strlen(s));
}

void log_begin(struct log_line *l, enum log_level level, const char *event)
{
    l->wanted = (int)level <= atomic_load(&level_most);
    l->n = 0;
    if (!l->wanted)
        return;
    struct timespec now;
    struct tm tm;
    char at[64];
    clock_gettime(CLOCK_REALTIME, &now);
    gmtime_r(&now.tv_sec, &tm);
    size_t n = strftime(at, sizeof at, "at=%Y-%m-%dT%H:%M:%S", &tm);
    snprintf(at + n, sizeof at - n, ".%03ldZ", now.tv_nsec / 1000000);
    put_text(l, at);
    log_text(l, "level", log_level_names[level]);
    log_text(l, "event", event);
}

static bool plain(const char *s)
{
    if (!*s)
        return false;
    for (; *s; s++)
        if (*s <= ' ' || *s > '~' || *s == '"' || *s == '=' || *s == '\\')
            return false;
    return true;
}

static void put_quoted(struct log_line *l, const char *s)
{
    put(l, "\"", 1);
    for (; *s; s++) {
        unsigned char c = (unsigned char)*s;
        char code[8];
        if (c == '"' || c == '\\')
            snprintf(code, sizeof code, "\\%c", c);
        else if (c < ' ' || c > '~')
            snprintf(code, sizeof code, "\\x%02x", c);
        else
            snprintf(code, sizeof code, "%c", c);
        put_text(l, code);
    }
    put(l, "\"", 1);
}

void log_text(struct log_line *l, const char *key, const char *text)
{
    if (!l->wanted)
        return;
    put(l, " ", l->n > 0);
    put_text(l, key);
    put(l, "=", 1);
    if (!text)
        text = "";
    if (plain(text))
        put_text(l, text);
    else
        put_quoted(l, text);
}

void log_int(struct log_line *l, const char *key, int64_t number)
{
    char text[32];
    snprintf(text, sizeof text, "%" PRId64, number);
    log_text(l, key, text);
}

void log_end(struct log_line *l)
{
    if (!l->wanted)
        return;
    l->text[l->n++] = '\n';
    /* A log that cannot be written is no reason to stop work. */
    ssize_t written = write(STDERR_FILENO, l->text, l->n);
    (void)written;
}

void log_failure(const char *event, const char *where, const struct err *e)
{
    struct log_line l;
    log_begin(&l, LOG_ERROR, event);
    if (where)
        log_text(&l, "where", where);
    log_text(&l, "why", e->text);
    log_end(&l);
}
