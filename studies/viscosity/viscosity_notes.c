/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was found, as data: quantities, criteria, models, conditions. */
#include <math.h>
#include <string.h>

#include "viscosity.h"

static const char *criterion_wording(const struct viscosity *v, const char *key, char *origin)
{
    const struct fact *f = facts_find(&v->trial->facts, "criteria", key);
    *origin = f != NULL && f->given ? 'G' : strcmp(key, "viscosity_tolerance") != 0 ? 'C' : 'O';
    return f != NULL ? f->text : NULL;
}

/* ---- quantities
 * ------------------------------------------------------------------------------------- */

static struct quantity *add(struct viscosity *v, const char *name, const char *title,
                            enum dimension d, double value, const char *method, const char *reason)
{
    struct quantity *q = finding_quantity(v->f, name, title, d);
    q->value = value;
    q->method = method;
    q->reason = isnan(value) ? reason : NULL;
    return q;
}

static void add_interval(const struct viscosity *v, struct quantity *q, double low, double high)
{
    if (isnan(low) || isnan(high))
        return;
    q->low = low;
    q->high = high;
    q->level = v->options.confidence;
    q->sides = 2;
}

static void add_knee(struct viscosity *v, const char *name, const char *title,
                     const struct visc_value *k, const char *method, const char *reason)
{
    struct quantity *q = add(v, name, title, DIM_TIME, k->value, method, reason);
    add_interval(v, q, k->low, k->high);
}

/* The strictest bound on fill time of one side. */
static double bound_of(const struct viscosity *v, enum bound_side side)
{
    double value = PL_NAN;
    for (size_t i = 0; i < v->f->n_bounds; i++) {
        const struct bound *b = &v->f->bounds[i];
        if (b->side == side && strcmp(b->setting, "fill_time") == 0)
            value = isnan(value)          ? b->value
                    : side == BOUND_UPPER ? fmin(value, b->value)
                                          : fmax(value, b->value);
    }
    return value;
}

/* What the weights take the scatter of pressures to be, where that is not a share alone. */
static const char *scatter_words(const struct visc_line *l)
{
    if (l->either_law)
        return l->law == VISC_ALIKE
                   ? "; pressure scatter alike at all pressures; interval also as a share of them"
                   : "; pressure scatter a share of the pressure; interval also alike at all "
                     "pressures";
    return l->law == VISC_ALIKE ? "; pressure scatter alike at all pressures" : "";
}

static const char *no_knee(const struct viscosity *v)
{
    return v->r.state == VISC_KNEE_BELOW_RANGE ? "met from the slowest tested fill on"
                                               : "not met even at the fastest tested fill";
}

static void add_knees(struct viscosity *v)
{
    const struct visc_answer *r = &v->r;
    const char *method = r->line.either_law
                             ? "on the fitted curve; interval: range over the parameter regions of "
                               "the models in play, with pressure scatter as a share and alike"
                             : "on the fitted curve; interval: range over the parameter regions of "
                               "the models in play";
    add_knee(v, "knee_sensitivity", "fill time from which on a slower fill matters little",
             &r->sensitivity, method, no_knee(v));
    add_knee(v, "knee_broken_stick", "break of two straight lines (context only)", &r->stick,
             method, "needs four tested fill times");
    add_knee(v, "knee_chord", "point farthest from the chord (context only)", &r->chord, method,
             "the fitted curve is straight");
}

void viscosity_quantities(struct viscosity *v)
{
    add(v, "slowest_fill_time", "longest fill time allowed", DIM_TIME, bound_of(v, BOUND_UPPER),
        "least of the upper bounds on fill time", "no study limit on slow filling was found");
    add(v, "fastest_fill_time", "shortest fill time allowed", DIM_TIME, bound_of(v, BOUND_LOWER),
        "greatest of the lower bounds on fill time",
        "no limit on fast filling was met, and none is known");
    if (!v->solved)
        return;
    const struct visc_answer *r = &v->r;
    struct quantity *q = add(v, "power_law_index", "power-law index n", DIM_COUNT, r->line.slope,
                             arena_printf(v->a,
                                          "straight line of ln pressure over ln (1 / fill time) on "
                                          "condition means, errors in both%s",
                                          scatter_words(&r->line)),
                             NULL);
    add_interval(v, q, r->line.slope_low, r->line.slope_high);
    if (!v->is_short)
        add_knees(v);
    add(v, "shot_sd", "scatter from shot to shot (relative sd)", DIM_RATIO, r->line.shot_sd,
        "of ln pressure + n ln fill time, pooled within conditions", "no condition has two shots");
    double unit_sd = isnan(r->line.revisit_sd) ? r->line.unit_sd : r->line.revisit_sd;
    add(v, "condition_sd", "scatter from condition to condition (relative sd)", DIM_RATIO, unit_sd,
        isnan(r->line.revisit_sd) ? "around the straight line, in excess of the shots' scatter"
                                  : "from settings run twice, in excess of the shots' scatter",
        "needs three fill times");
    if (v->data.time_step > 0.0)
        add(v, "fill_time_step", "step of the readings of fill time", DIM_TIME, v->data.time_step,
            "from the digits as written", NULL);
    if (v->data.pressure_step > 0.0)
        add(v, "transfer_pressure_step", "step of the readings of transfer pressure", DIM_PRESSURE,
            v->data.pressure_step, "from the digits as written", NULL);
    if (v->data.peak_step > 0.0)
        add(v, "peak_pressure_step", "step of the readings of peak pressure", DIM_PRESSURE,
            v->data.peak_step, "from the digits as written", NULL);
    if (v->available > 0.0) {
        /* parts with defects use nothing */
        double fastest = v->edge[1].good != NULL ? v->edge[1].good->time : r->fastest;
        struct visc_value p = visc_pressure_at(r, fastest);
        add(v, "available_pressure", "available pressure", DIM_PRESSURE, v->available,
            "the smaller of [press] max_injection_pressure and pressure_limit, as far as given",
            NULL);
        q = add(v, "pressure_use", "share of the available pressure at the fastest usable fill",
                DIM_RATIO, p.value / v->available, "fitted curve", NULL);
        add_interval(v, q, p.low / v->available, p.high / v->available);
    }
}

/* ---- criteria
 * ----------------------------------------------------------------------------------------- */

static enum verdict against(const struct visc_value *x, double limit)
{
    if (x->high <= limit)
        return VERDICT_MET;
    return x->low > limit ? VERDICT_NOT_MET : VERDICT_NOT_SHOWN;
}

/* As one more round of all conditions. */
static int shots_to_decide(const struct viscosity *v, const struct visc_value *x, double limit)
{
    const struct visc_line *l = &v->r.line;
    double units = (double)l->n_units;
    struct math_round r = {
        .gap = fabs(x->value - limit),
        .half = 0.5 * (x->high - x->low),
        .confidence = v->options.confidence,
        .dof = units - (double)v->r.model[v->r.best].p,
        .conditions = units,
        .n = (double)l->n_rows / units,
        .shot = isfinite(l->shot_sd) ? l->shot_sd * l->shot_sd : 0.0,
        .condition = isfinite(l->unit_sd) ? l->unit_sd * l->unit_sd : 0.0,
    };
    return math_round_to_decide(&r);
}

void viscosity_tolerance_criterion(struct viscosity *v)
{
    if (v->is_short)
        return;
    const struct visc_value *x = &v->r.effect_at_fastest;
    struct criterion *c = finding_criterion(v->f, "viscosity_tolerance");
    c->title = "effect of a slower fill at the fastest tested fill";
    c->dimension = DIM_RATIO;
    c->limit_wording = criterion_wording(v, "viscosity_tolerance", &c->origin);
    c->limit = v->options.tolerance;
    c->verdict = VERDICT_NOT_SHOWN;
    c->shots_to_decide = -1;
    if (!v->solved) {
        c->because = viscosity_too_few(v);
        c->shots_to_decide = 0; /* the sentence says what would */
        v->verdict = c->verdict;
        return;
    }
    c->value = x->value;
    c->low = x->low;
    c->high = x->high;
    c->level = v->options.confidence;
    c->sides = 2;
    c->verdict = v->n_settings < 3 ? VERDICT_NOT_SHOWN : against(x, c->limit);
    c->shots_to_decide = c->verdict == VERDICT_NOT_SHOWN ? shots_to_decide(v, x, c->limit) : 0;
    c->because = arena_printf(
        v->a, "at %s a fill %s slower changes viscosity by %s of its fall in the trial (%s to %s)",
        viscosity_time(v, v->r.fastest, PL_NAN), viscosity_percent(v, v->options.disturbance),
        viscosity_percent(v, x->value), viscosity_percent(v, x->low),
        viscosity_percent(v, x->high));
    if (v->n_settings < 3)
        c->because = "two fill times give no interval";
    if (v->no_rise) {
        c->verdict = VERDICT_NOT_SHOWN;
        c->shots_to_decide = -1;
        c->because =
            "the pressure is not shown to rise with speed, so it tells of a limit and not of "
            "the melt";
    }
    v->verdict = c->verdict;
}

/* Within the window pressure is least at the slowest fill: where that takes too much, all do. */
void viscosity_pressure_criterion(struct viscosity *v)
{
    if (!v->solved || !(v->available > 0.0))
        return;
    double bound = bound_of(v, BOUND_UPPER), t = isfinite(bound) ? bound : v->r.slowest;
    struct visc_value p = visc_pressure_at(&v->r, t);
    struct criterion *c = finding_criterion(v->f, "pressure_use_max");
    c->title = isfinite(bound) ? "pressure use at the slowest fill allowed"
                               : "pressure use at the slowest tested fill";
    c->dimension = DIM_RATIO;
    c->limit_wording = criterion_wording(v, "pressure_use_max", &c->origin);
    c->limit = v->use_max;
    c->value = p.value / v->available;
    c->low = p.low / v->available;
    c->high = p.high / v->available;
    c->level = v->options.confidence;
    c->sides = 2;
    struct visc_value use = {c->value, c->low, c->high};
    c->verdict = against(&use, c->limit);
    c->shots_to_decide = c->verdict == VERDICT_NOT_SHOWN ? shots_to_decide(v, &use, c->limit) : 0;
    c->because = arena_printf(v->a, "filling in %s takes %s, %s of the %s available",
                              viscosity_time(v, t, PL_NAN), viscosity_pressure(v, p.value),
                              viscosity_percent(v, c->value), viscosity_pressure(v, v->available));
}

static const char *edge_sentence(const struct viscosity *v, const struct viscosity_edge *e,
                                 size_t need)
{
    const char *seen =
        arena_printf(v->a, "%s shows \"%s\"", viscosity_setting(v, e->bad), e->bad->defect);
    if (e->between > 1)
        return arena_printf(v->a, "%s, far beyond the bound: %zu settings up to it are good", seen,
                            e->between);
    struct text t;
    text_init(&t, v->a);
    text_addf(&t,
              "%s, and all %zu shots at %s are good: at %s confidence at least %s "
              "of them are",
              seen, e->shots, viscosity_setting(v, e->good),
              viscosity_percent(v, v->options.confidence),
              viscosity_percent(v, floor(1e3 * study_share_shown(e->shots, v->options.confidence)) /
                                       1e3));
    if (e->shots < need)
        text_addf(&t,
                  "; run %zu more shots there, one row each, with ok under defect where the "
                  "parts are good; then at least %s are shown to be",
                  need - e->shots, viscosity_percent(v, v->good_share));
    return t.s;
}

void viscosity_defect_criteria(struct viscosity *v)
{
    size_t need = study_success_run(v->good_share, v->options.confidence);
    for (int fast = 0; fast < 2; fast++) {
        const struct viscosity_edge *e = &v->edge[fast];
        if (e->good == NULL)
            continue;
        struct criterion *c = finding_criterion(v->f, "defect_free_share");
        c->title = fast ? "no defect at the fastest fill allowed"
                        : "no defect at the slowest fill allowed";
        c->dimension = DIM_RATIO;
        criterion_wording(v, "defect_free_share", &c->origin);
        c->limit_wording = arena_printf(v->a, "%s of the shots shown to be good",
                                        viscosity_percent(v, v->good_share));
        c->limit = v->good_share;
        c->value = 1.0;
        c->low = study_share_shown(e->shots, v->options.confidence);
        c->high = PL_INF;
        c->level = v->options.confidence;
        c->sides = 1;
        c->verdict = e->verdict;
        c->because = edge_sentence(v, e, need);
    }
}

/* ---- models and conditions
 * ------------------------------------------------------------------------------
 */

void viscosity_models(struct viscosity *v)
{
    for (int id = 0; v->solved && id < VISC_MODELS; id++) {
        const struct visc_fit *fit = &v->r.model[id];
        struct model *m = finding_model(v->f, fit->name);
        m->formula = fit->formula;
        m->tried = fit->tried;
        m->in_play = fit->in_play;
        m->chosen = id == v->r.best;
        m->stop = fit->stop;
        m->answer_dimension = DIM_TIME;
        if (!fit->tried)
            continue;
        study_model_parameters(m, fit->p, fit->parameter, fit->value, &fit->covariance[0][0],
                               PL_COUNT(fit->covariance[0]));
        m->residual_sd = fit->residual_sd;
        m->residual_relative = true; /* of ln pressure */
        m->aicc = fit->aicc;
        m->weight = fit->weight;
        m->misfit = fit->misfit;
        m->misfit_p = fit->misfit_p;
        m->rank = fit->rank;
        m->condition_number = fit->condition_number;
    }
}

static const char *left_out_reason(const struct viscosity *v, const struct viscosity_block *b)
{
    switch (b->doubt.what) {
    case VISC_PRESSURE_LIMITED:
        return "held by the pressure limit: the pressure does not tell of the melt";
    case VISC_SPEED_NOT_REACHED:
        return "the press did not reach the speed it was told";
    case VISC_FREE:
        break;
    }
    return v->solved || v->is_short ? NULL : "fewer than two fill times are free of limits";
}

static void note_left_out(struct viscosity *v, const struct viscosity_block *b)
{
    const char *reason = left_out_reason(v, b);
    for (size_t i = b->first; reason != NULL && i < b->first + b->n; i++) {
        const struct table_row *row = &v->table->rows[v->data.row[i]];
        finding_left_out(v->f, v->table->sources[row->source].name, row->line, reason, false);
    }
}

static struct condition *add_condition(struct viscosity *v, size_t k, const char *series,
                                       enum dimension d)
{
    const struct viscosity_block *b = &v->data.block[k];
    struct condition *c = finding_condition(v->f);
    c->series = series;
    c->setting_dimension = v->data.by_speed ? DIM_SPEED : DIM_TIME;
    c->setting = v->data.by_speed ? b->speed : b->time;
    c->dimension = d;
    c->block = (int)k + 1;
    c->n = b->n;
    c->file = viscosity_file(v, b);
    c->first_line = viscosity_line(v, b);
    c->left_out = left_out_reason(v, b);
    return c;
}

static double relative_sd(double ss, size_t n)
{
    return n > 1 ? sqrt(ss / (double)(n - 1)) : PL_NAN;
}

static void note_peak(struct viscosity *v, size_t k)
{
    const struct viscosity_block *b = &v->data.block[k];
    if (b->n_peak == 0)
        return;
    struct condition *c = add_condition(v, k, "peak pressure", DIM_PRESSURE);
    c->n = b->n_peak;
    c->mean = b->peak;
    c->sd = b->peak_sd;
}

static void note_fill_time(struct viscosity *v, size_t k)
{
    struct condition *c = add_condition(v, k, "fill time", DIM_TIME);
    c->mean = v->data.block[k].time;
    c->sd = c->mean * relative_sd(v->data.unit[k].ss_t, c->n);
}

static void note_condition(struct viscosity *v, size_t k)
{
    const struct viscosity_block *b = &v->data.block[k];
    struct condition *c = add_condition(v, k, "transfer pressure", DIM_PRESSURE);
    c->mean = b->pressure;
    c->sd = b->pressure * relative_sd(v->data.unit[k].ss_p, b->n);
    if (!v->solved)
        return;
    struct visc_value p = visc_pressure_at(&v->r, b->time);
    c->fitted = p.value;
    c->fitted_low = p.low;
    c->fitted_high = p.high;
}

static void condition_table(struct viscosity *v)
{
    const struct data_column head[] = {
        {"injection speed", DIM_SPEED, NULL, false, 4, 0},
        {"fill time", DIM_TIME, NULL, false, 4, 0},
        {"shots", DIM_COUNT, NULL, false, 0, 0},
        {"1 / fill time", DIM_RATE, NULL, false, 4, 0},
        {"pressure at transfer", DIM_PRESSURE, NULL, false, 4, 0},
        {"in-mold relative viscosity", DIM_VISCOSITY, NULL, false, 4, 0},
        {"fitted pressure", DIM_PRESSURE, NULL, false, 4, 0},
        {"residual", DIM_RATIO, NULL, false, 2, 0},
    };
    const size_t from = v->data.by_speed ? 0 : 1; /* no column for a speed nobody told */
    const size_t wide = PL_COUNT(head) - from;
    struct data_table *t =
        finding_table(v->f, "viscosity-conditions", "Conditions", wide, v->data.n_blocks);
    memcpy(t->columns, head + from, wide * sizeof *head);
    for (size_t i = 0; i < v->data.n_blocks; i++) {
        const struct viscosity_block *b = &v->data.block[i];
        double fitted = v->solved ? visc_pressure_at(&v->r, b->time).value : PL_NAN;
        const double row[] = {b->speed,     b->time,
                              (double)b->n, 1.0 / b->time,
                              b->pressure,  b->pressure * b->time,
                              fitted,       b->pressure / fitted - 1.0};
        memcpy(&t->values[i * wide], row + from, wide * sizeof *row);
    }
}

void viscosity_conditions(struct viscosity *v)
{
    for (size_t i = 0; i < v->data.n_blocks; i++) {
        note_condition(v, i);
        note_left_out(v, &v->data.block[i]);
        if (left_out_reason(v, &v->data.block[i]) == NULL)
            v->f->rows_used += v->data.block[i].n;
    }
    for (size_t i = 0; i < v->data.n_blocks; i++)
        note_peak(v, i);
    for (size_t i = 0; i < v->data.n_blocks; i++)
        note_fill_time(v, i);
    condition_table(v);
}
