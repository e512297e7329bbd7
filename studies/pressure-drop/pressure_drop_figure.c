/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Peak pressure against stage: shots, means with intervals, what is available. */
#include <math.h>

#include "pressure_drop.h"

struct points {
    size_t n;
    double *x, *y, *low, *high;
};

static struct points make_points(const struct pressure_drop *p, size_t n)
{
    return (struct points){0, ARENA_ARRAY(p->a, double, n), ARENA_ARRAY(p->a, double, n),
                           ARENA_ARRAY(p->a, double, n), ARENA_ARRAY(p->a, double, n)};
}

/* The number of a stage in the figure, 0 when it has no used shot. Names are compared by their
 * place: both come from the first row of the stage. */
static double number_of(const struct pressure_drop *p, const char *name)
{
    for (size_t i = 0; i < p->n_stages; i++)
        if (p->stages[i].name == name)
            return 1.0 + (double)i;
    return 0.0;
}

static void add_excluded(const struct pressure_drop *p, struct figure *fig)
{
    struct pressure_drop all = *p;
    struct pressure_drop_shots shots;
    pressure_drop_collect(&all, TAKE_DRAWN, &shots);
    struct points out = make_points(p, shots.n);
    for (size_t i = 0; i < shots.n; i++) {
        if (!p->table->rows[shots.row[i]].excluded)
            continue;
        double x = number_of(p, all.stages[(size_t)shots.x[i] - 1].name);
        if (!(x > 0.0))
            continue;
        out.x[out.n] = x;
        out.y[out.n++] = shots.y[i];
    }
    if (out.n > 0)
        fig->series[fig->n_series++] = (struct series){
            .label = "left out", .role = SERIES_EXCLUDED, .n = out.n, .x = out.x, .y = out.y};
}

static void add_means(const struct pressure_drop *p, struct figure *fig)
{
    struct points m = make_points(p, p->n_stages);
    const char **names = ARENA_ARRAY(p->a, const char *, p->n_stages);
    for (size_t i = 0; i < p->n_stages; i++) {
        m.x[i] = 1.0 + (double)i;
        m.y[i] = p->stages[i].mean;
        m.low[i] = p->stages[i].low;
        m.high[i] = p->stages[i].high;
        names[i] = p->stages[i].name;
    }
    fig->series[fig->n_series++] = (struct series){.label = "mean with interval",
                                                   .role = SERIES_MEANS,
                                                   .n = p->n_stages,
                                                   .x = m.x,
                                                   .y = m.y,
                                                   .low = m.low,
                                                   .high = m.high,
                                                   .point_label = names,
                                                   .group = 1};
}

static void add_rules(const struct pressure_drop *p, struct figure *fig)
{
    if (isnan(p->available))
        return;
    fig->rules = ARENA_ARRAY(p->a, struct rule, 3);
    fig->rules[fig->n_rules++] = (struct rule){
        arena_printf(p->a, "available %s", pressure_drop_pressure(p, p->available, PL_NAN)),
        RULE_LIMIT, false, p->available};
    for (size_t i = 0; i < p->f->n_criteria; i++) {
        double limit = p->f->criteria[i].limit;
        fig->rules[fig->n_rules++] =
            (struct rule){arena_printf(p->a, "%s of it, %s", pressure_drop_share(p, limit, PL_NAN),
                                       i == 0 ? "at most" : "aimed at"),
                          RULE_TOLERANCE, false, limit * p->available};
    }
}

void pressure_drop_figure(struct pressure_drop *p)
{
    struct figure *fig = finding_figure(p->f, "pressure-drop-stages");
    fig->title =
        isnan(p->use)
            ? "Peak pressure from stage to stage"
            : arena_printf(p->a, "Filling takes %s of the available pressure",
                           pressure_drop_share(p, p->use, (p->use_high - p->use_low) / 2.0));
    fig->description =
        arena_printf(p->a,
                     "Peak pressure of %zu shots at %zu stages in the order of flow, with means, "
                     "their intervals and the available pressure. %s",
                     p->shots.n, p->n_stages, p->f->decision);
    fig->x.title = "Stage, in the order of flow";
    fig->x.dimension = DIM_COUNT;
    fig->x.low = 0.5;
    fig->x.high = (double)p->n_stages + 0.5;
    fig->y.title = "Peak pressure";
    fig->y.dimension = DIM_PRESSURE;
    fig->y.low = 0.0;
    fig->series = ARENA_ARRAY(p->a, struct series, 3);
    add_means(p, fig);
    fig->series[fig->n_series++] = (struct series){
        .label = "shots", .role = SERIES_SHOTS, .n = p->shots.n, .x = p->shots.x, .y = p->shots.y};
    add_excluded(p, fig);
    add_rules(p, fig);
}
