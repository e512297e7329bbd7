/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Trials of all studies as people would write them down, with a known truth and nothing wrong in
 * them; and the same with one trouble of a stated size. A trial is a pure function of its design
 * and seed. */
#ifndef CLEAN_TRIALS_H
#define CLEAN_TRIALS_H

#include <math.h>
#include <string.h>

#include "plateau/study.h"
#include "simulate.h"

enum clean_order { IN_ORDER, MIXED, MIXED_AND_AGAIN, ORDERS };
enum clean_trouble { NOTHING, OUTLIER, STRAY, FIRST_SHOTS, DRIFT, WIDE, TROUBLES };

struct clean {
    size_t conditions, shots, cavities; /* 6 to 12, 2 to 5, 1 to 8 */
    double between;                     /* sd of a condition over that of a shot */
    bool coarse, long_form, numbered, two_files;
    enum clean_order order;
    enum clean_trouble trouble;
    double size; /* in sds of a shot; WIDE: times the sd */
};

static inline size_t clean_below(struct sim_stream *r, size_t n)
{
    return (size_t)(sim_uniform(r) * (double)n);
}

static inline struct clean clean_draw(struct sim_stream *r)
{
    return (struct clean){.conditions = 6 + clean_below(r, 7),
                          .shots = 2 + clean_below(r, 4),
                          .cavities = 1 + clean_below(r, 8),
                          .between = (double)clean_below(r, 2),
                          .coarse = clean_below(r, 2) > 0,
                          .long_form = clean_below(r, 2) > 0,
                          .numbered = clean_below(r, 2) > 0,
                          .two_files = clean_below(r, 3) == 0,
                          .order = (enum clean_order)clean_below(r, ORDERS)};
}

/* ---- a table being written ------------------------------------------------------------------ */

#define SHEET_ROWS 400
#define BLOCKS_MOST 24

struct sheet {
    struct arena *a;
    const struct clean *c;
    struct sim_stream *r;
    const char *header;
    struct text row[SHEET_ROWS]; /* a shot; in long form several lines */
    size_t n_rows;
    size_t n_blocks, at[BLOCKS_MOST]; /* setting of each block */
    size_t block, shot;               /* being written */
    double off, side[2];              /* of the condition, in shot sds; of other quantities */
    size_t bad_block, bad_shot, bad_cavity;
    double bad_sign;
};

/* The settings in the order they are run. */
static inline void sheet_order(struct sheet *s, size_t n, enum clean_order order)
{
    for (size_t i = 0; i < n; i++)
        s->at[i] = i;
    for (size_t i = n; order != IN_ORDER && i > 1; i--) {
        size_t j = clean_below(s->r, i), keep = s->at[i - 1];
        s->at[i - 1] = s->at[j];
        s->at[j] = keep;
    }
    if (order == MIXED_AND_AGAIN)
        s->at[n++] = s->at[0];
    s->n_blocks = n;
}

/* Every setting once, and rank and time go together (Spearman 0.9 or more): so it is in order, or
 * comes to the same. */
static inline bool sheet_in_order(const struct sheet *s)
{
    double n = (double)s->n_blocks, sum = 0.0;
    for (size_t i = 0; i < s->n_blocks; i++) {
        for (size_t j = 0; j < i; j++)
            if (s->at[j] == s->at[i])
                return false;
        double d = (double)s->at[i] - (double)i;
        sum += d * d;
    }
    return fabs(1.0 - 6.0 * sum / (n * (n * n - 1.0))) >= 0.9;
}

static inline void sheet_place_trouble(struct sheet *s)
{
    s->bad_block = clean_below(s->r, s->n_blocks);
    if (s->c->trouble == STRAY) /* where neighbours differ */
        for (s->bad_block = 0; s->at[s->bad_block] != 1;)
            s->bad_block++;
    s->bad_shot = clean_below(s->r, s->c->shots);
    s->bad_cavity = clean_below(s->r, s->c->cavities);
    s->bad_sign = clean_below(s->r, 2) > 0 ? 1.0 : -1.0;
}

static inline bool sheet_is_bad(const struct sheet *s, enum clean_trouble what)
{
    bool place = s->block == s->bad_block && s->shot == s->bad_shot;
    return s->c->trouble == what && place;
}

/* The setting a shot was really run at: a stray shot belongs to its neighbour. */
static inline size_t sheet_setting(const struct sheet *s, size_t n)
{
    size_t at = s->at[s->block];
    if (!sheet_is_bad(s, STRAY))
        return at;
    return at == 0 || (at + 1 < n && s->bad_sign > 0.0) ? at + 1 : at - 1;
}

/* Scatter of a shot in its sds, with the trouble. */
static inline double sheet_noise(struct sheet *s)
{
    const struct clean *c = s->c;
    double z = sim_normal(s->r);
    if (c->trouble == WIDE && s->block == s->bad_block)
        z *= c->size;
    if (sheet_is_bad(s, OUTLIER))
        z += s->bad_sign * c->size;
    if (c->trouble == FIRST_SHOTS && s->shot == 0)
        z -= c->size;
    if (c->trouble == DRIFT)
        z += c->size * (double)s->block / (double)(s->n_blocks - 1);
    return s->off + z;
}

static inline double sheet_rounded(const struct sheet *s, double v, double fine, double coarse)
{
    double step = s->c->coarse ? coarse : fine;
    return round(v / step) * step;
}

/* "3," where shots are numbered, and the rest of the line in long form once for each cavity. */
static inline void sheet_line(struct sheet *s, const char *settings, const double *cavity,
                              size_t cavities, int digits, const char *rest)
{
    struct text *t = &s->row[s->n_rows++];
    bool long_form = s->c->long_form && cavities > 1;
    text_init(t, s->a);
    for (size_t j = 0; j < (long_form ? cavities : 1); j++) {
        if (s->c->numbered)
            text_addf(t, "%zu,", s->n_rows);
        text_add(t, settings);
        if (long_form)
            text_addf(t, ",%zu,%.*f", j + 1, digits, cavity[j]);
        for (size_t k = 0; !long_form && k < cavities; k++)
            text_addf(t, ",%.*f", digits, cavity[k]);
        text_addf(t, "%s\n", rest);
    }
}

/* Header to sheet_line: `name` of the column that each cavity has. */
static inline void sheet_header(struct sheet *s, const char *settings, const char *name,
                                const char *unit, size_t cavities, const char *rest)
{
    struct text t;
    text_init(&t, s->a);
    text_addf(&t, "%s%s", s->c->numbered ? "shot," : "", settings);
    if (cavities == 1)
        text_addf(&t, ",%s [%s]", name, unit);
    else if (s->c->long_form)
        text_addf(&t, ",cavity,%s [%s]", name, unit);
    for (size_t k = 0; cavities > 1 && !s->c->long_form && k < cavities; k++)
        text_addf(&t, ",%s c%zu [%s]", name, k + 1, unit);
    text_addf(&t, "%s\n", rest);
    s->header = t.s;
}

static inline void sheet_condition(struct sheet *s)
{
    s->shot = 0;
    s->off = s->c->between * sim_normal(s->r);
    s->side[0] = s->c->between * sim_normal(s->r);
    s->side[1] = s->c->between * sim_normal(s->r);
}

#define EACH_SHOT(s)                                                                               \
    for ((s)->block = 0; (s)->block < (s)->n_blocks; (s)->block++)                                 \
        for (sheet_condition(s); (s)->shot < (s)->c->shots; (s)->shot++)

/* ---- the studies ---------------------------------------------------------------------------- */

/* Settings evenly spaced over 2 to 9 s, to 0.1 s. */
static inline double sheet_time(const struct sheet *s, size_t i)
{
    return round(10.0 * (2.0 + 7.0 * (double)i / (double)(s->c->conditions - 1))) / 10.0;
}

static inline void write_gate_freeze(struct sheet *s)
{
    static const enum sim_truth truths[] = {SIM_EXPONENTIAL, SIM_LINEAR_PLATEAU, SIM_LOGISTIC,
                                            SIM_TWO_EXPONENTIALS};
    enum sim_truth truth = truths[clean_below(s->r, PL_COUNT(truths))];
    size_t m = s->c->conditions, cavities = s->c->cavities;
    double sd = 0.0065, own = cavities > 1 ? 0.004 : 0.0;
    sheet_order(s, m, s->c->order);
    sheet_place_trouble(s);
    sheet_header(s, "hold time [s],cooling time [s],hold pressure [bar],cushion [mm]", "weight",
                 "g", cavities, "");
    EACH_SHOT(s)
    {
        double hold = sheet_time(s, s->at[s->block]);
        double w = sim_weight(truth, sheet_time(s, sheet_setting(s, m))) + sd * sheet_noise(s);
        double v[8];
        for (size_t j = 0; j < cavities; j++) {
            double share = 1.0 + 0.002 * ((double)j - (double)(cavities - 1) / 2.0);
            v[j] = sheet_rounded(s, w * share + own * sim_normal(s->r), 0.001, 0.01);
        }
        sheet_line(s,
                   arena_printf(s->a, "%.1f,%.1f,500,%.1f", hold, 14.0 - hold,
                                5.0 + 0.2 * sim_normal(s->r)),
                   v, cavities, 3, "");
    }
}

static inline void write_viscosity(struct sheet *s)
{
    double sd = 0.005;
    size_t m = s->c->conditions;
    sheet_order(s, m, s->c->order);
    sheet_place_trouble(s);
    sheet_header(s, "injection speed [mm/s],fill time [s]", "transfer pressure", "bar", 1,
                 ",peak pressure [bar],melt temperature [degC]");
    EACH_SHOT(s)
    {
        double speed = round(10.0 * pow(18.0, (double)s->at[s->block] / (double)(m - 1)));
        double run = round(10.0 * pow(18.0, (double)sheet_setting(s, m) / (double)(m - 1)));
        double fill = 33.0 / run * exp(0.003 * sim_normal(s->r));
        double p = 900.0 * pow(fill, -0.28) * exp(sd * sheet_noise(s));
        double rounded = sheet_rounded(s, p, 0.1, 5.0);
        double peak = sheet_rounded(s, p * (1.012 + 0.002 * sim_uniform(s->r)), 0.1, 5.0);
        double melt = 225.0 + 0.4 * sim_normal(s->r);
        sheet_line(s, arena_printf(s->a, "%.0f,%.*f", speed, s->c->coarse ? 2 : 3, fill), &rounded,
                   1, 1, arena_printf(s->a, ",%.1f,%.1f", peak, melt));
    }
}

/* Stages as the melt flows, once (in order), or a second time in the same order or in another.
 * Scatter alike in pressure, or a share of it. */
static inline void write_pressure_drop(struct sheet *s)
{
    static const char *const stage[12] = {"nozzle", "sprue",   "runner", "branch", "tip",  "gate",
                                          "rib",    "quarter", "half",   "boss",   "edge", "part"};
    bool once = s->c->order == IN_ORDER, share = clean_below(s->r, 2) > 0;
    size_t m = once ? s->c->conditions : s->c->conditions / 2;
    sheet_order(s, m, IN_ORDER);
    if (!once) {
        sheet_order(s, m, s->c->order == MIXED ? MIXED : IN_ORDER);
        for (size_t i = 0; i < m; i++) {
            s->at[m + i] = s->at[i];
            s->at[i] = i;
        }
        s->n_blocks = 2 * m;
    }
    sheet_place_trouble(s);
    sheet_header(s, "stage", "peak pressure", "bar", 1, ",injection speed [mm/s],fill time [s]");
    EACH_SHOT(s)
    {
        size_t i = s->at[s->block], run = sheet_setting(s, m);
        double p = 380.0 + 800.0 * (double)run / (double)(m - 1), sd = share ? 0.006 * p : 5.0;
        double v = sheet_rounded(s, p + sd * sheet_noise(s), 0.1, 10.0);
        double fill = 0.26 + 0.12 * (double)run / (double)(m - 1) + 0.002 * sim_normal(s->r);
        sheet_line(s, stage[i], &v, 1, 1, arena_printf(s->a, ",90,%.2f", fill));
    }
}

/* One to four levels of fill; what a shot has in common is taken out by the study, so the trouble
 * is one weight's. */
static inline void write_cavity_balance(struct sheet *s)
{
    static const double fills[4] = {0.80, 0.85, 0.90, 0.95};
    double common = 0.02, own = 0.006;
    size_t cavities = s->c->cavities > 1 ? s->c->cavities : 2;
    sheet_order(s, s->c->conditions / 3, s->c->order == IN_ORDER ? IN_ORDER : MIXED);
    sheet_place_trouble(s);
    sheet_header(s, "fill [%]", "weight", "g", cavities, "");
    EACH_SHOT(s)
    {
        double fill = fills[s->at[s->block]], v[8];
        double all = common * (s->off + sim_normal(s->r)), keep = s->off;
        s->off = 0.0;
        for (size_t j = 0; j < cavities; j++) {
            bool bad = s->c->trouble == OUTLIER ? j == s->bad_cavity : true;
            double z = bad ? sheet_noise(s) : sim_normal(s->r);
            double share = 1.0 - 0.015 * (double)((j * 5) % 8) / 7.0;
            v[j] = sheet_rounded(s, 21.0 * fill * share + all + own * z, 0.001, 0.01);
        }
        s->off = keep;
        sheet_line(s, arena_printf(s->a, "%.0f", 100.0 * fill), v, cavities, 3, "");
    }
}

static inline void write_cooling(struct sheet *s)
{
    size_t m = s->c->conditions, cavities = s->c->cavities;
    double sd = 0.004, own = cavities > 1 ? 0.002 : 0.0;
    sheet_order(s, m, s->c->order);
    sheet_place_trouble(s);
    sheet_header(s, "cooling time [s],hold time [s],fill time [s],recovery time [s],age [h]",
                 "length", "mm", cavities,
                 s->c->long_form ? ",part temperature [degC]"
                                 : ",warp [mm],part temperature [degC]");
    EACH_SHOT(s)
    {
        double u = sheet_time(s, sheet_setting(s, m)) - 2.0;
        double length = 62.41 - 0.14 * exp(-u / 1.25) + sd * sheet_noise(s), v[8];
        double warp = 0.15 + 0.2 * exp(-u) + 0.004 * (s->side[0] + sim_normal(s->r));
        double hot = 54.0 + 34.0 * exp(-u / 2.2) + 0.4 * (s->side[1] + sim_normal(s->r));
        for (size_t j = 0; j < cavities; j++)
            v[j] =
                sheet_rounded(s, length + 0.003 * (double)j + own * sim_normal(s->r), 0.001, 0.01);
        sheet_line(s, arena_printf(s->a, "%.1f,6.5,0.58,1.3,26", sheet_time(s, s->at[s->block])), v,
                   cavities, 3,
                   s->c->long_form ? arena_printf(s->a, ",%.1f", hot)
                                   : arena_printf(s->a, ",%.3f,%.1f",
                                                  sheet_rounded(s, warp, 0.001, 0.01), hot));
    }
}

/* ---- one study's files ---------------------------------------------------------------------- */

#define CLEAN_STUDIES 5
static const char *const clean_studies[CLEAN_STUDIES] = {"cavity-balance", "cooling", "gate-freeze",
                                                         "pressure-drop", "viscosity"};

static inline void clean_sheet(struct sheet *s, size_t study)
{
    static void (*const writers[CLEAN_STUDIES])(struct sheet *) = {
        write_cavity_balance, write_cooling, write_gate_freeze, write_pressure_drop,
        write_viscosity};
    writers[study](s);
}

/* Rows from..to - 1 under the header. */
static inline const char *clean_csv(const struct sheet *s, size_t from, size_t to)
{
    struct text t;
    text_init(&t, s->a);
    text_add(&t, s->header);
    for (size_t i = from; i < to; i++)
        text_add(&t, s->row[i].s);
    return t.s;
}

#define CLEAN_INI                                                                                  \
    "[press]\nmax_injection_pressure = 2200 bar\npressure_basis = melt\n"                          \
    "intensification_ratio = 10.2\ntime_step = 0.1 s\n[mold]\npart_weight = 21.6 g\n"              \
    "[material]\nejection_temperature = 75 degC\n[dimensions]\nlength = 62.42 +0.12 -0.12 mm\n"    \
    "warp = 0..0.40 mm\n[running]\nhold_time = 7 s\ncooling_time = 9 s\ncycle_time = 40 s\n"       \
    "fill_time = 0.5 s\nhold_pressure = 500 bar\nmelt_temperature = 225 degC\n"                    \
    "mold_temperature = 45 degC\n"

#endif
