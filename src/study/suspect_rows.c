/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Wrong units that the rows of one table give away: a shot against the others of its setting, a
 * setting against the line through the others, a column against its neighbour. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study_internal.h"

#define CLOSE_TO_MATES 1.10 /* shots of one setting repeat */
#define CLOSE_TO_LINE 1.30
#define LINE_IS_LINE 2.0 /* no other setting may lie further from it */
#define LEAST_SETTINGS 4
#define PEAK_TO_TRANSFER 1.30
#define READ_TWICE 0.01   /* of a pressure: two readings of one differ by no more */
#define SETTINGS_MOST 200 /* the line's work grows with their square */

/* ---- rows of one setting -------------------------------------------------------------------- */

struct settings { /* rows with a value in the column, by setting */
    size_t *row, n;
    size_t *first, n_settings; /* row[first[i]] ..; first[n_settings] = n */
};

/* Orders rows by all columns that say what was set. */
static int compare_settings(const struct table *t, size_t a, size_t b)
{
    for (size_t i = 0; i < t->n_columns; i++) {
        const struct column_spec *spec = t->columns[i].spec;
        if (!(spec->flags & (COLUMN_SETTING | COLUMN_CONSTANT_LABEL)))
            continue;
        const struct cell *x = &t->rows[a].cells[i], *y = &t->rows[b].cells[i];
        if (x->kind != y->kind)
            return x->kind < y->kind ? -1 : 1;
        int order = x->kind == CELL_VALUE ? (x->value > y->value) - (x->value < y->value)
                                          : strcmp(x->text, y->text);
        if (order != 0)
            return order;
    }
    return 0;
}

/* Insertion by merging halves: the standard library's sort takes no context. */
static void sort_rows(const struct table *t, size_t *row, size_t *spare, size_t n)
{
    if (n < 2)
        return;
    size_t half = n / 2, i = 0, j = half;
    sort_rows(t, row, spare, half);
    sort_rows(t, row + half, spare, n - half);
    for (size_t k = 0; k < n; k++)
        if (j >= n || (i < half && compare_settings(t, row[i], row[j]) <= 0))
            spare[k] = row[i++];
        else
            spare[k] = row[j++];
    memcpy(row, spare, n * sizeof *row);
}

static struct settings settings_of(const struct suspect *s, size_t column)
{
    const struct table *t = s->table;
    struct settings g = {.row = ARENA_ARRAY(s->a, size_t, t->n_rows),
                         .first = ARENA_ARRAY(s->a, size_t, t->n_rows + 1)};
    for (size_t i = 0; i < t->n_rows; i++) {
        const struct cell *c = &t->rows[i].cells[column];
        if (!t->rows[i].excluded && c->kind == CELL_VALUE && c->value > 0.0)
            g.row[g.n++] = i;
    }
    sort_rows(t, g.row, ARENA_ARRAY(s->a, size_t, t->n_rows), g.n);
    for (size_t i = 0; i < g.n; i++)
        if (i == 0 || compare_settings(t, g.row[i - 1], g.row[i]) != 0)
            g.first[g.n_settings++] = i;
    g.first[g.n_settings] = g.n;
    return g;
}

static double value_at(const struct suspect *s, size_t row, size_t column)
{
    return s->table->rows[row].cells[column].value;
}

static const char *or_also(const struct suspect *s, const struct suspect_factor *also)
{
    return also == NULL ? "" : arena_printf(s->a, ", or of %s", also->words);
}

/* The first row that lies off the others of its setting by a factor. */
static void against_mates(struct suspect *s, size_t column, const struct settings *g,
                          const struct suspect_factor *f, size_t n_factors)
{
    const struct table_column *c = &s->table->columns[column];
    double *v = ARENA_ARRAY(s->a, double, g->n);
    const struct suspect_factor *found = NULL, *also = NULL;
    size_t count = 0, at = 0;
    double usual = PL_NAN;
    for (size_t k = 0; k < g->n_settings; k++) {
        size_t from = g->first[k], n = g->first[k + 1] - from;
        for (size_t i = 0; i < n; i++)
            v[i] = value_at(s, g->row[from + i], column);
        double middle = n == 2 ? fmin(v[0], v[1]) : math_median(v, n);
        for (size_t i = 0; n >= 2 && i < n; i++) {
            const struct suspect_factor *other;
            double x = value_at(s, g->row[from + i], column);
            const struct suspect_factor *m =
                suspect_match(f, n_factors, x / middle, CLOSE_TO_MATES, &other);
            if (m == NULL)
                continue;
            if (count++ > 0 && g->row[from + i] > at)
                continue;
            found = m;
            also = other;
            at = g->row[from + i];
            usual = middle;
        }
    }
    if (found == NULL)
        return;
    const char *more = count < 2 ? "" : arena_printf(s->a, "; so it is in %zu rows", count);
    double x = value_at(s, at, column), ratio = fmax(x / usual, usual / x);
    SUSPECT_RAISE(
        s, found->code, study_file(s->table, at), s->table->rows[at].line,
        "the %s is %s here and %s in other rows of the same setting, a factor of %s, like "
        "that of %s%s%s",
        suspect_name(s, c->spec->name), suspect_value(s, c->spec->dimension, x, PL_NAN),
        suspect_value(s, c->spec->dimension, usual, PL_NAN), number_text(s->a, ratio, 3),
        found->words, or_also(s, also), more);
}

/* ---- settings against each other ------------------------------------------------------------ */

struct line { /* of logarithms */
    double *x, *y, slope, height;
    size_t n;
};

/* Median of the slopes of all pairs, then of the heights: a fifth of the settings may be wrong
 * (Theil and Sen, from memory). */
static void fit_line(const struct suspect *s, struct line *l)
{
    double *v = ARENA_ARRAY(s->a, double, l->n * l->n);
    size_t k = 0;
    for (size_t i = 0; i < l->n; i++)
        for (size_t j = 0; j < i; j++)
            if (l->x[i] != l->x[j])
                v[k++] = (l->y[i] - l->y[j]) / (l->x[i] - l->x[j]);
    l->slope = math_median(v, k);
    for (size_t i = 0; i < l->n; i++)
        v[i] = l->y[i] - l->slope * l->x[i];
    l->height = math_median(v, l->n);
}

static void against_line(struct suspect *s, size_t column, const struct settings *g,
                         const struct suspect_factor *f, size_t n_factors)
{
    int setting = table_find(s->table, s->study->setting, 0);
    const struct table_column *c = &s->table->columns[column];
    if (setting < 0 || s->table->columns[setting].spec->dimension == DIM_TEXT ||
        g->n_settings < LEAST_SETTINGS || g->n_settings > SETTINGS_MOST)
        return;
    struct line l = {.x = ARENA_ARRAY(s->a, double, g->n_settings),
                     .y = ARENA_ARRAY(s->a, double, g->n_settings)};
    double *v = ARENA_ARRAY(s->a, double, g->n);
    for (size_t k = 0; k < g->n_settings; k++) {
        size_t from = g->first[k], n = g->first[k + 1] - from;
        const struct cell *x = &s->table->rows[g->row[from]].cells[setting];
        if (x->kind != CELL_VALUE || !(x->value > 0.0))
            return;
        for (size_t i = 0; i < n; i++)
            v[i] = value_at(s, g->row[from + i], column);
        l.x[l.n] = log(x->value);
        l.y[l.n++] = log(math_median(v, n));
    }
    fit_line(s, &l);
    const struct suspect_factor *found = NULL, *also = NULL;
    size_t at = 0;
    for (size_t k = 0; k < l.n; k++) {
        const struct suspect_factor *other;
        double ratio = exp(l.y[k] - l.height - l.slope * l.x[k]);
        const struct suspect_factor *m = suspect_match(f, n_factors, ratio, CLOSE_TO_LINE, &other);
        if (m == NULL && !(fabs(log(ratio)) <= log(LINE_IS_LINE)))
            return; /* no line, or another trouble */
        if (m == NULL || found != NULL)
            continue;
        found = m;
        also = other;
        at = k;
    }
    if (found == NULL)
        return;
    size_t row = g->row[g->first[at]];
    double expected = exp(l.height + l.slope * l.x[at]), is = exp(l.y[at]);
    SUSPECT_RAISE(
        s, found->code, study_file(s->table, row), s->table->rows[row].line,
        "at %s the %s is %s, and the other settings lead to expect about %s: a factor of "
        "%s, like that of %s%s",
        suspect_value(s, s->table->columns[setting].spec->dimension, exp(l.x[at]), PL_NAN),
        suspect_name(s, c->spec->name), suspect_value(s, c->spec->dimension, is, PL_NAN),
        suspect_value(s, c->spec->dimension, expected, fabs(expected) / 10.0),
        number_text(s->a, fmax(is / expected, expected / is), 3), found->words, or_also(s, also));
}

/* ---- columns against each other ------------------------------------------------------------- */

/* The highest pressure up to transfer is that at transfer or a little more. */
static void peak_against_transfer(struct suspect *s)
{
    int peak = table_find(s->table, "peak_pressure", 0);
    int transfer = table_find(s->table, "transfer_pressure", 0);
    double *v = ARENA_ARRAY(s->a, double, s->table->n_rows);
    size_t n = 0, first = 0;
    for (size_t i = 0; peak >= 0 && transfer >= 0 && i < s->table->n_rows; i++) {
        const int columns[2] = {peak, transfer};
        if (!table_row_has(s->table, i, columns, 2) || !(value_at(s, i, (size_t)transfer) > 0.0))
            continue;
        first = n == 0 ? i : first;
        v[n++] = value_at(s, i, (size_t)peak) / value_at(s, i, (size_t)transfer);
    }
    struct suspect_factor f[2];
    const struct suspect_factor *also;
    size_t n_factors = suspect_factors(s, DIM_PRESSURE, f);
    double ratio = math_median(v, n);
    const struct suspect_factor *m = suspect_match(f, n_factors, ratio, PEAK_TO_TRANSFER, &also);
    if (m == NULL)
        return;
    SUSPECT_RAISE(
        s, m->code, study_file(s->table, first), s->table->rows[first].line,
        "the peak pressure is %s times the transfer pressure (%s and %s in the first row, "
        "as melt pressure), a factor like that of %s%s: the two columns seem to differ "
        "in it",
        number_text(s->a, ratio, 3),
        value_text(s->a, NULL, DIM_PRESSURE, value_at(s, first, (size_t)peak), PL_NAN),
        value_text(s->a, NULL, DIM_PRESSURE, value_at(s, first, (size_t)transfer), PL_NAN),
        m->words, or_also(s, also));
}

/* The first row in which the highest pressure of a shot lies below that at transfer. */
static void peak_below_transfer(struct suspect *s)
{
    int peak = table_find(s->table, "peak_pressure", 0);
    int transfer = table_find(s->table, "transfer_pressure", 0);
    size_t n = 0, at = 0;
    for (size_t i = 0; peak >= 0 && transfer >= 0 && i < s->table->n_rows; i++) {
        const int columns[2] = {peak, transfer};
        if (!table_row_has(s->table, i, columns, 2))
            continue;
        double steps = s->table->columns[peak].step + s->table->columns[transfer].step;
        double low = value_at(s, i, (size_t)peak), v = value_at(s, i, (size_t)transfer);
        if (low < v * (1.0 - READ_TWICE) - steps && n++ == 0)
            at = i;
    }
    if (n == 0)
        return;
    SUSPECT_RAISE(
        s, "peak-below-transfer", study_file(s->table, at), s->table->rows[at].line,
        "the peak pressure is %s and the pressure at transfer %s (melt); the highest pressure of a "
        "shot cannot be lower%s",
        value_text(s->a, NULL, DIM_PRESSURE, value_at(s, at, (size_t)peak), PL_NAN),
        value_text(s->a, NULL, DIM_PRESSURE, value_at(s, at, (size_t)transfer), PL_NAN),
        n == 1 ? "" : arena_printf(s->a, "; so it is in %zu rows", n));
}

void suspect_rows(struct suspect *s)
{
    for (size_t i = 0; i < s->table->n_columns; i++) {
        const struct column_spec *spec = s->table->columns[i].spec;
        struct suspect_factor f[2];
        size_t n = suspect_factors(s, spec->dimension, f);
        /* times and pressures that were measured; what was set makes a condition of its own */
        if (n == 0 || (spec->flags & COLUMN_SETTING) || strcmp(spec->name, s->study->setting) == 0)
            continue;
        struct settings g = settings_of(s, i);
        size_t before = s->f->n_flags;
        against_mates(s, i, &g, f, n);
        if (s->f->n_flags == before)
            against_line(s, i, &g, f, n);
    }
    size_t before = s->f->n_flags;
    peak_against_transfer(s);
    if (s->f->n_flags == before) /* a factor between the columns says more */
        peak_below_transfer(s);
}
