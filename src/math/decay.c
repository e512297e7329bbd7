/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where an exponentially falling temperature passes a limit. */
#include <math.h>

#include "math/math_internal.h"
#include "plateau/math_cooling.h"

#define PARAMETERS 3
#define LEAST_SETTINGS (PARAMETERS + 2)
#define TAU_POINTS 96 /* of the scan */
#define TAU_SEARCH 48 /* of each profile point */
#define RANGE_POINTS 64
#define SLOWEST 30.0 /* time constants in units of the tested range */
#define FASTEST 0.02 /* in units of the closest settings */

struct decay {
    const struct math_blocks *b;
    double x0, limit;
    double log_low, log_high; /* of tau */
    double f;                 /* where the curve is to pass the limit */
};

static bool basis(double x, const double *theta, double *phi, double *dphi, const void *context)
{
    const struct decay *d = context;
    double tau = theta[0], u = (x - d->x0) / tau;
    if (!(tau > 0.0))
        return false;
    phi[0] = 1.0;
    phi[1] = exp(-u);
    if (dphi != NULL) {
        dphi[0] = 0.0;
        dphi[1] = phi[1] * u / tau;
    }
    return true;
}

/* Least sum of squares of a curve with this time constant that passes the limit at d->f. */
static double sum_at(double log_tau, void *context)
{
    const struct decay *d = context;
    const struct math_blocks *b = d->b;
    double tau = exp(log_tau), at = exp(-(d->f - d->x0) / tau), zh = 0.0, hh = 0.0, zz = 0.0;
    for (size_t i = 0; i < b->n_blocks; i++) {
        double w = (double)b->b[i].n, z = b->b[i].mean - d->limit;
        double h = exp(-(b->b[i].x - d->x0) / tau) - at;
        zh += w * z * h;
        hh += w * h * h;
        zz += w * z * z;
    }
    if (!(zh > 0.0) || !(hh > 0.0)) /* the curve must fall */
        return zz;
    double drop = zh / hh, sum = 0.0;
    for (size_t i = 0; i < b->n_blocks; i++) {
        double h = exp(-(b->b[i].x - d->x0) / tau) - at;
        double r = b->b[i].mean - d->limit - drop * h;
        sum += (double)b->b[i].n * r * r;
    }
    return sum;
}

static double profile(double f, void *context)
{
    struct decay *d = context;
    double s[TAU_SEARCH], step = (d->log_high - d->log_low) / (TAU_SEARCH - 1), best = INFINITY;
    d->f = f;
    for (size_t i = 0; i < TAU_SEARCH; i++) {
        s[i] = sum_at(d->log_low + step * (double)i, d);
        best = fmin(best, s[i]);
    }
    for (size_t i = 1; i + 1 < TAU_SEARCH; i++)
        if (s[i] <= s[i - 1] && s[i] <= s[i + 1]) {
            double u = d->log_low + step * (double)i, value;
            math_minimize(sum_at, d, u - step, u, u + step, &value);
            best = fmin(best, value);
        }
    return best;
}

/* ---- the curve ---------------------------------------------------------------------------------
 */

static enum errc fit_curve(struct arena *a, struct decay *d, struct decay_answer *out,
                           struct error *e)
{
    const struct math_blocks *b = d->b;
    double *x = ARENA_ARRAY(a, double, b->n_blocks), *y = ARENA_ARRAY(a, double, b->n_blocks);
    double *w = ARENA_ARRAY(a, double, b->n_blocks);
    for (size_t i = 0; i < b->n_blocks; i++) {
        x[i] = b->b[i].x;
        y[i] = b->b[i].mean;
        w[i] = (double)b->b[i].n;
    }
    struct separable s = {"exponential decay", 2, 1, basis, d};
    struct separable_range range = {exp(d->log_low), exp(d->log_high), true, TAU_POINTS};
    struct separable_fit fit;
    TRY(separable_fit_scan(&s, &range, x, y, w, b->n_blocks, &fit, e));
    for (size_t i = 0; i < PARAMETERS; i++) {
        out->parameter[i] = fit.parameter[i];
        for (size_t j = 0; j < PARAMETERS; j++)
            out->covariance[i][j] = fit.covariance[i][j];
    }
    out->rss = fit.rss;
    out->sigma = fit.sigma;
    out->rank = fit.rank;
    out->condition_number = fit.condition_number;
    out->stop = fit.stop;
    double tau = fit.parameter[2]; /* the polish is free to leave the plausible range */
    out->curve = fit.parameter[1] > 0.0 && tau > 0.0 && isfinite(fit.rss);
    return ERR_NONE;
}

double decay_value(const struct decay_answer *r, double x, double x_first)
{
    const double *v = r->parameter;
    return r->curve ? v[0] + v[1] * exp(-(x - x_first) / v[2]) : PL_NAN;
}

/* The larger of the rows' and the block means' residual variance times its t squared, with so many
 * further blocks. */
static double room(const struct math_blocks *b, double further, const struct decay_answer *r,
                   double step, double confidence)
{
    double least = step * step / 12.0, quantile = 0.5 + confidence / 2.0;
    double rows = (double)b->n_rows - PARAMETERS, means = (double)b->n_blocks - PARAMETERS;
    double n0 = (double)b->n_rows / (double)b->n_blocks;
    double t_rows = math_t_quantile(quantile, rows + further * n0);
    double t_means = math_t_quantile(quantile, means + further);
    double v_rows = fmax((r->rss + b->sspe) / rows, least);
    double v_means = fmax(r->rss / means, r->shot_sd < step / 2.0 ? n0 * least : least);
    return fmax(v_rows * t_rows * t_rows, v_means * t_means * t_means);
}

static double best_crossing(const struct decay *d, const struct decay_answer *r)
{
    const double *v = r->parameter;
    double ratio = (d->limit - v[0]) / v[1];
    return ratio > 0.0 ? d->x0 - v[2] * log(ratio) : PL_INF;
}

/* From `inside`, where the sum is below crit, to `end`: the last x that is; `open` when all are. */
static double edge(struct decay *d, double inside, double end, double crit, bool *open)
{
    double from = inside;
    for (size_t i = 1; i <= RANGE_POINTS; i++) {
        double x = inside + (end - inside) * (double)i / RANGE_POINTS;
        if (profile(x, d) > crit)
            return math_root(profile, d, crit, from, x);
        from = x;
    }
    *open = true;
    return end;
}

static void interval_of_curve(struct decay *d, double crit, struct decay_answer *out)
{
    const struct math_blocks *b = d->b;
    double first = b->group_x[0], last = b->group_x[b->n_groups - 1];
    double best = best_crossing(d, out);
    bool open_low = false, open_high = false;
    if (best < first) {
        if (profile(first, d) > crit) {
            out->state = DECAY_BEFORE_FIRST;
            out->low = -PL_INF;
            out->high = out->bound = first;
            return;
        }
        out->low = -PL_INF;
        out->high = edge(d, first, last, crit, &open_high);
    } else if (best > last) {
        out->high = PL_INF;
        out->state = profile(last, d) > crit ? DECAY_NOT_REACHED : DECAY_OPEN;
        out->low = out->state == DECAY_OPEN ? edge(d, last, first, crit, &open_low) : last;
        out->low = open_low ? -PL_INF : out->low;
        return;
    } else {
        out->value = best;
        out->low = edge(d, best, first, crit, &open_low);
        out->high = edge(d, best, last, crit, &open_high);
        out->low = open_low ? -PL_INF : out->low;
    }
    out->state = open_high ? DECAY_OPEN : DECAY_FOUND;
    if (open_high)
        out->high = PL_INF;
    else
        out->bound = out->high;
}

/* Temperature at the last setting with the curve's standard error there. */
static void last_of_curve(const struct decay *d, double factor2, struct decay_answer *out)
{
    const struct math_blocks *b = d->b;
    double last = b->group_x[b->n_groups - 1], g[PARAMETERS], v = 0.0;
    double tau = out->parameter[2], u = (last - d->x0) / tau;
    g[0] = 1.0;
    g[1] = exp(-u);
    g[2] = out->parameter[1] * g[1] * u / tau;
    for (size_t i = 0; i < PARAMETERS; i++)
        for (size_t j = 0; j < PARAMETERS; j++)
            v += g[i] * g[j] * out->covariance[i][j];
    double s2 = out->sigma * out->sigma; /* the covariance is in units of it */
    double half = s2 > 0.0 ? sqrt(fmax(0.0, v) / s2 * factor2) : 0.0;
    out->at_last = decay_value(out, last, d->x0);
    out->at_last_low = out->at_last - half;
    out->at_last_high = out->at_last + half;
}

/* ---- neighbouring settings ---------------------------------------------------------------------
 */

static void bracket(const struct decay *d, double step, double confidence, struct decay_answer *out)
{
    const struct math_blocks *b = d->b;
    double t = 0.0, sd = 0.0;
    if (out->shot_dof > 0.0) {
        t = math_t_quantile(0.5 + confidence / 2.0, out->shot_dof);
        sd = fmax(out->shot_sd, step / sqrt(12.0));
    }
    size_t n = b->n_groups, from = n, above = n;
    for (size_t i = n; i-- > 0;) {
        double half = t * sd / sqrt((double)b->group_n[i]);
        if (from == i + 1 && b->group_mean[i] + half <= d->limit)
            from = i;
        if (above == n && b->group_mean[i] - half > d->limit)
            above = i;
    }
    double half = t * sd / sqrt((double)b->group_n[n - 1]);
    out->at_last = b->group_mean[n - 1];
    out->at_last_low = out->at_last - half;
    out->at_last_high = out->at_last + half;
    out->low = above < n ? b->group_x[above] : -PL_INF;
    out->high = from < n ? b->group_x[from] : PL_INF;
    if (from < n)
        out->bound = out->high;
    out->state = from == 0        ? DECAY_BEFORE_FIRST
                 : from < n       ? DECAY_FOUND
                 : above == n - 1 ? DECAY_NOT_REACHED
                                  : DECAY_OPEN;
}

static void note_scatter(const struct math_blocks *b, double step, struct decay_answer *out)
{
    out->shot_dof = (double)(b->n_rows - b->n_blocks);
    if (out->shot_dof > 0.0)
        out->shot_sd = sqrt(fmax(b->sspe / out->shot_dof, step * step / 12.0));
    double dof = (double)b->n_blocks - PARAMETERS;
    if (!out->curve || !(dof > 0.0) || !(out->shot_dof > 0.0))
        return;
    double pure = b->sspe / out->shot_dof, n0 = (double)b->n_rows / (double)b->n_blocks;
    out->block_sd = sqrt(fmax(0.0, (out->rss / dof - pure) / n0));
    if (pure > 0.0)
        out->misfit_p = math_f_tail(out->rss / dof / pure, dof, out->shot_dof);
}

enum errc decay_find(struct arena *a, const struct math_blocks *blocks, double limit, double step,
                     double confidence, struct decay_answer *out, struct error *e)
{
    math_quiet();
    const struct math_blocks *b = blocks;
    *out = (struct decay_answer){.state = DECAY_OPEN};
    out->value = out->low = out->high = out->bound = PL_NAN;
    out->at_last = out->at_last_low = out->at_last_high = PL_NAN;
    out->shot_sd = out->block_sd = out->misfit_p = PL_NAN;
    if (!isfinite(limit))
        return ERR_SET(e, ERR_NUMERIC, "the limit is not finite");
    for (size_t i = 0; i < b->n_blocks; i++)
        if (!isfinite(b->b[i].mean) || !isfinite(b->b[i].x))
            return ERR_SET(e, ERR_NUMERIC, "a value is not finite");
    struct decay d = {.b = b, .x0 = b->group_x[0], .limit = limit};
    double range = b->group_x[b->n_groups - 1] - d.x0, spacing = range;
    for (size_t i = 1; i < b->n_groups; i++)
        spacing = fmin(spacing, b->group_x[i] - b->group_x[i - 1]);
    d.log_low = range > 0.0 ? log(FASTEST * spacing) : 0.0;
    d.log_high = range > 0.0 ? log(SLOWEST * range) : 0.0;
    if (b->n_groups >= LEAST_SETTINGS && b->n_rows > PARAMETERS + 2)
        TRY(fit_curve(a, &d, out, e));
    note_scatter(b, step, out);
    if (!out->curve) {
        bracket(&d, step, confidence, out);
        return ERR_NONE;
    }
    double more = room(b, 0.0, out, step, confidence);
    double scale = fmax(fabs(limit), 1.0); /* exact data: wider than rounding */
    interval_of_curve(&d, out->rss + more + 1e-20 * scale * scale, out);
    last_of_curve(&d, more, out);
    return ERR_NONE;
}

double decay_forecast(const struct math_blocks *blocks, const struct decay_answer *r, double step,
                      double confidence, double x, int n_more)
{
    double half = (r->high - r->low) / 2.0, s2 = r->sigma * r->sigma;
    if (!r->curve || !isfinite(half) || isnan(r->value) || !(s2 > 0.0) || n_more < 1)
        return PL_NAN;
    double x0 = blocks->group_x[0], tau = r->parameter[2], g[PARAMETERS], d[PARAMETERS];
    double fall = exp(-(r->value - x0) / tau), at = exp(-(x - x0) / tau);
    double slope = r->parameter[1] * fall / tau, gg = 0.0, gd = 0.0, dd = 0.0;
    g[0] = 1.0 / slope;
    g[1] = fall / slope;
    g[2] = r->parameter[1] * fall * (r->value - x0) / (tau * tau) / slope;
    d[0] = 1.0;
    d[1] = at;
    d[2] = r->parameter[1] * at * (x - x0) / (tau * tau);
    for (size_t i = 0; i < PARAMETERS; i++)
        for (size_t j = 0; j < PARAMETERS; j++) {
            gg += g[i] * g[j] * r->covariance[i][j];
            gd += g[i] * d[j] * r->covariance[i][j];
            dd += d[i] * d[j] * r->covariance[i][j];
        }
    double then = gg - gd * gd / (s2 / (double)n_more + dd);
    if (!(gg > 0.0) || !(then > 0.0))
        return PL_NAN;
    double now = room(blocks, 0.0, r, step, confidence);
    return half * sqrt(then / gg * room(blocks, 1.0, r, step, confidence) / now);
}
