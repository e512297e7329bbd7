/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Part weight against hold time: shots, fit with band, tolerance, interval, bound. */
#include <math.h>

#include "gate_freeze.h"

#define CURVE_POINTS 161

static void add_shots(struct gate_freeze *g, struct figure *fig)
{
    struct gate_freeze_data all;
    gate_freeze_collect(g, true, false, &all);
    double *x = ARENA_ARRAY(g->a, double, all.n), *y = ARENA_ARRAY(g->a, double, all.n);
    size_t n = 0;
    for (size_t i = 0; i < all.n; i++)
        if (g->table->rows[all.row[i]].excluded) {
            x[n] = all.x[i];
            y[n++] = all.y[i];
        }
    fig->series = ARENA_ARRAY(g->a, struct series, 2);
    fig->series[fig->n_series++] = (struct series){
        .label = "shots", .role = SERIES_SHOTS, .n = g->data.n, .x = g->data.x, .y = g->data.y};
    if (n > 0)
        fig->series[fig->n_series++] =
            (struct series){.label = "left out", .role = SERIES_EXCLUDED, .n = n, .x = x, .y = y};
}

static double *curve_x(const struct gate_freeze *g)
{
    const struct math_blocks *b = &g->blocks;
    double *x = ARENA_ARRAY(g->a, double, CURVE_POINTS), low = b->group_x[0];
    double range = b->group_x[b->n_groups - 1] - low;
    for (size_t i = 0; i < CURVE_POINTS; i++)
        x[i] = low + range * (double)i / (CURVE_POINTS - 1);
    return x;
}

static double *curve_y(const struct gate_freeze *g, const struct family_fit *f, const double *x)
{
    double *y = ARENA_ARRAY(g->a, double, CURVE_POINTS);
    for (size_t i = 0; i < CURVE_POINTS; i++)
        y[i] = family_value(f, x[i], g->blocks.group_x[0], 1);
    return y;
}

double gate_freeze_band_factor(const struct gate_freeze *g, const struct family_fit *f)
{
    double q = 0.5 + g->confidence / 2.0, p = (double)f->p;
    double rows = (double)g->blocks.n_rows - p, blocks = (double)g->blocks.n_blocks - p;
    double by_rows = math_t_quantile(q, rows);
    if (!(blocks > 0.0) || !(f->residual_sd > 0.0))
        return by_rows;
    double ratio = sqrt(f->rss_means / blocks) / f->residual_sd;
    return fmax(by_rows, ratio * math_t_quantile(q, blocks));
}

static void add_band(struct gate_freeze *g, const struct family_fit *f, const double *x,
                     const double *y, struct figure *fig)
{
    double *low = ARENA_ARRAY(g->a, double, CURVE_POINTS);
    double *high = ARENA_ARRAY(g->a, double, CURVE_POINTS);
    double k = gate_freeze_band_factor(g, f);
    for (size_t i = 0; i < CURVE_POINTS; i++) {
        double half = k * family_value_se(f, x[i], g->blocks.group_x[0], 1);
        low[i] = y[i] - half;
        high[i] = y[i] + half;
    }
    fig->bands = ARENA_ARRAY(g->a, struct band, 1);
    fig->bands[fig->n_bands++] = (struct band){"interval of the curve", CURVE_POINTS, x, low, high};
}

static void add_curves(struct gate_freeze *g, struct figure *fig)
{
    const double *x = curve_x(g);
    fig->curves = ARENA_ARRAY(g->a, struct curve, FAMILY_N);
    for (int id = 0; id < FAMILY_N; id++) {
        const struct family_fit *f = &g->r.family[id];
        bool best = id == g->r.best;
        if (!f->tried || !(best || (f->plateau && f->in_play)))
            continue;
        const double *y = curve_y(g, f, x);
        if (best)
            add_band(g, f, x, y, fig);
        fig->curves[fig->n_curves++] =
            (struct curve){f->name, best ? CURVE_FIT : CURVE_CANDIDATE, CURVE_POINTS, x, y};
    }
}

static void add_rules(struct gate_freeze *g, struct figure *fig)
{
    const struct plateau_answer *r = &g->r;
    fig->rules = ARENA_ARRAY(g->a, struct rule, 4);
    fig->regions = ARENA_ARRAY(g->a, struct region, 2);
    if (isfinite(r->level)) {
        fig->rules[fig->n_rules++] = (struct rule){
            arena_printf(g->a, "plateau %s", gate_freeze_mass(g, r->level, r->tolerance)),
            RULE_ESTIMATE, false, r->level};
        fig->rules[fig->n_rules++] =
            (struct rule){arena_printf(g->a, "plateau - %s",
                                       gate_freeze_mass(g, r->tolerance, r->tolerance / 10.0)),
                          RULE_TOLERANCE, false, r->level - r->tolerance};
    }
    if (!isfinite(r->bound))
        return;
    fig->rules[fig->n_rules++] =
        (struct rule){arena_printf(g->a, "hold at least %s", gate_freeze_time(g, r->bound, PL_NAN)),
                      RULE_BOUND, true, r->bound};
    if (r->high > r->low)
        fig->regions[fig->n_regions++] = (struct region){
            "interval of the freeze time", REGION_INTERVAL, r->low, r->high, -PL_INF, PL_INF};
}

void gate_freeze_figure(struct gate_freeze *g)
{
    struct figure *fig = finding_figure(g->f, "gate-freeze-weight");
    fig->title = isfinite(g->r.bound)
                     ? arena_printf(g->a, "Part weight is on its plateau from %s on",
                                    gate_freeze_time(g, g->r.bound, PL_NAN))
                     : "Part weight against hold time";
    fig->description = arena_printf(g->a,
                                    "Part weight of %zu shots at %zu hold times, with the best "
                                    "curve and its interval, the plateau "
                                    "and the tolerance below it. %s",
                                    g->data.n, g->blocks.n_groups, g->f->decision);
    fig->x.title = "Hold time";
    fig->x.setting = "hold_time";
    fig->x.dimension = DIM_TIME;
    fig->y.title = g->data.cavities > 1 ? "Part weight, mean of the cavities" : "Part weight";
    fig->y.dimension = DIM_MASS;
    add_shots(g, fig);
    add_curves(g, fig);
    add_rules(g, fig);
}
