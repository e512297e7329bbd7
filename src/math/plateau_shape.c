/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Is a plateau shown? The best plateau curve against curves that never level off,
 * y = a + b (x^l - 1) / l with l from 0 (the logarithm) to 1 (the straight line). */
#include <math.h>

#include "math/plateau_internal.h"

#define SHOWN 7.0   /* AICc units, on rows */
#define LEVEL 0.002 /* of the F test on block means */
#define POWERS 20
#define TIE 1e-9

/* Weighted sum of block means around the rising line through u; scaled. */
static double sum_around_line(const struct scaled *s, const double *u)
{
    double mean = 0.0, uu = 0.0, uy = 0.0, sum = 0.0;
    for (size_t i = 0; i < s->m; i++)
        mean += s->w[i] * u[i] / s->w_sum;
    for (size_t i = 0; i < s->m; i++) {
        uu += s->w[i] * (u[i] - mean) * (u[i] - mean);
        uy += s->w[i] * (u[i] - mean) * (s->y[i] - s->y_mean);
    }
    double b = uu > 0.0 ? fmax(0.0, uy / uu) : 0.0;
    for (size_t i = 0; i < s->m; i++) {
        double r = s->y[i] - s->y_mean - b * (u[i] - mean);
        sum += s->w[i] * r * r;
    }
    return sum;
}

/* Where settings begin at zero or below they are moved: the logarithm must not begin at minus
 * infinity. */
static double least_endless(const struct scaled *s)
{
    double shift = s->x0 > 0.0 ? 0.0 : s->spacing - s->x0, least = PL_INF, *u = s->g;
    for (int k = 0; k <= POWERS; k++) {
        double l = (double)k / POWERS;
        for (size_t i = 0; i < s->m; i++)
            u[i] = k > 0 ? pow(s->x[i] + shift, l) : log(s->x[i] + shift);
        least = fmin(least, sum_around_line(s, u));
    }
    return least;
}

static double aicc_of(const struct fit_frame *k, double sum, double p)
{
    const struct math_blocks *b = k->blocks;
    double n = (double)b->n_rows, sigmas = p + 1.0;
    double mean = (sum * k->y_scale * k->y_scale + b->sspe) / n;
    mean = fmax(mean, k->step * k->step / 12.0);
    return n * log(mean) + 2.0 * sigmas + 2.0 * sigmas * (sigmas + 1.0) / (n - sigmas - 1.0);
}

void plateau_shape(const struct fit_frame *k, struct plateau_answer *out)
{
    const struct math_blocks *b = k->blocks;
    const struct family_fit *line = &out->family[FAMILY_LINE];
    out->shape_gap = NAN;
    out->shape_shown = false;
    if (out->best < 0 || !line->tried)
        return;
    const struct family_fit *best = &out->family[out->best];
    double endless = least_endless(&k->scaled), aicc = line->aicc;
    if (b->n_rows > 5) /* three parameters and sigma */
        aicc = fmin(aicc, aicc_of(k, endless, 3.0));
    out->shape_gap = aicc - best->aicc;
    /* rows trust the shots' scatter; scatter from condition to condition bends a line as well */
    double dof = (double)b->n_blocks - (double)best->p, means = k->inner[out->best].s0;
    bool by_means = !(means > 0.0);
    if (!by_means && dof > 0.0 && endless > means)
        by_means = math_f_tail((endless - means) * dof / means, 1.0, dof) < LEVEL;
    out->shape_shown = out->shape_gap >= SHOWN - TIE && by_means;
}
