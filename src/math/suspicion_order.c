/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Order in time and unequal scatter: what the conditions of a study tell of the press. */
#include <math.h>

#include "plateau/math.h"

/* ---- drift ---------------------------------------------------------------------------------- */

/* Subtracts the weighted mean of each group; returns the groups that have a row. */
static size_t center(struct arena *a, double *v, const double *w, const size_t *group, size_t m)
{
    double *sum = ARENA_ARRAY(a, double, m), *weight = ARENA_ARRAY(a, double, m);
    double *base = ARENA_ARRAY(a, double, m);
    size_t groups = 0;
    for (size_t i = 0; i < m; i++) {
        size_t g = group != NULL ? group[i] : 0;
        if (weight[g] <= 0.0) {
            base[g] = v[i];
            groups++;
        }
        sum[g] += w[i] * (v[i] - base[g]);
        weight[g] += w[i];
    }
    for (size_t i = 0; i < m; i++) {
        size_t g = group != NULL ? group[i] : 0;
        v[i] -= base[g] + sum[g] / weight[g];
    }
    return groups;
}

struct math_drift math_drift(struct arena *a, const double *time, const double *y, const double *w,
                             const size_t *group, size_t m, size_t spent, double least_variance)
{
    struct math_drift r = {PL_NAN, PL_NAN, PL_NAN};
    double *t = ARENA_ARRAY(a, double, m), *v = ARENA_ARRAY(a, double, m);
    double stt = 0.0, stv = 0.0, svv = 0.0;
    for (size_t i = 0; i < m; i++) {
        t[i] = time[i];
        v[i] = y[i];
    }
    size_t groups = center(a, t, w, group, m);
    center(a, v, w, group, m);
    for (size_t i = 0; i < m; i++) {
        stt += w[i] * t[i] * t[i];
        stv += w[i] * t[i] * v[i];
        svv += w[i] * v[i] * v[i];
    }
    double dof = (double)m - (double)(group != NULL ? groups : spent) - 1.0;
    if (!(dof >= 1.0) || !(stt > 0.0))
        return r;
    double slope = stv / stt;
    double rest = fmax(0.0, svv - slope * stv);
    double variance = fmax(rest / dof, least_variance), se = sqrt(variance / stt);
    r.dof = dof;
    r.change = slope * (time[m - 1] - time[0]);
    r.p = se > 0.0 ? math_two_sided_p(slope / se, dof) : slope != 0.0 ? 0.0 : 1.0;
    return r;
}

double math_revisit_p(double difference, size_t n_a, size_t n_b, double shot_sd, double dof)
{
    if (n_a == 0 || n_b == 0 || !(dof > 0.0))
        return PL_NAN;
    double se = shot_sd * sqrt(2.0 + 1.0 / (double)n_a + 1.0 / (double)n_b);
    if (!(se > 0.0))
        return difference != 0.0 ? 0.0 : 1.0;
    return math_two_sided_p(difference / se, dof);
}

/* ---- unequal scatter ------------------------------------------------------------------------ */

bool math_spread(const double *sd, const size_t *n, size_t k, double least_sd,
                 struct math_spread *out)
{
    double ss = 0.0, dof = 0.0, compared = 0.0;
    for (size_t i = 0; i < k; i++)
        if (n[i] > 1) {
            dof += (double)(n[i] - 1);
            ss += sd[i] * sd[i] * (double)(n[i] - 1);
            compared += 1.0;
        }
    *out = (struct math_spread){.p = PL_NAN};
    for (size_t i = 0; i < k; i++) {
        double own = (double)n[i] - 1.0, others = dof - own;
        if (!(own > 0.0) || !(others > 0.0))
            continue;
        double rest = fmax(0.0, ss - sd[i] * sd[i] * own) / others;
        double variance = fmax(rest, least_sd * least_sd), f = sd[i] * sd[i] / variance;
        double p = variance > 0.0 ? compared * math_f_tail(f, own, others)
                   : sd[i] > 0.0  ? 0.0
                                  : 1.0;
        if (p < out->p || isnan(out->p))
            *out = (struct math_spread){
                .at = i, .own = sd[i], .others = sqrt(variance), .p = fmin(p, 1.0)};
    }
    return !isnan(out->p);
}
