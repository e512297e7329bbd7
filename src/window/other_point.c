/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Findings made at another point than the window's: what they say holds where they were made. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

#define SAME_SHARE 0.05      /* of speed and of hold pressure; our convention */
#define SAME_TEMPERATURE 3.0 /* K: closer than a probe and two people agree */

static bool bounds_any(const struct finding *f, const char *const *settings, size_t n,
                       const char **which)
{
    for (size_t k = 0; k < f->n_bounds; k++)
        for (size_t i = 0; i < n; i++)
            if (strcmp(f->bounds[k].setting, settings[i]) == 0) {
                *which = window_spec(settings[i])->noun;
                return true;
            }
    return false;
}

/* Where the study was run, nearest to the point; NULL when it was run at the point, or does not
 * say.
 */
static const struct operating_value *elsewhere(const struct finding *f, const char *setting,
                                               double point, double slack, double *nearest)
{
    const struct operating_value *o = window_operating(f, setting);
    if (o == NULL || (point >= o->low - slack && point <= o->high + slack))
        return NULL;
    *nearest = point < o->low ? o->low : o->high;
    return o;
}

/* ---- speed and hold pressure ----------------------------------------------------------------- */

struct share_rule {
    const char *setting, *code;
    const char *bounded[5]; /* settings whose bounds depend on it */
};

static const struct share_rule rules[] = {
    {"injection_speed",
     "other-injection-speed",
     {"hold_time", "closed_time", "cooling_time", "hold_pressure", "clamp_force"}},
    {"hold_pressure", "other-hold-pressure", {"hold_time", "closed_time", "cooling_time"}},
};

/* Where a study's shots were run, in the terms it tells it in: its own speed, else its own fill
 * time, else the speed in use now. NULL: nowhere. */
static const char *told_by(const struct finding *f, const char *setting)
{
    const struct operating_value *o = window_operating(f, setting);
    bool assumed = o == NULL || (o->from != NULL && strcmp(o->from, "[running]") == 0);
    if (!assumed || strcmp(setting, "injection_speed") != 0)
        return o != NULL ? setting : NULL;
    const struct operating_value *fill = window_operating(f, "fill_time");
    if (fill != NULL && (fill->from == NULL || strcmp(fill->from, "[running]") != 0))
        return "fill_time";
    return o != NULL ? setting : NULL;
}

/* The point in those terms; NAN: none. */
static double point_of(const struct work *w, const char *setting)
{
    double aim = window_aim_of(w, setting);
    if (!isfinite(aim) && strcmp(setting, "fill_time") == 0)
        return window_fill_time_at(w, window_aim_of(w, "injection_speed"));
    if (!isfinite(aim) && strcmp(setting, "hold_pressure") == 0)
        return window_running_of(w, setting);
    return aim;
}

static void differs(struct work *w, const struct share_rule *r, const struct finding *f,
                    const char *what, const char *in_terms_of)
{
    const struct setting_spec *spec = window_spec(in_terms_of);
    double point = point_of(w, in_terms_of), at;
    if (!(point > 0.0) || elsewhere(f, in_terms_of, point, SAME_SHARE * point, &at) == NULL)
        return;
    const char *there = window_words(w, spec, at, 0), *here = window_words(w, spec, point, 0);
    const char *to = here;
    if (strcmp(in_terms_of, r->setting) != 0)
        to = arena_printf(w->arena, "an %s of %s", window_spec(r->setting)->noun,
                          window_words(w, window_spec(r->setting), point_of(w, r->setting), 0));
    window_flag(w, r->code,
                "%s was run at %s %s, and %s is %s: its limit on the %s holds for %s; repeat "
                "the shots on both sides of that limit at %s",
                f->study, spec->noun, there,
                isfinite(window_aim_of(w, in_terms_of)) || strcmp(in_terms_of, r->setting) != 0
                    ? "the aim"
                    : "the one in use now",
                here, what, there, to);
}

static void check_share(struct work *w, const struct share_rule *r)
{
    if (!(point_of(w, r->setting) > 0.0))
        return;
    size_t n = 0;
    while (n < PL_COUNT(r->bounded) && r->bounded[n] != NULL)
        n++;
    for (size_t i = 0; i < w->n_findings; i++) {
        const struct finding *f = &w->findings[i];
        const char *what;
        if (!bounds_any(f, r->bounded, n, &what))
            continue;
        const char *terms = told_by(f, r->setting);
        if (terms != NULL)
            differs(w, r, f, what, terms);
        else
            window_assume(w,
                          "At which %s %s was run is not recorded (a column %s would tell): its "
                          "limit on the %s counts as found at %s.",
                          window_spec(r->setting)->noun, f->study, r->setting, what,
                          isfinite(window_aim_of(w, r->setting)) ? "the aim"
                                                                 : "the one in use now");
    }
}

/* ---- temperatures
 * -------------------------------------------------------------------------------- */

/* Studies that lie apart from each other, or from what is in use now. Where a study spans
 * temperatures, the corners of its span are checked instead. */
static void check_temperature(struct work *w, const char *setting)
{
    const struct setting_spec *spec = window_spec(setting);
    if (window_setting_of(w, setting) != NULL)
        return;
    const struct finding *cold = NULL, *hot = NULL;
    double low = PL_INF,
           high = -PL_INF; /* the least of the upper ends, the greatest of the lower */
    for (size_t i = 0; i < w->n_findings; i++) {
        const struct finding *f = &w->findings[i];
        const struct operating_value *o = f->n_bounds > 0 ? window_operating(f, setting) : NULL;
        if (o == NULL)
            continue;
        if (o->high < low) {
            low = o->high;
            cold = f;
        }
        if (o->low > high) {
            high = o->low;
            hot = f;
        }
    }
    if (cold == NULL || hot == NULL)
        return;
    if (cold != hot && high - low > SAME_TEMPERATURE)
        window_flag(w, "other-temperature",
                    "%s was run at a %s of %s and %s at %s: their limits do not belong to one "
                    "process; repeat one of them at the temperature production will run at",
                    cold->study, spec->noun, window_plain(w, DIM_TEMPERATURE, low), hot->study,
                    window_plain(w, DIM_TEMPERATURE, high));
    double running = window_running_of(w, setting);
    bool below = running < low - SAME_TEMPERATURE && running < high - SAME_TEMPERATURE;
    bool above = running > low + SAME_TEMPERATURE && running > high + SAME_TEMPERATURE;
    if (!isfinite(running) || (!below && !above))
        return;
    window_flag(w, "other-temperature",
                "the %s in use now is %s, and %s was run at %s: its limits hold there; run at the "
                "temperature of the studies, or repeat them at %s",
                spec->noun, window_plain(w, DIM_TEMPERATURE, running),
                below ? cold->study : hot->study,
                window_plain(w, DIM_TEMPERATURE, below ? low : high),
                window_plain(w, DIM_TEMPERATURE, running));
}

void window_check_other_points(struct work *w)
{
    for (size_t i = 0; i < PL_COUNT(rules); i++)
        check_share(w, &rules[i]);
    check_temperature(w, "melt_temperature");
    check_temperature(w, "mold_temperature");
}
