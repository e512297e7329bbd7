/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The end of a profile interval, exact to rounding, from an approximate one.
 *
 * For a trial value of the answer (or of the plateau level) the constraint takes out one linear
 * parameter: A = delta / g(f; theta) for the answer f, P = value for the level. What is left is a
 * small least-squares problem in the other linear parameter and theta, solved by
 * Levenberg-Marquardt within the plausible range of theta; its sum S*(value) has no edge and no
 * square root, so its crossing with the criterion is a well-posed root. */
#include <math.h>
#include <string.h>

#include "math/math_internal.h"

#define MOST_STEPS 200
#define MOST_FREE 3
#define MOST_MOVES 60

struct pinned {
    const struct family *f;
    const struct scaled *s;
    enum pinned_what what;
    double delta, crit;
    double low[2], high[2];
    double theta[2],
        linear; /* linear: P for an answer, A for a level; warm start of the next trial */
};

/* Residual i and its derivatives by the free linear parameter and theta. */
static double residual(const struct pinned *q, double value, size_t i, double *d)
{
    double dg[2] = {0.0, 0.0}, df[2] = {0.0, 0.0};
    double g = q->f->g(q->s->x[i], q->theta, q->s->x0, dg);
    if (q->what == PINNED_LEVEL) {
        d[0] = -g;
        for (size_t k = 0; k < q->f->n_theta; k++)
            d[1 + k] = -q->linear * dg[k];
        return value - q->linear * g - q->s->y[i];
    }
    double at = q->f->g(value, q->theta, q->s->x0, df);
    if (!(at > 0.0)) /* the curve has no distance to the plateau left there */
        return PL_INF;
    double ratio = g / at;
    d[0] = 1.0;
    for (size_t k = 0; k < q->f->n_theta; k++)
        d[1 + k] = -q->delta * (dg[k] - ratio * df[k]) / at;
    return q->linear - q->delta * ratio - q->s->y[i];
}

static double pinned_sum(const struct pinned *q, double value)
{
    double sum = 0.0, d[MOST_FREE];
    for (size_t i = 0; i < q->s->m; i++) {
        double r = residual(q, value, i, d);
        sum += q->s->w[i] * r * r;
    }
    return isfinite(sum) && (q->what == PINNED_ANSWER || q->linear > 0.0) ? sum : PL_INF;
}

/* Solves (M + damp diag M) step = -v over the free parameters; false when M is not definite. */
static bool damped_step(double m[MOST_FREE][MOST_FREE], const double *v, const bool *held, size_t n,
                        double damp, double *step)
{
    double c[MOST_FREE][MOST_FREE] = {{0.0}}, z[MOST_FREE] = {0.0};
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j <= i; j++) {
            double sum =
                held[i] || held[j] ? (i == j ? 1.0 : 0.0) : m[i][j] * (i == j ? 1.0 + damp : 1.0);
            for (size_t k = 0; k < j; k++)
                sum -= c[i][k] * c[j][k];
            if (i != j) {
                c[i][j] = sum / c[j][j];
                continue;
            }
            if (!(sum > 0.0))
                return false;
            c[i][i] = sqrt(sum);
        }
        double sum = held[i] ? 0.0 : -v[i];
        for (size_t k = 0; k < i; k++)
            sum -= c[i][k] * z[k];
        z[i] = sum / c[i][i];
    }
    for (size_t i = n; i-- > 0;) {
        double sum = z[i];
        for (size_t k = i + 1; k < n; k++)
            sum -= c[k][i] * step[k];
        step[i] = sum / c[i][i];
    }
    return true;
}

/* Moves q by the step, clipped to the plausible range. */
static void move(struct pinned *q, const double *step)
{
    q->linear += step[0];
    for (size_t k = 0; k < q->f->n_theta; k++)
        q->theta[k] = fmin(q->high[k], fmax(q->low[k], q->theta[k] + step[1 + k]));
}

static void normal_equations(const struct pinned *q, double value, double m[MOST_FREE][MOST_FREE],
                             double *v)
{
    size_t n = 1 + q->f->n_theta;
    double d[MOST_FREE] = {0.0};
    memset(v, 0, MOST_FREE * sizeof *v);
    memset(m, 0, sizeof(double[MOST_FREE][MOST_FREE]));
    for (size_t i = 0; i < q->s->m; i++) {
        double r = residual(q, value, i, d), w = q->s->w[i];
        for (size_t a = 0; a < n; a++) {
            v[a] += w * d[a] * r;
            for (size_t b = 0; b < n; b++)
                m[a][b] += w * d[a] * d[b];
        }
    }
}

/* A theta at the end of its range is held there while the descent points outwards. */
static void hold_at_ends(const struct pinned *q, const double *v, bool *held)
{
    held[0] = false;
    for (size_t k = 0; k < q->f->n_theta; k++)
        held[1 + k] = (q->theta[k] <= q->low[k] && v[1 + k] > 0.0) ||
                      (q->theta[k] >= q->high[k] && v[1 + k] < 0.0);
}

/* S*(value): least sum with the answer pinned. q keeps the minimum for the next trial. */
static double least_pinned(struct pinned *q, double value)
{
    size_t n = 1 + q->f->n_theta;
    double at = pinned_sum(q, value), damp = 0.0;
    int still = 0;
    for (int it = 0; it < MOST_STEPS && isfinite(at); it++) {
        double m[MOST_FREE][MOST_FREE], v[MOST_FREE], step[MOST_FREE] = {0.0};
        bool held[MOST_FREE] = {false};
        normal_equations(q, value, m, v);
        hold_at_ends(q, v, held);
        struct pinned trial = *q;
        double then = PL_INF;
        if (damped_step(m, v, held, n, damp, step)) {
            move(&trial, step);
            then = pinned_sum(&trial, value);
        }
        if (then <= at) {
            double gain = at - then;
            *q = trial;
            at = then;
            damp = damp > 1e-9 ? damp / 10.0 : 0.0;
            still = gain <= 1e-15 * at ? still + 1 : 0;
            if (still >= 3) /* along a flat valley one small gain is no proof */
                break;
        } else {
            if (damp > 1e6 || (then - at <= 1e-13 * at && damp > 1e-3))
                break;
            damp = damp > 0.0 ? damp * 10.0 : 1e-6;
        }
    }
    return at;
}

static double start_linear(const struct pinned *q)
{
    struct inner in;
    if (!family_inner(q->f, q->s, q->theta, &in))
        return PL_NAN;
    return q->what == PINNED_LEVEL ? in.a : in.p;
}

/* Where S* crosses crit between inside and outside: regula falsi with halving, kept bracketed. */
static double crossing(struct pinned *q, double inside, double s_in, double outside, double s_out)
{
    double a = inside, b = outside, fa = s_in - q->crit, fb = s_out - q->crit;
    for (int it = 0; it < MOST_MOVES && fabs(b - a) > 1e-15 * (fabs(a) + fabs(b)); it++) {
        double c = isfinite(fb) ? b - fb * (b - a) / (fb - fa) : (a + b) / 2.0;
        if (it % 4 == 3 || !(c > fmin(a, b)) || !(c < fmax(a, b)))
            c = (a + b) / 2.0;
        double fc = least_pinned(q, c) - q->crit;
        if (fc == 0.0)
            return c;
        if (fc < 0.0) {
            a = c;
            fa = fc;
            if (isfinite(fb))
                fb /= 2.0; /* Illinois: the end that stays weighs half */
        } else {
            b = c;
            fb = fc;
            fa /= 2.0;
        }
    }
    return (a + b) / 2.0;
}

double family_polish_end(const struct family *f, const struct scaled *s, enum pinned_what what,
                         double delta, double crit, double best, double rough,
                         const double theta[2])
{
    struct pinned q = {.f = f, .s = s, .what = what, .delta = delta, .crit = crit};
    family_range(f, s, q.low, q.high);
    memcpy(q.theta, theta, sizeof q.theta);
    q.linear = start_linear(&q);
    double limit = what == PINNED_ANSWER ? 2.0 : 50.0; /* far outside the data, in scaled units */
    double inside = best, s_in = -PL_INF, step = rough - best, at = rough;
    if (!isfinite(rough) || !isfinite(q.linear) || fabs(step) < 1e-14 * fabs(best))
        return rough;
    double first = least_pinned(&q, at);
    if (!isfinite(first))
        return rough;
    double small = step * 1e-3, s_at = first;
    if (s_at <= crit) { /* go on outwards */
        while (s_at <= crit) {
            inside = at;
            s_in = s_at;
            at += small;
            small *= 2.0;
            if (fabs(at - best) > limit + 2.0 * fabs(step))
                return at;
            s_at = least_pinned(&q, at);
        }
        return crossing(&q, inside, s_in, at, s_at);
    }
    double outside = at, s_out = s_at;
    for (int k = 0; k < MOST_MOVES; k++) { /* back towards the best */
        at -= small;
        small *= 2.0;
        if ((at - best) * step <= 0.0)
            return rough;
        s_at = least_pinned(&q, at);
        if (s_at <= crit)
            return crossing(&q, at, s_at, outside, s_out);
        outside = at;
        s_out = s_at;
    }
    return rough;
}
