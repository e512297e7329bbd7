/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Pressure drop: how much of the press's pressure does the mold take, and where? */
#include <math.h>
#include <string.h>

#include "pressure_drop.h"

static const struct column_spec columns[] = {
    {"stage",
     "filled to|fill stage|filling stage|flow stage|section|position in the flow|flow position",
     DIM_TEXT, COLUMN_REQUIRED | COLUMN_CONSTANT_LABEL, 0.0, 0.0,
     "how far the melt was made to flow, in words of your own; the order of first appearance is "
     "the order of flow"},
    {"peak_pressure",
     "peak injection pressure|maximum injection pressure|max injection pressure|max pressure|"
     "maximum pressure|pressure peak|highest pressure",
     DIM_PRESSURE, COLUMN_REQUIRED | COLUMN_CENSORED | COLUMN_BASIS, 0.01, 600.0,
     "highest pressure during filling, with hold switched off"},
    {"injection_speed",
     "speed|injection velocity|inj speed|fill speed|ram speed|screw speed forward", DIM_SPEED, 0,
     0.01, 5000.0, "injection speed; it should be the same at all stages"},
    {"fill_time", "injection time|filling time|inj time|time to fill", DIM_TIME, 0, 0.001, 600.0,
     "fill time; that of the last stage is the operating point of the study"},
};

static const struct criterion_spec criteria[] = {
    {"pressure_use_max", DIM_RATIO, 0.90, NAN, 'C', "90 % of the available pressure",
     "Largest share of the available pressure that filling may take. Above it a small rise in "
     "viscosity or a cold nozzle leaves the press short of pressure, and the fill time is no "
     "longer the one that was set."},
    {"pressure_use_aim", DIM_RATIO, 0.80, NAN, 'C', "80 % of the available pressure",
     "Share of the available pressure that filling should stay below, so that another lot or "
     "another press still has room. It has a verdict of its own, which does not count in that of "
     "the study."},
};

/* ---- operating point ----------------------------------------------------------------------- */

/* What a column held in the shots of the deciding stage. */
static bool column_range(const struct pressure_drop *p, const char *name, double *low, double *high)
{
    int c = table_find(p->table, name, 0);
    *low = PL_INF;
    *high = -PL_INF;
    for (size_t j = 0; c >= 0 && j < p->shots.n; j++) {
        const struct cell *cell = &p->table->rows[p->shots.row[j]].cells[c];
        if (cell->kind != CELL_VALUE || p->shots.x[j] != 1.0 + (double)p->deciding)
            continue;
        *low = fmin(*low, cell->value);
        *high = fmax(*high, cell->value);
    }
    return *low <= *high;
}

static void note_operating_point(struct pressure_drop *p)
{
    static const char *const settings[] = {"fill_time", "injection_speed", "melt_temperature",
                                           "mold_temperature"};
    for (size_t i = 0; i < PL_COUNT(settings); i++) {
        const struct fact *running = facts_find(&p->trial->facts, "running", settings[i]);
        double low, high;
        bool from_column = column_range(p, settings[i], &low, &high);
        if (!from_column && (running == NULL || running->kind != FACT_QUANTITY))
            continue;
        int c = table_find(p->table, settings[i], 0);
        enum dimension d = from_column ? p->table->columns[c].spec->dimension : running->dimension;
        struct operating_value *o = finding_operating(p->f, settings[i], d);
        o->low = from_column ? low : running->low;
        o->high = from_column ? high : running->high;
        o->from = from_column ? arena_printf(p->a, "column %s, stage %s", settings[i],
                                             p->stages[p->deciding].name)
                              : "[running]";
    }
}

/* ---- quantities ---------------------------------------------------------------------------- */

static const char interval_method[] =
    "interval: Student's t on the stage's own scatter, or on that between the times the stages "
    "were run where that is wider";

/* A press knows hydraulic pressure; another press needs the melt's. */
static const char *melt_too(const struct pressure_drop *p, double v)
{
    const char *melt = melt_pressure_text(p->a, p->trial->display, &p->trial->facts, v, PL_NAN);
    return melt != NULL ? arena_printf(p->a, "melt pressure %s; ", melt) : "";
}

static void set_interval(const struct pressure_drop *p, struct quantity *q, double low, double high)
{
    if (isnan(low))
        return;
    q->low = low;
    q->high = high;
    q->level = p->confidence;
    q->sides = 2;
}

static void note_scatter(struct pressure_drop *p)
{
    struct quantity *q = finding_quantity(
        p->f, "shot_sd", "scatter of the peak pressure from shot to shot (sd)", DIM_PRESSURE);
    q->value = p->shot_sd;
    q->method = "pooled within the stages; the intervals use each stage's own";
    q->reason = isnan(q->value) ? "no stage has two shots in a row" : NULL;
    q = finding_quantity(p->f, "condition_sd",
                         "scatter from one time a stage is run to the next (sd)", DIM_PRESSURE);
    q->method = "from stages run more than once, in excess of the shots' scatter";
    if (!(p->visit_dof > 0.0)) {
        q->reason = "no stage was run more than once";
        return;
    }
    double size = (double)p->blocks.n_rows / (double)p->blocks.n_blocks;
    double shot = isnan(p->shot_sd) ? 0.0 : p->shot_sd * p->shot_sd / size;
    q->value = sqrt(fmax(0.0, p->visit_variance - shot));
}

static void note_quantities(struct pressure_drop *p)
{
    const struct pressure_drop_stage *s = &p->stages[p->deciding];
    const char *which = p->deciding + 1 == p->n_stages
                            ? "mean of the last stage"
                            : "mean of the stage with the highest pressure: the stages are out of "
                              "order";
    struct quantity *q =
        finding_quantity(p->f, "pressure_use", "share of the available pressure used", DIM_RATIO);
    q->value = p->use;
    set_interval(p, q, p->use_low, p->use_high);
    q->method = arena_printf(p->a, "%s over the available pressure; %s", which, interval_method);
    q->reason = isnan(p->use)
                    ? arena_printf(p->a, "the available pressure is not known: %s", p->not_known)
                    : NULL;
    q = finding_quantity(p->f, "available_pressure", "available pressure", DIM_PRESSURE);
    q->value = p->available;
    q->method = p->from == AVAILABLE_SET_LIMIT
                    ? "[press] pressure_limit, smaller than what the press can give"
                    : "[press] max_injection_pressure";
    if (p->from == AVAILABLE_SET_LIMIT &&
        facts_find(&p->trial->facts, "press", "max_injection_pressure") == NULL)
        q->method = "[press] pressure_limit";
    q->method = arena_printf(p->a, "%s%s", melt_too(p, p->available), q->method);
    q->reason = p->not_known;
    q = finding_quantity(p->f, "fill_pressure", "peak pressure of filling", DIM_PRESSURE);
    q->value = s->mean;
    set_interval(p, q, s->low, s->high);
    q->method = arena_printf(p->a, "%s%s; %s", melt_too(p, s->mean), which, interval_method);
    note_scatter(p);
}

/* ---- criteria ------------------------------------------------------------------------------ */

static double limit_of(const struct pressure_drop *p, size_t i, const char **wording, char *origin)
{
    const struct fact *fact = facts_find(&p->trial->facts, "criteria", criteria[i].name);
    *wording = criteria[i].wording;
    *origin = criteria[i].origin;
    if (fact == NULL || !fact->given)
        return criteria[i].absolute;
    *origin = 'G';
    double limit = isnan(fact->low) ? fact->relative : fact->low;
    *wording =
        arena_printf(p->a, "%s %% of the available pressure", number_text(p->a, limit * 100.0, 2));
    if (limit * 100.0 != floor(limit * 100.0))
        *wording = arena_printf(p->a, "%s of the available pressure", fact->text);
    return limit;
}

/* Run as one more round of all stages. */
static int shots_to_decide(const struct pressure_drop *p, double limit)
{
    bool hidden = isnan(p->use) || p->stages[p->deciding].at_limit;
    if (!hidden && !pressure_drop_scatter_known(p))
        return SHOTS_NOT_KNOWN;
    return hidden ? -1 : pressure_drop_shots_to_decide(p, limit);
}

static enum verdict verdict_of(const struct pressure_drop *p, double limit)
{
    if (p->use_high <= limit)
        return VERDICT_MET;
    return p->use_low > limit ? VERDICT_NOT_MET : VERDICT_NOT_SHOWN;
}

static const char *criterion_sentence(const struct pressure_drop *p, const struct criterion *c)
{
    const char *stage = p->stages[p->deciding].name;
    if (isnan(p->use))
        return arena_printf(p->a, "the available pressure is not known: %s", p->not_known);
    double half = (p->use_high - p->use_low) / 2.0;
    const char *use = pressure_drop_share(p, p->use, half);
    const char *limit = pressure_drop_share(p, c->limit, PL_NAN);
    if (isnan(p->use_low))
        return arena_printf(p->a,
                            "stage %s takes %s of the available pressure, and one shot does not "
                            "tell its scatter",
                            stage, use);
    const char *interval =
        interval_text(p->a, p->trial->display, DIM_RATIO, p->use_low, p->use_high);
    if (c->verdict == VERDICT_MET)
        return arena_printf(p->a,
                            "stage %s takes %s of the available pressure (%s), not more than "
                            "%s",
                            stage, use, interval, limit);
    if (c->verdict == VERDICT_NOT_MET)
        return arena_printf(p->a, "stage %s takes %s of the available pressure (%s), more than %s",
                            stage, use, interval, limit);
    if (p->stages[p->deciding].at_limit)
        return arena_printf(p->a,
                            "stage %s reached the available pressure, so what the mold needs is "
                            "not known",
                            stage);
    return arena_printf(p->a,
                        "stage %s takes %s of the available pressure (%s); these shots do not show "
                        "whether that is within %s",
                        stage, use, interval, limit);
}

static void note_criterion(struct pressure_drop *p, size_t i)
{
    static const char *const titles[] = {"pressure in reserve", "pressure in reserve, as aimed at"};
    struct criterion *c = finding_criterion(p->f, criteria[i].name);
    c->title = titles[i];
    c->dimension = DIM_RATIO;
    c->limit = limit_of(p, i, &c->limit_wording, &c->origin);
    c->own_verdict = i > 0;
    if (p->shots.n == 0) {
        c->verdict = VERDICT_NOT_SHOWN;
        c->because = arena_printf(p->a, "%s. Run the shots and enter them",
                                  study_no_rows(p->f, PRESSURE_DROP_NOTHING));
        return;
    }
    c->value = p->use;
    if (!isnan(p->use_low)) {
        c->low = p->use_low;
        c->high = p->use_high;
        c->level = p->confidence;
        c->sides = 2;
    }
    c->verdict = verdict_of(p, c->limit);
    c->because = criterion_sentence(p, c);
    c->shots_to_decide = c->verdict == VERDICT_NOT_SHOWN ? shots_to_decide(p, c->limit) : 0;
}

/* ---- conditions and tables ----------------------------------------------------------------- */

static void note_conditions(struct pressure_drop *p)
{
    for (size_t i = 0; i < p->blocks.n_blocks; i++) {
        const struct math_block *b = &p->blocks.b[i];
        struct condition *c = finding_condition(p->f);
        c->series = p->stages[b->group].name;
        c->setting = b->x;
        c->setting_dimension = DIM_COUNT;
        c->dimension = DIM_PRESSURE;
        c->block = (int)i + 1;
        c->n = b->n;
        c->mean = b->mean;
        c->sd = b->n > 1 ? sqrt(b->ss / (double)(b->n - 1)) : PL_NAN;
        c->file = pressure_drop_file(p, b->first);
        c->first_line = pressure_drop_line(p, b->first);
    }
}

static void fill_head(struct data_table *t, const struct data_column *head)
{
    for (size_t i = 0; i < t->n_columns; i++)
        t->columns[i] = head[i];
}

/* Decimals enough for the narrowest interval would be too many for the widest: four digits. */
enum { DIGITS = 4 };

static void note_stages(struct pressure_drop *p)
{
    static const struct data_column head[] = {
        {"stage, in the order of flow", DIM_TEXT, NULL, true, 0, 0},
        {"shots", DIM_COUNT, NULL, false, 0, 0},
        {"times run", DIM_COUNT, NULL, false, 0, 0},
        {"mean peak pressure", DIM_PRESSURE, NULL, false, DIGITS, 0},
        {"interval from", DIM_PRESSURE, NULL, false, DIGITS, -1},
        {"to", DIM_PRESSURE, NULL, false, DIGITS, +1},
        {"sd", DIM_PRESSURE, NULL, false, 2, 0},
        {"share of the available pressure", DIM_RATIO, NULL, false, 3, 0},
    };
    enum { WIDE = PL_COUNT(head) };
    struct data_table *t =
        finding_table(p->f, "stages", "Peak pressure of each stage", WIDE, p->n_stages);
    fill_head(t, head);
    for (size_t i = 0; i < p->n_stages; i++) {
        const struct pressure_drop_stage *s = &p->stages[i];
        double *v = &t->values[i * WIDE];
        t->texts[i * WIDE] = s->name;
        v[1] = (double)s->n;
        v[2] = (double)s->visits;
        v[3] = round_10(s->mean);
        v[4] = round_10(s->low);
        v[5] = isfinite(s->high) ? round_10(s->high) : PL_NAN;
        v[6] = round_10(s->sd);
        v[7] = round_10(s->mean / p->available);
    }
}

static void note_drops(struct pressure_drop *p)
{
    static const struct data_column head[] = {
        {"between", DIM_TEXT, NULL, true, 0, 0},
        {"pressure drop", DIM_PRESSURE, NULL, false, DIGITS, 0},
        {"interval from", DIM_PRESSURE, NULL, false, DIGITS, -1},
        {"to", DIM_PRESSURE, NULL, false, DIGITS, +1},
        {"share of the total", DIM_RATIO, NULL, false, 3, 0},
    };
    enum { WIDE = PL_COUNT(head) };
    struct data_table *t =
        finding_table(p->f, "drops", "Where the pressure goes", WIDE, p->n_stages);
    fill_head(t, head);
    for (size_t i = 0; i < p->n_stages; i++) {
        const struct pressure_drop_stage *s = &p->stages[i];
        double *v = &t->values[i * WIDE];
        t->texts[i * WIDE] = pressure_drop_between(p, i);
        v[1] = round_10(s->drop);
        v[2] = isfinite(s->drop_low) ? round_10(s->drop_low) : PL_NAN;
        v[3] = isfinite(s->drop_high) ? round_10(s->drop_high) : PL_NAN;
        if (!p->any_out_of_order)
            v[4] = round_10(s->drop / p->stages[p->n_stages - 1].mean);
    }
}

/* ---- the module ---------------------------------------------------------------------------- */

static enum errc analyze(const struct trial *trial, const struct table *table, struct finding *out,
                         struct error *e)
{
    struct pressure_drop p = {.trial = trial, .table = table, .f = out, .a = out->arena};
    p.confidence = facts_number(&trial->facts, "report", "confidence", 0.95);
    pressure_drop_available(&p);
    bool any = pressure_drop_load(&p);
    if (pressure_drop_too_many(&p))
        return ERR_AT(e, ERR_INPUT, table->sources[0].name, 0,
                      "column stage holds %zu or more different texts; it has to name the few "
                      "stages of filling, the same word for all shots of a stage",
                      p.n_stages + p.n_gone);
    study_note_files(out, table);
    out->rows_used = p.shots.n;
    if (any) {
        pressure_drop_scatter(&p);
        pressure_drop_estimate_all(&p);
        note_operating_point(&p);
        note_quantities(&p);
    }
    for (size_t i = 0; i < PL_COUNT(criteria); i++)
        note_criterion(&p, i);
    pressure_drop_decision(&p);
    pressure_drop_raise_flags(&p);
    if (any) {
        note_conditions(&p);
        note_stages(&p);
        note_drops(&p);
        pressure_drop_next_shots(&p);
        pressure_drop_figure(&p);
    }
    finding_finish(out);
    return ERR_NONE;
}

static const char entry_table[] = {
#include "pressure-drop.csv.inc"
    0};

const struct study study_pressure_drop = {
    .name = "pressure-drop",
    .title = "Pressure drop",
    .purpose = "Finds how much of the available pressure filling takes, and where it is lost.",
    .question = QUESTION_MOLD,
    .method = "Mean peak pressure of each stage in the order of flow; pressure use is that of the "
              "last stage over the pressure the press has, as melt pressure. Intervals of means "
              "and drops take each stage's own scatter (Welch, 1947, and Satterthwaite, 1946, from "
              "memory); where stages were run more than once, the wider of those and the ones from "
              "the scatter between the times. The limits on pressure use are common practice, no "
              "published source.",
    .setting = "stage",
    .measured = "peak_pressure",
    .columns = columns,
    .n_columns = PL_COUNT(columns),
    .criteria = criteria,
    .n_criteria = PL_COUNT(criteria),
    .flags = pressure_drop_flags,
    .n_flags = PRESSURE_DROP_FLAGS,
    .least_conditions = 4,
    .least_shots = 3,
    .analyze = analyze,
    .entry_table = entry_table,
};
