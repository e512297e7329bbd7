/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Uses the base room alone, so that every test program can be linked with it. */
#include <math.h>
#include <string.h>

#include "sample_data.h"

/* weight = PLATEAU - RISE exp(-t / TAU): 0.1 % below its plateau at TAU ln(RISE / 0.02518) = 5.40 s
 */
#define PLATEAU 25.18
#define RISE 1.30
#define TAU 1.37

void *sample_keep(struct arena *a, const void *items, size_t size, size_t n)
{
    void *p = arena_array(a, n, size);
    memcpy(p, items, n * size);
    return p;
}

static double weight_at(double t)
{
    return PLATEAU - RISE * exp(-t / TAU);
}

double sample_setting(size_t i)
{
    return 2.0 + (double)i;
}

/* weight of shot j at condition i: a fixed pattern about 4 mg wide in place of noise */
double sample_weight(size_t i, size_t j)
{
    static const int pattern_mg[] = {3, -4, 1, -2, 5, -1, 4, -3, 0, -5, 2, 4};
    double noise = pattern_mg[(i * 5 + j * 3) % PL_COUNT(pattern_mg)] / 1000.0;
    return round((weight_at(sample_setting(i)) + noise) * 1000.0) / 1000.0;
}

bool sample_is_excluded(size_t i, size_t j)
{
    return i == 4 && j == 1;
}

long sample_line(size_t i, size_t j)
{
    return (long)(5 + i * SAMPLE_SHOTS + j);
}

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
    f->quantities = sample_keep(a, quantities, sizeof *quantities, f->n_quantities);

    static const struct criterion criteria[] = {
        {"freeze_tolerance", "weight stays on its plateau", DIM_MASS, "0.1 % of plateau weight",
         0.02518, 0.0009, -0.0021, 0.0039, 0.95, 2, 'O', VERDICT_MET,
         "from 6 to 9 s the weight moves by less than 0.025 g", 0, false},
        {"imbalance_aim", "cavities freeze together", DIM_RATIO, "3 %", 0.03, 0.026, 0.012, 0.041,
         0.95, 2, 'C', VERDICT_NOT_SHOWN,
         "the interval 1.2 to 4.1 % reaches across the limit of 3 %", 6, true},
    };
    f->n_criteria = f->cap_criteria = PL_COUNT(criteria);
    f->criteria = sample_keep(a, criteria, sizeof *criteria, f->n_criteria);

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
    f->models = sample_keep(a, models, sizeof *models, f->n_models);
}

static void add_conditions(struct arena *a, struct finding *f)
{
    f->n_conditions = f->cap_conditions = SAMPLE_CONDITIONS + 1;
    f->conditions = ARENA_ARRAY(a, struct condition, f->n_conditions);
    for (size_t i = 0; i < SAMPLE_CONDITIONS; i++) {
        double sum = 0.0, square = 0.0;
        size_t n = 0;
        for (size_t j = 0; j < SAMPLE_SHOTS; j++)
            if (!sample_is_excluded(i, j)) {
                sum += sample_weight(i, j);
                n++;
            }
        double mean = sum / (double)n;
        for (size_t j = 0; j < SAMPLE_SHOTS; j++)
            if (!sample_is_excluded(i, j))
                square += (sample_weight(i, j) - mean) * (sample_weight(i, j) - mean);
        double fit = weight_at(sample_setting(i));
        f->conditions[i] = (struct condition){.series = "parts",
                                              .setting = sample_setting(i),
                                              .block = (int)i + 1,
                                              .n = n,
                                              .mean = round_10(mean),
                                              .sd = round_10(sqrt(square / (double)(n - 1))),
                                              .fitted = round_10(fit),
                                              .fitted_low = round_10(fit - 0.004),
                                              .fitted_high = round_10(fit + 0.004),
                                              .file = FREEZE_FILE,
                                              .first_line = sample_line(i, 0)};
    }
    f->conditions[SAMPLE_CONDITIONS] =
        (struct condition){.series = "parts",
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
                           .first_line = sample_line(SAMPLE_CONDITIONS, 0)};
}

/* Two arrays of a series: every shot that is (or is not) left out. */
static struct series shot_series(struct arena *a, bool excluded)
{
    double *x = ARENA_ARRAY(a, double, SAMPLE_CONDITIONS *SAMPLE_SHOTS);
    double *y = ARENA_ARRAY(a, double, SAMPLE_CONDITIONS *SAMPLE_SHOTS);
    size_t n = 0;
    for (size_t i = 0; i < SAMPLE_CONDITIONS; i++)
        for (size_t j = 0; j < SAMPLE_SHOTS; j++)
            if (sample_is_excluded(i, j) == excluded) {
                x[n] = sample_setting(i);
                y[n++] = sample_weight(i, j);
            }
    return (struct series){.label = excluded ? "shot left out" : "shots",
                           .role = excluded ? SERIES_EXCLUDED : SERIES_SHOTS,
                           .n = n,
                           .x = x,
                           .y = y};
}

static struct series mean_series(struct arena *a, const struct finding *f)
{
    double *v = ARENA_ARRAY(a, double, 4 * SAMPLE_CONDITIONS);
    double *x = v, *y = v + SAMPLE_CONDITIONS, *low = v + 2 * SAMPLE_CONDITIONS,
           *high = v + 3 * SAMPLE_CONDITIONS;
    for (size_t i = 0; i < SAMPLE_CONDITIONS; i++) {
        x[i] = f->conditions[i].setting;
        y[i] = f->conditions[i].mean;
        low[i] = y[i] - 0.006;
        high[i] = y[i] + 0.006;
    }
    return (struct series){.label = "condition means",
                           .role = SERIES_MEANS,
                           .n = SAMPLE_CONDITIONS,
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
                                   .point_label = sample_keep(a, words, sizeof *words, 1),
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
    double *x = ARENA_ARRAY(a, double, SAMPLE_CONDITIONS),
           *y = ARENA_ARRAY(a, double, SAMPLE_CONDITIONS);
    for (size_t i = 0; i < SAMPLE_CONDITIONS; i++) {
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
        .label = "condition means", .role = SERIES_MEANS, .n = SAMPLE_CONDITIONS, .x = x, .y = y};
    g->n_rules = 1;
    g->rules = KEEP(a, struct rule, 1, {"fit", RULE_LIMIT, false, 0.0});
}

static void add_table(struct arena *a, struct finding *f)
{
    static const struct data_column columns[] = {
        {"hold time", DIM_TIME, NULL, false, 2, 0},
        {"shots", DIM_COUNT, NULL, false, 0, 0},
        {"mean weight", DIM_MASS, NULL, false, 5, 0},
        {"remark", DIM_TEXT, NULL, true, 0, 0},
    };
    size_t n = PL_COUNT(columns), rows = f->n_conditions;
    struct data_table t = {.name = "gate-freeze-conditions",
                           .title = "Conditions",
                           .columns = sample_keep(a, columns, sizeof *columns, n),
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
    f->tables = sample_keep(a, &t, sizeof t, 1);
}

/* Another freeze time, a verdict more and a bound moved; the rest is the same or is not there. */
static void add_other_answer(struct arena *a, struct finding *f)
{
    struct other_answer o = {.which = SHOTS_WITH_EXCLUDED,
                             .title = "with the excluded shot (line 18)",
                             .shots = 1,
                             .rows_used = f->rows_used + 1,
                             .verdict = VERDICT_NOT_SHOWN,
                             .decision = "Set 6.4 s: weight is within 0.1 % of its plateau from "
                                         "5.5 s on.",
                             .n_quantities = 3,
                             .n_criteria = 2,
                             .n_bounds = 1};
    o.quantities = sample_keep(a, f->quantities, sizeof *f->quantities, o.n_quantities);
    o.quantities[0].value = 5.5;
    o.quantities[0].high = 5.93;
    o.criteria = sample_keep(a, f->criteria, sizeof *f->criteria, o.n_criteria);
    o.criteria[0].verdict = VERDICT_NOT_SHOWN;
    o.bounds = sample_keep(a, f->bounds, sizeof *f->bounds, o.n_bounds);
    o.bounds[0].value = o.bounds[0].high = 5.93;
    f->n_other_answers = f->cap_other_answers = 1;
    f->other_answers = sample_keep(a, &o, sizeof o, 1);
}

void sample_gate_freeze(struct arena *a, struct finding *f)
{
    *f = (struct finding){.study = "gate-freeze",
                          .title = "Gate freeze",
                          .verdict = VERDICT_MET,
                          .decision =
                              "Set 6.3 s: weight is within 0.1 % of its plateau from 5.4 s on, "
                              "95 % interval 5.1 to 5.8 s; lower bound 5.8 s, margin 0.5 s.",
                          .rows_used = SAMPLE_CONDITIONS * SAMPLE_SHOTS - 1,
                          .with_excluded = "With the excluded shot (line 18) the answer is: Set "
                                           "6.4 s.",
                          .arena = a};
    f->n_files = 1;
    f->files = KEEP(a, char *, 1, FREEZE_FILE);
    add_numbers(a, f);
    add_other_answer(a, f);
    add_models(a, f);
    add_conditions(a, f);
    f->n_left_out = f->cap_left_out = 2;
    f->left_out =
        KEEP(a, struct row_use, 2, {FREEZE_FILE, sample_line(4, 1), "part fell on the floor", true},
             {FREEZE_FILE, sample_line(SAMPLE_CONDITIONS, 1), "average row", false});
    f->n_figures = f->cap_figures = 2;
    f->figures = ARENA_ARRAY(a, struct figure, 2);
    weight_figure(a, f, &f->figures[0]);
    residual_figure(a, f, &f->figures[1]);
    add_table(a, f);
}
