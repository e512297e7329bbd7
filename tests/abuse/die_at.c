/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Loaded in front of the C library: stands between the program and the calls that change files, and
 * at the DIE_AT-th of them kills the program (DIE_HOW=kill) or fills the disk (DIE_HOW=full): that
 * call fails, and every later one that needs room; to remove a file needs none. DIE_COUNT names a
 * file that gets the number of calls at the end. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static long calls;

/* True: this call is to fail. */
static bool count(bool needs_room)
{
    const char *text = getenv("DIE_AT"), *how = getenv("DIE_HOW");
    long at = text != NULL ? strtol(text, NULL, 10) : 0;
    bool kill = how != NULL && strcmp(how, "kill") == 0;
    calls++;
    if (at == 0 || calls < at || (calls > at && (kill || !needs_room)))
        return false;
    if (kill)
        raise(SIGKILL);
    errno = ENOSPC;
    return true;
}

__attribute__((destructor)) static void tell(void)
{
    const char *name = getenv("DIE_COUNT");
    FILE *f = name != NULL ? fopen(name, "w") : NULL;
    if (f == NULL)
        return;
    fprintf(f, "%ld\n", calls);
    fclose(f);
}

/* A function pointer out of dlsym, as POSIX wants it done. */
#define REAL(type, name)                                                                           \
    static type real;                                                                              \
    if (real == NULL)                                                                              \
    *(void **)&real = dlsym(RTLD_NEXT, name)

ssize_t write(int fd, const void *bytes, size_t n)
{
    typedef ssize_t write_fn(int, const void *, size_t);
    REAL(write_fn *, "write");
    if (fd <= 2 || !count(true))
        return real(fd, bytes, n);
    if (n > 1 && real(fd, bytes, n / 2) < 0) /* half of it still finds room */
        return -1;
    errno = ENOSPC;
    return -1;
}

int fsync(int fd)
{
    typedef int fsync_fn(int);
    REAL(fsync_fn *, "fsync");
    return count(true) ? -1 : real(fd);
}

int rename(const char *from, const char *to)
{
    typedef int rename_fn(const char *, const char *);
    REAL(rename_fn *, "rename");
    return count(false) ? -1 : real(from, to);
}

int renameat(int from_fd, const char *from, int to_fd, const char *to)
{
    typedef int renameat_fn(int, const char *, int, const char *);
    REAL(renameat_fn *, "renameat");
    return count(false) ? -1 : real(from_fd, from, to_fd, to);
}

int link(const char *from, const char *to)
{
    typedef int link_fn(const char *, const char *);
    REAL(link_fn *, "link");
    return count(true) ? -1 : real(from, to);
}

int unlink(const char *path)
{
    typedef int unlink_fn(const char *);
    REAL(unlink_fn *, "unlink");
    count(false);
    return real(path);
}

int mkdir(const char *path, mode_t mode)
{
    typedef int mkdir_fn(const char *, mode_t);
    REAL(mkdir_fn *, "mkdir");
    return count(true) ? -1 : real(path, mode);
}

int rmdir(const char *path)
{
    typedef int rmdir_fn(const char *);
    REAL(rmdir_fn *, "rmdir");
    count(false);
    return real(path);
}

int openat(int folder, const char *path, int flags, ...)
{
    typedef int openat_fn(int, const char *, int, ...);
    REAL(openat_fn *, "openat");
    va_list ap;
    va_start(ap, flags);
    unsigned mode = (flags & O_CREAT) != 0 ? va_arg(ap, unsigned) : 0;
    va_end(ap);
    if ((flags & O_CREAT) != 0 && count(true))
        return -1;
    return real(folder, path, flags, mode);
}
