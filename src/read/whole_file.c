/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "limits.h"
#include "plateau/read.h"
#include "trial_files.h"

enum errc read_whole_file(struct arena *a, const char *path, struct whole_file *out,
                          struct error *e)
{
    struct trial_bytes b;
    const char *trouble = trial_read_file(a, path, LIMIT_FILE_BYTES, &b);
    if (trouble != NULL)
        return ERR_SET(e, ERR_READ, "'%s' could not be read: %s",
                       text_harmless(a, path, strlen(path)), trouble);
    out->bytes = b.bytes;
    out->n = b.n;
    memcpy(out->sha256, b.sha256, sizeof out->sha256);
    return ERR_NONE;
}
