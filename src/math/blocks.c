/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "plateau/math.h"

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double shifted_mean(const double *y, size_t n)
{
    double sum = 0.0;
    for (size_t i = 1; i < n; i++)
        sum += y[i] - y[0];
    return y[0] + sum / (double)n;
}

static void fill_groups(struct arena *a, struct math_blocks *out)
{
    double *sorted = ARENA_ARRAY(a, double, out->n_blocks);
    for (size_t i = 0; i < out->n_blocks; i++)
        sorted[i] = out->b[i].x;
    qsort(sorted, out->n_blocks, sizeof *sorted, ascending);
    size_t k = 0;
    for (size_t i = 0; i < out->n_blocks; i++)
        if (k == 0 || sorted[i] > sorted[k - 1])
            sorted[k++] = sorted[i];
    out->n_groups = k;
    out->group_x = sorted;
    out->group_mean = ARENA_ARRAY(a, double, k);
    out->group_n = ARENA_ARRAY(a, size_t, k);
    for (size_t j = 0; j < k; j++) {
        double sum = 0.0, base = NAN;
        for (size_t i = 0; i < out->n_blocks; i++) {
            struct math_block *b = &out->b[i];
            if (b->x != sorted[j])
                continue;
            b->group = j;
            base = isnan(base) ? b->mean : base;
            sum += (double)b->n * (b->mean - base);
            out->group_n[j] += b->n;
        }
        out->group_mean[j] = base + sum / (double)out->group_n[j];
    }
}

void math_blocks_make(struct arena *a, const double *x, const double *y, size_t n,
                      struct math_blocks *out)
{
    *out = (struct math_blocks){.n_rows = n};
    out->b = ARENA_ARRAY(a, struct math_block, n);
    for (size_t i = 0; i < n;) {
        size_t end = i + 1;
        while (end < n && x[end] == x[i])
            end++;
        struct math_block *b = &out->b[out->n_blocks++];
        *b = (struct math_block){.x = x[i], .first = i, .n = end - i};
        b->mean = shifted_mean(y + i, b->n);
        for (size_t j = i; j < end; j++)
            b->ss += (y[j] - b->mean) * (y[j] - b->mean);
        out->sspe += b->ss;
        i = end;
    }
    fill_groups(a, out);
}

void math_blocks_add(struct arena *a, const struct math_blocks *blocks,
                     const struct math_block *more, size_t n, struct math_blocks *out)
{
    *out = *blocks;
    out->b = ARENA_ARRAY(a, struct math_block, blocks->n_blocks + n);
    for (size_t i = 0; i < blocks->n_blocks; i++)
        out->b[i] = blocks->b[i];
    for (size_t i = 0; i < n; i++) {
        struct math_block *b = &out->b[out->n_blocks++];
        *b = more[i];
        b->first = out->n_rows;
        out->n_rows += b->n;
        out->sspe += b->ss;
    }
    fill_groups(a, out);
}
