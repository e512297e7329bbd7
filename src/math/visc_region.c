/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The parameter region of a fitted curve, as points that cover it to its edge: what a derived
 * quantity can be is what it is at one of them. */
#include <math.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_math.h>

#include "math/visc_internal.h"

#define ALONG 25 /* values of n */
#define ACROSS 7 /* values of the other parameter for each */
#define COARSE 28

struct slice {
    const struct visc_data *d;
    enum visc_model_id id;
    double n;
};

static double sum_across(double tau, void *context)
{
    struct slice *s = context;
    double theta[2] = {s->n, tau};
    return visc_sum(s->d, s->id, theta, NULL);
}

/* Least sum for this n, and where. */
static double profile(struct slice *s, double n, double *tau)
{
    s->n = n;
    *tau = 0.0;
    if (s->id == VISC_POWER)
        return sum_across(0.0, s);
    double low, high, best = PL_INF;
    visc_theta_range(s->id, s->d, 1, &low, &high);
    double h = (high - low) / (COARSE - 1);
    for (int i = 0; i < COARSE; i++) {
        double v = sum_across(low + h * i, s);
        if (v < best) {
            best = v;
            *tau = low + h * i;
        }
    }
    if (*tau - h >= low && *tau + h <= high) {
        double at;
        double refined = math_minimize(sum_across, s, *tau - h, *tau, *tau + h, &at);
        if (at <= best) {
            best = at;
            *tau = refined;
        }
    }
    return best;
}

static double sum_along(double n, void *context)
{
    struct slice *s = context;
    double tau;
    return profile(s, n, &tau);
}

/* How far fn stays at or below crit from `from` towards `wall`. */
static double reach(double (*fn)(double u, void *context), void *context, double crit, double from,
                    double wall, double first)
{
    double inside = from, stride = wall > from ? first : -first;
    if (!(fabs(wall - from) > 0.0))
        return from;
    for (int i = 0; i < 200; i++) {
        double next = inside + stride;
        if ((wall - next) * stride <= 0.0)
            next = wall;
        if (fn(next, context) > crit)
            return math_root(fn, context, crit, inside, next);
        if (!(fabs(next - wall) > 0.0))
            return wall;
        inside = next;
        stride *= 1.5;
    }
    return inside;
}

static double critical_sum(const struct visc_data *d, const struct visc_fit *f)
{
    double rows = (double)d->n_rows - (double)f->p, units = (double)d->m - (double)f->p;
    double extra = 0.0;
    math_quiet();
    if (rows > 0.0)
        extra =
            fmax(d->floor_rows, f->rss_rows / rows) * gsl_cdf_fdist_Pinv(d->confidence, 1.0, rows);
    if (units > 0.0)
        extra = fmax(extra, fmax(d->floor_units, f->rss_units / units) *
                                gsl_cdf_fdist_Pinv(d->confidence, 1.0, units));
    return f->rss_units + extra;
}

static void add_point(struct slice *s, double tau, double crit, struct visc_region *out)
{
    struct visc_point *p = &out->point[out->n++];
    double sum = 0.0;
    p->theta[0] = s->n;
    p->theta[1] = tau;
    double ss = visc_sum(s->d, s->id, p->theta, &p->height);
    for (size_t i = 0; i < s->d->m; i++)
        sum += s->d->w[i];
    p->height_half = sqrt(fmax(0.0, crit - ss) / sum);
}

static void add_slice(struct slice *s, double n, double crit, double first, struct visc_region *out)
{
    double tau, low, high;
    profile(s, n, &tau);
    s->n = n;
    if (s->id == VISC_POWER) {
        add_point(s, 0.0, crit, out);
        return;
    }
    visc_theta_range(s->id, s->d, 1, &low, &high);
    double left = reach(sum_across, s, crit, tau, low, first);
    double right = reach(sum_across, s, crit, tau, high, first);
    for (int i = 0; i < ACROSS; i++) /* denser at the ends */
        add_point(s, 0.5 * (left + right) - 0.5 * (right - left) * cos(M_PI * i / (ACROSS - 1.0)),
                  crit, out);
}

void visc_region_make(struct arena *a, const struct visc_data *d, const struct visc_fit *fit,
                      struct visc_region *out)
{
    *out = (struct visc_region){
        .data = d, .id = fit->id, .point = ARENA_ARRAY(a, struct visc_point, 1 + ALONG * ACROSS)};
    struct slice s = {d, fit->id, fit->theta[0]};
    double crit = critical_sum(d, fit), low, high;
    add_point(&s, fit->theta[1], crit, out);
    visc_theta_range(fit->id, d, 0, &low, &high);
    double left = reach(sum_along, &s, crit, fit->theta[0], low, 1e-3);
    double right = reach(sum_along, &s, crit, fit->theta[0], high, 1e-3);
    for (int i = 0; i < ALONG; i++)
        add_slice(&s, 0.5 * (left + right) - 0.5 * (right - left) * cos(M_PI * i / (ALONG - 1.0)),
                  crit, 0.02, out);
}
