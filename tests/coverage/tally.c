/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Counting of intervals. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "coverage.h"

static struct cov_row *row_of(struct cov_rows *r, const char *quantity, const char *method)
{
    for (size_t i = 0; i < r->n; i++)
        if (strcmp(r->row[i].quantity, quantity) == 0 && strcmp(r->row[i].method, method) == 0)
            return &r->row[i];
    if (r->n == COV_ROWS) {
        fprintf(stderr, "coverage: more than %d rows\n", COV_ROWS);
        abort();
    }
    struct cov_row *row = &r->row[r->n++];
    *row = (struct cov_row){.quantity = quantity, .method = method};
    return row;
}

static void note_width(struct cov_row *row, double width)
{
    if (row->printed == row->capacity) {
        row->capacity = row->capacity > 0 ? 2 * row->capacity : 512;
        double *more = realloc(row->width, row->capacity * sizeof *more);
        if (more == NULL)
            abort();
        row->width = more;
    }
    row->width[row->printed++] = width;
}

void cov_interval(struct cov_rows *r, const char *quantity, const char *method, double low,
                  double high, double truth)
{
    struct cov_row *row = row_of(r, quantity, method);
    row->trials++;
    if (isnan(low) || isnan(high))
        return;
    double slack = 1e-9 * fabs(truth); /* printed numbers are rounded to ten digits */
    bool above = low > truth + slack, below = high < truth - slack;
    row->above += above;
    row->below += below;
    row->covered += !above && !below;
    row->open += isinf(low) || isinf(high);
    note_width(row, high - low);
}

void cov_share(struct cov_rows *r, const char *quantity, bool hit)
{
    struct cov_row *row = row_of(r, quantity, "share");
    row->trials++;
    row->covered += hit;
    note_width(row, 0.0);
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

void cov_print(const struct cov_rows *r, const char *cell)
{
    for (size_t i = 0; i < r->n; i++) {
        const struct cov_row *w = &r->row[i];
        double median = NAN;
        if (w->printed > 0) {
            qsort(w->width, w->printed, sizeof *w->width, ascending);
            median = w->width[w->printed / 2];
        }
        printf("%s\t%s\t%s\t%zu\t%zu\t%zu\t%zu\t%zu\t%zu\t%.6g\n", cell, w->quantity, w->method,
               w->trials, w->printed, w->covered, w->above, w->below, w->open, median);
    }
}
