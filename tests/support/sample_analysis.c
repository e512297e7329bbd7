/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Uses the base room alone, so that every test program can be linked with it. */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "sample_analysis.h"

/* weight = PLATEAU - RISE exp(-t / TAU): 0.1 % below its plateau at TAU ln(RISE / 0.02518) = 5.40 s
 */
#define PLATEAU 25.18
#define RISE 1.30
#define TAU 1.37
#define CONDITIONS 8
#define SHOTS 3
#define FREEZE_FILE "gate-freeze.csv"
#define HOLD_FILE "hold-window.csv"

/* Copies a literal array into the arena, so that tests may change it. */
#define KEEP(a, type, n, ...) keep((a), (const type[]){__VA_ARGS__}, sizeof(type), (n))

static void *keep(struct arena *a, const void *items, size_t size, size_t n)
{
    void *p = arena_array(a, n, size);
    memcpy(p, items, n * size);
    return p;
}

static double weight_at(double t)
{
    return PLATEAU - RISE * exp(-t / TAU);
}

static double setting_of(size_t i)
{
    return 2.0 + (double)i;
}

/* weight of shot j at condition i: a fixed pattern about 4 mg wide in place of noise */
static double shot_weight(size_t i, size_t j)
{
    static const int pattern_mg[] = {3, -4, 1, -2, 5, -1, 4, -3, 0, -5, 2, 4};
    double noise = pattern_mg[(i * 5 + j * 3) % PL_COUNT(pattern_mg)] / 1000.0;
    return round((weight_at(setting_of(i)) + noise) * 1000.0) / 1000.0;
}

static bool is_excluded(size_t i, size_t j)
{
    return i == 4 && j == 1;
}

static long shot_line(size_t i, size_t j)
{
    return (long)(5 + i * SHOTS + j);
}

/* ---- gate freeze ----------------------------------------------------------------------------- */

static void add_numbers(struct arena *a, struct finding *f)
{
    static const struct quantity quantities[] = {
        {"freeze_time", "gate freeze time", DIM_TIME, NULL, 5.4, 5.1, 5.8, 0.95, 2,
         "profile likelihood, envelope of 2 families, and neighbour bracket", NULL},
        {"last_slope", "weight still gained at the longest hold time", DIM_MASS_RATE, NULL, 0.0002,
         -0.0011, 0.0015, 0.95, 2, "line through the last 3 conditions", NULL},
        {"plateau_start", "start of the plateau", DIM_TIME, NULL, NAN, 4.9, INFINITY, 0.95, 2, NULL,
         "the best family has no corner"},
        {"plateau_weight", "plateau weight", DIM_MASS, NULL, 25.18, 25.176, 25.184, 0.95, 2,
         "exponential, least squares on shots", NULL},
        {"runner_gain", "weight gained by the runner per second", DIM_COUNT, "g/10 s", 0.42,
         -INFINITY, 0.51, 0.95, 1, "line", NULL},
    };
    f->n_quantities = f->cap_quantities = PL_COUNT(quantities);
    f->quantities = keep(a, quantities, sizeof *quantities, f->n_quantities);

    static const struct criterion criteria[] = {
        {"freeze_tolerance", "weight stays on its plateau", DIM_MASS, "0.1 % of plateau weight",
         0.02518, 0.0009, -0.0021, 0.0039, 0.95, 2, 'O', VERDICT_MET,
         "from 6 to 9 s the weight moves by less than 0.025 g", 0, false},
        {"imbalance_aim", "cavities freeze together", DIM_RATIO, "3 %", 0.03, 0.026, 0.012, 0.041,
         0.95, 2, 'C', VERDICT_NOT_SHOWN,
         "the interval 1.2 to 4.1 % reaches across the limit of 3 %", 6, true},
    };
    f->n_criteria = f->cap_criteria = PL_COUNT(criteria);
    f->criteria = keep(a, criteria, sizeof *criteria, f->n_criteria);

    f->n_bounds = f->cap_bounds = 1;
    f->bounds = KEEP(a, struct bound, 1,
                     {"hold_time", BOUND_LOWER, DIM_TIME, 5.8, 5.1, 5.8, BOUND_LIMIT, "gate-freeze",
                      "exponential", "freeze_tolerance", VERDICT_MET,
                      "weight is within 0.1 % of its plateau from here on", 22});

    f->n_flags = f->cap_flags = 3;
    f->flags = KEEP(
        a, struct flag, 3,
        {"stray-shot", FLAG_DOUBT,
         "shot 9 at 4 s weighs 25.118 g, which fits the shots at 5 s better", FREEZE_FILE, 13},
        {"coarse-scale", FLAG_DOUBT, "the balance steps by 0.001 g", NULL, 0},
        {"conditions-inferred", FLAG_NOTE,
         "no block column: consecutive shots at one hold time are one condition", FREEZE_FILE, 5});

    f->n_next_shots = f->cap_next_shots = 2;
    f->next_shots = KEEP(a, struct next_shot, 2,
                         {"hold_time", DIM_TIME, 5.5, 3, "parts",
                          "halves the bracket: 5.0 to 6.0 s becomes 0.5 s wide",
                          "the freeze time lies between two tested hold times", 0.35, 0.2},
                         {"hold_time", DIM_TIME, 9.0, 3, NULL, "says whether the press drifted",
                          "the longest hold time again, at the end", NAN, NAN});

    f->n_operating_point = f->cap_operating_point = 3;
    f->operating_point =
        KEEP(a, struct operating_value, 3,
             {"hold_pressure", DIM_PRESSURE, 48.0, 48.0, "column hold_pressure"},
             {"injection_speed", DIM_SPEED, 60.0, 60.0, "[running]"},
             {"melt_temperature", DIM_TEMPERATURE, 215.0, 219.0, "column melt_temperature"});
}

static void add_models(struct arena *a, struct finding *f)
{
    static const struct model models[] = {
        {.name = "exponential",
         .series = "parts",
         .formula = "weight = P - A exp(-t / tau)",
         .n_parameters = 3,
         .parameter = {"P", "A", "tau"},
         .value = {25.18, 1.3, 1.37},
         .covariance = {{4.1e-06, -2.2e-06, 1.3e-05},
                        {-2.2e-06, 6.4e-04, -3.1e-04},
                        {1.3e-05, -3.1e-04, 2.5e-04}},
         .residual_sd = 0.0034,
         .aicc = -182.41,
         .weight = 0.83,
         .misfit = 0.11,
         .misfit_p = 0.62,
         .rank = 3,
         .condition_number = 41.7,
         .stop = "step below tolerance",
         .tried = true,
         .in_play = true,
         .chosen = true,
         .plateau = true,
         .answer = 5.4,
         .answer_low = 5.2,
         .answer_high = 5.7},
        {.name = "logistic",
         .series = "parts",
         .formula = "weight = P - A / (1 + exp((t - m) / w))",
         .n_parameters = 4,
         .parameter = {"P", "A", "m", "w"},
         .value = {25.179, 2.9, 0.4, 1.26},
         .covariance = {{4.4e-06, 0, 0, 0}, {0, 0.31, 0, 0}, {0, 0, 0.12, 0}, {0, 0, 0, 3.3e-04}},
         .residual_sd = 0.0037,
         .aicc = -179.22,
         .weight = 0.17,
         .misfit = 0.14,
         .misfit_p = 0.41,
         .rank = 4,
         .condition_number = 388.0,
         .stop = "gradient below tolerance",
         .tried = true,
         .in_play = true,
         .plateau = true,
         .answer = 5.3,
         .answer_low = 5.1,
         .answer_high = 5.7},
        {.name = "straight line",
         .series = "parts",
         .formula = "weight = a + b t",
         .n_parameters = 2,
         .parameter = {"a", "b"},
         .value = {24.73, 0.0612},
         .covariance = {{0.0021, -3.4e-04}, {-3.4e-04, 6.5e-05}},
         .residual_sd = 0.0871,
         .aicc = -41.8,
         .weight = 0.0,
         .misfit = 8.2,
         .misfit_p = 1.2e-14,
         .rank = 2,
         .condition_number = 6.1,
         .stop = "linear",
         .tried = true,
         .answer = NAN,
         .answer_low = NAN,
         .answer_high = INFINITY},
        {.name = "stretched exponential",
         .series = "parts",
         .formula = "weight = P - A exp(-(t / tau)^b)",
         .residual_sd = NAN,
         .aicc = NAN,
         .weight = NAN,
         .misfit = NAN,
         .misfit_p = NAN,
         .condition_number = INFINITY,
         .stop = "not tried: too few conditions",
         .answer = NAN,
         .answer_low = NAN,
         .answer_high = NAN},
    };
    f->n_models = f->cap_models = PL_COUNT(models);
    f->models = keep(a, models, sizeof *models, f->n_models);
}

static void add_conditions(struct arena *a, struct finding *f)
{
    f->n_conditions = f->cap_conditions = CONDITIONS + 1;
    f->conditions = ARENA_ARRAY(a, struct condition, f->n_conditions);
    for (size_t i = 0; i < CONDITIONS; i++) {
        double sum = 0.0, square = 0.0;
        size_t n = 0;
        for (size_t j = 0; j < SHOTS; j++)
            if (!is_excluded(i, j)) {
                sum += shot_weight(i, j);
                n++;
            }
        double mean = sum / (double)n;
        for (size_t j = 0; j < SHOTS; j++)
            if (!is_excluded(i, j))
                square += (shot_weight(i, j) - mean) * (shot_weight(i, j) - mean);
        double fit = weight_at(setting_of(i));
        f->conditions[i] = (struct condition){.series = "parts",
                                              .setting = setting_of(i),
                                              .block = (int)i + 1,
                                              .n = n,
                                              .mean = round_10(mean),
                                              .sd = round_10(sqrt(square / (double)(n - 1))),
                                              .fitted = round_10(fit),
                                              .fitted_low = round_10(fit - 0.004),
                                              .fitted_high = round_10(fit + 0.004),
                                              .file = FREEZE_FILE,
                                              .first_line = shot_line(i, 0)};
    }
    f->conditions[CONDITIONS] = (struct condition){.series = "parts",
                                                   .setting = 12.0,
                                                   .block = 9,
                                                   .n = 1,
                                                   .mean = 25.21,
                                                   .sd = NAN,
                                                   .fitted = NAN,
                                                   .fitted_low = NAN,
                                                   .fitted_high = NAN,
                                                   .left_out = "flash at the parting line",
                                                   .file = FREEZE_FILE,
                                                   .first_line = shot_line(CONDITIONS, 0)};
}

/* Two arrays of a series: every shot that is (or is not) left out. */
static struct series shot_series(struct arena *a, bool excluded)
{
    double *x = ARENA_ARRAY(a, double, CONDITIONS *SHOTS);
    double *y = ARENA_ARRAY(a, double, CONDITIONS *SHOTS);
    size_t n = 0;
    for (size_t i = 0; i < CONDITIONS; i++)
        for (size_t j = 0; j < SHOTS; j++)
            if (is_excluded(i, j) == excluded) {
                x[n] = setting_of(i);
                y[n++] = shot_weight(i, j);
            }
    return (struct series){.label = excluded ? "shot left out" : "shots",
                           .role = excluded ? SERIES_EXCLUDED : SERIES_SHOTS,
                           .n = n,
                           .x = x,
                           .y = y};
}

static struct series mean_series(struct arena *a, const struct finding *f)
{
    double *v = ARENA_ARRAY(a, double, 4 * CONDITIONS);
    double *x = v, *y = v + CONDITIONS, *low = v + 2 * CONDITIONS, *high = v + 3 * CONDITIONS;
    for (size_t i = 0; i < CONDITIONS; i++) {
        x[i] = f->conditions[i].setting;
        y[i] = f->conditions[i].mean;
        low[i] = y[i] - 0.006;
        high[i] = y[i] + 0.006;
    }
    return (struct series){.label = "condition means",
                           .role = SERIES_MEANS,
                           .n = CONDITIONS,
                           .x = x,
                           .y = y,
                           .low = low,
                           .high = high,
                           .group = 1};
}

#define CURVE_POINTS 71

static void weight_figure(struct arena *a, const struct finding *f, struct figure *g)
{
    double *v = ARENA_ARRAY(a, double, 5 * CURVE_POINTS);
    double *x = v, *y = v + CURVE_POINTS, *other = v + 2 * CURVE_POINTS;
    double *low = v + 3 * CURVE_POINTS, *high = v + 4 * CURVE_POINTS;
    for (size_t i = 0; i < CURVE_POINTS; i++) {
        x[i] = 2.0 + 0.1 * (double)i;
        y[i] = weight_at(x[i]);
        other[i] = y[i] + 0.012 * sin((x[i] - 2.0) * 0.9);
        low[i] = y[i] - 0.005;
        high[i] = y[i] + 0.005;
    }
    *g = (struct figure){
        .name = "gate-freeze-weight",
        .title = "The gate is frozen from 5.4 s on",
        .description = "Part weight against hold time: 22 shots at 8 hold times, the exponential "
                       "fit with its interval, and the lower bound of 5.8 s.",
        .x = {"hold time", "hold_time", DIM_TIME, NULL, AXIS_LINEAR, NAN, NAN},
        .y = {"part weight", NULL, DIM_MASS, NULL, AXIS_LINEAR, 24.8, 25.25},
    };
    g->n_series = 4;
    g->series = ARENA_ARRAY(a, struct series, g->n_series);
    g->series[0] = shot_series(a, false);
    g->series[1] = shot_series(a, true);
    g->series[2] = mean_series(a, f);
    static const char *const words[] = {"flash"};
    g->series[3] = (struct series){.label = "beyond the press",
                                   .role = SERIES_LIMITED,
                                   .n = 1,
                                   .x = KEEP(a, double, 1, 9.0),
                                   .y = KEEP(a, double, 1, 25.19),
                                   .point_label = keep(a, words, sizeof *words, 1),
                                   .group = 2};
    g->n_curves = 2;
    g->curves = KEEP(a, struct curve, 2, {"exponential", CURVE_FIT, CURVE_POINTS, x, y},
                     {"logistic", CURVE_CANDIDATE, CURVE_POINTS, x, other});
    g->n_bands = 1;
    g->bands = KEEP(a, struct band, 1, {"95 % interval", CURVE_POINTS, x, low, high});
    g->n_rules = 3;
    g->rules = KEEP(a, struct rule, 3, {"lower bound 5.8 s", RULE_BOUND, true, 5.8},
                    {"freeze time 5.4 s", RULE_ESTIMATE, true, 5.4},
                    {"plateau - 0.1 %", RULE_TOLERANCE, false, PLATEAU * 0.999});
    g->n_regions = 3;
    g->regions = KEEP(a, struct region, 3,
                      {"too short", REGION_REJECTED, -INFINITY, 5.1, -INFINITY, INFINITY},
                      {"interval", REGION_INTERVAL, 5.1, 5.8, -INFINITY, INFINITY},
                      {"frozen", REGION_CHOSEN, 5.8, INFINITY, -INFINITY, INFINITY});
}

static void residual_figure(struct arena *a, const struct finding *f, struct figure *g)
{
    double *x = ARENA_ARRAY(a, double, CONDITIONS), *y = ARENA_ARRAY(a, double, CONDITIONS);
    for (size_t i = 0; i < CONDITIONS; i++) {
        x[i] = f->conditions[i].setting;
        y[i] = f->conditions[i].mean - f->conditions[i].fitted;
    }
    *g = (struct figure){
        .name = "gate-freeze-residuals",
        .title = "Residuals of the exponential",
        .description = "Mean weight of each condition minus the fit, against hold time.",
        .x = {"hold time", "hold_time", DIM_TIME, NULL, AXIS_LINEAR, NAN, NAN},
        .y = {"residual", NULL, DIM_MASS, NULL, AXIS_LINEAR, NAN, NAN},
        .beside = "gate-freeze-weight",
    };
    g->n_series = 1;
    g->series = ARENA_ARRAY(a, struct series, 1);
    g->series[0] = (struct series){
        .label = "condition means", .role = SERIES_MEANS, .n = CONDITIONS, .x = x, .y = y};
    g->n_rules = 1;
    g->rules = KEEP(a, struct rule, 1, {"fit", RULE_LIMIT, false, 0.0});
}

static void add_table(struct arena *a, struct finding *f)
{
    static const struct data_column columns[] = {
        {"hold time", DIM_TIME, NULL, false, 2},
        {"shots", DIM_COUNT, NULL, false, 0},
        {"mean weight", DIM_MASS, NULL, false, 5},
        {"remark", DIM_TEXT, NULL, true, 0},
    };
    size_t n = PL_COUNT(columns), rows = f->n_conditions;
    struct data_table t = {.name = "gate-freeze-conditions",
                           .title = "Conditions",
                           .columns = keep(a, columns, sizeof *columns, n),
                           .n_columns = n,
                           .n_rows = rows,
                           .values = ARENA_ARRAY(a, double, n *rows),
                           .texts = ARENA_ARRAY(a, const char *, n *rows)};
    for (size_t i = 0; i < rows; i++) {
        const struct condition *c = &f->conditions[i];
        t.values[i * n] = c->setting;
        t.values[i * n + 1] = (double)c->n;
        t.values[i * n + 2] = c->mean;
        t.values[i * n + 3] = NAN;
        t.texts[i * n + 3] = c->left_out != NULL ? c->left_out : "";
    }
    f->n_tables = f->cap_tables = 1;
    f->tables = keep(a, &t, sizeof t, 1);
}

static void make_gate_freeze(struct arena *a, struct finding *f)
{
    *f = (struct finding){.study = "gate-freeze",
                          .title = "Gate freeze",
                          .verdict = VERDICT_MET,
                          .decision =
                              "Set 6.3 s: weight is within 0.1 % of its plateau from 5.4 s on, "
                              "95 % interval 5.1 to 5.8 s; lower bound 5.8 s, margin 0.5 s.",
                          .rows_used = CONDITIONS * SHOTS - 1,
                          .with_excluded = "With the row that was left out put back, the freeze "
                                           "time is 5.5 s (5.1 to 5.9 s).",
                          .arena = a};
    f->n_files = 1;
    f->files = KEEP(a, char *, 1, FREEZE_FILE);
    add_numbers(a, f);
    add_models(a, f);
    add_conditions(a, f);
    f->n_left_out = f->cap_left_out = 2;
    f->left_out =
        KEEP(a, struct row_use, 2, {FREEZE_FILE, shot_line(4, 1), "part fell on the floor", true},
             {FREEZE_FILE, shot_line(CONDITIONS, 1), "average row", false});
    f->n_figures = f->cap_figures = 2;
    f->figures = ARENA_ARRAY(a, struct figure, 2);
    weight_figure(a, f, &f->figures[0]);
    residual_figure(a, f, &f->figures[1]);
    add_table(a, f);
}

/* ---- hold window ----------------------------------------------------------------------------- */

static void make_hold_window(struct arena *a, struct finding *f)
{
    *f =
        (struct finding){.study = "hold-window",
                         .title = "Hold window",
                         .verdict = VERDICT_NOT_SHOWN,
                         .decision = "Parts were good from 420 to 540 bar at 205 and 225 degC; the "
                                     "corners have not been run.",
                         .rows_used = 30,
                         .arena = a};
    f->n_files = 1;
    f->files = KEEP(a, char *, 1, HOLD_FILE);
    f->n_criteria = f->cap_criteria = 1;
    f->criteria =
        KEEP(a, struct criterion, 1,
             {"reliability", "share of good shots at the edges", DIM_RATIO, "95 %", 0.95, 1.0,
              0.549, 1.0, 0.95, 1, 'C', VERDICT_NOT_SHOWN,
              "5 of 5 shots were good, which shows a share of at least 54.9 %", -1, false});
    f->n_bounds = f->cap_bounds = 2;
    f->bounds = KEEP(a, struct bound, 2,
                     {"hold_pressure", BOUND_LOWER, DIM_PRESSURE, 42.0, 40.0, 42.0, BOUND_LIMIT,
                      "hold-window", NULL, "reliability", VERDICT_NOT_SHOWN,
                      "the lowest hold pressure without sink at both temperatures", 30},
                     {"hold_pressure", BOUND_UPPER, DIM_PRESSURE, 54.0, 54.0, 56.0, BOUND_LIMIT,
                      "hold-window", NULL, "reliability", VERDICT_NOT_SHOWN,
                      "the highest hold pressure without flash at both temperatures", 30});
    f->n_next_shots = f->cap_next_shots = 1;
    f->next_shots = KEEP(a, struct next_shot, 1,
                         {"hold_pressure", DIM_PRESSURE, 42.0, 59, NULL,
                          "59 good shots in a row show 95 % at 95 % confidence",
                          "corner 420 bar, 205 degC has not been challenged", NAN, NAN});
}

/* ---- window and premises --------------------------------------------------------------------- */

static struct window *make_window(struct arena *a, const struct finding *f)
{
    struct window *w = ARENA_NEW(a, struct window);
    const struct bound *freeze = &f[0].bounds[0], *hold = f[1].bounds;
    struct bound *rating = KEEP(a, struct bound, 1,
                                {"hold_pressure", BOUND_UPPER, DIM_PRESSURE, 180.0, 180.0, INFINITY,
                                 BOUND_CONVENTION, "window", NULL, "pressure_use_max", VERDICT_MET,
                                 "90 % of the pressure the press has", 0});
    struct window_setting s[] = {
        {.setting = "hold_pressure",
         .title = "Hold pressure",
         .dimension = DIM_PRESSURE,
         .low = &hold[0],
         .high = &hold[1],
         .low_value = 42.0,
         .high_value = 54.0,
         .aim = 48.0,
         .aim_because = "centre of the rectangle, to the nearest 1 bar",
         .margin = NAN,
         .verdict = VERDICT_NOT_SHOWN,
         .because = "Parts were good from 420 to 540 bar at both melt temperatures, but nobody has "
                    "run the corners yet.",
         .decided_by = "hold-window",
         .n_runners_up = 1,
         .running = 40.0,
         .running_verdict = VERDICT_NOT_MET},
        {.setting = "hold_time",
         .title = "Hold time",
         .dimension = DIM_TIME,
         .low = freeze,
         .low_value = 5.8,
         .high_value = NAN,
         .aim = 6.3,
         .aim_because = "bound 5.8 s + margin 0.5 s, up to the next 0.1 s",
         .margin = 0.5,
         .verdict = VERDICT_MET,
         .by_convention = true,
         .because = "Weight is within 0.1 % of its plateau from 5.8 s on.",
         .decided_by = "gate-freeze",
         .running = 6.5,
         .running_verdict = VERDICT_MET},
    };
    w->n_settings = PL_COUNT(s);
    w->settings = keep(a, s, sizeof *s, w->n_settings);
    w->settings[0].runners_up = ARENA_ARRAY(a, const struct bound *, 1);
    w->settings[0].runners_up[0] = rating;

    struct no_window none = {"clamp_force", NULL, rating,
                             "flash needs at least 900 kN and the mold is rated for 850 kN"};
    w->n_none = 1;
    w->none = keep(a, &none, sizeof none, 1);
    w->n_expected = 2;
    w->expected = KEEP(
        a, struct expected_response, 2,
        {"cushion", "cushion", DIM_LENGTH, 5.2, NAN, NAN, "one press reading, no interval"},
        {"part_weight", "part weight", DIM_MASS, 25.18, 25.169, 25.191, "fit and shot scatter"});
    w->n_flags = 1;
    w->flags = KEEP(a, struct flag, 1,
                    {"worst-corner-untested", FLAG_DOUBT,
                     "hold time was found at 217 degC; the window reaches 225 degC", NULL, 0});
    w->n_assumptions = 1;
    w->assumptions = KEEP(a, struct assumption, 1, {"repeatability of hold time taken as 0"});
    w->verdict = VERDICT_NOT_SHOWN;
    return w;
}

static struct facts *make_facts(struct arena *a)
{
    static const struct fact facts[] = {
        {"trial", "title", FACT_TEXT, DIM_TEXT, NAN, NAN, NAN, "Lid, first trial", 2, true, 0},
        {"trial", "mold", FACT_TEXT, DIM_TEXT, NAN, NAN, NAN, "M-117", 3, true, 0},
        {"press", "time_step", FACT_QUANTITY, DIM_TIME, 0.1, 0.1, NAN, "0.1 s", 6, true, 0},
        {"press", "pressure_step", FACT_QUANTITY, DIM_PRESSURE, 0.1, 0.1, NAN, "1 bar", 7, true, 0},
        {"material", "melt_temperature", FACT_RANGE, DIM_TEMPERATURE, 200.0, 230.0, NAN,
         "200..230 degC", 10, true, 0},
        {"dimensions", "pull_force", FACT_LIMITS, DIM_FORCE, 0.012, INFINITY, NAN, ">= 12 N", 13,
         true, 0},
        {"criteria", "hold_time_margin", FACT_QUANTITY, DIM_TIME, 0.5, 0.5, 0.05,
         "0.5 s or 5 %, the larger", 0, false, 'C'},
        {"running", "hold_time", FACT_QUANTITY, DIM_TIME, 6.5, 6.5, NAN, "6.5 s", 16, true, 0},
    };
    struct facts *f = ARENA_NEW(a, struct facts);
    *f = (struct facts){"trial.ini", keep(a, facts, sizeof facts[0], PL_COUNT(facts)),
                        PL_COUNT(facts), PL_COUNT(facts)};
    return f;
}

static void add_records(struct arena *a, struct premises_file *f)
{
    f->n_header = 3;
    f->header = KEEP(a, char *, 3, "Hold time", "Part weight", "exclude");
    f->n_records = CONDITIONS * SHOTS + 2;
    f->records = ARENA_ARRAY(a, struct premises_record, f->n_records);
    for (size_t k = 0; k < f->n_records; k++) {
        size_t i = k / SHOTS, j = k % SHOTS;
        struct premises_record *r = &f->records[k];
        r->line = shot_line(i, j);
        r->n_cells = 3;
        r->cells = ARENA_ARRAY(a, const char *, 3);
        r->cells[0] = i < CONDITIONS ? arena_printf(a, "%.1f", setting_of(i)) : "12.0";
        r->cells[1] = i < CONDITIONS ? arena_printf(a, "%.3f", shot_weight(i, j)) : "25.210";
        r->cells[2] = "";
        if (i < CONDITIONS && is_excluded(i, j)) {
            r->left_out = true;
            r->reason = r->cells[2] = "part fell on the floor";
        }
        if (k == 3) {
            r->cells[1] = arena_printf(a, "%.3f g", shot_weight(i, j));
            r->repaired = KEEP(a, bool, 3, false, true, false);
        }
    }
    f->records[f->n_records - 1].left_out = true;
    f->records[f->n_records - 1].reason = "average row";
    f->records[f->n_records - 1].cells[0] = "average";
}

static void add_files(struct arena *a, struct premises *p)
{
    static const struct premises_file files[] = {
        {.name = "trial.ini",
         .study = "",
         .sha256 = "3f1b0c0d7d2c1a5e9b8f7a6c5d4e3f2a1b0c9d8e7f6a5b4c3d2e1f0a9b8c7d6e",
         .bytes = 412,
         .encoding = "UTF-8"},
        {.name = FREEZE_FILE,
         .study = "gate-freeze",
         .sha256 = "a1b2c3d4e5f60718293a4b5c6d7e8f90a1b2c3d4e5f60718293a4b5c6d7e8f90",
         .bytes = 689,
         .encoding = "UTF-8 with byte order mark",
         .separator = "semicolon",
         .decimal = "comma",
         .layout = "one column",
         .header_line = 3,
         .units_line = 4,
         .rows_read = 26,
         .rows_used = 23,
         .rows_left_out = 3,
         .units = "hold_time s, weight g"},
        {.name = HOLD_FILE,
         .study = "hold-window",
         .sha256 = "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff",
         .bytes = 1033,
         .encoding = "Windows-1252",
         .separator = "comma",
         .decimal = "point",
         .layout = "one column",
         .header_line = 1,
         .rows_read = 30,
         .rows_used = 30,
         .units = "hold_pressure bar, melt_temperature degC"},
    };
    p->n_files = PL_COUNT(files);
    p->files = keep(a, files, sizeof files[0], p->n_files);
    struct premises_file *f = &p->files[1];
    f->n_preamble = 1;
    f->preamble = KEEP(a, char *, 1, "Freeze study, night shift");
    f->n_unused = 1;
    f->unused = KEEP(a, char *, 1, "Operator");
    f->n_repairs = 2;
    f->repairs = KEEP(
        a, struct premises_repair, 2,
        {"unit-in-cell", "a unit behind the number was read and taken off", "weight", 1, {8, 0, 0}},
        {"decimal-comma", "the decimal mark is a comma", NULL, 52, {5, 6, 7}});
    f->n_excluded = 1;
    f->excluded =
        KEEP(a, struct row_use, 1, {FREEZE_FILE, shot_line(4, 1), "part fell on the floor", true});
    add_records(a, f);
}

static struct premises *make_premises(struct arena *a)
{
    struct premises *p = ARENA_NEW(a, struct premises);
    *p = (struct premises){.facts = make_facts(a),
                           .path = "lid-trial",
                           .confidence = 0.95,
                           .resamples = 2000,
                           .seed = 1};
    for (int d = 0; d < DIM_N; d++)
        p->display[d] = (struct display_unit){dimension_unit((enum dimension)d), 1.0, 0.0};
    p->display[DIM_PRESSURE] = (struct display_unit){"bar", 0.1, 0.0};
    p->display[DIM_RATIO] = (struct display_unit){"%", 0.01, 0.0};
    add_files(a, p);
    p->n_unread = 1;
    p->unread = KEEP(a, char *, 1, "notes.csv");
    p->n_cautions = 2;
    p->cautions = KEEP(a, char *, 2, "Work behind closed guards; melt burns.",
                       "Never exceed the mold's rated clamp force to complete a study.");
    return p;
}

void sample_analysis(struct arena *a, struct analysis *out)
{
    struct finding *f = ARENA_ARRAY(a, struct finding, 2);
    make_gate_freeze(a, &f[0]);
    make_hold_window(a, &f[1]);
    *out = (struct analysis){
        .premises = make_premises(a), .findings = f, .n_findings = 2, .window = make_window(a, f)};
}

struct finding *sample_findings(const struct analysis *x)
{
    return (struct finding *)(uintptr_t)x->findings;
}

struct window *sample_window(const struct analysis *x)
{
    return (struct window *)(uintptr_t)x->window;
}

struct premises *sample_premises(const struct analysis *x)
{
    return (struct premises *)(uintptr_t)x->premises;
}

/* ---- variants -------------------------------------------------------------------------------- */

const char sample_hostile_text[] = "<script>alert(1)</script> \"'&]]>\x1b[2J\x1b]0;owned\x07 "
                                   "\xe2\x80\xae txt \xff\xc3 \x9b\x01 {\"a\":1}";

void sample_analysis_hostile(struct arena *a, struct analysis *out)
{
    sample_analysis(a, out);
    const char *h = sample_hostile_text;
    struct finding *f = sample_findings(out);
    struct premises *p = sample_premises(out);
    struct facts *facts = make_facts(a);
    facts->items[0].text = facts->items[1].text = facts->items[5].text = facts->items[5].key = h;
    p->facts = facts;
    f->files[0] = f->decision = f->with_excluded = h;
    f->flags[0].text = f->flags[0].file = h;
    f->left_out[0].reason = f->left_out[0].file = h;
    f->conditions[0].series = f->conditions[0].left_out = f->conditions[0].file = h;
    f->quantities[0].name = f->quantities[0].title = h;
    f->criteria[1].title = f->criteria[1].because = f->criteria[1].limit_wording = h;
    f->next_shots[0].promise = f->next_shots[0].series = f->next_shots[0].why = h;
    f->tables[0].texts[3] = f->tables[0].title = h;
    f->figures[0].title = f->figures[0].description = f->figures[0].x.title = h;
    f->figures[0].series[0].label = f->figures[0].rules[0].label = h;
    f->figures[0].curves[0].label = f->figures[0].regions[0].label = h;
    f->figures[0].series[3].point_label = KEEP(a, char *, 1, sample_hostile_text);
    struct premises_file *file = &p->files[1];
    file->name = file->preamble[0] = file->unused[0] = file->units = h;
    file->header[1] = file->records[0].cells[2] = file->records[13].reason = h;
    file->repairs[0].text = file->repairs[0].column = file->excluded[0].reason = h;
    p->unread[0] = h;
    struct window *w = sample_window(out);
    w->settings[1].because = w->none[0].text = w->flags[0].text = h;
    w->expected[0].because = w->assumptions[0].text = h;
}

void sample_analysis_not_frozen(struct arena *a, struct analysis *out)
{
    sample_analysis(a, out);
    out->n_findings = 1;
    struct finding *f = sample_findings(out);
    f->verdict = VERDICT_NOT_MET;
    f->decision =
        "No hold time can be recommended: weight is still rising at 9 s, the longest time "
        "tested.";
    f->n_bounds = 0;
    f->quantities[0].value = NAN;
    f->quantities[0].high = INFINITY;
    f->quantities[0].reason = "no plateau in the tested range";
    f->n_criteria = 1;
    f->criteria[0].verdict = VERDICT_NOT_MET;
    f->criteria[0].because = "from 7 to 9 s the weight still rises by 0.06 g";
    f->n_flags = 1;
    f->flags[0] = (struct flag){"gate-not-frozen", FLAG_STOP,
                                "weight still rises by 0.12 %/s at 9 s, the longest time tested",
                                FREEZE_FILE, shot_line(CONDITIONS - 1, 0)};
    f->n_next_shots = 1;
    f->next_shots[0] = (struct next_shot){"hold_time",
                                          DIM_TIME,
                                          12.0,
                                          3,
                                          NULL,
                                          "shows whether the gate freezes at all",
                                          "the tested range ends before a plateau",
                                          NAN,
                                          NAN};
    struct window *w = sample_window(out);
    w->settings = &w->settings[1];
    w->n_settings = 1;
    struct window_setting *s = w->settings;
    s->low = s->high = NULL;
    s->low_value = s->high_value = s->aim = s->margin = NAN;
    s->aim_because = "there is no lower bound";
    s->verdict = VERDICT_NOT_MET;
    s->by_convention = false;
    s->because = "weight is still rising at 9 s, the longest time tested";
    s->running_verdict = VERDICT_NOT_SHOWN;
    w->n_none = w->n_flags = w->n_expected = w->n_assumptions = 0;
    w->verdict = VERDICT_NOT_MET;
    sample_premises(out)->n_files = 2;
}
