/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The pressure that filling took in pressure-drop, carried to other fill times by the power-law
 * index of viscosity: pressure = measured x (measured fill time / fill time)^n. Another look at how
 * fast the mold may be filled, from other shots than the viscosity curve's. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

/* Neither study alone has all of it. */
struct scaling {
    const struct finding *from; /* of the pressure */
    struct window_value pressure, n;
    const struct operating_value *fill_time, *speed; /* as written beside the shots, or NULL */
};

/* What [running] says is in use now is not what these shots were run at. */
static const struct operating_value *measured(const struct finding *f, const char *setting)
{
    const struct operating_value *o = window_operating(f, setting);
    if (o == NULL || !(o->low > 0.0) || (o->from != NULL && strcmp(o->from, "[running]") == 0))
        return NULL;
    return o;
}

static bool with_interval(const struct quantity *q)
{
    return q != NULL && isfinite(q->value) && isfinite(q->low) && isfinite(q->high) && q->low > 0.0;
}

static bool can_scale(const struct work *w, struct scaling *s)
{
    static const char *const useless[] = {"pressure-at-limit", "speeds-differ",
                                          "stage-out-of-order"};
    const struct quantity *n = window_quantity(w, "power_law_index", NULL);
    const struct quantity *p = window_quantity(w, "fill_pressure", &s->from);
    if (!with_interval(n) || !with_interval(p))
        return false;
    for (size_t i = 0; i < PL_COUNT(useless); i++)
        if (finding_has_flag(s->from, useless[i]))
            return false;
    s->pressure = (struct window_value){p->value, p->low, p->high};
    s->n = (struct window_value){n->value, n->low, n->high};
    s->fill_time = measured(s->from, "fill_time");
    s->speed = measured(s->from, "injection_speed");
    return s->fill_time != NULL || s->speed != NULL;
}

/* base x ratio^power over all ends of the three. */
static struct window_value over_ends(struct window_value base, struct window_value ratio,
                                     struct window_value power)
{
    const double bases[] = {base.low, base.high}, ratios[] = {ratio.low, ratio.high};
    const double powers[] = {power.low, power.high};
    struct window_value out = {base.value * pow(ratio.value, power.value), PL_INF, -PL_INF};
    for (int i = 0; i < 8; i++) {
        double v = bases[i & 1] * pow(ratios[(i >> 1) & 1], powers[i >> 2]);
        out.low = fmin(out.low, v);
        out.high = fmax(out.high, v);
    }
    return out;
}

static struct window_value of_operating(const struct operating_value *o)
{
    return (struct window_value){sqrt(o->low * o->high), o->low, o->high};
}

bool window_scaled_pressure(const struct work *w, double fill_time, struct window_value *out,
                            const struct finding **from)
{
    struct scaling s;
    if (!(fill_time > 0.0) || !can_scale(w, &s) || s.fill_time == NULL)
        return false;
    struct window_value t = of_operating(s.fill_time);
    struct window_value ratio = {t.value / fill_time, t.low / fill_time, t.high / fill_time};
    *out = over_ends(s.pressure, ratio, s.n);
    *from = s.from;
    return true;
}

/* ---- the cap --------------------------------------------------------------------------------- */

static void add_cap(struct work *w, const struct scaling *s, const char *setting,
                    struct window_value v, const char *because)
{
    const struct setting_spec *spec = window_spec(setting);
    enum bound_side side = spec->dimension == DIM_TIME ? BOUND_LOWER : BOUND_UPPER;
    struct bound *b = window_derive(w, NULL, 0.0);
    *b = (struct bound){.setting = spec->setting,
                        .side = side,
                        .dimension = spec->dimension,
                        .value = round_10(side == BOUND_LOWER ? v.high : v.low),
                        .low = round_10(v.low),
                        .high = round_10(v.high),
                        .grade = BOUND_CONVENTION,
                        .study = s->from->study,
                        .model = "pressure scaled by the power-law index",
                        .criterion = "pressure_use_max",
                        .verdict = VERDICT_MET,
                        .rows = s->from->rows_used,
                        .because = because};
}

/* Faster than anything that was run nobody knows; there the studies' own bounds hold. */
static bool within_tested(const struct work *w, const char *setting, struct window_value v)
{
    double low = PL_INF, high = -PL_INF;
    for (size_t i = 0; i < w->n_findings; i++) {
        const struct operating_value *o = measured(&w->findings[i], setting);
        if (o == NULL)
            continue;
        low = fmin(low, o->low);
        high = fmax(high, o->high);
    }
    return strcmp(setting, "fill_time") == 0 ? v.high >= low : v.low <= high;
}

void window_derive_speed_cap(struct work *w)
{
    struct scaling s;
    const struct quantity *available = window_quantity(w, "available_pressure", NULL);
    double most = window_limit(w, "pressure_use_max", 0.90);
    if (available == NULL || !(most > 0.0) || !can_scale(w, &s))
        return;
    double allowed = most * available->value;
    struct window_value inverse = {1.0 / s.n.value, 1.0 / s.n.high, 1.0 / s.n.low};
    const char *what =
        arena_printf(w->arena,
                     "here the %s that filling took in %s, scaled by n = %s (%s to %s), reaches %s "
                     "of the %s available",
                     window_plain(w, DIM_PRESSURE, s.pressure.value), s.from->study,
                     number_text(w->arena, s.n.value, 3), number_text(w->arena, s.n.low, 3),
                     number_text(w->arena, s.n.high, 3), window_percent(w, most),
                     window_plain(w, DIM_PRESSURE, available->value));
    struct window_value v = {PL_NAN, PL_NAN, PL_NAN};
    if (s.fill_time != NULL) {
        struct window_value ratio = {s.pressure.value / allowed, s.pressure.low / allowed,
                                     s.pressure.high / allowed};
        struct window_value t = over_ends(of_operating(s.fill_time), ratio, inverse);
        if (within_tested(w, "fill_time", t))
            add_cap(w, &s, "fill_time", t, what);
        v = (struct window_value){window_speed_at(w, t.value), window_speed_at(w, t.high),
                                  window_speed_at(w, t.low)};
    }
    if (s.speed != NULL && (isnan(v.low) || isnan(v.high))) {
        /* no study says how fill time follows speed: taken as inverse to it */
        struct window_value ratio = {allowed / s.pressure.value, allowed / s.pressure.high,
                                     allowed / s.pressure.low};
        v = over_ends(of_operating(s.speed), ratio, inverse);
    }
    if (!isnan(v.low) && !isnan(v.high) && within_tested(w, "injection_speed", v))
        add_cap(w, &s, "injection_speed", v, what);
}
