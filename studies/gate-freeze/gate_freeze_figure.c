/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Part weight against hold time: shots, fit with band, tolerance, interval, bound. */
#include <math.h>

#include "gate_freeze.h"

#define CURVE_POINTS 161
#define CLOSE_TOLERANCES 4.0 /* half height of the close view */

/* What is drawn: everything, or the neighbourhood of the plateau. */
struct view {
    double low, high; /* of y; infinite: all */
};

static bool seen(const struct view *v, double y)
{
    return y >= v->low && y <= v->high;
}

static struct series shots_in(struct gate_freeze *g, const struct view *v, const double *x,
                              const double *y, size_t n, enum series_role role, const char *label)
{
    double *xs = ARENA_ARRAY(g->a, double, n), *ys = ARENA_ARRAY(g->a, double, n);
    size_t kept = 0;
    for (size_t i = 0; i < n; i++)
        if (seen(v, y[i])) {
            xs[kept] = x[i];
            ys[kept++] = y[i];
        }
    return (struct series){.label = label, .role = role, .n = kept, .x = xs, .y = ys};
}

static void add_shots(struct gate_freeze *g, const struct view *v, struct figure *fig)
{
    struct gate_freeze_data all;
    gate_freeze_collect(g, TAKE_DRAWN, &all);
    double *x = ARENA_ARRAY(g->a, double, all.n), *y = ARENA_ARRAY(g->a, double, all.n);
    size_t n = 0;
    for (size_t i = 0; i < all.n; i++)
        if (g->table->rows[all.row[i]].excluded) {
            x[n] = all.x[i];
            y[n++] = all.y[i];
        }
    fig->series = ARENA_ARRAY(g->a, struct series, 3);
    fig->series[fig->n_series++] =
        shots_in(g, v, g->data.x, g->data.y, g->data.n, SERIES_SHOTS, "shots");
    struct series out = shots_in(g, v, x, y, n, SERIES_EXCLUDED, "left out");
    if (out.n > 0)
        fig->series[fig->n_series++] = out;
}

/* The part of the tested range in which the curve is in view: from where it enters it on. */
static double *curve_x(const struct gate_freeze *g, const struct view *v,
                       const struct family_fit *f)
{
    const struct math_blocks *b = &g->blocks;
    double *x = ARENA_ARRAY(g->a, double, CURVE_POINTS), low = b->group_x[0];
    double high = b->group_x[b->n_groups - 1], first = low;
    for (size_t i = 0; i < 10 * CURVE_POINTS; i++) {
        first = low + (high - low) * (double)i / (10 * CURVE_POINTS);
        if (seen(v, family_value(f, first, low)))
            break;
    }
    for (size_t i = 0; i < CURVE_POINTS; i++)
        x[i] = first + (high - first) * (double)i / (CURVE_POINTS - 1);
    return x;
}

static double *curve_y(const struct gate_freeze *g, const struct family_fit *f, const double *x)
{
    double *y = ARENA_ARRAY(g->a, double, CURVE_POINTS);
    for (size_t i = 0; i < CURVE_POINTS; i++)
        y[i] = family_value(f, x[i], g->blocks.group_x[0]);
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
        double half = k * family_value_se(f, x[i], g->blocks.group_x[0]);
        low[i] = y[i] - half;
        high[i] = y[i] + half;
    }
    fig->bands = ARENA_ARRAY(g->a, struct band, 1);
    fig->bands[fig->n_bands++] = (struct band){"interval of the curve", CURVE_POINTS, x, low, high};
}

static void add_curves(struct gate_freeze *g, const struct view *v, bool candidates,
                       struct figure *fig)
{
    fig->curves = ARENA_ARRAY(g->a, struct curve, FAMILY_N);
    for (int id = 0; id < FAMILY_N; id++) {
        const struct family_fit *f = &g->r.family[id];
        bool best = id == g->r.best;
        if (!f->tried || !(best || (candidates && f->plateau && f->in_play)))
            continue;
        const double *x = curve_x(g, v, f);
        const double *y = curve_y(g, f, x);
        if (best && candidates)
            add_band(g, f, x, y, fig);
        fig->curves[fig->n_curves++] =
            (struct curve){f->name, best ? CURVE_FIT : CURVE_CANDIDATE, CURVE_POINTS, x, y};
    }
}

static void add_level(struct gate_freeze *g, struct figure *fig)
{
    const struct plateau_answer *r = &g->r;
    if (!isfinite(r->level))
        return;
    fig->rules[fig->n_rules++] =
        (struct rule){arena_printf(g->a, "plateau %s", gate_freeze_mass(g, r->level, r->tolerance)),
                      RULE_ESTIMATE, false, r->level};
    fig->rules[fig->n_rules++] = (struct rule){
        arena_printf(g->a, "plateau - %s", gate_freeze_mass(g, r->tolerance, r->tolerance / 10.0)),
        RULE_TOLERANCE, false, r->level - r->tolerance};
}

/* The bound is that of the answer that decides: of one cavity where that freezes last. */
static void add_bound(struct gate_freeze *g, struct figure *fig)
{
    bool cavity = g->last_cavity > 0;
    const struct plateau_answer *r = cavity ? &g->last : &g->r;
    if (!isfinite(r->bound) || g->cavity_unknown)
        return;
    const char *whose = cavity ? arena_printf(g->a, " (cavity %d)", g->last_cavity) : "";
    fig->rules[fig->n_rules++] = (struct rule){
        arena_printf(g->a, "hold at least %s%s", gate_freeze_time(g, r->bound, PL_NAN), whose),
        RULE_BOUND, true, r->bound};
    if (r->high > r->low)
        fig->regions[fig->n_regions++] =
            (struct region){arena_printf(g->a, "interval of the freeze time%s", whose),
                            REGION_INTERVAL,
                            r->low,
                            r->high,
                            -PL_INF,
                            PL_INF};
}

/* Means of the cavity that decides: the mean of the others does not show why. */
static void add_cavity(struct gate_freeze *g, const struct view *v, struct figure *fig)
{
    const struct math_blocks *b = &g->last_blocks;
    if (g->last_cavity == 0)
        return;
    struct series s = shots_in(g, v, b->group_x, b->group_mean, b->n_groups, SERIES_MEANS,
                               arena_printf(g->a, "cavity %d, means", g->last_cavity));
    if (s.n > 0)
        fig->series[fig->n_series++] = s;
}

static struct figure *start_figure(struct gate_freeze *g, const char *name, const char *title)
{
    struct figure *fig = finding_figure(g->f, name);
    fig->title = title;
    fig->x.title = "Hold time";
    fig->x.setting = "hold_time";
    fig->x.dimension = DIM_TIME;
    fig->y.title = g->data.cavities > 1 ? "Part weight, mean of the cavities" : "Part weight";
    fig->y.dimension = DIM_MASS;
    fig->rules = ARENA_ARRAY(g->a, struct rule, 4);
    fig->regions = ARENA_ARRAY(g->a, struct region, 1);
    return fig;
}

/* The whole study, and beside it the plateau drawn so large that the tolerance can be seen. */
void gate_freeze_figure(struct gate_freeze *g)
{
    const struct plateau_answer *r = &g->r;
    struct view all = {-PL_INF, PL_INF};
    struct figure *fig = start_figure(
        g, "gate-freeze-weight",
        isfinite(r->bound) && g->last_cavity == 0 && study_plateau_verdict(r) == VERDICT_MET
            ? arena_printf(g->a, "Part weight is on its plateau from %s on",
                           gate_freeze_time(g, r->bound, PL_NAN))
            : "Part weight against hold time");
    fig->description =
        arena_printf(g->a, "Part weight of %zu shots at %zu hold times, with the best curve. %s",
                     g->data.n, g->blocks.n_groups, g->f->decision);
    add_shots(g, &all, fig);
    add_cavity(g, &all, fig);
    add_curves(g, &all, false, fig);
    add_bound(g, fig);
    double band = CLOSE_TOLERANCES * r->tolerance;
    const struct math_blocks *b = &g->blocks;
    bool hidden = false; /* is there anything that the first figure does not resolve? */
    for (size_t i = 0; i < b->n_groups; i++)
        hidden |= fabs(b->group_mean[i] - r->level) > band;
    if (!isfinite(r->level) || !hidden) {
        add_level(g, fig);
        return;
    }
    struct view close = {r->level - band, r->level + band};
    struct figure *near = start_figure(g, "gate-freeze-plateau", "The plateau and its tolerance");
    near->description = arena_printf(g->a,
                                     "The same shots within %s of the plateau, with every curve in "
                                     "play, the interval of the best "
                                     "one, the plateau and the tolerance below it.",
                                     gate_freeze_mass(g, band, band / 10.0));
    near->beside = "gate-freeze-weight";
    near->x.low = b->group_x[0];
    near->x.high = b->group_x[b->n_groups - 1];
    near->y.low = close.low;
    near->y.high = close.high;
    add_shots(g, &close, near);
    add_cavity(g, &close, near);
    add_curves(g, &close, true, near);
    add_level(g, near);
    add_bound(g, near);
}
