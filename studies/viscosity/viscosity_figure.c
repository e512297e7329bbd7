/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * In-mold relative viscosity over 1 / fill time, once on plain and once on logarithmic axes: what
 * looks like a knee on the first is often a straight line on the second. */
#include <math.h>

#include "viscosity.h"

#define CURVE_POINTS 81

struct points {
    double *x, *y;
    size_t n;
};

static struct points points_new(const struct viscosity *v, size_t most)
{
    return (struct points){ARENA_ARRAY(v->a, double, most), ARENA_ARRAY(v->a, double, most), 0};
}

static void points_add(struct points *s, double t, double p)
{
    s->x[s->n] = 1.0 / t;
    s->y[s->n++] = p * t;
}

static void add_series(struct figure *fig, const char *label, enum series_role role,
                       const struct points *s)
{
    if (s->n > 0)
        fig->series[fig->n_series++] =
            (struct series){.label = label, .role = role, .n = s->n, .x = s->x, .y = s->y};
}

static void add_shots(struct viscosity *v, struct figure *fig)
{
    struct viscosity_data all;
    viscosity_collect(v, TAKE_DRAWN, &all);
    struct points out = points_new(v, all.n), used = points_new(v, v->data.n);
    struct points held = points_new(v, v->data.n);
    for (size_t i = 0; i < all.n; i++)
        if (v->table->rows[all.row[i]].excluded)
            points_add(&out, all.t[i], all.p[i]);
    for (size_t k = 0; k < v->data.n_blocks; k++) {
        const struct viscosity_block *b = &v->data.block[k];
        for (size_t i = b->first; i < b->first + b->n; i++)
            points_add(b->doubt.what == VISC_FREE ? &used : &held, v->data.t[i], v->data.p[i]);
    }
    fig->series = ARENA_ARRAY(v->a, struct series, 3);
    add_series(fig, "shots", SERIES_SHOTS, &used);
    add_series(fig, "held by pressure limit or speed not reached", SERIES_LIMITED, &held);
    add_series(fig, "left out", SERIES_EXCLUDED, &out);
}

#define VISIBLE                                                                                    \
    0.01 /* a candidate closer to the best curve than this is the same line on paper               \
          */

static void add_models(struct viscosity *v, struct figure *fig, const double *x)
{
    const struct visc_answer *r = &v->r;
    fig->curves = ARENA_ARRAY(v->a, struct curve, VISC_MODELS);
    for (int id = 0; id < VISC_MODELS; id++) {
        if (!r->model[id].in_play && id != r->best)
            continue;
        double *y = ARENA_ARRAY(v->a, double, CURVE_POINTS), apart = 0.0;
        for (size_t i = 0; i < CURVE_POINTS; i++) {
            double p = visc_pressure(r, (enum visc_model_id)id, 1.0 / x[i]);
            double best = visc_pressure(r, (enum visc_model_id)r->best, 1.0 / x[i]);
            apart = fmax(apart, fabs(p / best - 1.0));
            y[i] = p / x[i];
        }
        if (id == r->best || apart > VISIBLE)
            fig->curves[fig->n_curves++] = (struct curve){
                r->model[id].name, id == r->best ? CURVE_FIT : CURVE_CANDIDATE, CURVE_POINTS, x, y};
    }
}

static void add_curves(struct viscosity *v, struct figure *fig)
{
    const struct visc_answer *r = &v->r;
    double *x = ARENA_ARRAY(v->a, double, CURVE_POINTS);
    double *low = ARENA_ARRAY(v->a, double, CURVE_POINTS);
    double *high = ARENA_ARRAY(v->a, double, CURVE_POINTS);
    for (size_t i = 0; i < CURVE_POINTS; i++) {
        double t = r->slowest * pow(r->fastest / r->slowest, (double)i / (CURVE_POINTS - 1));
        struct visc_value p = visc_pressure_at(r, t);
        x[i] = 1.0 / t;
        low[i] = p.low * t;
        high[i] = p.high * t;
    }
    fig->bands = ARENA_ARRAY(v->a, struct band, 1);
    fig->bands[fig->n_bands++] = (struct band){"interval of the curve", CURVE_POINTS, x, low, high};
    add_models(v, fig, x);
}

/* The strictest bound of either side. */
static void add_rules(struct viscosity *v, struct figure *fig)
{
    fig->rules = ARENA_ARRAY(v->a, struct rule, 2);
    const struct bound *strictest[2] = {NULL, NULL};
    for (size_t i = 0; i < v->f->n_bounds; i++) {
        const struct bound *b = &v->f->bounds[i], **s = &strictest[b->side == BOUND_UPPER];
        if (b->dimension != DIM_TIME)
            continue;
        if (*s == NULL ||
            (b->side == BOUND_UPPER ? b->value < (*s)->value : b->value > (*s)->value))
            *s = b;
    }
    for (size_t i = 0; i < 2; i++)
        if (strictest[i] != NULL)
            fig->rules[fig->n_rules++] =
                (struct rule){arena_printf(v->a, "fill in at %s %s", i == 1 ? "most" : "least",
                                           viscosity_time(v, strictest[i]->value, PL_NAN)),
                              RULE_BOUND, true, 1.0 / strictest[i]->value};
    const struct visc_value *k = &v->r.sensitivity;
    if (v->solved && !v->is_short && isfinite(k->low) && isfinite(k->high) && k->low > 0.0) {
        fig->regions = ARENA_ARRAY(v->a, struct region, 1);
        fig->regions[fig->n_regions++] = (struct region){"interval of the slowest fill",
                                                         REGION_INTERVAL,
                                                         1.0 / k->high,
                                                         1.0 / k->low,
                                                         -PL_INF,
                                                         PL_INF};
    }
}

static void figure(struct viscosity *v, const char *name, enum axis_scale scale, const char *title,
                   const char *beside)
{
    struct figure *fig = finding_figure(v->f, name);
    fig->title = title;
    fig->beside = beside;
    fig->description = arena_printf(
        v->a,
        "In-mold relative viscosity, pressure at transfer times fill time, of %zu shots "
        "over 1 / fill time, %s axes, with the fitted curve and its interval. %s",
        v->data.n, scale == AXIS_LOG ? "logarithmic" : "plain", v->f->decision);
    fig->x.title = "1 / fill time";
    fig->x.dimension = DIM_RATE;
    fig->x.scale = scale;
    fig->y.title = "Pressure x fill time";
    fig->y.dimension = DIM_VISCOSITY;
    fig->y.scale = scale;
    add_shots(v, fig);
    if (v->solved)
        add_curves(v, fig);
    add_rules(v, fig);
}

void viscosity_figures(struct viscosity *v)
{
    const char *shape = "In-mold relative viscosity over 1 / fill time, logarithmic axes";
    if (v->solved && v->r.power_in_play)
        shape = arena_printf(v->a, "On logarithmic axes: a power law, n = %s",
                             number_text(v->a, v->r.line.slope, 3));
    else if (v->solved)
        shape = "On logarithmic axes: bent, not a plain power law";
    figure(v, "viscosity-plain", AXIS_LINEAR,
           "In-mold relative viscosity over 1 / fill time, plain axes", "viscosity-logarithmic");
    figure(v, "viscosity-logarithmic", AXIS_LOG, shape, "viscosity-plain");
}
