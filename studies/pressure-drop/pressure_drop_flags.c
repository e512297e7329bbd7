/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "pressure_drop.h"

#define SPEED_SAME 0.05    /* of the greatest speed; our convention for one operating point */
#define WORTH_A_DOUBT 0.01 /* of the pressure; our convention */
#define HARDLY_USED 0.02   /* of the available pressure; common practice, no published source */

const struct flag_spec pressure_drop_flags[PRESSURE_DROP_FLAGS] = {
    {"available-pressure-not-known", FLAG_DOUBT,
     "The trial does not say how much pressure the press can give. The drops and their shares are "
     "found all the same; whether the press has enough is not.",
     "Give in trial.ini, section [press], max_injection_pressure, pressure_limit if one is set, "
     "pressure_basis, and for hydraulic pressures intensification_ratio, from the press maker's "
     "data."},
    {"one-stage", FLAG_DOUBT,
     "There is one stage only: the share of the available pressure is known, but not where the "
     "pressure goes.",
     "Run shorter shots too: into the runner, to the gate, into the part."},
    {"pressure-at-limit", FLAG_DOUBT,
     "A stage lies within 2 % of the available pressure. The press gave all it could, so what the "
     "mold needs is that much or more, and the drop into that stage is larger than it looks.",
     "Where a pressure limit was set and press and mold permit more, raise it and run the stage "
     "again. Otherwise fill slower or with hotter melt within the supplier's range."},
    {"pressure-hardly-used", FLAG_DOUBT,
     "Filling takes less than 2 % of the available pressure. No part is filled so easily (common "
     "practice, no published source): the numbers are of another column or in another unit, or the "
     "press's data are wrong.",
     "Compare the column and its unit with what the press shows; correct the header, the file or "
     "[press] in trial.ini."},
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
    {"too-little-data", FLAG_DOUBT, "There is no shot with both a stage and a peak pressure.",
     "Run the stages in the order of flow, three shots each."},
};

#define RAISE(p, code, file, line, ...)                                                            \
    finding_flag((p)->f, (code), study_grade(pressure_drop_flags, PRESSURE_DROP_FLAGS, (code)),    \
                 (file), (line), __VA_ARGS__)
#define RAISE_AT(p, code, shot, ...)                                                               \
    RAISE(p, code, pressure_drop_file(p, shot), pressure_drop_line(p, shot), __VA_ARGS__)

/* ---- the press ----------------------------------------------------------------------------- */

static void check_limit(struct pressure_drop *p)
{
    if (isnan(p->available)) {
        RAISE(p, "available-pressure-not-known", NULL, 0, "%s", p->not_known);
        return;
    }
    const struct pressure_drop_stage *most = &p->stages[0];
    for (size_t i = 0; i < p->n_stages; i++) {
        const struct pressure_drop_stage *s = &p->stages[i];
        most = s->mean > most->mean ? s : most;
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
    if (most->mean < HARDLY_USED * p->available)
        RAISE_AT(
            p, "pressure-hardly-used", most->first,
            "stage %s takes the most, %s, and that is %s of the available %s: no part fills so "
            "easily; check the column, its unit and the press's data",
            most->name, pressure_drop_pressure(p, most->mean, PL_NAN),
            pressure_drop_share(p, most->mean / p->available, PL_NAN),
            pressure_drop_pressure(p, p->available, PL_NAN));
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

static const char *pressure_of(const void *context, double distance)
{
    return pressure_drop_pressure(context, distance, distance / 10.0);
}

static const char *share_of(const void *context, double distance)
{
    return pressure_drop_share(context, distance, distance / 5.0);
}

static void check_shots(struct pressure_drop *p)
{
    struct math_blocks relative;
    double *y = ARENA_ARRAY(p->a, double, p->shots.n);
    const char **name = ARENA_ARRAY(p->a, const char *, p->n_stages);
    for (size_t i = 0; i < p->shots.n; i++)
        y[i] = p->shots.y[i] / p->stages[(size_t)p->shots.x[i] - 1].mean;
    for (size_t i = 0; i < p->n_stages; i++)
        name[i] = p->stages[i].name;
    math_blocks_make(p->a, p->shots.x, y, p->shots.n, &relative);
    struct study_shots shots = {.finding = p->f,
                                .table = p->table,
                                .row = p->shots.row,
                                .y = p->shots.y,
                                .blocks = &p->blocks,
                                .relative = y,
                                .relative_blocks = &relative,
                                .step = math_reading_step(p->shots.y, p->shots.n, p->step),
                                .least_first = WORTH_A_DOUBT,
                                .name = name,
                                .noun = "stage",
                                .before = "stage ",
                                .in = "",
                                .verb = "takes",
                                .more = "more pressure",
                                .less = "less pressure",
                                .size = pressure_of,
                                .first = share_of,
                                .context = p};
    study_flag_shots(&shots);
}

void pressure_drop_raise_flags(struct pressure_drop *p)
{
    if (p->shots.n == 0) {
        RAISE(p, "too-little-data", NULL, 0, "%s", study_no_rows(p->f, PRESSURE_DROP_NOTHING));
        return;
    }
    check_limit(p);
    check_stages(p);
    check_speeds(p);
    check_spelling(p);
    check_shots(p);
}
