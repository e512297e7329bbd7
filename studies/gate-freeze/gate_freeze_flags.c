/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "gate_freeze.h"

#define FALSE_ALARM 0.005 /* two-sided level of the checks below */
#define CUSHION_LEAST 0.2 /* of the median cushion; our convention */
#define MISFIT_LEVEL 0.01
#define MISFIT_SIZE 0.5       /* tolerances */
#define LATE_RISE 1.5         /* tolerances; less happens by chance beside condition scatter */
#define FIRST_SHOTS_LEAST 0.1 /* tolerances */
#define CONVENTION_PART 0.5   /* of the tolerance: smaller effects are not worth a doubt */

const struct flag_spec gate_freeze_flags[GATE_FREEZE_FLAGS] = {
    {"bracket-only", FLAG_DOUBT,
     "There are too few hold times for a curve. The freeze time is only known to lie between two "
     "tested hold times; the longer one is taken as the bound.",
     "Run at least five hold times, three shots each, two of them clearly on the plateau."},
    {"cavities-differ", FLAG_DOUBT,
     "At least one cavity reaches its plateau at another time than the rest. The latest one "
     "decides "
     "how long to hold.",
     "Look at that cavity's gate: its size, its temperature, its place in the runner. The hold "
     "time "
     "has to suit the slowest gate until it is mended."},
    {"coarse-scale", FLAG_DOUBT,
     "The balance steps by more than the tolerance, so it cannot show that the weight stays within "
     "it. The tolerance was raised to one step of the balance.",
     "Weigh on a balance that reads at least ten times finer than the tolerance, or weigh several "
     "parts together."},
    {"cushion-lost", FLAG_DOUBT,
     "The screw reached the bottom of the barrel in a shot: hold pressure was not carried to the "
     "mold, and the weight says nothing about the gate.",
     "Raise the shot size so that a cushion is left in every shot, then run the shot again."},
    {"cycle-not-constant", FLAG_DOUBT,
     "Hold time plus cooling time was not the same in all shots. Mold and melt temperature move "
     "with "
     "the cycle, and the weight with them.",
     "Take from the cooling time what is added to the hold time, and run the study again."},
    {"frozen-before-first", FLAG_NOTE,
     "Every tested hold time gives the full weight: the gate freezes before the shortest one.",
     "The shortest tested hold time is safe. To save cycle time, test shorter ones."},
    {"gate-not-frozen", FLAG_STOP,
     "The part still gains weight at the longest hold time tested. There is no plateau in the "
     "tested "
     "range, and none is extrapolated.",
     "Test longer hold times. Hot runners, valve gates and thick gates may never freeze: then the "
     "hold time is a setting to control, and trial.ini says gate = open."},
    {"gate-open", FLAG_DOUBT,
     "The gate is meant to stay open: hold time has no lower bound from freezing, and the part "
     "weight follows the hold time at any setting.",
     "Control the hold time closely; the sensitivity tells what 0.1 s is worth."},
    {"incomplete-shots", FLAG_DOUBT,
     "Some shots have no weight for some cavities. They are left out: a mean over other cavities "
     "would not compare.",
     "Weigh every cavity of every kept shot."},
    {"late-rise", FLAG_DOUBT,
     "After the plateau the weight rises again. The parting line may be opening, or the runner is "
     "weighed with the part.",
     "Weigh the parts without the runner, and look for flash at the longest hold times."},
    {"misfit", FLAG_DOUBT,
     "The conditions scatter around the best curve by more than shots do within a condition: "
     "either "
     "the curve has another shape, or the settings did not repeat.",
     "Read the answer as the interval, not as the single value; repeat one hold time at the end of "
     "the study to see which of the two it is."},
    {"no-repeats", FLAG_DOUBT,
     "There is one shot per hold time: scatter from shot to shot is not known.",
     "Keep at least three shots at each hold time."},
    {"plateau-not-told", FLAG_DOUBT,
     "The data do not tell a curve that levels off from one that goes on: no freeze time is given.",
     "Run more hold times beyond the longest one, and more shots at each."},
    {"range-too-short", FLAG_DOUBT,
     "The weight levels off, but fewer than two tested hold times lie beyond the interval of the "
     "freeze time: nothing shows that the plateau holds.",
     "Run two hold times beyond the interval's end."},
    {"scatter-large", FLAG_DOUBT,
     "Shots of one hold time differ by more than the tolerance: no number of hold times shows a "
     "plateau within it.",
     "Mend the scatter first: cushion, melt temperature, a balance that reads finer, parts weighed "
     "without flash or runner. Then run the study again, or agree on a wider tolerance."},
    {"too-little-data", FLAG_DOUBT, "There are no two hold times with usable shots.",
     "Run at least five hold times, three shots each."},
    {"weight-falls", FLAG_DOUBT,
     "Beyond its highest value the weight falls with longer hold time, by more than chance allows.",
     "Look for a press that does not hold its pressure, for backflow through a worn check ring, "
     "and "
     "for drift of the mold temperature."},
};

/* A column of the used shots; n values, NAN where missing. NULL without the column. */
static double *optional_column(struct gate_freeze *g, const char *name)
{
    int c = table_find(g->table, name, 0);
    if (c < 0)
        return NULL;
    double *v = ARENA_ARRAY(g->a, double, g->data.n);
    for (size_t i = 0; i < g->data.n; i++) {
        const struct cell *cell = &g->table->rows[g->data.row[i]].cells[c];
        v[i] = cell->kind == CELL_VALUE ? cell->value : PL_NAN;
    }
    return v;
}

static void check_cycle(struct gate_freeze *g)
{
    double *cooling = optional_column(g, "cooling_time");
    double low = PL_INF, high = -PL_INF;
    for (size_t i = 0; cooling != NULL && i < g->data.n; i++)
        if (!isnan(cooling[i])) {
            low = fmin(low, g->data.x[i] + cooling[i]);
            high = fmax(high, g->data.x[i] + cooling[i]);
        }
    if (high > low + g->time_step * (1.0 + 1e-9))
        GATE_FREEZE_RAISE(g, "cycle-not-constant", NULL, 0,
                          "hold time plus cooling time ran from %s to %s",
                          gate_freeze_time(g, low, PL_NAN), gate_freeze_time(g, high, PL_NAN));
}

static double median_of(struct gate_freeze *g, const double *v)
{
    double *s = ARENA_ARRAY(g->a, double, g->data.n);
    size_t n = 0;
    for (size_t i = 0; i < g->data.n; i++)
        if (!isnan(v[i]))
            s[n++] = v[i];
    return math_median(s, n);
}

static void check_cushion(struct gate_freeze *g)
{
    double *cushion = optional_column(g, "cushion");
    if (cushion == NULL)
        return;
    double median = median_of(g, cushion);
    for (size_t i = 0; i < g->data.n; i++)
        if (cushion[i] <= 0.0 || cushion[i] < CUSHION_LEAST * median) {
            GATE_FREEZE_RAISE(g, "cushion-lost", gate_freeze_file(g, i), gate_freeze_line(g, i),
                              "cushion %s at hold time %s; the median of the study is %s",
                              value_text(g->a, g->trial->display, DIM_LENGTH, cushion[i], PL_NAN),
                              gate_freeze_time(g, g->data.x[i], PL_NAN),
                              value_text(g->a, g->trial->display, DIM_LENGTH, median, PL_NAN));
            return;
        }
}

static const char *mass_of(const void *context, double distance)
{
    return gate_freeze_mass(context, distance, distance / 10.0);
}

static void check_rows(struct gate_freeze *g)
{
    const char **name = ARENA_ARRAY(g->a, const char *, g->blocks.n_groups);
    for (size_t i = 0; i < g->blocks.n_groups; i++)
        name[i] = gate_freeze_time(g, g->blocks.group_x[i], PL_NAN);
    struct study_shots shots = {.finding = g->f,
                                .table = g->table,
                                .row = g->data.row,
                                .y = g->data.y,
                                .blocks = &g->blocks,
                                .step = g->data.step,
                                .least_first = FIRST_SHOTS_LEAST * g->r.tolerance,
                                .name = name,
                                .noun = "condition",
                                .before = "",
                                .in = "",
                                .verb = "weighs",
                                .more = "more",
                                .less = "less",
                                .size = mass_of,
                                .first = mass_of,
                                .context = g};
    study_flag_shots(&shots);
}

/* Derivative of the best curve by its i-th parameter at every block, by differences. */
static void curve_tangent(const struct gate_freeze *g, size_t i, double *out)
{
    struct family_fit up = g->r.family[g->r.best], down = up;
    double step = 1e-5 * fmax(fabs(up.value[i]), 1e-3);
    up.value[i] += step;
    down.value[i] -= step;
    for (size_t j = 0; j < g->blocks.n_blocks; j++)
        out[j] = (family_value(&up, g->blocks.b[j].x, g->blocks.group_x[0]) -
                  family_value(&down, g->blocks.b[j].x, g->blocks.group_x[0])) /
                 (2.0 * step);
}

static void check_trend(struct gate_freeze *g)
{
    size_t m = g->blocks.n_blocks;
    if (g->r.best < 0 || (g->r.state != PLATEAU_FOUND && g->r.state != PLATEAU_OPEN))
        return;
    const struct family_fit *fit = &g->r.family[g->r.best];
    double *residual = ARENA_ARRAY(g->a, double, m), *weight = ARENA_ARRAY(g->a, double, m);
    double *tangent = ARENA_ARRAY(g->a, double, fit->p *m);
    for (size_t i = 0; i < m; i++) {
        const struct math_block *b = &g->blocks.b[i];
        residual[i] = b->mean - family_value(fit, b->x, g->blocks.group_x[0]);
        weight[i] = (double)b->n;
    }
    for (size_t i = 0; i < fit->p; i++)
        curve_tangent(g, i, &tangent[i * m]);
    size_t last = g->blocks.b[m - 1].first;
    struct study_curve c = {.finding = g->f,
                            .m = m,
                            .p = fit->p,
                            .residual = residual,
                            .weight = weight,
                            .tangent = tangent,
                            .least_variance = g->data.step * g->data.step / 12.0,
                            .file = gate_freeze_file(g, last),
                            .line = gate_freeze_line(g, last),
                            .measured = "weight",
                            .setting = "hold time",
                            .size = mass_of,
                            .context = g};
    study_flag_trend(&c);
}

/* Is the difference d of two condition means of na and nb shots, picked from all, more than scatter
 * explains? As in the search for drift, scatter from condition to condition as large as that of
 * shots is allowed for; a difference within the tolerance is none. */
static bool beyond_scatter(const struct gate_freeze *g, double d, size_t na, size_t nb)
{
    const struct plateau_answer *r = &g->r;
    double picked_from = (double)(g->blocks.n_groups - 1);
    if (!(r->shot_dof > 0.0) || !(fabs(d) > r->tolerance))
        return false;
    return math_revisit_p(d, na, nb, r->shot_sd, r->shot_dof) * picked_from < FALSE_ALARM;
}

/* From the heaviest condition to the longest hold time. */
bool gate_freeze_falls(const struct gate_freeze *g, size_t *top, double *fall)
{
    const struct math_blocks *b = &g->blocks;
    size_t last = b->n_groups - 1;
    *top = 0;
    for (size_t i = 1; i < b->n_groups; i++)
        if (b->group_mean[i] > b->group_mean[*top])
            *top = i;
    *fall = b->group_mean[*top] - b->group_mean[last];
    return *top < last && beyond_scatter(g, *fall, b->group_n[*top], b->group_n[last]);
}

static void check_fall(struct gate_freeze *g)
{
    const struct math_blocks *b = &g->blocks;
    size_t top;
    double fall;
    if (gate_freeze_falls(g, &top, &fall))
        GATE_FREEZE_RAISE(g, "weight-falls", NULL, 0, "the weight falls by %s from %s to %s",
                          gate_freeze_mass(g, fall, fall / 10.0),
                          gate_freeze_time(g, b->group_x[top], PL_NAN),
                          gate_freeze_time(g, b->group_x[b->n_groups - 1], PL_NAN));
}

/* Two neighbours alike, high up on the curve, and a rise by more than the tolerance after them. */
static void check_late_rise(struct gate_freeze *g)
{
    const struct math_blocks *b = &g->blocks;
    const double *m = b->group_mean;
    size_t last = b->n_groups - 1;
    for (size_t j = 0; j + 2 <= last; j++) {
        bool alike = fabs(m[j + 1] - m[j]) <= CONVENTION_PART * g->r.tolerance;
        bool high = m[j] - m[0] > 0.5 * (m[last] - m[0]);
        double rise = m[last] - m[j + 1];
        if (!alike || !high || !(rise > LATE_RISE * g->r.tolerance) ||
            !beyond_scatter(g, rise, b->group_n[last], b->group_n[j + 1]))
            continue;
        GATE_FREEZE_RAISE(g, "late-rise", NULL, 0,
                          "the weight is level from %s to %s and then rises by %s up to %s",
                          gate_freeze_time(g, b->group_x[j], PL_NAN),
                          gate_freeze_time(g, b->group_x[j + 1], PL_NAN),
                          gate_freeze_mass(g, rise, rise / 10.0),
                          gate_freeze_time(g, b->group_x[last], PL_NAN));
        return;
    }
}

static void check_state(struct gate_freeze *g)
{
    const struct plateau_answer *r = &g->r;
    const struct math_blocks *b = &g->blocks;
    double last = b->group_x[b->n_groups - 1];
    switch (r->state) {
    case PLATEAU_FOUND:
        break;
    case PLATEAU_BRACKET_ONLY:
        GATE_FREEZE_RAISE(g, "bracket-only", NULL, 0, "%zu hold times are too few for a curve",
                          b->n_groups);
        break;
    case PLATEAU_BEFORE_FIRST:
        GATE_FREEZE_RAISE(g, "frozen-before-first", NULL, 0,
                          "all tested hold times, from %s on, give the same weight within %s",
                          gate_freeze_time(g, b->group_x[0], PL_NAN),
                          gate_freeze_mass(g, r->tolerance, r->tolerance / 10.0));
        break;
    case PLATEAU_OPEN:
        GATE_FREEZE_RAISE(
            g, "range-too-short", NULL, 0,
            "fewer than two of the tested hold times, up to %s, lie beyond the interval's end",
            gate_freeze_time(g, last, PL_NAN));
        break;
    case PLATEAU_UNDECIDED:
        GATE_FREEZE_RAISE(g, b->n_groups < 2 ? "too-little-data" : "plateau-not-told", NULL, 0,
                          b->n_groups < 2
                              ? "there is only one hold time"
                              : "a straight line describes the weights as well as a plateau does");
        break;
    case PLATEAU_NOT_REACHED:
        if (r->rise > 0.0) {
            double from = b->group_x[r->rise_from], level = b->group_mean[b->n_groups - 1];
            double slope = r->rise / (last - from) / level * 100.0;
            GATE_FREEZE_RAISE(
                g, "gate-not-frozen", NULL, 0,
                "the weight still rises by %s %% per second between %s and %s, the longest hold "
                "time tested",
                number_text(g->a, slope, 2), gate_freeze_time(g, from, PL_NAN),
                gate_freeze_time(g, last, PL_NAN));
        }
        break;
    }
}

void gate_freeze_raise_flags(struct gate_freeze *g)
{
    const struct plateau_answer *r = &g->r;
    check_state(g);
    if (r->tolerance_raised)
        GATE_FREEZE_RAISE(
            g, "coarse-scale", NULL, 0,
            "the weights step by %s, more than the tolerance asked for; the tolerance was raised "
            "to "
            "that step",
            gate_freeze_mass(g, g->options.step, PL_NAN));
    if (r->shot_sd > r->tolerance)
        GATE_FREEZE_RAISE(
            g, "scatter-large", NULL, 0,
            "shots of one hold time scatter by %s (sd), more than the tolerance of %s",
            gate_freeze_mass(g, r->shot_sd, r->shot_sd / 10.0),
            gate_freeze_mass(g, r->tolerance, r->tolerance / 10.0));
    if (g->data.incomplete > 0)
        GATE_FREEZE_RAISE(g, "incomplete-shots", NULL, 0, "%zu shot%s the weight of a cavity",
                          g->data.incomplete, g->data.incomplete == 1 ? " lacks" : "s lack");
    if (!(r->shot_dof > 0.0))
        GATE_FREEZE_RAISE(g, "no-repeats", NULL, 0, "there is one shot per hold time");
    const struct family_fit *best = r->best >= 0 ? &r->family[r->best] : NULL;
    if (best != NULL && r->state == PLATEAU_FOUND && best->misfit_p < MISFIT_LEVEL &&
        best->misfit > MISFIT_SIZE)
        GATE_FREEZE_RAISE(
            g, "misfit", NULL, 0,
            "a condition lies %s tolerances from the %s curve, more than the shots' scatter "
            "explains",
            number_text(g->a, best->misfit, 2), best->name);
    check_fall(g);
    check_late_rise(g);
    check_rows(g);
    check_trend(g);
    check_cycle(g);
    check_cushion(g);
}
