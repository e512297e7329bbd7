/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cells of gate-freeze with a weight per cavity: one common freeze time, and the interval of a
 * cavity that stands alone. */
#include <math.h>
#include <string.h>

#include "coverage.h"

#define CAVITIES 8

struct design {
    struct curve_truth truth[CAVITIES];
    size_t k, m, shots;
    double first, last, common, own, between, step;
};

static void design_of(const struct cov_cell *c, struct arena *a, struct design *d)
{
    double tolerance = COV_TOLERANCE * SIM_PLATEAU;
    *d = (struct design){.k = (size_t)cov_number(c, "cavities", 4),
                         .m = (size_t)cov_number(c, "conditions", 8),
                         .shots = (size_t)cov_number(c, "shots", 3),
                         .first = cov_number(c, "first", 2.0),
                         .last = cov_number(c, "last", 10.5),
                         .common = cov_number(c, "common", 0.3) * tolerance,
                         .own = cov_number(c, "sd", 0.3) * tolerance,
                         .between = cov_number(c, "between", 0.0),
                         .step = cov_number(c, "step", 0.001)};
    for (size_t i = 0; i < d->k; i++) {
        truth_of(c, a, &d->truth[i]);
        d->truth[i].plateau *= 1.0 + 0.002 * (double)i; /* cavities are not cut alike */
        d->truth[i].late = i == 2 % d->k ? cov_number(c, "late", 0.0) : 0.0;
    }
}

/* When the mean of the cavities that are not alone comes within the tolerance of its plateau. */
static double shared_answer(const struct design *d, const bool *alone)
{
    double low = 0.1, high = 60.0;
    for (int i = 0; i < 100; i++) {
        double middle = (low + high) / 2.0, short_of = 0.0, plateau = 0.0;
        for (size_t c = 0; c < d->k; c++)
            if (!alone[c]) {
                short_of += d->truth[c].plateau - truth_value(&d->truth[c], middle);
                plateau += d->truth[c].plateau;
            }
        if (short_of > COV_TOLERANCE * plateau)
            low = middle;
        else
            high = middle;
    }
    return high;
}

static void draw(const struct design *d, struct sim_stream *s, struct cov_sheet *sheet)
{
    for (size_t i = 0; i < d->m; i++) {
        double x = d->first + (d->last - d->first) * (double)i / (double)(d->m - 1);
        double off = d->between * d->common * sim_normal(s), own_off[CAVITIES];
        for (size_t c = 0; c < d->k; c++)
            own_off[c] = d->between * d->own * sim_normal(s);
        for (size_t j = 0; j < d->shots; j++) {
            double shot = off + d->common * sim_normal(s);
            struct cell *cells = cov_sheet_row(sheet);
            cells[0] = cov_value(x);
            for (size_t c = 0; c < d->k; c++) {
                double w =
                    truth_value(&d->truth[c], x) + shot + own_off[c] + d->own * sim_normal(s);
                cells[1 + c] = cov_value(round(w / d->step) * d->step);
            }
        }
    }
}

static const struct data_table *cavity_table(const struct finding *f)
{
    for (size_t i = 0; i < f->n_tables; i++)
        if (strcmp(f->tables[i].name, "cavities") == 0)
            return &f->tables[i];
    return NULL;
}

static void count(const struct design *d, const struct finding *f, struct cov_rows *out)
{
    bool alone[CAVITIES] = {false}, late_alone = false, other = false;
    size_t left = d->k;
    double low, high;
    const struct data_table *t = cavity_table(f);
    for (size_t c = 0; t != NULL && c < d->k; c++) {
        const double *v = &t->values[c * t->n_columns];
        if (isnan(v[2]) || isnan(v[3]))
            continue;
        alone[c] = true;
        left--;
        late_alone |= d->truth[c].late > 0.0;
        other |= !(d->truth[c].late > 0.0);
        double truth = truth_answer(&d->truth[c], COV_TOLERANCE * d->truth[c].plateau);
        cov_interval(out, "own freeze time of a cavity that stands alone", "program", v[2], v[3],
                     truth);
    }
    cov_share(out, "the late cavity stands alone", late_alone);
    cov_share(out, "another cavity stands alone", other);
    if (left == 0)
        return;
    cov_quantity(f, "freeze_time", &low, &high);
    cov_interval(out, "freeze_time", "program", low, high, shared_answer(d, alone));
}

void cov_cavities(const struct cov_cell *c, size_t trials, struct cov_rows *out)
{
    struct arena *kept = arena_new();
    struct design d;
    design_of(c, kept, &d);
    for (size_t trial = 0; trial < trials; trial++) {
        struct arena *a = arena_new();
        struct sim_stream s = cov_stream(c, trial);
        struct cov_sheet sheet;
        struct finding f;
        cov_sheet_init(&sheet, a, "gate-freeze", 1 + d.k, d.m * d.shots);
        cov_sheet_column(&sheet, "hold_time", 0, 0.1);
        for (size_t i = 0; i < d.k; i++)
            cov_sheet_column(&sheet, "weight", (int)i + 1, d.step);
        draw(&d, &s, &sheet);
        cov_sheet_analyze(&sheet, &f);
        count(&d, &f, out);
        arena_free(a);
    }
    arena_free(kept);
}
