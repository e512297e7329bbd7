/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "gate_freeze.h"

#define FALSE_ALARM 0.005 /* two-sided level of the checks below */
#define CUSHION_LEAST 0.2 /* of the median cushion; our convention */
#define MISFIT_LEVEL 0.01
#define MISFIT_SIZE 0.5     /* tolerances */
#define LATE_RISE 1.5       /* tolerances; less happens by chance beside condition scatter */
#define CONVENTION_PART 0.5 /* of the tolerance: smaller effects are not worth a doubt */

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
    {"drift", FLAG_DOUBT,
     "A hold time that was run twice gave two different weights: something else moved during the "
     "study.",
     "Wait until the press is settled (ten or more cycles after every change), then run the study "
     "again in mixed order."},
    {"first-shots", FLAG_DOUBT,
     "The first shot after a change of hold time differs from those that follow: the press had not "
     "settled.",
     "Throw away the first shots after each change of setting before keeping shots."},
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
    {"outlier", FLAG_DOUBT,
     "One shot stands off from the others of its condition by more than chance allows (level 1 % "
     "for the whole study). It is kept in the fit.",
     "Look at the part and at the record of the shot. Leave it out only for a cause, and write the "
     "cause in the column `exclude`."},
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
    {"stray-shot", FLAG_DOUBT,
     "One shot fits the neighbouring hold time better than its own: it may have been run before "
     "the "
     "change took effect, or be written in the wrong row.",
     "Check the row against the press log. The shot is kept in the fit."},
    {"too-little-data", FLAG_DOUBT, "There are no two hold times with usable shots.",
     "Run at least five hold times, three shots each."},
    {"weight-falls", FLAG_DOUBT,
     "Beyond its highest value the weight falls with longer hold time, by more than chance allows.",
     "Look for a press that does not hold its pressure, for backflow through a worn check ring, "
     "and "
     "for drift of the mold temperature."},
};

enum flag_grade gate_freeze_grade(const char *code)
{
    for (size_t i = 0; i < GATE_FREEZE_FLAGS; i++)
        if (strcmp(gate_freeze_flags[i].code, code) == 0)
            return gate_freeze_flags[i].grade;
    return FLAG_DOUBT;
}

#define RAISE(g, code, file, line, ...)                                                            \
    finding_flag((g)->f, (code), gate_freeze_grade(code), (file), (line), __VA_ARGS__)

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
        RAISE(g, "cycle-not-constant", NULL, 0, "hold time plus cooling time ran from %s to %s",
              gate_freeze_time(g, low, PL_NAN), gate_freeze_time(g, high, PL_NAN));
}

static double median_of(struct gate_freeze *g, const double *v)
{
    double *s = ARENA_ARRAY(g->a, double, g->data.n);
    size_t n = 0;
    for (size_t i = 0; i < g->data.n; i++) {
        if (isnan(v[i]))
            continue;
        size_t k = n++;
        for (; k > 0 && s[k - 1] > v[i]; k--)
            s[k] = s[k - 1];
        s[k] = v[i];
    }
    return n > 0 ? s[n / 2] : PL_NAN;
}

static void check_cushion(struct gate_freeze *g)
{
    double *cushion = optional_column(g, "cushion");
    if (cushion == NULL)
        return;
    double median = median_of(g, cushion);
    for (size_t i = 0; i < g->data.n; i++)
        if (cushion[i] <= 0.0 || cushion[i] < CUSHION_LEAST * median) {
            RAISE(g, "cushion-lost", gate_freeze_file(g, i), gate_freeze_line(g, i),
                  "cushion %s at hold time %s; the median of the study is %s",
                  value_text(g->a, g->trial->display, DIM_LENGTH, cushion[i], PL_NAN),
                  gate_freeze_time(g, g->data.x[i], PL_NAN),
                  value_text(g->a, g->trial->display, DIM_LENGTH, median, PL_NAN));
            return;
        }
}

static void check_rows(struct gate_freeze *g)
{
    struct math_odd_row odd[8];
    size_t n = math_odd_rows(&g->blocks, g->data.y, 0.01, odd, PL_COUNT(odd));
    for (size_t i = 0; i < n; i++) {
        size_t shot = odd[i].row;
        const char *off = gate_freeze_mass(g, fabs(odd[i].distance), fabs(odd[i].distance) / 10.0);
        const char *side = odd[i].distance > 0.0 ? "above" : "below";
        if (odd[i].nearer >= 0)
            RAISE(g, "stray-shot", gate_freeze_file(g, shot), gate_freeze_line(g, shot),
                  "the shot at %s lies %s %s the others of its condition and fits %s better",
                  gate_freeze_time(g, g->data.x[shot], PL_NAN), off, side,
                  gate_freeze_time(g, g->blocks.group_x[odd[i].nearer], PL_NAN));
        else
            RAISE(g, "outlier", gate_freeze_file(g, shot), gate_freeze_line(g, shot),
                  "the shot at %s lies %s %s the others of its condition",
                  gate_freeze_time(g, g->data.x[shot], PL_NAN), off, side);
    }
    struct math_first_shots first = math_first_shots(&g->blocks, g->data.y);
    if (first.p < FALSE_ALARM && fabs(first.mean) > 0.1 * g->r.tolerance)
        RAISE(g, "first-shots", NULL, 0,
              "the first shot of a condition weighs %s %s than those that follow, on average over "
              "%zu "
              "conditions",
              gate_freeze_mass(g, fabs(first.mean), fabs(first.mean) / 10.0),
              first.mean > 0.0 ? "more" : "less", first.blocks);
}

/* Is the difference d of two condition means of na and nb shots more than the shots' scatter
 * explains? Condition scatter comes on top, so callers ask for a whole tolerance besides. */
static bool beyond_scatter(const struct gate_freeze *g, double d, size_t na, size_t nb)
{
    const struct plateau_answer *r = &g->r;
    if (!(r->shot_dof > 0.0) || !(fabs(d) > r->tolerance))
        return false;
    double se = r->shot_sd * sqrt(1.0 / (double)na + 1.0 / (double)nb);
    return !(se > 0.0) || math_two_sided_p(d / se, r->shot_dof) < FALSE_ALARM;
}

static void check_drift(struct gate_freeze *g)
{
    const struct math_blocks *b = &g->blocks;
    for (size_t i = 0; i < b->n_blocks; i++)
        for (size_t j = i + 1; j < b->n_blocks; j++) {
            double d = b->b[j].mean - b->b[i].mean;
            if (b->b[i].group != b->b[j].group || !beyond_scatter(g, d, b->b[i].n, b->b[j].n))
                continue;
            RAISE(g, "drift", gate_freeze_file(g, b->b[j].first),
                  gate_freeze_line(g, b->b[j].first),
                  "%s was run twice; the second time the part weighs %s %s",
                  gate_freeze_time(g, b->b[i].x, PL_NAN),
                  gate_freeze_mass(g, fabs(d), fabs(d) / 10.0), d > 0.0 ? "more" : "less");
            return;
        }
}

/* From the heaviest condition to the longest hold time. */
static void check_fall(struct gate_freeze *g)
{
    const struct math_blocks *b = &g->blocks;
    size_t last = b->n_groups - 1, top = 0;
    for (size_t i = 1; i < b->n_groups; i++)
        if (b->group_mean[i] > b->group_mean[top])
            top = i;
    double fall = b->group_mean[top] - b->group_mean[last];
    if (top < last && beyond_scatter(g, fall, b->group_n[top], b->group_n[last]))
        RAISE(g, "weight-falls", NULL, 0, "the weight falls by %s from %s to %s",
              gate_freeze_mass(g, fall, fall / 10.0), gate_freeze_time(g, b->group_x[top], PL_NAN),
              gate_freeze_time(g, b->group_x[last], PL_NAN));
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
        RAISE(g, "late-rise", NULL, 0,
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
        RAISE(g, "bracket-only", NULL, 0, "%zu hold times are too few for a curve", b->n_groups);
        break;
    case PLATEAU_BEFORE_FIRST:
        RAISE(g, "frozen-before-first", NULL, 0,
              "all tested hold times, from %s on, give the same weight within %s",
              gate_freeze_time(g, b->group_x[0], PL_NAN),
              gate_freeze_mass(g, r->tolerance, r->tolerance / 10.0));
        break;
    case PLATEAU_OPEN:
        RAISE(g, "range-too-short", NULL, 0,
              "fewer than two of the tested hold times, up to %s, lie beyond the interval's end",
              gate_freeze_time(g, last, PL_NAN));
        break;
    case PLATEAU_UNDECIDED:
        RAISE(g, b->n_groups < 2 ? "too-little-data" : "plateau-not-told", NULL, 0,
              b->n_groups < 2 ? "there is only one hold time"
                              : "a straight line describes the weights as well as a plateau does");
        break;
    case PLATEAU_NOT_REACHED:
        if (r->rise > 0.0) {
            double from = b->group_x[r->rise_from], level = b->group_mean[b->n_groups - 1];
            double slope = r->rise / (last - from) / level * 100.0;
            RAISE(g, "gate-not-frozen", NULL, 0,
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
        RAISE(g, "coarse-scale", NULL, 0,
              "the weights step by %s, more than the tolerance asked for; the tolerance was raised "
              "to "
              "that step",
              gate_freeze_mass(g, g->options.step, PL_NAN));
    if (r->shot_sd > r->tolerance)
        RAISE(g, "scatter-large", NULL, 0,
              "shots of one hold time scatter by %s (sd), more than the tolerance of %s",
              gate_freeze_mass(g, r->shot_sd, r->shot_sd / 10.0),
              gate_freeze_mass(g, r->tolerance, r->tolerance / 10.0));
    if (g->data.incomplete > 0)
        RAISE(g, "incomplete-shots", NULL, 0, "%zu shots lack the weight of a cavity",
              g->data.incomplete);
    if (!(r->shot_dof > 0.0))
        RAISE(g, "no-repeats", NULL, 0, "there is one shot per hold time");
    const struct family_fit *best = r->best >= 0 ? &r->family[r->best] : NULL;
    if (best != NULL && r->state == PLATEAU_FOUND && best->misfit_p < MISFIT_LEVEL &&
        best->misfit > MISFIT_SIZE)
        RAISE(g, "misfit", NULL, 0,
              "a condition lies %s tolerances from the %s curve, more than the shots' scatter "
              "explains",
              number_text(g->a, best->misfit, 2), best->name);
    check_fall(g);
    check_late_rise(g);
    check_drift(g);
    check_rows(g);
    check_cycle(g);
    check_cushion(g);
}
