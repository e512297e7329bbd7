/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Coverage of the intervals of the pressure-drop study on simulated trials with a known truth: four
 * stages, three shots, scatter from shot to shot alike in pressure or as a share of it, scatter
 * between the times a stage is run 0, 1 and 2 times that of the shots. PLATEAU_TRIALS sets the
 * number of trials a cell (200 by default). A cell passes when the upper end of its 99 % Monte
 * Carlo interval reaches 93 %, and when at most 1 % of the trials call a shot odd. The stream is
 * fixed, so a result is reproducible. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "near.h"
#include "plateau/study.h"
#include "simulate.h"
#include "trials.h"

#define TRIALS 200
#define BAR 0.93
#define ALARM 0.01 /* at most, of trials without an odd shot */
#define STAGES 4
#define ROUNDS_MOST 2
#define SHOTS_MOST 5
#define AVAILABLE 100.0

extern const struct study study_pressure_drop;

struct design {
    const char *scatter;
    double constant, relative; /* sd of a shot: constant + relative x pressure */
    double between;            /* sd between times, in shot sds */
    size_t rounds, shots;
};

static const struct design cells[] = {
    {"alike in pressure", 0.3, 0.0, 0.0, 1, 3},
    {"a share of pressure", 0.0, 0.015, 0.0, 1, 3},
    {"alike in pressure", 0.3, 0.0, 0.0, 2, 3},
    {"alike in pressure", 0.3, 0.0, 1.0, 2, 3},
    {"alike in pressure", 0.3, 0.0, 2.0, 2, 3},
    {"a share of pressure", 0.0, 0.015, 0.0, 2, 3},
    {"a share of pressure", 0.0, 0.015, 1.0, 2, 3},
    {"a share of pressure", 0.0, 0.015, 2.0, 2, 3},
    {"mixed", 0.1, 0.01, 1.0, 2, 2},
    {"mixed", 0.1, 0.01, 1.0, 2, 5},
};

static const double truth[STAGES] = {5.9, 14.7, 31.4, 60.0};
static const char *const names[STAGES] = {"nozzle", "runner", "gate", "part"};

static void fill_rows(struct arena *a, const struct design *c, uint64_t seed, struct table *t)
{
    struct sim_stream s = {seed * 0xD1342543DE82EF95u + 0x632BE59BD9B4E019u};
    t->rows = ARENA_ARRAY(a, struct table_row, ROUNDS_MOST * STAGES * SHOTS_MOST);
    for (size_t round = 0; round < c->rounds; round++)
        for (size_t i = 0; i < STAGES; i++) {
            double sd = c->constant + c->relative * truth[i];
            double off = c->between * sd * sim_normal(&s);
            for (size_t k = 0; k < c->shots; k++) {
                struct table_row *row = &t->rows[t->n_rows++];
                *row = (struct table_row){.line = (long)t->n_rows + 1,
                                          .order = (double)t->n_rows,
                                          .shot = "",
                                          .excluded_by = "",
                                          .note = "",
                                          .defect = "",
                                          .cells = ARENA_ARRAY(a, struct cell, 2)};
                row->cells[0] = (struct cell){.kind = CELL_TEXT, .text = names[i]};
                row->cells[1] = (struct cell){
                    .kind = CELL_VALUE, .value = truth[i] + off + sd * sim_normal(&s), .text = ""};
            }
        }
}

/* A column of that name of the study. */
static const struct column_spec *spec(const char *name)
{
    for (size_t i = 0; i < study_pressure_drop.n_columns; i++)
        if (strcmp(study_pressure_drop.columns[i].name, name) == 0)
            return &study_pressure_drop.columns[i];
    fail_msg("no column %s", name);
    return NULL;
}

struct tally {
    size_t covered[STAGES + 1]; /* drops, then pressure use */
    double half;                /* sum of half widths of the use */
    size_t alarms;              /* trials with a shot called odd, where none is */
};

static void one_trial(const struct design *c, uint64_t seed, struct tally *out)
{
    struct arena *a = arena_new();
    struct fact facts[] = {
        {.section = "press",
         .key = "max_injection_pressure",
         .kind = FACT_QUANTITY,
         .dimension = DIM_PRESSURE,
         .low = AVAILABLE,
         .high = AVAILABLE,
         .given = true},
        {.section = "press",
         .key = "pressure_basis",
         .kind = FACT_TEXT,
         .text = "melt",
         .given = true},
    };
    struct trial trial = {.facts = {.items = facts, .n = PL_COUNT(facts)}};
    struct source source = {.name = "pressure-drop.csv"};
    struct table_column columns[] = {{.spec = spec("stage")}, {.spec = spec("peak_pressure")}};
    struct table t = {.study = "pressure-drop",
                      .sources = &source,
                      .n_sources = 1,
                      .columns = columns,
                      .n_columns = PL_COUNT(columns)};
    struct finding f;
    struct error e = {.code = ERR_NONE};
    fill_rows(a, c, seed, &t);
    finding_init(&f, a, "pressure-drop", "Pressure drop");
    assert_int_equal(study_pressure_drop.analyze(&trial, &t, &f, &e), ERR_NONE);
    const struct quantity *q = finding_get(&f, "pressure_use");
    double use = truth[STAGES - 1] / AVAILABLE;
    out->covered[STAGES] += q->low <= use && use <= q->high;
    out->half += (q->high - q->low) / 2.0;
    const struct data_table *drops = &f.tables[1];
    for (size_t i = 0; i < STAGES; i++) {
        double drop = truth[i] - (i > 0 ? truth[i - 1] : 0.0);
        const double *v = &drops->values[i * drops->n_columns];
        out->covered[i] += v[2] <= drop && drop <= v[3];
    }
    out->alarms += finding_has_flag(&f, "outlier") || finding_has_flag(&f, "stray-shot");
    arena_free(a);
}

static void covers(void **state)
{
    const struct design *c = *state;
    size_t n = sim_trials(TRIALS, 0);
    struct tally tally = {.half = 0.0};
    for (size_t i = 0; i < n; i++)
        one_trial(c, (uint64_t)(c - cells) * 1000003u + i, &tally);
    print_message("%-20s between %.0f, %zu rounds of %zu: use %.3f (+-%.2f %%), drops", c->scatter,
                  c->between, c->rounds, c->shots, (double)tally.covered[STAGES] / (double)n,
                  100.0 * tally.half / (double)n);
    for (size_t i = 0; i < STAGES; i++)
        print_message(" %.3f", (double)tally.covered[i] / (double)n);
    print_message(", alarms %.4f\n", (double)tally.alarms / (double)n);
    assert_true(share_lower_99((double)tally.alarms / (double)n, (double)n) <= ALARM);
    for (size_t i = 0; i <= STAGES; i++)
        assert_true(share_upper_99((double)tally.covered[i] / (double)n, (double)n) >= BAR);
}

int main(void)
{
    static char titles[PL_COUNT(cells)][80];
    struct CMUnitTest tests[PL_COUNT(cells)];
    for (size_t i = 0; i < PL_COUNT(cells); i++) {
        snprintf(titles[i], sizeof titles[i], "%s, between %.0f, %zu rounds of %zu",
                 cells[i].scatter, cells[i].between, cells[i].rounds, cells[i].shots);
        tests[i] = (struct CMUnitTest){titles[i], covers, NULL, NULL, (void *)(uintptr_t)&cells[i]};
    }
    return cmocka_run_group_tests(tests, NULL, NULL);
}
