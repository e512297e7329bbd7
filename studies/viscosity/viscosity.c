/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Viscosity: how fast must and may the mold be filled? */
#include <math.h>
#include <string.h>

#include "viscosity.h"

static const struct column_spec columns[] = {
    {"fill_time", "injection time|filling time|fill|inj time|time to transfer", DIM_TIME,
     COLUMN_REQUIRED, 1e-4, 600.0, "time from the start of injection to transfer"},
    {"transfer_pressure",
     "pressure|pressure at transfer|transfer press|changeover pressure|pressure at changeover|"
     "switchover pressure|pressure at switchover",
     DIM_PRESSURE, COLUMN_REQUIRED | COLUMN_BASIS, 1e-3, 500.0,
     "pressure at transfer; the header or trial.ini says whether it is hydraulic or melt pressure"},
    {"injection_speed", "speed|inj speed|injection velocity|set speed|screw speed forward|velocity",
     DIM_SPEED, COLUMN_SETTING, 1e-3, 5000.0, "speed set at the press; the varied setting"},
    {"condition", "run|step|setting", DIM_TEXT, COLUMN_CONSTANT_LABEL, 0.0, 0.0,
     "a name for each condition, where there is no injection speed"},
    {"peak_pressure", "peak press|maximum pressure|max pressure|highest pressure", DIM_PRESSURE,
     COLUMN_BASIS, 1e-3, 500.0, "highest pressure up to transfer"},
    {"pressure_limit", "set pressure limit|injection pressure limit|limit pressure", DIM_PRESSURE,
     COLUMN_BASIS, 1e-3, 500.0, "pressure limit that was set during filling"},
    {"shot_weight", "shot wt|total weight|weight of shot", DIM_MASS, 0, 1e-5, 1e6,
     "weight of the whole shot"},
    {"melt_temperature", "melt temp|stock temperature|mass temperature", DIM_TEMPERATURE, 0, 20.0,
     500.0, "temperature of the melt, measured with a probe"},
};

static const struct criterion_spec criteria[] = {
    {"defect_free_share", DIM_RATIO, 0.95, NAN, 'C', "95 %",
     "Share of the shots that a run of good ones must show to be free of defects where a defect "
     "was seen next to the bound: 59 good shots in a row show 95 % at a confidence of 95 % "
     "(success-run theorem)."},
    {"pressure_use_max", DIM_RATIO, 0.90, NAN, 'C', "90 % of the available pressure",
     "Largest share of the available pressure that filling may take. Above it a small rise in "
     "viscosity or a cold nozzle leaves the press short of pressure, and the fill time is no "
     "longer the one that was set."},
    {"speed_disturbance", DIM_RATIO, 0.10, NAN, 'O', "10 % slower",
     "The disturbance the fill shall bear: what defines the knee. It is never replaced by a "
     "measurement."},
    {"viscosity_tolerance", DIM_RATIO, 0.05, NAN, 'O', "5 % of the fall in the trial",
     "How much the disturbance may change the in-mold relative viscosity, as a share of its fall "
     "from "
     "the slowest to the fastest tested fill."},
};

static double criterion_value(const struct viscosity *v, const char *name)
{
    double x = facts_number(&v->trial->facts, "criteria", name, PL_NAN);
    for (size_t i = 0; i < PL_COUNT(criteria) && !isfinite(x); i++)
        if (strcmp(criteria[i].name, name) == 0)
            x = criteria[i].absolute;
    return x;
}

/* What the press can give, as melt pressure. */
static double available_pressure(const struct trial *trial)
{
    const struct facts *f = &trial->facts;
    double most = fmin(facts_number(f, "press", "max_injection_pressure", PL_INF),
                       facts_number(f, "press", "pressure_limit", PL_INF));
    const char *basis = facts_text(f, "press", "pressure_basis");
    if (!isfinite(most) || basis == NULL)
        return PL_NAN;
    if (text_same_word(basis, "hydraulic"))
        most *= facts_number(f, "press", "intensification_ratio", PL_NAN);
    return most;
}

static void note_operating_point(struct viscosity *v)
{
    static const char *const settings[] = {"melt_temperature", "mold_temperature"};
    for (size_t i = 0; i < PL_COUNT(settings); i++) {
        int c = table_find(v->table, settings[i], 0);
        double low = PL_INF, high = -PL_INF;
        for (size_t j = 0; c >= 0 && j < v->data.n; j++) {
            const struct cell *cell = &v->table->rows[v->data.row[j]].cells[c];
            if (cell->kind == CELL_VALUE) {
                low = fmin(low, cell->value);
                high = fmax(high, cell->value);
            }
        }
        bool from_column = low <= high;
        double running = facts_number(&v->trial->facts, "running", settings[i], PL_NAN);
        if (!from_column && !isfinite(running))
            continue;
        struct operating_value *o = finding_operating(v->f, settings[i], DIM_TEMPERATURE);
        o->low = from_column ? low : running;
        o->high = from_column ? high : running;
        o->from = from_column ? arena_printf(v->a, "column %s", settings[i]) : "[running]";
    }
}

static bool can_be_solved(const struct viscosity *v)
{
    double low = PL_INF, high = 0.0;
    for (size_t i = 0; i < v->n_free; i++) {
        low = fmin(low, v->data.block[v->free[i]].time);
        high = fmax(high, v->data.block[v->free[i]].time);
    }
    return v->n_settings >= 2 && high > 1.01 * low;
}

static enum errc solve(struct viscosity *v, struct error *e)
{
    v->options.time_step = v->data.time_step;
    v->options.pressure_step = v->data.pressure_step;
    viscosity_pick_free(v);
    v->solved = can_be_solved(v);
    if (v->solved)
        TRY(visc_solve(v->a, v->free_unit, v->n_free, &v->options, &v->r, e));
    v->no_rise = v->solved && (v->r.line.slope <= 0.0 || v->r.line.slope_low <= 0.0);
    return ERR_NONE;
}

static enum errc analyze(const struct trial *trial, const struct table *table, struct finding *out,
                         struct error *e)
{
    struct viscosity v = {.trial = trial, .table = table, .f = out, .a = out->arena};
    v.use_max = criterion_value(&v, "pressure_use_max");
    v.good_share = fmin(fmax(criterion_value(&v, "defect_free_share"), 1e-6), 1.0 - 1e-6);
    v.options = (struct visc_options){.confidence =
                                          facts_number(&trial->facts, "report", "confidence", 0.95),
                                      .disturbance = criterion_value(&v, "speed_disturbance"),
                                      .tolerance = criterion_value(&v, "viscosity_tolerance")};
    v.available = available_pressure(trial);
    study_note_files(out, table);
    viscosity_collect(&v, TAKE_ANALYZED, &v.data);
    TRY(solve(&v, e));
    bool approved = facts_text(&trial->facts, "approved", "record") != NULL;
    v.is_short = approved && v.n_settings > 0 && v.n_settings < VISCOSITY_ENOUGH;
    note_operating_point(&v);
    viscosity_tolerance_criterion(&v);
    viscosity_bounds(&v);
    viscosity_pressure_criterion(&v);
    viscosity_defect_criteria(&v);
    viscosity_decision(&v);
    viscosity_quantities(&v);
    viscosity_models(&v);
    viscosity_conditions(&v);
    viscosity_raise_flags(&v);
    viscosity_next_shots(&v);
    viscosity_figures(&v);
    finding_finish(out);
    return ERR_NONE;
}

static const char entry_table[] = {
#include "viscosity.csv.inc"
    0};

const struct study study_viscosity = {
    .name = "viscosity",
    .title = "Viscosity",
    .purpose = "Finds how slowly and how fast the mold may be filled.",
    .question = QUESTION_WINDOW,
    .method =
        "ln pressure at transfer is fitted over ln (1 / fill time) on the means of conditions, "
        "with "
        "errors in both: power law, Sisko (1958), Cross (1965) and Carreau (1972), from memory, "
        "compared by AICc. The knee is the longest fill time from which on a slower fill changes "
        "pressure x fill time by no more than a set share of its fall; broken stick and chord are "
        "shown beside it. Intervals are ranges over the parameter regions of all models in play. "
        "Plotting pressure x fill time over 1 / fill time, and the limits on pressure use: common "
        "practice, no published source.",
    .setting = "injection_speed",
    .measured = "transfer_pressure",
    .columns = columns,
    .n_columns = PL_COUNT(columns),
    .criteria = criteria,
    .n_criteria = PL_COUNT(criteria),
    .flags = viscosity_flags,
    .n_flags = VISCOSITY_FLAGS,
    .least_conditions = 7,
    .least_shots = 3,
    .analyze = analyze,
    .entry_table = entry_table,
};
