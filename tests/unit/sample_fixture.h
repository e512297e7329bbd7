/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The sample analysis, set up for each test. Included behind near.h. */
#ifndef TESTS_SAMPLE_FIXTURE_H
#define TESTS_SAMPLE_FIXTURE_H

#include <stdlib.h>

#include "sample_analysis.h"

struct fixture {
    struct arena *arena;
    struct analysis analysis;
};

static inline int setup(void **state)
{
    struct fixture *f = calloc(1, sizeof *f);
    if (f == NULL)
        return -1;
    f->arena = arena_new();
    sample_analysis(f->arena, &f->analysis);
    *state = f;
    return 0;
}

static inline int teardown(void **state)
{
    struct fixture *f = *state;
    arena_free(f->arena);
    free(f);
    return 0;
}

#endif
