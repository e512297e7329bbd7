/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "plateau/study.h"

#define STUDY(record) extern const struct study record;
#include "studies.def"
#undef STUDY

const struct study *const *study_all(size_t *n)
{
#define STUDY(record) &record,
    static const struct study *const all[] = {
#include "studies.def"
    };
#undef STUDY
    *n = PL_COUNT(all);
    return all;
}

const struct study *study_find(const char *name)
{
    size_t n;
    const struct study *const *all = study_all(&n);
    for (size_t i = 0; i < n; i++)
        if (strcmp(all[i]->name, name) == 0)
            return all[i];
    return NULL;
}
