/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Bounds that do not cross, but nearly: there is an aim, and little room around it. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

/* Both our convention. */
#define NARROW_RATIO 1.10
#define NARROW_SD 6.0

/* A ratio of temperatures depends on where the scale begins. */
static bool is_narrow(const struct work *w, const struct setting_spec *spec,
                      const struct window_setting *s, bool *by_sd)
{
    double sd = window_sd(w, spec);
    *by_sd = sd > 0.0 && s->high_value - s->low_value < NARROW_SD * sd;
    bool by_ratio = s->dimension != DIM_TEMPERATURE && s->low_value > 0.0 &&
                    s->high_value < NARROW_RATIO * s->low_value;
    return *by_sd || by_ratio;
}

/* "watch": a fill time is not set where a speed is. */
static void say(struct work *w, const struct setting_spec *spec, const struct window_setting *s,
                bool by_sd)
{
    double room = s->high_value - s->low_value;
    struct text t;
    text_init(&t, w->arena);
    text_addf(
        &t, "the limits on the %s, %s from %s and %s from %s, leave %s", spec->noun,
        window_words(w, spec, s->low_value, +1), s->low->study,
        window_words(w, spec, s->high_value, -1), s->high->study,
        window_plain(w, spec->dimension == DIM_TEMPERATURE ? DIM_TEMPERATURE_STEP : spec->dimension,
                     room));
    if (by_sd)
        text_addf(&t, ", less than 6 times the press's measured scatter of %s",
                  window_plain(w, spec->dimension, window_sd(w, spec)));
    else if (s->low_value > 0.0)
        text_addf(&t, ", %s of the lower one", window_percent(w, room / s->low_value));
    text_addf(&t, ": %s it closely; for more room, %s",
              spec->aim == AIM_NONE || strcmp(spec->setting, "fill_time") == 0 ? "watch" : "keep",
              s->low->grade == s->high->grade
                  ? "find out at the press which of the two can give way"
              : s->low->grade == BOUND_CONVENTION
                  ? "decide whether the lower one, a convention, may give way"
                  : "decide whether the upper one, a convention, may give way");
    window_flag(w, "narrow-window", "%s", t.s);
}

void window_check_width(struct work *w)
{
    for (size_t i = 0; i < w->n_settings; i++) {
        const struct window_setting *s = &w->settings[i];
        bool by_sd;
        if (s->low == NULL || s->high == NULL || s->low_value > s->high_value)
            continue;
        const struct setting_spec *spec = window_spec(s->setting);
        if (is_narrow(w, spec, s, &by_sd))
            say(w, spec, s, by_sd);
    }
}
