/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700 /* realpath */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

#include <sha2.h>

#include "trial_files.h"

const char *trial_reason(struct arena *a, int number)
{
    char s[128];
    if (strerror_r(number, s, sizeof s) != 0)
        return arena_printf(a, "system error %d", number);
    return arena_copy(a, s);
}

const char *trial_join_path(struct arena *a, const char *folder, const char *name)
{
    size_t n = strlen(folder);
    if (n == 0)
        return arena_copy(a, name);
    return arena_printf(a, folder[n - 1] == '/' ? "%s%s" : "%s/%s", folder, name);
}

const char *trial_stem(struct arena *a, const char *path, const char **extension)
{
    const char *slash = strrchr(path, '/'), *name = slash != NULL ? slash + 1 : path;
    const char *dot = strrchr(name, '.');
    if (dot == NULL || dot == name)
        dot = name + strlen(name);
    *extension = dot;
    return arena_copy_n(a, name, (size_t)(dot - name));
}

/* ---- the folder -------------------------------------------------------------------------------
 */

static int by_bytes(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

enum errc trial_list_folder(struct arena *a, const char *folder, const char ***names, size_t *n,
                            struct error *e)
{
    size_t capacity = 0;
    *names = NULL;
    *n = 0;
    DIR *d = opendir(folder);
    if (d == NULL)
        return ERR_AT(e, ERR_READ, folder, 0, "cannot list the folder: %s", trial_reason(a, errno));
    for (;;) {
        errno = 0;
        struct dirent *entry = readdir(d);
        if (entry == NULL)
            break;
        if (entry->d_name[0] != '.')
            *ARENA_PUSH(a, *names, *n, capacity) = arena_copy(a, entry->d_name);
    }
    int failed = errno;
    closedir(d);
    if (failed != 0)
        return ERR_AT(e, ERR_READ, folder, 0, "cannot list the folder: %s",
                      trial_reason(a, failed));
    if (*n > 1)
        qsort(*names, *n, sizeof **names, by_bytes);
    return ERR_NONE;
}

/* ---- paths that stay inside -------------------------------------------------------------------
 */

static bool has_parent_part(const char *path)
{
    while (*path != '\0') {
        size_t n = strcspn(path, "/");
        if (n == 2 && path[0] == '.' && path[1] == '.')
            return true;
        path += n + (path[n] == '/');
    }
    return false;
}

static bool is_inside(const char *folder, const char *file)
{
    size_t n = strlen(folder);
    if (strcmp(folder, "/") == 0)
        return true;
    return strncmp(folder, file, n) == 0 && file[n] == '/';
}

const char *trial_path_trouble(struct arena *a, const char *folder, const char *path)
{
    if (path[0] == '/')
        return "the path does not begin at the trial folder";
    if (strchr(path, '\\') != NULL)
        return "the path has a backslash; folders are set off by `/`";
    if (path[0] != '\0' && path[1] == ':')
        return "the path does not begin at the trial folder";
    if (has_parent_part(path))
        return "the path leaves the trial folder";
    /* links are followed to their end: that, too, must lie inside */
    char *real_folder = realpath(folder, NULL);
    char *real_file = realpath(trial_join_path(a, folder, path), NULL);
    bool outside = real_folder != NULL && real_file != NULL && !is_inside(real_folder, real_file);
    free(real_folder);
    free(real_file);
    return outside ? "a link in the path leads out of the trial folder" : NULL;
}

/* ---- whole files ------------------------------------------------------------------------------
 */

static const char *too_large(struct arena *a, size_t max)
{
    return max >= (size_t)1 << 20 ? arena_printf(a, "it is larger than %zu MiB", max >> 20)
                                  : arena_printf(a, "it is larger than %zu KiB", max >> 10);
}

/* Reads to the end, whatever the size was said to be: a file may grow meanwhile. */
static const char *read_all(struct arena *a, int fd, size_t guess, size_t max,
                            struct trial_bytes *out)
{
    size_t capacity = guess + 1, n = 0;
    unsigned char *bytes = arena_alloc(a, capacity);
    for (;;) {
        if (n == capacity) {
            unsigned char *more = arena_array(a, capacity, 2);
            memcpy(more, bytes, n);
            bytes = more;
            capacity *= 2;
        }
        ssize_t got = read(fd, bytes + n, capacity - n);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return trial_reason(a, errno);
        if (got == 0)
            break;
        n += (size_t)got;
        if (n > max)
            return too_large(a, max);
    }
    out->bytes = bytes;
    out->n = n;
    SHA256Data(bytes, n, out->sha256);
    return NULL;
}

const char *trial_read_file(struct arena *a, const char *path, size_t max, struct trial_bytes *out)
{
    struct stat st;
    *out = (struct trial_bytes){.n = 0};
    int fd = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC); /* not to wait for a pipe's writer */
    if (fd < 0)
        return trial_reason(a, errno);
    const char *trouble = NULL;
    if (fstat(fd, &st) != 0)
        trouble = trial_reason(a, errno);
    else if (S_ISDIR(st.st_mode))
        trouble = "it is a folder";
    else if (!S_ISREG(st.st_mode))
        trouble = "it is not a regular file";
    else if (st.st_size < 0 || (uintmax_t)st.st_size > max)
        trouble = too_large(a, max);
    else
        trouble = read_all(a, fd, (size_t)st.st_size, max, out);
    close(fd);
    return trouble;
}
