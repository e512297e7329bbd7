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

static const char *origin(const struct work *w, const struct window_setting *s)
{
    if (strcmp(s->low->study, s->high->study) == 0)
        return arena_printf(w->arena, "both from %s", s->low->study);
    return arena_printf(w->arena, "from %s and %s", s->low->study, s->high->study);
}

static const char *how_to_make_room(const struct window_setting *s)
{
    if (s->low->grade == s->high->grade)
        return "for more room, find out at the press which of the two can give way";
    return s->low->grade == BOUND_CONVENTION
               ? "for more room, decide whether the lower one, a convention, may give way"
               : "for more room, decide whether the upper one, a convention, may give way";
}

/* Where a speed is set, the fill time's limits are the same limits. */
static const struct window_setting *mirrored(const struct work *w, const struct window_setting *s)
{
    bool speed = strcmp(s->setting, "injection_speed") == 0;
    if (!speed && strcmp(s->setting, "fill_time") != 0)
        return NULL;
    const struct window_setting *o = window_setting_of(w, speed ? "fill_time" : "injection_speed");
    bool same = o != NULL && o->low != NULL && o->high != NULL &&
                strcmp(o->low->study, s->high->study) == 0 &&
                strcmp(o->high->study, s->low->study) == 0;
    return same ? o : NULL;
}

static void say(struct work *w, const struct window_setting *s, bool by_sd)
{
    const struct setting_spec *spec = window_spec(s->setting);
    enum dimension step =
        spec->dimension == DIM_TEMPERATURE ? DIM_TEMPERATURE_STEP : spec->dimension;
    double room = s->high_value - s->low_value;
    struct text t;
    text_init(&t, w->arena);
    text_addf(&t, "the limits on the %s, %s and %s, %s, leave %s", spec->noun,
              window_words(w, spec, s->low_value, +1), window_words(w, spec, s->high_value, -1),
              origin(w, s), window_plain(w, step, room));
    if (by_sd)
        text_addf(&t, ", less than 6 times the press's measured scatter of %s",
                  window_plain(w, step, window_sd(w, spec)));
    else if (s->low_value > 0.0)
        text_addf(&t, ", %s of the lower one", window_percent(w, room / s->low_value));
    const struct window_setting *m = mirrored(w, s);
    if (m != NULL)
        text_addf(&t, " (in fill time %s to %s)",
                  window_words(w, window_spec(m->setting), m->low_value, +1),
                  window_words(w, window_spec(m->setting), m->high_value, -1));
    window_flag(w, "narrow-window", "%s: watch it closely; %s", t.s, how_to_make_room(s));
}

void window_check_width(struct work *w)
{
    for (size_t i = 0; i < w->n_settings; i++) {
        const struct window_setting *s = &w->settings[i];
        bool by_sd, other;
        if (s->low == NULL || s->high == NULL || s->low_value > s->high_value ||
            !is_narrow(w, window_spec(s->setting), s, &by_sd))
            continue;
        const struct window_setting *m = mirrored(w, s);
        bool said_of_speed = m != NULL && strcmp(s->setting, "fill_time") == 0 &&
                             m->low_value <= m->high_value &&
                             is_narrow(w, window_spec(m->setting), m, &other);
        if (!said_of_speed)
            say(w, s, by_sd);
    }
}
