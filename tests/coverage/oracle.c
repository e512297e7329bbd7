/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The profile interval of the freeze time when the true family is known, by a solver of its own:
 * for an answer f, y = P - delta g(x; theta) / g(f; theta); P is a weighted mean, theta moves in
 * the logarithm by damped Gauss-Newton with differences as derivatives. */
#include <math.h>
#include <string.h>

#include "coverage.h"
#include "plateau/math.h"

#define STEPS 40
#define SCAN 90
#define HALVINGS 26
#define CORNERS 240
#define BEYOND 4.0 /* s, answers looked at past the last setting */

struct pin {
    const struct curve_truth *t;
    const struct cov_means *d;
    const double *weight;
    double log_theta[SHAPE_THETAS]; /* warm start */
};

/* Residuals with P taken out; the weighted sum, or INFINITY. */
static double residuals(const struct pin *q, double f, const double *log_theta, double *r)
{
    double theta[SHAPE_THETAS] = {0.0}, mean = 0.0, sum = 0.0, w = 0.0;
    for (size_t k = 0; k < shape_thetas(q->t->shape); k++)
        theta[k] = exp(log_theta[k]);
    double at = shape_g(q->t->shape, f - q->t->late, theta);
    if (!(at > 1e-290))
        return PL_INF;
    for (size_t i = 0; i < q->d->m; i++) {
        double g = shape_g(q->t->shape, q->d->x[i] - q->t->late, theta);
        r[i] = q->d->y[i] - q->t->plateau + q->d->tolerance * g / at;
        mean += q->weight[i] * r[i];
        w += q->weight[i];
    }
    mean /= w;
    for (size_t i = 0; i < q->d->m; i++) {
        r[i] -= mean;
        sum += q->weight[i] * r[i] * r[i];
    }
    return isfinite(sum) ? sum : PL_INF;
}

static bool solve(double m[SHAPE_THETAS][SHAPE_THETAS], double *v, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (!(m[i][i] > 0.0))
            return false;
        for (size_t j = i + 1; j < n; j++) {
            double part = m[j][i] / m[i][i];
            for (size_t k = i; k < n; k++)
                m[j][k] -= part * m[i][k];
            v[j] -= part * v[i];
        }
    }
    for (size_t i = n; i-- > 0;) {
        for (size_t j = i + 1; j < n; j++)
            v[i] -= m[i][j] * v[j];
        v[i] /= m[i][i];
    }
    return true;
}

static void step_from(const struct pin *q, double f, const double *r, double damp, double *next)
{
    size_t n = shape_thetas(q->t->shape), rows = q->d->m;
    double j[SHAPE_THETAS][COV_CONDITIONS] = {{0.0}}, m[SHAPE_THETAS][SHAPE_THETAS] = {{0.0}};
    double v[SHAPE_THETAS] = {0.0};
    for (size_t k = 0; k < n; k++) {
        double moved[SHAPE_THETAS];
        memcpy(moved, q->log_theta, sizeof moved);
        moved[k] += 1e-6;
        residuals(q, f, moved, j[k]);
        for (size_t i = 0; i < rows; i++)
            j[k][i] = (j[k][i] - r[i]) / 1e-6;
    }
    for (size_t a = 0; a < n; a++)
        for (size_t i = 0; i < rows; i++) {
            v[a] -= q->weight[i] * j[a][i] * r[i];
            for (size_t b = 0; b < n; b++)
                m[a][b] += q->weight[i] * j[a][i] * j[b][i] * (a == b ? 1.0 + damp : 1.0);
        }
    memcpy(next, q->log_theta, sizeof q->log_theta);
    if (!solve(m, v, n))
        return;
    for (size_t k = 0; k < n; k++)
        next[k] += fmax(-0.5, fmin(0.5, v[k]));
}

static double least_smooth(struct pin *q, double f)
{
    double r[COV_CONDITIONS], trial[COV_CONDITIONS], next[SHAPE_THETAS], damp = 1e-3;
    double at = residuals(q, f, q->log_theta, r);
    for (int it = 0; it < STEPS && isfinite(at); it++) {
        step_from(q, f, r, damp, next);
        double then = residuals(q, f, next, trial);
        if (then < at) {
            double gain = at - then;
            memcpy(q->log_theta, next, sizeof next);
            memcpy(r, trial, sizeof r);
            at = then;
            damp /= 10.0;
            if (gain < 1e-9 * at)
                break;
        } else {
            damp *= 10.0;
            if (damp > 1e6)
                break;
        }
    }
    return at;
}

/* The corner lies beyond f: every place for it is looked at. */
static double least_corner(struct pin *q, double f)
{
    double least = PL_INF, r[COV_CONDITIONS], from = log(1e-3), to = log(20.0), best = from;
    double step = (to - from) / CORNERS;
    for (int pass = 0; pass < 3; pass++) {
        for (int i = 0; i <= CORNERS; i++) {
            double u = from + step * i, log_theta[SHAPE_THETAS] = {log(f + exp(u))};
            double s = residuals(q, f, log_theta, r);
            if (s < least) {
                least = s;
                best = u;
            }
        }
        from = best - step;
        step = 2.0 * step / CORNERS;
    }
    return least;
}

static double least_at(struct pin *q, double f)
{
    return shape_corner(q->t->shape) ? least_corner(q, f) : least_smooth(q, f);
}

static void pin_start(struct pin *q)
{
    for (size_t k = 0; k < SHAPE_THETAS; k++)
        q->log_theta[k] = q->t->theta[k] > 0.0 ? log(q->t->theta[k]) : 0.0;
}

/* Where the least sum crosses crit between inside and outside. */
static double crossing(struct pin q, double crit, double inside, double outside)
{
    for (int i = 0; i < HALVINGS; i++) {
        double middle = (inside + outside) / 2.0;
        struct pin here = q;
        if (least_at(&here, middle) <= crit) {
            inside = middle;
            q = here;
        } else {
            outside = middle;
        }
    }
    return (inside + outside) / 2.0;
}

static double criterion(const struct cov_means *d, size_t p, double least)
{
    double rows = (double)(d->m * d->shots), dof_rows = rows - (double)p, room = 0.0;
    double floor = d->step * d->step / 12.0;
    double t = math_t_quantile(0.975, dof_rows);
    room = t * t * fmax((least + d->sspe) / dof_rows, floor);
    if (d->m > p) {
        double dof = (double)(d->m - p);
        t = math_t_quantile(0.975, dof);
        room = fmax(room, t * t * fmax(least / dof, floor));
    }
    return least + room;
}

/* Sums along f from the truth outwards, so that each starts where its neighbour ended. */
static void scan(const struct pin *start, double f0, double step, size_t n, struct pin *q,
                 double *s)
{
    struct pin here = *start;
    for (size_t i = 0; i < n; i++) {
        s[i] = least_at(&here, f0 + step * (double)i);
        q[i] = here;
    }
}

static double least_between(const struct pin *start, double a, double b, double *at)
{
    const double golden = 0.6180339887498949;
    double c = b - golden * (b - a), d = a + golden * (b - a);
    struct pin q = *start, p = *start;
    double fc = least_at(&q, c), fd = least_at(&p, d);
    for (int i = 0; i < 24; i++) {
        if (fc < fd) {
            b = d;
            d = c;
            fd = fc;
            c = b - golden * (b - a);
            fc = least_at(&q, c);
        } else {
            a = c;
            c = d;
            fc = fd;
            d = a + golden * (b - a);
            fd = least_at(&p, d);
        }
    }
    *at = fc < fd ? c : d;
    return fmin(fc, fd);
}

void rival_oracle(const struct curve_truth *t, const struct cov_means *d, double *low, double *high)
{
    double weight[COV_CONDITIONS], last = d->x[d->m - 1], first = d->x[0] + 0.05;
    static struct pin up[SCAN], down[SCAN];
    double s_up[SCAN], s_down[SCAN], f0 = truth_answer(t, COV_TOLERANCE * t->plateau);
    struct pin start = {.t = t, .d = d, .weight = weight};
    double step_up = (last + BEYOND - f0) / SCAN, step_down = (f0 - first) / SCAN;
    for (size_t i = 0; i < d->m; i++)
        weight[i] = (double)d->shots;
    pin_start(&start);
    scan(&start, f0, step_up, SCAN, up, s_up);
    scan(&start, f0, -step_down, SCAN, down, s_down);
    const struct pin *from = &start;
    double best = f0, least = s_up[0], at;
    for (size_t i = 0; i < SCAN; i++) {
        if (s_up[i] < least) {
            least = s_up[i];
            best = f0 + step_up * (double)i;
            from = &up[i];
        }
        if (s_down[i] < least) {
            least = s_down[i];
            best = f0 - step_down * (double)i;
            from = &down[i];
        }
    }
    least = fmin(least, least_between(from, best - step_down, best + step_up, &at));
    double crit = criterion(d, 2 + shape_thetas(t->shape), least);
    *low = -PL_INF;
    *high = PL_INF;
    /* outermost crossings: the set may have holes near the noise */
    for (size_t i = SCAN - 1; i-- > 0 && isinf(*high);)
        if (s_up[i] <= crit && s_up[SCAN - 1] > crit)
            *high = crossing(up[i], crit, f0 + step_up * (double)i, f0 + step_up * (double)(i + 1));
    for (size_t i = SCAN - 1; i-- > 0 && isinf(*low);)
        if (s_down[i] <= crit && s_down[SCAN - 1] > crit)
            *low = crossing(down[i], crit, f0 - step_down * (double)i,
                            f0 - step_down * (double)(i + 1));
    if (isinf(*high) && s_up[SCAN - 1] > crit) { /* the whole set lies below the truth */
        for (size_t i = 1; i < SCAN && isinf(*high); i++)
            if (s_down[i] <= crit)
                *high = crossing(down[i], crit, f0 - step_down * (double)i,
                                 f0 - step_down * (double)(i - 1));
        if (isinf(*high)) /* narrower than the scan */
            *high = at;
    }
    if (isinf(*low) && s_down[SCAN - 1] > crit) {
        for (size_t i = 1; i < SCAN && isinf(*low); i++)
            if (s_up[i] <= crit)
                *low =
                    crossing(up[i], crit, f0 + step_up * (double)i, f0 + step_up * (double)(i - 1));
        if (isinf(*low))
            *low = at;
    }
    if (*high > last)
        *high = PL_INF;
}

double truth_distance(const struct curve_truth *t, const struct cov_means *d,
                      const double *variance, double answer)
{
    double weight[COV_CONDITIONS], f0 = truth_answer(t, d->tolerance), s = 0.0;
    struct pin q = {.t = t, .d = d, .weight = weight};
    if (!shape_levels(t->shape))
        return (double)NAN;
    for (size_t i = 0; i < d->m; i++)
        weight[i] = 1.0 / variance[i];
    pin_start(&q);
    for (int i = 0; i <= SCAN; i++) /* go there in small moves */
        s = least_at(&q, f0 + (answer - f0) * i / SCAN);
    return answer > f0 ? sqrt(s) : 0.0;
}
