/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cells of what is told beside the main answer: the slope of weight in a gate that is meant to stay
 * open, and the change of the imbalance with the fill. */
#include <math.h>

#include "coverage.h"

/* ---- gate meant to stay open -------------------------------------------------------------------
 */

void cov_open_gate(const struct cov_cell *c, size_t trials, struct cov_rows *out)
{
    struct arena *kept = arena_new();
    struct curve_truth truth;
    size_t m = (size_t)cov_number(c, "conditions", 8), shots = (size_t)cov_number(c, "shots", 3);
    double first = 2.0, gap = 7.0 / (double)(m - 1), between = cov_number(c, "between", 0.0);
    double sd = cov_number(c, "sd", 0.3) * COV_TOLERANCE * SIM_PLATEAU;
    double step = cov_number(c, "step", 0.001);
    truth_of(c, kept, &truth);
    double last = first + gap * (double)(m - 1);
    double slope = (truth_value(&truth, last) - truth_value(&truth, last - gap)) / gap;
    for (size_t trial = 0; trial < trials; trial++) {
        struct arena *a = arena_new();
        struct sim_stream s = cov_stream(c, trial);
        struct cov_sheet sheet;
        struct finding f;
        double low, high;
        cov_sheet_init(&sheet, a, "gate-freeze", 2, m * shots);
        cov_sheet_column(&sheet, "hold_time", 0, 0.1);
        cov_sheet_column(&sheet, "weight", 0, step);
        cov_sheet_text(&sheet, "mold", "gate", "open");
        for (size_t i = 0; i < m; i++) {
            double x = first + gap * (double)i, off = between * sd * sim_normal(&s);
            for (size_t j = 0; j < shots; j++) {
                double w = truth_value(&truth, x) + off + sd * sim_normal(&s);
                struct cell *cells = cov_sheet_row(&sheet);
                cells[0] = cov_value(x);
                cells[1] = cov_value(round(w / step) * step);
            }
        }
        cov_sheet_analyze(&sheet, &f);
        cov_quantity(&f, "weight_sensitivity", &low, &high);
        cov_interval(out, "weight_sensitivity", "program", low, high, slope);
        arena_free(a);
    }
    arena_free(kept);
}

/* ---- imbalance over fill ----------------------------------------------------------------------
 */

#define LARGEST 12.0 /* g at a full shot */
#define MOST_LEVELS 4

/* The first cavity is the heaviest, the last the lightest at every level. */
static double mean_at(const struct cov_cell *c, double fill, size_t i, size_t k)
{
    double at = i == 0 ? 0.0 : i == k - 1 ? 1.0 : 0.5;
    double imbalance = cov_number(c, "truth", 0.04) + cov_number(c, "slope", 0.0) * (fill - 0.95);
    return LARGEST * fill * (1.0 - imbalance * at);
}

void cov_fill_trend(const struct cov_cell *c, size_t trials, struct cov_rows *out)
{
    static const double fills[MOST_LEVELS] = {0.95, 0.75, 0.85, 0.65};
    size_t k = (size_t)cov_number(c, "cavities", 4), shots = (size_t)cov_number(c, "shots", 5);
    size_t levels = (size_t)cov_number(c, "levels", 2);
    double sd = cov_number(c, "sd", 0.003) * LARGEST, between = cov_number(c, "between", 0.0);
    double slope = 0.1 * cov_number(c, "slope", 0.0);
    for (size_t trial = 0; trial < trials; trial++) {
        struct arena *a = arena_new();
        struct sim_stream s = cov_stream(c, trial);
        struct cov_sheet sheet;
        struct finding f;
        double low, high;
        cov_sheet_init(&sheet, a, "cavity-balance", k + 1, shots * levels);
        cov_sheet_column(&sheet, "fill", 0, 0.01);
        for (size_t i = 0; i < k; i++)
            cov_sheet_column(&sheet, "weight", (int)i + 1, 0.001);
        cov_sheet_quantity(&sheet, "mold", "part_weight", DIM_MASS, LARGEST);
        for (size_t l = 0; l < levels; l++) {
            double off[16]; /* what a level does to each cavity */
            for (size_t i = 0; i < k; i++)
                off[i] = between * sd * sim_normal(&s);
            for (size_t j = 0; j < shots; j++) {
                double all = 1.0 + 0.01 * sim_normal(&s);
                struct cell *cells = cov_sheet_row(&sheet);
                cells[0] = cov_value(fills[l]);
                for (size_t i = 0; i < k; i++) {
                    double w = mean_at(c, fills[l], i, k) * all + off[i] + sd * sim_normal(&s);
                    cells[1 + i] = cov_value(round(w * 1000.0) / 1000.0);
                }
            }
        }
        cov_sheet_analyze(&sheet, &f);
        cov_quantity(&f, "imbalance_trend", &low, &high);
        cov_interval(out, "imbalance_trend", "program", low, high, slope);
        arena_free(a);
    }
}
