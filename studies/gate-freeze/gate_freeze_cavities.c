/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One common freeze time, or cavities that stand alone. */
#include <math.h>

#include "gate_freeze.h"

#define FAR_IN_STEPS 5.0 /* a cavity further off than this many time steps stands alone */

struct plateau_options gate_freeze_options(const struct gate_freeze *g, bool one_cavity)
{
    struct plateau_options o = g->options;
    if (one_cavity) /* that of the mean is smaller */
        o.step = g->data.step * sqrt((double)g->data.cavities);
    return o;
}

static enum errc cavity_alone(struct gate_freeze *g, size_t c, struct math_blocks *b,
                              struct plateau_answer *out, struct error *e)
{
    struct plateau_options o = gate_freeze_options(g, true);
    math_blocks_make(g->a, g->data.x, g->data.cavity[c], g->data.n, b);
    return plateau_find(g->a, b, &o, out, e);
}

/* The cavities that still share one answer, and the fit of their mean. */
struct sharing {
    size_t n;
    size_t *cavity; /* index in the data */
    const double **y;
};

static void leave_out(struct sharing *s, size_t at)
{
    s->n--;
    for (size_t i = at; i < s->n; i++) {
        s->cavity[i] = s->cavity[i + 1];
        s->y[i] = s->y[i + 1];
    }
}

static enum errc fit_sharing(struct gate_freeze *g, const struct sharing *s, struct error *e)
{
    for (size_t j = 0; j < g->data.n; j++) {
        g->data.y[j] = 0.0;
        for (size_t i = 0; i < s->n; i++)
            g->data.y[j] += s->y[i][j] / (double)s->n;
    }
    g->options.step = g->data.step * sqrt((double)g->data.cavities / (double)s->n);
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
    b->verdict = study_plateau_verdict(own);
    b->rows = g->data.n;
    b->because = arena_printf(g->a, "cavity %d freezes at a time of its own: %s", number,
                              gate_freeze_time_span(g, own->low, own->high));
}

/* A cavity of its own: its interval, its bound; a stop when it does not freeze. */
static enum errc stand_alone(struct gate_freeze *g, size_t c, const char *how, struct data_table *t,
                             struct error *e)
{
    struct plateau_answer own;
    struct math_blocks b;
    int number = g->data.cavity_number[c];
    TRY(cavity_alone(g, c, &b, &own, e));
    gate_freeze_criterion(g, &b, &own, number);
    t->values[c * t->n_columns + 2] = own.low;
    t->values[c * t->n_columns + 3] = own.high;
    if (own.state == PLATEAU_NOT_REACHED) {
        GATE_FREEZE_RAISE(g, "gate-not-frozen", NULL, 0,
                          "cavity %d still gains weight at the longest hold time tested, %s",
                          number,
                          gate_freeze_time(g, g->blocks.group_x[g->blocks.n_groups - 1], PL_NAN));
    } else if (isfinite(own.bound)) {
        GATE_FREEZE_RAISE(g, "cavities-differ", NULL, 0, "cavity %d %s: its own interval is %s",
                          number, how, gate_freeze_time_span(g, own.low, own.high));
        cavity_bound(g, number, &own);
        if ((g->no_common || !(own.bound <= g->r.bound)) &&
            !(g->last_cavity > 0 && own.bound <= g->last.bound)) {
            g->last_cavity = number;
            g->last = own;
            g->last_blocks = b;
        }
    } else {
        GATE_FREEZE_RAISE(g, "cavities-differ", NULL, 0,
                          "cavity %d %s and its own data do not bound its freeze time", number,
                          how);
        g->cavity_unknown = true;
    }
    return ERR_NONE;
}

static struct data_table *cavity_table(struct gate_freeze *g)
{
    size_t k = g->data.cavities;
    struct data_table *t = finding_table(g->f, "cavities", "Freeze time by cavity", 5, k);
    const struct data_column columns[5] = {{"cavity", DIM_COUNT, NULL, false, 0, 0},
                                           {"own freeze time", DIM_TIME, NULL, false, 3, 0},
                                           {"low", DIM_TIME, NULL, false, 3, -1},
                                           {"high", DIM_TIME, NULL, false, 3, +1},
                                           {"p of its difference", DIM_COUNT, NULL, false, 2, 0}};
    for (size_t i = 0; i < 5; i++)
        t->columns[i] = columns[i];
    for (size_t c = 0; c < k; c++)
        t->values[c * 5] = g->data.cavity_number[c];
    return t;
}

static void note_equality(struct gate_freeze *g, double p, size_t n)
{
    struct quantity *q = finding_quantity(g->f, "cavity_equality_p",
                                          "chance of such differences between cavities", DIM_COUNT);
    q->value = p;
    q->method =
        arena_printf(g->a,
                     "F test of one common freeze time for %zu cavities, on weight minus the "
                     "shot's mean over them",
                     n);
    if (isnan(p))
        q->reason = "too few hold times to compare cavities";
}

static enum errc compare_curves(struct gate_freeze *g, struct error *e)
{
    size_t k = g->data.cavities;
    struct data_table *t = cavity_table(g);
    struct sharing s = {k, ARENA_ARRAY(g->a, size_t, k), ARENA_ARRAY(g->a, const double *, k)};
    bool *alone = ARENA_ARRAY(g->a, bool, k);
    for (size_t c = 0; c < k; c++) {
        s.cavity[c] = c;
        s.y[c] = g->data.cavity[c];
    }
    for (bool first = true; s.n > 1 && g->r.state == PLATEAU_FOUND; first = false) {
        struct cavity_compare cmp;
        plateau_cavities_compare(g->a, &g->blocks, s.y, s.n, &g->r, &g->options,
                                 FAR_IN_STEPS * g->time_step, &cmp);
        if (first)
            note_equality(g, cmp.p, k);
        for (size_t i = 0; i < s.n; i++) {
            t->values[s.cavity[i] * 5 + 1] = cmp.answer[i];
            t->values[s.cavity[i] * 5 + 4] = isnan(cmp.p) ? PL_NAN : cmp.p_each[i];
        }
        if (cmp.worst < 0)
            break;
        if (k == 2) { /* neither is the rest of the other */
            alone[0] = alone[1] = g->no_common = true;
            break;
        }
        alone[s.cavity[cmp.worst]] = true;
        leave_out(&s, (size_t)cmp.worst);
        TRY(fit_sharing(g, &s, e));
    }
    for (size_t c = 0; c < k; c++)
        if (alone[c])
            TRY(stand_alone(g, c,
                            g->no_common ? "freezes at another time than the other one"
                                         : "does not share the common freeze time",
                            t, e));
    return ERR_NONE;
}

/* Without curves: a cavity whose bracket ends later than the common one stands alone. */
static enum errc compare_brackets(struct gate_freeze *g, struct error *e)
{
    struct data_table *t = cavity_table(g);
    double common = g->r.bound;
    for (size_t c = 0; c < g->data.cavities; c++) {
        struct plateau_answer own;
        struct math_blocks b;
        TRY(cavity_alone(g, c, &b, &own, e));
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
