/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Scatter of shots and conditions, and the test of flatness on the conditions beyond the answer. */
#include <math.h>

#include "math/plateau_internal.h"

#define ONE_SIDED 0.95 /* two one-sided tests at 5 % */

void plateau_scatter(const struct fit_frame *k, struct plateau_answer *out, double s_means,
                     double dof_fit)
{
    const struct math_blocks *b = k->blocks;
    double least = k->step * k->step / 12.0;
    out->shot_dof = (double)(b->n_rows - b->n_blocks);
    out->shot_sd = out->shot_dof > 0.0 ? sqrt(fmax(b->sspe / out->shot_dof, least)) : PL_NAN;
    /* E(S / dof) = s_r^2 + s_c^2 n0 for blocks of n0 shots */
    double n0 = (double)b->n_rows / (double)b->n_blocks;
    double shot_var = out->shot_dof > 0.0 ? b->sspe / out->shot_dof : 0.0;
    out->block_sd = NAN;
    if (dof_fit > 0.0 && out->shot_dof > 0.0)
        out->block_sd = sqrt(fmax(0.0, (s_means / dof_fit - shot_var) / n0));
    double ss = 0.0, dof = 0.0;
    for (size_t g = 0; g < b->n_groups; g++) {
        double visits = 0.0;
        for (size_t i = 0; i < b->n_blocks; i++)
            if (b->b[i].group == g) {
                double d = b->b[i].mean - b->group_mean[g];
                ss += (double)b->b[i].n * d * d;
                visits += 1.0;
            }
        dof += visits - 1.0;
    }
    out->revisit_sd =
        dof > 0.0 && out->shot_dof > 0.0 ? sqrt(fmax(0.0, (ss / dof - shot_var) / n0)) : PL_NAN;
}

struct slope {
    double rise, sxx, sxx_blocks, range;
    size_t blocks;
    double rows; /* mean rows of a block */
};

static struct slope slope_of(const struct fit_frame *k, size_t first)
{
    const struct math_blocks *b = k->blocks;
    struct slope s = {0};
    double w = 0.0, xm = 0.0, ym = 0.0, sxy = 0.0;
    for (size_t i = 0; i < b->n_blocks; i++)
        if (b->b[i].group >= first) {
            double n = (double)b->b[i].n;
            w += n;
            xm += n * b->b[i].x;
            ym += n * (b->b[i].mean - k->y_shift);
            s.blocks++;
        }
    xm /= w;
    ym /= w;
    for (size_t i = 0; i < b->n_blocks; i++)
        if (b->b[i].group >= first) {
            double n = (double)b->b[i].n, d = b->b[i].x - xm;
            s.sxx += n * d * d;
            s.sxx_blocks += d * d;
            sxy += n * d * (b->b[i].mean - k->y_shift - ym);
        }
    s.rows = w / (double)s.blocks;
    s.range = b->group_x[b->n_groups - 1] - b->group_x[first];
    s.rise = s.sxx > 0.0 ? k->direction * sxy / s.sxx * s.range : 0.0;
    return s;
}

void plateau_rise_test(const struct fit_frame *k, struct plateau_answer *out, size_t first,
                       double s_means, double dof_fit)
{
    const struct math_blocks *b = k->blocks;
    struct slope s = slope_of(k, first);
    out->rise_from = first;
    out->rise = s.rise;
    out->rise_low = out->rise_high = out->rise_se = NAN;
    out->rise_dof = 0.0;
    out->verdict = 0;
    double shot_var = out->shot_dof > 0.0 ? b->sspe / out->shot_dof : 0.0;
    double least = k->step * k->step / 12.0, v = 0.0;
    if (dof_fit > 0.0)
        v = s_means / dof_fit;
    out->rise_dof = dof_fit;
    if (out->shot_dof > 0.0 && (dof_fit <= 0.0 || shot_var > v)) {
        v = shot_var;
        out->rise_dof = out->shot_dof;
    }
    if (!(out->rise_dof > 0.0) || !(s.sxx > 0.0))
        return;
    v = fmax(v, least);
    out->rise_se = s.range * sqrt(v / s.sxx);
    double half = math_t_quantile(ONE_SIDED, out->rise_dof) * out->rise_se;
    out->rise_low = s.rise - half;
    out->rise_high = s.rise + half;
    double size = fabs(s.rise), delta = out->tolerance;
    if (size + half <= delta)
        out->verdict = 1;
    else if (size - half > delta)
        out->verdict = -1;
}
