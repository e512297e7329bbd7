/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The arena for libFuzzer: src/base/arena.c with every allocation a block of its own, but taken
 * from one pool that is emptied after each input. The pool is poisoned save for the bytes handed
 * out, so that the address sanitizer sees exact edges and uses after a reset, at a tenth of the
 * cost of its own allocator. Memory beyond the pool for one small input is a defect and ends the
 * program. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <sanitizer/asan_interface.h>

#include "fuzz.h"

#define POOL_BYTES ((size_t)256 << 20)
#define EDGE ((size_t)16) /* before each allocation; its size stands there */

static _Alignas(16) char pool[POOL_BYTES];
static size_t used, kept;

static void *pool_realloc(void *old, size_t n)
{
    static bool started;
    if (!started)
        ASAN_POISON_MEMORY_REGION(pool, sizeof pool);
    started = true;
    size_t need = EDGE + (n + EDGE - 1) / EDGE * EDGE;
    if (need < n || need > POOL_BYTES - used - EDGE)
        fuzz_fail(__FILE__, __LINE__, "%zu bytes beyond %zu for one input", n, used);
    char *p = pool + used + EDGE;
    used += need;
    ASAN_UNPOISON_MEMORY_REGION(p - EDGE, sizeof n);
    memcpy(p - EDGE, &n, sizeof n);
    ASAN_POISON_MEMORY_REGION(p - EDGE, sizeof n);
    ASAN_UNPOISON_MEMORY_REGION(p, n);
    if (old == NULL)
        return p;
    size_t was;
    char *edge = (char *)old - EDGE;
    ASAN_UNPOISON_MEMORY_REGION(edge, sizeof was);
    memcpy(&was, edge, sizeof was);
    memcpy(p, old, was < n ? was : n);
    ASAN_POISON_MEMORY_REGION(edge, EDGE + was);
    return p;
}

static void pool_free(void *p)
{
    if (p == NULL)
        return;
    size_t n;
    char *edge = (char *)p - EDGE;
    ASAN_UNPOISON_MEMORY_REGION(edge, sizeof n);
    memcpy(&n, edge, sizeof n);
    ASAN_POISON_MEMORY_REGION(edge, EDGE + n);
}

void fuzz_pool_keep(void)
{
    kept = used;
}

void fuzz_pool_reset(void)
{
    ASAN_POISON_MEMORY_REGION(pool + kept, used - kept);
    used = kept;
}

#undef ARENA_DISCRETE
#define ARENA_DISCRETE 1
#define realloc pool_realloc
#define free pool_free
#include "../../src/base/arena.c"
