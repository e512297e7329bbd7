/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Did the press do what it was told? A press at its pressure limit lets the fill time float; a
 * press at its speed limit fills slower than told. Neither says anything about the melt. */
#include <math.h>

#include "math/visc_internal.h"
#include "plateau/math.h"

#define AT_LIMIT 0.98 /* of the known limit */
#define OFF_THE_LINE 0.05

static double cv(double ss, size_t n)
{
    return n > 1 ? sqrt(ss / (double)(n - 1)) : PL_NAN;
}

/* Held by pressure: the pressure repeats, the time floats. */
static bool held_by_pressure(const struct visc_unit *u)
{
    double p = cv(u->ss_p, u->n), t = cv(u->ss_t, u->n);
    return t > 0.0 && p <= 0.5 * t;
}

/* ln P of the straight line through the units in `use` other than j; NAN with fewer than two fill
 * times. */
static double line_at(const struct visc_unit *u, size_t m, const bool *use, size_t j)
{
    double sum = 0.0, mx = 0.0, my = 0.0, sxx = 0.0, sxy = 0.0;
    for (size_t i = 0; i < m; i++)
        if (use[i] && i != j) {
            sum += (double)u[i].n;
            mx -= (double)u[i].n * u[i].log_t;
            my += (double)u[i].n * u[i].log_p;
        }
    if (!(sum > 0.0))
        return PL_NAN;
    mx /= sum;
    my /= sum;
    for (size_t i = 0; i < m; i++)
        if (use[i] && i != j) {
            double x = -u[i].log_t - mx;
            sxx += (double)u[i].n * x * x;
            sxy += (double)u[i].n * x * (u[i].log_p - my);
        }
    /* fill times within 1 % of each other give no direction */
    return sxx > 1e-4 * sum ? my + sxy / sxx * (-u[j].log_t - mx) : PL_NAN;
}

/* The same of the parabola through them, for melts that are not power laws; NAN below five. */
static double parabola_at(const struct visc_unit *u, size_t m, const bool *use, size_t j)
{
    double s[5] = {0.0}, b[3] = {0.0}, k = 0.0;
    for (size_t i = 0; i < m; i++)
        if (use[i] && i != j) {
            double x = u[j].log_t - u[i].log_t, w = (double)u[i].n;
            for (int p = 0; p < 5; p++, w *= x) {
                s[p] += w;
                if (p < 3)
                    b[p] += w * u[i].log_p;
            }
            k += 1.0;
        }
    /* normal equations around x of j: the value there is the constant */
    double c0 = s[2] * s[4] - s[3] * s[3], c1 = s[1] * s[4] - s[2] * s[3];
    double c2 = s[1] * s[3] - s[2] * s[2], det = s[0] * c0 - s[1] * c1 + s[2] * c2;
    if (k < 5.0 || !(fabs(det) > 1e-10 * s[0] * s[2] * s[4]))
        return PL_NAN;
    return (b[0] * c0 - b[1] * c1 + b[2] * c2) / det;
}

/* A melt that bends lies below the line at both ends; a press at its limit lies below either. */
static double expected_at(const struct visc_unit *u, size_t m, const bool *use, size_t j)
{
    return fmin(line_at(u, m, use, j), parabola_at(u, m, use, j)); /* NAN is no number to fmin */
}

/* Told to fill slower than all others: whatever lies below the line there, the press was not at its
 * limit. False where the speeds are not known. */
static bool slowest_told(const double *speed, size_t m, size_t j)
{
    for (size_t i = 0; i < m; i++)
        if (i != j && !(speed[j] < speed[i]))
            return false;
    return true;
}

static void below_the_line(const struct visc_unit *u, size_t m, const double *speed, bool *use,
                           struct visc_doubt *out)
{
    for (size_t round = 0; round < m; round++) {
        size_t worst = m;
        double off = OFF_THE_LINE;
        for (size_t j = 0; j < m; j++) {
            if (out[j].what != VISC_FREE || !held_by_pressure(&u[j]) || slowest_told(speed, m, j))
                continue;
            double below = 1.0 - exp(u[j].log_p - expected_at(u, m, use, j));
            if (below > off) {
                off = below;
                worst = j;
            }
        }
        if (worst == m)
            return;
        out[worst].what = VISC_PRESSURE_LIMITED;
        out[worst].off = off;
        use[worst] = false;
    }
}

static void pressure_limited(struct arena *a, const struct visc_unit *u, size_t m,
                             const double *peak, const double *limit, const double *speed,
                             struct visc_doubt *out)
{
    bool *use = ARENA_ARRAY(a, bool, m), *firm = ARENA_ARRAY(a, bool, m);
    bool any_line = false;
    for (size_t i = 0; i < m; i++) {
        if (isfinite(limit[i]) && peak[i] >= AT_LIMIT * limit[i]) {
            out[i].what = VISC_PRESSURE_LIMITED;
            out[i].at_limit = true;
        }
        use[i] = out[i].what == VISC_FREE;
        firm[i] = use[i] && !held_by_pressure(&u[i]);
    }
    for (size_t i = 0; i < m; i++)
        any_line = any_line || isfinite(line_at(u, m, firm, i));
    below_the_line(u, m, speed, any_line ? firm : use, out);
}

/* ---- speed --------------------------------------------------------------------------------------
 */

/* t = t0 + L / v by least squares on relative errors. */
struct stroke {
    double t0, length, variance; /* of relative residuals */
    double s0, s1, s2, dof;      /* normal equations: sums of 1/t^2, 1/(v t^2), 1/(v t)^2 */
};

static bool stroke_fit(const struct visc_unit *u, const double *speed, const size_t *order,
                       size_t k, struct stroke *s)
{
    double b0 = 0.0, b1 = 0.0;
    *s = (struct stroke){.dof = (double)k - 2.0};
    for (size_t i = 0; i < k; i++) {
        double t = exp(u[order[i]].log_t), q = 1.0 / speed[order[i]], w = 1.0 / (t * t);
        s->s0 += w;
        s->s1 += w * q;
        s->s2 += w * q * q;
        b0 += w * t;
        b1 += w * q * t;
    }
    double det = s->s0 * s->s2 - s->s1 * s->s1;
    if (!(det > 1e-12 * s->s0 * s->s2) || s->dof < 1.0)
        return false;
    s->t0 = (b0 * s->s2 - b1 * s->s1) / det;
    s->length = (b1 * s->s0 - b0 * s->s1) / det;
    for (size_t i = 0; i < k; i++) {
        double t = exp(u[order[i]].log_t), r = 1.0 - (s->t0 + s->length / speed[order[i]]) / t;
        s->variance += r * r / s->dof;
    }
    return true;
}

static double stroke_se(const struct stroke *s, double q, double t)
{
    double det = s->s0 * s->s2 - s->s1 * s->s1;
    double of_line = (s->s2 - 2.0 * q * s->s1 + q * q * s->s0) / det;
    return sqrt(s->variance * (of_line + t * t));
}

static void speed_not_reached(struct arena *a, const struct visc_unit *u, size_t m,
                              const double *speed, const struct visc_options *o,
                              struct visc_doubt *out)
{
    size_t *order = ARENA_ARRAY(a, size_t, m), *good = ARENA_ARRAY(a, size_t, m);
    size_t n = 0, k = 0;
    for (size_t i = 0; i < m; i++)
        if (out[i].what == VISC_FREE && speed[i] > 0.0 && isfinite(speed[i]))
            order[n++] = i;
    for (size_t i = 1; i < n; i++)
        for (size_t j = i; j > 0 && speed[order[j]] < speed[order[j - 1]]; j--) {
            size_t keep = order[j];
            order[j] = order[j - 1];
            order[j - 1] = keep;
        }
    for (size_t i = 0; i < n; i++) {
        struct stroke s;
        size_t j = order[i];
        if (stroke_fit(u, speed, good, k, &s)) {
            double t = exp(u[j].log_t), told = s.t0 + s.length / speed[j];
            double limit =
                math_t_quantile(o->confidence, s.dof) * stroke_se(&s, 1.0 / speed[j], told);
            if (told > 0.0 && t > (1.0 + OFF_THE_LINE) * told && t > told + limit) {
                out[j].what = VISC_SPEED_NOT_REACHED;
                out[j].off = t / told - 1.0;
                continue;
            }
        }
        good[k++] = j;
    }
}

void visc_find_limited(struct arena *a, const struct visc_unit *u, size_t m, const double *peak,
                       const double *limit, const double *speed, const struct visc_options *o,
                       struct visc_doubt *out)
{
    for (size_t i = 0; i < m; i++)
        out[i] = (struct visc_doubt){.what = VISC_FREE, .off = PL_NAN};
    pressure_limited(a, u, m, peak, limit, speed, out);
    speed_not_reached(a, u, m, speed, o, out);
}
