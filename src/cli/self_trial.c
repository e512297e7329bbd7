/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The trial that the program carries, with the record it must give. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "commands.h"

static const struct output_file files[] = {
#include "self-trial.inc"
};

static const char record[] = {
#include "self-record.inc"
    0};

struct record_bytes self_record(void)
{
    return (struct record_bytes){"the built-in record", record, sizeof record - 1};
}

enum errc self_trial_write(struct arena *a, const char **folder, struct error *e)
{
    const char *base = getenv("TMPDIR");
    if (base == NULL || *base == '\0')
        base = "/tmp";
    char *made = arena_copy(a, path_join(a, base, "plateau-verify-XXXXXX"));
    *folder = NULL;
    if (mkdtemp(made) == NULL)
        return ERR_SET(e, ERR_WRITE, "could not make a folder in '%s': %s", cli_quote(a, base),
                       strerror(errno));
    *folder = made;
    for (size_t i = 0; i < PL_COUNT(files); i++)
        TRY(output_create(a, path_join(a, made, files[i].name), files[i].bytes, files[i].n, e));
    return ERR_NONE;
}

void self_trial_remove(struct arena *a, const char *folder)
{
    if (folder == NULL)
        return;
    for (size_t i = 0; i < PL_COUNT(files); i++)
        unlink(path_join(a, folder, files[i].name));
    rmdir(folder);
}
