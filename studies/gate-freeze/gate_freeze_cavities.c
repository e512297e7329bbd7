/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One common freeze time, or cavities that stand alone. */
#include <math.h>

#include "gate_freeze.h"

#define FAR_IN_STEPS 5.0 /* a cavity further off than this many time steps stands alone */

static enum errc cavity_alone(struct gate_freeze *g, size_t c, struct plateau_answer *out,
                              struct error *e)
{
    struct math_blocks b;
    struct plateau_options o = g->options;
    o.step *= sqrt((double)g->data.cavities);
    math_blocks_make(g->a, g->data.x, g->data.cavity[c], g->data.n, &b);
    return plateau_find(g->a, &b, &o, out, e);
}

/* The shot means again, over the cavities that do not stand alone. */
static enum errc fit_rest(struct gate_freeze *g, const bool *alone, size_t n_rest, struct error *e)
{
    for (size_t j = 0; j < g->data.n; j++) {
        double sum = 0.0;
        for (size_t c = 0; c < g->data.cavities; c++)
            sum += alone[c] ? 0.0 : g->data.cavity[c][j];
        g->data.y[j] = sum / (double)n_rest;
    }
    g->options.step *= sqrt((double)g->data.cavities / (double)n_rest);
    math_blocks_make(g->a, g->data.x, g->data.y, g->data.n, &g->blocks);
    return plateau_find(g->a, &g->blocks, &g->options, &g->r, e);
}

static void cavity_bound(struct gate_freeze *g, int number, const struct plateau_answer *own)
{
    struct bound *b = finding_bound(g->f, "hold_time", BOUND_LOWER, DIM_TIME);
    b->value = own->bound;
    b->low = own->low;
    b->high = own->high;
    b->grade = BOUND_LIMIT;
    b->model = own->best >= 0 ? own->family[own->best].name : "neighbour bracket";
    b->criterion = "freeze_tolerance";
    b->verdict = own->verdict > 0 ? VERDICT_MET : VERDICT_NOT_SHOWN;
    b->rows = g->data.n;
    b->because = arena_printf(g->a, "cavity %d freezes at a time of its own: %s", number,
                              gate_freeze_time_span(g, own->low, own->high));
}

/* A cavity of its own: its interval, its bound; a stop when it does not freeze. */
static enum errc stand_alone(struct gate_freeze *g, size_t c, const char *how, struct data_table *t,
                             struct error *e)
{
    struct plateau_answer own;
    int number = g->data.cavity_number[c];
    TRY(cavity_alone(g, c, &own, e));
    t->values[c * t->n_columns + 2] = own.low;
    t->values[c * t->n_columns + 3] = own.high;
    if (own.state == PLATEAU_NOT_REACHED) {
        finding_flag(g->f, "gate-not-frozen", gate_freeze_grade("gate-not-frozen"), NULL, 0,
                     "cavity %d still gains weight at the longest hold time tested, %s", number,
                     gate_freeze_time(g, g->blocks.group_x[g->blocks.n_groups - 1], PL_NAN));
    } else if (isfinite(own.bound)) {
        finding_flag(g->f, "cavities-differ", gate_freeze_grade("cavities-differ"), NULL, 0,
                     "cavity %d %s: its own interval is %s", number, how,
                     gate_freeze_time_span(g, own.low, own.high));
        cavity_bound(g, number, &own);
    } else {
        finding_flag(g->f, "cavities-differ", gate_freeze_grade("cavities-differ"), NULL, 0,
                     "cavity %d %s and its own data do not bound its freeze time", number, how);
        g->r.bound = PL_NAN; /* the worst cavity is not known: no bound at all */
        g->r.verdict = 0;
    }
    return ERR_NONE;
}

static struct data_table *cavity_table(struct gate_freeze *g)
{
    size_t k = g->data.cavities;
    struct data_table *t = finding_table(g->f, "cavities", "Freeze time by cavity", 5, k);
    const struct data_column columns[5] = {{"cavity", DIM_COUNT, NULL, false, 0},
                                           {"own freeze time", DIM_TIME, NULL, false, 3},
                                           {"low", DIM_TIME, NULL, false, 3},
                                           {"high", DIM_TIME, NULL, false, 3},
                                           {"p of its difference", DIM_COUNT, NULL, false, 2}};
    for (size_t i = 0; i < 5; i++)
        t->columns[i] = columns[i];
    for (size_t c = 0; c < k; c++)
        t->values[c * 5] = g->data.cavity_number[c];
    return t;
}

static enum errc compare_curves(struct gate_freeze *g, struct error *e)
{
    size_t k = g->data.cavities, n_alone = 0;
    struct cavity_compare cmp;
    struct plateau_options o = g->options;
    plateau_cavities_compare(g->a, &g->blocks, (const double *const *)g->data.cavity, k, &g->r, &o,
                             FAR_IN_STEPS * g->time_step, &cmp);
    struct data_table *t = cavity_table(g);
    for (size_t c = 0; c < k; c++) {
        t->values[c * 5 + 1] = cmp.answer[c];
        t->values[c * 5 + 4] = isnan(cmp.p) ? PL_NAN : cmp.p_each[c];
        n_alone += cmp.differs[c];
    }
    struct quantity *q = finding_quantity(g->f, "cavity_equality_p",
                                          "chance of such differences between cavities", DIM_COUNT);
    q->value = cmp.p;
    q->method = "F test of one common freeze time, on weight minus the shot's mean over cavities";
    if (isnan(cmp.p))
        q->reason = "too few hold times to compare cavities";
    if (n_alone == 0)
        return ERR_NONE;
    if (n_alone < k)
        TRY(fit_rest(g, cmp.differs, k - n_alone, e));
    for (size_t c = 0; c < k; c++)
        if (cmp.differs[c])
            TRY(stand_alone(g, c, "does not share the common freeze time", t, e));
    return ERR_NONE;
}

/* Without curves: a cavity whose bracket ends later than the common one stands alone. */
static enum errc compare_brackets(struct gate_freeze *g, struct error *e)
{
    struct data_table *t = cavity_table(g);
    double common = g->r.bound;
    for (size_t c = 0; c < g->data.cavities; c++) {
        struct plateau_answer own;
        TRY(cavity_alone(g, c, &own, e));
        t->values[c * 5 + 2] = own.low;
        t->values[c * 5 + 3] = own.high;
        bool later = isfinite(own.bound) ? own.bound > common + FAR_IN_STEPS * g->time_step
                                         : own.state == PLATEAU_NOT_REACHED;
        if (later)
            TRY(stand_alone(g, c, "reaches its plateau later than the mean of the cavities", t, e));
    }
    return ERR_NONE;
}

enum errc gate_freeze_cavities(struct gate_freeze *g, struct error *e)
{
    if (g->data.cavities < 2)
        return ERR_NONE;
    if (g->r.state == PLATEAU_FOUND && g->r.best >= 0)
        return compare_curves(g, e);
    if (g->r.state == PLATEAU_BRACKET_ONLY || g->r.state == PLATEAU_BEFORE_FIRST)
        return compare_brackets(g, e);
    return ERR_NONE;
}
