/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Separable least squares: scan over the nonlinear parameters with the linear ones solved, then a
 * polish of all of them. */
#include <float.h>
#include <math.h>
#include <string.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit.h>
#include <gsl/gsl_multifit_nlinear.h>

#include "math/math_internal.h"

#define BEST_STARTS 3
#define GSL_STEPS 500
#define NEWTON_STEPS 40

struct problem {
    const struct separable *s;
    const double *x, *y, *w; /* w may be NULL */
    size_t n, p;
    double scale;                    /* of y: residuals are of order one */
    double unit[2 * SEPARABLE_MOST]; /* of each parameter */
};

static double root_weight(const struct problem *q, size_t i)
{
    return q->w != NULL ? sqrt(q->w[i]) : 1.0;
}

/* Residuals (model - y) / scale and, when J is not NULL, their derivatives by parameter / unit. */
static bool residuals(const struct problem *q, const double *parameter, gsl_vector *r,
                      gsl_matrix *j)
{
    size_t nl = q->s->n_linear, nt = q->s->n_theta;
    double phi[SEPARABLE_MOST] = {0.0}, dphi[SEPARABLE_MOST * SEPARABLE_MOST] = {0.0};
    for (size_t i = 0; i < q->n; i++) {
        if (!q->s->basis(q->x[i], parameter + nl, phi, j != NULL ? dphi : NULL, q->s->context))
            return false;
        double f = 0.0, w = root_weight(q, i) / q->scale;
        for (size_t k = 0; k < nl; k++)
            f += parameter[k] * phi[k];
        if (!isfinite(f))
            return false;
        if (r != NULL)
            gsl_vector_set(r, i, w * (f - q->y[i]));
        if (j == NULL)
            continue;
        for (size_t k = 0; k < nl; k++)
            gsl_matrix_set(j, i, k, w * phi[k] * q->unit[k]);
        for (size_t k = 0; k < nt; k++) {
            double d = 0.0;
            for (size_t m = 0; m < nl; m++)
                d += parameter[m] * dphi[m * nt + k];
            if (!isfinite(d))
                return false;
            gsl_matrix_set(j, i, nl + k, w * d * q->unit[nl + k]);
        }
    }
    return true;
}

static double sum_of_squares(const gsl_vector *r)
{
    double sum = 0.0;
    for (size_t i = 0; i < r->size; i++)
        sum += gsl_vector_get(r, i) * gsl_vector_get(r, i);
    return sum;
}

/* ---- the linear part
 * ------------------------------------------------------------------------------ */

/* Solves for the linear parameters at theta; returns the scaled sum of squares or INFINITY. */
static double solve_linear(const struct problem *q, const double *theta, double *linear)
{
    size_t nl = q->s->n_linear;
    double phi[SEPARABLE_MOST] = {0.0}, best = INFINITY;
    gsl_matrix *a = gsl_matrix_alloc(q->n, nl);
    gsl_vector *b = gsl_vector_alloc(q->n), *c = gsl_vector_alloc(nl);
    gsl_matrix *cov = gsl_matrix_alloc(nl, nl);
    gsl_multifit_linear_workspace *ws = gsl_multifit_linear_alloc(q->n, nl);
    bool ok = a != NULL && b != NULL && c != NULL && cov != NULL && ws != NULL;
    for (size_t i = 0; ok && i < q->n; i++) {
        double w = root_weight(q, i);
        ok = q->s->basis(q->x[i], theta, phi, NULL, q->s->context);
        for (size_t k = 0; ok && k < nl; k++) {
            ok = isfinite(phi[k]);
            gsl_matrix_set(a, i, k, w * phi[k]);
        }
        gsl_vector_set(b, i, w * q->y[i] / q->scale);
    }
    double chi2;
    if (ok && gsl_multifit_linear(a, b, c, cov, &chi2, ws) == GSL_SUCCESS && isfinite(chi2)) {
        best = chi2;
        for (size_t k = 0; k < nl; k++)
            linear[k] = gsl_vector_get(c, k) * q->scale;
    }
    gsl_multifit_linear_free(ws);
    gsl_matrix_free(cov);
    gsl_vector_free(c);
    gsl_vector_free(b);
    gsl_matrix_free(a);
    return best;
}

/* ---- polish
 * ------------------------------------------------------------------------------------------ */

struct gsl_side {
    struct problem *q;
};

static void unscale(const struct problem *q, const gsl_vector *v, double *parameter)
{
    for (size_t k = 0; k < q->p; k++)
        parameter[k] = gsl_vector_get(v, k) * q->unit[k];
}

static int gsl_residuals(const gsl_vector *v, void *data, gsl_vector *f)
{
    struct gsl_side *side = data;
    double parameter[2 * SEPARABLE_MOST];
    unscale(side->q, v, parameter);
    return residuals(side->q, parameter, f, NULL) ? GSL_SUCCESS : GSL_EDOM;
}

static int gsl_jacobian(const gsl_vector *v, void *data, gsl_matrix *j)
{
    struct gsl_side *side = data;
    double parameter[2 * SEPARABLE_MOST];
    unscale(side->q, v, parameter);
    return residuals(side->q, parameter, NULL, j) ? GSL_SUCCESS : GSL_EDOM;
}

static const char *gsl_polish(struct problem *q, double *parameter, int *iterations)
{
    const char *stop = "solver not available";
    struct gsl_side side = {q};
    gsl_multifit_nlinear_fdf fdf = {
        .f = gsl_residuals, .df = gsl_jacobian, .n = q->n, .p = q->p, .params = &side};
    gsl_multifit_nlinear_parameters options = gsl_multifit_nlinear_default_parameters();
    options.scale = gsl_multifit_nlinear_scale_more;
    gsl_multifit_nlinear_workspace *ws =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &options, q->n, q->p);
    gsl_vector *start = gsl_vector_alloc(q->p);
    if (ws != NULL && start != NULL) {
        for (size_t k = 0; k < q->p; k++)
            gsl_vector_set(start, k, parameter[k] / q->unit[k]);
        stop = "could not start";
        if (gsl_multifit_nlinear_init(start, &fdf, ws) == GSL_SUCCESS) {
            int info = 0;
            int status =
                gsl_multifit_nlinear_driver(GSL_STEPS, 1e-14, 1e-14, 0.0, NULL, NULL, &info, ws);
            *iterations += (int)gsl_multifit_nlinear_niter(ws);
            stop = status == GSL_SUCCESS ? (info == 1 ? "step small" : "gradient small")
                                         : gsl_strerror(status);
            unscale(q, gsl_multifit_nlinear_position(ws), parameter);
        }
    }
    gsl_vector_free(start);
    gsl_multifit_nlinear_free(ws);
    return stop;
}

static void set_units(struct problem *q, const double *parameter)
{
    for (size_t k = 0; k < q->p; k++)
        q->unit[k] = fabs(parameter[k]) > 0.0 ? fabs(parameter[k]) : 1.0;
}

/* Gauss-Newton with halving until the step is negligible; true when it became so. */
static bool newton_polish(struct problem *q, double *parameter, int *iterations, gsl_vector *r,
                          gsl_matrix *j, gsl_vector *tau, gsl_vector *step, gsl_vector *rest)
{
    for (int it = 0; it < NEWTON_STEPS; it++) {
        set_units(q, parameter);
        if (!residuals(q, parameter, r, j))
            return false;
        double at = sum_of_squares(r);
        if (gsl_linalg_QR_decomp(j, tau) != GSL_SUCCESS ||
            gsl_linalg_QR_lssolve(j, tau, r, step, rest) != GSL_SUCCESS)
            return false;
        double largest = 0.0;
        for (size_t k = 0; k < q->p; k++)
            largest = fmax(largest, fabs(gsl_vector_get(step, k)));
        if (!isfinite(largest))
            return false;
        (*iterations)++;
        bool moved = false;
        for (double part = 1.0; part > 1e-3 && !moved; part /= 2.0) {
            double next[2 * SEPARABLE_MOST];
            for (size_t k = 0; k < q->p; k++)
                next[k] = parameter[k] - part * gsl_vector_get(step, k) * q->unit[k];
            /* the last steps may not lower a sum that is already at rounding level */
            if (residuals(q, next, r, NULL) &&
                sum_of_squares(r) <= at * (1.0 + (largest < 1e-6 ? 1e-9 : 0.0))) {
                memcpy(parameter, next, q->p * sizeof *next);
                moved = true;
            }
        }
        if (!moved || largest < 1e-14)
            return largest < 1e-8;
    }
    return false;
}

static void covariance(struct problem *q, struct separable_fit *out, gsl_matrix *j)
{
    size_t p = q->p;
    gsl_matrix *v = gsl_matrix_alloc(p, p);
    gsl_vector *sv = gsl_vector_alloc(p), *work = gsl_vector_alloc(p);
    double norm[2 * SEPARABLE_MOST];
    out->rank = 0;
    out->condition_number = INFINITY;
    if (v != NULL && sv != NULL && work != NULL) {
        for (size_t k = 0; k < p; k++) {
            double sum = 0.0;
            for (size_t i = 0; i < q->n; i++)
                sum += gsl_matrix_get(j, i, k) * gsl_matrix_get(j, i, k);
            norm[k] = sum > 0.0 ? sqrt(sum) : 1.0;
            for (size_t i = 0; i < q->n; i++)
                gsl_matrix_set(j, i, k, gsl_matrix_get(j, i, k) / norm[k]);
        }
        if (gsl_linalg_SV_decomp(j, v, sv, work) == GSL_SUCCESS) {
            double most = gsl_vector_get(sv, 0);
            for (size_t k = 0; k < p; k++)
                out->rank += gsl_vector_get(sv, k) > 1e-13 * most;
            if ((size_t)out->rank == p)
                out->condition_number = most / gsl_vector_get(sv, p - 1);
            for (size_t a = 0; a < p; a++)
                for (size_t b = 0; b < p; b++) {
                    double sum = 0.0;
                    for (size_t k = 0; k < p; k++) {
                        double s = gsl_vector_get(sv, k);
                        if (s > 1e-13 * most)
                            sum += gsl_matrix_get(v, a, k) * gsl_matrix_get(v, b, k) / (s * s);
                    }
                    out->covariance[a][b] = sum * q->unit[a] * q->unit[b] / (norm[a] * norm[b]);
                }
        }
    }
    gsl_vector_free(work);
    gsl_vector_free(sv);
    gsl_matrix_free(v);
}

static enum errc finish(struct problem *q, const double *parameter, struct separable_fit *out,
                        struct error *e)
{
    gsl_vector *r = gsl_vector_alloc(q->n);
    gsl_matrix *j = gsl_matrix_alloc(q->n, q->p);
    enum errc code = ERR_NONE;
    if (r == NULL || j == NULL || !residuals(q, parameter, r, j)) {
        code = ERR_SET(e, ERR_NUMERIC, "%s: the curve is not finite at its fitted parameters",
                       q->s->name);
    } else {
        double scaled = sum_of_squares(r);
        double dof = (double)(q->n - q->p);
        out->n = q->n;
        out->p = q->p;
        memcpy(out->parameter, parameter, q->p * sizeof *parameter);
        out->rss = scaled * q->scale * q->scale;
        out->sigma = sqrt(out->rss / dof);
        covariance(q, out, j);
        /* unit scaling left covariance in units of (scale)^2 per unit variance */
        for (size_t a = 0; a < q->p; a++)
            for (size_t b = 0; b < q->p; b++)
                out->covariance[a][b] *= scaled / dof;
    }
    gsl_matrix_free(j);
    gsl_vector_free(r);
    return code;
}

static double polish(struct problem *q, double *parameter, const char **stop, int *iterations)
{
    double before[2 * SEPARABLE_MOST];
    memcpy(before, parameter, sizeof before);
    gsl_vector *r = gsl_vector_alloc(q->n), *tau = gsl_vector_alloc(q->p);
    gsl_vector *step = gsl_vector_alloc(q->p), *rest = gsl_vector_alloc(q->n);
    gsl_matrix *j = gsl_matrix_alloc(q->n, q->p);
    double best = INFINITY;
    if (r != NULL && tau != NULL && step != NULL && rest != NULL && j != NULL &&
        residuals(q, parameter, r, NULL)) {
        double start = sum_of_squares(r);
        set_units(q, parameter);
        *stop = gsl_polish(q, parameter, iterations);
        if (newton_polish(q, parameter, iterations, r, j, tau, step, rest))
            *stop = "step small";
        best = residuals(q, parameter, r, NULL) ? sum_of_squares(r) : PL_INF;
        if (!(best <= start * (1.0 + 1e-9))) {
            memcpy(parameter, before, sizeof before);
            *stop = "polish did worse than the scan";
            best = start;
        }
        set_units(q, parameter);
    }
    gsl_matrix_free(j);
    gsl_vector_free(rest);
    gsl_vector_free(step);
    gsl_vector_free(tau);
    gsl_vector_free(r);
    return best;
}

static enum errc problem_init(struct problem *q, const struct separable *s, const double *x,
                              const double *y, const double *w, size_t n, struct error *e)
{
    math_quiet();
    *q = (struct problem){.s = s, .x = x, .y = y, .w = w, .n = n, .p = s->n_linear + s->n_theta};
    if (n <= q->p || s->n_linear > SEPARABLE_MOST || s->n_theta > SEPARABLE_MOST)
        return ERR_SET(e, ERR_NUMERIC, "%s: %zu rows cannot carry %zu parameters", s->name, n,
                       q->p);
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(x[i]) || !isfinite(y[i]))
            return ERR_SET(e, ERR_NUMERIC, "%s: a value is not finite", s->name);
        q->scale = fmax(q->scale, fabs(y[i]));
    }
    if (!(q->scale > 0.0))
        q->scale = 1.0;
    for (size_t k = 0; k < q->p; k++)
        q->unit[k] = 1.0;
    return ERR_NONE;
}

struct start {
    double rss, parameter[2 * SEPARABLE_MOST];
};

static size_t cell_count(const struct separable_range *ranges, size_t n)
{
    size_t cells = 1;
    for (size_t k = 0; k < n; k++)
        cells *= ranges[k].points;
    return cells;
}

static void cell_theta(const struct separable_range *ranges, size_t n, size_t cell, double *theta)
{
    for (size_t k = 0; k < n; k++) {
        const struct separable_range *r = &ranges[k];
        size_t i = cell % r->points;
        cell /= r->points;
        double part = r->points > 1 ? (double)i / (double)(r->points - 1) : 0.5;
        theta[k] =
            r->log ? r->low * pow(r->high / r->low, part) : r->low + (r->high - r->low) * part;
    }
}

/* Is no neighbour along an axis of the grid lower? */
static bool grid_minimum(const double *rss, const struct separable_range *ranges, size_t n,
                         size_t cell)
{
    size_t stride = 1;
    for (size_t k = 0; k < n; k++) {
        size_t i = cell / stride % ranges[k].points;
        if (i > 0 && rss[cell - stride] < rss[cell])
            return false;
        if (i + 1 < ranges[k].points && rss[cell + stride] <= rss[cell])
            return false;
        stride *= ranges[k].points;
    }
    return true;
}

static size_t grid_starts(struct problem *q, const struct separable_range *ranges, struct arena *a,
                          struct start best[BEST_STARTS])
{
    size_t nt = q->s->n_theta, nl = q->s->n_linear, cells = cell_count(ranges, nt), found = 0;
    double *rss = ARENA_ARRAY(a, double, cells);
    double theta[SEPARABLE_MOST] = {0.0}, linear[SEPARABLE_MOST] = {0.0};
    for (size_t c = 0; c < cells; c++) {
        cell_theta(ranges, nt, c, theta);
        rss[c] = solve_linear(q, theta, linear);
    }
    for (size_t c = 0; c < cells; c++) {
        if (!isfinite(rss[c]) || !grid_minimum(rss, ranges, nt, c))
            continue;
        size_t at = BEST_STARTS - 1;
        if (found < BEST_STARTS)
            at = found++;
        else if (rss[c] >= best[at].rss)
            continue;
        for (; at > 0 && rss[c] < best[at - 1].rss; at--)
            best[at] = best[at - 1];
        cell_theta(ranges, nt, c, theta);
        best[at].rss = solve_linear(q, theta, linear);
        memcpy(best[at].parameter, linear, nl * sizeof *linear);
        memcpy(best[at].parameter + nl, theta, nt * sizeof *theta);
    }
    return found;
}

enum errc separable_fit_scan(const struct separable *s, const struct separable_range *ranges,
                             const double *x, const double *y, const double *w, size_t n,
                             struct separable_fit *out, struct error *e)
{
    struct problem q;
    TRY(problem_init(&q, s, x, y, w, n, e));
    *out = (struct separable_fit){.stop = "none"};
    struct start best[BEST_STARTS];
    memset(best, 0, sizeof best);
    struct arena *a = arena_new();
    size_t found = grid_starts(&q, ranges, a, best);
    arena_free(a);
    double least = INFINITY, parameter[2 * SEPARABLE_MOST] = {0.0};
    for (size_t i = 0; i < found; i++) {
        const char *stop = "none";
        int iterations = 0;
        double rss = polish(&q, best[i].parameter, &stop, &iterations);
        if (rss < least * (1.0 - 1e-12)) {
            least = rss;
            memcpy(parameter, best[i].parameter, sizeof parameter);
            out->stop = stop;
            out->iterations = iterations;
        }
    }
    if (!isfinite(least))
        return ERR_SET(e, ERR_NUMERIC, "%s: no parameters give a finite curve", s->name);
    set_units(&q, parameter);
    return finish(&q, parameter, out, e);
}

enum errc separable_fit_from(const struct separable *s, const double *start, const double *x,
                             const double *y, const double *w, size_t n, struct separable_fit *out,
                             struct error *e)
{
    struct problem q;
    TRY(problem_init(&q, s, x, y, w, n, e));
    *out = (struct separable_fit){.stop = "none"};
    double parameter[2 * SEPARABLE_MOST] = {0.0};
    memcpy(parameter, start, q.p * sizeof *start);
    double rss = polish(&q, parameter, &out->stop, &out->iterations);
    if (!isfinite(rss))
        return ERR_SET(e, ERR_NUMERIC, "%s: the curve is not finite at its starting values",
                       s->name);
    return finish(&q, parameter, out, e);
}
