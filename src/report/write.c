/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A file is either the old one or the whole new one. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "plateau/report.h"

#define NAME_TRIES 1000

struct write_target {
    const char *folder, *name;
    char temporary[64];
    char path[256]; /* for messages; may be cut */
    int folder_fd, fd;
};

static enum errc fail(const struct write_target *t, const char *what, int why, struct error *e)
{
    return ERR_AT(e, ERR_WRITE, t->path, 0, "%s: %s", what, strerror(why));
}

/* A name that nobody else has: two analyses of one folder may run at once. */
static enum errc open_temporary(struct write_target *t, struct error *e)
{
    for (int i = 0; i < NAME_TRIES; i++) {
        snprintf(t->temporary, sizeof t->temporary, ".plateau-%ld-%d.tmp", (long)getpid(), i);
        t->fd = openat(t->folder_fd, t->temporary, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        if (t->fd >= 0)
            return ERR_NONE;
        if (errno != EEXIST)
            break;
    }
    return fail(t, "cannot write into this folder", errno, e);
}

static enum errc write_all(const struct write_target *t, const char *bytes, size_t n,
                           struct error *e)
{
    while (n > 0) {
        ssize_t done = write(t->fd, bytes, n);
        if (done < 0 && errno == EINTR)
            continue;
        if (done < 0)
            return fail(t, "cannot write", errno, e);
        bytes += done;
        n -= (size_t)done;
    }
    while (fsync(t->fd) != 0)
        if (errno != EINTR)
            return fail(t, "cannot write to the disk", errno, e);
    return ERR_NONE;
}

/* Everything up to the rename; the temporary file is closed in any case. */
static enum errc fill_temporary(struct write_target *t, const char *bytes, size_t n,
                                struct error *e)
{
    enum errc failed = write_all(t, bytes, n, e);
    if (close(t->fd) != 0 && failed == ERR_NONE)
        failed = fail(t, "cannot write", errno, e);
    if (failed == ERR_NONE && renameat(t->folder_fd, t->temporary, t->folder_fd, t->name) != 0)
        failed = fail(t, "cannot put the new file in the place of the old one", errno, e);
    if (failed != ERR_NONE)
        unlinkat(t->folder_fd, t->temporary, 0);
    return failed;
}

enum errc report_write_file(const char *folder, const char *name, const char *bytes, size_t n,
                            struct error *e)
{
    struct write_target t = {.folder = *folder == '\0' ? "." : folder, .name = name};
    snprintf(t.path, sizeof t.path, "%s/%s", t.folder, name);
    if (*name == '\0' || strchr(name, '/') != NULL)
        return ERR_SET(e, ERR_INTERNAL, "\"%s\" is not the plain name of a file", name);
    t.folder_fd = open(t.folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (t.folder_fd < 0)
        return fail(&t, "cannot open the folder", errno, e);
    enum errc failed = open_temporary(&t, e);
    if (failed == ERR_NONE)
        failed = fill_temporary(&t, bytes, n, e);
    /* some file systems cannot sync a folder and say EINVAL; the file itself is synced */
    if (failed == ERR_NONE && fsync(t.folder_fd) != 0 && errno != EINVAL && errno != EINTR)
        failed = fail(&t, "written, but the folder could not be synced", errno, e);
    close(t.folder_fd);
    return failed;
}
