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

static void check_share(struct work *w, const struct share_rule *r)
{
    const struct setting_spec *spec = window_spec(r->setting);
    double aim = window_aim_of(w, r->setting), point = aim;
    if (!isfinite(point) && strcmp(r->setting, "hold_pressure") == 0)
        point = window_running_of(w, r->setting);
    if (!(point > 0.0))
        return;
    size_t n = 0;
    while (n < PL_COUNT(r->bounded) && r->bounded[n] != NULL)
        n++;
    for (size_t i = 0; i < w->n_findings; i++) {
        const struct finding *f = &w->findings[i];
        const char *what;
        double at;
        if (!bounds_any(f, r->bounded, n, &what) ||
            elsewhere(f, r->setting, point, SAME_SHARE * point, &at) == NULL)
            continue;
        window_flag(w, r->code,
                    "%s was run at %s %s, and %s is %s: its limit on the %s holds for %s; repeat "
                    "the shots on both sides of that limit at %s",
                    f->study, spec->noun, window_words(w, spec, at, 0),
                    isfinite(aim) ? "the aim" : "the one in use now",
                    window_words(w, spec, point, 0), what, window_words(w, spec, at, 0),
                    window_words(w, spec, point, 0));
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
