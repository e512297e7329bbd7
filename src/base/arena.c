/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Blocks double in size up to 1 MiB. With ARENA_DISCRETE every allocation is a block of its own,
 * so that the sanitizers and valgrind see its exact edges. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "plateau/base.h"

#define BLOCK_FIRST ((size_t)16 * 1024)
#define BLOCK_LARGEST ((size_t)1024 * 1024)
#define ALIGNMENT _Alignof(max_align_t)

struct block {
    char *memory;
    size_t size;
};

struct adopted {
    void *p;
    void (*free_fn)(void *);
};

struct arena {
    struct block *blocks;
    size_t n_blocks, cap_blocks;
    size_t used; /* of the last block */
    struct adopted *adopted;
    size_t n_adopted, cap_adopted;
};

static void default_out_of_memory(size_t bytes)
{
    fprintf(stderr, "plateau: out of memory (%zu bytes asked for)\n", bytes);
    exit(70); /* house-rules: the one exit below the command line */
}

static arena_out_of_memory_fn *out_of_memory = default_out_of_memory;

void arena_set_out_of_memory(arena_out_of_memory_fn *fn)
{
    out_of_memory = fn != NULL ? fn : default_out_of_memory;
}

static void *must_realloc(void *p, size_t n, size_t size)
{
    if (size != 0 && n > SIZE_MAX / size)
        out_of_memory(SIZE_MAX);
    void *q = realloc(p, n * size > 0 ? n * size : 1);
    if (q == NULL)
        out_of_memory(n * size);
    return q;
}

struct arena *arena_new(void)
{
    struct arena *a = must_realloc(NULL, 1, sizeof *a);
    memset(a, 0, sizeof *a);
    return a;
}

static void release_adopted(struct arena *a, size_t keep)
{
    while (a->n_adopted > keep) {
        a->n_adopted--;
        a->adopted[a->n_adopted].free_fn(a->adopted[a->n_adopted].p);
    }
}

void arena_free(struct arena *a)
{
    if (a == NULL)
        return;
    release_adopted(a, 0);
    for (size_t i = 0; i < a->n_blocks; i++)
        free(a->blocks[i].memory);
    free(a->blocks);
    free(a->adopted);
    free(a);
}

static void add_block(struct arena *a, size_t size)
{
    if (a->n_blocks == a->cap_blocks) {
        a->cap_blocks = a->cap_blocks ? a->cap_blocks * 2 : 8;
        a->blocks = must_realloc(a->blocks, a->cap_blocks, sizeof *a->blocks);
    }
    a->blocks[a->n_blocks].memory = must_realloc(NULL, size, 1);
    a->blocks[a->n_blocks].size = size;
    a->n_blocks++;
    a->used = 0;
}

void *arena_alloc(struct arena *a, size_t bytes)
{
    if (bytes > SIZE_MAX / 2)
        out_of_memory(bytes);
    size_t need = (bytes + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT;
    if (need == 0)
        need = ALIGNMENT;
#ifdef ARENA_DISCRETE
    add_block(a, bytes > 0 ? bytes : 1);
    a->used = a->blocks[a->n_blocks - 1].size;
    return memset(a->blocks[a->n_blocks - 1].memory, 0, bytes > 0 ? bytes : 1);
#else
    if (a->n_blocks == 0 || a->blocks[a->n_blocks - 1].size - a->used < need) {
        size_t size = a->n_blocks ? a->blocks[a->n_blocks - 1].size * 2 : BLOCK_FIRST;
        if (size > BLOCK_LARGEST)
            size = BLOCK_LARGEST;
        add_block(a, size > need ? size : need);
    }
    char *p = a->blocks[a->n_blocks - 1].memory + a->used;
    a->used += need;
    return memset(p, 0, need);
#endif
}

void *arena_array(struct arena *a, size_t n, size_t size)
{
    if (size != 0 && n > SIZE_MAX / size)
        out_of_memory(SIZE_MAX);
    return arena_alloc(a, n * size);
}

char *arena_copy_n(struct arena *a, const char *s, size_t length)
{
    char *p = arena_alloc(a, length + 1);
    if (length > 0)
        memcpy(p, s, length);
    return p;
}

char *arena_copy(struct arena *a, const char *s)
{
    return s != NULL ? arena_copy_n(a, s, strlen(s)) : NULL;
}

char *arena_printf(struct arena *a, const char *fmt, ...)
{
    struct text t;
    text_init(&t, a);
    va_list ap;
    va_start(ap, fmt);
    text_vaddf(&t, fmt, ap);
    va_end(ap);
    return t.s;
}

void arena_adopt(struct arena *a, void *p, void (*free_fn)(void *))
{
    if (a->n_adopted == a->cap_adopted) {
        a->cap_adopted = a->cap_adopted ? a->cap_adopted * 2 : 8;
        a->adopted = must_realloc(a->adopted, a->cap_adopted, sizeof *a->adopted);
    }
    a->adopted[a->n_adopted++] = (struct adopted){p, free_fn};
}

struct arena_mark arena_mark(const struct arena *a)
{
    return (struct arena_mark){a->n_blocks, a->used, a->n_adopted};
}

void arena_reset(struct arena *a, struct arena_mark m)
{
    release_adopted(a, m.adopted);
    while (a->n_blocks > m.block)
        free(a->blocks[--a->n_blocks].memory);
    a->used = m.used;
}

void *arena_push(struct arena *a, void *array_pointer, size_t *n, size_t *capacity, size_t size)
{
    void *array;
    memcpy(&array, array_pointer, sizeof array);
    if (*n == *capacity) {
        size_t more = *capacity ? *capacity * 2 : 8;
        void *grown = arena_array(a, more, size);
        if (*n > 0)
            memcpy(grown, array, *n * size);
        memcpy(array_pointer, &grown, sizeof grown);
        array = grown;
        *capacity = more;
    }
    (*n)++;
    return (char *)array + (*n - 1) * size;
}
