/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From the table to the shots of the fit. */
#include <math.h>
#include <string.h>

#include "gate_freeze.h"

const char *gate_freeze_file(const struct gate_freeze *g, size_t shot)
{
    return g->table->sources[g->table->rows[g->data.row[shot]].source].name;
}

long gate_freeze_line(const struct gate_freeze *g, size_t shot)
{
    return g->table->rows[g->data.row[shot]].line;
}

struct weights { /* the columns that hold weights */
    size_t n;
    int *column, *cavity;
};

static struct weights find_weights(const struct gate_freeze *g)
{
    const struct table *t = g->table;
    struct weights w = {0, ARENA_ARRAY(g->a, int, t->n_columns),
                        ARENA_ARRAY(g->a, int, t->n_columns)};
    int total = table_find(t, "weight", 0);
    if (total >= 0) {
        w.column[w.n++] = total;
        return w;
    }
    for (size_t i = 0; i < t->n_columns; i++)
        if (strcmp(t->columns[i].spec->name, "weight") == 0) {
            w.column[w.n] = (int)i;
            w.cavity[w.n++] = t->columns[i].cavity;
        }
    return w;
}

static const char *why_unusable(const struct gate_freeze *g, const struct table_row *row, int hold,
                                const struct weights *w, size_t *missing)
{
    if (row->cells[hold].kind != CELL_VALUE)
        return "no hold time";
    *missing = 0;
    bool censored = false;
    for (size_t i = 0; i < w->n; i++) {
        enum cell_kind kind = row->cells[w->column[i]].kind;
        *missing += kind != CELL_VALUE;
        censored |= kind == CELL_BELOW || kind == CELL_ABOVE;
    }
    if (*missing == 0)
        return NULL;
    if (censored)
        return "the weight is a limit (< or >), not a reading";
    return w->n == 1 ? "no weight"
                     : arena_printf(g->a, "no weight for %zu of %zu cavities", *missing, w->n);
}

static void add_shot(struct gate_freeze_data *d, const struct table_row *row, size_t index,
                     int hold, const struct weights *w)
{
    double sum = 0.0;
    for (size_t i = 0; i < w->n; i++) {
        double v = row->cells[w->column[i]].value;
        sum += v;
        if (d->cavities > 0)
            d->cavity[i][d->n] = v;
    }
    d->x[d->n] = row->cells[hold].value;
    d->y[d->n] = sum / (double)w->n;
    d->row[d->n++] = index;
}

void gate_freeze_collect(const struct gate_freeze *g, enum study_take take,
                         struct gate_freeze_data *out)
{
    const struct table *t = g->table;
    struct weights w = find_weights(g);
    int hold = table_find(t, "hold_time", 0);
    *out = (struct gate_freeze_data){.x = ARENA_ARRAY(g->a, double, t->n_rows),
                                     .y = ARENA_ARRAY(g->a, double, t->n_rows),
                                     .row = ARENA_ARRAY(g->a, size_t, t->n_rows)};
    if (hold < 0 || w.n == 0)
        return;
    if (w.n > 1 || w.cavity[0] > 0) {
        out->cavities = w.n;
        out->cavity_number = w.cavity;
        out->cavity = ARENA_ARRAY(g->a, double *, w.n);
        for (size_t i = 0; i < w.n; i++)
            out->cavity[i] = ARENA_ARRAY(g->a, double, t->n_rows);
    }
    for (size_t i = 0; i < t->n_rows; i++) {
        const struct table_row *row = &t->rows[i];
        size_t missing = 0;
        bool looked_at = study_takes(row, take);
        const char *why = looked_at ? why_unusable(g, row, hold, &w, &missing) : NULL;
        if (looked_at && why == NULL) {
            add_shot(out, row, i, hold, &w);
            continue;
        }
        out->incomplete += missing > 0 && missing < w.n;
        study_leave_out(g->f, t, i, why, take);
    }
    for (size_t i = 0; i < w.n; i++) {
        double typed = t->columns[w.column[i]].step;
        const double *v = out->cavities > 0 ? out->cavity[i] : out->y;
        out->step = fmax(out->step, math_reading_step(v, out->n, typed));
    }
    out->step /= sqrt((double)w.n);
}
