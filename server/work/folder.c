/* SPDX-License-Identifier: MIT
 *
 * folder: flock says who has the folder, since the kernel lets go of it however a process ends;
 * run.json is only believed while the lock is held.
 */
#include "work/folder.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

static bool make_one(const char *path, struct err *e)
{
    if (mkdir(path, 0700) == 0 || errno == EEXIST)
        return true;
    return err_set(e, ERR_UNAVAILABLE, "cannot make the folder %s: %s", path, strerror(errno));
}

/* With its parents. */
static bool make_all(const char *path, struct arena *a, struct err *e)
{
    char *part = arena_text(a, path);
    for (char *slash = strchr(part + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        if (!make_one(part, e))
            return false;
        *slash = '/';
    }
    return make_one(part, e);
}

static bool lock_take(struct folder *f, struct arena *a, struct err *e)
{
    const char *path = arena_printf(a, "%s/lock", f->path);
    char owner[32] = "";
    f->lock = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (f->lock < 0)
        return err_set(e, ERR_UNAVAILABLE, "cannot open %s: %s", path, strerror(errno));
    if (flock(f->lock, LOCK_EX | LOCK_NB) == 0) {
        int n = snprintf(owner, sizeof owner, "%ld\n", (long)getpid());
        if (ftruncate(f->lock, 0) == 0 && pwrite(f->lock, owner, (size_t)n, 0) == n)
            return true;
        err_set(e, ERR_UNAVAILABLE, "cannot write %s: %s", path, strerror(errno));
    } else {
        ssize_t n = pread(f->lock, owner, sizeof owner - 1, 0);
        owner[n > 0 ? n : 0] = '\0';
        owner[strcspn(owner, "\n")] = '\0';
        err_set(e, ERR_CONFLICT,
                "the data folder %s is in use by process %s; only one process may have it open",
                f->path, owner);
    }
    close(f->lock);
    return false;
}

/* Only what uploads leave behind. */
static void tmp_empty(const char *path)
{
    DIR *d = opendir(path);
    if (!d)
        return;
    for (struct dirent *one; (one = readdir(d)) != NULL;)
        if (strncmp(one->d_name, "upload-", 7) == 0)
            unlinkat(dirfd(d), one->d_name, 0);
    closedir(d);
}

bool folder_open(struct folder *out, const char *path, struct arena *a, struct err *e)
{
    struct folder f = {.path = arena_text(a, path),
                       .database = arena_printf(a, "%s/quadrille.db", path),
                       .tmp = arena_printf(a, "%s/tmp", path),
                       .lock = -1};
    if (!make_all(path, a, e) || !lock_take(&f, a, e))
        return false;
    if (!make_one(f.tmp, e)) {
        close(f.lock);
        return false;
    }
    tmp_empty(f.tmp);
    *out = f;
    return true;
}

void folder_close(struct folder *f)
{
    if (f->lock >= 0)
        close(f->lock);
    f->lock = -1;
}

static void run_path(char *to, size_t size, const char *folder, const char *ending)
{
    snprintf(to, size, "%s/run.json%s", folder, ending);
}

bool folder_announce(const struct folder *f, const struct folder_run *run, struct err *e)
{
    char path[4096], fresh[4096], text[400];
    run_path(path, sizeof path, f->path, "");
    run_path(fresh, sizeof fresh, f->path, ".new");
    int n = snprintf(text, sizeof text, "{\"pid\":%" PRId64 ",\"url\":\"%s\",\"token\":\"%s\"}\n",
                     run->pid, run->url, run->token);
    unlink(fresh);
    int fd = open(fresh, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    bool ok = fd >= 0 && write(fd, text, (size_t)n) == n;
    if (fd >= 0)
        close(fd);
    if (!ok || rename(fresh, path) != 0)
        return err_set(e, ERR_UNAVAILABLE, "cannot write %s: %s", path, strerror(errno));
    return true;
}

void folder_withdraw(const struct folder *f)
{
    char path[4096];
    run_path(path, sizeof path, f->path, "");
    unlink(path);
}

/* Whether some process holds the lock now. */
static bool locked(const char *folder)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/lock", folder);
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return false;
    bool held = flock(fd, LOCK_SH | LOCK_NB) != 0 && errno == EWOULDBLOCK;
    close(fd);
    return held;
}

bool folder_find(struct folder_run *out, const char *path, struct err *e)
{
    char file[4096], text[400] = "";
    struct folder_run run = {0};
    run_path(file, sizeof file, path, "");
    FILE *f = locked(path) ? fopen(file, "re") : NULL;
    bool read = f && fgets(text, sizeof text, f);
    if (f)
        fclose(f);
    if (!read || sscanf(text, "{\"pid\":%" SCNd64 ",\"url\":\"%99[^\"]\",\"token\":\"%99[^\"]\"}",
                        &run.pid, run.url, run.token) != 3)
        return err_set(e, ERR_NOT_FOUND, "no daemon has the data folder %s open", path);
    *out = run;
    return true;
}
