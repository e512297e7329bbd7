/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Pressure at transfer against fill time: which curve, where its knees are, whether they are more
 * than the range that was tested. */
#include <math.h>

#include "math/visc_internal.h"
#include "plateau/math.h"

#define KNEE_MOVES 0.25

/* ---- the problem, centred
 * -------------------------------------------------------------------------- */

static void sorted_points(struct arena *a, const struct visc_unit *u, size_t m, struct visc_data *d)
{
    double *x = ARENA_ARRAY(a, double, m);
    size_t n = 0;
    for (size_t i = 0; i < m; i++) {
        double sum = 0.0, rows = 0.0;
        bool first = true;
        for (size_t j = 0; j < m; j++)
            if (u[j].group == u[i].group) {
                first = first && j >= i;
                sum -= (double)u[j].n * u[j].log_t;
                rows += (double)u[j].n;
            }
        if (!first)
            continue;
        double v = sum / rows - d->log_center;
        size_t at = n++;
        for (; at > 0 && v < x[at - 1]; at--)
            x[at] = x[at - 1];
        x[at] = v;
    }
    d->points = x;
    d->n_points = n;
    d->x_low = x[0];
    d->x_high = x[n - 1];
}

/* Half-width of a range end, relative: scatter of the fill times and the timer's step. */
static double end_half(const struct visc_unit *u, size_t m, const struct visc_options *o,
                       const struct visc_line *line, const struct visc_data *d, double x)
{
    double rows = 0.0;
    for (size_t i = 0; i < m; i++)
        if (fabs(-u[i].log_t - d->log_center - x) < 0.02) /* the units of that setting */
            rows += (double)u[i].n;
    double t = exp(-(x + d->log_center)), timer = o->time_step / t;
    /* without repeats fill times are taken to scatter as much as units do around the line */
    bool repeats = isfinite(line->s_t);
    double scatter = repeats ? line->s_t : isfinite(line->unit_sd) ? line->unit_sd : 0.0;
    double left = (double)line->n_units - 2.0;
    double dof = !(scatter > 0.0) ? 1e6 /* timer: known */
                 : repeats        ? (double)(line->n_rows - line->n_units)
                                  : fmax(1.0, left);
    double quantile = math_t_quantile(0.5 + 0.5 * o->confidence, dof);
    return quantile * sqrt(scatter * scatter / fmax(1.0, rows) + timer * timer / 12.0);
}

static void center(struct arena *a, const struct visc_unit *u, size_t m,
                   const struct visc_options *o, const struct visc_line *line, struct visc_data *d)
{
    double *x = ARENA_ARRAY(a, double, m), *y = ARENA_ARRAY(a, double, m);
    *d = (struct visc_data){.m = m,
                            .n_rows = line->n_rows,
                            .n_groups = line->n_groups,
                            .x = x,
                            .y = y,
                            .w = line->weight,
                            .log_center = line->log_center,
                            .y0 = line->height,
                            .ss_within = line->ss_within,
                            .floor_rows = line->floor_rows,
                            .floor_units = line->floor_units,
                            .confidence = o->confidence,
                            .disturbance = o->disturbance,
                            .tolerance = o->tolerance};
    for (size_t i = 0; i < m; i++) {
        x[i] = -u[i].log_t - line->log_center;
        y[i] = u[i].log_p - line->height;
    }
    sorted_points(a, u, m, d);
    d->low_half = end_half(u, m, o, line, d, d->x_low);
    d->high_half = end_half(u, m, o, line, d, d->x_high);
}

/* ---- choice
 * ------------------------------------------------------------------------------------------ */

static double aicc(const struct visc_data *d, const struct visc_fit *f)
{
    double n = (double)d->n_rows, k = (double)f->p + 1.0;
    if (n - k - 1.0 <= 0.0)
        return PL_NAN;
    double variance = fmax(f->rss_rows / n, fmax(d->floor_rows, 1e-30));
    return n * log(variance) + 2.0 * k + 2.0 * k * (k + 1.0) / (n - k - 1.0);
}

static void misfit(const struct visc_data *d, struct visc_fit *f)
{
    double slow = exp(visc_curve(f->id, f->theta, d->x_low) - d->x_low);
    double fast = exp(visc_curve(f->id, f->theta, d->x_high) - d->x_high);
    double allowed = d->tolerance * (slow - fast);
    f->misfit = allowed > 0.0 ? 0.0 : PL_NAN; /* no fall: no tolerance to measure in */
    for (size_t i = 0; i < d->m && allowed > 0.0; i++) {
        double curve = visc_curve(f->id, f->theta, d->x[i]);
        double r = expm1(d->y[i] - f->height - curve) * exp(curve - d->x[i]);
        f->misfit = fmax(f->misfit, fabs(r) / allowed);
    }
    double of_units = (double)d->m - (double)f->p, of_rows = (double)(d->n_rows - d->m);
    f->misfit_p = PL_NAN;
    if (of_units > 0.0 && of_rows > 0.0)
        f->misfit_p = math_f_tail(f->rss_units / of_units /
                                      fmax(d->ss_within / of_rows, fmax(d->floor_units, 1e-300)),
                                  of_units, of_rows);
}

/* Whether unit means, by their own scatter, need more than the power law. */
static double curvature_p(const struct visc_data *d, const struct visc_fit *power,
                          const struct visc_fit *curved)
{
    double dof = (double)d->m - (double)curved->p;
    if (!(dof > 0.0))
        return 1.0;
    double variance = fmax(curved->rss_units / dof, fmax(d->floor_units, 1e-300));
    return math_f_tail((power->rss_units - curved->rss_units) / variance, 1.0, dof);
}

static void choose(const struct visc_data *d, struct visc_answer *out)
{
    int curved = -1;
    out->best = VISC_POWER;
    for (int i = 0; i < VISC_MODELS; i++) {
        struct visc_fit *f = &out->model[i];
        if (!f->tried)
            continue;
        f->aicc = aicc(d, f);
        misfit(d, f);
        if (i != VISC_POWER && isfinite(f->aicc) &&
            (curved < 0 || f->aicc < out->model[curved].aicc - 1e-9))
            curved = i;
    }
    struct visc_fit *power = &out->model[VISC_POWER];
    out->power_in_play = power->in_play = true;
    out->power_gap = out->power_p = PL_NAN;
    if (curved < 0)
        return;
    out->power_gap = power->aicc - out->model[curved].aicc;
    out->power_p = curvature_p(d, power, &out->model[curved]);
    if (out->power_gap > 1e-9)
        out->best = curved;
    out->curved = out->power_gap > 1e-9 && out->power_p < 1.0 - d->confidence;
    out->power_in_play = power->in_play = !(out->curved && out->power_gap >= VISC_IN_PLAY);
    double least = out->model[out->best].aicc, sum = 0.0;
    for (int i = 0; i < VISC_MODELS; i++) {
        struct visc_fit *f = &out->model[i];
        if (i != VISC_POWER)
            f->in_play = f->tried && f->aicc < least + VISC_IN_PLAY;
        f->weight = f->tried && isfinite(f->aicc) ? exp(-0.5 * (f->aicc - least)) : PL_NAN;
        sum += f->tried && isfinite(f->aicc) ? f->weight : 0.0;
    }
    for (int i = 0; i < VISC_MODELS; i++)
        out->model[i].weight /= sum;
}

/* Under the law that the line was weighed by. */
static void fit_all(struct arena *a, const struct visc_unit *u, size_t m,
                    const struct visc_options *o, struct visc_data *d, struct visc_answer *out)
{
    center(a, u, m, o, &out->line, d);
    for (int i = 0; i < VISC_MODELS; i++)
        visc_fit_model(d, (enum visc_model_id)i, &out->model[i]);
    choose(d, out);
}

/* ---- does the knee follow the range?
 * -------------------------------------------------------------------
 */

/* Knee (a) of the best model without one setting; NAN when none is found. */
static double knee_without(struct arena *a, const struct visc_unit *u, size_t m, size_t group,
                           const struct visc_options *o, enum visc_law law)
{
    struct visc_unit *fewer = ARENA_ARRAY(a, struct visc_unit, m);
    size_t n = 0;
    for (size_t i = 0; i < m; i++)
        if (u[i].group != group)
            fewer[n++] = u[i];
    struct visc_answer r = {0};
    struct visc_data d;
    struct error e = {0};
    double x;
    if (visc_line_under(a, fewer, n, o, law, &r.line, &e) != ERR_NONE)
        return PL_NAN;
    fit_all(a, fewer, n, o, &d, &r);
    if (visc_sensitivity(&d, (enum visc_model_id)r.best, r.model[r.best].theta, &x) !=
        VISC_KNEE_FOUND)
        return PL_NAN;
    return exp(-(x + d.log_center));
}

static double group_time(const struct visc_unit *u, size_t m, size_t group)
{
    double sum = 0.0, rows = 0.0;
    for (size_t i = 0; i < m; i++)
        if (u[i].group == group) {
            sum += (double)u[i].n * u[i].log_t;
            rows += (double)u[i].n;
        }
    return sum / rows;
}

static bool moves(double knee, double other)
{
    return !(fabs(other / knee - 1.0) <= KNEE_MOVES); /* a knee that is gone has moved */
}

static void stability(struct arena *a, const struct visc_unit *u, size_t m,
                      const struct visc_options *o, struct visc_answer *out)
{
    out->without_slowest = out->without_fastest = PL_NAN;
    out->follows_range = out->power_in_play;
    if (out->line.n_groups < 4)
        return;
    size_t slow = u[0].group, fast = slow;
    for (size_t i = 1; i < m; i++) {
        if (group_time(u, m, u[i].group) > group_time(u, m, slow))
            slow = u[i].group;
        if (group_time(u, m, u[i].group) < group_time(u, m, fast))
            fast = u[i].group;
    }
    struct arena_mark mark = arena_mark(a);
    out->without_slowest = knee_without(a, u, m, slow, o, out->line.law);
    out->without_fastest = knee_without(a, u, m, fast, o, out->line.law);
    arena_reset(a, mark);
    if (out->state == VISC_KNEE_FOUND)
        out->follows_range = out->follows_range ||
                             moves(out->sensitivity.value, out->without_slowest) ||
                             moves(out->sensitivity.value, out->without_fastest);
}

/* Where the other law of scatter is kept: what the curves in play under it allow. */
static enum errc under_other_law(struct arena *a, const struct visc_unit *u, size_t m,
                                 const struct visc_options *o, const struct visc_answer *r,
                                 struct visc_regions *g, struct error *e)
{
    struct visc_answer *other = ARENA_NEW(a, struct visc_answer);
    TRY(visc_line_under(a, u, m, o, visc_other_law(r->line.law), &other->line, e));
    fit_all(a, u, m, o, &g->other, other);
    for (int i = 0; i < VISC_MODELS; i++)
        if (other->model[i].in_play)
            visc_region_make(a, &g->other, &other->model[i], &g->region[g->n++]);
    return ERR_NONE;
}

enum errc visc_solve(struct arena *a, const struct visc_unit *u, size_t m,
                     const struct visc_options *o, struct visc_answer *out, struct error *e)
{
    *out = (struct visc_answer){0};
    struct visc_regions *g = ARENA_NEW(a, struct visc_regions);
    TRY(visc_line_fit(a, u, m, o, &out->line, e));
    fit_all(a, u, m, o, &g->data, out);
    out->slowest = exp(-(g->data.x_low + g->data.log_center));
    out->fastest = exp(-(g->data.x_high + g->data.log_center));
    for (int i = 0; i < VISC_MODELS; i++) {
        if (!out->model[i].in_play)
            continue;
        if (i == out->best)
            g->best = (int)g->n;
        visc_region_make(a, &g->data, &out->model[i], &g->region[g->n++]);
    }
    if (out->line.either_law)
        TRY(under_other_law(a, u, m, o, out, g, e));
    out->regions = g;
    visc_knees(g, out);
    stability(a, u, m, o, out);
    return ERR_NONE;
}

/* ---- pressure
 * ------------------------------------------------------------------------------------------ */

double visc_pressure(const struct visc_answer *r, enum visc_model_id id, double t)
{
    const struct visc_regions *g = r->regions;
    const struct visc_fit *f = &r->model[id];
    return exp(g->data.y0 + f->height + visc_curve(id, f->theta, -log(t) - g->data.log_center));
}

static void widen_value(struct visc_value *v, double x)
{
    v->low = fmin(v->low, x);
    v->high = fmax(v->high, x);
}

struct visc_value visc_pressure_at(const struct visc_answer *r, double t)
{
    const struct visc_regions *g = r->regions;
    double best = visc_pressure(r, (enum visc_model_id)r->best, t);
    struct visc_value v = {best, best, best};
    for (size_t i = 0; i < g->n; i++)
        for (size_t k = 0; k < g->region[i].n; k++) {
            const struct visc_point *p = &g->region[i].point[k];
            const struct visc_data *d = g->region[i].data;
            double x = -log(t) - d->log_center;
            double y = d->y0 + p->height + visc_curve(g->region[i].id, p->theta, x);
            widen_value(&v, exp(y - p->height_half));
            widen_value(&v, exp(y + p->height_half));
        }
    return v;
}

struct level {
    enum visc_model_id id;
    const double *theta;
};

static double curve_at(double x, void *context)
{
    const struct level *l = context;
    return visc_curve(l->id, l->theta, x);
}

/* x where the curve reaches y; the curve rises everywhere when n > 0. */
static double x_at(enum visc_model_id id, const double *theta, double y)
{
    struct level l = {id, theta};
    if (id == VISC_POWER)
        return theta[0] > 0.0 ? y / theta[0] : (y > 0.0 ? PL_INF : -PL_INF);
    double low = -1.0, high = 1.0;
    while (curve_at(low, &l) > y && low > -1e4)
        low *= 2.0;
    while (curve_at(high, &l) < y && high < 1e4)
        high *= 2.0;
    return math_root(curve_at, &l, y, low, high);
}

struct visc_value visc_time_at_pressure(const struct visc_answer *r, double pressure)
{
    const struct visc_regions *g = r->regions;
    double y = log(pressure) - g->data.y0;
    const struct visc_fit *f = &r->model[r->best];
    double best = exp(-(x_at(f->id, f->theta, y - f->height) + g->data.log_center));
    struct visc_value v = {best, best, best};
    for (size_t i = 0; i < g->n; i++)
        for (size_t k = 0; k < g->region[i].n; k++) {
            const struct visc_point *p = &g->region[i].point[k];
            const struct visc_data *d = g->region[i].data;
            for (int side = -1; side <= 1; side += 2) {
                double to = log(pressure) - d->y0 - p->height - side * p->height_half;
                widen_value(&v, exp(-(x_at(g->region[i].id, p->theta, to) + d->log_center)));
            }
        }
    return v;
}
