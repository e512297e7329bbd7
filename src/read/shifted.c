/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows whose cells have shifted: a cell was left out, or an empty one put in, and the last cell of
 * the readings is empty or lost. As it stands a reading is far from all others of its column; with
 * the cells moved by one all of them are among the others. */
#include <stdlib.h>
#include <string.h>

#include "decimal.h"
#include "shots.h"

#define ROWS_LEAST 6
#define SEGMENT_LEAST 3 /* readings beside each other */

/* What a column holds without its extremes; canonical. */
struct level {
    bool known, full; /* full: nearly all other rows have a value */
    double low, high;
};

struct shift {
    struct reading *r;
    struct level *levels; /* per column */
    size_t from, to;      /* a run of quantities, `to` the last one */
};

static bool is_quantity(const struct column *c)
{
    return column_is_quantity(c) && c->use != NULL && !c->hopeless;
}

/* The plain number of a cell as it would be in column k. */
static bool value_in(const struct reading *r, const char *s, size_t k, double *v)
{
    struct number x;
    if (number_parse(s, strlen(s), r->mark, &x) != NUMBER_OK || x.rest_length > 0)
        return false;
    *v = x.value * r->columns[k].use->factor + r->columns[k].use->offset;
    return true;
}

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static struct level level_of(const struct reading *r, size_t k, double *v)
{
    size_t n = 0, rows = 0;
    for (size_t i = r->body; i < r->records.n; i++) {
        if (!shots_keeps_row(r, i))
            continue;
        rows++;
        n += value_in(r, row_cell(r, i, k), k, &v[n]);
    }
    struct level l = {n >= ROWS_LEAST, 10 * (n + 1) >= 9 * rows, 0.0, 0.0};
    if (!l.known)
        return l;
    qsort(v, n, sizeof *v, compare_doubles);
    size_t cut = n / 10 > 1 ? n / 10 : 1;
    l.low = v[cut];
    l.high = v[n - 1 - cut];
    return l;
}

/* How many readings of row i are far from those of their columns, with the cells from `at` on taken
 * from `by` columns further: 1 closes a gap, -1 makes one. The first of them in *first. */
static size_t count_off(const struct shift *s, size_t i, size_t at, int by, size_t *first)
{
    size_t off = 0;
    for (size_t k = s->from; k <= s->to; k++) {
        double v;
        size_t source = k;
        if (by > 0 && k >= at)
            source = k + 1;
        if (by < 0 && k >= at)
            source = k == at ? s->to + 1 : k - 1;
        if (source > s->to || !s->levels[k].known ||
            !value_in(s->r, row_cell(s->r, i, source), k, &v))
            continue;
        if (!is_among(v, s->levels[k].low, s->levels[k].high))
            *first = off++ == 0 ? k : *first;
    }
    return off;
}

static bool is_empty(const struct shift *s, size_t i, size_t k)
{
    return row_cell(s->r, i, k)[0] == '\0';
}

static void refuse(const struct shift *s, size_t i, size_t at, size_t off, bool missing)
{
    struct reading *r = s->r;
    const char *odd = quoted(r, row_cell(r, i, off)), *name = column_name(&r->columns[off]);
    size_t gap = missing ? s->to : at;
    struct complaint c = {
        DIAG_ERROR,
        "cells-shifted",
        column_name(&r->columns[at]),
        arena_printf(r->arena,
                     "%s in %s is far from all others; %s the cells of this row would be "
                     "among them",
                     odd, name,
                     missing ? arena_printf(r->arena, "with one more cell in front of %s",
                                            quoted(r, row_cell(r, i, at)))
                             : "without this empty cell"),
        "a cell for every column, in the order of the header",
        arena_printf(r->arena, "%s If the row is right, write - into its empty cell of %s.",
                     missing ? "Put the cell that is missing into its place."
                             : "Take the empty cell out.",
                     column_name(&r->columns[gap]))};
    complain_cell(r, &c, i, at);
    r->rows[i].kind = ROW_BROKEN;
}

static void check_row(const struct shift *s, size_t i)
{
    size_t off = s->to, ignored = 0;
    if (count_off(s, i, s->to + 1, 0, &off) == 0)
        return;
    bool lost = is_empty(s, i, s->to) && s->levels[s->to].full;
    for (size_t at = s->from; lost && at < s->to; at++)
        if (!is_empty(s, i, at) && count_off(s, i, at, -1, &ignored) == 0) {
            refuse(s, i, at, off, true);
            return;
        }
    for (size_t at = s->from; at < s->to; at++)
        if (is_empty(s, i, at) && s->levels[at].full && count_off(s, i, at, 1, &ignored) == 0) {
            refuse(s, i, at, off, false);
            return;
        }
}

void shifted_check(struct reading *r)
{
    struct shift s = {.r = r, .levels = ARENA_ARRAY(r->arena, struct level, r->n_columns)};
    double *v = ARENA_ARRAY(r->arena, double, r->records.n);
    if (!decimal_is_settled(r))
        return;
    for (size_t k = 0; k < r->n_columns; k++)
        if (is_quantity(&r->columns[k]))
            s.levels[k] = level_of(r, k, v);
    for (size_t k = 0; k < r->n_columns; k = s.to + 1) {
        s.from = s.to = k;
        while (s.to < r->n_columns && is_quantity(&r->columns[s.to]))
            s.to++;
        if (s.to - s.from < SEGMENT_LEAST) {
            s.to = s.to > k ? s.to : k;
            continue;
        }
        s.to--;
        for (size_t i = r->body; i < r->records.n; i++)
            if (shots_keeps_row(r, i))
                check_row(&s, i);
    }
}
