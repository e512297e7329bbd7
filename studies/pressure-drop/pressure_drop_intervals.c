/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Scatter, intervals and what follows from them. */
#include <math.h>

#include "pressure_drop.h"

void pressure_drop_scatter(struct pressure_drop *p)
{
    double ss = 0.0, relative = 0.0, dof = 0.0, spread = 0.0, spread_relative = 0.0;
    p->visit_dof = 0.0;
    for (size_t i = 0; i < p->n_stages; i++) {
        const struct pressure_drop_stage *s = &p->stages[i];
        double square = s->mean * s->mean;
        ss += s->ss_within;
        relative += square > 0.0 ? s->ss_within / square : 0.0;
        dof += (double)(s->n - s->visits);
        spread += s->spread;
        spread_relative += square > 0.0 ? s->spread / square : 0.0;
        p->visit_dof += (double)(s->visits - 1);
    }
    p->shot_sd = dof > 0.0 ? sqrt(ss / dof) : PL_NAN;
    p->shot_relative = dof > 0.0 ? sqrt(relative / dof) : PL_NAN;
    p->visit_variance = p->visit_dof > 0.0 ? spread / p->visit_dof : PL_NAN;
    p->visit_relative = p->visit_dof > 0.0 ? spread_relative / p->visit_dof : PL_NAN;
}

/* Variance of a shot, never below that of the digits' rounding; NAN for a single shot. */
static double shot_variance(const struct pressure_drop *p, const struct pressure_drop_stage *s)
{
    if (s->n < 2)
        return PL_NAN;
    return fmax(s->sd * s->sd, p->step * p->step / 12.0);
}

static double t_value(double level, double dof)
{
    return math_t_quantile(0.5 + level / 2.0, dof);
}

struct pressure_drop_estimate pressure_drop_contrast(const struct pressure_drop *p, const double *c,
                                                     double level)
{
    struct pressure_drop_estimate r = {0.0, PL_NAN, PL_NAN, PL_NAN};
    double v = 0.0, below = 0.0, visits = 0.0, relative = 0.0;
    for (size_t i = 0; i < p->n_stages; i++) {
        const struct pressure_drop_stage *s = &p->stages[i];
        double square = c[i] * c[i];
        if (!(square > 0.0))
            continue;
        double part = square * shot_variance(p, s) / (double)s->n;
        r.value += c[i] * s->mean;
        v += part;
        below += part * part / ((double)s->n - 1.0 + (s->n < 2 ? 1.0 : 0.0));
        visits += square * s->share;
        relative += square * s->share * s->mean * s->mean;
    }
    if (v > 0.0)
        r.rows = t_value(level, v * v / below) * sqrt(v);
    else if (!isnan(v))
        r.rows = 0.0;
    if (p->visit_dof > 0.0)
        r.visits = t_value(level, p->visit_dof) *
                   sqrt(fmax(p->visit_variance * visits, p->visit_relative * relative));
    r.half = fmax(r.rows, r.visits); /* the other one where one is NAN */
    return r;
}

/* ---- drops --------------------------------------------------------------------------------- */

static void set_mean(struct pressure_drop *p, double *c, size_t i)
{
    struct pressure_drop_stage *s = &p->stages[i];
    c[i] = 1.0;
    struct pressure_drop_estimate r = pressure_drop_contrast(p, c, p->confidence);
    s->low = r.value - r.half;
    s->high = s->at_limit ? PL_INF : r.value + r.half;
    c[i] = 0.0;
}

static void add_drop(double *c, size_t i, double sign)
{
    c[i] += sign;
    if (i > 0)
        c[i - 1] -= sign;
}

/* A stage at the limit would have gone higher: the drop into it may be larger, the one out of it
 * smaller. */
static void set_drop(struct pressure_drop *p, double *c, size_t i)
{
    struct pressure_drop_stage *s = &p->stages[i];
    add_drop(c, i, 1.0);
    struct pressure_drop_estimate r = pressure_drop_contrast(p, c, p->confidence);
    add_drop(c, i, -1.0);
    s->drop = r.value;
    s->drop_low = r.value - r.half;
    s->drop_high = r.value + r.half;
    s->out_of_order = i > 0 && (isnan(r.half) ? r.value < 0.0 : s->drop_high < 0.0);
    if (s->at_limit)
        s->drop_high = PL_INF;
    if (i > 0 && p->stages[i - 1].at_limit)
        s->drop_low = -PL_INF;
    p->any_out_of_order = p->any_out_of_order || s->out_of_order;
}

/* The largest drop, and whether it is shown to exceed all others (Bonferroni over them). */
static void find_largest(struct pressure_drop *p, double *c)
{
    size_t n = p->n_stages;
    p->largest = p->second = n;
    for (size_t i = 0; i < n; i++)
        if (p->largest == n || p->stages[i].drop > p->stages[p->largest].drop)
            p->largest = i;
    for (size_t i = 0; i < n; i++)
        if (i != p->largest && (p->second == n || p->stages[i].drop > p->stages[p->second].drop))
            p->second = i;
    if (p->second == n)
        return;
    add_drop(c, p->largest, 1.0);
    add_drop(c, p->second, -1.0);
    double level = 1.0 - (1.0 - p->confidence) / (double)(n - 1);
    struct pressure_drop_estimate r = pressure_drop_contrast(p, c, level);
    add_drop(c, p->largest, -1.0);
    add_drop(c, p->second, 1.0);
    p->told_apart = r.value - r.half > 0.0;
}

/* The last stage decides; one that lies above it by more than scatter decides instead, so that
 * stages in the wrong order cannot hide what the mold needs. */
static void find_deciding(struct pressure_drop *p, double *c)
{
    size_t last = p->n_stages - 1;
    p->deciding = last;
    for (size_t i = 0; i < last; i++) {
        c[i] = 1.0;
        c[last] = -1.0;
        struct pressure_drop_estimate r = pressure_drop_contrast(p, c, p->confidence);
        c[i] = c[last] = 0.0;
        bool above = r.value > (isnan(r.half) ? 0.0 : r.half);
        if (above && p->stages[i].mean > p->stages[p->deciding].mean)
            p->deciding = i;
    }
}

void pressure_drop_estimate_all(struct pressure_drop *p)
{
    double *c = ARENA_ARRAY(p->a, double, p->n_stages);
    p->any_out_of_order = p->told_apart = false;
    for (size_t i = 0; i < p->n_stages; i++) {
        set_mean(p, c, i);
        set_drop(p, c, i);
    }
    find_deciding(p, c);
    find_largest(p, c);
    const struct pressure_drop_stage *s = &p->stages[p->deciding];
    p->use = s->mean / p->available;
    p->use_low = s->low / p->available;
    p->use_high = s->high / p->available;
}
