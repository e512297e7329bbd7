/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From the table to blocks of shots at one setting. */
#include <math.h>
#include <string.h>

#include "viscosity.h"

#define SAME_FILL 0.03 /* consecutive shots whose fill times agree within 3 % are one condition */

const char *viscosity_file(const struct viscosity *v, const struct viscosity_block *b)
{
    return v->table->sources[v->table->rows[v->data.row[b->first]].source].name;
}

long viscosity_line(const struct viscosity *v, const struct viscosity_block *b)
{
    return v->table->rows[v->data.row[b->first]].line;
}

static const struct cell *cell_of(const struct viscosity *v, size_t row, const char *column)
{
    int c = table_find(v->table, column, 0);
    return c < 0 ? NULL : &v->table->rows[row].cells[c];
}

static double value_of(const struct viscosity *v, size_t row, const char *column)
{
    const struct cell *c = cell_of(v, row, column);
    return c != NULL && c->kind == CELL_VALUE ? c->value : PL_NAN;
}

static double step_of(const struct viscosity *v, const char *column)
{
    int c = table_find(v->table, column, 0);
    return c < 0 ? 0.0 : v->table->columns[c].step;
}

static const char *why_unusable(const struct viscosity *v, size_t row, bool by_speed)
{
    if (!(value_of(v, row, "fill_time") > 0.0))
        return "no fill time";
    if (!(value_of(v, row, "transfer_pressure") > 0.0))
        return "no transfer pressure";
    if (by_speed && !(value_of(v, row, "injection_speed") > 0.0))
        return "no injection speed";
    return NULL;
}

static void collect_rows(const struct viscosity *v, enum study_take take, struct viscosity_data *d)
{
    const struct table *t = v->table;
    for (size_t i = 0; i < t->n_rows; i++) {
        bool looked_at = study_takes(&t->rows[i], take);
        const char *why = looked_at ? why_unusable(v, i, d->by_speed) : NULL;
        if (!looked_at || why != NULL) {
            study_leave_out(v->f, t, i, why, take);
            continue;
        }
        d->t[d->n] = value_of(v, i, "fill_time");
        d->p[d->n] = value_of(v, i, "transfer_pressure");
        d->row[d->n++] = i;
    }
}

/* ---- blocks
 * --------------------------------------------------------------------------------------- */

/* Whether shot j goes on with the block that began at `first`. */
static bool same_setting(const struct viscosity *v, const struct viscosity_data *d, size_t first,
                         size_t j)
{
    if (d->by_speed)
        return fabs(value_of(v, d->row[j], "injection_speed") /
                        value_of(v, d->row[first], "injection_speed") -
                    1.0) < 1e-9;
    if (!d->inferred)
        return strcmp(cell_of(v, d->row[j], "condition")->text,
                      cell_of(v, d->row[first], "condition")->text) == 0;
    double mean = 0.0;
    for (size_t i = first; i < j; i++)
        mean += log(d->t[i]) / (double)(j - first);
    return fabs(log(d->t[j]) - mean) <= SAME_FILL;
}

static bool same_group(const struct viscosity *v, const struct viscosity_data *d, size_t i,
                       size_t j)
{
    if (d->inferred)
        return fabs(d->unit[i].log_t - d->unit[j].log_t) <= SAME_FILL;
    return same_setting(v, d, d->block[i].first, d->block[j].first);
}

/* Mean over the block's shots that have a value; NAN when none has. */
static double block_mean(const struct viscosity *v, const struct viscosity_data *d,
                         const struct viscosity_block *b, const char *column, size_t *count)
{
    double sum = 0.0;
    *count = 0;
    for (size_t i = b->first; i < b->first + b->n; i++) {
        double x = value_of(v, d->row[i], column);
        if (!isnan(x)) {
            sum += x;
            ++*count;
        }
    }
    return *count > 0 ? sum / (double)*count : PL_NAN;
}

static double block_sd(const struct viscosity *v, const struct viscosity_data *d,
                       const struct viscosity_block *b, const char *column)
{
    size_t n;
    double mean = block_mean(v, d, b, column, &n), ss = 0.0;
    for (size_t i = b->first; i < b->first + b->n; i++) {
        double x = value_of(v, d->row[i], column);
        ss += isnan(x) ? 0.0 : (x - mean) * (x - mean);
    }
    return n > 1 ? sqrt(ss / (double)(n - 1)) : PL_NAN;
}

static void fill_block(const struct viscosity *v, struct viscosity_data *d, size_t k)
{
    struct viscosity_block *b = &d->block[k];
    visc_unit_make(&d->t[b->first], &d->p[b->first], b->n, &d->unit[k]);
    b->time = exp(d->unit[k].log_t);
    b->pressure = exp(d->unit[k].log_p);
    b->speed = d->by_speed ? value_of(v, d->row[b->first], "injection_speed") : PL_NAN;
    size_t n_limit;
    b->peak = block_mean(v, d, b, "peak_pressure", &b->n_peak);
    b->peak_sd = block_sd(v, d, b, "peak_pressure");
    if (isnan(b->peak))
        b->peak = b->pressure;
    b->limit = block_mean(v, d, b, "pressure_limit", &n_limit);
    if (isnan(b->limit))
        b->limit = v->available;
    for (size_t i = b->first; i < b->first + b->n && b->defect == NULL; i++) {
        const char *defect = v->table->rows[d->row[i]].defect;
        if (defect != NULL && *defect != '\0')
            b->defect = defect;
    }
    d->unit[k].group = k;
    for (size_t j = 0; j < k && d->unit[k].group == k; j++)
        if (same_group(v, d, j, k))
            d->unit[k].group = d->unit[j].group;
}

void viscosity_collect(const struct viscosity *v, enum study_take take, struct viscosity_data *out)
{
    size_t most = v->table->n_rows;
    *out = (struct viscosity_data){.t = ARENA_ARRAY(v->a, double, most),
                                   .p = ARENA_ARRAY(v->a, double, most),
                                   .row = ARENA_ARRAY(v->a, size_t, most),
                                   .block = ARENA_ARRAY(v->a, struct viscosity_block, most),
                                   .unit = ARENA_ARRAY(v->a, struct visc_unit, most),
                                   .time_step = step_of(v, "fill_time"),
                                   .pressure_step = step_of(v, "transfer_pressure"),
                                   .peak_step = step_of(v, "peak_pressure")};
    out->by_speed = table_find(v->table, "injection_speed", 0) >= 0;
    out->inferred = !out->by_speed && table_find(v->table, "condition", 0) < 0;
    collect_rows(v, take, out);
    for (size_t i = 0; i < out->n;) {
        struct viscosity_block *b = &out->block[out->n_blocks++];
        b->first = i;
        for (i++; i < out->n && same_setting(v, out, b->first, i);)
            i++;
        b->n = i - b->first;
        fill_block(v, out, out->n_blocks - 1);
    }
}

/* ---- what the press did
 * ----------------------------------------------------------------------------- */

static size_t count_settings(const struct visc_unit *u, size_t n)
{
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        bool seen = false;
        for (size_t j = 0; j < i; j++)
            seen = seen || u[j].group == u[i].group;
        count += !seen;
    }
    return count;
}

void viscosity_pick_free(struct viscosity *v)
{
    struct viscosity_data *d = &v->data;
    size_t m = d->n_blocks;
    double *peak = ARENA_ARRAY(v->a, double, m), *limit = ARENA_ARRAY(v->a, double, m);
    double *speed = ARENA_ARRAY(v->a, double, m);
    struct visc_doubt *doubt = ARENA_ARRAY(v->a, struct visc_doubt, m);
    for (size_t i = 0; i < m; i++) {
        peak[i] = d->block[i].peak;
        limit[i] = d->block[i].limit;
        speed[i] = d->block[i].speed;
    }
    visc_find_limited(v->a, d->unit, m, peak, limit, speed, &v->options, doubt);
    v->free = ARENA_ARRAY(v->a, size_t, m);
    v->free_unit = ARENA_ARRAY(v->a, struct visc_unit, m);
    v->n_free = 0;
    for (size_t i = 0; i < m; i++) {
        d->block[i].doubt = doubt[i];
        if (doubt[i].what != VISC_FREE)
            continue;
        v->free[v->n_free] = i;
        v->free_unit[v->n_free++] = d->unit[i];
    }
    v->n_settings = count_settings(v->free_unit, v->n_free);
}

size_t *viscosity_order(const struct viscosity *v)
{
    const struct viscosity_data *d = &v->data;
    size_t *order = ARENA_ARRAY(v->a, size_t, d->n_blocks);
    for (size_t i = 0; i < d->n_blocks; i++) {
        size_t at = i;
        for (; at > 0; at--) {
            const struct viscosity_block *b = &d->block[order[at - 1]], *c = &d->block[i];
            bool after =
                d->by_speed && c->speed != b->speed ? c->speed > b->speed : c->time <= b->time;
            if (after)
                break;
            order[at] = order[at - 1];
        }
        order[at] = i;
    }
    return order;
}
