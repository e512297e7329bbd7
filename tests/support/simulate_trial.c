/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "near.h"
#include "run_study.h"
#include "simulate_trial.h"

#define SD_OF(c) ((c)->noise * (c)->mold->sd)

/* ---- gate freeze: g against s
 * ---------------------------------------------------------------------- */

#define FREEZE_TOLERANCE 0.0215

static void freeze_row(struct text *t, const struct sim_case *c, double at, double off,
                       struct sim_stream *s)
{
    double w = sim_weight((enum sim_truth)c->truth, at) + SD_OF(c) * (off + sim_normal(s));
    text_addf(t, "%.3f,%.3f\n", at, w);
}

/* What stands is that the weight changes by less than the tolerance from the bound to the longest
 * time; a missed one that it changes by more over some tested times. */
static bool freeze_right(const struct sim_case *c, const struct finding *f,
                         const struct criterion *k)
{
    double end = sim_weight((enum sim_truth)c->truth, c->last);
    double from = f->n_bounds > 0 ? f->bounds[0].value : c->last;
    double change = end - sim_weight((enum sim_truth)c->truth, from);
    bool never = c->truth >= SIM_LINE;
    return k->verdict == VERDICT_MET ? change <= FREEZE_TOLERANCE : never;
}

const struct sim_mold sim_gate_freeze = {
    .header = "hold time [s],weight [g]\n",
    .ini = "",
    .sd = FREEZE_TOLERANCE,
    .row = freeze_row,
    .right = freeze_right,
};

/* Four cavities; the last freezes 1.2 s later. A shot's weight is common to all, and each has as
 * much of its own. */
static void slow_cavity_row(struct text *t, const struct sim_case *c, double at, double off,
                            struct sim_stream *s)
{
    double common = SD_OF(c) * (off + sim_normal(s));
    text_addf(t, "%.3f", at);
    for (int i = 0; i < 4; i++)
        text_addf(t, ",%.3f",
                  sim_weight((enum sim_truth)c->truth, i < 3 ? at : at - 1.2) + common +
                      SD_OF(c) * sim_normal(s));
    text_add(t, "\n");
}

static bool slow_cavity_right(const struct sim_case *c, const struct finding *f,
                              const struct criterion *k)
{
    double from = f->n_bounds > 0 ? f->bounds[0].value : c->last;
    double change = sim_weight((enum sim_truth)c->truth, c->last - 1.2) -
                    sim_weight((enum sim_truth)c->truth, from - 1.2);
    return k->verdict == VERDICT_MET && change <= FREEZE_TOLERANCE;
}

const struct sim_mold sim_slow_cavity = {
    .header = "hold time [s],weight 1 [g],weight 2 [g],weight 3 [g],weight 4 [g]\n",
    .ini = "",
    .sd = FREEZE_TOLERANCE,
    .row = slow_cavity_row,
    .right = slow_cavity_right,
};

/* ---- cooling: a length, a temperature, limits
 * ------------------------------------------------------ */

#define COOLING_TOLERANCE 0.024 /* 10 % of 0.24 mm */
#define LENGTH_DROP 0.30        /* mm, at a cooling time of 2 s */
#define COOLING_FROM 2.0
#define HOT_END 54.0
#define HOT_DROP 34.0
#define HOT_TAU 2.2
#define EJECTION 75.0

static double length_tau(const struct sim_case *c)
{
    return c->truth == 0 ? 0.8 : 1.25;
}

static void length_row(struct text *t, const struct sim_case *c, double at, double off,
                       struct sim_stream *s)
{
    double u = at - COOLING_FROM, v = 62.40 - LENGTH_DROP * exp(-u / length_tau(c));
    text_addf(t, "%.3f,6.5,0.6,%.4f,26\n", at, v + SD_OF(c) * (off + sim_normal(s)));
}

static bool length_right(const struct sim_case *c, const struct finding *f,
                         const struct criterion *k)
{
    double closed = f->n_bounds > 0 ? f->bounds[0].value : c->last + 7.1;
    double deficit = LENGTH_DROP * exp(-(closed - 7.1 - COOLING_FROM) / length_tau(c));
    return k->verdict == VERDICT_MET && deficit <= COOLING_TOLERANCE;
}

const struct sim_mold sim_cooling_length = {
    .header = "cooling time [s],hold time [s],fill time [s],length [mm],age [h]\n",
    .ini = "[dimensions]\nlength = 62.28..62.52 mm\n[criteria]\ncooling_yield = 50 %\n",
    .sd = COOLING_TOLERANCE,
    .row = length_row,
    .right = length_right,
};

static void hot_row(struct text *t, const struct sim_case *c, double at, double off,
                    struct sim_stream *s)
{
    double v = HOT_END + HOT_DROP * exp(-(at - COOLING_FROM) / HOT_TAU);
    text_addf(t, "%.3f,6.5,0.6,%.2f\n", at, v + SD_OF(c) * (off + sim_normal(s)));
}

static bool hot_right(const struct sim_case *c, const struct finding *f, const struct criterion *k)
{
    (void)f;
    double v = HOT_END + HOT_DROP * exp(-(c->last - COOLING_FROM) / HOT_TAU);
    return k->verdict == VERDICT_MET ? v <= k->limit : v > k->limit;
}

const struct sim_mold sim_cooling_hot = {
    .header = "cooling time [s],hold time [s],fill time [s],part temperature [degC]\n",
    .ini = "[material]\nejection_temperature = 75 degC\n",
    .sd = 1.0,
    .row = hot_row,
    .right = hot_right,
};

/* A defect at short times, for sure. */
static void defects_row(struct text *t, const struct sim_case *c, double at, double off,
                        struct sim_stream *s)
{
    double v = 62.40 + SD_OF(c) * (off + sim_normal(s));
    text_addf(t, "%.3f,6.5,0.6,%.4f,26,%s\n", at, v, at < 5.2 ? "sticks" : "");
}

static bool defects_right(const struct sim_case *c, const struct finding *f,
                          const struct criterion *k)
{
    (void)c;
    double closed = f->n_bounds > 0 ? f->bounds[0].value : 0.0;
    return k->verdict == VERDICT_MET && closed - 7.1 >= 5.2;
}

const struct sim_mold sim_cooling_defects = {
    .header = "cooling time [s],hold time [s],fill time [s],length [mm],age [h],defect\n",
    .ini = "[dimensions]\nlength = 62.28..62.52 mm\n",
    .sd = COOLING_TOLERANCE,
    .row = defects_row,
    .right = defects_right,
};

/* A dimension that comes into its limit as the part cools: share of parts inside. */
static double limits_mean(double at)
{
    return 1.0 + 0.12 * exp(-(at - COOLING_FROM) / 1.6);
}

static void limits_row(struct text *t, const struct sim_case *c, double at, double off,
                       struct sim_stream *s)
{
    text_addf(t, "%.3f,6.5,0.6,%.4f,26\n", at, limits_mean(at) + SD_OF(c) * (off + sim_normal(s)));
}

static bool limits_right(const struct sim_case *c, const struct finding *f,
                         const struct criterion *k)
{
    double total = SD_OF(c) * sqrt(1.0 + c->scatter * c->scatter);
    double closed = f->n_bounds > 0 ? f->bounds[0].value : c->last + 7.1;
    double share = 0.5 * erfc(-(1.05 - limits_mean(closed - 7.1)) / total / sqrt(2.0));
    return k->verdict == VERDICT_MET ? share >= k->limit : share < k->limit;
}

const struct sim_mold sim_cooling_limits = {
    .header = "cooling time [s],hold time [s],fill time [s],gap [mm],age [h]\n",
    .ini = "[dimensions]\ngap <= 1.05 mm\n",
    .sd = 0.01,
    .row = limits_row,
    .right = limits_right,
};

/* ---- cavity balance
 * -------------------------------------------------------------------------------- */

#define CAVITIES 4
/* `truth`: imbalance in thousandths, spread evenly. The shot moves all cavities alike. */
static void cavities_row(struct text *t, const struct sim_case *c, double at, double off,
                         struct sim_stream *s)
{
    double common = 4.0 * SD_OF(c) * (off + sim_normal(s));
    text_addf(t, "%.1f", 100.0 * at);
    for (int i = 0; i < CAVITIES; i++) {
        double w = 10.0 * (1.0 - 0.001 * c->truth * i / (CAVITIES - 1.0));
        text_addf(t, ",%.3f", w + common + SD_OF(c) * sim_normal(s));
    }
    text_add(t, "\n");
}

static bool cavities_right(const struct sim_case *c, const struct finding *f,
                           const struct criterion *k)
{
    (void)f;
    double v = 0.001 * c->truth;
    return k->verdict == VERDICT_MET ? v <= k->limit : v > k->limit;
}

const struct sim_mold sim_cavities = {
    .header = "fill [%],weight 1 [g],weight 2 [g],weight 3 [g],weight 4 [g]\n",
    .ini = "",
    .sd = 0.1, /* 1 % of a part */
    .answer = "imbalance",
    .row = cavities_row,
    .right = cavities_right,
};

/* ---- pressure drop
 * --------------------------------------------------------------------------------- */

static const char *const stage_name[] = {"nozzle", "runner", "gate", "part"};
#define AVAILABLE 100.0

/* `truth`: MPa at the last stage. */
static double stage_pressure(const struct sim_case *c, double at)
{
    static const double before[] = {5.9, 14.7, 31.4};
    return at < 3.5 ? before[(size_t)(at - 0.5)] : (double)c->truth;
}

static void stages_row(struct text *t, const struct sim_case *c, double at, double off,
                       struct sim_stream *s)
{
    double p = stage_pressure(c, at);
    text_addf(t, "%s,%.2f\n", stage_name[(size_t)(at - 0.5)], p + SD_OF(c) * (off + sim_normal(s)));
}

static bool stages_right(const struct sim_case *c, const struct finding *f,
                         const struct criterion *k)
{
    (void)f;
    double v = stage_pressure(c, 4.0) / AVAILABLE;
    return k->verdict == VERDICT_MET ? v <= k->limit : v > k->limit;
}

const struct sim_mold sim_stages = {
    .header = "stage,peak pressure [MPa]\n",
    .ini = "[press]\nmax_injection_pressure = 100 MPa\npressure_basis = melt\n",
    .sd = 0.5,
    .answer = "fill_pressure",
    .row = stages_row,
    .right = stages_right,
};

/* ---- viscosity
 * ------------------------------------------------------------------------------------- */

/* Settings are fill times by number, evenly spaced in the logarithm. Power law with n = truth /
 * 100.
 */
static double fill_time(const struct sim_case *c, double at)
{
    (void)c;
    return 5.0 * pow(0.38 / 5.0, at);
}

static double melt_pressure(const struct sim_case *c, double t)
{
    return 60.0 * pow(1.0 / t, 0.01 * c->truth);
}

static void melt_row(struct text *t, const struct sim_case *c, double at, double off,
                     struct sim_stream *s)
{
    double time = fill_time(c, at), exact = time * exp(0.003 * sim_normal(s));
    double p = melt_pressure(c, exact) * exp(SD_OF(c) * (off + sim_normal(s)));
    text_addf(t, "%.3f,%.2f,%.1f\n", 40.0 / time, exact, p);
}

static bool melt_right(const struct sim_case *c, const struct finding *f, const struct criterion *k)
{
    (void)f;
    double slow = fill_time(c, c->first), fast = fill_time(c, c->last), n = 0.01 * c->truth - 1.0;
    double v =
        (pow(0.9 / fast, n) - pow(1.0 / fast, n)) / (pow(1.0 / slow, n) - pow(1.0 / fast, n));
    if (strcmp(k->name, "pressure_use_max") == 0)
        v = melt_pressure(c, slow) / AVAILABLE;
    return k->verdict == VERDICT_MET ? v <= k->limit : v > k->limit;
}

const struct sim_mold sim_melt = {
    .header = "injection speed [mm/s],fill time [s],transfer pressure [MPa]\n",
    .ini = "[press]\npressure_basis = melt\n",
    .sd = 0.01,
    .row = melt_row,
    .right = melt_right,
};

/* ---- trials
 * ---------------------------------------------------------------------------------------- */

double sim_setting(const struct sim_case *c, size_t i)
{
    return c->settings < 2
               ? c->first
               : c->first + (c->last - c->first) * (double)i / (double)(c->settings - 1);
}

void sim_condition(struct text *t, const struct sim_case *c, double at, size_t shots,
                   struct sim_stream *s)
{
    double off = c->scatter * sim_normal(s);
    for (size_t k = 0; k < shots; k++)
        c->mold->row(t, c, at, off, s);
}

void sim_first_trial(struct text *t, const struct sim_case *c, struct sim_stream *s)
{
    text_add(t, c->mold->header);
    for (size_t r = 0; r < c->rounds; r++)
        for (size_t i = 0; i < c->settings; i++)
            sim_condition(t, c, sim_setting(c, i), c->shots, s);
}

struct finding sim_run(struct arena *a, const struct sim_case *c, const char *csv)
{
    return run_study(a, c->study, csv, c->mold->ini);
}

double sim_half_width(const struct sim_case *c, const struct finding *f)
{
    double low = PL_NAN, high = PL_NAN;
    if (c->mold->answer != NULL) {
        const struct quantity *q = finding_get(f, c->mold->answer);
        if (q != NULL) {
            low = q->low;
            high = q->high;
        }
    } else {
        const struct bound *last = NULL; /* of several cavities the one that decides */
        for (size_t i = 0; i < f->n_bounds; i++)
            if (last == NULL || f->bounds[i].value > last->value ||
                (f->bounds[i].value == last->value && i + 1 == f->n_bounds)) /* the common one */
                last = &f->bounds[i];
        low = last != NULL ? last->low : PL_NAN;
        high = last != NULL ? last->high : PL_NAN;
    }
    double half = (high - low) / 2.0;
    return isfinite(half) ? half : PL_INF;
}
