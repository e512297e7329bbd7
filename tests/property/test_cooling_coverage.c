/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Coverage of the cooling study's intervals on simulated trials with a known truth: a dimension
 * that approaches its end value exponentially and a part temperature that falls exponentially, 8
 * cooling times in mixed order and the first one again, 3 shots each, condition scatter 0 and 1
 * times the shots'. What is told: closed_time_min (the later of the two), the crossing of the
 * ejection temperature, and, on trials of their own, that the share of parts inside a limit is at
 * least the bound given for it (one-sided). PLATEAU_TRIALS sets the number of trials a cell (40 by
 * default). A cell passes when the upper end of its 99 % Monte Carlo interval reaches the bar. The
 * stream is fixed, so a result is reproducible. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "near.h"
#include "plateau/math_cooling.h"
#include "plateau/study.h"
#include "simulate.h"
#include "trials.h"

#define TRIALS 40
#define BAR 0.93
#define FIRST 9.1 /* closed time */
#define SETTINGS 8
#define SHOTS 3
#define BLOCKS (SETTINGS + 1)
#define EJECTION 75.0

struct design {
    double scatter; /* condition sd in shot sds */
    double tau;     /* of the dimension */
    double noise;   /* shot sd in tolerances */
};

static const struct design cells[] = {
    {0.0, 1.25, 0.15}, {1.0, 1.25, 0.15}, {0.0, 1.25, 0.3},
    {1.0, 1.25, 0.3},  {0.0, 0.8, 0.15},  {1.0, 0.8, 0.15},
};

#define TOLERANCE 0.024 /* 10 % of 0.24 mm */
#define DROP 0.30       /* mm, at the first closed time */
#define HOT 34.0        /* K, the same */
#define HOT_TAU 2.2
#define HOT_END 54.0

/* ---- a trial as text --------------------------------------------------------------------------
 */

static const int order[BLOCKS] = {4, 1, 6, 2, 0, 5, 3, 7, 4};

static const char *trial_text(struct arena *a, const struct design *c, uint64_t seed)
{
    struct text t;
    struct sim_stream r = {seed * 0xD1342543DE82EF95u + 0x632BE59BD9B4E019u};
    double sd = c->noise * TOLERANCE, hot_sd = 0.4;
    text_init(&t, a);
    text_add(&t, "cooling time [s],hold time [s],fill time [s],length [mm],part temperature "
                 "[degC],age [h]\n");
    for (size_t i = 0; i < BLOCKS; i++) {
        double u = order[i], off = c->scatter * sd * sim_normal(&r);
        double warm = c->scatter * hot_sd * sim_normal(&r);
        for (size_t k = 0; k < SHOTS; k++) {
            double length = 62.40 - DROP * exp(-u / c->tau) + off + sd * sim_normal(&r);
            double hot = HOT_END + HOT * exp(-u / HOT_TAU) + warm + hot_sd * sim_normal(&r);
            text_addf(&t, "%d,6.5,0.6,%.3f,%.1f,26\n", order[i] + 2, length, hot);
        }
    }
    return t.s;
}

static struct finding analyze(struct arena *a, const char *csv, const char *ini)
{
    const struct study *s = study_find("cooling");
    struct study_input input = {s->name, s->columns, s->n_columns};
    struct read_request request = {&input, 1, s->criteria, s->n_criteria};
    struct trial *trial = ARENA_NEW(a, struct trial);
    struct table *table = ARENA_NEW(a, struct table);
    struct diag_list diags;
    struct error e = {.code = ERR_NONE};
    struct finding f;
    diag_init(&diags, a);
    assert_int_equal(
        facts_load_bytes(a, "trial.ini", ini, strlen(ini), &request, &trial->facts, &diags, &e),
        ERR_NONE);
    assert_int_equal(table_load_bytes(a, "cooling.csv", csv, strlen(csv), &input, &trial->facts,
                                      table, &diags, &e),
                     ERR_NONE);
    assert_int_equal(diags.errors, 0);
    trial->tables = table;
    trial->n_tables = 1;
    trial_fill_display(a, trial);
    finding_init(&f, a, s->name, s->title);
    assert_int_equal(s->analyze(trial, table, &f, &e), ERR_NONE);
    return f;
}

static bool holds(const struct quantity *q, double truth)
{
    return q->low <= truth && truth <= q->high;
}

/* ---- least closed time ------------------------------------------------------------------------
 */

struct tally {
    size_t answered, least, bounded, crossing;
    double width; /* sum of finite ones */
};

static void one_trial(const struct design *c, uint64_t seed, struct tally *out)
{
    struct arena *a = arena_new();
    struct finding f = analyze(a, trial_text(a, c, seed),
                               "[dimensions]\nlength = 62.28..62.52 mm\n[material]\n"
                               "ejection_temperature = 75 degC\n");
    double settled = FIRST + c->tau * log(DROP / TOLERANCE);
    double cold = FIRST + HOT_TAU * log(HOT / (EJECTION - HOT_END));
    double truth = fmax(settled, cold);
    const struct quantity *q = finding_get(&f, "closed_time_min");
    const struct quantity *passed = finding_get(&f, "ejection_temperature_reached");
    if (f.n_bounds > 0) { /* refusals are a count of their own */
        out->answered++;
        out->least += holds(q, truth);
        out->bounded += f.bounds[0].value >= truth;
        out->width += q->high - q->low;
    }
    out->crossing += holds(passed, cold);
    arena_free(a);
}

static void covers(void **state)
{
    const struct design *c = *state;
    size_t n = sim_trials(TRIALS, 0);
    struct tally t = {.width = 0.0};
    for (size_t i = 0; i < n; i++)
        one_trial(c, (uint64_t)(c - cells) * 1000003u + i, &t);
    double answered = (double)t.answered;
    print_message("condition sd %.0f, tau %.2f s, shot sd %.2f tolerances: answered %zu of %zu, "
                  "closed_time_min %.3f, bound safe %.3f, mean width %.2f s; ejection temperature "
                  "%.3f\n",
                  c->scatter, c->tau, c->noise, t.answered, n, (double)t.least / answered,
                  (double)t.bounded / answered, t.width / answered, (double)t.crossing / (double)n);
    assert_true(t.answered > 0);
    assert_true(share_upper_99((double)t.least / answered, answered) >= BAR);
    assert_true(share_upper_99((double)t.bounded / answered, answered) >= BAR);
    assert_true(share_upper_99((double)t.crossing / (double)n, (double)n) >= BAR);
}

/* ---- share inside a limit ---------------------------------------------------------------------
 */

/* The scatter of a part at a setting that is set anew is that of conditions and shots together. A
 * flat dimension, so that the curve is no part of it; looked at where the criterion is told, the
 * last of equal times. */
static void share_bound_holds(void **state)
{
    const struct design *c = *state;
    size_t n = sim_trials(TRIALS, 0), safe = 0;
    const double sd = 0.01, limit = 0.035;
    double total = sd * sqrt(1.0 + c->scatter * c->scatter);
    double truth = math_normal_share(limit / total);
    for (size_t i = 0; i < n; i++) {
        struct arena *a = arena_new();
        struct text t;
        struct sim_stream r = {((uint64_t)(c - cells) + 77u) * 1000003u + i};
        text_init(&t, a);
        text_add(&t, "cooling time [s],hold time [s],fill time [s],gap [mm],age [h]\n");
        for (size_t b = 0; b < BLOCKS; b++) {
            double off = c->scatter * sd * sim_normal(&r);
            for (size_t k = 0; k < SHOTS; k++)
                text_addf(&t, "%d,6.5,0.6,%.4f,26\n", order[b] + 2,
                          1.0 + off + sd * sim_normal(&r));
        }
        struct finding f = analyze(a, t.s, "[dimensions]\ngap <= 1.035 mm\n");
        const struct data_table *table = &f.tables[0];
        const double *last = &table->values[(table->n_rows - 1) * table->n_columns];
        safe += last[7] <= truth;
        arena_free(a);
    }
    print_message("condition sd %.0f: share bound safe %.3f (true share %.5f)\n", c->scatter,
                  (double)safe / (double)n, truth);
    assert_true(share_upper_99((double)safe / (double)n, (double)n) >= BAR);
}

int main(void)
{
    static char titles[PL_COUNT(cells)][80];
    struct CMUnitTest tests[PL_COUNT(cells) + 2];
    size_t n = 0;
    for (; n < PL_COUNT(cells); n++) {
        snprintf(titles[n], sizeof titles[n], "condition sd %.0f, tau %.2f s, shot sd %.2f",
                 cells[n].scatter, cells[n].tau, cells[n].noise);
        tests[n] = (struct CMUnitTest){titles[n], covers, NULL, NULL, (void *)(uintptr_t)&cells[n]};
    }
    for (size_t i = 0; i < 2; i++)
        tests[n++] =
            (struct CMUnitTest){i == 0 ? "share, no condition scatter" : "share, condition scatter",
                                share_bound_holds, NULL, NULL, (void *)(uintptr_t)&cells[i]};
    return _cmocka_run_group_tests("coverage of cooling", tests, n, NULL, NULL);
}
