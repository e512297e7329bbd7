/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Gate freeze: from which hold time on does the part no longer gain weight? */
#include <math.h>
#include <string.h>

#include "gate_freeze.h"

static const struct column_spec columns[] = {
    {"hold_time",
     "holding time|pack time|packing time|pack and hold time|hold pressure time|holding pressure "
     "time|"
     "second stage time",
     DIM_TIME, COLUMN_REQUIRED | COLUMN_SETTING, 0.0, 3600.0,
     "hold time set at the press; the varied setting"},
    {"weight",
     "part weight|part wt|wt|weight of part|mass|part mass|parts weight|total part weight",
     DIM_MASS, COLUMN_REQUIRED | COLUMN_PER_CAVITY | COLUMN_CENSORED, 1e-5, 1e6,
     "weight of the part without the runner: one column for all cavities, or one per cavity"},
    {"runner_weight", "runner|runner wt|sprue weight|runner and sprue weight", DIM_MASS,
     COLUMN_CENSORED, 0.0, 1e6, "weight of the cold runner, weighed by itself"},
    {"cooling_time", "cool time|cooling|cure time", DIM_TIME, 0, 0.0, 36000.0,
     "cooling time set at the press; hold plus cooling should stay the same"},
    {"hold_pressure", "holding pressure|pack pressure|packing pressure|second stage pressure",
     DIM_PRESSURE, COLUMN_BASIS | COLUMN_INFORMS, 0.0, 400.0,
     "hold pressure at which the study was run; say in its header or in trial.ini, [press] "
     "pressure_basis, whether it is hydraulic or melt pressure: they differ by a factor of about "
     "ten"},
    {"cushion", "minimum cushion|cushion position|cushion min", DIM_LENGTH, 0, -10.0, 1000.0,
     "least screw position in front of the barrel's end; 0 means the screw bottomed"},
    {"injection_speed", "speed|injection velocity|inj speed|fill speed", DIM_SPEED, 0, 0.01, 5000.0,
     "injection speed at which the study was run"},
    {"fill_time", "filling time|injection time|inject time|first stage time", DIM_TIME, 0, 1e-3,
     600.0, "time from the start of injection to transfer, as the press shows it"},
    {"melt_temperature", "melt temp|temperature of melt", DIM_TEMPERATURE, 0, 20.0, 500.0,
     "melt temperature of the study, measured"},
    {"mold_temperature", "mold temp|mould temperature|mould temp|tool temperature", DIM_TEMPERATURE,
     0, -50.0, 350.0, "temperature of the mold's surface in the study, measured"},
};

static const struct criterion_spec criteria[] = {
    {"freeze_tolerance", DIM_MASS, NAN, 0.001, 'O', "0.1 % of the plateau weight",
     "How far below its plateau the part weight may still lie. Fixed before the data; never raised "
     "by "
     "noise, only to one step of a coarse balance."},
};

/* ---- what was asked for
 * --------------------------------------------------------------------------- */

static void read_criterion(struct gate_freeze *g)
{
    const struct fact *tolerance = facts_find(&g->trial->facts, "criteria", "freeze_tolerance");
    g->options = (struct plateau_options){.tolerance_absolute = PL_NAN,
                                          .tolerance_relative = criteria[0].relative,
                                          .confidence = g->confidence,
                                          .direction = 1};
    g->tolerance_wording = criteria[0].wording;
    if (tolerance == NULL || !tolerance->given)
        return;
    g->options.tolerance_relative = tolerance->relative;
    g->options.tolerance_absolute = tolerance->low;
    if (!isnan(g->options.tolerance_relative))
        g->options.tolerance_absolute = PL_NAN;
    g->tolerance_wording = isnan(g->options.tolerance_relative)
                               ? tolerance->text
                               : arena_printf(g->a, "%s of the plateau weight", tolerance->text);
}

static void note_operating_point(struct gate_freeze *g)
{
    static const char *const settings[] = {"hold_pressure",    "melt_temperature",
                                           "mold_temperature", "injection_speed",
                                           "fill_time",        "cooling_time"};
    for (size_t i = 0; i < PL_COUNT(settings); i++) {
        int c = table_find(g->table, settings[i], 0);
        const struct fact *running = facts_find(&g->trial->facts, "running", settings[i]);
        double low = PL_INF, high = -PL_INF;
        for (size_t j = 0; c >= 0 && j < g->data.n; j++) {
            const struct cell *cell = &g->table->rows[g->data.row[j]].cells[c];
            if (cell->kind == CELL_VALUE) {
                low = fmin(low, cell->value);
                high = fmax(high, cell->value);
            }
        }
        bool from_column = low <= high;
        if (!from_column && (running == NULL || running->kind != FACT_QUANTITY))
            continue;
        enum dimension d = from_column ? g->table->columns[c].spec->dimension : running->dimension;
        struct operating_value *o = finding_operating(g->f, settings[i], d);
        o->low = from_column ? low : running->low;
        o->high = from_column ? high : running->high;
        o->from = from_column ? arena_printf(g->a, "column %s", settings[i]) : "[running]";
    }
}

/* ---- what was found
 * -------------------------------------------------------------------------------- */

static const char *no_value_reason(const struct gate_freeze *g)
{
    switch (g->r.state) {
    case PLATEAU_FOUND:
    case PLATEAU_OPEN:
        return "the fitted freeze time lies outside the tested hold times";
    case PLATEAU_BRACKET_ONLY:
        return "too few hold times for a curve: only the interval is known";
    case PLATEAU_BEFORE_FIRST:
        return "the gate freezes before the shortest tested hold time";
    case PLATEAU_UNDECIDED:
        return "the data do not tell a plateau from a slope";
    case PLATEAU_NOT_REACHED:
        break;
    }
    return "no plateau in the tested range";
}

static const char *interval_method(const struct gate_freeze *g)
{
    switch (g->r.state) {
    case PLATEAU_FOUND:
    case PLATEAU_OPEN:
        return "value of the best curve; interval: hull of the exact profiles of all plateau "
               "curves in "
               "play and of the neighbour bracket";
    case PLATEAU_BRACKET_ONLY:
    case PLATEAU_BEFORE_FIRST:
        return "neighbour bracket";
    case PLATEAU_UNDECIDED:
    case PLATEAU_NOT_REACHED:
        break;
    }
    return "none";
}

/* ---- all parts of a shot, where the common answer is that of some -----------------------------
 */

static double mean_of_all(const struct gate_freeze *g, size_t shot)
{
    double sum = 0.0;
    for (size_t c = 0; c < g->data.cavities; c++)
        sum += g->data.cavity[c][shot];
    return sum / (double)g->data.cavities;
}

/* What the mean of all parts weighs more than that of the cavities that share the common answer,
 * once all are frozen; 0: they are the same. `half` is its interval's. */
static double more_of_all(const struct gate_freeze *g, double *half)
{
    double n = 0.0, mean = 0.0, ss = 0.0, from = fmax(g->r.bound, g->last.bound);
    *half = 0.0;
    if (!(from > 0.0) || !isfinite(from))
        from = g->blocks.group_x[g->blocks.n_groups - 1];
    for (size_t i = 0; g->data.cavities > 1 && i < g->data.n; i++) {
        if (g->data.x[i] < from)
            continue;
        double off = mean_of_all(g, i) - g->data.y[i] - mean;
        n += 1.0;
        mean += off / n;
        ss += off * off * (n - 1.0) / n;
    }
    if (!(fabs(mean) > 1e-9 * fabs(g->r.level))) /* the arithmetic's */
        return 0.0;
    if (n > 1.0)
        *half = math_t_quantile(0.5 + 0.5 * g->confidence, n - 1.0) * sqrt(ss / (n - 1.0) / n);
    return mean;
}

/* Conditions of the mean over all cavities. */
static void note_all_parts(struct gate_freeze *g)
{
    double half;
    if (!(fabs(more_of_all(g, &half)) > 0.0))
        return;
    for (size_t i = 0; i < g->blocks.n_blocks; i++) {
        const struct math_block *b = &g->blocks.b[i];
        struct condition *c = finding_condition(g->f);
        double ss = 0.0;
        c->series = "all parts";
        c->setting_dimension = DIM_TIME;
        c->dimension = DIM_MASS;
        c->setting = b->x;
        c->block = (int)i + 1;
        c->n = b->n;
        c->mean = 0.0;
        for (size_t j = 0; j < b->n; j++) {
            double off = mean_of_all(g, b->first + j) - c->mean;
            c->mean += off / (double)(j + 1);
            ss += off * (mean_of_all(g, b->first + j) - c->mean);
        }
        c->sd = b->n > 1 ? sqrt(ss / (double)(b->n - 1)) : PL_NAN;
        c->file = gate_freeze_file(g, b->first);
        c->first_line = gate_freeze_line(g, b->first);
    }
}

static void note_quantities(struct gate_freeze *g)
{
    const struct plateau_answer *r = &g->r;
    struct quantity *q = finding_quantity(g->f, "freeze_time", "gate freeze time", DIM_TIME);
    q->value = r->value;
    if (r->state != PLATEAU_UNDECIDED && r->state != PLATEAU_NOT_REACHED) {
        q->low = r->low;
        q->high = r->high;
        q->level = g->confidence;
        q->sides = 2;
    }
    q->method = interval_method(g);
    q->reason = isnan(q->value) ? no_value_reason(g) : NULL;
    if (!isnan(r->start)) {
        q = finding_quantity(g->f, "plateau_start", "corner of the fitted curve", DIM_TIME);
        q->value = r->start;
        q->low = r->start_low;
        q->high = r->start_high;
        q->level = g->confidence;
        q->sides = 2;
        q->method = "exact profile of the corner, curves with a corner in play";
    }
    q = finding_quantity(
        g->f, "plateau_weight",
        g->data.cavities > 1
            ? arena_printf(g->a, "mean weight of the %zu parts of a shot, on the plateau",
                           g->data.cavities)
            : "part weight on the plateau, as weighed",
        DIM_MASS);
    double half, more = more_of_all(g, &half);
    q->value = r->level + more;
    q->reason = isnan(q->value) ? no_value_reason(g) : NULL;
    q->method = "mean of the last two hold times";
    if (!isnan(r->level_low)) {
        bool of_all = fabs(more) > 0.0;
        q->low = of_all ? q->value - hypot(r->level - r->level_low, half) : r->level_low;
        q->high = of_all ? q->value + hypot(r->level_high - r->level, half) : r->level_high;
        q->level = g->confidence;
        q->sides = 2;
        q->method = "end value of the best curve; hull of the exact profiles of the curves in play";
    }
    q = finding_quantity(g->f, "shot_sd", "scatter from shot to shot (sd)", DIM_MASS);
    q->value = r->shot_sd;
    q->method = "pooled within conditions";
    q->reason = isnan(q->value) ? "no hold time has two shots" : NULL;
    q = finding_quantity(g->f, "condition_sd", "scatter from condition to condition (sd)",
                         DIM_MASS);
    q->value = isnan(r->revisit_sd) ? r->block_sd : r->revisit_sd;
    q->method = isnan(r->revisit_sd) ? "around the best curve, in excess of the shots' scatter"
                                     : "from hold times run twice, in excess of the shots' scatter";
    q->reason = isnan(q->value) ? "needs repeated shots and a fitted curve" : NULL;
}

static void note_bound(struct gate_freeze *g)
{
    const struct plateau_answer *r = &g->r;
    if (!isfinite(r->bound))
        return;
    struct bound *b = finding_bound(g->f, "hold_time", BOUND_LOWER, DIM_TIME);
    b->value = r->bound;
    b->low = r->low;
    b->high = r->bound;
    b->grade = BOUND_LIMIT;
    b->model = r->state == PLATEAU_FOUND ? r->family[r->best].name : "neighbour bracket";
    b->criterion = "freeze_tolerance";
    b->verdict = study_plateau_verdict(r);
    b->rows = g->data.n;
    b->because = arena_printf(g->a, "from here on the part weight stays within %s of its plateau",
                              gate_freeze_mass(g, r->tolerance, r->tolerance / 10.0));
}

static void note_models(struct gate_freeze *g)
{
    for (int id = 0; id < FAMILY_N; id++) {
        struct model *m = study_note_family(g->f, "parts", &g->r.family[id]);
        m->chosen = id == g->r.best && g->r.state == PLATEAU_FOUND;
        m->answer_dimension = DIM_TIME;
    }
}

static void note_conditions(struct gate_freeze *g)
{
    const struct family_fit *best = g->r.best >= 0 ? &g->r.family[g->r.best] : NULL;
    double k = best != NULL ? gate_freeze_band_factor(g, best) : PL_NAN;
    for (size_t i = 0; i < g->blocks.n_blocks; i++) {
        const struct math_block *b = &g->blocks.b[i];
        struct condition *c = finding_condition(g->f);
        c->series = "parts";
        c->setting_dimension = DIM_TIME;
        c->dimension = DIM_MASS;
        c->setting = b->x;
        c->block = (int)i + 1;
        c->n = b->n;
        c->mean = b->mean;
        c->sd = b->n > 1 ? sqrt(b->ss / (double)(b->n - 1)) : PL_NAN;
        c->file = gate_freeze_file(g, b->first);
        c->first_line = gate_freeze_line(g, b->first);
        if (best == NULL)
            continue;
        double half = k * family_value_se(best, b->x, g->blocks.group_x[0]);
        c->fitted = family_value(best, b->x, g->blocks.group_x[0]);
        c->fitted_low = c->fitted - half;
        c->fitted_high = c->fitted + half;
    }
}

/* What the cushion was, for whoever wants to know what to expect of it. */
static void note_cushion(struct gate_freeze *g)
{
    int c = table_find(g->table, "cushion", 0);
    const struct math_blocks *b = &g->blocks;
    for (size_t i = 0; c >= 0 && i < b->n_blocks; i++) {
        double mean = 0.0, ss = 0.0;
        size_t n = 0;
        for (size_t j = b->b[i].first; j < b->b[i].first + b->b[i].n; j++) {
            const struct cell *cell = &g->table->rows[g->data.row[j]].cells[c];
            if (cell->kind != CELL_VALUE)
                continue;
            double off = cell->value - mean;
            mean += off / (double)++n;
            ss += off * (cell->value - mean);
        }
        if (n == 0)
            continue;
        struct condition *k = finding_condition(g->f);
        k->series = "cushion";
        k->setting_dimension = DIM_TIME;
        k->dimension = DIM_LENGTH;
        k->setting = b->b[i].x;
        k->block = (int)i + 1;
        k->n = n;
        k->mean = mean;
        k->sd = n > 1 ? sqrt(ss / (double)(n - 1)) : PL_NAN;
        k->file = gate_freeze_file(g, b->b[i].first);
        k->first_line = gate_freeze_line(g, b->b[i].first);
    }
    if (c < 0 || !(g->table->columns[c].step > 0.0))
        return;
    struct quantity *q =
        finding_quantity(g->f, "cushion_step", "step of the readings of the cushion", DIM_LENGTH);
    q->value = g->table->columns[c].step;
    q->method = "from the digits as written";
}

/* The runner is a series of its own: it goes on gaining after the gate has frozen. */
static void note_runner(struct gate_freeze *g)
{
    int c = table_find(g->table, "runner_weight", 0);
    if (c < 0)
        return;
    const struct math_blocks *b = &g->blocks;
    struct data_table *t = finding_table(g->f, "runner", "Runner weight", 3, b->n_groups);
    const struct data_column head[3] = {{"hold time", DIM_TIME, NULL, false, 0, 0},
                                        {"shots", DIM_COUNT, NULL, false, 0, 0},
                                        {"mean runner weight", DIM_MASS, NULL, false, 5, 0}};
    for (size_t i = 0; i < 3; i++)
        t->columns[i] = head[i];
    for (size_t group = 0; group < b->n_groups; group++) {
        double sum = 0.0, n = 0.0;
        for (size_t i = 0; i < b->n_blocks; i++)
            for (size_t j = b->b[i].first; b->b[i].group == group && j < b->b[i].first + b->b[i].n;
                 j++) {
                const struct cell *cell = &g->table->rows[g->data.row[j]].cells[c];
                if (cell->kind == CELL_VALUE) {
                    sum += cell->value;
                    n += 1.0;
                }
            }
        t->values[group * 3] = b->group_x[group];
        t->values[group * 3 + 1] = n;
        t->values[group * 3 + 2] = n > 0.0 ? sum / n : PL_NAN;
    }
}

/* ---- a gate that is meant to stay open
 * -------------------------------------------------------------- */

/* The wider of what shots and what hold times, around the curve that fits best, scatter: each as
 * half the width of the interval and, returned, as standard error. `per_sd`: error of the slope for
 * shots of sd 1. */
static double half_per_second(const struct gate_freeze *g, const struct plateau_answer *fitted,
                              double per_sd, double *half)
{
    const struct math_blocks *b = &g->blocks;
    double quantile = 0.5 + g->confidence / 2.0, dof = (double)(b->n_rows - b->n_blocks);
    double se = PL_NAN;
    if (dof > 0.0) {
        se = sqrt(b->sspe / dof) * per_sd;
        *half = math_t_quantile(quantile, dof) * se;
    }
    const struct family_fit *best = NULL;
    for (int id = 0; id < FAMILY_N; id++) {
        const struct family_fit *f = &fitted->family[id];
        if (f->tried && f->p < b->n_blocks && (best == NULL || f->aicc < best->aicc))
            best = f;
    }
    if (best == NULL)
        return se;
    double dof_means = (double)(b->n_blocks - best->p);
    double other = sqrt(best->rss_means / dof_means) * per_sd;
    double wide = math_t_quantile(quantile, dof_means) * other;
    if (!(wide <= *half)) {
        *half = wide;
        se = other;
    }
    return se;
}

static void open_gate(struct gate_freeze *g, const struct plateau_answer *fitted)
{
    const struct math_blocks *b = &g->blocks;
    size_t last = b->n_groups - 1;
    double gap = last > 0 ? b->group_x[last] - b->group_x[last - 1] : PL_NAN;
    struct quantity *q = finding_quantity(g->f, "weight_sensitivity",
                                          "change of part weight with hold time", DIM_MASS_RATE);
    q->method = "slope between the two longest hold times";
    if (last == 0) {
        q->reason = "there is only one hold time";
        g->f->decision =
            "The gate is meant to stay open; with one hold time its sensitivity is not known.";
        return;
    }
    q->value = (b->group_mean[last] - b->group_mean[last - 1]) / gap;
    double per_shot = 1.0 / (double)b->group_n[last] + 1.0 / (double)b->group_n[last - 1];
    double half = PL_NAN, se = half_per_second(g, fitted, sqrt(per_shot) / gap, &half);
    if (isfinite(half)) {
        q->low = q->value - half;
        q->high = q->value + half;
        q->level = g->confidence;
        q->sides = 2;
    }
    bool told = isfinite(q->low) && (q->low > 0.0 || q->high < 0.0);
    double most = fmax(fabs(q->low), fabs(q->high));
    const char *per = gate_freeze_mass(g, 0.1 * q->value, isfinite(se) ? 0.2 * se : PL_NAN);
    if (isfinite(most) && !told)
        per = arena_printf(g->a, "less than %s", gate_freeze_mass(g, 0.1 * most, 0.01 * most));
    g->f->decision =
        arena_printf(g->a,
                     "The gate is meant to stay open, so freezing sets no limit on hold time: near "
                     "%s a change of "
                     "0.1 s changes the part weight by %s. Keep the hold time constant.",
                     gate_freeze_time(g, b->group_x[last], PL_NAN), per);
    GATE_FREEZE_RAISE(g, "gate-open", NULL, 0,
                      "0.1 s of hold time is worth %s of part weight near %s", per,
                      gate_freeze_time(g, b->group_x[last], PL_NAN));
}

/* ---- the module
 * --------------------------------------------------------------------------------------- */

static enum errc analyze_shots(struct gate_freeze *g, struct error *e)
{
    g->options.step = g->data.step;
    math_blocks_make(g->a, g->data.x, g->data.y, g->data.n, &g->blocks);
    note_operating_point(g);
    const char *gate = facts_text(&g->trial->facts, "mold", "gate");
    if (gate != NULL && text_same_word(gate, "open")) {
        struct plateau_answer fitted; /* for the scatter of hold times alone */
        TRY(plateau_find(g->a, &g->blocks, &g->options, &fitted, e));
        open_gate(g, &fitted);
        note_conditions(g);
        note_cushion(g);
        note_runner(g);
        gate_freeze_figure(g);
        return ERR_NONE;
    }
    TRY(plateau_find(g->a, &g->blocks, &g->options, &g->r, e));
    TRY(gate_freeze_cavities(g, e));
    gate_freeze_decision(g);
    note_quantities(g);
    if (!g->no_common) {
        gate_freeze_criterion(g, &g->blocks, &g->r, 0);
        note_bound(g);
    }
    if (g->cavity_unknown)
        g->f->n_bounds = 0;
    note_models(g);
    note_conditions(g);
    note_all_parts(g);
    note_cushion(g);
    note_runner(g);
    gate_freeze_raise_flags(g);
    gate_freeze_next_shots(g);
    gate_freeze_figure(g);
    return ERR_NONE;
}

static enum errc analyze(const struct trial *trial, const struct table *table, struct finding *out,
                         struct error *e)
{
    struct gate_freeze g = {.trial = trial, .table = table, .f = out, .a = out->arena};
    g.confidence = facts_number(&trial->facts, "report", "confidence", 0.95);
    g.time_step = facts_number(&trial->facts, "press", "time_step", 0.1);
    g.r.best = -1;
    g.r.bound = g.r.level = g.r.low = g.r.high = g.r.tolerance = PL_NAN;
    read_criterion(&g);
    gate_freeze_collect(&g, TAKE_ANALYZED, &g.data);
    study_note_files(out, table);
    out->rows_used = g.data.n;
    if (g.data.n == 0) {
        out->decision = "There is no usable shot: nothing can be said about the gate.";
        struct criterion *c = finding_criterion(out, "freeze_tolerance");
        c->title = "part weight flat beyond the freeze time";
        c->dimension = DIM_MASS;
        c->limit_wording = g.tolerance_wording;
        c->origin = criteria[0].origin;
        c->verdict = VERDICT_NOT_SHOWN;
        const char *why = study_no_rows(out, "no row has both a hold time and a weight");
        c->because = arena_printf(g.a, "%s. Run the shots and enter them", why);
        finding_flag(out, "too-little-data", FLAG_DOUBT, NULL, 0, "%s", why);
    } else {
        TRY(analyze_shots(&g, e));
    }
    finding_finish(out);
    return ERR_NONE;
}

static const char entry_table[] = {
#include "gate-freeze.csv.inc"
    0};

const struct study study_gate_freeze = {
    .name = "gate-freeze",
    .title = "Gate freeze",
    .purpose = "Finds the hold time from which on the part no longer gains weight.",
    .question = QUESTION_WINDOW,
    .method = "Part weight against hold time is followed until it stays within a tolerance of its "
              "plateau; the "
              "tolerance was fixed before the data. The freeze time is the time from which on the "
              "fitted weight "
              "stays within it (weighing parts against hold time: common practice, no published "
              "source). Cavities "
              "are compared on weight minus the shot's mean over cavities.",
    .setting = "hold_time",
    .measured = "weight",
    .columns = columns,
    .n_columns = PL_COUNT(columns),
    .criteria = criteria,
    .n_criteria = PL_COUNT(criteria),
    .flags = gate_freeze_flags,
    .n_flags = GATE_FREEZE_FLAGS,
    .least_conditions = 5,
    .least_shots = 3,
    .analyze = analyze,
    .entry_table = entry_table,
};
