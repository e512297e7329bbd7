/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows and shots that look out of place. Nothing is ever removed for it. */
#include <math.h>

#include "plateau/math.h"

double math_two_sided_p(double t, double dof)
{
    return 2.0 * math_t_cdf(-fabs(t), dof);
}

/* The group whose mean lies nearest to y, when that is nearer than the row's own block. */
static long nearer_group(const struct math_blocks *b, const struct math_block *own, double y,
                         double own_mean)
{
    long best = -1;
    double least = fabs(y - own_mean);
    for (size_t g = 0; g < b->n_groups; g++) {
        bool neighbour = g + 1 == own->group || g == own->group + 1;
        if (neighbour && fabs(y - b->group_mean[g]) < least) {
            least = fabs(y - b->group_mean[g]);
            best = (long)g;
        }
    }
    return best;
}

size_t math_odd_rows(const struct math_blocks *b, const double *y, double level,
                     double least_variance, struct math_odd_row *out, size_t most)
{
    size_t found = 0;
    double dof = (double)b->n_rows - (double)b->n_blocks - 1.0, tested = 0.0;
    for (size_t i = 0; i < b->n_blocks; i++)
        tested += b->b[i].n > 1 ? (double)b->b[i].n : 0.0;
    if (!(dof >= 1.0))
        return 0;
    for (size_t i = 0; i < b->n_blocks; i++) {
        const struct math_block *own = &b->b[i];
        double n = (double)own->n;
        for (size_t j = own->first; own->n > 1 && j < own->first + own->n && found < most; j++) {
            double d = y[j] - own->mean, others = own->mean - d / (n - 1.0);
            double rest = (b->sspe - d * d * n / (n - 1.0)) / dof;
            double variance = fmax(rest, least_variance);
            if (!(variance > 0.0))
                continue;
            double t = d * sqrt(n / (n - 1.0)) / sqrt(variance);
            double p = math_two_sided_p(t, dof) * tested;
            if (p <= level)
                out[found++] =
                    (struct math_odd_row){j, y[j] - others, p, nearer_group(b, own, y[j], others)};
        }
    }
    return found;
}

struct math_first_shots math_first_shots(const struct math_blocks *b, const double *y)
{
    struct math_first_shots r = {0, PL_NAN, PL_NAN};
    double sum = 0.0, ss = 0.0;
    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < b->n_blocks; i++) {
            const struct math_block *k = &b->b[i];
            if (k->n < 3)
                continue;
            double n = (double)k->n, d = (y[k->first] - k->mean) * n / (n - 1.0);
            if (pass == 0) {
                sum += d;
                r.blocks++;
            } else {
                ss += (d - r.mean) * (d - r.mean);
            }
        }
        if (r.blocks == 0)
            return r;
        r.mean = sum / (double)r.blocks;
    }
    if (r.blocks >= 3) {
        double n = (double)r.blocks, se = sqrt(ss / (n - 1.0) / n);
        r.p = se > 0.0 ? math_two_sided_p(r.mean / se, n - 1.0) : r.mean != 0.0 ? 0.0 : 1.0;
    }
    return r;
}

#define LEAST_READINGS 12

double math_reading_step(const double *v, size_t n, double step)
{
    double divisor = 0.0;
    if (n < LEAST_READINGS || !(step > 0.0))
        return step;
    for (size_t i = 1; i < n; i++) {
        double a = round(fabs(v[i] - v[0]) / step), b = divisor;
        if (!(a < 1e15))
            return step;
        while (a > 0.0) { /* Euclid, exact on whole doubles */
            double rest = fmod(b, a);
            b = a;
            a = rest;
        }
        divisor = b;
    }
    return divisor > 0.0 ? divisor * step : step;
}
