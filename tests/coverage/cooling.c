/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cells of cooling: a dimension that settles by one of the curves of gate-freeze and a part
 * temperature that falls; or a dimension that does not move, for the share of parts inside its
 * limit. 8 cooling times in mixed order and one of them again. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "coverage.h"
#include "plateau/math.h"
#include "plateau/math_cooling.h"

#define SETTINGS 8
#define BLOCKS (SETTINGS + 1)
#define FIRST 2.0       /* s, cooling timer */
#define HELD 7.1        /* s, hold and fill */
#define TOLERANCE 0.024 /* mm: 10 % of 0.24 mm */
#define SCALE 0.25      /* mm of the dimension for a gram of the curve */
#define EJECTION 75.0
#define HOT_END 54.0
#define HOT 34.0 /* K above it at the first setting */

static const int order[BLOCKS] = {4, 1, 6, 2, 0, 5, 3, 7, 4};

struct design {
    struct curve_truth truth;
    size_t shots;
    double between, sd, hot_sd;
    bool flat, two_rates;
};

static void design_of(const struct cov_cell *c, struct arena *a, struct design *d)
{
    *d = (struct design){.shots = (size_t)cov_number(c, "shots", 3),
                         .between = cov_number(c, "between", 0.0),
                         .sd = cov_number(c, "sd", 0.3) * TOLERANCE,
                         .hot_sd = cov_number(c, "hot_sd", 0.4),
                         .flat = cov_is(c, "truth", "flat"),
                         .two_rates = cov_is(c, "hot", "two-rates")};
    if (!d->flat)
        truth_of(c, a, &d->truth);
}

static double temperature(const struct design *d, double x)
{
    double u = x - FIRST;
    return HOT_END +
           HOT * (d->two_rates ? 0.6 * exp(-u / 1.4) + 0.4 * exp(-u / 3.4) : exp(-u / 2.2));
}

/* Cooling time at which the part passes the ejection temperature. */
static double cold_at(const struct design *d)
{
    double low = FIRST, high = 60.0;
    for (int i = 0; i < 100; i++) {
        double middle = (low + high) / 2.0;
        if (temperature(d, middle) > EJECTION)
            low = middle;
        else
            high = middle;
    }
    return high;
}

/* ---- a trial --------------------------------------------------------------------------------- */

static const char *draw(const struct design *d, struct arena *a, struct sim_stream *s)
{
    struct text t;
    text_init(&t, a);
    text_add(&t, "cooling time [s],hold time [s],fill time [s],length [mm],part temperature "
                 "[degC],age [h]\n");
    for (size_t i = 0; i < BLOCKS; i++) {
        double x = FIRST + order[i], off = d->between * d->sd * sim_normal(s);
        double warm = d->between * d->hot_sd * sim_normal(s);
        double mean = 62.40;
        if (!d->flat)
            mean -= SCALE * (d->truth.plateau - truth_value(&d->truth, x));
        for (size_t k = 0; k < d->shots; k++) {
            double length = mean + off + d->sd * sim_normal(s);
            double hot = temperature(d, x) + warm + d->hot_sd * sim_normal(s);
            text_addf(&t, "%g,6.5,0.6,%.4f,%.1f,26\n", x, length, hot);
        }
    }
    return t.s;
}

static void stop(const char *what)
{
    fprintf(stderr, "coverage: cooling: %s\n", what);
    abort();
}

static void analyze(struct arena *a, const char *csv, const char *ini, struct finding *out)
{
    const struct study *s = study_find("cooling");
    struct study_input input = {s->name, s->columns, s->n_columns};
    struct read_request request = {&input, 1, s->criteria, s->n_criteria};
    struct trial *trial = ARENA_NEW(a, struct trial);
    struct table *table = ARENA_NEW(a, struct table);
    struct diag_list diags;
    struct error e = {.code = ERR_NONE};
    diag_init(&diags, a);
    if (facts_load_bytes(a, "trial.ini", ini, strlen(ini), &request, &trial->facts, &diags, &e) !=
            ERR_NONE ||
        table_load_bytes(a, "cooling.csv", csv, strlen(csv), &input, &trial->facts, table, &diags,
                         &e) != ERR_NONE ||
        diags.errors > 0)
        stop("the trial cannot be read");
    trial->tables = table;
    trial->n_tables = 1;
    trial_fill_display(a, trial);
    finding_init(out, a, s->name, s->title);
    if (study_run(s, trial, table, out, &e) != ERR_NONE)
        stop("the study failed");
}

/* ---- what is counted ------------------------------------------------------------------------- */

static void count_times(const struct design *d, const struct finding *f, struct cov_rows *out)
{
    double low, high, cold = HELD + cold_at(d);
    double settled = HELD + truth_answer(&d->truth, TOLERANCE / SCALE);
    cov_quantity(f, "length_settled", &low, &high);
    cov_interval(out, "length_settled", "program", low, high, settled);
    cov_quantity(f, "ejection_temperature_reached", &low, &high);
    cov_interval(out, "ejection_temperature_reached", "program", low, high, cold);
    cov_quantity(f, "closed_time_min", &low, &high);
    if (f->n_bounds == 0)
        low = high = PL_NAN;
    cov_interval(out, "closed_time_min", "program", low, high, fmax(settled, cold));
}

/* A bound from one side, told where the criterion is: at the last of equal times. The scatter of a
 * part at a setting that is set anew is that of conditions and shots together. */
static void count_share(const struct design *d, double limit, const struct finding *f,
                        struct cov_rows *out)
{
    double truth = math_normal_share(limit / (d->sd * sqrt(1.0 + d->between * d->between)));
    const struct data_table *t = NULL;
    for (size_t i = 0; i < f->n_tables; i++)
        if (strcmp(f->tables[i].name, "length-limits") == 0)
            t = &f->tables[i];
    double low = t != NULL ? t->values[(t->n_rows - 1) * t->n_columns + 7] : PL_NAN;
    cov_interval(out, "share inside a limit, at least", "program", low, isnan(low) ? low : 1.0,
                 truth);
}

void cov_cooling(const struct cov_cell *c, size_t trials, struct cov_rows *out)
{
    struct arena *kept = arena_new();
    struct design d;
    design_of(c, kept, &d);
    double limit = cov_number(c, "limit", 3.5) * d.sd;
    for (size_t trial = 0; trial < trials; trial++) {
        struct arena *a = arena_new();
        struct sim_stream s = cov_stream(c, trial);
        struct finding f;
        const char *limits = d.flat ? arena_printf(a, "length <= %.6f mm\n", 62.40 + limit)
                                    : "length = 62.28..62.52 mm\n";
        analyze(
            a, draw(&d, a, &s),
            arena_printf(a, "[dimensions]\n%s[material]\nejection_temperature = 75 degC\n", limits),
            &f);
        if (d.flat)
            count_share(&d, limit, &f, out);
        else
            count_times(&d, &f, out);
        arena_free(a);
    }
    arena_free(kept);
}
