/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What press and part should show at the aim, and from where on a single shot is a reason to stop
 * and look. */
#include <math.h>
#include <string.h>

#include "plateau/math.h"
#include "window_internal.h"

#define ALARM_SHARE 0.9973 /* of single shots: that of three sd of a normal distribution */

static struct expected_response *add(struct work *w, const char *name, const char *title,
                                     enum dimension d)
{
    struct expected_response *r =
        ARENA_PUSH(w->arena, w->window->expected, w->window->n_expected, w->cap_expected);
    *r = (struct expected_response){.name = name,
                                    .title = title,
                                    .dimension = d,
                                    .value = PL_NAN,
                                    .low = PL_NAN,
                                    .high = PL_NAN,
                                    .alarm_low = PL_NAN,
                                    .alarm_high = PL_NAN};
    return r;
}

/* The interval, widened by what single shots scatter. Returns why there are no limits, or NULL. */
static const char *set_alarm(struct expected_response *r, double sd, double dof)
{
    if (!isfinite(r->low) || !isfinite(r->high))
        return "no alarm limits: the scatter from one set-up to the next is not known";
    if (!(dof > 0.0))
        return "no alarm limits: no condition has two shots, so the scatter from shot to shot is "
               "not known";
    if (!(sd > 0.0))
        return "no alarm limits: all shots of a condition read alike, so their scatter is not "
               "known";
    double reach = math_t_quantile(0.5 + 0.5 * ALARM_SHARE, dof) * sd;
    r->alarm_low = round_10(r->low - reach);
    r->alarm_high = round_10(r->high + reach);
    return NULL;
}

static const char *with_reason(const struct work *w, const char *from, const char *reason)
{
    return reason == NULL ? from : arena_printf(w->arena, "%s; %s", from, reason);
}

/* A press knows hydraulic pressure; another press needs the melt's. */
static const char *melt_too(const struct work *w, enum dimension d, double v)
{
    const struct premises *p = d == DIM_PRESSURE ? w->premises : NULL;
    const char *melt =
        p != NULL ? melt_pressure_text(w->arena, p->display, p->facts, v, v / 50.0) : NULL;
    return melt != NULL ? arena_printf(w->arena, ", melt pressure %s", melt) : "";
}

/* ---- read off a study's conditions --------------------------------------------------------------
 */

static const struct expected_response *expect_series(struct work *w, const char *series,
                                                     const char *name, const char *title)
{
    struct window_response at;
    if (!window_response(w, series, &at))
        return NULL;
    struct expected_response *r = add(w, name, title, at.dimension);
    r->value = at.mean.value;
    r->low = at.mean.low;
    r->high = at.mean.high;
    const char *why = set_alarm(r, at.shot_sd, at.shot_dof);
    const char *from = arena_printf(w->arena, "%s, at %s %s%s", at.from->study, at.setting->noun,
                                    window_words(w, at.setting, at.aim, 0),
                                    melt_too(w, at.dimension, at.mean.value));
    r->because = with_reason(w, from, why);
    return r;
}

/* ---- the weight on the plateau --------------------------------------------------------------- */

static const struct model *chosen_model(const struct finding *f)
{
    for (size_t i = 0; i < f->n_models; i++)
        if (f->models[i].chosen && isfinite(f->models[i].residual_sd))
            return &f->models[i];
    return NULL;
}

/* Variance of a condition's mean around the fitted curve. */
static double unit_variance(const struct finding *f, const struct model *m, double *dof)
{
    double ss = 0.0, n = 0.0;
    for (size_t i = 0; i < f->n_conditions; i++) {
        const struct condition *c = &f->conditions[i];
        if (c->left_out != NULL || !isfinite(c->mean) || !isfinite(c->fitted))
            continue;
        ss += (c->mean - c->fitted) * (c->mean - c->fitted);
        n += 1.0;
    }
    *dof = n - (double)m->n_parameters;
    return *dof > 0.0 ? ss / *dof : 0.0;
}

/* A plateau is the same at every aim that lies on it. */
static void expect_weight(struct work *w)
{
    const struct finding *f = NULL;
    const struct quantity *q = window_quantity(w, "plateau_weight", &f);
    if (q == NULL)
        return;
    bool aimed = false;
    for (size_t i = 0; i < f->n_bounds; i++)
        aimed = aimed || isfinite(window_aim_of(w, f->bounds[i].setting));
    if (!aimed)
        return;
    struct expected_response *r = add(w, "part_weight", "Part weight", q->dimension);
    const char *what = q->title != NULL ? q->title : "part weight on the plateau";
    r->value = q->value;
    const struct model *m = chosen_model(f);
    if (m == NULL || !isfinite(q->low) || !isfinite(q->high) || f->rows_used <= m->n_parameters) {
        r->because = arena_printf(w->arena,
                                  "%s, %s; no interval and no alarm limits: there is no fitted "
                                  "curve with a known scatter",
                                  f->study, what);
        return;
    }
    double dof = (double)(f->rows_used - m->n_parameters), unit_dof;
    double v = unit_variance(f, m, &unit_dof);
    double unit = unit_dof > 0.0
                      ? math_t_quantile(0.5 + 0.5 * window_confidence(w), unit_dof) * sqrt(v)
                      : 0.0;
    r->low = round_10(q->value - hypot(q->value - q->low, unit));
    r->high = round_10(q->value + hypot(q->high - q->value, unit));
    const char *why = set_alarm(r, m->residual_sd, dof);
    r->because = with_reason(w, arena_printf(w->arena, "%s, %s", f->study, what), why);
}

/* ---- closed time ----------------------------------------------------------------------------- */

/* Fill as it scatters, hold and cooling as the timers repeat. */
static void expect_closed(struct work *w, const struct expected_response *fill)
{
    double hold = window_aim_of(w, "hold_time"), cooling = window_aim_of(w, "cooling_time");
    if (!isfinite(hold) || !isfinite(cooling) || fill == NULL)
        return;
    struct expected_response *r = add(w, "closed_time", "Closed time", DIM_TIME);
    double timers = round_10(hold + cooling);
    double sd = window_sd(w, window_spec("hold_time"));
    double reach = isfinite(sd) ? 3.0 * sqrt(2.0) * sd : 0.0;
    r->value = round_10(fill->value + timers);
    r->low = round_10(fill->low + timers);
    r->high = round_10(fill->high + timers);
    r->alarm_low = round_10(r->value - hypot(fill->value - fill->alarm_low, reach));
    r->alarm_high = round_10(r->value + hypot(fill->alarm_high - fill->value, reach));
    const char *parts = arena_printf(
        w->arena, "fill %s + hold %s + cooling %s", window_decimals(w, DIM_TIME, fill->value, 3, 0),
        window_decimals(w, DIM_TIME, hold, 3, 0), window_decimals(w, DIM_TIME, cooling, 3, 0));
    const char *why = isnan(r->alarm_low) ? "no alarm limits: those of the fill time are not known"
                      : isfinite(sd)      ? NULL
                                          : "timers taken to repeat exactly: their scatter was not "
                                            "measured";
    r->because = with_reason(w, parts, why);
}

void window_expect(struct work *w)
{
    if (window_approved_expect(w))
        return;
    /* copied: the list may move when it grows */
    const struct expected_response *p = expect_series(w, "fill time", "fill_time", "Fill time");
    struct expected_response fill = {0};
    bool filled = p != NULL;
    if (filled)
        fill = *p;
    expect_series(w, "transfer pressure", "transfer_pressure", "Pressure at transfer");
    expect_series(w, "peak pressure", "peak_pressure", "Peak pressure");
    expect_weight(w);
    expect_series(w, "cushion", "cushion", "Cushion");
    expect_closed(w, filled ? &fill : NULL);
}
