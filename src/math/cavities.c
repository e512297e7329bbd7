/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Do all cavities reach their plateau at the same x? */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit.h>

#include "math/plateau_internal.h"

#define TEST_LEVEL 0.05
#define MOST_COLUMNS 4

struct design {
    size_t m, small, full; /* blocks; columns under equality and with the differences */
    double *column;        /* m * full, by row, square-root weighted */
};

static void design_fill(struct arena *a, const struct math_blocks *b, const struct family_fit *f,
                        struct design *d)
{
    const struct family *form = family_of(f->id);
    d->m = b->n_blocks;
    d->small = 2;
    d->full = 2 + form->n_theta;
    d->column = ARENA_ARRAY(a, double, d->m * d->full);
    for (size_t i = 0; i < d->m; i++) {
        double dg[2] = {0.0, 0.0}, w = sqrt((double)b->b[i].n);
        double *row = d->column + i * d->full;
        row[0] = w;
        row[1] = w * form->g(b->b[i].x, f->value + 2, b->group_x[0], dg);
        for (size_t k = 0; k < form->n_theta; k++)
            row[2 + k] = w * dg[k];
    }
}

/* Residual sum of squares of v on the first `columns` of the design. */
static double residual_sum(const struct design *d, size_t columns, const double *v)
{
    double rss = NAN;
    gsl_matrix *x = gsl_matrix_alloc(d->m, columns), *cov = gsl_matrix_alloc(columns, columns);
    gsl_vector *y = gsl_vector_alloc(d->m), *c = gsl_vector_alloc(columns);
    gsl_multifit_linear_workspace *ws = gsl_multifit_linear_alloc(d->m, columns);
    if (x != NULL && cov != NULL && y != NULL && c != NULL && ws != NULL) {
        for (size_t i = 0; i < d->m; i++) {
            gsl_vector_set(y, i, v[i]);
            for (size_t j = 0; j < columns; j++)
                gsl_matrix_set(x, i, j, d->column[i * d->full + j]);
        }
        if (gsl_multifit_linear(x, y, c, cov, &rss, ws) != GSL_SUCCESS || !isfinite(rss))
            rss = NAN;
    }
    gsl_multifit_linear_free(ws);
    gsl_vector_free(c);
    gsl_vector_free(y);
    gsl_matrix_free(cov);
    gsl_matrix_free(x);
    return rss;
}

struct cavity {
    double *mean;       /* block means of the deviation */
    double within;      /* pooled sum of squares within blocks */
    double equal, full; /* residual sums */
};

static void cavity_fill(struct arena *a, const struct math_blocks *b, const struct design *d,
                        const double *y, const double *shot_mean, struct cavity *c)
{
    double *v = ARENA_ARRAY(a, double, d->m);
    c->mean = ARENA_ARRAY(a, double, d->m);
    for (size_t i = 0; i < d->m; i++) {
        const struct math_block *k = &b->b[i];
        double sum = 0.0;
        for (size_t j = k->first; j < k->first + k->n; j++)
            sum += y[j] - shot_mean[j];
        c->mean[i] = sum / (double)k->n;
        for (size_t j = k->first; j < k->first + k->n; j++) {
            double r = y[j] - shot_mean[j] - c->mean[i];
            c->within += r * r;
        }
        v[i] = c->mean[i] * sqrt((double)k->n);
    }
    c->equal = residual_sum(d, d->small, v);
    c->full = residual_sum(d, d->full, v);
}

/* Holm: smallest p first, each times the number still in play. */
static void holm(double *p, size_t n)
{
    double floor = 0.0;
    bool *done = calloc(n, sizeof *done);
    for (size_t k = 0; done != NULL && k < n; k++) {
        size_t least = n;
        for (size_t i = 0; i < n; i++)
            if (!done[i] && (least == n || p[i] < p[least]))
                least = i;
        floor = fmax(floor, fmin(1.0, p[least] * (double)(n - k)));
        p[least] = floor;
        done[least] = true;
    }
    free(done);
}

static void own_answers(struct arena *a, const struct math_blocks *b, const struct cavity *c,
                        const struct plateau_answer *common, const struct plateau_options *options,
                        struct cavity_compare *out)
{
    const struct family_fit *f = &common->family[common->best];
    for (size_t i = 0; i < out->n; i++) {
        struct math_blocks own = *b;
        own.b = ARENA_ARRAY(a, struct math_block, b->n_blocks);
        for (size_t j = 0; j < b->n_blocks; j++) {
            own.b[j] = b->b[j];
            own.b[j].mean = family_value(f, b->b[j].x, b->group_x[0], 1) + c[i].mean[j];
        }
        double tolerance = common->tolerance;
        if (!isnan(options->tolerance_relative))
            tolerance *= 1.0 + c[i].mean[b->n_blocks - 1] / f->level;
        out->answer[i] = plateau_family_answer(a, &own, options, f->id, tolerance);
    }
}

void plateau_cavities_compare(struct arena *a, const struct math_blocks *blocks,
                              const double *const *y, size_t cavities,
                              const struct plateau_answer *common,
                              const struct plateau_options *options, double most,
                              struct cavity_compare *out)
{
    math_quiet();
    *out = (struct cavity_compare){.n = cavities, .f = PL_NAN, .p = PL_NAN};
    out->answer = ARENA_ARRAY(a, double, cavities);
    out->p_each = ARENA_ARRAY(a, double, cavities);
    out->differs = ARENA_ARRAY(a, bool, cavities);
    const struct family_fit *f = &common->family[common->best];
    double *mean = ARENA_ARRAY(a, double, blocks->n_rows);
    for (size_t j = 0; j < blocks->n_rows; j++)
        for (size_t c = 0; c < cavities; c++)
            mean[j] += y[c][j] / (double)cavities;
    struct design d;
    design_fill(a, blocks, f, &d);
    struct cavity *c = ARENA_ARRAY(a, struct cavity, cavities);
    double within = 0.0, full = 0.0, equal = 0.0, k = (double)cavities;
    for (size_t i = 0; i < cavities; i++) {
        cavity_fill(a, blocks, &d, y[i], mean, &c[i]);
        within += c[i].within;
        full += c[i].full;
        equal += c[i].equal;
    }
    own_answers(a, blocks, c, common, options, out);
    double q = (double)(d.full - d.small), dof = (k - 1.0) * ((double)d.m - (double)d.full);
    double dof_within = (k - 1.0) * ((double)blocks->n_rows - (double)d.m);
    double v = dof > 0.0 ? full / dof : 0.0;
    if (dof_within > 0.0 && within / dof_within > v) {
        v = within / dof_within;
        dof = dof_within;
    }
    if (d.m > d.full && dof > 0.0 && v > 0.0) {
        out->d1 = (k - 1.0) * q;
        out->d2 = dof;
        out->f = (equal - full) / out->d1 / v;
        out->p = math_f_tail(out->f, out->d1, out->d2);
        /* one cavity's deviation has variance (k - 1) / k of the error's */
        for (size_t i = 0; i < cavities; i++)
            out->p_each[i] =
                math_f_tail((c[i].equal - c[i].full) / q / (v * (k - 1.0) / k), q, dof);
        holm(out->p_each, cavities);
    }
    for (size_t i = 0; i < cavities; i++) {
        bool rejected = out->p < TEST_LEVEL && out->p_each[i] < TEST_LEVEL;
        bool far = isfinite(out->answer[i]) && fabs(out->answer[i] - f->answer) > most;
        out->differs[i] = rejected || far;
    }
}
