/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Knees of the conditions themselves, joined by straight lines in the logarithms: where
 * no curve describes the data, the intervals of the curves do not hold the knees, and
 * the settings around them do. */
#include <math.h>

#include "math/visc_internal.h"

/* The best curve is taken not to describe the conditions where a condition lies off it by this much
 * of the tolerance and the shots do not explain it at this level. (Scatter from condition to
 * condition alone does the second, and seldom the first.) */
#define MISFIT 0.4
#define MISFIT_LEVEL 0.01
#define MOST_POINTS 256
#define FINE 400

struct joined {
    size_t n;
    double x[MOST_POINTS], y[MOST_POINTS]; /* ln g, ln P */
};

static void join(const struct visc_data *d, struct joined *j)
{
    double w[MOST_POINTS] = {0.0};
    *j = (struct joined){.n = d->n_points};
    for (size_t k = 0; k < j->n; k++)
        j->x[k] = d->points[k];
    for (size_t i = 0; i < d->m; i++) {
        size_t near = 0;
        for (size_t k = 1; k < j->n; k++)
            if (fabs(d->x[i] - j->x[k]) < fabs(d->x[i] - j->x[near]))
                near = k;
        w[near] += d->w[i];
        j->y[near] += d->w[i] * d->y[i];
    }
    for (size_t k = 0; k < j->n; k++)
        j->y[k] /= w[k] > 0.0 ? w[k] : 1.0;
}

/* The segment that x lies in; the first and the last one go on. */
static size_t segment_of(const struct joined *j, double x)
{
    size_t k = 0;
    while (k + 2 < j->n && x >= j->x[k + 1])
        k++;
    return k;
}

static double viscosity(const struct joined *j, double x)
{
    size_t k = segment_of(j, x);
    double slope = (j->y[k + 1] - j->y[k]) / (j->x[k + 1] - j->x[k]);
    return exp(j->y[k] + slope * (x - j->x[k]) - x);
}

/* Last x, from the fast end, at which the disturbance does too much; NAN: none, or all. */
static double sensitive_until(const struct visc_data *d, const struct joined *j)
{
    double shift = -log(1.0 - d->disturbance);
    double limit = d->tolerance * (viscosity(j, d->x_low) - viscosity(j, d->x_high));
    for (int i = 0; i <= FINE && limit > 0.0; i++) {
        double x = d->x_high - (d->x_high - d->x_low) * i / FINE;
        if (viscosity(j, x - shift) - viscosity(j, x) > limit)
            return i > 0 ? x : PL_NAN;
    }
    return PL_NAN;
}

/* The condition farthest from the chord. */
static size_t farthest(const struct joined *j)
{
    size_t last = j->n - 1, at = 0;
    double g0 = exp(j->x[0]), e0 = viscosity(j, j->x[0]), most = 0.0;
    double slope = (viscosity(j, j->x[last]) - e0) / (exp(j->x[last]) - g0);
    for (size_t k = 1; k < last; k++) {
        double off = fabs(viscosity(j, j->x[k]) - e0 - slope * (exp(j->x[k]) - g0));
        if (off > most) {
            most = off;
            at = k;
        }
    }
    return at;
}

static double fill_time(const struct visc_data *d, double x)
{
    return exp(-(x + d->log_center));
}

/* The settings on both sides of a knee, and one more on either side: each of them scatters. */
static void take_in(const struct visc_data *d, const struct joined *j, size_t slow, size_t fast,
                    struct visc_value *v)
{
    slow -= slow > 0 ? 1 : 0;
    fast += fast + 1 < j->n ? 1 : 0;
    v->low = fmin(v->low, fill_time(d, j->x[fast]));
    v->high = fmax(v->high, fill_time(d, j->x[slow]));
}

void visc_bracket(const struct visc_data *d, struct visc_answer *out)
{
    double g[MOST_POINTS], e[MOST_POINTS];
    struct joined j;
    const struct visc_fit *best = &out->model[out->best];
    if (!(best->misfit_p < MISFIT_LEVEL && best->misfit > MISFIT) || d->n_points < 4 ||
        d->n_points > MOST_POINTS)
        return;
    join(d, &j);
    double x = sensitive_until(d, &j);
    if (!isnan(x)) {
        size_t k = segment_of(&j, x);
        if (out->state == VISC_KNEE_BELOW_RANGE) {
            out->state = VISC_KNEE_FOUND;
            out->sensitivity.value = fill_time(d, x);
        }
        take_in(d, &j, k, k + 1, &out->sensitivity);
    }
    for (size_t k = 0; k < j.n; k++) {
        g[k] = exp(j.x[k]);
        e[k] = viscosity(&j, j.x[k]);
    }
    double psi = visc_broken_stick(g, e, j.n);
    if (psi > 0.0) {
        size_t k = segment_of(&j, log(psi));
        take_in(d, &j, k, k + 1, &out->stick);
    }
    size_t k = farthest(&j);
    if (k > 0)
        take_in(d, &j, k, k, &out->chord);
}
