/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An arena for each test, made and freed by cmocka's set-up and tear-down. */
#ifndef TESTS_ARENA_BENCH_H
#define TESTS_ARENA_BENCH_H

#include "plateau/base.h"

static struct arena *arena;

static int setup(void **state)
{
    (void)state;
    arena = arena_new();
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    arena_free(arena);
    return 0;
}

#endif
