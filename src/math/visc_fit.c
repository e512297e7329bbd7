/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Least squares of one curve: scan of the plausible range, polish of the best cells, covariance. */
#include <math.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

#include "math/visc_internal.h"

#define GRID 28
#define STARTS 3
#define MOST_STEPS 200
#define STEP_END 1e-13

double visc_sum(const struct visc_data *d, enum visc_model_id id, const double *theta,
                double *height)
{
    double sum = 0.0, mean = 0.0, ss = 0.0;
    for (size_t i = 0; i < d->m; i++) {
        sum += d->w[i];
        mean += d->w[i] * (d->y[i] - visc_curve(id, theta, d->x[i]));
    }
    mean /= sum;
    for (size_t i = 0; i < d->m; i++) {
        double r = d->y[i] - visc_curve(id, theta, d->x[i]) - mean;
        ss += d->w[i] * r * r;
    }
    if (height != NULL)
        *height = mean;
    return isfinite(ss) ? ss : PL_INF;
}

/* ---- small least squares by GSL's SVD
 * ------------------------------------------------------------- */

struct small {
    gsl_matrix *a, *v;
    gsl_vector *s, *work, *b, *x;
};

static bool small_init(struct small *q, size_t rows, size_t columns)
{
    math_quiet();
    *q = (struct small){gsl_matrix_calloc(rows, columns), gsl_matrix_alloc(columns, columns),
                        gsl_vector_alloc(columns),        gsl_vector_alloc(columns),
                        gsl_vector_calloc(rows),          gsl_vector_calloc(columns)};
    return q->a != NULL && q->v != NULL && q->s != NULL && q->work != NULL && q->b != NULL &&
           q->x != NULL;
}

static void small_free(struct small *q)
{
    gsl_matrix_free(q->a);
    gsl_matrix_free(q->v);
    gsl_vector_free(q->s);
    gsl_vector_free(q->work);
    gsl_vector_free(q->b);
    gsl_vector_free(q->x);
}

/* ---- polish
 * --------------------------------------------------------------------------------------- */

/* One damped Gauss-Newton step in the parameters that may move; the height is projected out. */
static bool step(const struct visc_data *d, enum visc_model_id id, const double *theta,
                 double damping, const bool *fixed, double *out)
{
    size_t k = visc_theta(id);
    struct small q;
    if (k > 2)
        return false;
    bool ok = small_init(&q, d->m + k, k);
    if (ok) {
        double sum = 0.0, mean[3] = {0.0};
        for (size_t i = 0; i < d->m; i++) {
            double g[2] = {0.0};
            visc_curve_gradient(id, theta, d->x[i], g);
            sum += d->w[i];
            mean[0] += d->w[i] * g[0];
            mean[1] += d->w[i] * g[1];
            mean[2] += d->w[i] * (d->y[i] - visc_curve(id, theta, d->x[i]));
        }
        for (size_t i = 0; i < d->m; i++) {
            double g[2] = {0.0}, root = sqrt(d->w[i]);
            visc_curve_gradient(id, theta, d->x[i], g);
            for (size_t j = 0; j < k; j++)
                gsl_matrix_set(q.a, i, j, fixed[j] ? 0.0 : root * (g[j] - mean[j] / sum));
            gsl_vector_set(q.b, i,
                           root * (d->y[i] - visc_curve(id, theta, d->x[i]) - mean[2] / sum));
        }
        for (size_t j = 0; j < k; j++)
            gsl_matrix_set(q.a, d->m + j, j, fixed[j] ? 1.0 : damping);
        ok = gsl_linalg_SV_decomp(q.a, q.v, q.s, q.work) == 0 &&
             gsl_linalg_SV_solve(q.a, q.v, q.s, q.b, q.x) == 0;
        for (size_t j = 0; j < k && ok; j++) {
            out[j] = gsl_vector_get(q.x, j);
            ok = isfinite(out[j]);
        }
    }
    small_free(&q);
    return ok;
}

/* Moves inside the box; false when nothing better was found. */
static bool improve(const struct visc_data *d, enum visc_model_id id, double *theta, double *s,
                    double *damping, double *moved)
{
    size_t k = visc_theta(id);
    bool fixed[2] = {false, false};
    if (k > 2)
        return false;
    for (int tries = 0; tries < 40; tries++) {
        double move[2] = {0.0, 0.0}, next[2] = {theta[0], theta[1]};
        if (!step(d, id, theta, *damping, fixed, move))
            return false;
        bool blocked = false;
        *moved = 0.0;
        for (size_t j = 0; j < k; j++) {
            double low, high;
            visc_theta_range(id, d, j, &low, &high);
            next[j] = fmin(high, fmax(low, theta[j] + (fixed[j] ? 0.0 : move[j])));
            if (!fixed[j] && fabs(move[j]) > 0.0 && !(fabs(next[j] - theta[j]) > 0.0))
                fixed[j] = blocked = true; /* at the wall and pushing outward */
            *moved = fmax(*moved, fabs(next[j] - theta[j]));
        }
        if (blocked)
            continue;
        double at = visc_sum(d, id, next, NULL);
        if (at < *s) {
            memcpy(theta, next, k * sizeof *theta);
            *s = at;
            *damping *= 0.2;
            return true;
        }
        if (*moved < STEP_END)
            return false;
        *damping = fmax(*damping * 5.0, 1e-8);
    }
    return false;
}

static const char *polish(const struct visc_data *d, enum visc_model_id id, double *theta,
                          double *s)
{
    double damping = 1e-3 * sqrt((double)d->n_rows), moved = 0.0;
    for (int i = 0; i < MOST_STEPS; i++) {
        if (!improve(d, id, theta, s, &damping, &moved))
            return "no smaller sum of squares";
        if (moved < STEP_END)
            return "step below 1e-13";
    }
    return "most steps taken";
}

/* ---- scan
 * ------------------------------------------------------------------------------------------- */

struct start {
    double theta[2], s;
};

static double grid_value(enum visc_model_id id, const struct visc_data *d, size_t k, size_t i)
{
    double low, high;
    visc_theta_range(id, d, k, &low, &high);
    return low + (high - low) * (double)i / (double)(GRID - 1);
}

static bool is_local(double grid[GRID][GRID], size_t i, size_t j)
{
    for (size_t a = i > 0 ? i - 1 : 0; a <= i + 1 && a < GRID; a++)
        for (size_t b = j > 0 ? j - 1 : 0; b <= j + 1 && b < GRID; b++)
            if (grid[a][b] < grid[i][j])
                return false;
    return true;
}

static size_t scan(const struct visc_data *d, enum visc_model_id id, struct start *best)
{
    double grid[GRID][GRID];
    size_t n = 0;
    for (size_t i = 0; i < GRID; i++)
        for (size_t j = 0; j < GRID; j++) {
            double theta[2] = {grid_value(id, d, 0, i), grid_value(id, d, 1, j)};
            grid[i][j] = visc_sum(d, id, theta, NULL);
        }
    for (size_t i = 0; i < GRID; i++)
        for (size_t j = 0; j < GRID; j++) {
            if (!isfinite(grid[i][j]) || !is_local(grid, i, j))
                continue;
            struct start s = {{grid_value(id, d, 0, i), grid_value(id, d, 1, j)}, grid[i][j]};
            size_t at = n < STARTS ? n++ : STARTS;
            for (; at > 0 && s.s < best[at - 1].s; at--)
                if (at < STARTS)
                    best[at] = best[at - 1];
            if (at < STARTS)
                best[at] = s;
        }
    return n;
}

/* The power law has no need of a scan. */
static double power_law(const struct visc_data *d)
{
    double sum = 0.0, mx = 0.0, my = 0.0, sxx = 0.0, sxy = 0.0;
    for (size_t i = 0; i < d->m; i++) {
        sum += d->w[i];
        mx += d->w[i] * d->x[i];
        my += d->w[i] * d->y[i];
    }
    for (size_t i = 0; i < d->m; i++) {
        sxx += d->w[i] * (d->x[i] - mx / sum) * (d->x[i] - mx / sum);
        sxy += d->w[i] * (d->x[i] - mx / sum) * (d->y[i] - my / sum);
    }
    return sxy / sxx;
}

/* ---- covariance
 * ------------------------------------------------------------------------------------ */

static void decompose(const struct visc_data *d, struct visc_fit *f, struct small *q, double *scale)
{
    size_t k = visc_theta(f->id);
    for (size_t i = 0; i < d->m; i++) {
        double g[2] = {0.0};
        visc_curve_gradient(f->id, f->theta, d->x[i], g);
        gsl_matrix_set(q->a, i, 0, sqrt(d->w[i]));
        for (size_t j = 0; j < k; j++)
            gsl_matrix_set(q->a, i, j + 1, sqrt(d->w[i]) * g[j]);
    }
    for (size_t j = 0; j <= k; j++) {
        double ss = 0.0;
        for (size_t i = 0; i < d->m; i++)
            ss += gsl_matrix_get(q->a, i, j) * gsl_matrix_get(q->a, i, j);
        scale[j] = ss > 1e-24 * (double)d->n_rows ? sqrt(ss) : PL_INF;
        for (size_t i = 0; i < d->m; i++)
            gsl_matrix_set(q->a, i, j, gsl_matrix_get(q->a, i, j) / scale[j]);
    }
}

static void covariance(const struct visc_data *d, struct visc_fit *f, double variance)
{
    size_t p = visc_theta(f->id) + 1;
    double scale[3], inner[3][3] = {{0.0}}, jacobian[3][3];
    const char *names[3];
    struct small q;
    bool ok = d->m >= p && small_init(&q, d->m, p);
    f->rank = 0;
    f->condition_number = PL_NAN;
    if (ok) {
        decompose(d, f, &q, scale);
        ok = gsl_linalg_SV_decomp(q.a, q.v, q.s, q.work) == 0;
        double largest = gsl_vector_get(q.s, 0), smallest = gsl_vector_get(q.s, p - 1);
        for (size_t i = 0; i < p && ok; i++)
            f->rank += gsl_vector_get(q.s, i) > 1e-9 * largest;
        f->condition_number = smallest > 0.0 ? largest / smallest : PL_INF;
        for (size_t i = 0; i < p; i++)
            for (size_t j = 0; j < p; j++)
                for (size_t k = 0; k < p; k++) {
                    double s = gsl_vector_get(q.s, k);
                    inner[i][j] += gsl_matrix_get(q.v, i, k) * gsl_matrix_get(q.v, j, k) /
                                   fmax(s * s, 1e-300) / (scale[i] * scale[j]) * variance;
                }
        small_free(&q);
    }
    visc_unscale(f->id, d, f->height, f->theta, f->value, names, jacobian);
    for (size_t i = 0; i < p; i++) {
        f->parameter[i] = names[i];
        for (size_t j = 0; j < p; j++) {
            f->covariance[i][j] = f->rank == (int)p ? 0.0 : PL_NAN;
            for (size_t a = 0; a < p; a++)
                for (size_t b = 0; b < p && f->rank == (int)p; b++)
                    f->covariance[i][j] += jacobian[i][a] * inner[a][b] * jacobian[j][b];
        }
    }
}

/* ---- one model
 * ----------------------------------------------------------------------------------------
 */

void visc_fit_model(const struct visc_data *d, enum visc_model_id id, struct visc_fit *out)
{
    *out = (struct visc_fit){.id = id,
                             .name = visc_name(id),
                             .formula = visc_formula(id),
                             .p = visc_theta(id) + 1,
                             .aicc = PL_NAN,
                             .weight = PL_NAN,
                             .misfit = PL_NAN,
                             .misfit_p = PL_NAN,
                             .residual_sd = PL_NAN,
                             .condition_number = PL_NAN};
    out->tried = id == VISC_POWER || (d->n_groups >= 5 && d->n_rows >= out->p + 3);
    if (!out->tried) {
        out->stop = "not tried: too few settings or shots";
        return;
    }
    if (id == VISC_POWER) {
        out->theta[0] = power_law(d);
        out->stop = "closed form";
    } else {
        struct start best[STARTS];
        size_t n = scan(d, id, best);
        double least = PL_INF;
        for (size_t i = 0; i < n; i++) {
            double theta[2] = {best[i].theta[0], best[i].theta[1]}, s = best[i].s;
            const char *stop = polish(d, id, theta, &s);
            if (s < least) {
                least = s;
                memcpy(out->theta, theta, sizeof theta);
                out->stop = stop;
            }
        }
    }
    out->rss_units = visc_sum(d, id, out->theta, &out->height);
    out->rss_rows = d->ss_within + out->rss_units;
    double rows = (double)d->n_rows, p = (double)out->p, units = (double)d->m;
    double of_rows = rows > p ? fmax(d->floor_rows, out->rss_rows / (rows - p)) : PL_NAN;
    double of_units = units > p ? fmax(d->floor_units, out->rss_units / (units - p)) : of_rows;
    out->residual_sd = sqrt(of_rows);
    covariance(d, out, fmax(of_rows, of_units));
}
