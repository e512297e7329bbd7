/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Order in time and unequal scatter: what the conditions of a study tell of the press. */
#include <math.h>
#include <string.h>

#include "plateau/math.h"

#define DEPENDENT 1e-9 /* of a square: less is rounding */

/* ---- drift ---------------------------------------------------------------------------------- */

/* Subtracts the weighted mean of each group; returns the groups that have a row. */
static size_t center(struct arena *a, double *v, const double *w, const size_t *group, size_t m)
{
    double *sum = ARENA_ARRAY(a, double, m), *weight = ARENA_ARRAY(a, double, m);
    double *base = ARENA_ARRAY(a, double, m);
    size_t groups = 0;
    for (size_t i = 0; i < m; i++) {
        size_t g = group[i];
        if (weight[g] <= 0.0) {
            base[g] = v[i];
            groups++;
        }
        sum[g] += w[i] * (v[i] - base[g]);
        weight[g] += w[i];
    }
    for (size_t i = 0; i < m; i++) {
        size_t g = group[i];
        v[i] -= base[g] + sum[g] / weight[g];
    }
    return groups;
}

/* Takes out of v what the first k columns of q, orthonormal under w, explain of it. */
static void take_out(double *v, const double *q, size_t k, const double *w, size_t m)
{
    for (size_t j = 0; j < k; j++) {
        double dot = 0.0;
        for (size_t i = 0; i < m; i++)
            dot += w[i] * v[i] * q[j * m + i];
        for (size_t i = 0; i < m; i++)
            v[i] -= dot * q[j * m + i];
    }
}

static double square(const double *v, const double *w, size_t m)
{
    double sum = 0.0;
    for (size_t i = 0; i < m; i++)
        sum += w[i] * v[i] * v[i];
    return sum;
}

/* Orthonormal columns under w that span the tangent; returns the rank. Each column is worked on
 * twice, so that what is left is orthogonal to the last digit. */
static size_t orthonormal(const double *tangent, size_t p, const double *w, size_t m, double *q)
{
    size_t rank = 0;
    for (size_t j = 0; j < p; j++) {
        double *v = &q[rank * m];
        memcpy(v, &tangent[j * m], m * sizeof *v);
        double before = square(v, w, m);
        take_out(v, q, rank, w, m);
        take_out(v, q, rank, w, m);
        double after = square(v, w, m);
        if (!(after > DEPENDENT * before))
            continue;
        for (size_t i = 0; i < m; i++)
            v[i] /= sqrt(after);
        rank++;
    }
    return rank;
}

/* From time t and readings v with the setting's part taken out. */
static struct math_drift drift_of(const double *time, const double *t, const double *v,
                                  const double *w, size_t m, double spent, double least_variance)
{
    struct math_drift r = {PL_NAN, PL_NAN, PL_NAN, 0.0};
    double mean = 0.0, weight = 0.0, all = 0.0, stv = 0.0, stt = square(t, w, m);
    for (size_t i = 0; i < m; i++) {
        weight += w[i];
        mean += w[i] * (time[i] - mean) / weight;
        stv += w[i] * t[i] * v[i];
    }
    for (size_t i = 0; i < m; i++)
        all += w[i] * (time[i] - mean) * (time[i] - mean);
    double dof = (double)m - spent - 1.0;
    r.told = all > 0.0 ? stt / all : 0.0;
    if (!(dof >= 1.0) || !(r.told > DEPENDENT))
        return r;
    double slope = stv / stt, rest = fmax(0.0, square(v, w, m) - slope * stv);
    double se = sqrt(fmax(rest / dof, least_variance) / stt);
    r.dof = dof;
    r.change = slope * (time[m - 1] - time[0]);
    r.p = se > 0.0 ? math_two_sided_p(slope / se, dof) : slope != 0.0 ? 0.0 : 1.0;
    return r;
}

struct math_drift math_drift_groups(struct arena *a, const double *time, const double *y,
                                    const double *w, const size_t *group, size_t m,
                                    double least_variance)
{
    double *t = ARENA_ARRAY(a, double, m), *v = ARENA_ARRAY(a, double, m);
    memcpy(t, time, m * sizeof *t);
    memcpy(v, y, m * sizeof *v);
    double groups = (double)center(a, t, w, group, m);
    center(a, v, w, group, m);
    return drift_of(time, t, v, w, m, groups, least_variance);
}

struct math_drift math_drift_curve(struct arena *a, const double *time, const double *residual,
                                   const double *w, const double *tangent, size_t p, size_t m,
                                   double least_variance)
{
    double *t = ARENA_ARRAY(a, double, m), *v = ARENA_ARRAY(a, double, m);
    double *q = ARENA_ARRAY(a, double, (p + 1) * m);
    size_t rank = orthonormal(tangent, p, w, m, q);
    memcpy(t, time, m * sizeof *t);
    memcpy(v, residual, m * sizeof *v);
    for (int pass = 0; pass < 2; pass++) {
        take_out(t, q, rank, w, m);
        take_out(v, q, rank, w, m);
    }
    return drift_of(time, t, v, w, m, (double)rank, least_variance);
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
