/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * libFuzzer's entry. The target is the one the program is named after: fuzz-table runs "table". */
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"

int LLVMFuzzerInitialize(int *argc, char ***argv);
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n);

static const struct fuzz_target *target;

int LLVMFuzzerInitialize(int *argc, char ***argv)
{
    (void)argc;
    const char *slash = strrchr((*argv)[0], '/'), *name = slash != NULL ? slash + 1 : (*argv)[0];
    target = strncmp(name, "fuzz-", 5) == 0 ? fuzz_target_find(name + 5) : NULL;
    FUZZ_CHECK(target != NULL, "%s: no such target", name);
    return 0;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n)
{
    target->run((const char *)bytes, n);
    return 0;
}
