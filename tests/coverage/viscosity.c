/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cells of viscosity: pressure at transfer over fill time. */
#include <math.h>
#include <string.h>

#include "coverage.h"
#include "plateau/math_viscosity.h"

#define MOST 16
#define SLOWEST 5.0
#define FASTEST 0.38
#define FINE 20000

enum melt { POWER, SISKO, CROSS, CARREAU, KINKED, STRAIGHT, NEWTON, MELTS };
static const char *const melt_name[MELTS] = {"power",  "sisko",    "cross", "carreau",
                                             "kinked", "straight", "newton"};

struct design {
    enum melt melt;
    size_t m, shots;
    double e_inf; /* of the Sisko melt */
    double p_sd, t_sd, between, timer, available;
    double evenness; /* relative sd as P^-evenness: 0 a share, 1 alike in MPa */
    double fill[MOST];
};

static double pressure(const struct design *d, double g)
{
    switch (d->melt) {
    case POWER:
        return 60.0 * pow(g, 0.3);
    case SISKO:
        return 60.0 * pow(g, 0.3) + d->e_inf * g;
    case CROSS:
        return 150.0 * g / (1.0 + pow(1.5 * g, 0.65));
    case CARREAU:
        return 150.0 * g * pow(1.0 + 6.25 * g * g, -0.33);
    case KINKED: /* 0.6 below 0.8 1/s, 0.25 above */
        return g < 0.8 ? 60.0 * pow(g / 0.8, 0.6) : 60.0 * pow(g / 0.8, 0.25);
    case STRAIGHT:
        return 40.0 + 15.0 * g;
    case NEWTON:
        return 30.0 * g;
    case MELTS:
        break;
    }
    return NAN;
}

static double viscosity(const struct design *d, double g)
{
    return pressure(d, g) / g;
}

static void design_of(const struct cov_cell *c, struct design *d)
{
    static const double usual[] = {5, 3.2, 2.2, 1.6, 1.2, 0.9, 0.7, 0.55, 0.45, 0.38};
    *d = (struct design){.m = (size_t)cov_number(c, "conditions", 10),
                         .shots = (size_t)cov_number(c, "shots", 3),
                         .e_inf = cov_number(c, "e_inf", 6.0),
                         .p_sd = cov_number(c, "sd", 0.005),
                         .t_sd = cov_number(c, "time_sd", 0.002),
                         .between = cov_number(c, "between", 0.0),
                         .timer = cov_number(c, "timer", 0.001),
                         .evenness = cov_is(c, "noise", "constant") ? 1.0
                                     : cov_is(c, "noise", "root")   ? 0.5
                                                                    : 0.0};
    for (int i = 0; i < MELTS; i++)
        if (cov_is(c, "truth", melt_name[i]))
            d->melt = (enum melt)i;
    for (size_t i = 0; i < d->m; i++)
        d->fill[i] = d->m == PL_COUNT(usual)
                         ? usual[i]
                         : SLOWEST * pow(FASTEST / SLOWEST, (double)i / (double)(d->m - 1));
    /* the fastest fill takes 95 % of the press, so that 90 % is reached inside the range */
    d->available = pressure(d, 1.0 / FASTEST) / 0.95;
}

/* ---- true answers -------------------------------------------------------------------------------
 */

/* Longest fill time from which on filling 10 % slower changes viscosity by at most 5 % of its
 * fall. */
static double true_knee(const struct design *d)
{
    double slow = 1.0 / SLOWEST, fast = 1.0 / FASTEST;
    double fall = viscosity(d, slow) - viscosity(d, fast), from = PL_NAN;
    for (int i = FINE; i >= 0; i--) {
        double g = slow * pow(fast / slow, (double)i / FINE);
        if (!(viscosity(d, 0.9 * g) - viscosity(d, g) <= 0.05 * fall))
            break;
        from = 1.0 / g;
    }
    return from < SLOWEST * (1.0 - 1e-9) ? from
                                         : PL_INF; /* met from the slowest on: no knee in it */
}

/* Point farthest from the chord: where the curve is as steep as it. */
static double true_chord(const struct design *d)
{
    double slow = 1.0 / SLOWEST, fast = 1.0 / FASTEST, most = 0.0, at = PL_NAN;
    double e0 = viscosity(d, slow), slope = (viscosity(d, fast) - e0) / (fast - slow);
    for (int i = 1; i < FINE; i++) {
        double g = slow * pow(fast / slow, (double)i / FINE);
        double below = e0 + slope * (g - slow) - viscosity(d, g);
        if (below > most) {
            most = below;
            at = 1.0 / g;
        }
    }
    return at;
}

static double true_stick(const struct design *d)
{
    double x[MOST], y[MOST];
    for (size_t i = 0; i < d->m; i++) {
        x[i] = 1.0 / d->fill[i];
        y[i] = viscosity(d, x[i]);
    }
    return 1.0 / visc_broken_stick(x, y, d->m);
}

static double true_fastest(const struct design *d)
{
    double low = FASTEST / 4.0, high = SLOWEST;
    for (int i = 0; i < 100; i++) {
        double t = (low + high) / 2.0;
        if (pressure(d, 1.0 / t) > 0.9 * d->available)
            low = t;
        else
            high = t;
    }
    return high;
}

struct truths {
    double knee, chord, stick, fastest, use;
};

/* ---- a trial ------------------------------------------------------------------------------------
 */

static void draw(const struct design *d, struct sim_stream *s, struct cov_sheet *sheet)
{
    double middle = pressure(d, 1.0 / 1.2);
    for (size_t i = 0; i < d->m; i++) {
        double sd = d->p_sd * pow(middle / pressure(d, 1.0 / d->fill[i]), d->evenness);
        double shift = d->between * sd * sim_normal(s);
        for (size_t j = 0; j < d->shots; j++) {
            double t = d->fill[i] * exp(d->t_sd * sim_normal(s));
            double p = pressure(d, 1.0 / t) * exp(shift + sd * sim_normal(s));
            struct cell *cells = cov_sheet_row(sheet);
            cells[0] = cov_value(round(t / d->timer) * d->timer);
            cells[1] = cov_value(round(p * 10.0) / 10.0);
            cells[2] = cov_value(100.0 / d->fill[i]);
        }
    }
}

static void analyze(const struct design *d, struct sim_stream *s, struct arena *a,
                    struct finding *out)
{
    struct cov_sheet sheet;
    cov_sheet_init(&sheet, a, "viscosity", 3, d->m * d->shots);
    cov_sheet_column(&sheet, "fill_time", 0, d->timer);
    cov_sheet_column(&sheet, "transfer_pressure", 0, 0.1);
    cov_sheet_column(&sheet, "injection_speed", 0, 0.1);
    cov_sheet_quantity(&sheet, "press", "max_injection_pressure", DIM_PRESSURE, d->available);
    cov_sheet_text(&sheet, "press", "pressure_basis", "melt");
    draw(d, s, &sheet);
    cov_sheet_analyze(&sheet, out);
}

static const struct bound *fill_bound(const struct finding *f, enum bound_side side,
                                      const char *criterion)
{
    for (size_t i = 0; i < f->n_bounds; i++) {
        const struct bound *b = &f->bounds[i];
        if (b->side == side && strcmp(b->setting, "fill_time") == 0 && b->criterion != NULL &&
            strcmp(b->criterion, criterion) == 0)
            return b;
    }
    return NULL;
}

static void count_bound(const struct bound *b, const char *quantity, double truth,
                        struct cov_rows *out)
{
    cov_interval(out, quantity, "program", b != NULL ? b->low : PL_NAN,
                 b != NULL ? b->high : PL_NAN, truth);
}

static void count_knee(const struct finding *f, const char *name, double truth,
                       struct cov_rows *out)
{
    double low, high;
    if (isnan(truth))
        return;
    cov_quantity(f, name, &low, &high);
    cov_interval(out, name, "program", low, high, truth);
}

static void count_intervals(const struct design *d, const struct truths *t, const struct finding *f,
                            struct cov_rows *out)
{
    double low, high;
    if (d->melt == POWER || d->melt == NEWTON) {
        cov_quantity(f, "power_law_index", &low, &high);
        cov_interval(out, "power_law_index", "program", low, high, d->melt == POWER ? 0.3 : 1.0);
    }
    count_knee(f, "knee_sensitivity", t->knee, out);
    count_knee(f, "knee_broken_stick", t->stick, out);
    count_knee(f, "knee_chord", t->chord, out);
    count_knee(f, "pressure_use", t->use, out);
    count_bound(fill_bound(f, BOUND_UPPER, "viscosity_tolerance"), "slowest fill time", t->knee,
                out);
    count_bound(fill_bound(f, BOUND_LOWER, "pressure_use_max"), "fastest fill time", t->fastest,
                out);
}

static bool power_law_left_play(const struct finding *f)
{
    for (size_t i = 0; i < f->n_models; i++)
        if (strcmp(f->models[i].name, "power law") == 0)
            return !f->models[i].in_play;
    return false;
}

static bool knee_claimed(const struct finding *f)
{
    const struct quantity *q = finding_get(f, "knee_sensitivity");
    return q != NULL && isfinite(q->value) && !finding_has_flag(f, "knee-follows-range");
}

void cov_viscosity(const struct cov_cell *c, size_t trials, struct cov_rows *out)
{
    struct design d;
    design_of(c, &d);
    struct truths truth = {true_knee(&d), true_chord(&d), true_stick(&d), true_fastest(&d), 0.95};
    for (size_t trial = 0; trial < trials; trial++) {
        struct arena *a = arena_new();
        struct sim_stream s = cov_stream(c, trial);
        struct finding f;
        analyze(&d, &s, a, &f);
        if (strcmp(c->group, "invent") == 0) {
            cov_share(out, "knee of its own claimed", knee_claimed(&f));
            cov_share(out, "power law left play", power_law_left_play(&f));
        } else if (strcmp(c->group, "power") == 0) {
            cov_share(out, "told from a power law", power_law_left_play(&f));
        } else {
            count_intervals(&d, &truth, &f, out);
        }
        arena_free(a);
    }
}

/* Distance from the nearest power law in standard errors of the condition means. */
double cov_viscosity_distance(const struct cov_cell *c)
{
    struct design d;
    double mx = 0.0, my = 0.0, sxx = 0.0, sxy = 0.0, syy = 0.0;
    design_of(c, &d);
    if (strcmp(c->group, "power") != 0)
        return (double)NAN;
    for (size_t i = 0; i < d.m; i++) {
        mx -= log(d.fill[i]) / (double)d.m;
        my += log(pressure(&d, 1.0 / d.fill[i])) / (double)d.m;
    }
    for (size_t i = 0; i < d.m; i++) {
        double x = -log(d.fill[i]) - mx, y = log(pressure(&d, 1.0 / d.fill[i])) - my;
        sxx += x * x;
        sxy += x * y;
        syy += y * y;
    }
    double shot = d.p_sd * d.p_sd + 0.09 * d.t_sd * d.t_sd;
    double v = shot / (double)d.shots + d.between * d.between * d.p_sd * d.p_sd;
    return sqrt((syy - sxy * sxy / sxx) / v);
}
