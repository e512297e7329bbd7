/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cells of pressure-drop: four stages, their drops and the share of the press they take. */
#include <math.h>
#include <string.h>

#include "coverage.h"

#define STAGES 4
#define AVAILABLE 100.0

static const double truth[STAGES] = {5.9, 14.7, 31.4, 60.0};
static const char *const stage[STAGES] = {"nozzle", "runner", "gate", "part"};
static const char *const drop_name[STAGES] = {"drop to the nozzle", "drop to the runner",
                                              "drop to the gate", "drop to the part"};
static const char *const mean_name[STAGES] = {"mean at the nozzle", "mean at the runner",
                                              "mean at the gate", "mean at the part"};

static void draw(const struct cov_cell *c, struct sim_stream *s, struct cov_sheet *sheet)
{
    double constant = cov_number(c, "constant", 0.0), relative = cov_number(c, "relative", 0.0);
    double between = cov_number(c, "between", 0.0), step = cov_number(c, "step", 0.1);
    for (double round_ = 0; round_ < cov_number(c, "rounds", 1); round_++)
        for (size_t i = 0; i < STAGES; i++) {
            double sd = constant + relative * truth[i], off = between * sd * sim_normal(s);
            for (double k = 0; k < cov_number(c, "shots", 3); k++) {
                struct cell *cells = cov_sheet_row(sheet);
                double p = truth[i] + off + sd * sim_normal(s);
                cells[0] = cov_text(stage[i]);
                cells[1] = cov_value(step > 0.0 ? round(p / step) * step : p);
            }
        }
}

static void count(const struct finding *f, struct cov_rows *out)
{
    double low, high;
    cov_quantity(f, "pressure_use", &low, &high);
    cov_interval(out, "pressure_use", "program", low, high, truth[STAGES - 1] / AVAILABLE);
    cov_quantity(f, "fill_pressure", &low, &high);
    cov_interval(out, "fill_pressure", "program", low, high, truth[STAGES - 1]);
    const struct data_table *drops = NULL, *stages = NULL;
    for (size_t i = 0; i < f->n_tables; i++)
        if (strcmp(f->tables[i].name, "drops") == 0)
            drops = &f->tables[i];
        else if (strcmp(f->tables[i].name, "stages") == 0)
            stages = &f->tables[i];
    for (size_t i = 0; stages != NULL && i < STAGES; i++) {
        const double *v = &stages->values[i * stages->n_columns];
        cov_interval(out, mean_name[i], "program", v[4], v[5], truth[i]);
    }
    for (size_t i = 0; drops != NULL && i < STAGES; i++) {
        const double *v = &drops->values[i * drops->n_columns];
        cov_interval(out, drop_name[i], "program", v[2], v[3],
                     truth[i] - (i > 0 ? truth[i - 1] : 0.0));
    }
}

void cov_pressure_drop(const struct cov_cell *c, size_t trials, struct cov_rows *out)
{
    size_t rows = STAGES * (size_t)(cov_number(c, "rounds", 1) * cov_number(c, "shots", 3));
    for (size_t trial = 0; trial < trials; trial++) {
        struct arena *a = arena_new();
        struct sim_stream s = cov_stream(c, trial);
        struct cov_sheet sheet;
        struct finding f;
        cov_sheet_init(&sheet, a, "pressure-drop", 2, rows);
        cov_sheet_column(&sheet, "stage", 0, 0.0);
        cov_sheet_column(&sheet, "peak_pressure", 0, cov_number(c, "step", 0.1));
        cov_sheet_quantity(&sheet, "press", "max_injection_pressure", DIM_PRESSURE, AVAILABLE);
        cov_sheet_text(&sheet, "press", "pressure_basis", "melt");
        draw(c, &s, &sheet);
        cov_sheet_analyze(&sheet, &f);
        count(&f, out);
        arena_free(a);
    }
}
