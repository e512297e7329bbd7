/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All bounds on a setting: which decides, which run behind it, whether they leave anything. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

/* The end of the interval that would leave most room; the safe end where no interval is given. */
static double optimistic_end(const struct bound *b)
{
    double v = b->side == BOUND_LOWER ? b->low : b->high;
    return isnan(v) ? b->value : v;
}

/* Positive when a asks for more than b. */
static double stricter(const struct bound *a, const struct bound *b)
{
    return a->side == BOUND_LOWER ? a->value - b->value : b->value - a->value;
}

static void insert(const struct bound **list, size_t *n, const struct bound *b)
{
    size_t i = (*n)++;
    for (; i > 0 && stricter(b, list[i - 1]) > 0.0; i--)
        list[i] = list[i - 1];
    list[i] = b;
}

void window_collect(const struct work *w, const struct setting_spec *s, struct setting_bounds *out)
{
    size_t most = 0;
    for (size_t i = 0; i < w->n_findings; i++)
        most += w->findings[i].n_bounds;
    *out = (struct setting_bounds){.lower = ARENA_ARRAY(w->arena, const struct bound *, most),
                                   .upper = ARENA_ARRAY(w->arena, const struct bound *, most)};
    for (size_t i = 0; i < w->n_findings; i++) {
        const struct finding *f = &w->findings[i];
        if (s->study != NULL && strcmp(f->study, s->study) == 0)
            out->study = f;
        for (size_t k = 0; k < f->n_bounds; k++) {
            const struct bound *b = &f->bounds[k];
            if (strcmp(b->setting, s->setting) != 0 || !isfinite(b->value))
                continue;
            if (b->side == BOUND_LOWER)
                insert(out->lower, &out->n_lower, b);
            else
                insert(out->upper, &out->n_upper, b);
        }
    }
}

static enum verdict bound_verdict(const struct bound *b)
{
    return b->verdict == VERDICT_NONE ? VERDICT_NOT_SHOWN : b->verdict;
}

static const char *decided_by(const struct work *w, const struct window_setting *s)
{
    const char *low = s->low != NULL ? s->low->study : NULL;
    const char *high = s->high != NULL ? s->high->study : NULL;
    if (low != NULL && high != NULL && strcmp(low, high) != 0)
        return arena_printf(w->arena, "%s / %s", low, high);
    return low != NULL ? low : high;
}

void window_combine(struct work *w, const struct setting_spec *s, const struct setting_bounds *b,
                    struct window_setting *out)
{
    *out = (struct window_setting){.setting = s->setting,
                                   .title = s->title,
                                   .dimension = s->dimension,
                                   .low = b->n_lower > 0 ? b->lower[0] : NULL,
                                   .high = b->n_upper > 0 ? b->upper[0] : NULL,
                                   .low_value = b->n_lower > 0 ? b->lower[0]->value : PL_NAN,
                                   .high_value = b->n_upper > 0 ? b->upper[0]->value : PL_NAN,
                                   .aim = NAN,
                                   .margin = NAN,
                                   .running = NAN,
                                   .verdict = VERDICT_MET};
    out->decided_by = decided_by(w, out);
    out->runners_up = ARENA_ARRAY(w->arena, const struct bound *, b->n_lower + b->n_upper);
    for (size_t i = 0; i < b->n_lower; i++) {
        out->verdict = verdict_worst(out->verdict, bound_verdict(b->lower[i]));
        if (i > 0)
            out->runners_up[out->n_runners_up++] = b->lower[i];
    }
    for (size_t i = 0; i < b->n_upper; i++) {
        out->verdict = verdict_worst(out->verdict, bound_verdict(b->upper[i]));
        if (i > 0)
            out->runners_up[out->n_runners_up++] = b->upper[i];
    }
    out->by_convention = (out->low != NULL && out->low->grade == BOUND_CONVENTION) ||
                         (out->high != NULL && out->high->grade == BOUND_CONVENTION);
}

/* The limit that asks for most even at its optimistic end. */
static const struct bound *firmest(const struct bound **list, size_t n)
{
    const struct bound *best = NULL;
    for (size_t i = 0; i < n; i++) {
        if (list[i]->grade != BOUND_LIMIT)
            continue;
        double v = optimistic_end(list[i]);
        if (best == NULL ||
            (list[i]->side == BOUND_LOWER ? v > optimistic_end(best) : v < optimistic_end(best)))
            best = list[i];
    }
    return best;
}

/* "gate-freeze"; where both bounds come from one study, what makes this one: "viscosity_tolerance
 * in viscosity". */
static const char *origin(const struct work *w, const struct bound *b, const struct bound *other)
{
    const char *what = b->criterion != NULL ? b->criterion : b->model;
    if (what == NULL || strcmp(b->study, other->study) != 0)
        return b->study;
    return arena_printf(w->arena, "%s in %s", what, b->study);
}

static void no_window(struct work *w, const struct setting_spec *s, const struct bound *low,
                      const struct bound *high, struct window_setting *out)
{
    struct no_window *none = ARENA_PUSH(w->arena, w->window->none, w->window->n_none, w->cap_none);
    *none = (struct no_window){.setting = s->setting, .low = low, .high = high};
    none->text = arena_printf(
        w->arena,
        "No %s satisfies both limits: %s needs at least %s, and %s allows at most %s, even where "
        "both are read at the ends of their intervals that leave most room. Change the mold, the "
        "material or the part before looking for a setting.",
        s->noun, origin(w, low, high), window_words(w, s, optimistic_end(low), -1),
        origin(w, high, low), window_words(w, s, optimistic_end(high), +1));
    out->verdict = VERDICT_NOT_MET;
    out->by_convention = false;
    out->because = arena_printf(w->arena, "The limits from %s and %s exclude each other.",
                                origin(w, low, high), origin(w, high, low));
    out->aim_because = "no value lies inside both limits";
}

static void may_be_none(struct work *w, const struct setting_spec *s, struct window_setting *out)
{
    const struct bound *low = out->low, *high = out->high;
    out->verdict = VERDICT_NOT_SHOWN;
    out->aim_because =
        arena_printf(w->arena, "the lower bound %s from %s lies above the upper bound %s from %s",
                     window_words(w, s, low->value, +1), origin(w, low, high),
                     window_words(w, s, high->value, -1), origin(w, high, low));
    const char *from_low = origin(w, low, high), *from_high = origin(w, high, low);
    if (low->grade == BOUND_CONVENTION && high->grade == BOUND_CONVENTION)
        out->because = arena_printf(
            w->arena,
            "The bounds from %s and %s cross. Both are conventions, not limits of press, mold or "
            "material: decide which of the two shall give way.",
            from_low, from_high);
    else if (low->grade == BOUND_CONVENTION || high->grade == BOUND_CONVENTION)
        out->because = arena_printf(
            w->arena,
            "The bounds from %s and %s cross. The one from %s is a convention, not a limit of "
            "press, mold or material: decide whether it shall give way.",
            from_low, from_high, low->grade == BOUND_CONVENTION ? from_low : from_high);
    else
        out->because = arena_printf(
            w->arena,
            "The safe ends of the bounds from %s and %s cross, but their intervals overlap: the "
            "next shots narrow the intervals and may open a window.",
            from_low, from_high);
    out->by_convention = false;
}

bool window_crossed(struct work *w, const struct setting_spec *s, const struct setting_bounds *b,
                    struct window_setting *out)
{
    const struct bound *low = firmest(b->lower, b->n_lower), *high = firmest(b->upper, b->n_upper);
    if (low != NULL && high != NULL && optimistic_end(low) > optimistic_end(high)) {
        no_window(w, s, low, high, out);
        return true;
    }
    if (out->low == NULL || out->high == NULL || out->low_value <= out->high_value)
        return false;
    may_be_none(w, s, out);
    return true;
}
