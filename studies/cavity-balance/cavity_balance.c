/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cavity balance: do the cavities of a mold fill alike? */
#include <math.h>
#include <string.h>

#include "cavity_balance.h"

static const struct column_spec columns[] = {
    {"weight", "part weight|part wt|wt|weight of part|mass|part mass|short shot weight", DIM_MASS,
     COLUMN_REQUIRED | COLUMN_PER_CAVITY | COLUMN_CENSORED, 1e-5, 1e6,
     "weight of the short part of each cavity, without the runner"},
    {"fill", "fill level|fill percent|percent full|percent filled|filled|shot fill", DIM_RATIO,
     COLUMN_SETTING, 0.01, 1.2,
     "how full the shot was set, as a share of full parts; several levels are allowed"},
};

static const struct criterion_spec criteria[] = {
    {"imbalance_aim", DIM_RATIO, 0.03, NAN, 'C', "3 %",
     "Imbalance between cavities that a new mold should not exceed; has a verdict of its own."},
    {"imbalance_max", DIM_RATIO, 0.05, NAN, 'C', "5 %",
     "Largest imbalance between cavities on which a window may be set: heaviest minus lightest "
     "cavity, as a share of the heaviest, in short shots."},
};

static void note_operating_point(struct cavity_balance *b)
{
    static const char *const settings[] = {"melt_temperature", "mold_temperature",
                                           "injection_speed", "fill_time"};
    for (size_t i = 0; i < PL_COUNT(settings); i++) {
        const struct fact *running = facts_find(&b->trial->facts, "running", settings[i]);
        if (running == NULL || running->kind != FACT_QUANTITY)
            continue;
        struct operating_value *o = finding_operating(b->f, settings[i], running->dimension);
        o->low = running->low;
        o->high = running->high;
        o->from = "[running]";
    }
}

/* ---- quantities ---------------------------------------------------------------------------------
 */

static void set_interval(const struct cavity_balance *b, struct quantity *q, double low,
                         double high)
{
    if (isnan(low) || isnan(high))
        return;
    q->low = low;
    q->high = high;
    q->level = b->confidence;
    q->sides = 2;
}

static void note_imbalance(struct cavity_balance *b)
{
    const struct cavity_balance_level *l = b->at;
    struct quantity *q =
        finding_quantity(b->f, "imbalance", "imbalance between cavities", DIM_RATIO);
    q->value = l->i.value;
    q->method = isnan(l->i.high)
                    ? "range of the cavity weights over the largest; one shot gives no interval"
                    : "range of the cavity means over the largest; interval: studentized range "
                      "below, Student's t above, scatter from the two-way layout of cavities and "
                      "shots";
    set_interval(b, q, l->i.low, l->i.high);
    q = finding_quantity(b->f, "cavity_range", "heaviest minus lightest cavity mean", DIM_MASS);
    q->value = l->i.range;
    q->method = "as for the imbalance, not divided";
    set_interval(b, q, l->i.low * l->i.largest, l->i.high * l->i.largest);
    q = finding_quantity(b->f, "residual_sd", "scatter of a cavity's weight within its shot (sd)",
                         DIM_MASS);
    q->value = l->i.s;
    q->method = l->i.rounded ? "the step of the balance over sqrt 12, which is more than the "
                               "scatter that is left"
                             : "residual of the two-way layout of cavities and shots";
    q->reason = isnan(q->value) ? "one shot tells nothing about scatter" : NULL;
    q = finding_quantity(b->f, "cavity_equality_p", "chance of such differences between cavities",
                         DIM_COUNT);
    q->value = l->t.p_rows;
    q->method = "F test of the cavities in the two-way layout, shots taken out";
    q->reason = isnan(q->value) ? "needs two complete shots that are not alike" : NULL;
}

static void note_fullness(struct cavity_balance *b)
{
    struct quantity *q =
        finding_quantity(b->f, "fullness", "fullness of the fullest cavity", DIM_RATIO);
    q->value = b->at->fullness;
    q->method = isnan(b->part_weight) ? "column fill" : "its mean weight over [mold] part_weight";
    q->reason = isnan(q->value) ? "neither a column fill nor a part_weight is given" : NULL;
}

static void note_paths(struct cavity_balance *b)
{
    const struct cavity_balance_paths *p = &b->paths;
    if (p->n == 0)
        return;
    struct quantity *q =
        finding_quantity(b->f, "paths_share",
                         "share of the cavity differences between sets of equal paths", DIM_RATIO);
    q->value = p->r.r_squared;
    q->method = "sum of squares between the sets over that of all cavity means; the rest lies "
                "within the sets";
    q->reason = isnan(q->value) ? "all cavities weigh the same" : NULL;
    q = finding_quantity(b->f, "paths_p", "chance of such differences between the sets", DIM_COUNT);
    q->value = p->testable ? p->r.p : PL_NAN;
    q->method = arena_printf(b->a,
                             "F test of the sets against the cavities within them, %.0f and %.0f "
                             "degrees of freedom",
                             p->r.df_between, p->r.df_within);
    q->reason = !p->testable      ? "a set has a single cavity"
                : isnan(q->value) ? "all cavities weigh the same"
                                  : NULL;
}

static void note_trend(struct cavity_balance *b)
{
    if (isnan(b->trend))
        return;
    struct quantity *q = finding_quantity(b->f, "imbalance_trend",
                                          "change of the imbalance for 10 % more fill", DIM_RATIO);
    q->value = 0.1 * b->trend;
    q->method = "straight line through the levels of the difference between the two cavities that "
                "are farthest apart where the decision is made";
    set_interval(b, q, 0.1 * b->trend_low, 0.1 * b->trend_high);
}

/* ---- criteria
 * ------------------------------------------------------------------------------------- */

static const struct criterion_spec *spec_of(const char *name)
{
    return strcmp(name, criteria[0].name) == 0 ? &criteria[0] : &criteria[1];
}

static double limit_of(const struct cavity_balance *b, const char *name)
{
    return facts_number(&b->trial->facts, "criteria", name, spec_of(name)->absolute);
}

static const char *criterion_sentence(const struct cavity_balance *b, const struct criterion *c)
{
    const char *limit = cavity_balance_share(b, c->limit, PL_NAN);
    if (b->at == NULL)
        return "no shot has a weight of two cavities or more";
    if (isnan(c->high))
        return "one shot gives no interval";
    const char *span = cavity_balance_span(b, c->low, c->high);
    switch (c->verdict) {
    case VERDICT_MET:
        return arena_printf(b->a, "the whole interval of the imbalance, %s, lies within %s", span,
                            limit);
    case VERDICT_NOT_MET:
        return arena_printf(b->a, "the whole interval of the imbalance, %s, lies above %s", span,
                            limit);
    case VERDICT_NOT_SHOWN:
    case VERDICT_NONE:
        break;
    }
    return arena_printf(b->a, "the interval of the imbalance, %s, reaches both sides of %s", span,
                        limit);
}

static int shots_to_decide(const struct cavity_balance *b, const struct criterion *c)
{
    if (c->verdict != VERDICT_NOT_SHOWN)
        return 0;
    if (b->at->packed) /* more full parts tell nothing more */
        return -1;
    if (isnan(c->high))
        return SHOTS_NOT_KNOWN;
    return math_imbalance_shots(&b->at->t, &b->at->i, c->limit, b->confidence);
}

static void note_criterion(struct cavity_balance *b, const char *name, const char *title, bool own)
{
    const struct fact *fact = facts_find(&b->trial->facts, "criteria", name);
    struct criterion *c = finding_criterion(b->f, name);
    bool given = fact != NULL && fact->given;
    c->title = title;
    c->dimension = DIM_RATIO;
    c->limit = limit_of(b, name);
    c->limit_wording = given ? fact->text : spec_of(name)->wording;
    c->origin = given ? 'G' : spec_of(name)->origin;
    c->own_verdict = own;
    c->sides = 2;
    c->verdict = VERDICT_NOT_SHOWN;
    c->shots_to_decide = SHOTS_NOT_KNOWN;
    if (b->at != NULL) {
        const struct imbalance *i = &b->at->i;
        c->value = i->value;
        c->low = i->low;
        c->high = i->high;
        c->level = isnan(i->high) ? PL_NAN : b->confidence;
        if (i->high <= c->limit)
            c->verdict = VERDICT_MET;
        else if (i->low > c->limit)
            c->verdict = VERDICT_NOT_MET;
        c->shots_to_decide = shots_to_decide(b, c);
    }
    c->because = criterion_sentence(b, c);
}

/* ---- the module
 * ----------------------------------------------------------------------------------- */

static enum errc analyze(const struct trial *trial, const struct table *table, struct finding *out,
                         struct error *e)
{
    struct cavity_balance b = {.trial = trial, .table = table, .f = out, .a = out->arena};
    (void)e;
    b.confidence = facts_number(&trial->facts, "report", "confidence", 0.95);
    b.part_weight = facts_number(&trial->facts, "mold", "part_weight", PL_NAN);
    b.max = limit_of(&b, "imbalance_max");
    b.aim = limit_of(&b, "imbalance_aim");
    cavity_balance_collect(&b, TAKE_ANALYZED, &b.data);
    b.at = cavity_balance_deciding(&b.data);
    study_note_files(out, table);
    out->rows_used = b.data.n;
    note_operating_point(&b);
    note_criterion(&b, "imbalance_max", "imbalance between cavities", false);
    note_criterion(&b, "imbalance_aim", "imbalance aimed at", true);
    if (b.at != NULL) {
        cavity_balance_compare_paths(&b);
        cavity_balance_find_trend(&b);
        note_imbalance(&b);
        note_fullness(&b);
        note_trend(&b);
        note_paths(&b);
    }
    cavity_balance_decision(&b);
    cavity_balance_raise_flags(&b);
    cavity_balance_next_shots(&b);
    if (b.at != NULL) {
        cavity_balance_conditions(&b);
        cavity_balance_tables(&b);
        cavity_balance_figure(&b);
    }
    finding_finish(out);
    return ERR_NONE;
}

static const char entry_table[] = {
#include "cavity-balance.csv.inc"
    0};

const struct study study_cavity_balance = {
    .name = "cavity-balance",
    .title = "Cavity balance",
    .purpose = "Compares the weights of all cavities in short shots: does the mold fill evenly?",
    .question = QUESTION_MOLD,
    .method = "Imbalance is the difference between the heaviest and the lightest cavity mean, "
              "divided by the heaviest; other formulas are in use. What a shot has in common in "
              "all cavities is taken out (two-way layout). The interval comes from the studentized "
              "range below and Student's t above, with the residual standard deviation, never "
              "below the rounding of the balance. Cavities that differ from the mean of all are "
              "named by analysis of means (Ott, 1967, from memory). The limits are common "
              "practice, no published source.",
    .setting = "fill",
    .measured = "weight",
    .columns = columns,
    .n_columns = PL_COUNT(columns),
    .criteria = criteria,
    .n_criteria = PL_COUNT(criteria),
    .flags = cavity_balance_flags,
    .n_flags = CAVITY_BALANCE_FLAGS,
    .least_conditions = 1,
    .least_shots = 5,
    .analyze = analyze,
    .entry_table = entry_table,
};
