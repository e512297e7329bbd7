/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cells of cavity-balance: imbalance and range of short shots. */
#include <math.h>
#include <string.h>

#include "coverage.h"

#define LARGEST 12.0 /* g, mean of the heaviest cavity */
#define COMMON 0.01  /* sd of what all cavities of a shot share */

/* The lightest cavity is `truth` lighter than the heaviest. */
static double mean_of(const struct cov_cell *c, size_t i, size_t k)
{
    double at = (double)i / (double)(k - 1);
    if (cov_is(c, "spread", "halves"))
        at = i < k / 2 ? 0.0 : 1.0;
    if (cov_is(c, "spread", "extremes"))
        at = i == 0 ? 0.0 : i == k - 1 ? 1.0 : 0.5;
    return LARGEST * (1.0 - cov_number(c, "truth", 0.0) * at);
}

static void draw(const struct cov_cell *c, size_t k, struct sim_stream *s, struct cov_sheet *sheet)
{
    double sd = cov_number(c, "sd", 0.005) * LARGEST, step = cov_number(c, "step", 0.001);
    for (double j = 0; j < cov_number(c, "shots", 3); j++) {
        double all = 1.0 + COMMON * sim_normal(s);
        struct cell *cells = cov_sheet_row(sheet);
        for (size_t i = 0; i < k; i++) {
            double w = mean_of(c, i, k) * all + sd * sim_normal(s);
            cells[i] = cov_value(round(w / step) * step);
        }
    }
}

/* The intervals of the cavities hold together: zero lies in what is common to them once each is
 * moved by its truth. */
static void count_cavities(const struct cov_cell *c, size_t k, const struct finding *f,
                           struct cov_rows *out)
{
    double low = -PL_INF, high = PL_INF, mean = 0.0;
    for (size_t i = 0; i < k; i++)
        mean += mean_of(c, i, k) / (double)k;
    for (size_t n = 0; n < f->n_tables; n++)
        for (size_t i = 0; strcmp(f->tables[n].name, "cavities") == 0 && i < k; i++) {
            const double *v = &f->tables[n].values[i * f->tables[n].n_columns];
            double truth = mean_of(c, i, k) / mean - 1.0;
            low = fmax(low, v[3] - truth);
            high = fmin(high, v[4] - truth);
        }
    if (isinf(low))
        low = high = PL_NAN;
    cov_interval(out, "each cavity from the mean of all, together", "program", low, high, 0.0);
}

void cov_imbalance(const struct cov_cell *c, size_t trials, struct cov_rows *out)
{
    size_t k = (size_t)cov_number(c, "cavities", 8), shots = (size_t)cov_number(c, "shots", 3);
    double truth = cov_number(c, "truth", 0.0);
    for (size_t trial = 0; trial < trials; trial++) {
        struct arena *a = arena_new();
        struct sim_stream s = cov_stream(c, trial);
        struct cov_sheet sheet;
        struct finding f;
        double low, high;
        cov_sheet_init(&sheet, a, "cavity-balance", k, shots);
        for (size_t i = 0; i < k; i++)
            cov_sheet_column(&sheet, "weight", (int)i + 1, cov_number(c, "step", 0.001));
        cov_sheet_quantity(&sheet, "mold", "part_weight", DIM_MASS, LARGEST / 0.9);
        draw(c, k, &s, &sheet);
        cov_sheet_analyze(&sheet, &f);
        cov_quantity(&f, "imbalance", &low, &high);
        cov_interval(out, "imbalance", "program", low, high, truth);
        cov_quantity(&f, "cavity_range", &low, &high);
        cov_interval(out, "cavity_range", "program", low, high, truth * LARGEST);
        count_cavities(c, k, &f, out);
        arena_free(a);
    }
}
