/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Logarithms of fill time and pressure: units, weights from errors in both axes, the straight line.
 */
#include <math.h>

#include "math/visc_internal.h"
#include "plateau/math.h"
#include "plateau/math_cooling.h" /* normal quantile */

void visc_unit_make(const double *t, const double *p, size_t n, struct visc_unit *out)
{
    *out = (struct visc_unit){.n = n};
    for (size_t i = 0; i < n; i++) {
        out->log_t += log(t[i]) / (double)n;
        out->log_p += log(p[i]) / (double)n;
    }
    for (size_t i = 0; i < n; i++) {
        double dt = log(t[i]) - out->log_t, dp = log(p[i]) - out->log_p;
        out->ss_t += dt * dt;
        out->ss_p += dp * dp;
        out->ss_tp += dt * dp;
    }
}

static size_t count_groups(const struct visc_unit *u, size_t m)
{
    size_t n = 0;
    for (size_t i = 0; i < m; i++) {
        bool seen = false;
        for (size_t j = 0; j < i; j++)
            seen = seen || u[j].group == u[i].group;
        n += !seen;
    }
    return n;
}

struct straight { /* y = height + slope (x - center) */
    double center, height, slope, sxx, rss;
};

static struct straight straight_line(const struct visc_unit *u, size_t m, const double *w)
{
    struct straight s = {0};
    double sum = 0.0, sxy = 0.0;
    for (size_t i = 0; i < m; i++)
        sum += w[i];
    for (size_t i = 0; i < m; i++) {
        s.center += w[i] * -u[i].log_t / sum;
        s.height += w[i] * u[i].log_p / sum;
    }
    for (size_t i = 0; i < m; i++) {
        double x = -u[i].log_t - s.center;
        s.sxx += w[i] * x * x;
        sxy += w[i] * x * (u[i].log_p - s.height);
    }
    s.slope = s.sxx > 0.0 ? sxy / s.sxx : PL_NAN;
    for (size_t i = 0; i < m; i++) {
        double r = u[i].log_p - s.height - s.slope * (-u[i].log_t - s.center);
        s.rss += w[i] * r * r;
    }
    return s;
}

static double within(const struct visc_unit *u, double n)
{
    return fmax(0.0, u->ss_p + 2.0 * n * u->ss_tp + n * n * u->ss_t);
}

/* Relative variance that the rounding of the digits leaves in one reading. */
static double rounding(double step, double log_value)
{
    double relative = step / exp(log_value);
    return relative * relative / 12.0;
}

/* Shots that differ by less than a step share their rounding error: the mean does not average it.
 */
static double rounding_of_mean(const struct visc_unit *u, double step, double log_value, double ss)
{
    double one = rounding(step, log_value);
    bool spread = u->n > 1 && sqrt(ss / (double)(u->n - 1)) > 0.5 * step / exp(log_value);
    return spread ? one / (double)u->n : one;
}

enum visc_law visc_other_law(enum visc_law law)
{
    return law == VISC_SHARE ? VISC_ALIKE : VISC_SHARE;
}

/* Relative variances of one reading. */
struct errors {
    enum visc_law law;
    double middle; /* ln P at which var_p stands */
    double var_p, var_t;
};

/* Relative variance of pressure there over that in the middle. */
static double law_factor(enum visc_law law, double middle, double log_p)
{
    return law == VISC_ALIKE ? exp(2.0 * (middle - log_p)) : 1.0;
}

static struct errors errors_of(const struct visc_unit *u, size_t m, const struct visc_options *o,
                               const struct straight *s, enum visc_law law)
{
    struct errors by = {.law = law, .middle = s->height};
    double ss_p = 0.0, ss_t = 0.0, dof = 0.0;
    for (size_t i = 0; i < m; i++) {
        ss_p += u[i].ss_p / law_factor(law, by.middle, u[i].log_p);
        ss_t += u[i].ss_t;
        dof += (double)(u[i].n - 1);
    }
    by.var_p = dof > 0.0 ? ss_p / dof : m > 2 ? s->rss / (double)(m - 2) : 0.0;
    by.var_p = fmax(by.var_p, rounding(o->pressure_step, by.middle));
    by.var_t = dof > 0.0 ? ss_t / dof : 0.0;
    return by;
}

static double variance_at(const struct errors *by, const struct visc_unit *u,
                          const struct visc_options *o, double n)
{
    return by->var_p * law_factor(by->law, by->middle, u->log_p) +
           n * n * (by->var_t + rounding(o->time_step, u->log_t));
}

/* ---- which law the scatter of pressure follows
 * ---------------------------------------------------- */

#define EXACT 1e-9 /* relative scatter of readings that repeat exactly */

/* -2 ln likelihood of the scatter within units, its size free; NAN where there is none. */
static double within_deviance(const struct visc_unit *u, size_t m, const struct visc_options *o,
                              const struct straight *s, enum visc_law law)
{
    struct errors by = errors_of(u, m, o, s, law);
    double ss = 0.0, weighted = 0.0, dof = 0.0, logs = 0.0;
    for (size_t i = 0; i < m; i++) {
        double v = variance_at(&by, &u[i], o, s->slope), free = (double)(u[i].n - 1);
        if (!(v > 0.0))
            return PL_NAN;
        ss += within(&u[i], s->slope);
        weighted += within(&u[i], s->slope) / v;
        logs += free * log(v);
        dof += free;
    }
    return ss > EXACT * EXACT * dof ? dof * log(weighted) + logs : PL_NAN;
}

/* The gap between the two is about normal: in favour of the true law by some d on average, with
 * variance 4 d. The true law falls behind by z^2 with a chance of 1 - Phi((z^2 + d) / (2 sqrt d)),
 * which is 1 - Phi(z) at most. */
static void judge_law(const struct visc_unit *u, size_t m, const struct visc_options *o,
                      const struct straight *s, struct visc_line *out)
{
    double z = math_normal_quantile(o->confidence);
    double gap = within_deviance(u, m, o, s, VISC_SHARE) - within_deviance(u, m, o, s, VISC_ALIKE);
    out->law = gap > 1e-9 ? VISC_ALIKE : VISC_SHARE;
    out->either_law = fabs(gap) <= z * z;
}

static void weigh(const struct visc_unit *u, size_t m, const struct visc_options *o, double n,
                  const struct errors *by, double *w)
{
    double rows = 0.0, sum = 0.0;
    for (size_t i = 0; i < m; i++) {
        double v = variance_at(by, &u[i], o, n);
        w[i] = v > 0.0 ? (double)u[i].n / v : 0.0;
        rows += (double)u[i].n;
        sum += w[i];
    }
    bool all = true;
    for (size_t i = 0; i < m; i++)
        all = all && w[i] > 0.0;
    for (size_t i = 0; i < m; i++)
        w[i] = all ? w[i] * rows / sum : (double)u[i].n;
}

/* From settings that were run more than once. */
static double between_visits(const struct visc_unit *u, size_t m, double n, double shot_var)
{
    double ss = 0.0, dof = 0.0, per_unit = 0.0, units = 0.0;
    for (size_t i = 0; i < m; i++) {
        double mean = 0.0, count = 0.0;
        bool first = true;
        for (size_t j = 0; j < m; j++)
            if (u[j].group == u[i].group) {
                first = first && j >= i;
                mean += u[j].log_p + n * u[j].log_t;
                count += 1.0;
            }
        if (!first || count < 2.0)
            continue;
        mean /= count;
        for (size_t j = 0; j < m; j++)
            if (u[j].group == u[i].group) {
                double r = u[j].log_p + n * u[j].log_t - mean;
                ss += r * r;
                per_unit += shot_var / (double)u[j].n;
                units += 1.0;
            }
        dof += count - 1.0;
    }
    return dof > 0.0 ? sqrt(fmax(0.0, ss / dof - per_unit / units)) : PL_NAN;
}

static void scatter(const struct visc_unit *u, size_t m, const struct straight *s,
                    const struct visc_options *o, struct visc_line *out)
{
    double plain = 0.0, rows = (double)out->n_rows, units = (double)m, n = s->slope;
    double dof = rows - units;
    out->ss_within = out->floor_rows = out->floor_units = 0.0;
    for (size_t i = 0; i < m; i++) {
        plain += within(&u[i], n);
        out->ss_within += out->weight[i] / (double)u[i].n * within(&u[i], n);
        double row =
            rounding(o->pressure_step, u[i].log_p) + n * n * rounding(o->time_step, u[i].log_t);
        double mean = rounding_of_mean(&u[i], o->pressure_step, u[i].log_p, u[i].ss_p) +
                      n * n * rounding_of_mean(&u[i], o->time_step, u[i].log_t, u[i].ss_t);
        out->floor_rows += out->weight[i] * row / rows;
        out->floor_units += out->weight[i] * mean / units;
    }
    out->shot_sd = dof > 0.0 ? sqrt(plain / dof) : PL_NAN;
    out->revisit_sd = between_visits(u, m, n, dof > 0.0 ? plain / dof : 0.0);
    out->unit_sd = PL_NAN;
    if (out->n_groups > 2) {
        double of_units = s->rss / (units - 2.0);
        double of_shots = dof > 0.0 ? out->ss_within / dof : 0.0;
        out->unit_sd = sqrt(fmax(0.0, of_units - of_shots) * units / rows);
    }
}

static void slope_interval(const struct straight *s, const struct visc_options *o,
                           struct visc_line *out)
{
    double rows = (double)out->n_rows, units = (double)out->n_units;
    out->slope_low = out->slope_high = PL_NAN;
    if (out->n_groups < 3)
        return;
    double p = 0.5 + 0.5 * o->confidence;
    double by_rows = math_t_quantile(p, rows - 2.0) *
                     sqrt(fmax(out->floor_rows, (out->ss_within + s->rss) / (rows - 2.0)));
    double by_units =
        math_t_quantile(p, units - 2.0) * sqrt(fmax(out->floor_units, s->rss / (units - 2.0)));
    double half = fmax(by_rows, by_units) / sqrt(s->sxx);
    out->slope_low = s->slope - half;
    out->slope_high = s->slope + half;
}

static bool all_finite(const struct visc_unit *u, size_t m)
{
    for (size_t i = 0; i < m; i++)
        if (!isfinite(u[i].log_t) || !isfinite(u[i].log_p) || !isfinite(u[i].ss_t) ||
            !isfinite(u[i].ss_p) || u[i].n == 0)
            return false;
    return true;
}

/* Rows, scatter, and the line in which every row counts alike. */
static enum errc start_line(struct arena *a, const struct visc_unit *u, size_t m,
                            struct straight *s, struct visc_line *out, struct error *e)
{
    *out = (struct visc_line){.n_units = m, .n_groups = count_groups(u, m)};
    out->weight = ARENA_ARRAY(a, double, m);
    if (out->n_groups < 2 || !all_finite(u, m))
        return ERR_SET(e, ERR_NUMERIC, "a line needs two settings with finite readings");
    double ss_p = 0.0, ss_t = 0.0;
    for (size_t i = 0; i < m; i++) {
        out->n_rows += u[i].n;
        out->weight[i] = (double)u[i].n;
        ss_p += u[i].ss_p;
        ss_t += u[i].ss_t;
    }
    *s = straight_line(u, m, out->weight);
    if (!(s->sxx > 0.0) || !isfinite(s->slope))
        return ERR_SET(e, ERR_NUMERIC, "all fill times are alike");
    double dof = (double)(out->n_rows - m);
    out->s_p = dof > 0.0 ? sqrt(ss_p / dof) : PL_NAN;
    out->s_t = dof > 0.0 ? sqrt(ss_t / dof) : PL_NAN;
    return ERR_NONE;
}

static void line_under(const struct visc_unit *u, size_t m, const struct visc_options *o,
                       struct straight s, struct visc_line *out)
{
    struct errors by = errors_of(u, m, o, &s, out->law);
    for (int pass = 0; pass < 2; pass++) {
        weigh(u, m, o, s.slope, &by, out->weight);
        s = straight_line(u, m, out->weight);
    }
    out->log_center = s.center;
    out->height = s.height;
    out->slope = s.slope;
    scatter(u, m, &s, o, out);
    slope_interval(&s, o, out);
}

enum errc visc_line_under(struct arena *a, const struct visc_unit *u, size_t m,
                          const struct visc_options *o, enum visc_law law, struct visc_line *out,
                          struct error *e)
{
    struct straight s = {0};
    TRY(start_line(a, u, m, &s, out, e));
    out->law = law;
    line_under(u, m, o, s, out);
    return ERR_NONE;
}

enum errc visc_line_fit(struct arena *a, const struct visc_unit *u, size_t m,
                        const struct visc_options *o, struct visc_line *out, struct error *e)
{
    struct straight s = {0};
    struct visc_line other;
    TRY(start_line(a, u, m, &s, out, e));
    judge_law(u, m, o, &s, out);
    line_under(u, m, o, s, out);
    if (!out->either_law)
        return ERR_NONE;
    TRY(visc_line_under(a, u, m, o, visc_other_law(out->law), &other, e));
    out->slope_low = fmin(out->slope_low, other.slope_low);
    out->slope_high = fmax(out->slope_high, other.slope_high);
    return ERR_NONE;
}
