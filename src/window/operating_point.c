/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The temperatures the studies were run at, against the range the material's supplier gives. As
 * long as no study varies them, the point of the trial is the only one the window knows. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

#define SAME_TEMPERATURE 3.0 /* K: closer than a probe and two people agree */

struct temperature {
    const char *setting, *noun;
    bool known;
    double low, high; /* over all findings that bound something */
    const struct fact *range;
};

static void outside_range(struct work *w, const struct temperature *t, const struct finding *f,
                          const struct operating_value *o)
{
    if (t->range == NULL || (o->low >= t->range->low && o->high <= t->range->high))
        return;
    window_flag(w, "outside-material-range",
                "%s was run at a %s of %s; the supplier's range is %s to %s", f->study, t->noun,
                window_plain(w, DIM_TEMPERATURE, o->low < t->range->low ? o->low : o->high),
                window_plain(w, DIM_TEMPERATURE, t->range->low),
                window_plain(w, DIM_TEMPERATURE, t->range->high));
}

static void gather(struct work *w, struct temperature *t)
{
    const struct facts *facts = w->premises != NULL ? w->premises->facts : NULL;
    t->low = INFINITY;
    t->high = -INFINITY;
    t->range = facts_find(facts, "material", t->setting);
    for (size_t i = 0; i < w->n_findings; i++) {
        const struct finding *f = &w->findings[i];
        const struct operating_value *o = f->n_bounds > 0 ? window_operating(f, t->setting) : NULL;
        if (o == NULL)
            continue;
        t->known = true;
        t->low = fmin(t->low, o->low);
        t->high = fmax(t->high, o->high);
        outside_range(w, t, f, o);
    }
}

/* Everything the supplier allows is as good as the temperature of the trial. */
static bool whole_range_tested(const struct temperature *t)
{
    return t->known && t->range != NULL && t->range->low >= t->low - SAME_TEMPERATURE &&
           t->range->high <= t->high + SAME_TEMPERATURE;
}

static void add_temperature(const struct work *w, struct text *out, const struct temperature *t)
{
    if (!t->known) {
        text_addf(out, "the %s of the trial is not recorded", t->noun);
        return;
    }
    text_addf(out, "%s %s", t->noun, window_plain(w, DIM_TEMPERATURE, t->low));
    if (t->high > t->low)
        text_addf(out, " to %s", window_plain(w, DIM_TEMPERATURE, t->high));
    if (t->range != NULL && isfinite(t->range->low) && isfinite(t->range->high))
        text_addf(out, " (the supplier's range is %s to %s)",
                  window_plain(w, DIM_TEMPERATURE, t->range->low),
                  window_plain(w, DIM_TEMPERATURE, t->range->high));
}

static bool temperatures_are_bounded(const struct work *w)
{
    for (size_t i = 0; i < w->window->n_settings; i++)
        if (w->window->settings[i].dimension == DIM_TEMPERATURE &&
            (w->window->settings[i].low != NULL || w->window->settings[i].high != NULL))
            return true;
    return false;
}

void window_check_operating_point(struct work *w)
{
    bool any = false;
    for (size_t i = 0; i < w->n_findings; i++)
        any = any || w->findings[i].n_bounds > 0;
    if (!any)
        return;
    struct temperature melt = {.setting = "melt_temperature", .noun = "melt temperature"};
    struct temperature mold = {.setting = "mold_temperature", .noun = "mold temperature"};
    gather(w, &melt);
    gather(w, &mold);
    if (window_approved_record(w) != NULL) /* said in that record */
        return;
    if (temperatures_are_bounded(w) || (whole_range_tested(&melt) && whole_range_tested(&mold)))
        return;
    struct text t;
    text_init(&t, w->arena);
    text_add(&t, "the limits hold for the temperatures of the trial: ");
    add_temperature(w, &t, &melt);
    text_add(&t, ", ");
    add_temperature(w, &t, &mold);
    window_flag(w, "one-temperature-only", "%s", t.s);
}
