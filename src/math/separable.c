/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Separable least squares: scan over the nonlinear parameters with the linear ones solved, then a
 * polish of all of them. */
#include <float.h>
#include <math.h>
#include <string.h>

#include <gsl/gsl_blas.h>
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
    double largest;                  /* |y| */
    double scale;                    /* of y: residuals are of order one */
    double unit[2 * SEPARABLE_MOST]; /* of each parameter */
    /* the last digits count: scale and units are powers of two, which round nothing, and residuals
     * are summed in twice the precision; off while the minimum is still being sought */
    bool fine;
};

static double power_of_two(double v)
{
    int exponent;
    (void)frexp(v, &exponent);
    return v > 0.0 ? ldexp(1.0, exponent) : 1.0;
}

/* A sum of products as if in twice the precision: terms may cancel (the eleven of a polynomial of
 * degree ten leave four digits fewer than they have). Source: Ogita, Rump, Oishi, SIAM J. Sci.
 * Comput. 26 (2005) 1955, from memory. */
struct twofold {
    double value, rest;
};

static void add_product(struct twofold *t, double a, double b)
{
    double p = a * b, sum = t->value + p, part = sum - t->value;
    t->rest += fma(a, b, -p) + ((t->value - (sum - part)) + (p - part));
    t->value = sum;
}

static double sum_of(const struct twofold *t)
{
    return t->value + t->rest;
}

static double column_dot(const gsl_matrix *a, size_t k, const gsl_matrix *b, size_t m)
{
    struct twofold sum = {0.0, 0.0};
    for (size_t i = 0; i < a->size1; i++)
        add_product(&sum, gsl_matrix_get(a, i, k), gsl_matrix_get(b, i, m));
    return sum_of(&sum);
}

static void add_term(const struct problem *q, struct twofold *t, double a, double b)
{
    if (q->fine)
        add_product(t, a, b);
    else
        t->value += a * b;
}

static double root_weight(const struct problem *q, size_t i)
{
    return q->w != NULL ? sqrt(q->w[i]) : 1.0;
}

/* Residuals (model - y) / scale, what rounding cut off them into `rest` when that is not NULL, and,
 * when J is not NULL, their derivatives by parameter / unit. */
static bool residuals(const struct problem *q, const double *parameter, gsl_vector *r,
                      gsl_vector *rest, gsl_matrix *j)
{
    size_t nl = q->s->n_linear, nt = q->s->n_theta;
    double phi[SEPARABLE_MOST] = {0.0}, dphi[SEPARABLE_MOST * SEPARABLE_MOST] = {0.0};
    for (size_t i = 0; i < q->n; i++) {
        if (!q->s->basis(q->x[i], parameter + nl, phi, j != NULL ? dphi : NULL, q->s->context))
            return false;
        double w = root_weight(q, i) / q->scale;
        struct twofold off = {0.0, 0.0};
        for (size_t k = 0; k < nl; k++)
            add_term(q, &off, parameter[k], phi[k]);
        add_term(q, &off, -1.0, q->y[i]);
        if (!isfinite(sum_of(&off)))
            return false;
        if (r != NULL)
            gsl_vector_set(r, i, w * sum_of(&off));
        if (rest != NULL)
            gsl_vector_set(rest, i, w * (off.rest - (sum_of(&off) - off.value)));
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
    return residuals(side->q, parameter, f, NULL, NULL) ? GSL_SUCCESS : GSL_EDOM;
}

static int gsl_jacobian(const gsl_vector *v, void *data, gsl_matrix *j)
{
    struct gsl_side *side = data;
    double parameter[2 * SEPARABLE_MOST];
    unscale(side->q, v, parameter);
    return residuals(side->q, parameter, NULL, NULL, j) ? GSL_SUCCESS : GSL_EDOM;
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
    for (size_t k = 0; k < q->p; k++) {
        double size = fabs(parameter[k]);
        q->unit[k] = q->fine ? power_of_two(size) : size > 0.0 ? size : 1.0;
    }
}

static void set_fine(struct problem *q, bool fine, const double *parameter)
{
    q->fine = fine;
    q->scale = fine ? power_of_two(q->largest) : q->largest;
    set_units(q, parameter);
}

struct workspace { /* of the polish: n rows, p columns */
    gsl_vector *r, *rest, *tau, *step;
    gsl_matrix *j, *qr;
};

static bool workspace_init(struct workspace *w, size_t n, size_t p)
{
    *w = (struct workspace){gsl_vector_alloc(n), gsl_vector_alloc(n),    gsl_vector_alloc(p),
                            gsl_vector_alloc(p), gsl_matrix_alloc(n, p), gsl_matrix_alloc(n, p)};
    return w->r != NULL && w->rest != NULL && w->tau != NULL && w->step != NULL && w->j != NULL &&
           w->qr != NULL;
}

static void workspace_free(struct workspace *w)
{
    gsl_matrix_free(w->qr);
    gsl_matrix_free(w->j);
    gsl_vector_free(w->step);
    gsl_vector_free(w->tau);
    gsl_vector_free(w->rest);
    gsl_vector_free(w->r);
}

/* w->step = (J'J)^-1 J'r, and what the step lowers the sum by, to first order. Seminormal
 * equations: with J'r summed in twice the precision the steps go to the point where J'r is 0, which
 * a step from Q'r does not where residuals are large. Source: Bjorck, Numerical Methods for Least
 * Squares Problems (1996), from memory. */
static bool newton_step(struct workspace *w, double *gain)
{
    size_t p = w->step->size;
    for (size_t k = 0; k < p; k++) {
        struct twofold g = {0.0, 0.0};
        for (size_t i = 0; i < w->r->size; i++) {
            add_product(&g, gsl_matrix_get(w->j, i, k), gsl_vector_get(w->r, i));
            g.rest += gsl_matrix_get(w->j, i, k) * gsl_vector_get(w->rest, i);
        }
        gsl_vector_set(w->step, k, sum_of(&g));
    }
    gsl_matrix_memcpy(w->qr, w->j);
    if (gsl_linalg_QR_decomp(w->qr, w->tau) != GSL_SUCCESS)
        return false;
    gsl_matrix_view triangle = gsl_matrix_submatrix(w->qr, 0, 0, p, p);
    gsl_blas_dtrsv(CblasUpper, CblasTrans, CblasNonUnit, &triangle.matrix, w->step);
    *gain = sum_of_squares(w->step);
    gsl_blas_dtrsv(CblasUpper, CblasNoTrans, CblasNonUnit, &triangle.matrix, w->step);
    return isfinite(*gain);
}

/* Gauss-Newton with halving until the step is negligible; true when it became so. */
static bool newton_polish(struct problem *q, double *parameter, int *iterations,
                          struct workspace *w)
{
    for (int it = 0; it < NEWTON_STEPS; it++) {
        double gain = 0.0, largest = 0.0;
        set_units(q, parameter);
        if (!residuals(q, parameter, w->r, w->rest, w->j) || !newton_step(w, &gain))
            return false;
        double at = sum_of_squares(w->r);
        for (size_t k = 0; k < q->p; k++)
            largest = fmax(largest, fabs(gsl_vector_get(w->step, k)));
        if (!isfinite(largest))
            return false;
        (*iterations)++;
        /* the last steps may not lower a sum that is already at rounding level */
        double slack = largest < 1e-6 ? 1e-9 : gain < 1e-13 * at ? 1e-12 : 0.0;
        bool moved = false;
        for (double part = 1.0; part > 1e-3 && !moved; part /= 2.0) {
            double next[2 * SEPARABLE_MOST];
            for (size_t k = 0; k < q->p; k++)
                next[k] = parameter[k] - part * gsl_vector_get(w->step, k) * q->unit[k];
            if (residuals(q, next, w->r, NULL, NULL) &&
                sum_of_squares(w->r) <= at * (1.0 + slack)) {
                memcpy(parameter, next, q->p * sizeof *next);
                moved = true;
            }
        }
        if (!moved || largest < 1e-14)
            return largest < 1e-8;
    }
    return false;
}

/* (J'J)^-1 by way of Q = J R^-1, summed in twice the precision: whatever rounding did to R, Q has
 * columns close to orthonormal, so that Q'Q and its inverse keep all digits. `inverse` is scratch,
 * p x p. False where J has not full rank. */
static bool covariance_refined(const gsl_matrix *j, struct workspace *w, gsl_matrix *inverse,
                               gsl_matrix *gram)
{
    size_t p = j->size2;
    gsl_matrix_memcpy(w->qr, j);
    if (gsl_linalg_QR_decomp(w->qr, w->tau) != GSL_SUCCESS)
        return false;
    gsl_matrix_view triangle = gsl_matrix_submatrix(w->qr, 0, 0, p, p);
    gsl_matrix_set_identity(inverse);
    gsl_blas_dtrsm(CblasLeft, CblasUpper, CblasNoTrans, CblasNonUnit, 1.0, &triangle.matrix,
                   inverse);
    for (size_t i = 0; i < j->size1; i++)
        for (size_t k = 0; k < p; k++) {
            struct twofold sum = {0.0, 0.0};
            for (size_t m = 0; m <= k; m++)
                add_product(&sum, gsl_matrix_get(j, i, m), gsl_matrix_get(inverse, m, k));
            gsl_matrix_set(w->qr, i, k, sum_of(&sum));
        }
    for (size_t a = 0; a < p; a++)
        for (size_t b = 0; b < p; b++) {
            double g = column_dot(w->qr, a, w->qr, b);
            if (!isfinite(g))
                return false;
            gsl_matrix_set(gram, a, b, g);
        }
    if (gsl_linalg_cholesky_decomp1(gram) != GSL_SUCCESS)
        return false;
    gsl_blas_dtrsm(CblasRight, CblasLower, CblasTrans, CblasNonUnit, 1.0, gram, inverse);
    gsl_blas_dgemm(CblasNoTrans, CblasTrans, 1.0, inverse, inverse, 0.0, gram);
    return true;
}

/* Rank and condition number of the Jacobian with columns of length one, by its singular values; the
 * pseudo-inverse of J'J, per unit of parameter. Overwrites j. */
static void singular_values(struct problem *q, struct separable_fit *out, gsl_matrix *j)
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
                    out->covariance[a][b] = sum / (norm[a] * norm[b]);
                }
        }
    }
    gsl_vector_free(work);
    gsl_vector_free(sv);
    gsl_matrix_free(v);
}

static void covariance(struct problem *q, struct separable_fit *out, struct workspace *w)
{
    size_t p = q->p;
    gsl_matrix *inverse = gsl_matrix_alloc(p, p), *refined = gsl_matrix_alloc(p, p);
    bool ok = inverse != NULL && refined != NULL && covariance_refined(w->j, w, inverse, refined);
    singular_values(q, out, w->j);
    for (size_t a = 0; a < p; a++)
        for (size_t b = 0; b < p; b++) {
            if (ok && (size_t)out->rank == p)
                out->covariance[a][b] = gsl_matrix_get(refined, a, b);
            out->covariance[a][b] *= q->unit[a] * q->unit[b];
        }
    gsl_matrix_free(refined);
    gsl_matrix_free(inverse);
}

static enum errc finish(struct problem *q, const double *parameter, struct separable_fit *out,
                        struct error *e)
{
    struct workspace w;
    enum errc code = ERR_NONE;
    if (!workspace_init(&w, q->n, q->p) || !residuals(q, parameter, w.r, NULL, w.j)) {
        code = ERR_SET(e, ERR_NUMERIC, "%s: the curve is not finite at its fitted parameters",
                       q->s->name);
    } else {
        double scaled = sum_of_squares(w.r);
        double dof = (double)(q->n - q->p);
        out->n = q->n;
        out->p = q->p;
        memcpy(out->parameter, parameter, q->p * sizeof *parameter);
        out->rss = scaled * q->scale * q->scale;
        out->sigma = sqrt(out->rss / dof);
        covariance(q, out, &w);
        /* unit scaling left covariance in units of (scale)^2 per unit variance */
        for (size_t a = 0; a < q->p; a++)
            for (size_t b = 0; b < q->p; b++)
                out->covariance[a][b] *= scaled / dof;
    }
    workspace_free(&w);
    return code;
}

static double polish(struct problem *q, double *parameter, const char **stop, int *iterations)
{
    double before[2 * SEPARABLE_MOST];
    memcpy(before, parameter, sizeof before);
    struct workspace w;
    double best = INFINITY;
    set_fine(q, true, parameter);
    if (workspace_init(&w, q->n, q->p) && residuals(q, parameter, w.r, NULL, NULL)) {
        double start = sum_of_squares(w.r);
        set_fine(q, false, parameter);
        *stop = gsl_polish(q, parameter, iterations);
        set_fine(q, true, parameter);
        if (newton_polish(q, parameter, iterations, &w))
            *stop = "step small";
        best = residuals(q, parameter, w.r, NULL, NULL) ? sum_of_squares(w.r) : PL_INF;
        if (!(best <= start * (1.0 + 1e-9))) {
            memcpy(parameter, before, sizeof before);
            *stop = "polish did worse than the scan";
            best = start;
        }
        set_units(q, parameter);
    }
    workspace_free(&w);
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
        q->largest = fmax(q->largest, fabs(y[i]));
    }
    if (!(q->largest > 0.0))
        q->largest = 1.0;
    q->scale = q->largest;
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
