/* SPDX-License-Identifier: MIT
 *
 * fsync_shim: preloaded into the daemon, it writes down in which order three things happen, as
 * lines of the file $QUADRILLE_SHIM_LOG:
 *
 *     W mark-17 mark-18   bytes with these marks were written to the database's log (...-wal)
 *     B                   an fsync or fdatasync of the log is about to begin
 *     E                   it has returned, and without an error
 *     S 201 mark-17       an answer with this status and mark is about to leave by a socket
 *
 * A mark is "mark-" and digits; the test sends one in each change and finds it in the answer.
 *
 * It can also break the disk: while a file $QUADRILLE_SHIM_LOG.eio exists, syncs of the log fail
 * with EIO; while ....full-log exists, writes to it fail with ENOSPC; while ....full exists, those
 * to it and to uploads do.
 */
#include <ctype.h>
#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <sys/uio.h>
#include <unistd.h>

#define MARK "mark-"

static void note(const char *line)
{
    static int fd = -1;
    if (fd < 0) {
        const char *path = getenv("QUADRILLE_SHIM_LOG");
        fd = path ? (int)syscall(SYS_openat, AT_FDCWD, path,
                                 O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600)
                  : -1;
    }
    if (fd >= 0)
        syscall(SYS_write, fd, line, strlen(line));
}

static bool broken(const char *how)
{
    char path[300];
    const char *log = getenv("QUADRILLE_SHIM_LOG");
    snprintf(path, sizeof path, "%s.%s", log ? log : "", how);
    return log && access(path, F_OK) == 0;
}

static const char *path_of(int fd, char *path, size_t size)
{
    char link[40];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t n = readlink(link, path, size - 1);
    path[n > 0 ? n : 0] = '\0';
    return path;
}

/* Whether the descriptor is that of a write-ahead log. */
static bool is_wal(int fd)
{
    char path[600];
    size_t n = strlen(path_of(fd, path, sizeof path));
    return n > 4 && strcmp(path + n - 4, "-wal") == 0;
}

static bool is_upload(int fd)
{
    char path[600];
    return strstr(path_of(fd, path, sizeof path), "/tmp/upload-") != NULL;
}

static bool is_socket(int fd)
{
    int type;
    socklen_t n = sizeof type;
    return getsockopt(fd, SOL_SOCKET, SO_TYPE, &type, &n) == 0;
}

/* Append " mark-N" for each mark in bytes. */
static void marks_add(char *line, size_t size, const char *bytes, size_t n)
{
    const char *end = bytes + n;
    size_t k = strlen(MARK);
    for (const char *at = bytes; (at = memmem(at, (size_t)(end - at), MARK, k)) != NULL; at += k) {
        size_t digits = 0, used = strlen(line);
        while (at + k + digits < end && isdigit((unsigned char)at[k + digits]))
            digits++;
        if (digits)
            snprintf(line + used, size - used, " %.*s", (int)(k + digits), at);
    }
}

/* ---- the log of the database ---- */

static bool write_noted(int fd, const void *bytes, size_t n)
{
    if (!is_wal(fd))
        return true;
    if (broken("full") || broken("full-log")) {
        errno = ENOSPC;
        return false;
    }
    char line[60000] = "W";
    marks_add(line, sizeof line - 2, bytes, n);
    if (line[1]) {
        strcat(line, "\n");
        note(line);
    }
    return true;
}

ssize_t pwrite64(int fd, const void *bytes, size_t n, off64_t at)
{
    return write_noted(fd, bytes, n) ? (ssize_t)syscall(SYS_pwrite64, fd, bytes, n, at) : -1;
}

ssize_t pwrite(int fd, const void *bytes, size_t n, off_t at)
{
    return pwrite64(fd, bytes, n, at);
}

ssize_t write(int fd, const void *bytes, size_t n)
{
    if (broken("full") && is_upload(fd)) {
        errno = ENOSPC;
        return -1;
    }
    return (ssize_t)syscall(SYS_write, fd, bytes, n);
}

static int sync_noted(int fd, long number)
{
    bool wal = is_wal(fd);
    if (wal && broken("eio")) {
        errno = EIO;
        return -1;
    }
    if (wal)
        note("B\n");
    int result = (int)syscall(number, fd);
    if (wal && result == 0)
        note("E\n");
    return result;
}

int fsync(int fd)
{
    return sync_noted(fd, SYS_fsync);
}

int fdatasync(int fd)
{
    return sync_noted(fd, SYS_fdatasync);
}

/* ---- the sockets ---- */

static void send_note(int fd, const struct iovec *v, size_t count)
{
    char text[20000] = "", line[20100] = "S ";
    size_t n = 0;
    if (!is_socket(fd))
        return;
    for (size_t i = 0; i < count; i++) {
        size_t some = v[i].iov_len < sizeof text - 1 - n ? v[i].iov_len : sizeof text - 1 - n;
        memcpy(text + n, v[i].iov_base, some);
        n += some;
    }
    strcat(line, n > 12 && memcmp(text, "HTTP/1.1 ", 9) == 0 ? (text[12] = '\0', text + 9) : "-");
    size_t used = strlen(line);
    marks_add(line, sizeof line - 2, text + (n > 13 ? 13 : 0), n > 13 ? n - 13 : n);
    if (strlen(line) > used) {
        strcat(line, "\n");
        note(line);
    }
}

ssize_t send(int fd, const void *bytes, size_t n, int flags)
{
    union {
        const void *in;
        void *out;
    } p = {.in = bytes};
    send_note(fd, &(struct iovec){p.out, n}, 1);
    return (ssize_t)syscall(SYS_sendto, fd, bytes, n, flags, NULL, 0);
}

ssize_t sendmsg(int fd, const struct msghdr *m, int flags)
{
    send_note(fd, m->msg_iov, m->msg_iovlen);
    return (ssize_t)syscall(SYS_sendmsg, fd, m, flags);
}

ssize_t writev(int fd, const struct iovec *v, int count)
{
    send_note(fd, v, (size_t)count);
    return (ssize_t)syscall(SYS_writev, fd, v, count);
}
