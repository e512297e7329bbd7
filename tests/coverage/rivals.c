/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Methods the program's interval of the freeze time is compared with: the neighbour bracket on
 * isotonic means, and a model-averaged parametric bootstrap. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "coverage.h"

#define RESAMPLES 199
#define FAMILIES 5

/* ---- neighbour bracket on isotonic means ------------------------------------------------------
 */

/* Pool adjacent violators: the closest rising sequence. */
static void isotonic(const double *y, size_t m, double *out)
{
    size_t n[COV_CONDITIONS], pools = 0;
    double mean[COV_CONDITIONS];
    for (size_t i = 0; i < m; i++) {
        mean[pools] = y[i];
        n[pools++] = 1;
        while (pools > 1 && mean[pools - 2] > mean[pools - 1]) {
            double a = (double)n[pools - 2], b = (double)n[pools - 1];
            mean[pools - 2] = (a * mean[pools - 2] + b * mean[pools - 1]) / (a + b);
            n[pools - 2] += n[pools - 1];
            pools--;
        }
    }
    size_t k = 0;
    for (size_t p = 0; p < pools; p++)
        for (size_t i = 0; i < n[p]; i++)
            out[k++] = mean[p];
}

void rival_isotonic(const struct cov_means *d, double *low, double *high)
{
    double y[COV_CONDITIONS], dof = (double)(d->m * (d->shots - 1)), n = (double)d->shots;
    isotonic(d->y, d->m, y);
    double level = (y[d->m - 1] + y[d->m - 2]) / 2.0;
    double error = dof > 0.0 ? sqrt(d->sspe / dof * (1.0 / n + 0.5 / n)) : 0.0;
    *low = *high = PL_NAN;
    if (y[d->m - 1] - y[d->m - 2] > d->tolerance)
        return;
    size_t within = d->m - 2;
    while (within > 0 && level - y[within - 1] <= d->tolerance - error)
        within--;
    *high = d->x[within];
    *low = -PL_INF;
    for (size_t i = 0; i < within; i++)
        if (level - y[i] > d->tolerance)
            *low = d->x[i];
}

/* ---- model-averaged parametric bootstrap --------------------------------------------------------
 * Every family is a list of shapes g over a fine grid of its parameters, centred and of length one
 * on the design, so that a fit is the greatest of the products with the data. */

static const struct {
    enum shape shape;
    size_t p; /* curve parameters */
} family[FAMILIES] = {{SHAPE_LINEAR_PLATEAU, 3},
                      {SHAPE_QUADRATIC_PLATEAU, 3},
                      {SHAPE_EXPONENTIAL, 3},
                      {SHAPE_LOGISTIC, 4},
                      {SHAPE_STRETCHED, 4}};

struct form {
    double theta[2], mean, length;
    double h[COV_CONDITIONS];
};
struct grids {
    size_t m, n[FAMILIES];
    struct form *form[FAMILIES];
};

static void add(struct grids *g, size_t k, const double *x, double t0, double t1)
{
    struct form c = {.theta = {t0, t1}};
    double sum = 0.0, first = shape_g(family[k].shape, x[0], c.theta);
    if (!(first > 1e-200))
        return;
    for (size_t i = 0; i < g->m; i++) {
        c.h[i] = shape_g(family[k].shape, x[i], c.theta);
        c.mean += c.h[i] / (double)g->m;
    }
    for (size_t i = 0; i < g->m; i++) {
        c.h[i] -= c.mean;
        sum += c.h[i] * c.h[i];
    }
    c.length = sqrt(sum);
    if (!(c.length > 1e-9 * first))
        return;
    for (size_t i = 0; i < g->m; i++)
        c.h[i] /= c.length;
    g->form[k][g->n[k]++] = c;
}

struct grids *rival_grids(struct arena *a, const double *x, size_t m)
{
    enum { FINE = 400, COARSE = 48 };
    struct grids *g = ARENA_ARRAY(a, struct grids, 1);
    double first = x[0], range = x[m - 1] - x[0];
    *g = (struct grids){.m = m};
    for (size_t k = 0; k < FAMILIES; k++)
        g->form[k] = ARENA_ARRAY(a, struct form, family[k].p == 3 ? FINE : COARSE * COARSE);
    for (int i = 1; i <= FINE; i++) {
        double part = (double)i / FINE;
        add(g, 0, x, first + range * part, 0.0);
        add(g, 1, x, first + range * part, 0.0);
        add(g, 2, x, 0.01 * range * pow(300.0, part), 0.0);
    }
    for (int i = 0; i < COARSE; i++)
        for (int j = 0; j < COARSE; j++) {
            double u = (double)i / (COARSE - 1), v = (double)j / (COARSE - 1);
            add(g, 3, x, first + range * (1.2 * u - 0.1), 0.01 * range * pow(60.0, v));
            add(g, 4, x, 0.02 * range * pow(150.0, u), 0.4 * pow(20.0, v));
        }
    return g;
}

struct fit {
    const struct form *form;
    double a, level, s;
    double aicc;
};

/* The best curve of family k: y = level - a g. */
static struct fit fit_family(const struct grids *g, size_t k, const struct cov_means *d,
                             double total, double mean)
{
    struct fit r = {.s = PL_INF, .aicc = PL_INF};
    double most = 0.0;
    for (size_t i = 0; i < g->n[k]; i++) {
        const struct form *c = &g->form[k][i];
        double product = 0.0;
        for (size_t j = 0; j < g->m; j++)
            product -= c->h[j] * d->y[j];
        if (product > most) {
            most = product;
            r.form = c;
        }
    }
    if (r.form == NULL)
        return r;
    r.a = most / r.form->length;
    r.level = mean + r.a * r.form->mean;
    r.s = fmax(0.0, total - most * most) * (double)d->shots;
    double n = (double)(d->m * d->shots), sigmas = (double)family[k].p + 1.0;
    double rows = fmax((r.s + d->sspe) / n, d->step * d->step / 12.0);
    if (n - sigmas - 1.0 > 0.5 && d->m >= family[k].p + 2)
        r.aicc = n * log(rows) + 2.0 * sigmas + 2.0 * sigmas * (sigmas + 1.0) / (n - sigmas - 1.0);
    return r;
}

/* All families; the index of the best, or FAMILIES. */
static size_t fit_all(const struct grids *g, struct cov_means *d, struct fit *fits)
{
    double mean = 0.0, total = 0.0;
    size_t best = FAMILIES;
    for (size_t i = 0; i < d->m; i++)
        mean += (d->y[i] - SIM_PLATEAU) / (double)d->m;
    for (size_t i = 0; i < d->m; i++) {
        double r = d->y[i] - SIM_PLATEAU - mean;
        total += r * r;
    }
    for (size_t k = 0; k < FAMILIES; k++) {
        fits[k] = fit_family(g, k, d, total, mean + SIM_PLATEAU);
        if (isfinite(fits[k].aicc) && (best == FAMILIES || fits[k].aicc < fits[best].aicc))
            best = k;
    }
    return best;
}

static double answer_of(const struct fit *f, size_t k, double tolerance)
{
    struct curve_truth t = {.shape = family[k].shape, .plateau = f->level, .a = f->a};
    memcpy(t.theta, f->form->theta, sizeof f->form->theta);
    return truth_answer(&t, tolerance);
}

static size_t draw_family(const struct fit *fits, size_t best, struct sim_stream *s)
{
    double weight[FAMILIES], sum = 0.0;
    for (size_t k = 0; k < FAMILIES; k++) {
        weight[k] = isfinite(fits[k].aicc) ? exp(-0.5 * (fits[k].aicc - fits[best].aicc)) : 0.0;
        sum += weight[k];
    }
    double u = sim_uniform(s) * sum;
    for (size_t k = 0; k < FAMILIES; k++) {
        u -= weight[k];
        if (u <= 0.0 && weight[k] > 0.0)
            return k;
    }
    return best;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

void rival_bootstrap(const struct grids *g, const struct cov_means *d, struct sim_stream *s,
                     double *low, double *high)
{
    struct fit fits[FAMILIES], again[FAMILIES];
    struct cov_means drawn = *d;
    double answers[RESAMPLES], n = (double)d->shots, rows = (double)(d->m * d->shots);
    *low = *high = PL_NAN;
    size_t best = fit_all(g, &drawn, fits);
    if (best == FAMILIES)
        return;
    for (size_t b = 0; b < RESAMPLES; b++) {
        size_t k = draw_family(fits, best, s);
        double p = (double)family[k].p, v = (fits[k].s + d->sspe) / (rows - p);
        v = fmax(v, fits[k].s / ((double)d->m - p)); /* the wider of rows and means */
        double sd = sqrt(fmax(v, d->step * d->step / 12.0) / n);
        for (size_t i = 0; i < d->m; i++)
            drawn.y[i] =
                fits[k].level -
                fits[k].a * (fits[k].form->h[i] * fits[k].form->length + fits[k].form->mean) +
                sd * sim_normal(s);
        size_t found = fit_all(g, &drawn, again);
        answers[b] = found < FAMILIES ? answer_of(&again[found], found, d->tolerance) : PL_INF;
    }
    qsort(answers, RESAMPLES, sizeof *answers, ascending);
    *low = answers[4]; /* the fifth and the fifth last of 199: 2.5 % on each side */
    *high = answers[RESAMPLES - 5];
    if (*high > d->x[d->m - 1])
        *high = PL_INF;
}
