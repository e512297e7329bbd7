/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Conditions, tables and the figure. */
#include <math.h>

#include "cavity_balance.h"

static const char *level_name(const struct cavity_balance *b, const struct cavity_balance_level *l)
{
    return isnan(l->fill) ? "all shots"
                          : arena_printf(b->a, "fill %s", cavity_balance_share(b, l->fill, PL_NAN));
}

static double sd_of(const double *y, size_t n)
{
    double mean = 0.0, ss = 0.0;
    for (size_t i = 0; i < n; i++)
        mean += (y[i] - y[0]) / (double)n;
    for (size_t i = 0; i < n; i++)
        ss += (y[i] - y[0] - mean) * (y[i] - y[0] - mean);
    return n > 1 ? sqrt(ss / (double)(n - 1)) : PL_NAN;
}

void cavity_balance_conditions(struct cavity_balance *b)
{
    for (size_t i = 0; i < b->data.n_levels; i++) {
        const struct cavity_balance_level *l = &b->data.level[i];
        for (size_t k = 0; k < b->data.cavities; k++) {
            struct condition *c = finding_condition(b->f);
            c->series = level_name(b, l);
            c->setting = b->data.number[k];
            c->block = (int)i + 1;
            c->n = l->n;
            c->mean = l->t.row_mean[k];
            c->sd = sd_of(l->y[k], l->n);
            c->fitted = c->fitted_low = c->fitted_high = PL_NAN; /* means, no curve */
            c->file = cavity_balance_file(b, l->row[0]);
            c->first_line = b->table->rows[l->row[0]].line;
        }
    }
}

/* ---- tables -----------------------------------------------------------------------------------
 */

static void cavity_table(struct cavity_balance *b)
{
    static const struct data_column columns[6] = {
        {"cavity", DIM_COUNT, NULL, false, 0, 0},
        {"mean weight", DIM_MASS, NULL, false, 6, 0},
        {"from the mean of all", DIM_RATIO, NULL, false, 2, 0},
        {"low", DIM_RATIO, NULL, false, 2, -1},
        {"high", DIM_RATIO, NULL, false, 2, +1},
        {"against the mean of all", DIM_TEXT, NULL, true, 0, 0}};
    const struct cavity_balance_level *l = b->at;
    struct data_table *t = finding_table(
        b->f, "cavities",
        arena_printf(b->a, "Cavities, %s, with simultaneous intervals", level_name(b, l)), 6,
        b->data.cavities);
    for (size_t i = 0; i < 6; i++)
        t->columns[i] = columns[i];
    for (size_t k = 0; k < b->data.cavities; k++) {
        double *v = &t->values[6 * k], overall = l->t.overall;
        double off = l->t.row_mean[k] - overall;
        v[0] = b->data.number[k];
        v[1] = l->t.row_mean[k];
        v[2] = off / overall;
        v[3] = (off - l->m.half_width) / overall;
        v[4] = (off + l->m.half_width) / overall;
        t->texts[6 * k + 5] = isnan(l->m.half_width) ? "not known"
                              : l->m.side[k] > 0     ? "heavy"
                              : l->m.side[k] < 0     ? "light"
                                                     : "no difference shown";
    }
}

static void level_table(struct cavity_balance *b)
{
    static const struct data_column columns[8] = {{"fill", DIM_RATIO, NULL, false, 0, 0},
                                                  {"shots", DIM_COUNT, NULL, false, 0, 0},
                                                  {"heaviest cavity", DIM_COUNT, NULL, false, 0, 0},
                                                  {"lightest cavity", DIM_COUNT, NULL, false, 0, 0},
                                                  {"imbalance", DIM_RATIO, NULL, false, 3, 0},
                                                  {"low", DIM_RATIO, NULL, false, 3, -1},
                                                  {"high", DIM_RATIO, NULL, false, 3, +1},
                                                  {"remark", DIM_TEXT, NULL, true, 0, 0}};
    if (b->data.n_levels < 2)
        return;
    struct data_table *t =
        finding_table(b->f, "fill-levels", "Imbalance by fill", 8, b->data.n_levels);
    for (size_t i = 0; i < 8; i++)
        t->columns[i] = columns[i];
    for (size_t i = 0; i < b->data.n_levels; i++) {
        const struct cavity_balance_level *l = &b->data.level[i];
        double *v = &t->values[8 * i];
        v[0] = l->fill;
        v[1] = (double)l->n;
        v[2] = b->data.number[l->i.heaviest];
        v[3] = b->data.number[l->i.lightest];
        v[4] = l->i.value;
        v[5] = l->i.low;
        v[6] = l->i.high;
        t->texts[8 * i + 7] = l == b->at  ? (l->packed ? "decides; full parts" : "decides")
                              : l->packed ? "full parts"
                                          : "";
    }
}

static void path_table(struct cavity_balance *b)
{
    static const struct data_column columns[3] = {
        {"cavities", DIM_TEXT, NULL, true, 0, 0},
        {"mean weight", DIM_MASS, NULL, false, 6, 0},
        {"from the mean of all", DIM_RATIO, NULL, false, 2, 0}};
    const struct cavity_balance_paths *p = &b->paths;
    if (p->n == 0)
        return;
    struct data_table *t = finding_table(b->f, "equal-paths", "Sets of equal paths", 3, p->n);
    for (size_t i = 0; i < 3; i++)
        t->columns[i] = columns[i];
    for (size_t s = 0; s < p->n; s++) {
        double off = 0.0, n = 0.0;
        for (size_t c = 0; c < b->data.cavities; c++)
            if (p->set[c] == s) {
                off += b->at->t.row_mean[c] - b->at->t.overall;
                n += 1.0;
            }
        t->texts[3 * s] = p->set_text[s];
        t->values[3 * s + 1] = b->at->t.overall + off / n;
        t->values[3 * s + 2] = off / n / b->at->t.overall;
    }
}

void cavity_balance_tables(struct cavity_balance *b)
{
    cavity_table(b);
    level_table(b);
    path_table(b);
}

/* ---- figure -----------------------------------------------------------------------------------
 */

/* Shots of the level, without what all cavities of a shot have in common. */
static struct series shots_of(const struct cavity_balance *b, const struct cavity_balance_level *l,
                              bool left_out)
{
    size_t k = b->data.cavities, n = 0;
    double *x = ARENA_ARRAY(b->a, double, k * l->n), *y = ARENA_ARRAY(b->a, double, k * l->n);
    for (size_t j = 0; j < l->n; j++)
        for (size_t c = 0; c < k; c++) {
            if (b->table->rows[l->row[j]].excluded != left_out)
                continue;
            x[n] = b->data.number[c];
            y[n++] = l->y[c][j] - l->t.column_mean[j] + b->at->t.overall;
        }
    return (struct series){.label =
                               left_out ? "left out" : "shots, what a shot has in common taken out",
                           .role = left_out ? SERIES_EXCLUDED : SERIES_SHOTS,
                           .n = n,
                           .x = x,
                           .y = y};
}

static struct series means_of(const struct cavity_balance *b)
{
    size_t k = b->data.cavities;
    double *x = ARENA_ARRAY(b->a, double, k), *y = ARENA_ARRAY(b->a, double, k);
    double *low = ARENA_ARRAY(b->a, double, k), *high = ARENA_ARRAY(b->a, double, k);
    for (size_t c = 0; c < k; c++) {
        x[c] = b->data.number[c];
        y[c] = b->at->t.row_mean[c];
        low[c] = y[c] - b->at->m.half_width;
        high[c] = y[c] + b->at->m.half_width;
    }
    bool bars = !isnan(b->at->m.half_width);
    return (struct series){.label = bars ? "cavity means, simultaneous intervals" : "cavity means",
                           .role = SERIES_MEANS,
                           .n = k,
                           .x = x,
                           .y = y,
                           .low = bars ? low : NULL,
                           .high = bars ? high : NULL};
}

/* The same level with the shots that the user left out. */
static void add_left_out(struct cavity_balance *b, struct figure *fig)
{
    struct cavity_balance_data all;
    cavity_balance_collect(b, TAKE_DRAWN, &all);
    if (all.n == b->data.n || all.cavities != b->data.cavities)
        return;
    for (size_t i = 0; i < all.n_levels; i++) {
        const struct cavity_balance_level *l = &all.level[i];
        bool same = isnan(l->fill) || fabs(l->fill - b->at->fill) <= 0.01;
        struct series s = shots_of(b, l, true);
        if (same && s.n > 0) {
            fig->series[fig->n_series++] = s;
            return;
        }
    }
}

static const char *figure_title(const struct cavity_balance *b)
{
    const struct imbalance *i = &b->at->i;
    if (!(i->range > 0.0))
        return "Weight of the cavities";
    double half = isnan(i->high) ? PL_NAN : (i->high - i->low) / 2.0;
    return arena_printf(b->a, "Cavity %d weighs most, cavity %d least: %s apart",
                        b->data.number[i->heaviest], b->data.number[i->lightest],
                        cavity_balance_share(b, i->value, half));
}

void cavity_balance_figure(struct cavity_balance *b)
{
    const struct cavity_balance_level *l = b->at;
    struct figure *fig = finding_figure(b->f, "cavity-balance-means");
    fig->title = figure_title(b);
    fig->description = arena_printf(
        b->a,
        "Weights of %zu shots in %zu cavities, %s, each corrected by what its shot has "
        "in common, with the mean of every cavity. A cavity whose bar does not reach "
        "the mean of all differs from it. %s",
        l->n, b->data.cavities, level_name(b, l), b->f->decision);
    fig->x.title = "Cavity";
    fig->x.dimension = DIM_COUNT;
    fig->y.title = "Part weight";
    fig->y.dimension = DIM_MASS;
    fig->series = ARENA_ARRAY(b->a, struct series, 3);
    fig->series[fig->n_series++] = shots_of(b, l, false);
    fig->series[fig->n_series++] = means_of(b);
    add_left_out(b, fig);
    fig->rules = ARENA_ARRAY(b->a, struct rule, 2);
    fig->rules[fig->n_rules++] = (struct rule){
        arena_printf(b->a, "mean of all %s", cavity_balance_mass(b, l->t.overall, l->m.half_width)),
        RULE_ESTIMATE, false, l->t.overall};
    fig->rules[fig->n_rules++] = (struct rule){
        arena_printf(b->a, "%s below the fullest cavity", cavity_balance_share(b, b->max, PL_NAN)),
        RULE_LIMIT, false, l->i.largest * (1.0 - b->max)};
}
