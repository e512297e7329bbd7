/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a response will be at the aim of the setting that was varied: read from the conditions a
 * study ran, on its fitted curve or between its neighbouring conditions, with the scatter of
 * set-ups and of shots. */
#include <math.h>
#include <string.h>

#include "plateau/math.h"
#include "window_internal.h"

/* Conditions at one setting. */
struct response_group {
    double x, u;  /* the setting; what the response is straight over */
    double mean;  /* of all shots */
    double shots; /* behind it */
    double units; /* times it was set up */
    struct window_value fitted;
};

struct response_series {
    const char *name;
    struct window_response *r;
    struct response_group *g; /* by u, ascending */
    size_t n;
    bool logarithmic; /* ln y is straight over u, else y */
    bool relative;    /* scatter is a share of the reading */
    bool fitted;
    double step; /* of the readings, 0 when not known */
};

/* ---- where to look --------------------------------------------------------------------------- */

/* The setting with an aim that this study varied, in the dimension of its conditions. */
static const struct setting_spec *varied(const struct work *w, const struct finding *f,
                                         enum dimension d)
{
    size_t n;
    const struct setting_spec *specs = window_setting_specs(&n);
    for (size_t i = 0; i < n; i++)
        if (specs[i].study != NULL && strcmp(specs[i].study, f->study) == 0 &&
            specs[i].dimension == d && isfinite(window_aim_of(w, specs[i].setting)))
            return &specs[i];
    return NULL;
}

static bool find_series(const struct work *w, const char *series, struct window_response *r)
{
    for (size_t i = 0; i < w->n_findings; i++) {
        const struct finding *f = &w->findings[i];
        for (size_t k = 0; k < f->n_conditions; k++) {
            const struct condition *c = &f->conditions[k];
            if (!window_counts(c, series))
                continue;
            r->from = f;
            r->dimension = c->dimension;
            r->setting = varied(w, f, c->setting_dimension);
            if (r->setting == NULL)
                break;
            r->aim = window_aim_of(w, r->setting->setting);
            return true;
        }
    }
    return false;
}

/* ---- groups ---------------------------------------------------------------------------------- */

static void add_condition(struct response_series *s, const struct condition *c)
{
    size_t i = 0;
    while (i < s->n && fabs(s->g[i].x - c->setting) > 1e-9 * fabs(c->setting))
        i++;
    struct response_group *g = &s->g[i];
    if (i == s->n) {
        *g = (struct response_group){.x = c->setting,
                                     .fitted = {c->fitted, c->fitted_low, c->fitted_high}};
        s->n++;
    }
    double shots = (double)c->n;
    g->mean += (c->mean - g->mean) * shots / (g->shots + shots);
    g->shots += shots;
    g->units += 1.0;
    s->fitted = s->fitted && isfinite(c->fitted_low) && isfinite(c->fitted_high);
}

static void sort_groups(struct response_series *s)
{
    for (size_t i = 1; i < s->n; i++) {
        struct response_group g = s->g[i];
        size_t k = i;
        for (; k > 0 && s->g[k - 1].u > g.u; k--)
            s->g[k] = s->g[k - 1];
        s->g[k] = g;
    }
}

static double mean_at(const struct finding *f, const char *series, double x)
{
    double sum = 0.0, n = 0.0;
    for (size_t i = 0; i < f->n_conditions; i++) {
        const struct condition *c = &f->conditions[i];
        if (!window_counts(c, series) || fabs(c->setting - x) > 1e-9 * fabs(x))
            continue;
        sum += (double)c->n * c->mean;
        n += (double)c->n;
    }
    return n > 0.0 ? sum / n : PL_NAN;
}

/* Fill time is straight over 1 / speed, pressure on logarithms over fill time, the rest over the
 * setting itself. */
static double abscissa(const struct work *w, const struct response_series *s, double x)
{
    if (s->r->setting->dimension == DIM_SPEED && s->r->dimension == DIM_TIME)
        return 1.0 / x;
    if (s->r->dimension != DIM_PRESSURE)
        return x;
    if (s->r->setting->dimension != DIM_SPEED)
        return log(x);
    double t = mean_at(s->r->from, "fill time", x);
    if (isnan(t) && fabs(x - s->r->aim) <= 1e-9 * x) {
        struct window_response fill;
        if (window_response(w, "fill time", &fill))
            t = fill.mean.value;
    }
    return t > 0.0 ? log(t) : -log(x);
}

static bool gather(const struct work *w, const char *series, struct window_response *r,
                   struct response_series *s)
{
    *s = (struct response_series){
        .name = series,
        .r = r,
        .g = ARENA_ARRAY(w->arena, struct response_group, r->from->n_conditions),
        .logarithmic = r->dimension == DIM_PRESSURE,
        .relative = r->dimension == DIM_PRESSURE || r->dimension == DIM_TIME,
        .fitted = true,
        .step = window_reading_step(r->from, series)};
    for (size_t i = 0; i < r->from->n_conditions; i++) {
        const struct condition *c = &r->from->conditions[i];
        bool usable = window_counts(c, series) && (!s->relative || c->mean > 0.0) &&
                      (c->setting_dimension != DIM_SPEED || c->setting > 0.0);
        if (usable)
            add_condition(s, c);
    }
    for (size_t i = 0; i < s->n; i++)
        s->g[i].u = abscissa(w, s, s->g[i].x);
    sort_groups(s);
    return s->n >= 2;
}

/* ---- between conditions ---------------------------------------------------------------------- */

struct response_place { /* between group a and the next one, `f` of the way */
    size_t a;
    double f;
};

static bool find_place(const struct response_series *s, double u, struct response_place *p)
{
    double slack = 1e-9 * fmax(fabs(u), fabs(s->g[s->n - 1].u - s->g[0].u));
    if (!(u >= s->g[0].u - slack) || !(u <= s->g[s->n - 1].u + slack))
        return false;
    size_t a = 0;
    while (a + 2 < s->n && s->g[a + 1].u < u)
        a++;
    double span = s->g[a + 1].u - s->g[a].u; /* none: two settings at one place */
    double f = span > 0.0 ? (u - s->g[a].u) / span : 0.0;
    *p = (struct response_place){a, fmin(fmax(f, 0.0), 1.0)};
    return isfinite(f);
}

static double between(const struct response_series *s, double a, double b, double f)
{
    return s->logarithmic ? exp((1.0 - f) * log(a) + f * log(b)) : (1.0 - f) * a + f * b;
}

static double deviation(const struct response_series *s, double y, double expected)
{
    return s->relative ? y / expected - 1.0 : y - expected;
}

/* The groups of fill time over speed; false when no study varied the speed. */
static bool fill_over_speed(const struct work *w, struct window_response *r,
                            struct response_series *s)
{
    for (size_t i = 0; i < w->n_findings; i++) {
        const struct finding *f = &w->findings[i];
        for (size_t k = 0; k < f->n_conditions; k++) {
            const struct condition *c = &f->conditions[k];
            if (!window_counts(c, "fill time") || c->setting_dimension != DIM_SPEED)
                continue;
            *r = (struct window_response){.from = f,
                                          .dimension = DIM_TIME,
                                          .setting = window_spec("injection_speed"),
                                          .aim = PL_NAN};
            return gather(w, "fill time", r, s);
        }
    }
    return false;
}

double window_speed_at(const struct work *w, double fill_time)
{
    struct window_response r;
    struct response_series s;
    if (!fill_over_speed(w, &r, &s))
        return PL_NAN;
    size_t a = 0; /* groups from fast to slow */
    while (a + 2 < s.n && s.g[a + 1].mean < fill_time)
        a++;
    const struct response_group *p = &s.g[a], *q = &s.g[a + 1];
    double u = p->u + (q->u - p->u) * (fill_time - p->mean) / (q->mean - p->mean);
    return u > 0.0 && isfinite(u) ? 1.0 / u : PL_NAN;
}

double window_fill_time_at(const struct work *w, double speed)
{
    struct window_response r;
    struct response_series s;
    struct response_place at;
    if (!(speed > 0.0) || !fill_over_speed(w, &r, &s) || !find_place(&s, 1.0 / speed, &at))
        return PL_NAN;
    return round_10(between(&s, s.g[at.a].mean, s.g[at.a + 1].mean, at.f));
}

/* ---- scatter --------------------------------------------------------------------------------- */

/* Without the rounding of the digits, which counts more where the reading is small. */
struct response_scatter {
    double shot, shot_dof; /* variance of shots within conditions */
    double unit, unit_dof; /* of a condition's mean around the curve */
    double shots;          /* in a condition, on average */
};

/* Variance that rounding gives one reading, or a mean of readings that all round alike. */
static double rounding_at(const struct response_series *s, double y)
{
    double v = s->step * s->step / 12.0;
    return s->relative ? v / (y * y) : v;
}

static double curve_parameters(const struct finding *f)
{
    for (size_t i = 0; i < f->n_models; i++)
        if (f->models[i].chosen)
            return (double)f->models[i].n_parameters;
    return 2.0;
}

/* Of the means around the fitted curve. */
static void around_fit(const struct response_series *s, struct response_scatter *out)
{
    double ss = 0.0, n = 0.0;
    for (size_t i = 0; i < s->r->from->n_conditions; i++) {
        const struct condition *c = &s->r->from->conditions[i];
        if (!window_counts(c, s->name))
            continue;
        double d = deviation(s, c->mean, c->fitted);
        ss += d * d - rounding_at(s, c->mean);
        n += 1.0;
    }
    out->unit_dof = n - curve_parameters(s->r->from);
    out->unit = out->unit_dof > 0.0 ? fmax(0.0, ss / out->unit_dof) : 0.0;
}

/* Without a curve: how far each setting's mean lies from the line between its neighbours, and how
 * far set-ups at one setting lie apart. Neighbouring deviations share means: the degrees of freedom
 * are those of equal spacing, with correlations -2/3 and 1/6 (Gasser, Sroka and Jennen-Steinmetz,
 * Biometrika 73 (1986) 625, from memory). */
static void around_neighbours(const struct response_series *s, struct response_scatter *out)
{
    double k = 0.0, mean = 0.0;
    for (size_t i = 1; i + 1 < s->n; i++) {
        const struct response_group *a = &s->g[i - 1], *b = &s->g[i], *c = &s->g[i + 1];
        if (!(c->u > a->u)) /* three settings at one place: no line */
            continue;
        double f = (b->u - a->u) / (c->u - a->u);
        double d = deviation(s, b->mean, between(s, a->mean, c->mean, f));
        double size[3] = {(1.0 - f) * (1.0 - f) / a->units, 1.0 / b->units, f * f / c->units};
        double digits = size[0] * rounding_at(s, a->mean) + size[1] * rounding_at(s, b->mean) +
                        size[2] * rounding_at(s, c->mean);
        k += 1.0;
        mean += ((d * d - digits) / (size[0] + size[1] + size[2]) - mean) / k;
    }
    double dof = 0.0;
    if (k > 0.0)
        dof = k * k / (k + 2.0 * (k - 1.0) * 4.0 / 9.0 + 2.0 * fmax(0.0, k - 2.0) / 36.0);
    double ss = 0.0, again = 0.0;
    for (size_t g = 0; g < s->n; g++) {
        again += s->g[g].units - 1.0;
        for (size_t i = 0; s->g[g].units > 1.0 && i < s->r->from->n_conditions; i++) {
            const struct condition *c = &s->r->from->conditions[i];
            if (!window_counts(c, s->name) ||
                fabs(c->setting - s->g[g].x) > 1e-9 * fabs(c->setting))
                continue;
            double d = deviation(s, c->mean, s->g[g].mean);
            ss += d * d - rounding_at(s, c->mean) * (1.0 - 1.0 / s->g[g].units);
        }
    }
    out->unit_dof = dof + again;
    out->unit = out->unit_dof > 0.0 ? fmax(0.0, (mean * dof + ss) / out->unit_dof) : 0.0;
}

static struct response_scatter scatter_of(const struct response_series *s)
{
    struct response_scatter out = {0};
    double ss = 0.0, shots = 0.0, units = 0.0;
    for (size_t i = 0; i < s->r->from->n_conditions; i++) {
        const struct condition *c = &s->r->from->conditions[i];
        if (!window_counts(c, s->name))
            continue;
        shots += (double)c->n;
        units += 1.0;
        if (c->n < 2 || !isfinite(c->sd))
            continue;
        double sd = s->relative ? c->sd / c->mean : c->sd;
        ss += (double)(c->n - 1) * (sd * sd - rounding_at(s, c->mean));
        out.shot_dof += (double)(c->n - 1);
    }
    out.shot = out.shot_dof > 0.0 ? fmax(0.0, ss / out.shot_dof) : 0.0;
    out.shots = shots / units;
    if (s->fitted)
        around_fit(s, &out);
    else
        around_neighbours(s, &out);
    return out;
}

/* Half width of the interval of a new set-up's mean, `more` times the variance of a mean: the wider
 * of the one from set-ups and the one from shots, with the digits' rounding. NAN: not known. */
static double half_width(const struct work *w, const struct response_scatter *v, double rounding,
                         double more)
{
    double p = 0.5 + 0.5 * window_confidence(w);
    if (!(v->unit_dof > 0.0))
        return PL_NAN;
    double half = math_t_quantile(p, v->unit_dof) * sqrt((v->unit + rounding) * more);
    if (v->shot_dof > 0.0)
        half = fmax(half,
                    math_t_quantile(p, v->shot_dof) * sqrt((v->shot / v->shots + rounding) * more));
    return half;
}

/* ---- the answer ------------------------------------------------------------------------------ */

static void spread_mean(const struct response_series *s, double half)
{
    struct window_value *m = &s->r->mean;
    m->low = m->high = PL_NAN;
    if (isnan(half))
        return;
    const struct window_value *f = &s->r->fitted;
    double spread = half * (s->relative ? m->value : 1.0);
    m->low = round_10(m->value - (s->fitted ? hypot(spread, f->value - f->low) : spread));
    m->high = round_10(m->value + (s->fitted ? hypot(spread, f->high - f->value) : spread));
}

bool window_response(const struct work *w, const char *series, struct window_response *r)
{
    *r = (struct window_response){
        .mean = {PL_NAN, PL_NAN, PL_NAN}, .fitted = {PL_NAN, PL_NAN, PL_NAN}, .shot_sd = PL_NAN};
    struct response_series s;
    struct response_place at;
    if (!find_series(w, series, r) || !gather(w, series, r, &s) ||
        !find_place(&s, abscissa(w, &s, r->aim), &at))
        return false;
    const struct response_group *a = &s.g[at.a], *b = &s.g[at.a + 1];
    r->mean.value = round_10(between(&s, a->mean, b->mean, at.f));
    if (s.fitted) {
        r->fitted.value = round_10(between(&s, a->fitted.value, b->fitted.value, at.f));
        r->fitted.low = round_10(between(&s, a->fitted.low, b->fitted.low, at.f));
        r->fitted.high = round_10(between(&s, a->fitted.high, b->fitted.high, at.f));
        r->mean.value = r->fitted.value;
    }
    struct response_scatter v = scatter_of(&s);
    double scale = s.relative ? r->mean.value : 1.0;
    double rounding = rounding_at(&s, r->mean.value);
    double more =
        s.fitted ? 1.0 : 1.0 + (1.0 - at.f) * (1.0 - at.f) / a->units + at.f * at.f / b->units;
    spread_mean(&s, half_width(w, &v, rounding, more));
    r->shot_dof = v.shot_dof;
    double variance = v.shot + rounding;
    r->shot_sd = v.shot_dof > 0.0 && variance > 0.0 ? scale * sqrt(variance) : PL_NAN;
    return true;
}
