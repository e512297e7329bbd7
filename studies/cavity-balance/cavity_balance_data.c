/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From the table to complete shots at each fill, and what is computed of them. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cavity_balance.h"

#define SAME_FILL 0.01     /* of a full part: shots closer than that are one level */
#define PACKED_WEIGHT 0.99 /* of the full part's weight */

const char *cavity_balance_file(const struct cavity_balance *b, size_t row)
{
    return b->table->sources[b->table->rows[row].source].name;
}

/* ---- columns ----------------------------------------------------------------------------------
 */

static bool has_value(const struct cavity_balance *b, int column)
{
    for (size_t i = 0; i < b->table->n_rows; i++)
        if (b->table->rows[i].cells[column].kind == CELL_VALUE)
            return true;
    return false;
}

/* The balance's own step, which may be coarser than its digits. One balance weighed all cavities:
 * few shots of many cavities tell it too. Digits that differ are those of different balances, and
 * the coarsest counts. */
static double step_of(const struct cavity_balance *b, const struct cavity_balance_data *d,
                      const int *column)
{
    const struct table *t = b->table;
    double *v = ARENA_ARRAY(b->a, double, t->n_rows * d->cavities), coarsest = 0.0;
    size_t n = 0;
    for (size_t k = 0; k < d->cavities; k++)
        coarsest = fmax(coarsest, t->columns[column[k]].step);
    for (size_t k = 0; k < d->cavities; k++)
        for (size_t i = 0; i < t->n_rows; i++) {
            const struct cell *c = &t->rows[i].cells[column[k]];
            bool counts = !t->rows[i].excluded && c->kind == CELL_VALUE;
            if (counts && t->columns[column[k]].step >= coarsest * (1.0 - 1e-9))
                v[n++] = c->value;
        }
    return math_reading_step(v, n, coarsest);
}

/* Columns of the weights by cavity number; those without any weight are set aside. */
static int *find_columns(const struct cavity_balance *b, struct cavity_balance_data *d)
{
    const struct table *t = b->table;
    int *column = ARENA_ARRAY(b->a, int, t->n_columns);
    d->number = ARENA_ARRAY(b->a, int, t->n_columns);
    d->empty = ARENA_ARRAY(b->a, int, t->n_columns);
    for (size_t i = 0; i < t->n_columns; i++) {
        const struct table_column *c = &t->columns[i];
        if (strcmp(c->spec->name, "weight") != 0 || c->cavity == 0)
            continue;
        if (!has_value(b, (int)i)) {
            d->empty[d->n_empty++] = c->cavity;
            continue;
        }
        size_t k = d->cavities++;
        for (; k > 0 && d->number[k - 1] > c->cavity; k--) {
            d->number[k] = d->number[k - 1];
            column[k] = column[k - 1];
        }
        d->number[k] = c->cavity;
        column[k] = (int)i;
    }
    d->step = step_of(b, d, column);
    d->gaps = ARENA_ARRAY(b->a, size_t, d->cavities);
    return column;
}

/* ---- shots ------------------------------------------------------------------------------------
 */

struct shot {
    size_t row;
    double fill;
};

static const char *why_unusable(const struct cavity_balance *b, const struct table_row *row,
                                int fill, const int *column, struct cavity_balance_data *d)
{
    size_t missing = 0;
    bool censored = false;
    for (size_t c = 0; c < d->cavities; c++) {
        enum cell_kind kind = row->cells[column[c]].kind;
        d->gaps[c] += kind != CELL_VALUE;
        missing += kind != CELL_VALUE;
        censored |= kind == CELL_BELOW || kind == CELL_ABOVE;
    }
    if (censored)
        return "a weight is a limit (< or >), not a reading";
    if (missing > 0)
        return arena_printf(b->a, "no weight for %zu of %zu cavities", missing, d->cavities);
    if (d->has_fill && row->cells[fill].kind != CELL_VALUE)
        return "no fill, while other shots have one";
    return NULL;
}

static size_t find_shots(const struct cavity_balance *b, enum study_take take, const int *column,
                         struct cavity_balance_data *d, struct shot *shots)
{
    const struct table *t = b->table;
    int fill = table_find(t, "fill", 0);
    size_t n = 0;
    d->has_fill = fill >= 0 && has_value(b, fill);
    for (size_t i = 0; i < t->n_rows; i++) {
        const struct table_row *row = &t->rows[i];
        bool looked_at = study_takes(row, take);
        const char *why = looked_at ? why_unusable(b, row, fill, column, d) : NULL;
        d->shots += looked_at;
        if (looked_at && why == NULL)
            shots[n++] = (struct shot){i, d->has_fill ? row->cells[fill].value : 0.0};
        else
            study_leave_out(b->f, t, i, why, take);
    }
    return n;
}

static int by_fill(const void *a, const void *b)
{
    const struct shot *x = a, *y = b;
    if (x->fill < y->fill || x->fill > y->fill)
        return x->fill < y->fill ? -1 : 1;
    return (x->row > y->row) - (x->row < y->row);
}

static int by_row(const void *a, const void *b)
{
    const struct shot *x = a, *y = b;
    return (x->row > y->row) - (x->row < y->row);
}

/* ---- levels -------------------------------------------------------------------------------------
 */

static void note_fullness(const struct cavity_balance *b, struct cavity_balance_level *l)
{
    l->fullness = isnan(b->part_weight) ? l->fill : l->i.largest / b->part_weight;
    l->packed = l->i.largest >= PACKED_WEIGHT * b->part_weight || l->fill >= 1.0 - 1e-9;
}

static void make_level(const struct cavity_balance *b, const int *column, struct shot *shots,
                       size_t n, struct cavity_balance_data *d)
{
    struct cavity_balance_level *l = &d->level[d->n_levels++];
    *l = (struct cavity_balance_level){.n = n,
                                       .row = ARENA_ARRAY(b->a, size_t, n),
                                       .y = ARENA_ARRAY(b->a, double *, d->cavities),
                                       .fill = PL_NAN};
    double sum = 0.0;
    qsort(shots, n, sizeof *shots, by_row); /* rows of the table stand in time order */
    for (size_t j = 0; j < n; j++) {
        l->row[j] = shots[j].row;
        sum += shots[j].fill - shots[0].fill;
    }
    if (d->has_fill)
        l->fill = shots[0].fill + sum / (double)n;
    for (size_t c = 0; c < d->cavities; c++) {
        l->y[c] = ARENA_ARRAY(b->a, double, n);
        for (size_t j = 0; j < n; j++)
            l->y[c][j] = b->table->rows[l->row[j]].cells[column[c]].value;
    }
    math_anova_two_way(b->a, (const double *const *)l->y, d->cavities, n, &l->t);
    math_imbalance(&l->t, d->step, b->confidence, &l->i);
    math_anom(b->a, l->t.row_mean, d->cavities, n, l->i.s, l->i.dof, b->confidence, &l->m);
    note_fullness(b, l);
}

void cavity_balance_collect(const struct cavity_balance *b, enum study_take take,
                            struct cavity_balance_data *out)
{
    *out = (struct cavity_balance_data){0};
    const int *column = find_columns(b, out);
    struct shot *shots = ARENA_ARRAY(b->a, struct shot, b->table->n_rows);
    out->n = find_shots(b, take, column, out, shots);
    if (out->cavities < 2)
        out->n = 0;
    if (out->n > 0)
        qsort(shots, out->n, sizeof *shots, by_fill);
    out->level = ARENA_ARRAY(b->a, struct cavity_balance_level, out->n);
    for (size_t from = 0, to; from < out->n; from = to) {
        for (to = from + 1; to < out->n; to++)
            if (shots[to].fill - shots[to - 1].fill > SAME_FILL + 1e-9)
                break;
        make_level(b, column, &shots[from], to - from, out);
    }
}

const struct cavity_balance_level *cavity_balance_deciding(const struct cavity_balance_data *d)
{
    const struct cavity_balance_level *best = NULL;
    int best_rank = -1;
    for (size_t i = 0; i < d->n_levels; i++) {
        const struct cavity_balance_level *l = &d->level[i];
        int rank = 2 * !l->packed + (l->n >= 2);
        if (rank >= best_rank) { /* levels stand by rising fill */
            best = l;
            best_rank = rank;
        }
    }
    return best;
}

/* ---- equal paths --------------------------------------------------------------------------------
 */

static long cavity_index(const struct cavity_balance_data *d, long number)
{
    for (size_t c = 0; c < d->cavities; c++)
        if (d->number[c] == number)
            return (long)c;
    return -1;
}

static const char *path_text(const struct cavity_balance *b, const char *from, const char *to)
{
    while (from < to && *from == ' ')
        from++;
    while (to > from && to[-1] == ' ')
        to--;
    return arena_copy_n(b->a, from, (size_t)(to - from));
}

/* The reader has checked the sets: numbers, each once. */
static bool read_paths(const struct cavity_balance *b, const char *s,
                       struct cavity_balance_paths *p)
{
    const struct cavity_balance_data *d = &b->data;
    size_t seen = 0;
    p->set = ARENA_ARRAY(b->a, size_t, d->cavities);
    p->set_text = ARENA_ARRAY(b->a, const char *, strlen(s) + 1);
    while (*s != '\0') {
        const char *from = s;
        for (; *s != '\0' && *s != ';';) {
            char *end;
            long number = strtol(s, &end, 10);
            if (end == s) {
                s++;
                continue;
            }
            s = end;
            long c = cavity_index(d, number);
            if (c < 0)
                return false;
            p->set[c] = p->n;
            seen++;
        }
        p->set_text[p->n++] = path_text(b, from, s);
        s += *s == ';';
    }
    return p->n >= 2 && seen == d->cavities;
}

void cavity_balance_compare_paths(struct cavity_balance *b)
{
    const char *text = facts_text(&b->trial->facts, "mold", "equal_paths");
    struct cavity_balance_paths p = {0};
    if (text == NULL || b->at == NULL)
        return;
    if (!read_paths(b, text, &p)) {
        cavity_balance_flag(
            b, "equal-paths-do-not-fit", NULL, 0,
            arena_printf(b->a,
                         "[mold] equal_paths = %s does not name each of the %zu weighed cavities",
                         text, b->data.cavities));
        return;
    }
    p.testable = true;
    for (size_t s = 0; s < p.n; s++) {
        size_t members = 0;
        for (size_t c = 0; c < b->data.cavities; c++)
            members += p.set[c] == s;
        p.testable = p.testable && members >= 2;
    }
    math_anova_one_way(b->a, b->at->t.row_mean, p.set, b->data.cavities, p.n, &p.r);
    b->paths = p;
}

/* ---- trend with the fill
 * -------------------------------------------------------------------------- */

/* Heaviest minus lightest cavity of the deciding level, over the heaviest, at another level. */
static double pair_at(const struct cavity_balance *b, const struct cavity_balance_level *l,
                      double *variance)
{
    double large = l->t.row_mean[b->at->i.heaviest], small = l->t.row_mean[b->at->i.lightest];
    *variance = 2.0 * l->i.s * l->i.s / ((double)l->n * large * large);
    return (large - small) / large;
}

/* Half width that the scatter of the levels around the line gives; 0 below three levels. */
static double half_from_levels(const struct cavity_balance *b, double m, double rss, double sxx)
{
    if (m < 3.0)
        return 0.0;
    return math_t_quantile(0.5 + b->confidence / 2.0, m - 2.0) * sqrt(rss / (m - 2.0) / sxx);
}

void cavity_balance_find_trend(struct cavity_balance *b)
{
    const struct cavity_balance_data *d = &b->data;
    double m = 0.0, x_mean = 0.0, y_mean = 0.0, sxx = 0.0, sxy = 0.0, variance;
    b->trend = b->trend_low = b->trend_high = PL_NAN;
    bool *used = ARENA_ARRAY(b->a, bool, d->n_levels);
    for (size_t i = 0; i < d->n_levels; i++) {
        const struct cavity_balance_level *l = &d->level[i];
        used[i] = d->has_fill && !l->packed && l->n >= 2;
        if (!used[i])
            continue;
        b->trend_from = m > 0.0 ? b->trend_from : l->fill;
        b->trend_to = l->fill;
        m += 1.0;
        x_mean += (l->fill - x_mean) / m;
        y_mean += (pair_at(b, l, &variance) - y_mean) / m;
    }
    if (m < 2.0)
        return;
    for (size_t i = 0; i < d->n_levels; i++)
        if (used[i]) {
            double x = d->level[i].fill - x_mean;
            sxx += x * x;
            sxy += x * (pair_at(b, &d->level[i], &variance) - y_mean);
        }
    double sum = 0.0, dof = 0.0, rss = 0.0; /* Satterthwaite's degrees of freedom */
    b->trend = sxy / sxx;
    for (size_t i = 0; i < d->n_levels; i++)
        if (used[i]) {
            double x = d->level[i].fill - x_mean;
            double r = pair_at(b, &d->level[i], &variance) - y_mean - b->trend * x;
            double part = x * x / (sxx * sxx) * variance;
            rss += r * r;
            sum += part;
            dof += part * part / d->level[i].i.dof;
        }
    double t = dof > 0.0 ? math_t_quantile(0.5 + b->confidence / 2.0, sum * sum / dof) : 0.0;
    double half = fmax(t * sqrt(sum), half_from_levels(b, m, rss, sxx));
    b->trend_low = b->trend - half;
    b->trend_high = b->trend + half;
}
