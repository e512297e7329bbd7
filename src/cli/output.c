/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Folders and files. A report is several files that belong together, so they are first written
 * side by side into a hidden folder, where a full disk does no harm, and then renamed into place
 * while a lock keeps a second analysis of the same folder waiting. */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "commands.h"

#define LOCK_NAME ".plateau-lock"
#define STAGING_NAME ".plateau-new-"

const char *path_join(struct arena *a, const char *folder, const char *name)
{
    size_t n = strlen(folder);
    while (n > 1 && folder[n - 1] == '/')
        n--;
    if (n == 1 && folder[0] == '.')
        return arena_copy(a, name);
    const char *f = arena_copy_n(a, folder, n);
    return arena_printf(a, "%s%s%s", f, f[n > 0 ? n - 1 : 0] == '/' ? "" : "/", name);
}

const char *output_folder(struct arena *a, const struct trial *trial)
{
    if (!trial->single_file)
        return path_join(a, trial->path, "report");
    const char *slash = strrchr(trial->path, '/');
    const char *dot = strrchr(trial->path, '.');
    size_t n = dot != NULL && (slash == NULL || dot > slash + 1) ? (size_t)(dot - trial->path)
                                                                 : strlen(trial->path);
    return arena_printf(a, "%s-report", arena_copy_n(a, trial->path, n));
}

enum errc output_make_folder(struct arena *a, const char *path, struct error *e)
{
    struct stat st;
    if (mkdir(path, 0777) == 0)
        return ERR_NONE;
    int why = errno;
    if (stat(path, &st) == 0 && S_ISDIR(st.st_mode))
        return ERR_NONE;
    return ERR_SET(e, ERR_WRITE, "could not make the folder '%s': %s", cli_quote(a, path),
                   why == EEXIST ? "a file of that name is in the way" : strerror(why));
}

static bool write_all(int fd, const char *bytes, size_t n)
{
    while (n > 0) {
        ssize_t done = write(fd, bytes, n);
        if (done < 0 && errno == EINTR)
            continue;
        if (done <= 0)
            return false;
        bytes += done;
        n -= (size_t)done;
    }
    return true;
}

enum errc output_create(struct arena *a, const char *path, const char *bytes, size_t n,
                        struct error *e)
{
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL, 0666);
    if (fd < 0)
        return ERR_SET(e, ERR_WRITE, "could not write '%s': %s", cli_quote(a, path),
                       errno == EEXIST ? "there is such a file already" : strerror(errno));
    bool good = write_all(fd, bytes, n) && fsync(fd) == 0;
    int why = errno;
    if (close(fd) != 0 && good) {
        good = false;
        why = errno;
    }
    if (good)
        return ERR_NONE;
    unlink(path);
    return ERR_SET(e, ERR_WRITE, "could not write '%s': %s", cli_quote(a, path), strerror(why));
}

/* ---- one analysis at a time ----------------------------------------------------------------- */

/* Waits for the lock. False when this file system has no locks: then each file is still whole,
 * only the set may be mixed. */
static bool wait_for_lock(int fd)
{
    struct flock lock = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    while (fcntl(fd, F_SETLKW, &lock) != 0)
        if (errno != EINTR)
            return false;
    return true;
}

/* The file descriptor that holds the lock, -1 with `e` set when the folder takes no files. The
 * holder removes the file at the end, so whoever waited may hold a file that is gone: try anew. */
static int lock_folder(struct arena *a, const char *folder, const char *name, bool *alone,
                       struct error *e)
{
    for (*alone = false;;) {
        struct stat held, named;
        int fd = open(name, O_RDWR | O_CREAT, 0666);
        if (fd < 0) {
            ERR_SET(e, ERR_WRITE, "could not write into the folder '%s': %s", cli_quote(a, folder),
                    strerror(errno));
            return -1;
        }
        if (!wait_for_lock(fd))
            return fd;
        *alone = fstat(fd, &held) == 0 && stat(name, &named) == 0 && held.st_ino == named.st_ino &&
                 held.st_dev == named.st_dev;
        if (*alone)
            return fd;
        close(fd);
    }
}

/* ---- the set of files ----------------------------------------------------------------------- */

static const char *make_staging(struct arena *a, const char *folder, struct error *e)
{
    for (int i = 0;; i++) {
        const char *path =
            path_join(a, folder, arena_printf(a, STAGING_NAME "%ld-%d", (long)getpid(), i));
        if (mkdir(path, 0777) == 0)
            return path;
        if (errno != EEXIST) {
            ERR_SET(e, ERR_WRITE, "could not write into the folder '%s': %s", cli_quote(a, folder),
                    strerror(errno));
            return NULL;
        }
    }
}

/* The names in a folder that start like `start`. */
static const char **list_folder(struct arena *a, const char *folder, const char *start, size_t *n)
{
    const char **names = NULL;
    size_t capacity = 0;
    *n = 0;
    DIR *d = opendir(folder);
    if (d == NULL)
        return NULL;
    for (struct dirent *entry; (entry = readdir(d)) != NULL;)
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0 &&
            strncmp(entry->d_name, start, strlen(start)) == 0)
            *ARENA_PUSH(a, names, *n, capacity) = arena_copy(a, entry->d_name);
    closedir(d);
    return names;
}

static void drop_staging(struct arena *a, const char *staging)
{
    size_t n;
    const char **names = list_folder(a, staging, "", &n);
    for (size_t i = 0; i < n; i++)
        unlink(path_join(a, staging, names[i]));
    rmdir(staging);
}

/* What an analysis left behind that was killed. Only for the one who holds the lock: nobody else
 * is at work then. */
static void drop_leftovers(struct arena *a, const char *folder)
{
    size_t n;
    const char **names = list_folder(a, folder, STAGING_NAME, &n);
    for (size_t i = 0; i < n; i++) {
        struct stat st;
        const char *path = path_join(a, folder, names[i]);
        if (lstat(path, &st) == 0 && S_ISDIR(st.st_mode))
            drop_staging(a, path);
    }
}

/* The names are on the disk, not only in its cache. Some file systems cannot do that. */
static void sync_folder(const char *folder)
{
    int fd = open(folder, O_RDONLY | O_DIRECTORY);
    if (fd < 0)
        return;
    fsync(fd);
    close(fd);
}

/* The hidden folder is nobody's business: a failure names the file as it would have been called. */
static enum errc stage(struct arena *a, const char *folder, const char *staging,
                       const struct output_file *file, struct error *e)
{
    struct error inner = {.code = ERR_NONE};
    enum errc code = report_write_file(staging, file->name, file->bytes, file->n, &inner);
    if (code == ERR_NONE)
        return ERR_NONE;
    return error_set(e, inner.src_file, inner.src_line, code, path_join(a, folder, file->name), 0,
                     "%s", inner.message);
}

/* What stood in a file's place before. */
enum before { BEFORE_NOTHING, BEFORE_KEPT, BEFORE_UNKNOWN };

static const char *kept_path(struct arena *a, const char *staging, const struct output_file *file)
{
    return path_join(a, staging, arena_printf(a, ".old-%s", file->name));
}

/* The old file gets a second name, so that there is no moment without it. */
static enum before keep_old(const char *to, const char *kept)
{
    if (link(to, kept) == 0)
        return BEFORE_KEPT;
    return errno == ENOENT ? BEFORE_NOTHING : BEFORE_UNKNOWN; /* not every file system can */
}

static void put_back(const char *to, const char *kept, enum before before)
{
    if (before == BEFORE_NOTHING)
        unlink(to);
    else if (before == BEFORE_KEPT)
        rename(kept, to);
}

static enum errc stage_and_place(struct arena *a, const char *folder, const char *staging,
                                 const struct output_file *files, size_t n, struct error *e)
{
    enum before *before = ARENA_ARRAY(a, enum before, n);
    for (size_t i = 0; i < n; i++)
        TRY(stage(a, folder, staging, &files[i], e));
    for (size_t i = 0; i < n; i++)
        before[i] = keep_old(path_join(a, folder, files[i].name), kept_path(a, staging, &files[i]));
    for (size_t i = 0; i < n; i++) {
        const char *to = path_join(a, folder, files[i].name);
        if (rename(path_join(a, staging, files[i].name), to) == 0)
            continue;
        ERR_SET(e, ERR_WRITE, "could not write '%s': %s", cli_quote(a, to), strerror(errno));
        while (i-- > 0)
            put_back(path_join(a, folder, files[i].name), kept_path(a, staging, &files[i]),
                     before[i]);
        return ERR_WRITE;
    }
    return ERR_NONE;
}

/* ---- figures that are no more --------------------------------------------------------------- */

static bool is_in_set(const char *name, const struct output_file *files, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(files[i].name, name) == 0)
            return true;
    return false;
}

/* gate-freeze-weight.svg: the name of a study, something more, the ending. */
static bool named_like_a_figure(const char *name)
{
    size_t n_studies, n = strlen(name);
    const struct study *const *studies = study_all(&n_studies);
    if (n < 5 || strcmp(name + n - 4, ".svg") != 0)
        return false;
    for (size_t i = 0; i < n_studies; i++) {
        size_t k = strlen(studies[i]->name);
        if (n > k + 5 && strncmp(name, studies[i]->name, k) == 0 && name[k] == '-')
            return true;
    }
    return false;
}

/* A figure of ours carries its own name as the beginning of its ids, close to the top. */
static bool made_by_us(struct arena *a, const char *path, const char *name)
{
    struct stat st;
    char head[1024];
    if (lstat(path, &st) != 0 || !S_ISREG(st.st_mode))
        return false;
    FILE *f = fopen(path, "rb");
    if (f == NULL)
        return false;
    size_t n = fread(head, 1, sizeof head - 1, f);
    fclose(f);
    head[n] = '\0';
    const char *mark = arena_printf(a, "id=\"%.*s", (int)(strlen(name) - 4), name);
    return strstr(head, "<svg") != NULL && strstr(head, mark) != NULL;
}

const char **output_old_figures(struct arena *a, const char *folder,
                                const struct output_file *files, size_t n, size_t *n_old)
{
    size_t n_names, kept = 0;
    const char **names = list_folder(a, folder, "", &n_names);
    for (size_t i = 0; i < n_names; i++)
        if (named_like_a_figure(names[i]) && !is_in_set(names[i], files, n) &&
            made_by_us(a, path_join(a, folder, names[i]), names[i]))
            names[kept++] = names[i];
    *n_old = kept;
    return names;
}

static void remove_old_figures(struct arena *a, const char *folder, const struct output_file *files,
                               size_t n)
{
    size_t n_old;
    const char **names = output_old_figures(a, folder, files, n, &n_old);
    for (size_t i = 0; i < n_old; i++)
        unlink(path_join(a, folder, names[i]));
}

enum errc output_write(struct arena *a, const char *folder, const struct output_file *files,
                       size_t n, struct error *e)
{
    TRY(output_make_folder(a, folder, e));
    const char *lock_name = path_join(a, folder, LOCK_NAME);
    bool alone;
    int lock = lock_folder(a, folder, lock_name, &alone, e);
    if (lock < 0)
        return e->code;
    if (alone)
        drop_leftovers(a, folder);
    const char *staging = make_staging(a, folder, e);
    enum errc code = e->code;
    if (staging != NULL) {
        code = stage_and_place(a, folder, staging, files, n, e);
        if (code == ERR_NONE) {
            remove_old_figures(a, folder, files, n);
            sync_folder(folder);
        }
        drop_staging(a, staging); /* last: while it is there, the set may be mixed */
    }
    unlink(lock_name);
    close(lock);
    return code;
}
