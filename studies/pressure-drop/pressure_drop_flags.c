/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "pressure_drop.h"

#define FALSE_ALARM 0.005  /* two-sided level of the checks below */
#define ODD_SHOT 0.01      /* level for the whole study */
#define SPEED_SAME 0.05    /* of the greatest speed; our convention for one operating point */
#define WORTH_A_DOUBT 0.01 /* of the pressure; our convention */
#define ODD_SHOTS_MOST 8

const struct flag_spec pressure_drop_flags[PRESSURE_DROP_FLAGS] = {
    {"available-pressure-not-known", FLAG_DOUBT,
     "The trial does not say how much pressure the press can give. The drops and their shares are "
     "found all the same; whether the press has enough is not.",
     "Give in trial.ini, section [press], max_injection_pressure, pressure_limit if one is set, "
     "pressure_basis, and for hydraulic pressures intensification_ratio, from the press maker's "
     "data."},
    {"drift", FLAG_DOUBT,
     "A stage that was run more than once gave different pressures: something moved during the "
     "study, most often the temperature of melt or nozzle.",
     "Wait until the press is settled, with the cycle kept constant, then run the stages again."},
    {"first-shots", FLAG_DOUBT,
     "The first shot after a change of stage differs from those that follow: the press had not "
     "settled.",
     "Throw away the first shots after each change before keeping shots."},
    {"one-stage", FLAG_DOUBT,
     "There is one stage only: the share of the available pressure is known, but not where the "
     "pressure goes.",
     "Run shorter shots too: into the runner, to the gate, into the part."},
    {"outlier", FLAG_DOUBT,
     "One shot stands off from the others of its stage by more than chance allows (level 1 % for "
     "the whole study, whether scatter grows with the pressure or not). It is kept.",
     "Look at the record of the shot. Leave it out only for a cause, and write the cause in the "
     "column `exclude`."},
    {"pressure-at-limit", FLAG_DOUBT,
     "A stage lies within 2 % of the available pressure. The press gave all it could, so what the "
     "mold needs is that much or more, and the drop into that stage is larger than it looks.",
     "Where a pressure limit was set and press and mold permit more, raise it and run the stage "
     "again. Otherwise fill slower or with hotter melt within the supplier's range."},
    {"single-shots", FLAG_DOUBT,
     "A stage has one shot: its scatter is not known, so nothing that needs it has an interval.",
     "Keep at least three shots at each stage."},
    {"speeds-differ", FLAG_DOUBT,
     "The injection speed was not the same in all shots. Pressure rises with speed, so part of a "
     "drop may be the speed's.",
     "Run all stages at the speed you intend to use, and change the shot size or the transfer "
     "position alone."},
    {"stage-out-of-order", FLAG_DOUBT,
     "A stage takes less pressure than the one before it, by more than its scatter. Further along "
     "the flow the pressure can only be higher: the rows are not in the order of flow, a reading "
     "is wrong, or the press was not the same. The shares of the total are not given. The stage "
     "with the highest pressure stands for what the mold takes.",
     "List the stages in the order in which the melt reaches them; where the file has shot "
     "numbers, "
     "they give the order, so leave them out if the stages were run in another order. Else run "
     "the stage again."},
    {"stage-spelling", FLAG_NOTE,
     "A stage is spelled in more than one way; spellings that differ in letter case, blanks, _ or "
     "- only are taken as one stage.",
     "Use one spelling, or quite different names where two stages are meant."},
    {"stage-without-shots", FLAG_DOUBT,
     "A stage is named in the file, but none of its shots can be used: its drop is counted to the "
     "stage behind it.",
     "Run the stage again, or leave its rows out of the file."},
    {"stages-run-once", FLAG_DOUBT,
     "Every stage was run once, shots in a row. The intervals know the scatter from shot to shot "
     "only, not how well a stage repeats when it is set up anew; where the two are alike in size "
     "they cover the truth in about 80 % instead of 95 % (simulated).",
     "Run all stages a second time after the first round."},
    {"stray-shot", FLAG_DOUBT,
     "One shot fits the neighbouring stage better than its own: it may have been run before the "
     "change took effect, or be written in the wrong row.",
     "Check the row against the press log. The shot is kept."},
    {"too-little-data", FLAG_DOUBT, "There is no shot with both a stage and a peak pressure.",
     "Run the stages in the order of flow, three shots each."},
};

enum flag_grade pressure_drop_grade(const char *code)
{
    for (size_t i = 0; i < PRESSURE_DROP_FLAGS; i++)
        if (strcmp(pressure_drop_flags[i].code, code) == 0)
            return pressure_drop_flags[i].grade;
    return FLAG_DOUBT;
}

#define RAISE(p, code, file, line, ...)                                                            \
    finding_flag((p)->f, (code), pressure_drop_grade(code), (file), (line), __VA_ARGS__)
#define RAISE_AT(p, code, shot, ...)                                                               \
    RAISE(p, code, pressure_drop_file(p, shot), pressure_drop_line(p, shot), __VA_ARGS__)

/* ---- the press ----------------------------------------------------------------------------- */

static void check_limit(struct pressure_drop *p)
{
    if (isnan(p->available)) {
        RAISE(p, "available-pressure-not-known", NULL, 0, "%s", p->not_known);
        return;
    }
    for (size_t i = 0; i < p->n_stages; i++) {
        const struct pressure_drop_stage *s = &p->stages[i];
        if (!s->at_limit)
            continue;
        double ratio = s->mean / p->available;
        bool above = ratio > 2.0 - PRESSURE_DROP_AT_LIMIT;
        RAISE_AT(p, "pressure-at-limit", s->first, "stage %s: %s is %s of the available %s%s",
                 s->name, pressure_drop_pressure(p, s->mean, PL_NAN),
                 pressure_drop_share(p, ratio, PL_NAN),
                 pressure_drop_pressure(p, p->available, PL_NAN),
                 above ? "; a press cannot give more than it has: check the limits and the basis "
                         "of the pressures in trial.ini"
                       : "; what the mold needs may be more");
    }
}

static void check_speeds(struct pressure_drop *p)
{
    int c = table_find(p->table, "injection_speed", 0);
    double low = PL_INF, high = -PL_INF;
    size_t at = 0;
    for (size_t i = 0; c >= 0 && i < p->shots.n; i++) {
        const struct cell *cell = &p->table->rows[p->shots.row[i]].cells[c];
        if (cell->kind != CELL_VALUE)
            continue;
        if (low <= high &&
            (cell->value < low * (1.0 - SPEED_SAME) || cell->value > high * (1.0 + SPEED_SAME)) &&
            at == 0)
            at = i;
        low = fmin(low, cell->value);
        high = fmax(high, cell->value);
    }
    if (!(low <= high) || !(high - low > SPEED_SAME * high))
        return;
    RAISE_AT(p, "speeds-differ", at, "the injection speed ran from %s to %s",
             value_text(p->a, p->trial->display, DIM_SPEED, low, PL_NAN),
             value_text(p->a, p->trial->display, DIM_SPEED, high, PL_NAN));
}

/* ---- the stages ---------------------------------------------------------------------------- */

static void check_stages(struct pressure_drop *p)
{
    for (size_t i = 0; i < p->n_gone; i++)
        RAISE(p, "stage-without-shots", NULL, 0, "stage %s has no shot that can be used",
              p->gone[i]);
    if (p->n_stages == 1)
        RAISE(p, "one-stage", NULL, 0, "the only stage is %s", p->stages[0].name);
    for (size_t i = 0; i < p->n_stages; i++) {
        const struct pressure_drop_stage *s = &p->stages[i];
        if (s->out_of_order)
            RAISE_AT(p, "stage-out-of-order", s->first,
                     "stage %s lies %s below %s, the stage before%s", s->name,
                     pressure_drop_pressure(p, -s->drop, (s->drop_high - s->drop_low) / 2.0),
                     p->stages[i - 1].name,
                     isfinite(s->drop_high) ? "" : "; with single shots its scatter is not known");
        if (s->n == 1)
            RAISE_AT(p, "single-shots", s->first, "stage %s has one shot", s->name);
    }
    if (!(p->visit_dof > 0.0))
        RAISE(p, "stages-run-once", NULL, 0, "no stage was run a second time");
}

/* One flag a stage, at the first row that is spelled in another way. */
static void check_spelling(struct pressure_drop *p)
{
    int c = table_find(p->table, "stage", 0);
    bool *told = ARENA_ARRAY(p->a, bool, p->n_stages);
    for (size_t i = 0; i < p->shots.n; i++) {
        size_t s = (size_t)p->shots.x[i] - 1;
        const char *text = p->table->rows[p->shots.row[i]].cells[c].text;
        if (told[s] || strcmp(text, p->stages[s].name) == 0)
            continue;
        told[s] = true;
        RAISE_AT(p, "stage-spelling", i, "\"%s\" and \"%s\" are taken as one stage",
                 p->stages[s].name, text);
    }
}

/* ---- shots --------------------------------------------------------------------------------- */

static void check_drift(struct pressure_drop *p)
{
    const struct math_blocks *b = &p->blocks;
    for (size_t g = 0; g < p->n_stages; g++) {
        const struct math_block *first = NULL, *last = NULL;
        for (size_t i = 0; i < b->n_blocks; i++)
            if (b->b[i].group == g) {
                first = first == NULL ? &b->b[i] : first;
                last = &b->b[i];
            }
        const struct pressure_drop_stage *s = &p->stages[g];
        double dof = (double)(s->n - s->visits);
        if (first == last || !(dof > 0.0))
            continue;
        double v = fmax(s->ss_within / dof, p->step * p->step / 12.0);
        double se = sqrt(v * (1.0 / (double)first->n + 1.0 / (double)last->n));
        double d = last->mean - first->mean;
        if (!(fabs(d) > WORTH_A_DOUBT * s->mean) || !(se > 0.0) ||
            !(math_two_sided_p(d / se, dof) < FALSE_ALARM))
            continue;
        RAISE_AT(p, "drift", last->first,
                 "stage %s was run %s; the last time it took %s %s than the first", s->name,
                 s->visits == 2 ? "twice" : "several times",
                 pressure_drop_pressure(p, fabs(d), 2.0 * se), d > 0.0 ? "more" : "less");
    }
}

/* A shot is odd when it is so both with scatter equal in pressure and with scatter as a share of
 * it: the false-alarm rate then holds whichever is true. */
static void check_odd_shots(struct pressure_drop *p)
{
    struct math_odd_row odd[ODD_SHOTS_MOST], too[ODD_SHOTS_MOST];
    struct math_blocks relative;
    double *y = ARENA_ARRAY(p->a, double, p->shots.n);
    for (size_t i = 0; i < p->shots.n; i++)
        y[i] = p->shots.y[i] / p->stages[(size_t)p->shots.x[i] - 1].mean;
    math_blocks_make(p->a, p->shots.x, y, p->shots.n, &relative);
    size_t n = math_odd_rows(&p->blocks, p->shots.y, ODD_SHOT, odd, ODD_SHOTS_MOST);
    size_t m = math_odd_rows(&relative, y, ODD_SHOT, too, ODD_SHOTS_MOST);
    for (size_t i = 0; i < n; i++) {
        bool both = false;
        for (size_t j = 0; j < m; j++)
            both = both || too[j].row == odd[i].row;
        if (!both)
            continue;
        size_t shot = odd[i].row;
        const char *name = p->stages[(size_t)p->shots.x[shot] - 1].name;
        const char *off =
            pressure_drop_pressure(p, fabs(odd[i].distance), fabs(odd[i].distance) / 10.0);
        const char *side = odd[i].distance > 0.0 ? "above" : "below";
        if (odd[i].nearer >= 0)
            RAISE_AT(p, "stray-shot", shot,
                     "the shot at stage %s lies %s %s the others of its stage and fits %s better",
                     name, off, side, p->stages[odd[i].nearer].name);
        else
            RAISE_AT(p, "outlier", shot, "the shot at stage %s lies %s %s the others of its stage",
                     name, off, side);
    }
    struct math_first_shots first = math_first_shots(&relative, y);
    if (first.p < FALSE_ALARM && fabs(first.mean) > WORTH_A_DOUBT)
        RAISE(p, "first-shots", NULL, 0,
              "the first shot of a stage takes %s %s pressure than those that follow, on average "
              "over %zu times",
              pressure_drop_share(p, fabs(first.mean), fabs(first.mean) / 5.0),
              first.mean > 0.0 ? "more" : "less", first.blocks);
}

void pressure_drop_raise_flags(struct pressure_drop *p)
{
    if (p->shots.n == 0) {
        RAISE(p, "too-little-data", NULL, 0, "no row has both a stage and a peak pressure");
        return;
    }
    check_limit(p);
    check_stages(p);
    check_speeds(p);
    check_spelling(p);
    check_drift(p);
    check_odd_shots(p);
}
