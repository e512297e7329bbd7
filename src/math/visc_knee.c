/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Three readings of "the knee", on a fitted curve over the tested range. Viscosity e = P / g, so
 * that ln e = height + curve(x) - x; the height drops out of all three. */
#include <math.h>

#include "math/visc_internal.h"

#define FINE 64
#define SAME 1e-12 /* relative: a rounding error is not a crossing */

struct on_curve {
    const struct visc_data *d;
    enum visc_model_id id;
    const double *theta;
    double shift, fall, slope; /* disturbance in x; fall of e; slope of the chord */
};

static double viscosity(const struct on_curve *c, double x)
{
    return exp(visc_curve(c->id, c->theta, x) - x);
}

/* ---- (a) what a disturbance does
 * ----------------------------------------------------------------- */

static double effect_on(double x, void *context)
{
    const struct on_curve *c = context;
    return (viscosity(c, x - c->shift) - viscosity(c, x)) / c->fall;
}

static struct on_curve curve_of(const struct visc_data *d, enum visc_model_id id,
                                const double *theta)
{
    struct on_curve c = {d, id, theta, -log(1.0 - d->disturbance), 0.0, 0.0};
    double slow = viscosity(&c, d->x_low), fast = viscosity(&c, d->x_high);
    double width = exp(d->x_high) - exp(d->x_low);
    if (width > 0.0) {
        c.fall = slow - fast;
        c.slope = (fast - slow) / width;
    }
    return c;
}

double visc_effect(const struct visc_data *d, enum visc_model_id id, const double *theta, double x)
{
    struct on_curve c = curve_of(d, id, theta);
    return c.fall > 0.0 ? effect_on(x, &c) : 0.0;
}

/* From the fast end backwards to the last place where the effect is too large. */
enum visc_knee_state visc_sensitivity(const struct visc_data *d, enum visc_model_id id,
                                      const double *theta, double *x)
{
    struct on_curve c = curve_of(d, id, theta);
    *x = PL_NAN;
    if (!(c.fall > 0.0)) /* viscosity does not fall: nothing to be sensitive to */
        return VISC_KNEE_BELOW_RANGE;
    double limit = d->tolerance * (1.0 + SAME), good = d->x_high;
    if (effect_on(good, &c) > limit)
        return VISC_KNEE_NOT_REACHED;
    for (int i = 1; i <= FINE; i++) {
        double next = d->x_high - (d->x_high - d->x_low) * i / FINE;
        if (effect_on(next, &c) > limit) {
            *x = math_root(effect_on, &c, d->tolerance, good, next);
            return VISC_KNEE_FOUND;
        }
        good = next;
    }
    return VISC_KNEE_BELOW_RANGE;
}

/* ---- (b) two straight lines
 * ------------------------------------------------------------------------ */

struct sums {
    double n, x, y, xx, xy, yy; /* x, y relative to the first point */
};

static void add(struct sums *s, double x, double y)
{
    s->n += 1.0;
    s->x += x;
    s->y += y;
    s->xx += x * x;
    s->xy += x * y;
    s->yy += y * y;
}

/* False where all x agree: two conditions that filled in the same time. */
static bool line_of(const struct sums *s, double *a, double *b)
{
    double det = s->n * s->xx - s->x * s->x;
    if (!(det > 1e-14 * s->n * s->xx))
        return false;
    *b = (s->n * s->xy - s->x * s->y) / det;
    *a = (s->y - *b * s->x) / s->n;
    return true;
}

/* Residual sum of the continuous two-line fit that breaks at psi. */
static double stick_rss(const double *x, const double *y, size_t n, double psi)
{
    /* y = c0 + c1 (x - psi)- + c2 (x - psi)+ : the parts are orthogonal to each other */
    double m[3][4] = {{0.0}};
    for (size_t i = 0; i < n; i++) {
        double row[4] = {1.0, fmin(x[i] - psi, 0.0), fmax(x[i] - psi, 0.0), y[i]};
        for (int r = 0; r < 3; r++)
            for (int c = 0; c < 4; c++)
                m[r][c] += row[r] * row[c];
    }
    for (int p = 0; p < 3; p++) {
        if (!(fabs(m[p][p]) > 0.0))
            return PL_INF;
        for (int r = p + 1; r < 3; r++) {
            double f = m[r][p] / m[p][p];
            for (int c = p; c < 4; c++)
                m[r][c] -= f * m[p][c];
        }
    }
    double k[3];
    for (int r = 2; r >= 0; r--) {
        k[r] = m[r][3];
        for (int c = r + 1; c < 3; c++)
            k[r] -= m[r][c] * k[c];
        k[r] /= m[r][r];
    }
    double rss = 0.0;
    for (size_t i = 0; i < n; i++) {
        double r = y[i] - k[0] - k[1] * fmin(x[i] - psi, 0.0) - k[2] * fmax(x[i] - psi, 0.0);
        rss += r * r;
    }
    return rss;
}

/* Between two neighbouring points the best break is where the two lines meet, or an end of the gap.
 */
static double break_in_gap(const double *x, const double *y, size_t n, size_t left)
{
    struct sums s[2] = {{0.0, 0.0, 0.0, 0.0, 0.0, 0.0}, {0.0, 0.0, 0.0, 0.0, 0.0, 0.0}};
    double a[2], b[2];
    for (size_t i = 0; i < n; i++)
        add(&s[i >= left], x[i] - x[0], y[i] - y[0]);
    if (!line_of(&s[0], &a[0], &b[0]) || !line_of(&s[1], &a[1], &b[1]) ||
        !(fabs(b[0] - b[1]) > 0.0))
        return PL_NAN;
    double psi = x[0] + (a[1] - a[0]) / (b[0] - b[1]);
    return psi > x[left - 1] && psi < x[left] ? psi : PL_NAN;
}

double visc_broken_stick(const double *x, const double *y, size_t n)
{
    double best = PL_NAN, least = PL_INF;
    for (size_t left = 2; n >= 4 && left + 2 <= n; left++) {
        double meet = break_in_gap(x, y, n, left);
        double candidates[2] = {isnan(meet) ? x[left - 1] : meet, x[left]};
        for (int i = 0; i < (isnan(meet) ? 2 : 1); i++) {
            double psi = candidates[i];
            if (!isfinite(psi) || psi <= x[0] || psi >= x[n - 1])
                continue;
            double rss = stick_rss(x, y, n, psi);
            if (rss < least * (1.0 - 1e-9)) {
                least = rss;
                best = psi;
            }
        }
    }
    return best;
}

#define MOST_POINTS 256

double visc_stick(const struct visc_data *d, enum visc_model_id id, const double *theta)
{
    struct on_curve c = curve_of(d, id, theta);
    double x[MOST_POINTS], y[MOST_POINTS];
    size_t n = d->n_points < MOST_POINTS ? d->n_points : MOST_POINTS;
    for (size_t i = 0; i < n; i++) {
        x[i] = exp(d->points[i]);
        y[i] = viscosity(&c, d->points[i]);
    }
    double psi = visc_broken_stick(x, y, n);
    return log(psi);
}

/* ---- (c) farthest from the chord
 * --------------------------------------------------------------------- */

static double above_chord(double x, void *context)
{
    const struct on_curve *c = context;
    double chord = viscosity(c, c->d->x_low) + c->slope * (exp(x) - exp(c->d->x_low));
    return -fabs(viscosity(c, x) - chord);
}

double visc_chord_of_power_law(double n, double g1, double g2)
{
    return pow((pow(g2, n - 1.0) - pow(g1, n - 1.0)) / ((n - 1.0) * (g2 - g1)), 1.0 / (n - 2.0));
}

double visc_chord(const struct visc_data *d, enum visc_model_id id, const double *theta)
{
    if (id == VISC_POWER && fabs(theta[0] - 1.0) > 1e-6 && fabs(theta[0] - 2.0) > 1e-6)
        return log(visc_chord_of_power_law(theta[0], exp(d->x_low), exp(d->x_high)));
    struct on_curve c = curve_of(d, id, theta);
    double h = (d->x_high - d->x_low) / FINE, best = PL_NAN, least = 0.0;
    for (int i = 1; i < FINE; i++) {
        double v = above_chord(d->x_low + h * i, &c);
        if (v < least) {
            least = v;
            best = d->x_low + h * i;
        }
    }
    if (isnan(best))
        return best;
    return math_minimize(above_chord, &c, best - h, best, best + h, &least);
}

/* ---- with intervals
 * ------------------------------------------------------------------------------------
 */

static double fill_time(const struct visc_data *d, double x)
{
    return exp(-(x + d->log_center));
}

static void widen(struct visc_value *v, double value)
{
    if (isnan(value))
        return;
    v->low = isnan(v->low) ? value : fmin(v->low, value);
    v->high = isnan(v->high) ? value : fmax(v->high, value);
}

static void knees_at(const struct visc_data *d, enum visc_model_id id, const struct visc_point *p,
                     bool best, struct visc_answer *out)
{
    double x;
    enum visc_knee_state state = visc_sensitivity(d, id, p->theta, &x);
    double a = state == VISC_KNEE_FOUND         ? fill_time(d, x)
               : state == VISC_KNEE_BELOW_RANGE ? PL_INF
                                                : -PL_INF;
    double b = fill_time(d, visc_stick(d, id, p->theta));
    double c = fill_time(d, visc_chord(d, id, p->theta));
    double effect = visc_effect(d, id, p->theta, d->x_high);
    if (best) {
        out->state = state;
        out->sensitivity.value = state == VISC_KNEE_FOUND ? a : PL_NAN;
        out->stick.value = b;
        out->chord.value = c;
        out->effect_at_fastest.value = effect;
    }
    widen(&out->sensitivity, a);
    widen(&out->stick, b);
    widen(&out->chord, c);
    widen(&out->effect_at_fastest, effect);
}

enum knee { KNEE_SENSITIVITY, KNEE_STICK, KNEE_CHORD };

static double knee_of(enum knee which, const struct visc_data *d, enum visc_model_id id,
                      const double *theta)
{
    double x;
    if (which == KNEE_STICK)
        return visc_stick(d, id, theta);
    if (which == KNEE_CHORD)
        return visc_chord(d, id, theta);
    visc_sensitivity(d, id, theta, &x);
    return x;
}

/* The ends of the tested range are readings too, and all three knees hang on them. How far one knee
 * moves when an end does, within what is known of it; in the logarithm. */
static double by_range(enum knee which, const struct visc_data *d, enum visc_model_id id,
                       const double *theta)
{
    double at = knee_of(which, d, id, theta), ss = 0.0;
    double points[MOST_POINTS] = {0.0};
    size_t n = d->n_points < MOST_POINTS ? d->n_points : MOST_POINTS;
    for (int end = 0; end < 2; end++) {
        double half = end == 0 ? d->low_half : d->high_half, most = 0.0;
        for (int sign = -1; sign <= 1; sign += 2) {
            struct visc_data moved = *d;
            for (size_t i = 0; i < n; i++)
                points[i] = d->points[i];
            points[end == 0 ? 0 : n - 1] += sign * half;
            moved.points = points;
            moved.n_points = n;
            moved.x_low = points[0];
            moved.x_high = points[n - 1];
            double other = knee_of(which, &moved, id, theta);
            if (!isnan(other))
                most = fmax(most, fabs(other - at));
        }
        ss += most * most;
    }
    return isnan(ss) ? 0.0 : ss;
}

/* Independent of the curve's own uncertainty: the half-widths add in squares. */
static void add_range(struct visc_value *v, double ss)
{
    if (isnan(v->value))
        return;
    if (isfinite(v->low) && v->low > 0.0)
        v->low = v->value * exp(-sqrt(pow(log(v->value / v->low), 2.0) + ss));
    if (isfinite(v->high))
        v->high = v->value * exp(sqrt(pow(log(v->high / v->value), 2.0) + ss));
}

void visc_knees(const struct visc_regions *g, struct visc_answer *out)
{
    const struct visc_value none = {PL_NAN, PL_NAN, PL_NAN};
    out->sensitivity = out->stick = out->chord = out->effect_at_fastest = none;
    for (size_t i = 0; i < g->n; i++)
        for (size_t k = 0; k < g->region[i].n; k++)
            knees_at(g->region[i].data, g->region[i].id, &g->region[i].point[k],
                     (int)i == g->best && k == 0, out);
    const struct visc_region *best = &g->region[g->best];
    const double *theta = best->point[0].theta;
    add_range(&out->sensitivity, by_range(KNEE_SENSITIVITY, &g->data, best->id, theta));
    add_range(&out->stick, by_range(KNEE_STICK, &g->data, best->id, theta));
    add_range(&out->chord, by_range(KNEE_CHORD, &g->data, best->id, theta));
    visc_bracket(&g->data, out);
    out->safe = isfinite(out->sensitivity.low) && out->sensitivity.low > 0.0;
}
