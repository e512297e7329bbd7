/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * trial_files: a trial's folder on disk. Names in a fixed order, paths that stay inside, whole
 * files with their digest.
 */
#ifndef READ_TRIAL_FILES_H
#define READ_TRIAL_FILES_H

#include "plateau/read.h"

/* Largest trial.ini, in bytes; tables: LIMIT_FILE_BYTES of limits.h. */
#define TRIAL_INI_MAX ((size_t)256 << 10)

/* Names in a folder that do not begin with a dot, sorted by their bytes. ERR_READ with the system's
 * reason when the folder cannot be listed. */
enum errc trial_list_folder(struct arena *a, const char *folder, const char ***names, size_t *n,
                            struct error *e) PL_MUST_CHECK;

/* NULL when `path`, a path relative to the trial folder, stays inside it; else why not, for people.
 * A file that does not exist is inside when its name is. */
const char *trial_path_trouble(struct arena *a, const char *folder, const char *path);

struct trial_bytes {
    const unsigned char *bytes;
    size_t n;
    char sha256[65];
};

/* The whole of a regular file of at most `max` bytes, and the SHA-256 of these very bytes. Returns
 * NULL, or what is wrong, for people: the system's reason, "it is a folder", "it is larger than".
 */
const char *trial_read_file(struct arena *a, const char *path, size_t max, struct trial_bytes *out);

/* The system's words for an error number. */
const char *trial_reason(struct arena *a, int number);
/* folder/name, or name alone where folder is "". */
const char *trial_join_path(struct arena *a, const char *folder, const char *name);
/* The last part of a path, without its extension; *extension gets that, dot included, or "". */
const char *trial_stem(struct arena *a, const char *path, const char **extension);

#endif
