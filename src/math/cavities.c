/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Do all cavities reach their plateau at the same x? */
#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit.h>

#include "math/plateau_internal.h"

#define TEST_LEVEL 0.05
#define MOST_COLUMNS 4

struct design {
    size_t m, small, full; /* blocks; columns under equality and with the difference */
    double *column;        /* m * full, by row, square-root weighted; the difference comes last */
};

/* A cavity's curve differs from the common one by dP, dA and dtheta. To first order its answer f
 * stays the same where grad f . (dP, dA, dtheta) = 0, so the curves that share the answer differ by
 * p - 1 directions (each parameter's, with A moved along so that f stays), and the direction of A
 * itself is the one that moves f. With a relative tolerance the tolerance moves with P. */
static void design_fill(struct arena *a, const struct math_blocks *b,
                        const struct plateau_answer *common, const struct plateau_options *o,
                        struct design *d)
{
    const struct family_fit *f = &common->family[common->best];
    const struct family *form = family_of(f->id);
    double grad[MOST_COLUMNS] = {0.0};
    plateau_answer_gradient(f, common->tolerance, b->group_x[0], grad);
    if (!isnan(o->tolerance_relative))
        grad[0] = -o->tolerance_relative * f->value[1] / common->tolerance * grad[1];
    d->m = b->n_blocks;
    d->full = f->p;
    d->small = f->p - 1;
    d->column = ARENA_ARRAY(a, double, d->m * d->full);
    for (size_t i = 0; i < d->m; i++) {
        double dg[2] = {0.0, 0.0}, w = sqrt((double)b->b[i].n);
        double *row = d->column + i * d->full;
        double by_a = -form->g(b->b[i].x, f->value + 2, b->group_x[0], dg);
        row[0] = w * (1.0 - grad[0] / grad[1] * by_a);
        for (size_t k = 0; k < form->n_theta; k++)
            row[1 + k] = w * (-f->value[1] * dg[k] - grad[2 + k] / grad[1] * by_a);
        row[d->small] = w * by_a;
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
static void holm(struct arena *a, double *p, size_t n)
{
    double floor = 0.0;
    bool *done = ARENA_ARRAY(a, bool, n);
    for (size_t k = 0; k < n; k++) {
        size_t least = n;
        for (size_t i = 0; i < n; i++)
            if (!done[i] && (least == n || p[i] < p[least]))
                least = i;
        floor = fmax(floor, fmin(1.0, p[least] * (double)(n - k)));
        p[least] = floor;
        done[least] = true;
    }
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
            own.b[j].mean = family_value(f, b->b[j].x, b->group_x[0]) + c[i].mean[j];
        }
        double tolerance = common->tolerance;
        if (!isnan(options->tolerance_relative))
            tolerance *= 1.0 + c[i].mean[b->n_blocks - 1] / f->level;
        out->answer[i] = plateau_family_answer(a, &own, options, f->id, tolerance);
    }
}

static long worst_of(const struct cavity_compare *r, double common, double most)
{
    long worst = -1;
    double least = TEST_LEVEL, furthest = most;
    for (size_t i = 0; i < r->n && r->p < TEST_LEVEL; i++)
        if (r->p_each[i] < least) {
            least = r->p_each[i];
            worst = (long)i;
        }
    for (size_t i = 0; i < r->n && worst < 0; i++)
        if (isfinite(r->answer[i]) && fabs(r->answer[i] - common) > furthest)
            furthest = fabs(r->answer[i] - common);
    for (size_t i = 0; i < r->n && worst < 0 && furthest > most; i++)
        if (fabs(r->answer[i] - common) >= furthest)
            worst = (long)i;
    return worst;
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
    const struct family_fit *f = &common->family[common->best];
    double *mean = ARENA_ARRAY(a, double, blocks->n_rows);
    for (size_t j = 0; j < blocks->n_rows; j++)
        for (size_t c = 0; c < cavities; c++)
            mean[j] += y[c][j] / (double)cavities;
    struct design d;
    design_fill(a, blocks, common, options, &d);
    struct cavity *c = ARENA_ARRAY(a, struct cavity, cavities);
    double within = 0.0, full = 0.0, equal = 0.0, k = (double)cavities;
    for (size_t i = 0; i < cavities; i++) {
        cavity_fill(a, blocks, &d, y[i], mean, &c[i]);
        within += c[i].within;
        full += c[i].full;
        equal += c[i].equal;
    }
    own_answers(a, blocks, c, common, options, out);
    double q = 1.0, dof = (k - 1.0) * ((double)d.m - (double)d.full);
    double dof_within = (k - 1.0) * ((double)blocks->n_rows - (double)d.m);
    double v = dof > 0.0 ? full / dof : 0.0;
    if (dof_within > 0.0 && within / dof_within > v) {
        v = within / dof_within;
        dof = dof_within;
    }
    v = fmax(v, options->step * options->step * k / 12.0); /* the step of one cavity's weights */
    if (d.m > d.full && dof > 0.0 && v > 0.0) {
        out->d1 = (k - 1.0) * q;
        out->d2 = dof;
        out->f = (equal - full) / out->d1 / v;
        out->p = math_f_tail(out->f, out->d1, out->d2);
        /* one cavity's deviation has variance (k - 1) / k of the error's */
        for (size_t i = 0; i < cavities; i++)
            out->p_each[i] =
                math_f_tail((c[i].equal - c[i].full) / q / (v * (k - 1.0) / k), q, dof);
        holm(a, out->p_each, cavities);
    }
    out->worst = worst_of(out, f->answer, most);
}
