/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cooling: how long must the mold stay closed before the part can be ejected? */
#include <math.h>
#include <string.h>

#include "cooling.h"

#define LIMITS_EACH 2 /* of one measure: movement and share inside */

static const struct column_spec columns[] = {
    {"cooling_time", "cool time|cooling|cure time|cooling timer", DIM_TIME,
     COLUMN_REQUIRED | COLUMN_SETTING, 0.0, 36000.0,
     "cooling time set at the press; the varied setting"},
    {"hold_time",
     "holding time|pack time|packing time|pack and hold time|hold pressure time|holding pressure "
     "time|second stage time",
     DIM_TIME, 0, 0.0, 3600.0,
     "hold time set at the press; the part cools during hold too, so keep it constant"},
    {"fill_time", "filling time|injection time|inject time|first stage time", DIM_TIME, 0, 1e-3,
     600.0, "time from the start of injection to transfer, as the press shows it"},
    {"recovery_time",
     "screw recovery time|plasticizing time|plasticising time|metering time|"
     "dosing time|screw rotate time",
     DIM_TIME, 0, 0.0, 36000.0, "time the screw takes to recover; cooling has to outlast it"},
    {"part_temperature",
     "part temp|ejected part temperature|surface temperature of part|"
     "temperature of part",
     DIM_TEMPERATURE, COLUMN_PER_CAVITY | COLUMN_CENSORED, -50.0, 450.0,
     "temperature of the part right after ejection, at its hottest place, taken the same way each "
     "time"},
    {"warp", "warpage|bow|flatness|out of flat", DIM_LENGTH, COLUMN_PER_CAVITY | COLUMN_CENSORED,
     -1000.0, 1000.0, "how far the part is out of shape"},
    {"age", "age of part|age of parts|part age|time since molding", DIM_AGE, 0, 0.0, 1e5,
     "time between molding and measuring; limits count from conditioning_time on"},
    {"melt_temperature", "melt temp|temperature of melt", DIM_TEMPERATURE, 0, 20.0, 500.0,
     "melt temperature of the study, measured"},
    {"mold_temperature", "mold temp|mould temperature|mould temp|tool temperature", DIM_TEMPERATURE,
     0, -50.0, 350.0, "temperature of the mold's surface in the study, measured"},
    {"injection_speed", "speed|injection velocity|inj speed|fill speed", DIM_SPEED, 0, 0.01, 5000.0,
     "injection speed at which the study was run"},
    {"hold_pressure", "holding pressure|pack pressure|packing pressure|second stage pressure",
     DIM_PRESSURE, COLUMN_BASIS | COLUMN_INFORMS, 0.0, 400.0,
     "hold pressure at which the study was run; say in its header or in trial.ini, [press] "
     "pressure_basis, whether it is hydraulic or melt pressure: they differ by a factor of about "
     "ten"},
};

static const struct criterion_spec criteria[] = {
    {"conditioning_time", DIM_AGE, 24.0, NAN, 'S', "24 h",
     "Age of a part from which on its limits count (conditioning of plastics: ASTM D955, from "
     "memory)."},
    {"cooling_tolerance", DIM_LENGTH, NAN, 0.10, 'O', "10 % of the tolerance band",
     "How far a dimension may still move when the part is cooled longer. A length counts for "
     "dimensions that are lengths; the others keep the default."},
    {"cooling_yield", DIM_RATIO, 0.9973, NAN, 'C', "99.73 %",
     "Share of the parts that must be shown to lie inside their limits, at the confidence of the "
     "report."},
    {"defect_free_share", DIM_RATIO, 0.95, NAN, 'C', "95 %",
     "Share of the shots that a run of good ones must show to be free of defects where a defect "
     "was seen next to the bound: 59 good shots in a row show 95 % at a confidence of 95 % "
     "(success-run theorem)."},
};

static const struct criterion_spec *spec_of(const char *name)
{
    for (size_t i = 0; i < PL_COUNT(criteria); i++)
        if (strcmp(criteria[i].name, name) == 0)
            return &criteria[i];
    return NULL;
}

static void read_criteria(struct cooling *c)
{
    const struct facts *f = &c->trial->facts;
    c->conditioning =
        facts_number(f, "criteria", "conditioning_time", spec_of("conditioning_time")->absolute);
    c->yield = facts_number(f, "criteria", "cooling_yield", spec_of("cooling_yield")->absolute);
    c->defects.share =
        facts_number(f, "criteria", "defect_free_share", spec_of("defect_free_share")->absolute);
    c->defects.share = fmin(fmax(c->defects.share, 1e-6), 1.0 - 1e-6);
    c->yield = fmin(fmax(c->yield, 1e-6), 1.0 - 1e-9);
    c->tolerance_share = spec_of("cooling_tolerance")->relative;
    c->tolerance_length = PL_NAN;
    const struct fact *given = facts_find(f, "criteria", "cooling_tolerance");
    if (given == NULL || !given->given)
        return;
    if (!isnan(given->relative))
        c->tolerance_share = given->relative;
    else
        c->tolerance_length = given->low;
}

/* ---- solving -----------------------------------------------------------------------------------
 */

static struct cooling begin(const struct trial *trial, const struct table *table,
                            struct finding *out)
{
    struct cooling c = {.trial = trial, .table = table, .f = out, .a = out->arena};
    c.confidence = facts_number(&trial->facts, "report", "confidence", 0.95);
    c.time_step = facts_number(&trial->facts, "press", "time_step", 0.1);
    c.value = c.low = c.high = PL_NAN;
    read_criteria(&c);
    return c;
}

static enum errc solve(struct cooling *c, struct error *e)
{
    c->limit = ARENA_ARRAY(c->a, struct cooling_limit, LIMITS_EACH * c->n_measures + 1);
    for (size_t i = 0; i < c->n_measures; i++) {
        struct cooling_measure *m = &c->measure[i];
        TRY(cooling_settle(c, m, e));
        if (m->limited && m->temperature)
            TRY(cooling_find_temperature(c, m, e));
        if (m->limited && !m->temperature)
            cooling_find_yield(c, m);
    }
    cooling_find_defects(c);
    cooling_decide(c);
    cooling_clear_defects(c);
    return ERR_NONE;
}

/* ---- telling -----------------------------------------------------------------------------------
 */

/* A study that judges nothing shows nothing. */
static void note_nothing_judged(struct cooling *c)
{
    if (c->f->n_criteria > 0)
        return;
    struct criterion *k = finding_criterion(c->f, "cooling_tolerance");
    k->title = "part settled before the mold opens";
    k->dimension = DIM_COUNT;
    k->limit_wording = spec_of("cooling_tolerance")->wording;
    k->origin = spec_of("cooling_tolerance")->origin;
    k->verdict = VERDICT_NOT_SHOWN;
    k->because = c->n == 0
                     ? arena_printf(c->a, "%s. Run the shots and enter them",
                                    study_no_rows(c->f, COOLING_NOTHING))
                     : "nothing that was measured has a limit: give it one in [dimensions] or "
                       "[material] of trial.ini";
}

static void note_measure(struct cooling *c, struct cooling_measure *m)
{
    cooling_note_settled(c, m);
    if (m->limited && m->temperature)
        cooling_note_temperature(c, m);
    if (m->limited && !m->temperature)
        cooling_note_yield(c, m);
}

static enum errc analyze(const struct trial *trial, const struct table *table, struct finding *out,
                         struct error *e)
{
    struct cooling c = begin(trial, table, out);
    TRY(cooling_load(&c, TAKE_ANALYZED, e));
    TRY(solve(&c, e));
    study_note_files(out, table);
    out->rows_used = c.n;
    cooling_operating_point(&c);
    cooling_decision(&c);
    cooling_note_bounds(&c);
    for (size_t i = 0; i < c.n_measures; i++)
        note_measure(&c, &c.measure[i]);
    cooling_note_defects(&c);
    note_nothing_judged(&c);
    for (size_t i = 0; i < c.n_measures; i++)
        cooling_note_conditions(&c, &c.measure[i]);
    cooling_raise_flags(&c);
    cooling_check_slab(&c);
    cooling_price(&c);
    cooling_next_shots(&c);
    struct cooling all = begin(trial, table, out);
    struct error mixed = {.code = ERR_NONE}; /* rows of another age may be why they are left out */
    bool drawn = cooling_load(&all, TAKE_DRAWN, &mixed) == ERR_NONE && all.n > c.n;
    cooling_figures(&c, drawn ? &all : NULL);
    finding_finish(out);
    return ERR_NONE;
}

static const char entry_table[] = {
#include "cooling.csv.inc"
    0};

const struct study study_cooling = {
    .name = "cooling",
    .title = "Cooling",
    .purpose = "Finds how long the mold must stay closed before the part can be ejected.",
    .question = QUESTION_WINDOW,
    .method =
        "The part cools from fill to ejection, so what is bounded is the closed time: fill + hold "
        "+ cooling. Each dimension with two limits is followed against it until it stays within "
        "a share of its tolerance band; the share of parts inside the limits is shown by one-sided "
        "tolerance factors (noncentral t, Owen 1962, from memory); the part temperature is "
        "followed by an exponential decay to the ejection temperature; no ejection defect may be "
        "seen from there on. The latest decides. Conduction in a slab (Carslaw and Jaeger 1959, "
        "from memory) is a check and decides nothing.",
    .setting = "cooling_time",
    .measured = "*",
    .columns = columns,
    .n_columns = PL_COUNT(columns),
    .criteria = criteria,
    .n_criteria = PL_COUNT(criteria),
    .flags = cooling_flags,
    .n_flags = COOLING_FLAGS,
    .least_conditions = 5,
    .least_shots = COOLING_SHOTS,
    .analyze = analyze,
    .entry_table = entry_table,
};
